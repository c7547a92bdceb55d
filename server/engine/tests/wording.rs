//! Words that no screen may show: a synchronised shock in an arrest waits for a beat that will not come.
#![expect(clippy::unwrap_used, reason = "a test")]

use std::path::{Path, PathBuf};

/// Where words that reach a screen are written: the actions and events, the plan's reasons, the protocols, the labels.
const SHOWN: &[&str] = &[
    "server/engine/src/prompt.rs",
    "server/engine/src/event.rs",
    "server/engine/src/plan",
    "server/protocols",
    "client-web/src",
];

fn files(path: &Path, found: &mut Vec<PathBuf>) {
    if path.is_dir() {
        for entry in std::fs::read_dir(path).unwrap() {
            files(&entry.unwrap().path(), found);
        }
    } else if path.extension().is_some_and(|end| ["rs", "toml", "ts", "svelte"].iter().any(|ours| end == *ours)) {
        found.push(path.to_owned());
    }
}

#[test]
fn synchronised_shocks_are_offered_nowhere() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut found = Vec::new();
    for place in SHOWN {
        files(&root.join(place), &mut found);
    }
    assert!(found.len() > 40, "only {} files were read", found.len());
    for file in found {
        let text = std::fs::read_to_string(&file).unwrap().to_lowercase();
        for word in ["synchronised shock", "synchronized shock", "sync mode", "cardioversion", "cardiovert"] {
            assert!(!text.contains(word), "{} speaks of `{word}`", file.display());
        }
    }
}

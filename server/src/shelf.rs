//! The protocols at hand: those shipped with the server and the department's own in `<data>/protocols`. It reads files;
//! what a protocol means is the engine's.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use coxswain_engine::event::ProtocolRef;
use coxswain_engine::protocol::{self, Protocol, Rejected};

#[derive(rust_embed::RustEmbed)]
#[folder = "protocols"]
#[include = "*.toml"]
struct Shipped;

/// A protocol with the text it was read from.
#[derive(Debug, Clone)]
pub struct Entry {
    /// The protocol.
    pub protocol: Arc<Protocol>,
    /// Its exact text: a code keeps it.
    pub text: Arc<str>,
    /// The department's file; absent for a shipped one.
    pub file: Option<PathBuf>,
}

/// A protocol file that could not be used.
#[derive(Debug)]
pub struct Unusable {
    /// Which file.
    pub file: PathBuf,
    /// Why.
    pub problem: String,
}

/// All protocols at hand, by id.
#[derive(Debug, Default)]
pub struct Shelf {
    entries: BTreeMap<String, Entry>,
    unusable: Vec<Unusable>,
}

/// Reads a protocol with its text.
///
/// # Errors
/// Names line and field.
pub fn entry(text: &str, file: Option<PathBuf>) -> Result<Entry, Rejected> {
    Ok(Entry { protocol: Arc::new(protocol::read(text)?), text: text.into(), file })
}

impl Shelf {
    /// The shipped protocols only.
    pub fn shipped() -> Self {
        let mut shelf = Self::default();
        for name in Shipped::iter() {
            let Some(file) = Shipped::get(&name) else { continue };
            shelf.put(Path::new(name.as_ref()), &String::from_utf8_lossy(&file.data), None);
        }
        shelf
    }

    /// The shipped protocols, and a department's own: one of the same id takes the shipped one's place.
    pub fn with_local(data: &Path) -> Self {
        let mut shelf = Self::shipped();
        let Ok(folder) = std::fs::read_dir(data.join("protocols")) else { return shelf };
        let mut files: Vec<PathBuf> = folder.flatten().map(|file| file.path()).collect();
        files.sort();
        for file in files.into_iter().filter(|file| file.extension().is_some_and(|end| end == "toml")) {
            match std::fs::read_to_string(&file) {
                Ok(text) => shelf.put(&file.clone(), &text, Some(file)),
                Err(error) => shelf.unusable.push(Unusable { file, problem: error.to_string() }),
            }
        }
        shelf
    }

    fn put(&mut self, name: &Path, text: &str, file: Option<PathBuf>) {
        match entry(text, file) {
            Ok(entry) => {
                self.entries.insert(entry.protocol.id.clone(), entry);
            }
            Err(rejected) => {
                self.unusable.push(Unusable { file: name.to_owned(), problem: rejected.to_string() });
            }
        }
    }

    /// The protocol of an id.
    pub fn get(&self, id: &str) -> Option<&Entry> {
        self.entries.get(id)
    }

    /// The protocol that a record names, in the version at hand.
    pub fn find(&self, named: &ProtocolRef) -> Option<&Entry> {
        self.get(&named.id).filter(|entry| entry.protocol.version == named.version)
    }

    /// All of them, in alphabetical order of id.
    pub fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.entries.values()
    }

    /// Files that could not be used.
    pub fn unusable(&self) -> &[Unusable] {
        &self.unusable
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shipped_protocol_can_be_read() {
        let shelf = Shelf::shipped();
        assert!(shelf.unusable().is_empty(), "{:?}", shelf.unusable());
        assert!(shelf.get("aha-adult").is_some());
    }

    #[test]
    fn a_departments_own_file_takes_the_shipped_ones_place_and_a_bad_one_is_named() {
        let data = tempfile::tempdir().unwrap();
        std::fs::create_dir(data.path().join("protocols")).unwrap();
        let text = Shelf::shipped().get("aha-adult").unwrap().text.replacen("version = 1", "version = 7", 1);
        std::fs::write(data.path().join("protocols/ours.toml"), text).unwrap();
        std::fs::write(data.path().join("protocols/bad.toml"), "id = 5").unwrap();
        let shelf = Shelf::with_local(data.path());
        assert_eq!(shelf.get("aha-adult").unwrap().protocol.version, 7);
        assert!(shelf.unusable()[0].file.ends_with("bad.toml"));
    }
}

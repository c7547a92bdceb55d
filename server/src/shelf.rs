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
            Ok(entry) if self.collision(&entry).is_some() => {
                let problem = self.collision(&entry).unwrap_or_default();
                self.unusable.push(Unusable { file: name.to_owned(), problem });
            }
            Ok(entry) => {
                self.entries.insert(entry.protocol.id.clone(), entry);
            }
            Err(rejected) => {
                self.unusable.push(Unusable { file: name.to_owned(), problem: rejected.to_string() });
            }
        }
    }

    /// Why a file may not take the place of the one that has its id: two files of the department would be one by chance, and
    /// a child's would stand where an adult's is asked for.
    fn collision(&self, new: &Entry) -> Option<String> {
        let id = &new.protocol.id;
        let old = self.entries.get(id)?;
        if let Some(file) = &old.file {
            return Some(format!("id: {} already has `{id}`; an id stands in one file", file.display()));
        }
        (old.protocol.age_group.is_young() != new.protocol.age_group.is_young())
            .then(|| format!("age_group: the shipped `{id}` is for another age; give this file an id of its own"))
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
        // A second file of the same id, or a child's under an adult's id, is named and not used.
        let child = Shelf::shipped().get("erc-child").unwrap().text.replacen("other_ages = \"erc-adult\"\n", "", 1);
        let child = child.replacen("id = \"erc-child\"", "id = \"erc-adult\"", 1);
        std::fs::write(data.path().join("protocols/child.toml"), child).unwrap();
        let again = Shelf::shipped().get("aha-adult").unwrap().text.replacen("version = 1", "version = 8", 1);
        std::fs::write(data.path().join("protocols/zz.toml"), again).unwrap();
        let shelf = Shelf::with_local(data.path());
        assert_eq!(shelf.get("aha-adult").unwrap().protocol.version, 7);
        assert!(!shelf.get("erc-adult").unwrap().protocol.age_group.is_young());
        let told = |field: &str| shelf.unusable().iter().any(|bad| bad.problem.starts_with(field));
        assert!(told("age_group:") && told("id:"), "{:?}", shelf.unusable());
    }
}

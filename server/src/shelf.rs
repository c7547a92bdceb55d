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

/// A protocol that a code on record ran under, with its text: what was checked when the code began is not judged again.
///
/// # Errors
/// Names line and field.
pub fn stored(text: &str) -> Result<Entry, Rejected> {
    Ok(Entry { protocol: Arc::new(protocol::reread(text)?), text: text.into(), file: None })
}

/// Reads a protocol file that is to be used.
fn entry(text: &str, file: Option<PathBuf>) -> Result<Entry, String> {
    match protocol::check(text) {
        Ok(protocol) => Ok(Entry { protocol: Arc::new(protocol), text: text.into(), file }),
        Err(faults) => {
            let more = faults.len().saturating_sub(1);
            let first = faults.into_iter().next().map_or_else(String::new, |fault| fault.to_string());
            let rest = format!(" (and {more} more: `coxswain protocol check` names them)");
            Err(if more == 0 { first } else { first + &rest })
        }
    }
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
        while shelf.drop_a_stray() {}
        shelf
    }

    /// Takes a department's file away that names a protocol for the other age group which is not at hand: a code would be
    /// asked to change to nothing. The shipped one of its id comes back. Whether there was such a file.
    fn drop_a_stray(&mut self) -> bool {
        let stray = self.entries.values().find_map(|entry| {
            let problem = self.other_ages_fault(&entry.protocol, &entry.text)?.to_string();
            Some((entry.protocol.id.clone(), Unusable { file: entry.file.clone()?, problem }))
        });
        let Some((id, unusable)) = stray else { return false };
        self.entries.remove(&id);
        self.unusable.push(unusable);
        if let Some(shipped) = Self::shipped().entries.remove(&id) {
            self.entries.insert(id, shipped);
        }
        true
    }

    /// What is wrong with the protocol for the other age group that one names, if anything: unknown here, or for the same.
    pub fn other_ages_fault(&self, protocol: &Protocol, text: &str) -> Option<Rejected> {
        protocol::other_ages_fault(text, protocol, |id| self.get(id).map(|entry| &*entry.protocol))
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
            Err(problem) => self.unusable.push(Unusable { file: name.to_owned(), problem }),
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

    #[test]
    fn a_file_whose_protocol_for_the_other_ages_is_not_at_hand_is_named_and_not_used() {
        let data = tempfile::tempdir().unwrap();
        std::fs::create_dir(data.path().join("protocols")).unwrap();
        let own = |of: &str, name: &str, id: &str, other: &str| {
            let text = Shelf::shipped().get(of).unwrap().text.replacen(
                &format!("id = \"{of}\""),
                &format!("id = \"{id}\""),
                1,
            );
            let (before, after) = text.split_once("other_ages = \"").unwrap();
            let rest = after.split_once('"').unwrap().1;
            let text = format!("{before}other_ages = \"{other}\"{rest}").replacen("version = 1", "version = 9", 1);
            std::fs::write(data.path().join("protocols").join(name), text).unwrap();
        };
        // Two of the department's own that name each other are at hand for each other.
        own("aha-adult", "a.toml", "ward-adult", "ward-child");
        own("aha-child", "b.toml", "ward-child", "ward-adult");
        assert!(Shelf::with_local(data.path()).unusable().is_empty());
        // One names nobody, one its own ages; what leans on a file that falls, falls too. The shipped one comes back.
        own("erc-adult", "c.toml", "erc-adult", "erc-chld");
        own("erc-child", "d.toml", "night-child", "erc-child");
        own("aha-child", "b.toml", "ward-child", "nobody");
        let shelf = Shelf::with_local(data.path());
        let told: Vec<String> = shelf.unusable().iter().map(|bad| bad.problem.clone()).collect();
        assert_eq!(told.len(), 4, "{told:?}");
        assert!(told.iter().all(|problem| problem.contains("line ") && problem.contains("other_ages: ")), "{told:?}");
        assert!(told.iter().any(|problem| problem.contains("same age group")), "{told:?}");
        assert_eq!(shelf.get("erc-adult").unwrap().protocol.version, 1);
        assert!(shelf.get("ward-adult").is_none() && shelf.get("ward-child").is_none());
    }
}

//! Prompts that somebody ticked, by key.

use std::collections::BTreeMap;

use super::Mark;

/// Ticks: for each key the latest one.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ticks(BTreeMap<String, Mark>);

impl Ticks {
    pub(super) fn insert(&mut self, key: &str, mark: Mark) {
        self.0.insert(key.to_owned(), mark);
    }

    /// Whether the prompt of this key was ticked.
    pub fn contains(&self, key: &str) -> bool {
        self.0.contains_key(key)
    }

    /// When, and by which record.
    pub fn mark(&self, key: &str) -> Option<Mark> {
        self.0.get(key).copied()
    }
}

//! Prompts that somebody ticked, by key.

use std::collections::BTreeMap;

use uuid::Uuid;

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

    /// The last of the ticks that answer a question asked from a record: each tick asks anew, under a key of its own.
    pub fn last_of(&self, from: Uuid, key: impl Fn(Uuid) -> String) -> Option<Mark> {
        let mut seen = vec![from];
        let mut last = None;
        while let Some(tick) = seen.last().and_then(|anchor| self.mark(&key(*anchor))) {
            // A tick that ticks itself ends here.
            if seen.contains(&tick.id) {
                break;
            }
            seen.push(tick.id);
            last = Some(tick);
        }
        last
    }

    /// When, and by which record.
    pub fn mark(&self, key: &str) -> Option<Mark> {
        self.0.get(key).copied()
    }
}

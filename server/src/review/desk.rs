//! A reviewer's desk: the records of a code, and those that a change would append, so that each step of a change sees the
//! one before it. Nothing here is on the record yet.

use coxswain_engine::event::{Event, ReviewDeed};
use coxswain_engine::record::{Author, Record, Source};
use uuid::Uuid;

/// A record that is to be appended.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// Its id.
    pub id: Uuid,
    /// The code time of a fact; absent for what has none of its own, such as a correction: the room's own time then.
    pub at_ms: Option<i64>,
    /// What happened.
    pub event: Event,
}

/// Records as they would be.
#[derive(Debug, Clone)]
pub struct Desk {
    records: Vec<Record>,
    drafts: Vec<Draft>,
}

impl Desk {
    /// A desk with a code's records.
    pub fn of(records: &[Record]) -> Self {
        Self { records: records.to_vec(), drafts: Vec::new() }
    }

    /// The records, drafts included.
    pub fn records(&self) -> &[Record] {
        &self.records
    }

    /// The drafts alone, in their order.
    pub fn drafts(self) -> Vec<Draft> {
        self.drafts
    }

    /// Puts a draft on the desk.
    pub fn put(&mut self, at_ms: Option<i64>, event: Event) -> Uuid {
        let id = Uuid::now_v7();
        let code = self.records.first().map_or_else(Uuid::nil, |record| record.code);
        let last = self.records.iter().map(|record| record.seq).max().unwrap_or(0);
        let last_ms = self.records.iter().map(Record::known_ms).max().unwrap_or(0);
        self.records.push(Record {
            seq: last + 1,
            id,
            code,
            at_ms: at_ms.unwrap_or(last_ms),
            received_ms: Some(last_ms),
            recorded_at: String::new(),
            by: Author { device: Uuid::nil(), name: String::new(), roles: Vec::new() },
            source: Source::Review,
            event: event.clone(),
        });
        self.drafts.push(Draft { id, at_ms, event });
        id
    }

    /// Takes a record out of what counts.
    pub fn void(&mut self, target: Uuid, reason: &str) -> Uuid {
        self.put(None, Event::Voided { target, reason: reason.to_owned() })
    }

    /// Says something of the record as a whole.
    pub fn deed(&mut self, deed: ReviewDeed) -> Uuid {
        self.put(None, Event::Reviewed { deed })
    }
}

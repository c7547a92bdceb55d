//! A stored code, read: its records, the protocol it ran under, and how its record stands. Of the whole chain, or of the
//! version that was signed.

use std::sync::Arc;

use coxswain_engine::event::{Event, ReviewDeed};
use coxswain_engine::protocol::Protocol;
use coxswain_engine::record::{Record, Source};
use coxswain_engine::snapshot::{Knowledge, protocol_ref};
use coxswain_engine::timeline;
use jiff::{SignedDuration, Timestamp};

use super::summary::Standing;
use super::wire::{SignatureShown, Version};
use crate::export;
use crate::ledger::chain::{self, Hash};
use crate::ledger::{Broken, StoredCode};
use crate::shelf;

/// A code as its chain has it, up to some record.
#[derive(Debug, Clone)]
pub struct Reading {
    /// As it is stored, cut to what is read.
    pub stored: StoredCode,
    /// Its records.
    pub records: Vec<Record>,
    /// The protocol it ran under at its end.
    pub protocol: Arc<Protocol>,
    /// Every version, also those that begin after what is read.
    pub versions: Vec<Version>,
    /// Hash of the chain as read.
    pub head: Hash,
}

/// Why a code cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unreadable {
    /// No such version was signed.
    NoSuchVersion,
    /// Its records or its protocol cannot be read; in words for the log.
    Fault(String),
}

impl std::fmt::Display for Unreadable {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoSuchVersion => f.write_str("no such version was signed"),
            Self::Fault(words) => f.write_str(words),
        }
    }
}

impl Reading {
    /// Reads a code: all of it, or the version that was signed under a number, exactly as it was then.
    ///
    /// # Errors
    /// If there is no such version, or the code cannot be read.
    pub fn of(mut stored: StoredCode, version: Option<u32>) -> Result<Self, Unreadable> {
        let mut records = export::records(&stored).map_err(|error| Unreadable::Fault(error.to_string()))?;
        let versions = versions(&records);
        if let Some(number) = version {
            let signed = versions.iter().find(|one| one.version == number).and_then(|one| one.signature.as_ref());
            let length = signed.map(|signature| signature.records).ok_or(Unreadable::NoSuchVersion)?;
            let length = usize::try_from(length).unwrap_or(usize::MAX);
            records.truncate(length);
            stored.records.truncate(length);
        }
        let named = protocol_ref(&records, i64::MAX, Knowledge::Hindsight);
        let text = named.and_then(|named| {
            stored.protocols.iter().find(|(id, version, _)| *id == named.id && *version == named.version)
        });
        let (_, _, text) =
            text.ok_or_else(|| Unreadable::Fault("a code without the text of its protocol".to_owned()))?;
        let protocol = shelf::stored(text).map_err(|error| Unreadable::Fault(error.to_string()))?.protocol;
        let last = stored.records.last().and_then(|record| Hash::try_from(record.hash.clone()).ok());
        Ok(Self { head: last.unwrap_or(chain::START), stored, records, protocol, versions })
    }

    /// Where the chain is broken, if it is.
    pub fn broken(&self) -> Option<Broken> {
        self.stored.verify().err()
    }

    /// How the record stands, as read.
    pub fn standing(&self) -> Standing {
        standing(&self.records)
    }

    /// What is added to every wall-clock time.
    pub fn wall_offset_ms(&self) -> i64 {
        timeline::wall_offset_ms(&self.records)
    }

    /// Wall clock of the opening, aligned.
    pub fn opened_at(&self) -> String {
        opened_at(&self.records)
    }

    /// Wall clock of code time 0, aligned; absent if the clock never started.
    pub fn zero_at(&self) -> Option<String> {
        let started = self.records.iter().find(|record| matches!(record.event, Event::ClockStarted { .. }))?;
        Some(aligned(&started.recorded_at, self.wall_offset_ms() - started.known_ms()))
    }
}

/// Wall clock of the opening of a code, by its records, aligned.
pub fn opened_at(records: &[Record]) -> String {
    let opened = records.first();
    opened.map(|record| aligned(&record.recorded_at, timeline::wall_offset_ms(records))).unwrap_or_default()
}

/// A wall-clock time with something added; as it is if nobody can read it.
fn aligned(text: &str, plus_ms: i64) -> String {
    let moved = text.parse::<Timestamp>().ok().and_then(|at| at.checked_add(SignedDuration::from_millis(plus_ms)).ok());
    moved.map_or_else(|| text.to_owned(), |at| format!("{at:.3}"))
}

/// How a record stands: whether the code is over, and what a reviewer did last with the record as a whole.
pub fn standing(records: &[Record]) -> Standing {
    let facts = timeline::facts(records).facts;
    if !facts.last().is_some_and(|fact| matches!(fact.event, Event::CodeClosed { .. })) {
        return Standing::Running;
    }
    let last = records.iter().rev().find_map(|record| match &record.event {
        Event::Reviewed { deed: ReviewDeed::Signed { .. } } => Some(Standing::Signed),
        Event::Reviewed { deed: ReviewDeed::VersionOpened { .. } } => Some(Standing::Reopened),
        _ => None,
    });
    last.unwrap_or(Standing::Unsigned)
}

/// Whether a version of a record was ever signed. From then on it is a reviewer's alone, also while a new version is open: a
/// tablet must not let a code run again that somebody answered for.
pub fn was_signed(records: &[Record]) -> bool {
    records.iter().rev().any(|record| {
        record.source == Source::Review && matches!(record.event, Event::Reviewed { deed: ReviewDeed::Signed { .. } })
    })
}

/// Every version of a record, with its signature.
fn versions(records: &[Record]) -> Vec<Version> {
    let mut found = vec![Version { version: 1, reason: None, signature: None }];
    for record in records {
        let Event::Reviewed { deed } = &record.event else { continue };
        match deed {
            ReviewDeed::Signed { version, head } => {
                let signature = SignatureShown {
                    by: record.by.name.clone(),
                    at: record.recorded_at.clone(),
                    head: head.clone(),
                    records: record.seq.saturating_sub(1),
                };
                if let Some(signed) = found.iter_mut().find(|one| one.version == *version) {
                    signed.signature.get_or_insert(signature);
                }
            }
            ReviewDeed::VersionOpened { version, reason } => {
                found.push(Version { version: *version, reason: Some(reason.clone()), signature: None });
            }
            ReviewDeed::Debriefed { .. }
            | ReviewDeed::Added { .. }
            | ReviewDeed::MonitorImported { .. }
            | ReviewDeed::SourceChosen { .. } => {}
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::aligned;

    #[test]
    fn wall_clock_times_move_as_a_whole() {
        assert_eq!(aligned("2026-11-25T23:59:30.250Z", 90_000), "2026-11-26T00:01:00.250Z");
        assert_eq!(aligned("2026-11-25T10:00:00+02:00", -500), "2026-11-25T07:59:59.500Z");
        assert_eq!(aligned("yesterday", 5), "yesterday");
    }
}

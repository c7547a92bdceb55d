//! One code, read and ready for any format: its records, the protocol it ran under, and the wall clock of its code time 0.

use std::collections::BTreeMap;
use std::sync::Arc;

use coxswain_engine::event::{Event, Patient};
use coxswain_engine::measure::{Figures, measure};
use coxswain_engine::protocol::Protocol;
use coxswain_engine::record::Record;
use coxswain_engine::snapshot::{Knowledge, protocol_ref};
use coxswain_engine::timeline::{self, Fact};
use jiff::{SignedDuration, Timestamp};
use uuid::Uuid;

use super::Unexportable;
use crate::ledger::{StoredCode, chain};
use crate::shelf;

/// Protocols that were read, by their texts: thousands of codes ran under few.
pub type Protocols = BTreeMap<String, Arc<Protocol>>;

/// A code that can be written in any format.
#[derive(Debug, Clone)]
pub struct Code {
    /// Its id, or one made for a de-identified file.
    pub(super) id: Uuid,
    /// In order of the chain.
    pub(super) records: Vec<Record>,
    /// The exact stored texts; absent where the records are not the stored ones any more.
    pub(super) texts: Option<Vec<String>>,
    /// What it ran under at its end.
    pub(super) protocol: Arc<Protocol>,
    /// The id by which the file names that.
    pub(super) protocol_name: String,
    /// Hash of its chain, hexadecimal; absent where the records are not the stored ones.
    pub(super) head: Option<String>,
    /// When code time 0 was.
    pub(super) zero: Zero,
}

/// What was said when a code was opened.
#[derive(Debug, Default)]
pub(super) struct Opening {
    /// Whether it is a drill.
    pub(super) training: bool,
    /// Where.
    pub(super) location: Option<String>,
    /// Whether somebody saw it begin.
    pub(super) witnessed: Option<bool>,
    /// Whether a monitor was on.
    pub(super) monitored: Option<bool>,
}

/// The wall clock of code time 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Zero {
    /// Known.
    At(Timestamp),
    /// The records do not tell.
    Unknown,
    /// Nobody is to know.
    Hidden,
}

impl Code {
    /// Reads a stored code. `known` keeps the protocols that were read before, by their texts.
    ///
    /// # Errors
    /// If a record or the protocol's text cannot be read.
    pub fn of(stored: &StoredCode, known: &mut Protocols) -> Result<Self, Unexportable> {
        let bad = |problem: String| Unexportable { code: stored.id, problem };
        let records =
            super::records(stored).map_err(|error| bad(format!("a stored record cannot be read: {error}")))?;
        let named = protocol_ref(&records, i64::MAX, Knowledge::Hindsight);
        let text = named.and_then(|named| {
            stored.protocols.iter().find(|(id, version, _)| *id == named.id && *version == named.version)
        });
        let (_, _, text) = text.ok_or_else(|| bad("the text of its protocol is not stored".to_owned()))?;
        let protocol = match known.get(text) {
            Some(protocol) => Arc::clone(protocol),
            None => {
                let read = shelf::stored(text).map_err(|error| bad(format!("its protocol cannot be read: {error}")))?;
                known.insert(text.clone(), Arc::clone(&read.protocol));
                read.protocol
            }
        };
        let zero = zero(&records);
        Ok(Self {
            id: stored.id,
            records,
            texts: Some(stored.records.iter().map(|record| record.text.clone()).collect()),
            protocol_name: protocol.id.clone(),
            protocol,
            head: stored.records.last().map(|record| chain::hex(&record.hash)),
            zero,
        })
    }

    /// JSON Lines: the exact stored text; of records that were changed for this file, their canonical text.
    pub(super) fn jsonl(&self) -> Result<String, Unexportable> {
        let mut lines = String::new();
        for (place, record) in self.records.iter().enumerate() {
            match self.texts.as_ref().and_then(|texts| texts.get(place)) {
                Some(text) => lines.push_str(text),
                None => lines.push_str(&record.canonical_json().map_err(|error| Unexportable {
                    code: self.id,
                    problem: format!("record {} cannot be written: {error}", record.seq),
                })?),
            }
            lines.push('\n');
        }
        Ok(lines)
    }

    /// What counts, in order of time.
    pub(super) fn facts(&self) -> Vec<Fact<'_>> {
        timeline::facts(&self.records).facts
    }

    /// The figures, by the engine.
    pub(super) fn figures(&self) -> Figures {
        measure(&self.records, &self.protocol)
    }

    /// The wall clock of a code time.
    pub(super) fn wall(&self, at_ms: i64) -> Option<Timestamp> {
        match self.zero {
            Zero::At(zero) => zero.checked_add(SignedDuration::from_millis(at_ms)).ok(),
            Zero::Unknown | Zero::Hidden => None,
        }
    }

    /// Whether it is a drill. A code that does not say is none.
    pub(super) fn training(&self) -> bool {
        self.opening().training
    }

    /// What its opening says, as corrected; as good as nothing if there is none.
    pub(super) fn opening(&self) -> Opening {
        let facts = self.facts();
        let opened = facts.iter().find_map(|fact| match fact.event {
            Event::CodeOpened { training, location, witnessed, monitored, .. } => Some(Opening {
                training: *training,
                location: location.clone(),
                witnessed: *witnessed,
                monitored: *monitored,
            }),
            _ => None,
        });
        opened.unwrap_or_default()
    }
}

/// Everything that was told of the patient, later words over earlier ones.
pub(super) fn patient(facts: &[Fact<'_>]) -> Patient {
    let mut known = Patient::default();
    for fact in facts {
        let (Event::CodeOpened { patient: told, .. } | Event::PatientUpdated { patient: told }) = fact.event else {
            continue;
        };
        known = Patient {
            age_group: told.age_group.or(known.age_group),
            weight_kg: told.weight_kg.or(known.weight_kg),
            weight_basis: if told.weight_kg.is_some() { told.weight_basis } else { known.weight_basis },
            age_months: told.age_months.or(known.age_months),
            gestation_weeks: told.gestation_weeks.or(known.gestation_weeks),
            core_temp_c: told.core_temp_c.or(known.core_temp_c),
            sex: told.sex.or(known.sex),
        };
    }
    known
}

/// How the code ended.
pub(super) fn closing<'a>(facts: &'a [Fact<'a>]) -> Option<&'a Fact<'a>> {
    facts.iter().find(|fact| matches!(fact.event, Event::CodeClosed { .. }))
}

/// Wall clock of code time 0: that of the first start of the clock, or of the opening, less the code time at which the server
/// took it, as a reviewer aligned it.
fn zero(records: &[Record]) -> Zero {
    let started = records.iter().find(|record| matches!(record.event, Event::ClockStarted { .. }));
    let anchor = started.or_else(|| records.first());
    let zero = anchor.and_then(|record| {
        let recorded: Timestamp = record.recorded_at.parse().ok()?;
        let aligned_ms = timeline::wall_offset_ms(records) - record.known_ms();
        recorded.checked_add(SignedDuration::from_millis(aligned_ms)).ok()
    });
    zero.map_or(Zero::Unknown, Zero::At)
}

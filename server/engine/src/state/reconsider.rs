//! A correction that changes what the core temperature makes of drugs: a reading taken back, or a circumstance. The fold
//! sees the corrected record only, as if drugs had never been withheld; so that nothing is late at once by that, the
//! moment of the correction counts as the moment of the change. A look that raised no want of a shock while a limit held
//! raises none afterwards either: the next look does.

use std::collections::{BTreeMap, BTreeSet};

use uuid::Uuid;

use crate::event::Event;
use crate::protocol::{DrugPlan, Protocol};
use crate::record::Record;
use crate::timeline;

use super::{Mark, Regime, Special, State};

/// The looks that a limit on shocks held back, by what was known before a correction took the limit away.
pub(crate) fn held_back(records: &[Record], protocol: &Protocol, at_ms: i64) -> BTreeSet<Uuid> {
    let mut looks = BTreeSet::new();
    for correction in corrections(records, at_ms) {
        let before = |record: &Record| (record.known_ms(), record.seq) < (correction.known_ms(), correction.seq);
        let facts = timeline::facts_among(records, before);
        let mut state = State::new();
        state.held_back.clone_from(&looks);
        for fact in &facts.facts {
            state.apply(fact, protocol);
        }
        looks.extend(state.rhythms.look.filter(|_| state.rhythms.limited).map(|look| look.mark.id));
    }
    looks
}

/// The corrections known by then that are about a reading or a circumstance.
fn corrections(records: &[Record], at_ms: i64) -> impl Iterator<Item = &Record> {
    // Nearly every code has none, and this is asked at each plan.
    let corrected = records.iter().any(|record| record.event.is_correction());
    let known = if corrected { records } else { &[] };
    let targets: BTreeMap<Uuid, &Event> = known.iter().map(|record| (record.id, &record.event)).collect();
    known.iter().filter(move |record| record.known_ms() <= at_ms && corrects_regime(record, &targets))
}

impl Special {
    /// Counts the corrections that were known by `at_ms`.
    pub(crate) fn reconsider(&mut self, records: &[Record], protocol: &Protocol, at_ms: i64) {
        let targets: BTreeMap<Uuid, &Event> = records.iter().map(|record| (record.id, &record.event)).collect();
        let corrections =
            records.iter().filter(|record| record.known_ms() <= at_ms && corrects_regime(record, &targets));
        for correction in corrections {
            let moment = (correction.known_ms(), correction.seq);
            let before = regime(records, protocol, |record| (record.known_ms(), record.seq) < moment);
            let after = regime(records, protocol, |record| (record.known_ms(), record.seq) <= moment);
            if before.drugs == after.drugs {
                continue;
            }
            let mark = Mark { at_ms: moment.0, id: correction.id };
            self.regime.changed = latest(self.regime.changed, mark);
            if before.drugs == DrugPlan::Withheld {
                self.regime.released = latest(self.regime.released, mark);
            }
        }
    }
}

fn latest(known: Option<Mark>, mark: Mark) -> Option<Mark> {
    Some(known.filter(|known| known.at_ms > mark.at_ms).unwrap_or(mark))
}

/// What the circumstances made of drugs by some of the records.
fn regime(records: &[Record], protocol: &Protocol, counts: impl Fn(&Record) -> bool) -> Regime {
    let mut special = Special::default();
    for fact in &timeline::facts_among(records, counts).facts {
        special.apply(fact, protocol);
    }
    special.regime
}

/// Whether a correction is, at the end of its chain of targets, about a reading or a circumstance.
fn corrects_regime(record: &Record, targets: &BTreeMap<Uuid, &Event>) -> bool {
    let mut event = &record.event;
    if !event.is_correction() {
        return false;
    }
    // A chain is no longer than the record: a ring of voids ends here too.
    for _ in 0..targets.len() {
        match event {
            Event::Voided { target, .. } | Event::Amended { target, event: None, .. } => match targets.get(target) {
                Some(next) => event = next,
                None => return false,
            },
            Event::Amended { target, event: Some(amended), .. } => {
                if moves_regime(amended) {
                    return true;
                }
                match targets.get(target) {
                    Some(next) => event = next,
                    None => return false,
                }
            }
            other => return moves_regime(other),
        }
    }
    false
}

fn moves_regime(event: &Event) -> bool {
    matches!(
        event,
        Event::CodeOpened { .. }
            | Event::PatientUpdated { .. }
            | Event::VitalRead { .. }
            | Event::CircumstanceSet { .. }
    )
}

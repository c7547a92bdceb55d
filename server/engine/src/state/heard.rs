//! When something was heard, where that matters: a core temperature or a circumstance that is corrected, or entered late.
//!
//! The fold sees what had happened, in order of time, as if everybody had always known. So that nothing is late at once by
//! what was only just heard, the moment at which it was heard counts as the moment of the change. A look that raised no
//! want of a shock while a limit held raises none afterwards either: the next look does.

use std::collections::{BTreeMap, BTreeSet};

use uuid::Uuid;

use crate::event::Event;
use crate::protocol::{Protocol, TemperatureBand};
use crate::record::Record;
use crate::timeline::{self, Fact};

use super::{Mark, RegimeChanges, Special, State};

/// Records about the core temperature and the circumstances, by the order in which they began to count.
pub(super) struct Heard<'a> {
    /// All records, of any kind, that were known by then.
    known: Vec<&'a Record>,
    /// Those that move the regime, the corrections of those, and what a correction made one of them.
    of_regime: Vec<&'a Record>,
}

impl<'a> Heard<'a> {
    /// What was heard by `at_ms`. Nothing, where the protocol knows no bands of temperature or nobody set a circumstance:
    /// nearly every code is such a one, and this is asked at each plan.
    pub(super) fn by(records: &'a [Record], protocol: &Protocol, at_ms: i64) -> Self {
        let set = records.iter().any(|record| matches!(record.event, Event::CircumstanceSet { .. }));
        if !set || bands(protocol).next().is_none() {
            return Self { known: Vec::new(), of_regime: Vec::new() };
        }
        let known: Vec<&Record> = records.iter().filter(|record| counts_from_ms(record) <= at_ms).collect();
        let events: BTreeMap<Uuid, &Event> = if known.iter().any(|record| record.event.is_correction()) {
            known.iter().map(|record| (record.id, &record.event)).collect()
        } else {
            BTreeMap::new()
        };
        let corrections = known.iter().filter(|record| corrects_regime(&record.event, &events));
        let corrected: BTreeSet<Uuid> = corrections.clone().filter_map(|record| target(&record.event)).collect();
        let correcting: BTreeSet<Uuid> = corrections.map(|record| record.id).collect();
        let concerns = |record: &&Record| {
            moves_regime(&record.event) || corrected.contains(&record.id) || correcting.contains(&record.id)
        };
        let mut of_regime: Vec<&Record> = known.iter().copied().filter(concerns).collect();
        of_regime.sort_by_key(|record| moment(record));
        Self { known, of_regime }
    }

    /// What changed the drugs' plan last, at the moment that it was heard. It is folded on as long as each record follows
    /// the ones before in time; from the first correction on, and for one that was entered late, it is folded anew.
    pub(super) fn regime_changes(&self, protocol: &Protocol) -> RegimeChanges {
        let mut changes = RegimeChanges::default();
        let mut special = Special::default();
        let mut ids = BTreeSet::new();
        let (mut latest, mut corrected) = (None, false);
        for (place, record) in self.of_regime.iter().enumerate() {
            let before = special.regime.drugs;
            let time = Some((record.at_ms, record.seq));
            corrected |= record.event.is_correction();
            if ids.insert(record.id) && !corrected && latest < time {
                special.apply(&Fact::as_recorded(record), protocol);
            } else {
                special = special_of(&self.of_regime[..=place], protocol);
            }
            latest = latest.max(time);
            let mark = Mark { at_ms: counts_from_ms(record), id: record.id };
            changes.note(before, special.regime.drugs, mark);
        }
        changes
    }

    /// The looks that a limit on shocks held back, by what was known before a correction or a late entry took it away.
    pub(super) fn held_back(&self, protocol: &Protocol) -> BTreeSet<Uuid> {
        let mut looks = BTreeSet::new();
        if !bands(protocol).any(|band| band.max_shocks.is_some()) {
            return looks;
        }
        for upset in self.of_regime.iter().filter(|record| self.came_after_a_look(record)) {
            let before = self.known.iter().copied().filter(|record| moment(record) < moment(upset));
            let mut state = State::new();
            state.held_back.clone_from(&looks);
            for fact in &timeline::facts_of(before).facts {
                state.apply(fact, protocol);
            }
            looks.extend(state.rhythms.look.filter(|_| state.rhythms.limited).map(|look| look.mark.id));
        }
        looks
    }

    /// Whether a record may change what a look meant that was made before anybody knew of it.
    fn came_after_a_look(&self, record: &Record) -> bool {
        let is_look = |known: &&&Record| matches!(known.event, Event::RhythmChecked { .. } | Event::Amended { .. });
        record.event.is_correction()
            || self.known.iter().filter(is_look).any(|look| look.at_ms >= record.at_ms && moment(look) < moment(record))
    }
}

/// When a record began to count: it had happened, and the server knew of it.
fn counts_from_ms(record: &Record) -> i64 {
    record.known_ms().max(record.at_ms)
}

fn moment(record: &Record) -> (i64, u64) {
    (counts_from_ms(record), record.seq)
}

fn bands(protocol: &Protocol) -> impl Iterator<Item = &TemperatureBand> {
    protocol.circumstances.iter().flat_map(|rules| &rules.temperature_bands)
}

fn special_of(records: &[&Record], protocol: &Protocol) -> Special {
    let mut special = Special::default();
    for fact in &timeline::facts_of(records.iter().copied()).facts {
        special.apply(fact, protocol);
    }
    special
}

fn target(event: &Event) -> Option<Uuid> {
    match event {
        Event::Voided { target, .. } | Event::Amended { target, .. } => Some(*target),
        _ => None,
    }
}

/// Whether a correction is, at the end of its chain of targets, about a reading or a circumstance.
fn corrects_regime(correction: &Event, events: &BTreeMap<Uuid, &Event>) -> bool {
    let mut event = correction;
    // A chain is no longer than the record: a ring of voids ends here too.
    for _ in 0..events.len() {
        if let Event::Amended { event: Some(amended), .. } = event
            && moves_regime(amended)
        {
            return true;
        }
        let Some(next) = target(event).and_then(|target| events.get(&target)) else { break };
        event = next;
    }
    correction.is_correction() && moves_regime(event)
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

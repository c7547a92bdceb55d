//! What counts: records with their voids and amendments applied, in order of code time.
//!
//! Nothing is ever edited; this is the one place where corrections take effect. It must not know what a fact means.

use std::collections::{BTreeMap, BTreeSet};

use uuid::Uuid;

use crate::event::Event;
use crate::record::{Author, Record, Source};

/// Which records and facts are looked at for a moment of code time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Knowledge {
    /// What the server knew by then: records it had received, corrections made later left out.
    AsKnown,
    /// What had happened by then, as far as the whole record tells.
    Hindsight,
}

/// A fact that counts, with its corrections applied.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact<'a> {
    /// The record's id; amendments keep it.
    pub id: Uuid,
    /// The record's place.
    pub seq: u64,
    /// Code time, amended if it was.
    pub at_ms: i64,
    /// When the server took the latest amendment of what happened (not only of when); absent if there is none.
    pub amended_ms: Option<i64>,
    /// Who recorded it.
    pub by: &'a Author,
    /// What happened, amended if it was.
    pub event: &'a Event,
    /// What was recorded first.
    pub recorded: &'a Event,
}

impl<'a> Fact<'a> {
    /// A record that nothing has corrected.
    pub(crate) fn as_recorded(record: &'a Record) -> Self {
        Self {
            id: record.id,
            seq: record.seq,
            at_ms: record.at_ms,
            amended_ms: None,
            by: &record.by,
            event: &record.event,
            recorded: &record.event,
        }
    }
}

/// A correction whose target has not arrived.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Waiting {
    /// The correction.
    pub id: Uuid,
    /// When it was made.
    pub at_ms: i64,
    /// What it waits for.
    pub target: Uuid,
}

/// All facts that count, and the corrections that wait.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Facts<'a> {
    /// In order of (`at_ms`, `seq`), up to and with the first code_closed.
    pub facts: Vec<Fact<'a>>,
    /// In order of seq.
    pub waiting: Vec<Waiting>,
    /// Shocks that were taken back. They count for nothing, but what they would have used up must not arm again.
    pub shocks_taken_back: Vec<TakenBack>,
}

/// The place of a shock that was voided or amended into something else.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct TakenBack {
    /// Where it stood in code time.
    pub at_ms: i64,
    /// The record's place.
    pub seq: u64,
}

/// Everything that counts, over the whole record.
pub fn facts(records: &[Record]) -> Facts<'_> {
    settle(records.iter())
}

/// What counts at `at_ms`: facts up to then, by what was known then or by the whole record.
pub fn facts_at(records: &[Record], at_ms: i64, knowledge: Knowledge) -> Facts<'_> {
    let mut settled = match knowledge {
        Knowledge::AsKnown => settle(records.iter().filter(|record| record.known_ms() <= at_ms)),
        Knowledge::Hindsight => settle(records.iter()),
    };
    settled.facts.retain(|fact| fact.at_ms <= at_ms);
    settled.shocks_taken_back.retain(|shock| shock.at_ms <= at_ms);
    settled
}

/// What counts among some of the records, such as those known before a correction.
pub(crate) fn facts_of<'a>(records: impl Iterator<Item = &'a Record>) -> Facts<'a> {
    settle(records)
}

/// An amendment with the time and the event that it puts in place.
type Amendment<'a> = (&'a Record, Option<i64>, Option<&'a Event>);

fn settle<'a>(records: impl Iterator<Item = &'a Record>) -> Facts<'a> {
    // A file may repeat a record; its first copy in order of seq stands.
    let mut by_seq: Vec<&Record> = records.collect();
    by_seq.sort_by_key(|record| record.seq);
    let mut known = BTreeSet::new();
    by_seq.retain(|record| known.insert(record.id));

    let voided = Voids::new(&by_seq);
    let mut waiting = Vec::new();
    let mut amendments: BTreeMap<Uuid, Vec<Amendment<'_>>> = BTreeMap::new();
    for record in &by_seq {
        let target = match &record.event {
            Event::Amended { target, at_ms, event, .. } => {
                if !voided.contains(record.id) {
                    amendments.entry(*target).or_default().push((record, *at_ms, event.as_deref()));
                }
                *target
            }
            Event::Voided { target, .. } => *target,
            _ => continue,
        };
        if !known.contains(&target) && !voided.contains(record.id) {
            waiting.push(Waiting { id: record.id, at_ms: record.at_ms, target });
        }
    }

    let mut facts = Vec::with_capacity(by_seq.len());
    let mut shocks_taken_back = Vec::new();
    for record in by_seq {
        let was_shock = matches!(record.event, Event::ShockDelivered { .. });
        if was_shock && voided.contains(record.id) {
            shocks_taken_back.push(TakenBack { at_ms: record.at_ms, seq: record.seq });
        }
        if !is_fact(record) || voided.contains(record.id) {
            continue;
        }
        let mut fact = Fact::as_recorded(record);
        for (amendment, at_ms, event) in amendments.get(&record.id).into_iter().flatten() {
            fact.at_ms = at_ms.unwrap_or(fact.at_ms);
            fact.event = event.unwrap_or(fact.event);
            if event.is_some() {
                fact.amended_ms = Some(amendment.known_ms());
            }
        }
        if was_shock && !matches!(fact.event, Event::ShockDelivered { .. }) {
            shocks_taken_back.push(TakenBack { at_ms: record.at_ms, seq: record.seq });
        }
        facts.push(fact);
    }
    shocks_taken_back.sort_unstable();
    facts.sort_by_key(|fact| (fact.at_ms, fact.seq));
    if let Some(closed) = facts.iter().position(|fact| matches!(fact.event, Event::CodeClosed { .. })) {
        facts.truncate(closed + 1);
    }
    Facts { facts, waiting, shocks_taken_back }
}

/// Whether a record says something of the record itself and nothing of the code: what a reviewer did with it, and that the
/// wall clock it was written by was wrong. None of it is a fact; a code still open must not be measured up to it.
fn is_about_the_record(record: &Record) -> bool {
    match record.event {
        Event::Reviewed { .. } => true,
        Event::ClockCorrected { .. } => record.source == Source::Review,
        _ => false,
    }
}

/// Whether a record is a fact of the code, whether it counts or not.
pub fn is_fact(record: &Record) -> bool {
    !record.event.is_correction() && !is_about_the_record(record)
}

/// How much later than they say the wall-clock times of a record are: what its latest alignment that stands tells, in
/// milliseconds. Code time does not change with it, and neither does any figure.
pub fn wall_offset_ms(records: &[Record]) -> i64 {
    let by_seq: Vec<&Record> = records.iter().collect();
    let voided = Voids::new(&by_seq);
    let aligned = records.iter().filter(|record| record.source == Source::Review && !voided.contains(record.id));
    let aligned = aligned.filter_map(|record| match record.event {
        Event::ClockCorrected { from_ms, to_ms, .. } => Some((record.seq, to_ms - from_ms)),
        _ => None,
    });
    aligned.max_by_key(|(seq, _)| *seq).map_or(0, |(_, offset_ms)| offset_ms)
}

/// The records that a void which itself stands has taken out: facts, amendments, voids and what a reviewer did.
pub fn voided(records: &[Record]) -> BTreeSet<Uuid> {
    Voids::new(&records.iter().collect::<Vec<_>>()).gone
}

/// Which records a void that itself stands has taken out.
struct Voids {
    gone: BTreeSet<Uuid>,
}

impl Voids {
    fn new(by_seq: &[&Record]) -> Self {
        // target -> the voids that name it
        let mut against: BTreeMap<Uuid, Vec<Uuid>> = BTreeMap::new();
        for record in by_seq {
            if let Event::Voided { target, .. } = record.event {
                against.entry(target).or_default().push(record.id);
            }
        }
        let mut settled = BTreeMap::new();
        for target in against.keys() {
            is_voided(*target, &against, &mut settled);
        }
        Self { gone: settled.into_iter().filter_map(|(id, gone)| gone.then_some(id)).collect() }
    }

    fn contains(&self, id: Uuid) -> bool {
        self.gone.contains(&id)
    }
}

/// Whether a standing void names `start`: walks from void to void without recursion, so that no chain of them, however
/// long, can exhaust the stack. Voids that void each other in a ring have no effect.
fn is_voided(start: Uuid, against: &BTreeMap<Uuid, Vec<Uuid>>, settled: &mut BTreeMap<Uuid, bool>) {
    let mut path = vec![start];
    let mut on_path = BTreeSet::from([start]);
    while let Some(&id) = path.last() {
        let voids = against.get(&id).map_or(&[][..], Vec::as_slice);
        let open = voids.iter().find(|void| !settled.contains_key(*void) && !on_path.contains(*void));
        if let Some(void) = open {
            path.push(*void);
            on_path.insert(*void);
            continue;
        }
        // A void still on the path belongs to a ring: it is not settled, and does not count here.
        let gone = voids.iter().any(|void| settled.get(void) == Some(&false));
        settled.insert(id, gone);
        on_path.remove(&id);
        path.pop();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::ReviewDeed;
    use crate::testing::{Script, id};

    fn kinds(facts: &Facts<'_>) -> Vec<(i64, String)> {
        facts.facts.iter().map(|fact| (fact.at_ms, fact.event.kind())).collect()
    }

    #[test]
    fn a_void_takes_a_fact_out_and_a_voided_void_gives_it_back() {
        let mut script = Script::new("0 note text=a\n10 note text=b");
        script.push(20, Event::Voided { target: id(1), reason: "wrong".into() });
        assert_eq!(kinds(&facts(script.records())), [(10, "note".into())]);
        script.push(30, Event::Voided { target: id(3), reason: "right after all".into() });
        assert_eq!(facts(script.records()).facts.len(), 2);
        script.push(40, Event::Voided { target: id(4), reason: "no".into() });
        assert_eq!(facts(script.records()).facts.len(), 1);
    }

    #[test]
    fn amendments_apply_in_order_of_seq_and_to_facts_only() {
        let mut script = Script::new("10 rhythm_checked rhythm=vf\n20 rosc");
        script.push(30, Event::Amended { target: id(1), at_ms: Some(25), event: None, reason: "late tap".into() });
        script.push(
            40,
            Event::Amended {
                target: id(1),
                at_ms: None,
                event: Some(Box::new(Event::Note { text: "not a look".into() })),
                reason: "wrong button".into(),
            },
        );
        // An amendment of an amendment changes nothing.
        script.push(50, Event::Amended { target: id(3), at_ms: Some(5), event: None, reason: "?".into() });
        let settled = facts(script.records());
        assert_eq!(kinds(&settled), [(20, "rosc".into()), (25, "note".into())]);
        assert_eq!(settled.facts[1].amended_ms, Some(40));
    }

    #[test]
    fn a_correction_waits_for_its_target() {
        let mut script = Script::new("0 clock_started");
        script.push(5, Event::Voided { target: id(99), reason: "undone".into() });
        let settled = facts(script.records());
        assert_eq!(settled.waiting.len(), 1);
        assert_eq!(settled.waiting[0].target, id(99));
    }

    #[test]
    fn facts_after_closing_do_not_count_unless_the_closing_is_voided() {
        let mut script = Script::new("0 clock_started\n10 code_closed outcome=died\n20 rosc");
        assert_eq!(facts(script.records()).facts.len(), 2);
        script.push(30, Event::Voided { target: id(2), reason: "undone".into() });
        assert_eq!(facts(script.records()).facts.len(), 2);
        assert_eq!(kinds(&facts(script.records()))[1], (20, "rosc".into()));
    }

    #[test]
    fn what_was_known_then_differs_from_what_had_happened_by_then() {
        let mut script = Script::new("0 clock_started\n100 rosc");
        script.push(200, Event::Amended { target: id(2), at_ms: Some(50), event: None, reason: "earlier".into() });
        assert_eq!(facts_at(script.records(), 60, Knowledge::AsKnown).facts.len(), 1);
        assert_eq!(facts_at(script.records(), 60, Knowledge::Hindsight).facts.len(), 2);
        assert_eq!(kinds(&facts_at(script.records(), 150, Knowledge::AsKnown))[1].0, 100);
    }

    #[test]
    fn what_a_reviewer_did_is_no_fact_and_the_latest_alignment_that_stands_counts() {
        let mut script = Script::new("0 clock_started\n10 compressions_started\n20 rosc");
        let aligned = |to_ms| Event::ClockCorrected { from_ms: 0, to_ms, basis: "the wall clock was slow".into() };
        script.push(900_000, Event::Reviewed { deed: ReviewDeed::Signed { version: 1, head: String::new() } });
        script.push(900_000, aligned(90_000));
        script.push(900_000, aligned(-5_000));
        script.push(900_000, Event::Voided { target: id(6), reason: "no".into() });
        let mut records = script.records().to_vec();
        records.iter_mut().skip(3).for_each(|record| record.source = Source::Review);
        assert_eq!(facts(&records).facts.len(), 3);
        assert_eq!(wall_offset_ms(&records), 90_000);
        assert!(voided(&records).contains(&id(6)));
        // By the server the same event is a fact: code time itself went on from another moment.
        records[4].source = Source::Live;
        assert_eq!((facts(&records).facts.len(), wall_offset_ms(&records)), (4, 0));
    }

    #[test]
    fn voids_in_a_ring_have_no_effect_and_long_chains_settle() {
        let mut script = Script::new("0 note text=a");
        script.push(1, Event::Voided { target: id(3), reason: String::new() });
        script.push(2, Event::Voided { target: id(2), reason: String::new() });
        assert_eq!(facts(script.records()).facts.len(), 1);
        let mut chain = Script::new("0 note text=a");
        for place in 1..20_000 {
            chain.push(place, Event::Voided { target: id(place as u64), reason: String::new() });
        }
        assert!(facts(chain.records()).facts.is_empty());
    }
}

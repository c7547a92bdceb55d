//! Whose compressions count: what the team tapped, or what a monitor recorded. The choices make one timeline over all imports:
//! at any moment the taps count, or one import. Choosing a monitor for a stretch of time voids the taps within it and adds the
//! monitor's starts and stops; choosing the taps again takes all of that back. Outside of the stretch nothing changes: where
//! the two disagree at its edges, a start or a stop stands there.
//!
//! Where choices touch each other, all of them are taken back first and what is to stand is made anew from the taps. Were one
//! laid over another, it would void what that one made, and taking either back alone would leave half of the other.

use std::collections::BTreeSet;

use coxswain_engine::event::{CompressedBy, CompressionStretch, Event, PauseReason, ReviewDeed};
use coxswain_engine::record::Record;
use coxswain_engine::timeline::{self, Fact};
use uuid::Uuid;

use super::desk::Desk;
use super::wire::CompressionSource;

/// A stretch in which a monitor counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chosen {
    /// The import.
    pub import: Uuid,
    /// From this code time on.
    pub from_ms: i64,
    /// Up to this one.
    pub to_ms: i64,
    /// Why.
    reason: String,
}

impl Chosen {
    /// How much of a stretch of time is in it.
    pub fn within_ms(&self, from_ms: i64, to_ms: i64) -> i64 {
        (self.to_ms.min(to_ms) - self.from_ms.max(from_ms)).max(0)
    }

    fn overlaps(&self, from_ms: i64, to_ms: i64) -> bool {
        self.within_ms(from_ms, to_ms) > 0
    }

    /// Whether it overlaps another stretch, or ends where that begins.
    const fn touches(&self, from_ms: i64, to_ms: i64) -> bool {
        self.from_ms <= to_ms && from_ms <= self.to_ms
    }
}

/// A choice on the record.
struct Choice<'a> {
    id: Uuid,
    made: &'a [Uuid],
    stands: bool,
    chosen: Chosen,
}

/// Every choice of a monitor that was ever made, in order of the chain.
fn choices(records: &[Record]) -> Vec<Choice<'_>> {
    let voided = timeline::voided(records);
    let choices = records.iter().filter_map(|record| match &record.event {
        Event::Reviewed { deed: ReviewDeed::SourceChosen { import, from_ms, to_ms, reason, records } } => {
            Some(Choice {
                id: record.id,
                made: records,
                stands: !voided.contains(&record.id),
                chosen: Chosen { import: *import, from_ms: *from_ms, to_ms: *to_ms, reason: reason.clone() },
            })
        }
        _ => None,
    });
    choices.collect()
}

/// Takes a stretch of time out of a timeline.
fn cut(timeline: Vec<Chosen>, from_ms: i64, to_ms: i64) -> Vec<Chosen> {
    let mut left = Vec::with_capacity(timeline.len() + 1);
    for one in timeline {
        if !one.overlaps(from_ms, to_ms) {
            left.push(one);
            continue;
        }
        for (from_ms, to_ms) in [(one.from_ms, from_ms), (to_ms, one.to_ms)] {
            if from_ms < to_ms {
                left.push(Chosen { from_ms, to_ms, ..one.clone() });
            }
        }
    }
    left
}

/// Where a monitor counts, and which: stretches that do not overlap, in order of time. Where records from before choices were
/// one timeline overlap, the later choice counts.
pub fn chosen(records: &[Record]) -> Vec<Chosen> {
    let standing = choices(records).into_iter().filter(|choice| choice.stands);
    let mut timeline = standing.fold(Vec::new(), |timeline, Choice { chosen: one, .. }| {
        let mut timeline = cut(timeline, one.from_ms, one.to_ms);
        timeline.push(one);
        timeline
    });
    timeline.sort_by_key(|one| one.from_ms);
    timeline
}

/// Every record that belongs to a choice, standing or taken back: the choice itself, what was made for it, and the voids of
/// any of those, which took it back. None of them is corrected by itself: the choice would stand in part.
pub fn parts(records: &[Record]) -> BTreeSet<Uuid> {
    let mut parts: BTreeSet<Uuid> = BTreeSet::new();
    for choice in choices(records) {
        parts.insert(choice.id);
        parts.extend(choice.made);
    }
    // A void comes after what it names.
    for record in records {
        if let Event::Voided { target, .. } = record.event
            && parts.contains(&target)
        {
            parts.insert(record.id);
        }
    }
    parts
}

/// Chooses whose compressions count from one moment up to another. `stretches_of` tells what an import has.
pub fn choose<'a>(
    desk: &mut Desk,
    import: Uuid,
    stretches_of: impl Fn(Uuid) -> &'a [CompressionStretch],
    (from_ms, to_ms): (i64, i64),
    source: CompressionSource,
    reason: &str,
) {
    let before = chosen(desk.records());
    let by_monitor = source == CompressionSource::Monitor;
    // What the new choice overlaps is made anew, and with it whatever touches that; a monitor's also where it only meets one.
    let (mut low_ms, mut high_ms) = (from_ms, to_ms);
    let mut concerned: Vec<Chosen> = Vec::new();
    let mut others = before;
    loop {
        let first = concerned.is_empty();
        let is_concerned = |one: &Chosen| {
            if by_monitor || !first { one.touches(low_ms, high_ms) } else { one.overlaps(low_ms, high_ms) }
        };
        let (more, rest): (Vec<_>, Vec<_>) = others.into_iter().partition(is_concerned);
        others = rest;
        if more.is_empty() {
            break;
        }
        low_ms = more.iter().map(|one| one.from_ms).chain([low_ms]).min().unwrap_or(low_ms);
        high_ms = more.iter().map(|one| one.to_ms).chain([high_ms]).max().unwrap_or(high_ms);
        concerned.extend(more);
    }
    take_back(desk, reason, |one| concerned.iter().any(|other| one.overlaps(other.from_ms, other.to_ms)));
    let mut wanted = cut(concerned, from_ms, to_ms);
    if by_monitor {
        wanted.push(Chosen { import, from_ms, to_ms, reason: reason.to_owned() });
    }
    wanted.sort_by_key(|one| one.from_ms);
    let wanted = joined(wanted, reason);
    let taps = without_choices(desk, reason);
    for run in wanted.chunk_by(|one, next| one.to_ms == next.from_ms) {
        follow(desk, &taps, run, &stretches_of);
    }
}

/// Stretches of one import that meet are one, for the latest reason if it is one of theirs.
fn joined(timeline: Vec<Chosen>, latest: &str) -> Vec<Chosen> {
    let mut found: Vec<Chosen> = Vec::with_capacity(timeline.len());
    for one in timeline {
        match found.last_mut() {
            Some(last) if last.import == one.import && last.to_ms == one.from_ms => {
                last.to_ms = one.to_ms;
                if one.reason == latest {
                    last.reason = one.reason;
                }
            }
            _ => found.push(one),
        }
    }
    found
}

/// Takes choices back: what they added is voided, and so are their voids. The latest first, so that what a later one voided
/// of an earlier one's counts again before that one is taken back. Whatever a choice that no longer stands left behind goes, too.
fn take_back(desk: &mut Desk, reason: &str, is_meant: impl Fn(&Chosen) -> bool) {
    let all: Vec<(Uuid, Vec<Uuid>, bool)> = choices(desk.records())
        .into_iter()
        .map(|choice| (choice.id, choice.made.to_vec(), choice.stands && !is_meant(&choice.chosen)))
        .collect();
    let mut voided = timeline::voided(desk.records());
    for (id, made, _) in all.iter().rev().filter(|(.., stays)| !stays) {
        let standing: Vec<Uuid> = made.iter().chain([id]).filter(|id| !voided.contains(*id)).copied().collect();
        for record in &standing {
            desk.void(*record, reason);
        }
        if !standing.is_empty() {
            voided = timeline::voided(desk.records());
        }
    }
}

/// The records as they would be if no monitor counted anywhere: what the team tapped, with its corrections.
fn without_choices(desk: &Desk, reason: &str) -> Vec<Record> {
    let mut taps = desk.clone();
    take_back(&mut taps, reason, |_| true);
    taps.records().to_vec()
}

/// Compressions as they are at a moment, by the facts up to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Running {
    by: Option<CompressedBy>,
}

fn running(facts: &[Fact<'_>], counts: impl Fn(&Fact<'_>) -> bool) -> Running {
    let mut now = Running { by: None };
    for fact in facts.iter().filter(|fact| counts(fact)) {
        match fact.event {
            Event::CompressionsStarted { by } => {
                now.by.get_or_insert(*by);
            }
            Event::CompressionsStopped { .. } | Event::Rosc {} | Event::CodeClosed { .. } => now.by = None,
            _ => {}
        }
    }
    now
}

const fn is_tap(event: &Event) -> bool {
    matches!(event, Event::CompressionsStarted { .. } | Event::CompressionsStopped { .. })
}

/// A pause that was tapped: from when to when, and why.
struct TappedPause {
    start_ms: i64,
    end_ms: i64,
    reason: PauseReason,
}

fn tapped_pauses(facts: &[Fact<'_>]) -> Vec<TappedPause> {
    let mut found: Vec<TappedPause> = Vec::new();
    let mut open: Option<(i64, PauseReason)> = None;
    for fact in facts {
        match fact.event {
            Event::CompressionsStopped { reason } => {
                open.get_or_insert((fact.at_ms, *reason));
            }
            Event::CompressionsStarted { .. } | Event::Rosc {} | Event::CodeClosed { .. } => {
                if let Some((start_ms, reason)) = open.take() {
                    found.push(TappedPause { start_ms, end_ms: fact.at_ms, reason });
                }
            }
            _ => {}
        }
    }
    found
}

/// Why compressions paused from one moment to another: what was tapped for the pause that lies over most of it. The monitor
/// does not know; where nothing was tapped, the reason is `other`.
fn reason_of(pauses: &[TappedPause], start_ms: i64, end_ms: i64) -> PauseReason {
    let overlap = |pause: &TappedPause| pause.end_ms.min(end_ms) - pause.start_ms.max(start_ms);
    let most = pauses.iter().filter(|pause| overlap(pause) > 0).max_by_key(|pause| overlap(pause));
    most.map_or(PauseReason::Other, |pause| pause.reason)
}

/// What moves the chest where a monitor begins to record compressions: as tapped there, or at the next tapped start, or at
/// the one before.
fn moved_by(taps: &[Fact<'_>], at_ms: i64) -> CompressedBy {
    let starts = || {
        taps.iter().filter_map(|fact| match fact.event {
            Event::CompressionsStarted { by } => Some((fact.at_ms, *by)),
            _ => None,
        })
    };
    let there = running(taps, |fact| fact.at_ms <= at_ms).by;
    let next = || starts().find(|(start_ms, _)| *start_ms > at_ms).map(|(_, by)| by);
    let last = || starts().next_back().map(|(_, by)| by);
    there.or_else(next).or_else(last).unwrap_or(CompressedBy::Manual)
}

/// What is made for a run of choices that meet: for each, its records so far.
struct Making<'a> {
    run: &'a [Chosen],
    made: Vec<Vec<Uuid>>,
}

impl Making<'_> {
    /// The choice in which a moment lies; the end of the run is of the last one.
    fn place(&self, at_ms: i64) -> usize {
        let place = self.run.iter().position(|one| at_ms < one.to_ms);
        place.unwrap_or(self.run.len().saturating_sub(1))
    }

    fn reason(&self, at_ms: i64) -> &str {
        self.run.get(self.place(at_ms)).map_or("", |one| &one.reason)
    }

    fn keep(&mut self, at_ms: i64, record: Uuid) {
        let place = self.place(at_ms);
        if let Some(made) = self.made.get_mut(place) {
            made.push(record);
        }
    }
}

/// Makes a run of choices that meet. `taps` are the records as they are without any choice.
fn follow<'a>(
    desk: &mut Desk,
    taps: &[Record],
    run: &[Chosen],
    stretches_of: &impl Fn(Uuid) -> &'a [CompressionStretch],
) {
    let (Some(first), Some(last)) = (run.first(), run.last()) else { return };
    let (from_ms, to_ms) = (first.from_ms, last.to_ms);
    let facts = timeline::facts(taps).facts;
    let pauses = tapped_pauses(&facts);
    let at_end = running(&facts, |fact| fact.at_ms <= to_ms);
    let mut making = Making { run, made: vec![Vec::new(); run.len()] };
    for fact in facts.iter().filter(|fact| is_tap(fact.event) && (from_ms..to_ms).contains(&fact.at_ms)) {
        let void = desk.void(fact.id, making.reason(fact.at_ms));
        making.keep(fact.at_ms, void);
    }
    // Walks along the edges of the monitors' stretches; a start or a stop is added only where something changes.
    let mut compressing = running(&facts, |fact| fact.at_ms < from_ms).by.is_some();
    let mut now_ms = from_ms;
    let stop = |desk: &mut Desk, making: &mut Making<'_>, at_ms: i64, until_ms: i64| {
        let event = Event::CompressionsStopped { reason: reason_of(&pauses, at_ms, until_ms) };
        let record = desk.put(Some(at_ms), event);
        making.keep(at_ms, record);
    };
    for one in run {
        for stretch in stretches_of(one.import).iter().filter(|stretch| one.overlaps(stretch.start_ms, stretch.stop_ms))
        {
            let (start_ms, stop_ms) = (stretch.start_ms.max(one.from_ms), stretch.stop_ms.min(one.to_ms));
            if compressing && now_ms < start_ms {
                stop(desk, &mut making, now_ms, start_ms);
                compressing = false;
            }
            if !compressing {
                let by = moved_by(&facts, start_ms);
                let record = desk.put(Some(start_ms), Event::CompressionsStarted { by });
                making.keep(start_ms, record);
                compressing = true;
            }
            now_ms = stop_ms;
        }
    }
    if compressing && now_ms < to_ms {
        let next = facts.iter().find(|fact| fact.at_ms >= to_ms && is_tap(fact.event)).map(|fact| fact.at_ms);
        stop(desk, &mut making, now_ms, next.unwrap_or(to_ms));
        compressing = false;
    }
    // From here on the taps count again: a tap at this very moment says by itself how things stand.
    let tapped = facts.iter().any(|fact| fact.at_ms == to_ms && is_tap(fact.event));
    if !tapped && compressing != at_end.by.is_some() {
        match at_end.by {
            Some(by) => {
                let record = desk.put(Some(to_ms), Event::CompressionsStarted { by });
                making.keep(to_ms, record);
            }
            None => stop(desk, &mut making, to_ms, to_ms),
        }
    }
    for (one, records) in run.iter().zip(making.made) {
        let Chosen { import, from_ms, to_ms, reason } = one.clone();
        desk.deed(ReviewDeed::SourceChosen { import, from_ms, to_ms, reason, records });
    }
}

#[cfg(test)]
mod tests {
    use coxswain_engine::measure::course;
    use coxswain_engine::record::{Author, Source};
    use proptest::prelude::*;
    use proptest::test_runner::RngSeed;

    use super::*;

    fn records(facts: &[(i64, Event)]) -> Vec<Record> {
        let author = Author { device: Uuid::nil(), name: "Bay 1".to_owned(), roles: Vec::new() };
        let record = |(place, (at_ms, event)): (usize, &(i64, Event))| Record {
            seq: place as u64 + 1,
            id: Uuid::from_u128(place as u128 + 1),
            code: Uuid::nil(),
            at_ms: *at_ms,
            received_ms: None,
            recorded_at: String::new(),
            by: author.clone(),
            source: Source::Live,
            event: event.clone(),
        };
        facts.iter().enumerate().map(record).collect()
    }

    fn started() -> Event {
        Event::CompressionsStarted { by: CompressedBy::Mechanical }
    }

    fn stopped(reason: PauseReason) -> Event {
        Event::CompressionsStopped { reason }
    }

    /// Compressions by the facts that count: on from, off at, with the reason of the stop.
    fn stretches_of(records: &[Record]) -> Vec<(i64, i64, Option<PauseReason>)> {
        let (mut found, mut open) = (Vec::new(), None);
        for fact in timeline::facts(records).facts {
            match fact.event {
                Event::CompressionsStarted { .. } => {
                    open.get_or_insert(fact.at_ms);
                }
                Event::CompressionsStopped { reason } => {
                    found.extend(open.take().map(|from_ms| (from_ms, fact.at_ms, Some(*reason))));
                }
                Event::CodeClosed { .. } => found.extend(open.take().map(|from_ms| (from_ms, fact.at_ms, None))),
                _ => {}
            }
        }
        found
    }

    fn taps() -> Vec<Record> {
        use coxswain_engine::event::Outcome;
        records(&[
            (0, Event::ClockStarted { recognised_ago_ms: None }),
            (5_000, started()),
            (120_000, stopped(PauseReason::RhythmCheck)),
            (140_000, started()),
            (260_000, stopped(PauseReason::Shock)),
            (270_000, started()),
            (300_000, Event::CodeClosed { outcome: Outcome::Died, cpr_ongoing: None }),
        ])
    }

    const MONITOR: &[CompressionStretch] = &[
        CompressionStretch { start_ms: 8_000, stop_ms: 60_000 },
        CompressionStretch { start_ms: 64_000, stop_ms: 121_000 },
        CompressionStretch { start_ms: 130_000, stop_ms: 258_000 },
    ];

    fn chose(desk: &mut Desk, from_ms: i64, to_ms: i64, source: CompressionSource) {
        choose(desk, Uuid::from_u128(99), |_| MONITOR, (from_ms, to_ms), source, "the monitor is exact");
    }

    /// Worked by hand: within the window the monitor's times, outside of it the taps', the reason of each pause from the tapped
    /// pause that lies over most of it.
    #[test]
    fn within_the_stretch_the_monitor_counts_and_outside_of_it_the_taps() {
        let mut desk = Desk::of(&taps());
        chose(&mut desk, 0, 200_000, CompressionSource::Monitor);
        assert_eq!(
            stretches_of(desk.records()),
            [
                (8_000, 60_000, Some(PauseReason::Other)),
                (64_000, 121_000, Some(PauseReason::RhythmCheck)),
                (130_000, 260_000, Some(PauseReason::Shock)),
                (270_000, 300_000, None),
            ]
        );
        let by_device = |record: &Record| record.event == started();
        assert_eq!(
            desk.records().iter().filter(|record| by_device(record)).count(),
            6,
            "what moves the chest stays as tapped"
        );
    }

    #[test]
    fn where_the_two_disagree_at_an_edge_a_start_or_a_stop_stands_there() {
        // At 62 s the taps say compressing, the monitor not; at 125 s the taps say stopped, and so does the monitor.
        let mut desk = Desk::of(&taps());
        chose(&mut desk, 62_000, 125_000, CompressionSource::Monitor);
        assert_eq!(
            stretches_of(desk.records())[..3],
            [
                (5_000, 62_000, Some(PauseReason::Other)),
                (64_000, 121_000, Some(PauseReason::RhythmCheck)),
                (140_000, 260_000, Some(PauseReason::Shock)),
            ]
        );
        // At 132 s the monitor compresses and the taps do not: from there on the taps count, a stop stands.
        let mut desk = Desk::of(&taps());
        chose(&mut desk, 100_000, 132_000, CompressionSource::Monitor);
        assert_eq!(
            stretches_of(desk.records())[..3],
            [
                (5_000, 121_000, Some(PauseReason::RhythmCheck)),
                (130_000, 132_000, Some(PauseReason::Other)),
                (140_000, 260_000, Some(PauseReason::Shock)),
            ]
        );
    }

    #[test]
    fn every_choice_can_be_taken_back_in_whole_and_in_part() {
        let before = stretches_of(&taps());
        let mut desk = Desk::of(&taps());
        chose(&mut desk, 0, 100_000, CompressionSource::Monitor);
        chose(&mut desk, 90_000, 290_000, CompressionSource::Monitor);
        assert_eq!(
            chosen(desk.records()).iter().map(|one| (one.from_ms, one.to_ms)).collect::<Vec<_>>(),
            [(0, 290_000)]
        );
        let whole = stretches_of(desk.records());
        let mut in_one = Desk::of(&taps());
        chose(&mut in_one, 0, 290_000, CompressionSource::Monitor);
        assert_eq!(whole, stretches_of(in_one.records()), "two choices that meet are one");
        // The taps again in the middle, then everywhere.
        chose(&mut desk, 110_000, 150_000, CompressionSource::Taps);
        let spans: Vec<_> = chosen(desk.records()).iter().map(|one| (one.from_ms, one.to_ms)).collect();
        assert_eq!(spans, [(0, 110_000), (150_000, 290_000)]);
        assert!(stretches_of(desk.records()).contains(&(64_000, 120_000, Some(PauseReason::RhythmCheck))));
        chose(&mut desk, 0, 300_000, CompressionSource::Taps);
        assert_eq!(stretches_of(desk.records()), before);
        assert_eq!(chosen(desk.records()), []);
        assert_eq!(desk.records()[..taps().len()], taps()[..], "what was recorded stands as it was");
    }

    fn import(number: u128) -> Uuid {
        Uuid::from_u128(1_000 + number)
    }

    /// Facts that count, whatever records they stand in by now.
    fn facts_of(records: &[Record]) -> Vec<(Uuid, i64, Event)> {
        timeline::facts(records).facts.iter().map(|fact| (fact.id, fact.at_ms, fact.event.clone())).collect()
    }

    /// What a tester found: two imports whose choices overlap, both taken back.
    #[test]
    fn where_two_imports_overlap_the_later_choice_counts_and_both_can_be_taken_back() {
        let stretch = |start_ms, stop_ms| CompressionStretch { start_ms, stop_ms };
        let first = [stretch(5_000, 60_000), stretch(70_000, 120_000)];
        let second = [stretch(8_000, 100_000)];
        let of = |one: Uuid| if one == import(1) { &first[..] } else { &second[..] };
        let mut desk = Desk::of(&taps());
        let mut chose = |number, span, source| {
            choose(&mut desk, import(number), of, span, source, "why");
            (chosen(desk.records()), stretches_of(desk.records()), facts_of(desk.records()))
        };
        chose(1, (0, 100_000), CompressionSource::Monitor);
        let (both, stretches, _) = chose(2, (50_000, 110_000), CompressionSource::Monitor);
        let both: Vec<_> = both.iter().map(|one| (one.import, one.from_ms, one.to_ms)).collect();
        assert_eq!(both, [(import(1), 0, 50_000), (import(2), 50_000, 110_000)]);
        // Both compress at 50 s: nothing is added there. At 100 s the second stops; from 110 s on the taps count again.
        assert_eq!(
            stretches[..2],
            [(5_000, 100_000, Some(PauseReason::Other)), (110_000, 120_000, Some(PauseReason::RhythmCheck))]
        );
        // Whichever import the taps are asked for in place of, they are in place of both.
        let (left, _, facts) = chose(1, (0, 200_000), CompressionSource::Taps);
        assert_eq!((left, facts), (Vec::new(), facts_of(&taps())));
    }

    /// What an earlier version of this server left: the second choice laid over the first, the first taken back without what
    /// the second had voided of it.
    #[test]
    fn what_is_left_of_a_choice_that_was_taken_back_goes_with_the_next_one() {
        let mut desk = Desk::of(&taps());
        let lay = |desk: &mut Desk, number, at_ms, over: &[Uuid]| {
            let mut made: Vec<Uuid> = over.iter().map(|id| desk.void(*id, "")).collect();
            made.push(desk.put(Some(at_ms), stopped(PauseReason::Other)));
            made.push(desk.put(Some(at_ms + 4_000), started()));
            let deed = |records| ReviewDeed::SourceChosen {
                import: import(number),
                from_ms: at_ms - 10_000,
                to_ms: at_ms + 10_000,
                reason: String::new(),
                records,
            };
            let id = desk.deed(deed(made.clone()));
            (id, made)
        };
        let (first, of_first) = lay(&mut desk, 1, 60_000, &[]);
        lay(&mut desk, 2, 65_000, &of_first);
        desk.void(first, "");
        let shown: Vec<_> = chosen(desk.records()).iter().map(|one| (one.import, one.from_ms, one.to_ms)).collect();
        assert_eq!(shown, [(import(2), 55_000, 75_000)]);
        choose(&mut desk, import(2), |_| MONITOR, (0, 200_000), CompressionSource::Taps, "");
        assert_eq!((chosen(desk.records()), facts_of(desk.records())), (Vec::new(), facts_of(&taps())));
    }

    /// Seconds of a small code.
    const LENGTH_S: i64 = 24;

    /// Stretches from the seconds in which there are compressions.
    fn stretches(seconds: &[bool]) -> Vec<CompressionStretch> {
        let mut found: Vec<CompressionStretch> = Vec::new();
        for (second, _) in (0..).zip(seconds).filter(|(_, is)| **is) {
            let (start_ms, stop_ms) = (second * 1_000, (second + 1) * 1_000);
            match found.last_mut() {
                Some(last) if last.stop_ms == start_ms => last.stop_ms = stop_ms,
                _ => found.push(CompressionStretch { start_ms, stop_ms }),
            }
        }
        found
    }

    /// A code whose taps say in which seconds there were compressions.
    fn tapped(seconds: &[bool]) -> Vec<Record> {
        use coxswain_engine::event::Outcome;
        let mut taps = vec![(0, Event::ClockStarted { recognised_ago_ms: None })];
        for stretch in stretches(seconds) {
            taps.push((stretch.start_ms, started()));
            taps.push((stretch.stop_ms, stopped(PauseReason::Shock)));
        }
        taps.push((LENGTH_S * 1_000, Event::CodeClosed { outcome: Outcome::Died, cpr_ongoing: None }));
        records(&taps)
    }

    fn seconds() -> impl Strategy<Value = Vec<bool>> {
        proptest::collection::vec(any::<bool>(), usize::try_from(LENGTH_S).unwrap())
    }

    /// Which import, from when to when in seconds, and whether it is the monitor that is chosen.
    fn choice() -> impl Strategy<Value = (usize, i64, i64, bool)> {
        (0..3_usize, 0..LENGTH_S, 1..10_i64, proptest::bool::weighted(0.7)).prop_map(
            |(number, from_s, length_s, monitor)| (number, from_s, (from_s + length_s).min(LENGTH_S), monitor),
        )
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 256, rng_seed: RngSeed::Fixed(1), failure_persistence: None, ..ProptestConfig::default() })]

        /// The model: each second has one owner, the taps or an import, and the last choice of it decides.
        #[test]
        fn each_moment_has_one_source_after_any_choices_and_the_taps_come_back_whole(
            team in seconds(),
            imports in proptest::collection::vec(seconds(), 3),
            choices in proptest::collection::vec(choice(), 1..8),
        ) {
            let before = tapped(&team);
            let read: Vec<Vec<CompressionStretch>> = imports.iter().map(|seconds| stretches(seconds)).collect();
            let of = |one: Uuid| read[(0..3).find(|number| import(*number) == one).unwrap() as usize].as_slice();
            let mut desk = Desk::of(&before);
            let mut owners: Vec<Option<usize>> = vec![None; team.len()];
            for (number, from_s, to_s, monitor) in choices {
                let source = if monitor { CompressionSource::Monitor } else { CompressionSource::Taps };
                choose(&mut desk, import(number as u128), of, (from_s * 1_000, to_s * 1_000), source, "why");
                for second in from_s..to_s {
                    owners[second as usize] = monitor.then_some(number);
                }
                let shown = chosen(desk.records());
                let counting = stretches_of(desk.records());
                for (second, owner) in owners.iter().enumerate() {
                    let (from_ms, to_ms) = (second as i64 * 1_000, second as i64 * 1_000 + 1_000);
                    let of_shown: Vec<Uuid> =
                        shown.iter().filter(|one| one.overlaps(from_ms, to_ms)).map(|one| one.import).collect();
                    let owner_id: Vec<Uuid> = owner.iter().map(|number| import(*number as u128)).collect();
                    prop_assert_eq!(of_shown, owner_id);
                    let is = owner.map_or(team[second], |number| imports[number][second]);
                    let within = |(start_ms, stop_ms, _): &(i64, i64, _)| *start_ms <= from_ms && to_ms <= *stop_ms;
                    let overlaps = |(start_ms, stop_ms, _): &(i64, i64, _)| *start_ms < to_ms && from_ms < *stop_ms;
                    prop_assert_eq!((counting.iter().any(within), counting.iter().any(overlaps)), (is, is));
                }
            }
            choose(&mut desk, import(0), of, (-1_000, LENGTH_S * 1_000 + 1_000), CompressionSource::Taps, "why");
            prop_assert_eq!(chosen(desk.records()), vec![]);
            prop_assert_eq!(facts_of(desk.records()), facts_of(&before));
            prop_assert_eq!(course(desk.records()), course(&before));
            prop_assert_eq!(&desk.records()[..before.len()], &before[..]);
        }
    }
}

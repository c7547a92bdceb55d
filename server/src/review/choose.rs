//! Whose compressions count: what the team tapped, or what the monitor recorded. Choosing the monitor for a stretch of time
//! voids the taps within it and adds the monitor's starts and stops; choosing the taps again takes all of that back. Outside
//! of the stretch nothing changes: where the two disagree at its edges, a start or a stop stands there.

use coxswain_engine::event::{CompressedBy, CompressionStretch, Event, PauseReason, ReviewDeed};
use coxswain_engine::record::Record;
use coxswain_engine::timeline::{self, Fact};
use uuid::Uuid;

use super::desk::Desk;
use super::wire::CompressionSource;

/// A stretch in which a monitor counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chosen {
    /// The record that says so.
    pub id: Uuid,
    /// The import.
    pub import: Uuid,
    /// From this code time on.
    pub from_ms: i64,
    /// Up to this one.
    pub to_ms: i64,
    /// Why.
    reason: String,
    /// What was made for it.
    records: Vec<Uuid>,
}

/// Every choice of a monitor that stands, in order of the chain.
pub fn chosen(records: &[Record]) -> Vec<Chosen> {
    let voided = timeline::voided(records);
    let standing = records.iter().filter(|record| !voided.contains(&record.id));
    let choices = standing.filter_map(|record| match &record.event {
        Event::Reviewed { deed: ReviewDeed::SourceChosen { import, from_ms, to_ms, reason, records } } => {
            Some(Chosen {
                id: record.id,
                import: *import,
                from_ms: *from_ms,
                to_ms: *to_ms,
                reason: reason.clone(),
                records: records.clone(),
            })
        }
        _ => None,
    });
    choices.collect()
}

/// Chooses whose compressions count from one moment up to another.
pub fn choose(
    desk: &mut Desk,
    import: Uuid,
    stretches: &[CompressionStretch],
    (from_ms, to_ms): (i64, i64),
    source: CompressionSource,
    reason: &str,
) {
    let touched: Vec<Chosen> = chosen(desk.records())
        .into_iter()
        .filter(|one| one.import == import && one.from_ms < to_ms && from_ms < one.to_ms)
        .collect();
    for one in &touched {
        take_back(desk, one, reason);
    }
    match source {
        CompressionSource::Monitor => {
            // What was chosen before and goes beyond stays chosen: together it is one stretch.
            let from_ms = touched.iter().map(|one| one.from_ms).chain([from_ms]).min().unwrap_or(from_ms);
            let to_ms = touched.iter().map(|one| one.to_ms).chain([to_ms]).max().unwrap_or(to_ms);
            follow_monitor(desk, import, stretches, (from_ms, to_ms), reason);
        }
        CompressionSource::Taps => {
            for one in &touched {
                for rest in [(one.from_ms, from_ms.min(one.to_ms)), (to_ms.max(one.from_ms), one.to_ms)] {
                    if rest.0 < rest.1 {
                        follow_monitor(desk, import, stretches, rest, &one.reason);
                    }
                }
            }
        }
    }
}

/// Takes a choice back: what it added is voided, and so are its voids.
fn take_back(desk: &mut Desk, one: &Chosen, reason: &str) {
    let voided = timeline::voided(desk.records());
    // What a reviewer has voided since is out already.
    for record in one.records.iter().chain([&one.id]).filter(|id| !voided.contains(*id)) {
        desk.void(*record, reason);
    }
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

fn follow_monitor(
    desk: &mut Desk,
    import: Uuid,
    stretches: &[CompressionStretch],
    (from_ms, to_ms): (i64, i64),
    reason: &str,
) {
    let before = desk.records().to_vec();
    let facts = timeline::facts(&before).facts;
    let pauses = tapped_pauses(&facts);
    let at_start = running(&facts, |fact| fact.at_ms < from_ms);
    let at_end = running(&facts, |fact| fact.at_ms <= to_ms);
    let by = at_start.by.or_else(|| {
        facts.iter().filter(|fact| fact.at_ms < to_ms).find_map(|fact| match fact.event {
            Event::CompressionsStarted { by } if fact.at_ms >= from_ms => Some(*by),
            _ => None,
        })
    });
    let by = by.unwrap_or(CompressedBy::Manual);
    let mut made = Vec::new();
    for fact in facts.iter().filter(|fact| is_tap(fact.event) && (from_ms..to_ms).contains(&fact.at_ms)) {
        made.push(desk.void(fact.id, reason));
    }
    // Walks along the edges of the monitor's stretches; a start or a stop is added only where something changes.
    let within = |stretch: &&CompressionStretch| stretch.start_ms < to_ms && from_ms < stretch.stop_ms;
    let within: Vec<&CompressionStretch> = stretches.iter().filter(within).collect();
    let mut compressing = at_start.by.is_some();
    let mut now_ms = from_ms;
    let stop = |desk: &mut Desk, made: &mut Vec<Uuid>, at_ms: i64, until_ms: i64| {
        let event = Event::CompressionsStopped { reason: reason_of(&pauses, at_ms, until_ms) };
        made.push(desk.put(Some(at_ms), event));
    };
    for stretch in within {
        let (start_ms, stop_ms) = (stretch.start_ms.max(from_ms), stretch.stop_ms.min(to_ms));
        if compressing && now_ms < start_ms {
            stop(desk, &mut made, now_ms, start_ms);
            compressing = false;
        }
        if !compressing {
            made.push(desk.put(Some(start_ms), Event::CompressionsStarted { by }));
            compressing = true;
        }
        now_ms = stop_ms;
    }
    if compressing && now_ms < to_ms {
        let next = facts.iter().find(|fact| fact.at_ms >= to_ms && is_tap(fact.event)).map(|fact| fact.at_ms);
        stop(desk, &mut made, now_ms, next.unwrap_or(to_ms));
        compressing = false;
    }
    // From here on the taps count again: a tap at this very moment says by itself how things stand.
    let tapped = facts.iter().any(|fact| fact.at_ms == to_ms && is_tap(fact.event));
    if !tapped && compressing != at_end.by.is_some() {
        match at_end.by {
            Some(by) => made.push(desk.put(Some(to_ms), Event::CompressionsStarted { by })),
            None => stop(desk, &mut made, to_ms, to_ms),
        }
    }
    desk.deed(ReviewDeed::SourceChosen { import, from_ms, to_ms, reason: reason.to_owned(), records: made });
}

#[cfg(test)]
mod tests {
    use coxswain_engine::record::{Author, Source};

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
        choose(desk, Uuid::from_u128(99), MONITOR, (from_ms, to_ms), source, "the monitor is exact");
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
}

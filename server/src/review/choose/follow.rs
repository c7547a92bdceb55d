//! What choices are made of, by what was tapped and what monitors recorded: the taps to set aside, and the starts and stops to
//! bring, that let the monitor count in a run of choices that meet, and the taps everywhere else.

use coxswain_engine::event::{CompressedBy, CompressionStretch, Event, PauseReason};
use coxswain_engine::record::Record;
use coxswain_engine::timeline::{self, Fact};

use super::{Chosen, Part, closed_ms, stretches_of};

/// What moves the chest at a moment, by the facts up to it; nothing in a pause. As the figures have it: circulation that comes back
/// ends compressions, and outside of an arrest it changes nothing.
fn running(facts: &[Fact<'_>], counts: impl Fn(&Fact<'_>) -> bool) -> Option<CompressedBy> {
    let (mut now, mut in_arrest) = (None, false);
    for fact in facts.iter().filter(|fact| counts(fact)) {
        match fact.event {
            Event::ClockStarted { .. } | Event::ArrestAgain {} => in_arrest = true,
            Event::CompressionsStarted { by } => {
                now.get_or_insert(*by);
            }
            Event::CompressionsStopped { .. } => now = None,
            Event::Rosc {} | Event::CodeClosed { .. } if in_arrest => (now, in_arrest) = (None, false),
            _ => {}
        }
    }
    now
}

/// A start or a stop of compressions: what a choice sets aside, and what it brings.
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
    // One that nothing ended yet: the reason of a pause does not hang on the closing.
    found.extend(open.map(|(start_ms, reason)| TappedPause { start_ms, end_ms: i64::MAX, reason }));
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
    let there = running(taps, |fact| fact.at_ms <= at_ms);
    let next = || starts().find(|(start_ms, _)| *start_ms > at_ms).map(|(_, by)| by);
    let last = || starts().next_back().map(|(_, by)| by);
    there.or_else(next).or_else(last).unwrap_or(CompressedBy::Manual)
}

/// What a choice is made of, in a run of choices that meet.
struct Parts<'a> {
    run: &'a [Chosen],
    of: Vec<Vec<Part>>,
}

impl Parts<'_> {
    /// Puts a part to the choice in which its moment lies; the end of the run is of the last one.
    fn put(&mut self, at_ms: i64, part: Part) {
        let place = self.run.iter().position(|one| at_ms < one.to_ms);
        if let Some(parts) = self.of.get_mut(place.unwrap_or(self.run.len().saturating_sub(1))) {
            parts.push(part);
        }
    }

    fn bring(&mut self, at_ms: i64, event: Event) {
        self.put(at_ms, Part::Brought { at_ms, event: Box::new(event) });
    }
}

/// When there was circulation: from each return of it to the next arrest. What a monitor records of that time is no arrest's,
/// and its compressions begin anew with the next one.
fn circulation(facts: &[Fact<'_>]) -> Vec<(i64, i64)> {
    let mut found: Vec<(i64, i64)> = Vec::new();
    let (mut since, mut in_arrest) = (None, false);
    for fact in facts {
        match fact.event {
            Event::ClockStarted { .. } | Event::ArrestAgain {} => {
                found.extend(since.take().map(|from_ms| (from_ms, fact.at_ms)));
                in_arrest = true;
            }
            Event::Rosc {} if in_arrest => (since, in_arrest) = (Some(fact.at_ms), false),
            _ => {}
        }
    }
    found.extend(since.map(|from_ms| (from_ms, i64::MAX)));
    found
}

/// When the monitors of a run recorded compressions in an arrest: what lies in each one's stretch of the run, without what
/// lies in circulation.
fn recorded(taps: &[Record], run: &[Chosen], circulation: &[(i64, i64)]) -> Vec<CompressionStretch> {
    let mut found = Vec::new();
    for one in run {
        for stretch in stretches_of(taps, one.import).unwrap_or_default() {
            let (mut start_ms, stop_ms) = (stretch.start_ms.max(one.from_ms), stretch.stop_ms.min(one.to_ms));
            for (back_ms, again_ms) in circulation {
                if start_ms < *back_ms && *back_ms < stop_ms {
                    found.push(CompressionStretch { start_ms, stop_ms: *back_ms });
                }
                if *back_ms < stop_ms && start_ms < *again_ms {
                    start_ms = *again_ms;
                }
            }
            if start_ms < stop_ms {
                found.push(CompressionStretch { start_ms, stop_ms });
            }
        }
    }
    found
}

/// What each choice of a run of choices that meet is made of. `taps` are the records as they are without any choice.
pub(super) fn parts_of(taps: &[Record], run: &[Chosen]) -> Vec<Vec<Part>> {
    let (Some(first), Some(last)) = (run.first(), run.last()) else { return Vec::new() };
    let facts = timeline::facts(taps).facts;
    // Nothing counts from the closing on.
    let closed_ms = closed_ms(taps).unwrap_or(i64::MAX);
    let (from_ms, to_ms) = (first.from_ms, last.to_ms.min(closed_ms));
    let pauses = tapped_pauses(&facts);
    let circulation = circulation(&facts);
    let mut parts = Parts { run, of: vec![Vec::new(); run.len()] };
    for fact in facts.iter().filter(|fact| is_tap(fact.event) && (from_ms..to_ms).contains(&fact.at_ms)) {
        parts.put(fact.at_ms, Part::SetAside(fact.id));
    }
    // Walks along the edges of the monitors' stretches; a start or a stop is brought only where something changes.
    let before = |fact: &Fact<'_>| fact.at_ms < from_ms || (fact.at_ms == from_ms && !is_tap(fact.event));
    let mut compressing = running(&facts, before).is_some();
    let mut now_ms = from_ms;
    let stop = |start_ms: i64, end_ms: i64| Event::CompressionsStopped { reason: reason_of(&pauses, start_ms, end_ms) };
    let recorded = recorded(taps, run, &circulation).into_iter();
    let recorded = recorded.map(|one| CompressionStretch { stop_ms: one.stop_ms.min(to_ms), ..one });
    for CompressionStretch { start_ms, stop_ms } in recorded.filter(|one| one.start_ms < one.stop_ms) {
        if compressing && now_ms < start_ms {
            parts.bring(now_ms, stop(now_ms, start_ms));
            compressing = false;
        }
        if !compressing {
            parts.bring(start_ms, Event::CompressionsStarted { by: moved_by(&facts, start_ms) });
        }
        // Where circulation is back, compressions have ended by that.
        compressing = circulation.iter().all(|(back_ms, _)| *back_ms != stop_ms);
        now_ms = stop_ms;
    }
    if compressing && now_ms < to_ms {
        let next = facts.iter().find(|fact| fact.at_ms >= to_ms && is_tap(fact.event)).map(|fact| fact.at_ms);
        parts.bring(now_ms, stop(now_ms, next.unwrap_or(to_ms)));
        compressing = false;
    }
    // From here on the taps count again: a tap at this very moment says by itself how things stand.
    let tapped = facts.iter().any(|fact| fact.at_ms == to_ms && is_tap(fact.event));
    let at_end = running(&facts, |fact| fact.at_ms <= to_ms);
    if to_ms < closed_ms && !tapped && compressing != at_end.is_some() {
        let event = at_end.map_or_else(|| stop(to_ms, to_ms), |by| Event::CompressionsStarted { by });
        parts.bring(to_ms, event);
    }
    parts.of
}

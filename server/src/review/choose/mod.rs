//! Whose compressions count: what the team tapped, or what a monitor recorded. The choices make one timeline over all imports:
//! at any moment the taps count, or one import. Choosing a monitor for a stretch of time voids the taps within it and adds the
//! monitor's starts and stops; choosing the taps again takes all of that back. Outside of the stretch nothing changes: where
//! the two disagree at its edges, a start or a stop stands there.
//!
//! What is to stand is worked out from the taps alone, and held against what stands: only the difference is put on the record.
//! So choices never lie over each other, where taking one back would leave half of another, and where the taps beneath one are
//! corrected, it stands as if it were chosen now.

mod follow;

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use coxswain_engine::event::{CompressionStretch, Event, ReviewDeed};
use coxswain_engine::record::Record;
use coxswain_engine::timeline;
use uuid::Uuid;

use super::desk::Desk;
use super::wire::{ByChoice, CompressionSource};
use follow::parts_of;

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
    /// The choice that somebody made of it; absent for the one that is being made.
    first: Option<Uuid>,
}

impl Chosen {
    /// How much of a stretch of time is in it.
    pub fn within_ms(&self, from_ms: i64, to_ms: i64) -> i64 {
        (self.to_ms.min(to_ms) - self.from_ms.max(from_ms)).max(0)
    }

    fn overlaps(&self, from_ms: i64, to_ms: i64) -> bool {
        self.within_ms(from_ms, to_ms) > 0
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
        Event::Reviewed {
            deed: ReviewDeed::SourceChosen { import: Some(import), from_ms, to_ms, reason, records, renews },
        } => Some(Choice {
            id: record.id,
            made: records,
            stands: !voided.contains(&record.id),
            chosen: Chosen {
                import: *import,
                from_ms: *from_ms,
                to_ms: *to_ms,
                reason: reason.clone(),
                first: Some(renews.unwrap_or(record.id)),
            },
        }),
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
    for record in records {
        if let Event::Reviewed { deed: ReviewDeed::SourceChosen { records, .. } } = &record.event {
            parts.insert(record.id);
            parts.extend(records);
        }
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

/// What choices did to each fact that they touch: the taps that a standing one sets aside, and what any of them brought.
pub fn done_to(records: &[Record]) -> BTreeMap<Uuid, ByChoice> {
    let voided = timeline::voided(records);
    let made: BTreeSet<Uuid> = choices(records).iter().flat_map(|choice| choice.made.iter().copied()).collect();
    let made = records.iter().filter(|record| made.contains(&record.id));
    let done = made.filter_map(|record| match (&record.event, voided.contains(&record.id)) {
        (Event::Voided { target, .. }, gone) => (!gone).then_some((*target, ByChoice::SetAside)),
        (_, false) => Some((record.id, ByChoice::Brought)),
        (_, true) => Some((record.id, ByChoice::TakenBack)),
    });
    done.collect()
}

/// The records as they would be if no monitor counted anywhere: what the team tapped, with its corrections.
pub fn beneath(records: &[Record]) -> Cow<'_, [Record]> {
    if choices(records).is_empty() {
        return Cow::Borrowed(records);
    }
    let mut taps = Desk::of(records);
    take_back(&mut taps, "", &BTreeSet::new());
    Cow::Owned(taps.records().to_vec())
}

/// Chooses whose compressions count from one moment up to another, or up to the closing if that is before: nobody has seen what comes
/// after it. False, and nothing is put on the desk, if the taps are chosen where they count already.
pub fn choose(
    desk: &mut Desk,
    import: Uuid,
    (from_ms, to_ms): (i64, i64),
    source: CompressionSource,
    reason: &str,
) -> bool {
    let to_ms = match source {
        CompressionSource::Monitor => to_ms.min(closed_ms(desk.records()).unwrap_or(i64::MAX)),
        CompressionSource::Taps => to_ms,
    };
    if from_ms >= to_ms {
        return false;
    }
    let before = chosen(desk.records());
    let mut wanted = cut(before.clone(), from_ms, to_ms);
    if source == CompressionSource::Taps && wanted == before {
        return false;
    }
    replace_taps_chosen(desk, (from_ms, to_ms), reason);
    if source == CompressionSource::Monitor {
        wanted.push(Chosen { import, from_ms, to_ms, reason: reason.to_owned(), first: None });
    }
    wanted.sort_by_key(|one| one.from_ms);
    settle(desk, &joined(wanted), reason);
    if source == CompressionSource::Taps {
        // Nothing else says who chose them, and why.
        put_taps_chosen(desk, (from_ms, to_ms), reason, None);
    }
    true
}

/// When a code was closed.
pub fn closed_ms(records: &[Record]) -> Option<i64> {
    let facts = timeline::facts(records).facts;
    facts.last().filter(|fact| matches!(fact.event, Event::CodeClosed { .. })).map(|fact| fact.at_ms)
}

fn put_taps_chosen(desk: &mut Desk, (from_ms, to_ms): (i64, i64), reason: &str, renews: Option<Uuid>) {
    let (reason, records) = (reason.to_owned(), Vec::new());
    desk.deed(ReviewDeed::SourceChosen { import: None, from_ms, to_ms, reason, records, renews });
}

/// Who chose the taps in a stretch is said for as long as nobody chooses there again; of the rest it is still said.
fn replace_taps_chosen(desk: &mut Desk, (from_ms, to_ms): (i64, i64), reason: &str) {
    let voided = timeline::voided(desk.records());
    let taps_chosen = |record: &Record| match &record.event {
        Event::Reviewed {
            deed: ReviewDeed::SourceChosen { import: None, from_ms: begin_ms, to_ms: end_ms, reason, renews, .. },
        } if *begin_ms < to_ms && from_ms < *end_ms && !voided.contains(&record.id) => {
            Some((record.id, (*begin_ms, *end_ms), reason.clone(), renews.unwrap_or(record.id)))
        }
        _ => None,
    };
    let overlapping: Vec<_> = desk.records().iter().filter_map(taps_chosen).collect();
    for (id, (begin_ms, end_ms), why, first) in overlapping {
        desk.void(id, reason);
        for (begin_ms, end_ms) in [(begin_ms, from_ms), (to_ms, end_ms)] {
            if begin_ms < end_ms {
                put_taps_chosen(desk, (begin_ms, end_ms), &why, Some(first));
            }
        }
    }
}

/// What every choice that stands would be made of if it were chosen now: whatever changes that changes what counts.
#[derive(Debug, PartialEq)]
pub struct Wanted(Vec<(Chosen, Vec<Part>)>);

impl Wanted {
    /// By the records as they are.
    pub fn by(records: &[Record]) -> Self {
        let standing = chosen(records);
        let parts = if standing.is_empty() { Vec::new() } else { parts_of_all(&beneath(records), &standing) };
        Self(standing.into_iter().zip(parts).collect())
    }
}

/// Makes the choices anew if what they are made of is not what was `wanted` before: something that was tapped beneath them or beside
/// them was corrected. A choice that is as it should be stays as it is.
pub fn renew(desk: &mut Desk, wanted: &Wanted, reason: &str) {
    if Wanted::by(desk.records()) != *wanted {
        let standing = chosen(desk.records());
        settle(desk, &standing, reason);
    }
}

/// Whether every choice is as it would be if it were chosen now. One may not be where a code ran again after it was made.
pub fn are_current(records: &[Record]) -> bool {
    let mut desk = Desk::of(records);
    let standing = chosen(records);
    settle(&mut desk, &standing, "");
    desk.drafts().is_empty()
}

/// Stretches of one choice that meet are one; those of two stay apart, each with who chose it and why.
fn joined(timeline: Vec<Chosen>) -> Vec<Chosen> {
    let mut found: Vec<Chosen> = Vec::with_capacity(timeline.len());
    for one in timeline {
        match found.last_mut() {
            Some(last) if (last.import, last.first, last.to_ms) == (one.import, one.first, one.from_ms) => {
                last.to_ms = one.to_ms;
            }
            _ => found.push(one),
        }
    }
    found
}

/// What a choice is made of.
#[derive(Debug, Clone, PartialEq)]
enum Part {
    /// The void of a tap.
    SetAside(Uuid),
    /// A start or a stop of the monitor's.
    Brought { at_ms: i64, event: Box<Event> },
}

impl Part {
    fn of(record: &Record) -> Self {
        match &record.event {
            Event::Voided { target, .. } => Self::SetAside(*target),
            event => Self::Brought { at_ms: record.at_ms, event: Box::new(event.clone()) },
        }
    }
}

fn parts_of_all(taps: &[Record], timeline: &[Chosen]) -> Vec<Vec<Part>> {
    timeline.chunk_by(|one, next| one.to_ms == next.from_ms).flat_map(|run| parts_of(taps, run)).collect()
}

/// The records that choices are made of, and count.
fn standing_parts(records: &[Record]) -> Vec<(Uuid, Part)> {
    let voided = timeline::voided(records);
    let made: BTreeSet<Uuid> = choices(records).iter().flat_map(|choice| choice.made.iter().copied()).collect();
    let parts = records.iter().filter(|record| made.contains(&record.id) && !voided.contains(&record.id));
    parts.map(|record| (record.id, Part::of(record))).collect()
}

/// Lets exactly the wanted choices stand, in order of time, each as the taps and its import have it now. What is there already
/// stays; the rest is taken back.
fn settle(desk: &mut Desk, wanted: &[Chosen], reason: &str) {
    let taps = beneath(desk.records()).into_owned();
    let mut there = standing_parts(desk.records());
    let mut kept: BTreeSet<Uuid> = BTreeSet::new();
    let mut is_there = |part: &Part| {
        let place = there.iter().position(|(_, other)| other == part);
        place.is_some_and(|place| kept.insert(there.swap_remove(place).0))
    };
    let missing: Vec<Vec<Part>> = parts_of_all(&taps, wanted)
        .into_iter()
        .map(|parts| parts.into_iter().filter(|part| !is_there(part)).collect())
        .collect();
    // A choice that needs nothing new goes on standing by the deed that it has.
    let mut deeds: Vec<(Uuid, Chosen)> = choices(desk.records())
        .into_iter()
        .filter(|choice| choice.stands)
        .map(|choice| (choice.id, choice.chosen))
        .collect();
    let mut stands = |one: &Chosen| {
        let place = deeds.iter().position(|(_, other)| other == one)?;
        Some(deeds.swap_remove(place).0)
    };
    let mut to_make = Vec::new();
    for (one, missing) in wanted.iter().zip(missing) {
        match stands(one).filter(|_| missing.is_empty()) {
            Some(deed) => {
                kept.insert(deed);
            }
            None => to_make.push((one.clone(), missing)),
        }
    }
    take_back(desk, reason, &kept);
    for (Chosen { import, from_ms, to_ms, reason, first: renews }, missing) in to_make {
        let make = |part| match part {
            Part::SetAside(tap) => desk.void(tap, &reason),
            Part::Brought { at_ms, event } => desk.put(Some(at_ms), *event),
        };
        let records = missing.into_iter().map(make).collect();
        desk.deed(ReviewDeed::SourceChosen { import: Some(import), from_ms, to_ms, reason, records, renews });
    }
}

/// Takes back every choice, and what it is made of, but for what is kept. The latest first, so that what a later one voided of
/// an earlier one's counts again before that one is taken back: records from before choices were one timeline lie over each
/// other, and what such a one left behind goes, too.
fn take_back(desk: &mut Desk, reason: &str, kept: &BTreeSet<Uuid>) {
    let all: Vec<Vec<Uuid>> = choices(desk.records())
        .into_iter()
        .map(|choice| choice.made.iter().copied().chain([choice.id]).filter(|id| !kept.contains(id)).collect())
        .collect();
    let mut voided = timeline::voided(desk.records());
    for choice in all.iter().rev() {
        let standing: Vec<Uuid> = choice.iter().filter(|id| !voided.contains(*id)).copied().collect();
        for record in &standing {
            desk.void(*record, reason);
        }
        if !standing.is_empty() {
            voided = timeline::voided(desk.records());
        }
    }
}

/// What was read of an import; none if no record is one.
pub fn stretches_of(records: &[Record], import: Uuid) -> Option<&[CompressionStretch]> {
    let record = records.iter().find(|record| record.id == import)?;
    match &record.event {
        Event::Reviewed { deed: ReviewDeed::MonitorImported { stretches, .. } } => Some(stretches),
        _ => None,
    }
}

#[cfg(test)]
mod tests;

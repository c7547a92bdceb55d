//! What a change appends. Held to the same form as what a device sends, and to what a reviewer may do at all; every
//! refusal names the field. Whether the chain moved on meanwhile is the room's to see to.

use coxswain_engine::check::{self, MAX_TEXT_CHARS};
use coxswain_engine::event::{Event, FieldError, ProtocolRef, ReviewDeed};
use coxswain_engine::record::Record;
use coxswain_engine::timeline;
use uuid::Uuid;

use super::choose::{self, Wanted, chosen};
use super::desk::{Desk, Draft};
use super::monitor;
use super::reading::Reading;
use super::shown::version_of;
use super::span;
use super::summary::Standing;
use super::wire::{Change, Conflict, DebriefRequest};
use super::words;
use crate::ledger::chain;

const NOTHING_SHOWS: &str = "has no character that shows";

/// Why a change is not made.
#[derive(Debug, Clone, PartialEq)]
pub enum NotMade {
    /// A field of the request is wrong: 400.
    Wrong(FieldError),
    /// The record does not take it as it stands: 409.
    Conflict(Conflict, &'static str),
}

impl From<FieldError> for NotMade {
    fn from(error: FieldError) -> Self {
        Self::Wrong(error)
    }
}

type Made = Result<Vec<Draft>, NotMade>;

fn wrong<T>(field: &str, problem: impl Into<String>) -> Result<T, NotMade> {
    Err(NotMade::Wrong(FieldError::new(field, problem)))
}

/// Whether a record takes changes at all, as it stands. `new_version`: the one that opens a signed record again.
fn takes(reading: &Reading, new_version: bool) -> Result<(), NotMade> {
    if reading.broken().is_some() {
        let words = "The hash chain of this code is broken: nothing is added to it. `coxswain verify` says where.";
        return Err(NotMade::Conflict(Conflict::ChainBroken, words));
    }
    match (reading.standing(), new_version) {
        (Standing::Running, _) => {
            let words = "This code still runs: it is corrected at its own screens until it is closed.";
            Err(NotMade::Conflict(Conflict::CodeRunning, words))
        }
        (Standing::Signed, false) => {
            let words = "This record is signed: open a new version first, with a reason.";
            Err(NotMade::Conflict(Conflict::Signed, words))
        }
        (Standing::Unsigned | Standing::Reopened, true) => {
            Err(NotMade::Conflict(Conflict::NotSigned, "This version is not signed yet: it can be changed as it is."))
        }
        (Standing::Signed, true) | (Standing::Unsigned | Standing::Reopened, false) => Ok(()),
    }
}

fn reason_of(text: &str) -> Result<&str, NotMade> {
    let reason = text.trim();
    if words::is_blank(reason) {
        return wrong("reason", "must say why");
    }
    if reason.chars().count() > MAX_TEXT_CHARS {
        return wrong("reason", format!("must have at most {MAX_TEXT_CHARS} characters"));
    }
    words::plain("reason", reason)?;
    Ok(reason)
}

/// What a change appends. `now_ms` is the code's own time now: nothing that was can be later.
///
/// # Errors
/// If a field is wrong, or the record does not take the change.
pub fn made(reading: &Reading, change: &Change, reason: &str, now_ms: i64) -> Made {
    takes(reading, matches!(change, Change::NewVersion))?;
    let reason = reason_of(reason)?;
    let mut desk = Desk::of(&reading.records);
    match change {
        Change::Amend { target, at_ms, event } => {
            amend(reading, *target, *at_ms, event.as_ref(), reason, now_ms, &mut desk)?;
        }
        Change::Void { target } => {
            void(reading, *target, reason, &mut desk)?;
        }
        Change::Add { at_ms, event } => {
            add(reading, *at_ms, event, reason, now_ms, &mut desk)?;
        }
        Change::Align { offset_ms } => {
            check::time("change.offset_ms", *offset_ms)?;
            if *offset_ms == reading.wall_offset_ms() {
                return wrong("change.offset_ms", "is the alignment that stands already");
            }
            desk.put(None, Event::ClockCorrected { from_ms: 0, to_ms: *offset_ms, basis: reason.to_owned() });
        }
        Change::ImportMonitor { name, csv, offset_ms, zero_clock } => {
            check::time("change.offset_ms", *offset_ms)?;
            let stretches = monitor::read(csv, *offset_ms, zero_clock.as_deref());
            let stretches = stretches.map_err(|broken| FieldError::new("change.csv", broken.0))?;
            let (name, reason) = (name.trim().to_owned(), reason.to_owned());
            let event = Event::Reviewed {
                deed: ReviewDeed::MonitorImported { name, offset_ms: *offset_ms, reason, stretches },
            };
            checked(&event)?;
            desk.put(None, event);
        }
        Change::ChooseSource { import, from_ms, to_ms, source } => {
            check::time("change.from_ms", *from_ms)?;
            check::time("change.to_ms", *to_ms)?;
            if from_ms >= to_ms {
                return wrong("change.to_ms", "must be after from_ms");
            }
            is_import(reading, *import)?;
            if choose::closed_ms(&reading.records).is_some_and(|closed_ms| *from_ms >= closed_ms) {
                return wrong("change.from_ms", "is not before the closing of the code: nothing counts from there on");
            }
            if !choose::choose(&mut desk, *import, (*from_ms, *to_ms), *source, reason) {
                return wrong("change.source", "the taps count there already");
            }
        }
        Change::NewVersion => {
            let version = version_of(&reading.records) + 1;
            desk.deed(ReviewDeed::VersionOpened { version, reason: reason.to_owned() });
        }
    }
    span::holds(&reading.records, desk.records(), change)?;
    // What was chosen stands as if it were chosen now, where that changed what was tapped.
    if !matches!(change, Change::ChooseSource { .. }) {
        choose::renew(&mut desk, &Wanted::by(&reading.records), reason);
    }
    Ok(desk.drafts())
}

/// What a debrief appends.
///
/// # Errors
/// If a field is wrong, or the record takes none as it stands.
pub fn debriefed(reading: &Reading, request: &DebriefRequest) -> Made {
    takes(reading, false)?;
    for (field, text) in [("went_well", &request.went_well), ("to_change", &request.to_change)] {
        if !text.trim().is_empty() && words::is_blank(text) {
            return wrong(field, NOTHING_SHOWS);
        }
    }
    let empty = request.went_well.trim().is_empty() && request.to_change.trim().is_empty();
    if empty && request.follow_ups.is_empty() {
        return wrong("went_well", "a debrief says at least one thing");
    }
    for (place, follow_up) in request.follow_ups.iter().enumerate() {
        for (name, text) in [("who", &follow_up.who), ("what", &follow_up.what)] {
            if words::is_blank(text) {
                return wrong(&format!("follow_ups[{place}].{name}"), NOTHING_SHOWS);
            }
        }
    }
    let event = Event::Reviewed {
        deed: ReviewDeed::Debriefed {
            went_well: request.went_well.trim().to_owned(),
            to_change: request.to_change.trim().to_owned(),
            follow_ups: request.follow_ups.clone(),
        },
    };
    let below = |error: FieldError| {
        let field = error.field.strip_prefix("event.deed.").unwrap_or(&error.field).to_owned();
        FieldError::new(field, error.problem)
    };
    words::all_plain("event", &event).and_then(|()| check::event(&event)).map_err(below)?;
    for (place, follow_up) in request.follow_ups.iter().enumerate() {
        if follow_up.by_when.as_ref().is_some_and(|day| day.parse::<jiff::civil::Date>().is_err()) {
            return wrong(&format!("follow_ups[{place}].by_when"), "is no day of the calendar");
        }
    }
    let mut desk = Desk::of(&reading.records);
    desk.put(None, event);
    Ok(desk.drafts())
}

/// What a signature appends: it names the chain as it is.
///
/// # Errors
/// If the record is signed already, or takes none as it stands.
pub fn signed(reading: &Reading) -> Made {
    takes(reading, false)?;
    if !choose::are_current(&reading.records) {
        let words = "The code ran again after a monitor's compressions were chosen: choose there anew, then sign.";
        return Err(NotMade::Conflict(Conflict::ChoiceNotCurrent, words));
    }
    let mut desk = Desk::of(&reading.records);
    desk.deed(ReviewDeed::Signed { version: version_of(&reading.records), head: chain::hex(&reading.head) });
    Ok(desk.drafts())
}

fn checked(event: &Event) -> Result<(), NotMade> {
    words::all_plain("event", event).and_then(|()| check::event(event)).map_err(|error| {
        let below = error.field.strip_prefix("event.deed.").or_else(|| error.field.strip_prefix("event."));
        let field = match (event, below) {
            (Event::Reviewed { .. }, Some(below)) => format!("change.{below}"),
            (_, Some(below)) => format!("change.event.{below}"),
            (_, None) => format!("change.{}", error.field),
        };
        NotMade::Wrong(FieldError::new(field, error.problem))
    })
}

fn target_of(reading: &Reading, target: Uuid) -> Result<&Record, NotMade> {
    let found = reading.records.iter().find(|record| record.id == target);
    found.ok_or_else(|| FieldError::new("change.target", "no record of this code has that id").into())
}

/// A choice of source stands as a whole or not at all: what is shown of it would not be what counts.
fn is_no_part_of_a_choice(reading: &Reading, target: Uuid) -> Result<(), NotMade> {
    if choose::parts(&reading.records).contains(&target) {
        return wrong("change.target", "is part of a choice of source: choose there anew");
    }
    Ok(())
}

/// What nobody puts on the record as a fact after the event.
fn is_no_fact_to_add(event: &Event) -> bool {
    event.is_correction() || matches!(event, Event::Reviewed { .. } | Event::ClockCorrected { .. })
}

/// What a reviewer puts on the record says something: a note has words, and a reading a value.
fn tells(event: &Event) -> Result<(), NotMade> {
    match event {
        Event::Note { text } if words::is_blank(text) => wrong("change.event.text", NOTHING_SHOWS),
        Event::VitalRead {
            spo2_pct: None,
            systolic_mmhg: None,
            diastolic_mmhg: None,
            temp_c: None,
            glucose_mmol_l: None,
            temp_site: _,
        }
        | Event::LabRead { potassium_mmol_l: None, lactate_mmol_l: None, ph: None, paco2_mmhg: None } => {
            wrong("change.event", "has no value: name at least one")
        }
        _ => Ok(()),
    }
}

/// A protocol that an event names must be one that the code keeps the text of; its hash is filled in.
fn with_protocol(reading: &Reading, event: &Event) -> Result<Event, NotMade> {
    let mut event = event.clone();
    let Some(named) = event.protocol_mut() else { return Ok(event) };
    let stored = &reading.stored.protocols;
    let Some((_, _, text)) = stored.iter().find(|(id, version, _)| *id == named.id && *version == named.version) else {
        let known: Vec<String> = stored.iter().map(|(id, version, _)| format!("{id} version {version}")).collect();
        let problem = format!("this code keeps the text of {} only", known.join(", "));
        return wrong("change.event.protocol", problem);
    };
    *named = ProtocolRef { sha256: Some(chain::of_text(text)), ..named.clone() };
    Ok(event)
}

fn amend(
    reading: &Reading,
    target: Uuid,
    at_ms: Option<i64>,
    event: Option<&Event>,
    reason: &str,
    now_ms: i64,
    desk: &mut Desk,
) -> Result<(), NotMade> {
    let record = target_of(reading, target)?;
    is_no_part_of_a_choice(reading, target)?;
    if !timeline::is_fact(record) {
        return wrong("change.target", "is no fact: corrections and what a reviewer did are struck out, not amended");
    }
    // A tap that a choice of source set aside can be corrected all the same.
    let taps = choose::beneath(&reading.records);
    if timeline::voided(&taps).contains(&target) {
        return wrong("change.target", "is struck out: take that back first");
    }
    if let Some(at_ms) = at_ms {
        may_be_at(at_ms, now_ms)?;
    }
    let event = event.map(|event| with_protocol(reading, event)).transpose()?;
    if let Some(event) = &event {
        if is_no_fact_to_add(event) {
            return wrong("change.event.kind", "an amendment puts a fact in place of a fact");
        }
        let is = |event: &Event| (matches!(event, Event::CodeOpened { .. }), matches!(event, Event::CodeClosed { .. }));
        if is(event) != is(&record.event) {
            let problem = "the opening and the closing of a code stay what they are; their content can be amended";
            return wrong("change.event.kind", problem);
        }
        checked(event)?;
        tells(event)?;
    }
    let facts = timeline::facts(&taps).facts;
    let stands = facts.iter().find(|fact| fact.id == target);
    let is_news = stands.is_none_or(|fact| {
        at_ms.is_some_and(|at_ms| at_ms != fact.at_ms) || event.as_ref().is_some_and(|event| event != fact.event)
    });
    if !is_news {
        return wrong("change", "changes nothing: name another time, another content, or both");
    }
    desk.put(None, Event::Amended { target, at_ms, event: event.map(Box::new), reason: reason.to_owned() });
    Ok(())
}

fn void(reading: &Reading, target: Uuid, reason: &str, desk: &mut Desk) -> Result<(), NotMade> {
    let record = target_of(reading, target)?;
    is_no_part_of_a_choice(reading, target)?;
    if timeline::voided(&choose::beneath(&reading.records)).contains(&target) {
        return wrong("change.target", "is struck out already");
    }
    match &record.event {
        Event::CodeOpened { .. } => {
            return wrong("change.target", "the opening of a code can be amended, and not be struck out");
        }
        Event::CodeClosed { .. } => {
            let problem =
                "the closing of a code can be amended, and not be struck out: the code would run again at the bedside";
            return wrong("change.target", problem);
        }
        Event::Reviewed { deed } => match deed {
            ReviewDeed::Signed { .. } | ReviewDeed::VersionOpened { .. } => {
                return wrong("change.target", "a signature and a version stand: open a new version instead");
            }
            ReviewDeed::Added { .. } => {
                return wrong("change.target", "is the reason of an added fact: strike out the fact");
            }
            ReviewDeed::MonitorImported { .. } => {
                if chosen(&reading.records).iter().any(|one| one.import == target) {
                    return wrong("change.target", "parts of this import count: choose the taps there first");
                }
            }
            // A choice is part of itself, and refused above.
            ReviewDeed::Debriefed { .. } | ReviewDeed::SourceChosen { .. } => {}
        },
        _ => {}
    }
    desk.void(target, reason);
    Ok(())
}

fn add(
    reading: &Reading,
    at_ms: i64,
    event: &Event,
    reason: &str,
    now_ms: i64,
    desk: &mut Desk,
) -> Result<(), NotMade> {
    if is_no_fact_to_add(event) || matches!(event, Event::CodeOpened { .. } | Event::CodeClosed { .. }) {
        return wrong("change.event.kind", "is nothing to add: name a fact of the code that nobody recorded");
    }
    may_be_at(at_ms, now_ms)?;
    let event = with_protocol(reading, event)?;
    checked(&event)?;
    tells(&event)?;
    let facts = timeline::facts(&reading.records).facts;
    let closed_ms = facts.last().map(|fact| fact.at_ms);
    if closed_ms.is_some_and(|closed_ms| at_ms >= closed_ms) {
        return wrong("change.at_ms", "is not before the closing of the code: nothing counts from there on");
    }
    let target = desk.put(Some(at_ms), event);
    desk.deed(ReviewDeed::Added { target, reason: reason.to_owned() });
    Ok(())
}

fn may_be_at(at_ms: i64, now_ms: i64) -> Result<(), NotMade> {
    check::time("change.at_ms", at_ms)?;
    if at_ms > now_ms {
        return wrong("change.at_ms", "is ahead of the code's clock: that is still to come");
    }
    Ok(())
}

fn is_import(reading: &Reading, import: Uuid) -> Result<(), NotMade> {
    let stands = !timeline::voided(&reading.records).contains(&import);
    if stands && choose::stretches_of(&reading.records, import).is_some() {
        return Ok(());
    }
    wrong("change.import", "no import of this code that stands has that id")
}

//! Taking a record: refused for form, authority, future or closed only, never because the state thinks it unlikely.

use std::sync::Arc;

use coxswain_engine::event::{Event, ProtocolRef};
use coxswain_engine::record::{Author, Record, Source};
use coxswain_engine::timeline;
use uuid::Uuid;

use super::room::{Command, Known, Refusal, Room};
use crate::ledger::{DeviceRow, Job, chain};
use crate::review::choose::{self, Wanted};
use crate::review::reading::was_signed;
use crate::wire::RefusalReason;

/// A tablet's clock may be this far ahead; what it sends is then taken as now.
const AHEAD_MS: i64 = 1_000;
/// A record further behind than this is marked late.
const BEHIND_MS: i64 = 2_000;
/// The earliest time before the arrest that a record can name: a week.
const EARLIEST_MS: i64 = -7 * 86_400_000;

type Taken = Result<(), Refusal>;

fn refusal(reason: RefusalReason, message: impl Into<String>) -> Refusal {
    Refusal::new(reason, message)
}

impl Room {
    /// Takes a record or refuses it, and sees to it that the sender is told.
    pub(super) fn take(&mut self, command: Command) {
        let (id, reply) = (command.id, command.reply.clone());
        let outcome = match self.known.get(&id) {
            Some(known) => self.again(known, &command),
            None => self.first(command),
        };
        match outcome {
            Ok(()) if self.known.get(&id).is_some_and(|known| known.seq.is_some()) => self.acknowledge(id, &reply),
            Ok(()) => self.waiting.entry(id).or_default().push(reply),
            Err(refusal) => self.refuse(Some(id), &reply, &refusal),
        }
    }

    /// The same record sent again is harmless; another one under its id is refused.
    fn again(&self, known: &Known, command: &Command) -> Taken {
        let record = self.records.get(known.index);
        let same = record.is_some_and(|record| {
            record.event.says_the_same_as(&command.event) && same_time(record, known, command.at_ms)
        });
        if same {
            Ok(())
        } else {
            Err(refusal(RefusalReason::IdReused, "id: this id was used before, for a record with other content."))
        }
    }

    fn first(&mut self, command: Command) -> Taken {
        let Command { device, id, at_ms: claimed_ms, mut event, .. } = command;
        let joins_itself = matches!(&event, Event::RoleAssigned { device: named, .. } if *named == device.id);
        if !self.members.contains(&device.id) && !joins_itself {
            let message = "code: this device is not in that code; it joins by taking a role in it.";
            return Err(refusal(RefusalReason::NotInCode, message));
        }
        if self.is_closed() && !event.is_correction() {
            return Err(refusal(RefusalReason::Closed, "code: it is closed; only corrections are taken."));
        }
        if self.is_closed() && was_signed(&self.records) {
            let message = "code: its record was signed; what is wrong in it is a reviewer's to correct.";
            return Err(refusal(RefusalReason::Closed, message));
        }
        self.may_correct(&event)?;
        if self.is_closed() {
            self.leaves_choices(&event)?;
        }
        let now_ms = self.now_ms();
        let starts_clock = matches!(event, Event::ClockStarted { .. }) && self.epoch_ms.is_none();
        let at_ms = if starts_clock { 0 } else { time_of(claimed_ms, now_ms)? };
        if let Event::Amended { at_ms: Some(amended_ms), .. } = &event
            && *amended_ms > now_ms + AHEAD_MS
        {
            return Err(refusal(RefusalReason::Future, "event.at_ms: is ahead of the code's clock."));
        }
        // What an amendment puts in place of a fact is held to the same as the fact itself.
        if let Some(protocol) = event.protocol_mut() {
            self.fetch_protocol(protocol)?;
        }
        if let Event::RoleAssigned { device: named, .. } = effective(&event) {
            self.admit(*named)?;
        }
        let source = if at_ms < now_ms - BEHIND_MS { Source::Late } else { Source::Live };
        if let Event::ClockStarted { recognised_ago_ms } = &event
            && starts_clock
        {
            self.start_clock(recognised_ago_ms.unwrap_or(0));
            let started = self.record_of(id, &device, 0, Source::Live, event);
            return self.appended(started, claimed_ms).inspect_err(|_| self.epoch_ms = None);
        }
        let moved = match &event {
            Event::Moved { location } => Some(location.clone()),
            _ => None,
        };
        let leaves = matches!(event, Event::DeviceLeft {});
        let back = self.left_by(&event);
        let record = self.record_of(id, &device, at_ms, source, event);
        self.appended(record, claimed_ms)?;
        if leaves {
            self.members.remove(&device.id);
            self.hub().part(device.id, self.id());
            self.send_roster();
        }
        if let Some(device) = back {
            // One that has gone on to another code stays there.
            let _ = self.admit(device);
            self.refresh();
        }
        if let Some(location) = moved {
            // Who came along stays; a tablet that wakes there takes its home role for itself, and the leader confirms.
            self.hub().wake_location(self.id(), Some(&location), None);
        }
        Ok(())
    }

    /// Corrections that would take the ground from under a code, and records that only the server makes.
    fn may_correct(&self, event: &Event) -> Taken {
        if matches!(effective(event), Event::ClockCorrected { .. }) {
            let message = "event.kind: only the server records a correction of its clock.";
            return Err(refusal(RefusalReason::Malformed, message));
        }
        if matches!(effective(event), Event::Reviewed { .. }) {
            let message = "event.kind: only a reviewer records what was done with the record as a whole.";
            return Err(refusal(RefusalReason::Malformed, message));
        }
        let (Event::Voided { target, .. } | Event::Amended { target, .. }) = event else { return Ok(()) };
        let opening = self.known.get(target).and_then(|known| self.records.get(known.index));
        if opening.is_some_and(|record| record.source == Source::Review) {
            let message = "event.target: a reviewer recorded this; it is corrected in review.";
            return Err(refusal(RefusalReason::Malformed, message));
        }
        let is_opening = opening.is_some_and(|record| matches!(record.event, Event::CodeOpened { .. }));
        let stays = match event {
            Event::Amended { event: Some(inner), .. } => matches!(**inner, Event::CodeOpened { .. }),
            Event::Amended { event: None, .. } => true,
            _ => false,
        };
        if is_opening && !stays {
            let message = "event.target: the opening of a code can be amended to another opening, and not be voided.";
            return Err(refusal(RefusalReason::Malformed, message));
        }
        Ok(())
    }

    /// What a reviewer chose to count of compressions is made from what was tapped: once that is done, taps are corrected in
    /// review, which makes it anew. A code that was closed by mistake runs again all the same.
    fn leaves_choices(&self, event: &Event) -> Taken {
        if choose::chosen(&self.records).is_empty() {
            return Ok(());
        }
        let after: Vec<Record> = self.records.iter().cloned().chain([self.correction(event)]).collect();
        let facts = timeline::facts(&after).facts;
        let runs_again = !facts.last().is_some_and(|fact| matches!(fact.event, Event::CodeClosed { .. }));
        if runs_again || Wanted::by(&after) == Wanted::by(&self.records) {
            return Ok(());
        }
        let message =
            "code: a reviewer has chosen whose compressions count; what is wrong in them is a reviewer's to correct.";
        Err(refusal(RefusalReason::Closed, message))
    }

    /// A correction as it would stand on the record, with nobody's name.
    fn correction(&self, event: &Event) -> Record {
        let now_ms = self.now_ms();
        Record {
            seq: self.next_seq(),
            id: Uuid::now_v7(),
            code: self.id(),
            at_ms: now_ms,
            received_ms: Some(now_ms),
            recorded_at: String::new(),
            by: Author { device: Uuid::nil(), name: String::new(), roles: Vec::new() },
            source: Source::Live,
            event: event.clone(),
        }
    }

    /// The device whose leaving an event takes back.
    fn left_by(&self, event: &Event) -> Option<Uuid> {
        let Event::Voided { target, .. } = event else { return None };
        let record = self.known.get(target).and_then(|known| self.records.get(known.index))?;
        matches!(record.event, Event::DeviceLeft {}).then_some(record.by.device)
    }

    fn record_of(&self, id: Uuid, device: &DeviceRow, at_ms: i64, source: Source, event: Event) -> Record {
        self.record(id, device, at_ms, self.now_ms(), source, event)
    }

    fn appended(&mut self, record: Record, claimed_ms: Option<i64>) -> Taken {
        if self.append(record, claimed_ms) {
            Ok(())
        } else {
            let message = "The server met a fault of its own with this record; it is not counted.";
            Err(refusal(RefusalReason::Fault, message))
        }
    }

    /// Code time 0 is when the arrest was recognised, which was some time before the tap.
    fn start_clock(&mut self, recognised_ago_ms: i64) {
        self.epoch_ms = Some(self.hub().clock.now_ms() - recognised_ago_ms);
    }

    /// Lets a device in that is given a role, if it is free.
    fn admit(&mut self, device: Uuid) -> Taken {
        if self.hub().device(device).is_none() {
            return Err(refusal(RefusalReason::Malformed, "event.device: no device of that id is paired here."));
        }
        if self.hub().bind(device, self.id()).is_err() {
            return Err(refusal(
                RefusalReason::NotInCode,
                "event.device: that device is in another code that is not closed.",
            ));
        }
        self.enter(device);
        Ok(())
    }

    /// Makes sure that a protocol the code changes to is at hand, keeps its exact text, and has the record vouch for it.
    fn fetch_protocol(&mut self, named: &mut ProtocolRef) -> Taken {
        let key = (named.id.clone(), named.version);
        if !self.protocols.contains_key(&key) {
            self.add_protocol(named)?;
        }
        let kept = self.texts.get(&key);
        if named.sha256.is_some() && named.sha256.as_ref() != kept {
            let message = format!("event.protocol.sha256: `{}` has another text here.", named.id);
            return Err(refusal(RefusalReason::Malformed, message));
        }
        named.sha256 = kept.cloned();
        Ok(())
    }

    fn add_protocol(&mut self, named: &ProtocolRef) -> Taken {
        let key = (named.id.clone(), named.version);
        let Some(entry) = self.hub().shelf.find(named).cloned() else {
            let message =
                format!("event.protocol: no protocol `{}` of version {} is at hand here.", named.id, named.version);
            return Err(refusal(RefusalReason::Malformed, message));
        };
        self.hub().writer.write(Job::Protocol {
            code: self.place,
            id: named.id.clone(),
            version: named.version,
            text: Arc::clone(&entry.text),
        });
        self.texts.insert(key.clone(), chain::of_text(&entry.text));
        self.protocols.insert(key, entry.protocol);
        Ok(())
    }
}

/// The fact that an event puts on the record: its own, or what an amendment puts in place of another.
fn effective(event: &Event) -> &Event {
    match event {
        Event::Amended { event: Some(inner), .. } => inner,
        other => other,
    }
}

fn time_of(claimed_ms: Option<i64>, now_ms: i64) -> Result<i64, Refusal> {
    match claimed_ms {
        None => Ok(now_ms),
        Some(at_ms) if at_ms > now_ms + AHEAD_MS => {
            let message =
                format!("at_ms: is {} ms ahead of the code's clock; at most {AHEAD_MS} ms are taken.", at_ms - now_ms);
            Err(refusal(RefusalReason::Future, message))
        }
        Some(at_ms) if at_ms < EARLIEST_MS => {
            Err(refusal(RefusalReason::Malformed, "at_ms: is more than a week before the arrest."))
        }
        Some(at_ms) => Ok(at_ms.min(now_ms)),
    }
}

/// Whether a record sent again names the time it named before. What it named is not stored: after a restart a time
/// that was moved to the server's own is taken for the same.
fn same_time(record: &Record, known: &Known, claimed_ms: Option<i64>) -> bool {
    let Some(claimed_ms) = claimed_ms else { return true };
    let moved = record.received_ms == Some(record.at_ms) && (0..=AHEAD_MS).contains(&(claimed_ms - record.at_ms));
    claimed_ms == record.at_ms
        || known.claimed_ms == Some(claimed_ms)
        || (known.claimed_ms.is_none() && moved)
        || matches!(record.event, Event::ClockStarted { .. })
}

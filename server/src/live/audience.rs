//! What goes out beside the views: the log of prompts, the timeline, and the list of who is here. It must not change what
//! is on the record.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

use coxswain_engine::event::{Event, Role};
use coxswain_engine::prompt::Prompt;
use coxswain_engine::record::Record;
use coxswain_engine::snapshot::Snapshot;
use tokio::time::Instant;
use uuid::Uuid;

use super::outbox::{Frame, frame};
use super::room::{Room, Seat};
use crate::ledger::{Became, Job};
use crate::wire::{RosterEntry, ServerMessage};

/// A tablet that reloads its page is back within a second or two; one that is away for longer is taken as absent.
const ABSENT_AFTER: Duration = Duration::from_secs(5);
/// Records in one timeline message.
const TIMELINE_PART: usize = 100;

impl Room {
    /// Logs which prompts came and went, and whether a record did them.
    pub(super) fn log_prompts(
        &mut self,
        showing: &BTreeMap<BTreeSet<Role>, BTreeSet<String>>,
        cause: Option<(Uuid, &Event)>,
    ) {
        let now_ms = self.now_ms();
        let visible = self.snapshot.prompts().iter().filter(|prompt| prompt.show_at_ms <= now_ms);
        let visible: BTreeMap<String, Prompt> = visible.map(|prompt| (prompt.key.clone(), prompt.clone())).collect();
        let devices_of = |key: &str| -> Vec<Uuid> {
            let sees =
                |seat: &&Seat| showing.get(&self.snapshot.roles_of(seat.device)).is_some_and(|keys| keys.contains(key));
            let devices: BTreeSet<Uuid> = self.seats.values().filter(sees).map(|seat| seat.device).collect();
            devices.into_iter().collect()
        };
        let log = |key: &str, prompt: &Prompt, became: Became, record: Option<Uuid>| {
            self.hub().writer.write(Job::Prompt {
                code: self.place,
                key: key.to_owned(),
                became,
                at_ms: now_ms,
                devices: devices_of(key),
                roles: prompt.roles.clone(),
                due_at_ms: prompt.due_at_ms,
                late_at_ms: prompt.late_at_ms,
                record,
            });
        };
        for (key, prompt) in &self.shown {
            if !visible.contains_key(key) {
                let does = |event: &Event| {
                    matches!(event, Event::TaskDone { prompt } if prompt == key)
                        || prompt.done_by.contains(&event.kind())
                };
                let by = cause.filter(|(_, event)| does(event)).map(|(record, _)| record);
                log(key, prompt, if by.is_some() { Became::Done } else { Became::Withdrawn }, by);
            }
        }
        for (key, prompt) in visible.iter().filter(|(key, _)| !self.shown.contains_key(*key)) {
            log(key, prompt, Became::Shown, None);
        }
        self.shown = visible;
    }

    /// Roles whose every holder has been out of reach for a while: their prompts must show somewhere.
    pub(super) fn absent_roles(&self, snapshot: &Snapshot) -> BTreeSet<Role> {
        let reached: BTreeSet<Uuid> = self.seats.values().map(|seat| seat.device).collect();
        let out_of_reach =
            |device: &Uuid| !reached.contains(device) && self.gone_since(*device).elapsed() >= ABSENT_AFTER;
        let holders = snapshot.holders().iter();
        holders.filter(|(_, devices)| devices.iter().all(out_of_reach)).map(|(role, _)| *role).collect()
    }

    /// When the next holder of a role will have been out of reach for so long.
    pub(super) fn next_absence(&self) -> Option<Instant> {
        let reached: BTreeSet<Uuid> = self.seats.values().map(|seat| seat.device).collect();
        let gone = self.snapshot.holders().values().flatten().filter(|device| !reached.contains(*device));
        gone.map(|device| self.gone_since(*device) + ABSENT_AFTER).filter(|at| *at > Instant::now()).min()
    }

    /// Whether a device shows the timeline and the roster: the leader's, the recorder's, and those without a role.
    fn shows_timeline(&self, device: Uuid) -> bool {
        let roles = self.snapshot.roles_of(device);
        roles.is_empty() || roles.contains(&Role::Leader) || roles.contains(&Role::Recorder)
    }

    /// Sends every screen that shows the timeline what it lacks.
    pub(super) fn send_timeline(&mut self) {
        let mut parts: BTreeMap<usize, Vec<Frame>> = BTreeMap::new();
        let numbers: Vec<u64> = self.seats.keys().copied().collect();
        for number in numbers {
            let Some(seat) = self.seats.get(&number) else { continue };
            if !self.shows_timeline(seat.device) {
                if let Some(seat) = self.seats.get_mut(&number) {
                    seat.timeline = None;
                }
                continue;
            }
            let from = seat.timeline.unwrap_or(0);
            if seat.timeline == Some(self.records.len()) {
                continue;
            }
            let frames = parts.entry(from).or_insert_with(|| {
                let chunks = self.records[from.min(self.records.len())..].chunks(TIMELINE_PART).enumerate();
                let message = |(index, records): (usize, &[Record])| {
                    let reset = from == 0 && index == 0;
                    frame(&ServerMessage::Timeline { code: self.id(), reset, records: records.to_vec() })
                };
                chunks.map(message).collect()
            });
            for text in frames.iter() {
                seat.outbox.push(text.clone());
            }
            let have = self.records.len();
            if let Some(seat) = self.seats.get_mut(&number) {
                seat.timeline = Some(have);
            }
        }
    }

    /// Sends who is here, when that has changed.
    pub(super) fn send_roster(&mut self) {
        let connected: BTreeSet<Uuid> = self.seats.values().map(|seat| seat.device).collect();
        let devices: Vec<RosterEntry> = self
            .members
            .iter()
            .map(|device| RosterEntry {
                device: *device,
                name: self.hub().device(*device).map(|device| device.name).unwrap_or_default(),
                roles: self.snapshot.roles_of(*device).into_iter().collect(),
                connected: connected.contains(device),
                battery: self.hub().battery_of(*device),
            })
            .collect();
        let text = frame(&ServerMessage::Roster { code: self.id(), devices });
        if self.roster.as_ref() != Some(&text) {
            self.roster = Some(text.clone());
            for seat in self.seats.values().filter(|seat| self.shows_timeline(seat.device)) {
                seat.outbox.push(text.clone());
            }
        }
    }
}

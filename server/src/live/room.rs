//! One code as it runs: its records, its snapshot, who looks at it. Prompts go out before the disk has the record,
//! acknowledgements after. It must not know a clinical rule.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::time::Duration;

use coxswain_engine::event::{AgeGroup, Event, Role};
use coxswain_engine::prompt::Prompt;
use coxswain_engine::protocol::Protocol;
use coxswain_engine::record::{Author, Record, Source};
use coxswain_engine::snapshot::{Knowledge, Snapshot, protocol_ref};
use coxswain_engine::view::Phase;
use tokio::sync::mpsc;
use tokio::time::Instant;
use uuid::Uuid;

use super::hub::Hub;
use super::outbox::{Frame, Outbox, frame};
use super::review::Reviewed;
use super::screens;
use crate::clock;
use crate::ledger::chain::{self, Hash};
use crate::ledger::{Append, DeviceRow, Durable, Job};
use crate::wire::{CodeSummary, RefusalReason, ServerMessage, ViewMessage};

/// After a commit a fresh view says what is on disk, unless another goes out within this time anyway.
const FRESH_AFTER: Duration = Duration::from_millis(50);
/// After a fault in planning the room tries again after this.
const REST: Duration = Duration::from_secs(1);

/// Why a command was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The named reason.
    pub reason: RefusalReason,
    /// In a plain sentence.
    pub message: String,
}

impl Refusal {
    /// Names reason and sentence.
    pub fn new(reason: RefusalReason, message: impl Into<String>) -> Self {
        Self { reason, message: message.into() }
    }
}

/// A record as a device sent it, its form checked.
#[derive(Debug)]
pub struct Command {
    /// Who sent it.
    pub device: DeviceRow,
    /// Where answers go.
    pub reply: Outbox,
    /// The client's id.
    pub id: Uuid,
    /// Code time as the client has it.
    pub at_ms: Option<i64>,
    /// What happened.
    pub event: Event,
}

/// Changes of who is there.
#[derive(Debug)]
pub enum Control {
    /// A connection shows this code from now on.
    Attach {
        /// Its number.
        connection: u64,
        /// Its device.
        device: Uuid,
        /// Where views go.
        outbox: Outbox,
    },
    /// A connection shows it no longer.
    Detach {
        /// Its number.
        connection: u64,
    },
    /// A device's battery is not as it was.
    Battery,
    /// A device was bound: it gets its home role.
    Join {
        /// Which.
        device: DeviceRow,
        /// Whose record that is.
        by: DeviceRow,
    },
    /// A reviewer appends something.
    Review(Box<Reviewed>),
}

/// Where a room takes its messages.
#[derive(Debug, Clone)]
pub struct Handle {
    /// Records.
    pub commands: mpsc::Sender<Command>,
    /// Who is there.
    pub control: mpsc::UnboundedSender<Control>,
}

pub(super) struct Seat {
    pub(super) device: Uuid,
    pub(super) outbox: Outbox,
    /// How many records of the timeline it has; `None` while it does not show one.
    pub(super) timeline: Option<usize>,
}

/// A record's id and what became of it.
pub(super) struct Known {
    /// Its place among the records that count.
    pub(super) index: usize,
    pub(super) claimed_ms: Option<i64>,
    pub(super) seq: Option<u64>,
}

/// A snapshot with the views made from it.
pub(super) struct Built {
    snapshot: Snapshot,
    frames: BTreeMap<BTreeSet<Role>, Frame>,
    showing: BTreeMap<BTreeSet<Role>, BTreeSet<String>>,
}

pub(super) struct Room {
    pub(super) hub: Arc<Hub>,
    pub(super) id: Uuid,
    pub(super) place: i64,
    pub(super) epoch_ms: Option<i64>,
    /// Code time never goes below this: the last moment on the record when it was read.
    pub(super) floor_ms: i64,
    pub(super) records: Vec<Record>,
    /// Length of the chain, pending records included.
    pub(super) taken: u64,
    pub(super) durable_seq: u64,
    pub(super) head: Hash,
    pub(super) known: HashMap<Uuid, Known>,
    pub(super) waiting: HashMap<Uuid, Vec<Outbox>>,
    pub(super) protocols: BTreeMap<(String, u32), Arc<Protocol>>,
    /// SHA-256 of each protocol's exact text, as the code keeps it.
    pub(super) texts: BTreeMap<(String, u32), String>,
    pub(super) members: BTreeSet<Uuid>,
    pub(super) seats: BTreeMap<u64, Seat>,
    pub(super) snapshot: Snapshot,
    pub(super) rev: u64,
    pub(super) roster: Option<Frame>,
    pub(super) shown: BTreeMap<String, Prompt>,
    pub(super) durable: mpsc::UnboundedSender<Durable>,
    pub(super) refresh_at: Option<Instant>,
    pub(super) rest_until: Option<Instant>,
    pub(super) released: bool,
    /// Devices whose last connection went, and when.
    pub(super) left: BTreeMap<Uuid, Instant>,
    /// When this room came into memory.
    pub(super) began: Instant,
}

/// Plans for a moment. `None` if the engine panics.
pub(super) fn plan(
    records: &[Record],
    protocols: &BTreeMap<(String, u32), Arc<Protocol>>,
    at_ms: i64,
) -> Option<Snapshot> {
    let planned = catch_unwind(AssertUnwindSafe(|| {
        let named = protocol_ref(records, at_ms, Knowledge::AsKnown);
        let named = named.and_then(|named| protocols.get(&(named.id, named.version)));
        let protocol = named.or_else(|| protocols.values().next())?;
        Some(Snapshot::at(records, protocol, at_ms, Knowledge::AsKnown))
    }));
    planned.ok().flatten()
}

impl Built {
    /// Where the code stands in it.
    pub(super) fn phase(&self) -> Phase {
        self.snapshot.phase()
    }
}

impl Room {
    pub(super) fn hub(&self) -> &Arc<Hub> {
        &self.hub
    }

    pub(super) const fn id(&self) -> Uuid {
        self.id
    }

    /// Code time now; 0 on standby.
    pub(super) fn now_ms(&self) -> i64 {
        self.epoch_ms.map_or(0, |epoch_ms| (self.hub.clock.now_ms() - epoch_ms).max(self.floor_ms))
    }

    pub(super) fn is_closed(&self) -> bool {
        self.snapshot.phase() == Phase::Closed
    }

    /// Whether it can leave memory.
    pub(super) fn is_idle(&self) -> bool {
        self.is_closed() && self.seats.is_empty() && self.durable_seq == self.taken
    }

    /// What a list says of it.
    pub(super) fn summary(&self) -> CodeSummary {
        CodeSummary {
            id: self.id,
            location: self.snapshot.state().location.clone(),
            phase: self.snapshot.phase(),
            training: self.snapshot.state().training,
            age_group: self.snapshot.state().patient.age_group.unwrap_or(AgeGroup::Adult),
            epoch_ms: self.epoch_ms,
            joined: false,
        }
    }

    /// When something changes by itself.
    pub(super) fn next_wake(&self) -> Instant {
        let now = Instant::now();
        let planned = self.epoch_ms.and(self.snapshot.next_wake_ms()).map(|wake_ms| {
            // Never early, and never without a breath in between.
            now + self.hub.clock.real_time((wake_ms - self.now_ms()).max(1)).max(Duration::from_millis(1))
        });
        let wake = [planned, self.refresh_at, self.next_absence()]
            .into_iter()
            .flatten()
            .min()
            .unwrap_or(now + Duration::from_secs(3_600));
        self.rest_until.map_or(wake, |rest| wake.max(rest))
    }

    /// After a fault: no new try for a while.
    pub(super) fn rest(&mut self) {
        self.rest_until = Some(Instant::now() + REST);
    }

    /// The moment came at which something changes by itself.
    pub(super) fn wake(&mut self) {
        self.rest_until = None;
        self.refresh();
    }

    /// Plans anew for now and shows it.
    pub(super) fn refresh(&mut self) {
        self.refresh_at = None;
        match self.build(self.now_ms()) {
            Some(built) => self.show(built, None),
            None => {
                self.hub.metrics.faults.add(1);
                self.rest();
            }
        }
    }

    /// Adds a record: plans and builds every view with it, shows them, and hands it to the writer. `false` if the
    /// engine cannot take it; then nothing has changed.
    pub(super) fn append(&mut self, record: Record, claimed_ms: Option<i64>) -> bool {
        let (id, event) = (record.id, record.event.clone());
        self.records.push(record);
        let built = self.build(self.now_ms());
        let Some(record) = self.records.pop() else { return false };
        let Some(built) = built else {
            self.hub.metrics.faults.add(1);
            return false;
        };
        self.snapshot = built.snapshot.clone();
        self.keep(record, claimed_ms);
        self.show(built, Some((id, &event)));
        true
    }

    /// Keeps a record that counts from now on, and hands it to the writer.
    pub(super) fn keep(&mut self, record: Record, claimed_ms: Option<i64>) {
        self.taken += 1;
        self.known.insert(record.id, Known { index: self.records.len(), claimed_ms, seq: None });
        self.hub.metrics.commands.add(1);
        self.hub.writer.write(Job::Append(Box::new(Append {
            code: self.place,
            records: vec![record.clone()],
            epoch_ms: self.epoch_ms,
            closed: self.is_closed(),
            durable: self.durable.clone(),
        })));
        self.records.push(record);
    }

    /// The place that the next record has, until the writer says so.
    pub(super) const fn next_seq(&self) -> u64 {
        self.taken + 1
    }

    pub(super) fn build(&self, at_ms: i64) -> Option<Built> {
        let mut snapshot = plan(&self.records, &self.protocols, at_ms)?;
        snapshot.leave_out(self.absent_roles(&snapshot));
        let built = catch_unwind(AssertUnwindSafe(|| {
            let sets: BTreeSet<BTreeSet<Role>> =
                self.seats.values().map(|seat| snapshot.roles_of(seat.device)).collect();
            let mut frames = BTreeMap::new();
            let mut showing = BTreeMap::new();
            for roles in sets {
                let mut message = ViewMessage {
                    code: self.id,
                    run: self.hub.run,
                    rev: self.rev + 1,
                    durable_seq: self.durable_seq,
                    last_seq: self.records.last().map_or(self.taken, |record| record.seq.max(self.taken)),
                    head: chain::hex(&self.head),
                    epoch_ms: self.epoch_ms,
                    roles: roles.iter().copied().collect(),
                    unheld: screens::unheld(&snapshot),
                    not_saving: self.hub.writer.trouble().borrow().clone(),
                    view: screens::view_of(&snapshot, &roles),
                };
                let text = screens::fitted(&mut message);
                let visible = message.view.prompts.iter().filter(|prompt| prompt.show_at_ms <= at_ms);
                showing.insert(roles.clone(), visible.map(|prompt| prompt.key.clone()).collect());
                frames.insert(roles, text);
            }
            (frames, showing)
        }));
        let (frames, showing) = built.ok()?;
        Some(Built { snapshot, frames, showing })
    }

    /// Swaps a built snapshot in and sends what it shows.
    pub(super) fn show(&mut self, built: Built, cause: Option<(Uuid, &Event)>) {
        self.rev += 1;
        self.refresh_at = None;
        self.snapshot = built.snapshot;
        for seat in self.seats.values() {
            if let Some(text) = built.frames.get(&self.snapshot.roles_of(seat.device)) {
                seat.outbox.show(text.clone());
                self.hub.metrics.views.add(1);
            }
        }
        self.log_prompts(&built.showing, cause);
        self.send_timeline();
        self.send_roster();
        self.hub.tell(self.summary());
        if self.is_closed() {
            self.release_if_saved();
        } else if self.released {
            self.rebind();
        }
    }

    /// Who is there has changed.
    pub(super) fn change(&mut self, change: Control) {
        match change {
            Control::Attach { connection, device, outbox } => {
                self.left.remove(&device);
                self.seats.insert(connection, Seat { device, outbox, timeline: None });
                // The newcomer needs the roster even where it has not changed.
                self.roster = None;
                self.refresh();
            }
            Control::Detach { connection } => {
                if let Some(seat) = self.seats.remove(&connection) {
                    self.left.insert(seat.device, Instant::now());
                }
                self.send_roster();
            }
            Control::Battery => self.send_roster(),
            Control::Join { device, by } => self.join(&device, &by),
            Control::Review(reviewed) => self.review(*reviewed),
        }
    }

    /// Since when a device has no connection here; one that never had one, since the room began.
    pub(super) fn gone_since(&self, device: Uuid) -> Instant {
        self.left.get(&device).copied().unwrap_or(self.began)
    }

    /// Binds a device and gives it its home role.
    fn join(&mut self, device: &DeviceRow, by: &DeviceRow) {
        self.enter(device.id);
        let Some(role) = device.home_role else { return self.send_roster() };
        if self.snapshot.roles_of(device.id).contains(&role) || self.is_closed() {
            return;
        }
        let event = Event::RoleAssigned { role, device: device.id, person: None };
        let now_ms = self.now_ms();
        let record = self.record(Uuid::now_v7(), by, now_ms, now_ms, Source::Live, event);
        self.append(record, None);
    }

    /// Devices that left, and were given no role since.
    pub(super) fn left_devices(&self) -> BTreeSet<Uuid> {
        self.snapshot.state().team.left.clone()
    }

    /// Makes a device a member, durably.
    pub(super) fn enter(&mut self, device: Uuid) {
        if self.members.insert(device) {
            self.hub.writer.write(Job::Member { code: self.place, device });
        }
    }

    /// A record by a device, in its place.
    pub(super) fn record(
        &self,
        id: Uuid,
        by: &DeviceRow,
        at_ms: i64,
        now_ms: i64,
        source: Source,
        event: Event,
    ) -> Record {
        let roles = self.snapshot.roles_of(by.id).into_iter().collect();
        Record {
            seq: self.next_seq(),
            id,
            code: self.id,
            at_ms,
            received_ms: Some(now_ms),
            recorded_at: clock::wall_text(),
            by: Author { device: by.id, name: by.name.clone(), roles },
            source,
            event,
        }
    }

    /// A record is on disk: whoever waits for it is told, and a fresh view follows soon.
    pub(super) fn durable(&mut self, durable: Durable) {
        self.hub.metrics.durable.add(1);
        self.durable_seq = durable.seq;
        self.head = durable.head;
        if let Some(known) = self.known.get_mut(&durable.id) {
            known.seq = Some(durable.seq);
        }
        // Whoever hears that closing is saved may open the next code at once: the devices are free by then.
        if self.is_closed() {
            self.release_if_saved();
        }
        for reply in self.waiting.remove(&durable.id).unwrap_or_default() {
            self.acknowledge(durable.id, &reply);
        }
        self.refresh_at.get_or_insert_with(|| Instant::now() + FRESH_AFTER);
    }

    /// Tells a sender that its record is on disk.
    pub(super) fn acknowledge(&self, id: Uuid, reply: &Outbox) {
        let known = self.known.get(&id);
        let record = known.and_then(|known| self.records.get(known.index));
        if let (Some(seq), Some(record)) = (known.and_then(|known| known.seq), record) {
            reply.push(frame(&ServerMessage::Recorded { id, code: self.id, seq, at_ms: record.at_ms }));
        }
    }

    /// Tells a sender that its record was refused.
    pub(super) fn refuse(&self, id: Option<Uuid>, reply: &Outbox, refusal: &Refusal) {
        self.hub.metrics.refusals.add(1);
        let message = refusal.message.clone();
        reply.push(frame(&ServerMessage::Refused { id, reason: refusal.reason, message }));
    }

    fn release_if_saved(&mut self) {
        if !self.released && self.durable_seq == self.taken {
            self.released = true;
            self.hub.release(self.id);
        }
    }

    /// Closing was undone: the devices that are still free come back.
    fn rebind(&mut self) {
        self.released = false;
        let hub = Arc::clone(&self.hub);
        self.members.retain(|device| hub.bind(*device, self.id).is_ok());
    }
}

//! Who is where: the running codes, the connected devices, and which device is in which code. A registry behind one
//! short lock; what happens within a code is its room's alone.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use coxswain_engine::event::Event;
use coxswain_engine::view::Phase;
use tokio::sync::{Notify, mpsc, oneshot, watch};
use uuid::Uuid;

use super::outbox::{Frame, Outbox, frame};
use super::room::{Control, Handle, Room};
use super::task;
use crate::clock::{self, Clock};
use crate::ledger::{DeviceRow, Job, LedgerError, Reader, Writer};
use crate::metrics::Metrics;
use crate::shelf::{Entry, Shelf};
use crate::wire::{Battery, CodeSummary, ServerMessage};

/// Lists of codes go out at most this often.
const LIST_PAUSE: Duration = Duration::from_millis(100);

/// How often the list of paired devices is looked at for those that were removed.
const REMOVED_CHECK: Duration = Duration::from_secs(2);

/// What the live part works with.
pub struct Hub {
    /// Server time.
    pub clock: Arc<Clock>,
    /// Where records go.
    pub writer: Writer,
    /// Where closed codes are read from.
    pub reader: Reader,
    /// The protocols at hand.
    pub shelf: Shelf,
    /// This start of the server.
    pub run: u64,
    /// Counters.
    pub metrics: Arc<Metrics>,
    pub(super) registry: Mutex<Registry>,
    list_dirty: Notify,
    list_version: watch::Sender<u64>,
    connections: AtomicU64,
}

pub(super) struct Connection {
    pub(super) device: Uuid,
    pub(super) outbox: Outbox,
    pub(super) attached: Option<Uuid>,
}

#[derive(Default)]
pub(super) struct Registry {
    pub(super) rooms: HashMap<Uuid, Handle>,
    pub(super) summaries: BTreeMap<Uuid, CodeSummary>,
    pub(super) devices: HashMap<Uuid, DeviceRow>,
    pub(super) bound: HashMap<Uuid, Uuid>,
    pub(super) connections: BTreeMap<u64, Connection>,
    /// What paired devices last said of their batteries.
    pub(super) batteries: HashMap<Uuid, Battery>,
    /// Devices that left a code which goes on, each with that code.
    pub(super) left: BTreeSet<(Uuid, Uuid)>,
    last_code: i64,
}

/// A code to be opened.
pub struct Opening {
    /// Its id, the client's or ours.
    pub id: Uuid,
    /// The whole event.
    pub event: Event,
    /// Where.
    pub location: Option<String>,
    /// The protocol it names.
    pub protocol: Entry,
    /// Whether it may run beside another at the same location.
    pub another: bool,
}

/// Why a code was not opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refused {
    /// One runs there already, or the device is in one.
    Running {
        /// Which.
        id: Uuid,
        /// In words.
        message: String,
    },
    /// A bug.
    Fault,
}

impl Hub {
    /// A hub with the codes that were running when the server last stopped.
    ///
    /// # Errors
    /// If the ledger cannot be read.
    pub async fn start(
        clock: Arc<Clock>,
        writer: Writer,
        reader: Reader,
        shelf: Shelf,
        run: u64,
        metrics: Arc<Metrics>,
    ) -> Result<Arc<Self>, LedgerError> {
        let registry = Registry { last_code: reader.last_code().await?, ..Registry::default() };
        let hub = Arc::new(Self {
            clock,
            writer,
            reader,
            shelf,
            run,
            metrics,
            registry: Mutex::new(registry),
            list_dirty: Notify::new(),
            list_version: watch::Sender::new(0),
            connections: AtomicU64::new(0),
        });
        for device in hub.reader.devices().await? {
            hub.registry().devices.insert(device.id, device);
        }
        for id in hub.reader.open_codes().await? {
            if hub.load(id).await?.is_none() {
                tracing::error!(code = %id, "a running code could not be taken up again");
            }
        }
        let watching = Arc::downgrade(&hub);
        tokio::spawn(async move {
            while let Some(hub) = watching.upgrade() {
                hub.drop_removed().await;
                drop(hub);
                tokio::time::sleep(REMOVED_CHECK).await;
            }
        });
        let telling = Arc::downgrade(&hub);
        tokio::spawn(async move {
            while let Some(hub) = telling.upgrade() {
                let woken = tokio::time::timeout(Duration::from_secs(5), hub.list_dirty.notified()).await.is_ok();
                if woken {
                    hub.list_version.send_modify(|version| *version += 1);
                    tokio::time::sleep(LIST_PAUSE).await;
                }
            }
        });
        Ok(hub)
    }

    /// Forgets devices whose pairing was ended from the shell: their sockets close at the next beat.
    async fn drop_removed(&self) {
        let before: Vec<Uuid> = self.registry().devices.keys().copied().collect();
        let Ok(paired) = self.reader.devices().await else { return };
        let paired: BTreeSet<Uuid> = paired.into_iter().map(|device| device.id).collect();
        let mut registry = self.registry();
        for device in before.into_iter().filter(|device| !paired.contains(device)) {
            registry.devices.remove(&device);
            registry.bound.remove(&device);
            registry.batteries.remove(&device);
        }
    }

    pub(super) fn registry(&self) -> MutexGuard<'_, Registry> {
        // The registry is changed in single steps, so what a panic left behind is still whole.
        self.registry.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// How many codes run, and how many connections are open.
    pub fn counts(&self) -> (usize, usize) {
        let registry = self.registry();
        let running = registry.summaries.values().filter(|summary| summary.phase != Phase::Closed).count();
        (running, registry.connections.len())
    }

    /// Told whenever the list of codes changes.
    pub fn list_changes(&self) -> watch::Receiver<u64> {
        self.list_version.subscribe()
    }

    /// The codes that run, as a device sees them.
    pub fn codes_for(&self, device: Uuid) -> Vec<CodeSummary> {
        let registry = self.registry();
        let own = registry.bound.get(&device).copied();
        let running = registry.summaries.values().filter(|summary| summary.phase != Phase::Closed);
        running.map(|summary| CodeSummary { joined: own == Some(summary.id), ..summary.clone() }).collect()
    }

    /// The list as a message.
    pub fn codes_message(&self, device: Uuid) -> Frame {
        frame(&ServerMessage::Codes { codes: self.codes_for(device) })
    }

    /// Keeps what is known of a device up to date.
    pub fn know(&self, device: &DeviceRow) {
        self.registry().devices.insert(device.id, device.clone());
    }

    /// What is known of a device.
    pub fn device(&self, id: Uuid) -> Option<DeviceRow> {
        self.registry().devices.get(&id).cloned()
    }

    /// A device says how its battery is; the screens that list the devices of its code show it.
    pub fn battery(&self, device: Uuid, battery: Battery) {
        let mut registry = self.registry();
        if registry.batteries.insert(device, battery) == Some(battery) {
            return;
        }
        if let Some(room) = registry.bound.get(&device).and_then(|code| registry.rooms.get(code)) {
            let _ = room.control.send(Control::Battery);
        }
    }

    /// What a device last said of its battery.
    pub(super) fn battery_of(&self, device: Uuid) -> Option<Battery> {
        self.registry().batteries.get(&device).copied()
    }

    /// The code that a device is in.
    pub fn code_of(&self, device: Uuid) -> Option<Uuid> {
        self.registry().bound.get(&device).copied()
    }

    /// A room of a code, read from the ledger if it is not in memory; `None` if there is no such code.
    ///
    /// # Errors
    /// If the ledger cannot be read.
    pub async fn room(self: &Arc<Self>, code: Uuid) -> Result<Option<Handle>, LedgerError> {
        let known = self.registry().rooms.get(&code).cloned();
        match known {
            Some(handle) => Ok(Some(handle)),
            None => self.load(code).await,
        }
    }

    async fn load(self: &Arc<Self>, code: Uuid) -> Result<Option<Handle>, LedgerError> {
        let Some(stored) = self.reader.code(code).await? else { return Ok(None) };
        let (durable, committed) = mpsc::unbounded_channel();
        let Some(room) = Room::load(Arc::clone(self), &stored, durable) else { return Ok(None) };
        let running = !room.is_closed();
        let (members, left) = (room.members.clone(), room.left_devices());
        let mut registry = self.registry();
        if let Some(handle) = registry.rooms.get(&code) {
            return Ok(Some(handle.clone()));
        }
        if running {
            for member in members {
                registry.bound.entry(member).or_insert(code);
            }
            registry.left.extend(left.into_iter().map(|device| (device, code)));
            registry.summaries.insert(code, room.summary());
        }
        let handle = task::spawn(room, committed);
        registry.rooms.insert(code, handle.clone());
        Ok(Some(handle))
    }

    /// Opens a code and binds the starter and the free, connected devices of its location. Resolves once the code is in
    /// memory; the receiver is told when it is on disk.
    ///
    /// # Errors
    /// If one runs there already.
    pub fn open(
        self: &Arc<Self>,
        opening: &Opening,
        starter: &DeviceRow,
    ) -> Result<(Uuid, Option<oneshot::Receiver<()>>), Refused> {
        let id = opening.id;
        let mut registry = self.registry();
        if registry.rooms.contains_key(&id) {
            return Ok((id, None));
        }
        if let Some(code) = registry.bound.get(&starter.id) {
            let message = "This device is in a code that is not closed.".to_owned();
            return Err(Refused::Running { id: *code, message });
        }
        let there = |summary: &&CodeSummary| {
            summary.phase != Phase::Closed && same_place(summary.location.as_deref(), opening.location.as_deref())
        };
        if !opening.another
            && let Some(summary) = registry.summaries.values().find(there)
        {
            let message = "A code runs at this location: join it, or start another with `another`.".to_owned();
            return Err(Refused::Running { id: summary.id, message });
        }
        registry.last_code += 1;
        let place = registry.last_code;
        let (durable, committed) = mpsc::unbounded_channel();
        self.writer.write(Job::Open {
            code: place,
            id,
            location: opening.location.clone(),
            opened_at: clock::wall_text(),
        });
        let Some(room) = Room::open(Arc::clone(self), place, opening, starter, durable) else {
            return Err(Refused::Fault);
        };
        registry.summaries.insert(id, room.summary());
        let handle = task::spawn(room, committed);
        registry.rooms.insert(id, handle.clone());
        drop(registry);

        self.join(id, starter, starter);
        self.wake_location(id, opening.location.as_deref(), Some(starter));
        self.list_dirty.notify_one();
        let (saved, wait) = oneshot::channel();
        self.writer.write(Job::Flush(saved));
        Ok((id, Some(wait)))
    }

    /// Takes a connection in: its device goes on in its code, or wakes into the one that runs at its location.
    pub fn connect(self: &Arc<Self>, device: &DeviceRow, outbox: Outbox) -> u64 {
        let number = self.connections.fetch_add(1, Ordering::Relaxed) + 1;
        let mut registry = self.registry();
        registry.devices.insert(device.id, device.clone());
        registry.connections.insert(number, Connection { device: device.id, outbox, attached: None });
        let own = registry.bound.get(&device.id).copied();
        let waking = own.is_none().then(|| {
            let mut there = registry.summaries.values().filter(|summary| {
                !registry.left.contains(&(device.id, summary.id))
                    && summary.phase != Phase::Closed
                    && same_place(summary.location.as_deref(), device.location.as_deref())
            });
            // With two at one place somebody must choose: the screen shows both.
            there.next().filter(|_| there.next().is_none()).map(|summary| summary.id)
        });
        if let Some(code) = own {
            registry.attach(device.id, code);
        }
        drop(registry);
        if let Some(code) = waking.flatten() {
            self.join(code, device, device);
        }
        number
    }

    /// Lets a connection go.
    pub fn disconnect(&self, number: u64) {
        let mut registry = self.registry();
        let Some(connection) = registry.connections.remove(&number) else { return };
        if let Some(room) = connection.attached.and_then(|code| registry.rooms.get(&code)) {
            let _ = room.control.send(Control::Detach { connection: number });
        }
    }

    /// What a room says of itself whenever it changes.
    pub(super) fn tell(&self, summary: CodeSummary) {
        let mut registry = self.registry();
        if registry.summaries.get(&summary.id) != Some(&summary) {
            registry.summaries.insert(summary.id, summary);
            self.list_dirty.notify_one();
        }
    }

    /// Drops a room that is over and that nobody looks at; it can be read again from the ledger.
    pub(super) fn forget(&self, code: Uuid) {
        let mut registry = self.registry();
        registry.rooms.remove(&code);
        registry.summaries.remove(&code);
    }

    pub(super) fn list_is_dirty(&self) {
        self.list_dirty.notify_one();
    }
}

/// Whether two locations are one. A device or a code without a location counts as of every location.
pub(super) fn same_place(one: Option<&str>, other: Option<&str>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => one == other,
        _ => true,
    }
}

impl Registry {
    /// Shows a code no longer on any connection of a device.
    pub(super) fn detach(&mut self, device: Uuid, code: Uuid) {
        let Self { rooms, connections, .. } = self;
        let shows = |connection: &Connection| connection.device == device && connection.attached == Some(code);
        for (number, connection) in connections.iter_mut().filter(|(_, connection)| shows(connection)) {
            connection.attached = None;
            if let Some(room) = rooms.get(&code) {
                let _ = room.control.send(Control::Detach { connection: *number });
            }
        }
    }

    /// Shows a code on every connection of a device, and the one before it no longer.
    pub(super) fn attach(&mut self, device: Uuid, code: Uuid) {
        let Self { rooms, connections, .. } = self;
        let own = connections.iter_mut().filter(|(_, connection)| connection.device == device);
        for (number, connection) in own {
            if connection.attached == Some(code) {
                continue;
            }
            if let Some(before) = connection.attached.and_then(|before| rooms.get(&before)) {
                let _ = before.control.send(Control::Detach { connection: *number });
            }
            if let Some(room) = rooms.get(&code) {
                let outbox = connection.outbox.clone();
                let _ = room.control.send(Control::Attach { connection: *number, device, outbox });
                connection.attached = Some(code);
            }
        }
    }
}

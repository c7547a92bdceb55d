//! How a room begins: with a new code, or with one that the ledger has. A record that makes the engine fail is left out
//! here and named in the log; it must not cost the code.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use coxswain_engine::protocol::Protocol;
use coxswain_engine::record::{Author, Record, Source};
use coxswain_engine::snapshot::Snapshot;
use tokio::sync::mpsc;
use uuid::Uuid;

use super::hub::{Hub, Opening};
use super::room::{Known, Room, plan};
use crate::clock;
use crate::ledger::chain::{self, Hash};
use crate::ledger::{DeviceRow, Durable, Job, StoredCode};
use crate::shelf;

impl Room {
    /// A new code, on standby. `None` if the engine cannot plan it.
    pub(super) fn open(
        hub: Arc<Hub>,
        place: i64,
        opening: &Opening,
        starter: &DeviceRow,
        durable: mpsc::UnboundedSender<Durable>,
    ) -> Option<Self> {
        let protocol = &opening.protocol.protocol;
        let protocols = BTreeMap::from([((protocol.id.clone(), protocol.version), Arc::clone(protocol))]);
        let record = Record {
            seq: 1,
            id: Uuid::now_v7(),
            code: opening.id,
            at_ms: 0,
            received_ms: Some(0),
            recorded_at: clock::wall_text(),
            by: Author { device: starter.id, name: starter.name.clone(), roles: Vec::new() },
            source: Source::Live,
            event: opening.event.clone(),
        };
        let snapshot = plan(std::slice::from_ref(&record), &protocols, 0)?;
        hub.writer.write(Job::Protocol {
            code: place,
            id: protocol.id.clone(),
            version: protocol.version,
            text: Arc::clone(&opening.protocol.text),
        });
        let mut room = Self::bare(hub, opening.id, place, protocols, snapshot, durable);
        room.texts.insert((protocol.id.clone(), protocol.version), chain::of_text(&opening.protocol.text));
        room.keep(record, None);
        Some(room)
    }

    /// A code as the ledger has it. `None` if it cannot be planned at all.
    pub(super) fn load(hub: Arc<Hub>, stored: &StoredCode, durable: mpsc::UnboundedSender<Durable>) -> Option<Self> {
        let mut protocols = BTreeMap::new();
        for (id, version, text) in &stored.protocols {
            match shelf::stored(text) {
                Ok(entry) => {
                    protocols.insert((id.clone(), *version), entry.protocol);
                }
                Err(error) => {
                    tracing::error!(code = %stored.id, protocol = %id, %error, "a stored protocol cannot be read");
                }
            }
        }
        let mut records = Vec::with_capacity(stored.records.len());
        for line in &stored.records {
            match Record::from_json(&line.text) {
                Ok(record) => records.push(record),
                Err(error) => {
                    tracing::error!(code = %stored.id, seq = line.seq, %error, "a stored record cannot be read and is left out");
                }
            }
        }
        let floor_ms = records.iter().map(|record| record.known_ms().max(record.at_ms)).max().unwrap_or(0);
        let now_ms = stored.epoch_ms.map_or(0, |epoch_ms| (hub.clock.now_ms() - epoch_ms).max(floor_ms));
        let mut unsound: Vec<Record> = Vec::new();
        let snapshot = match plan(&records, &protocols, now_ms) {
            Some(snapshot) => snapshot,
            None => {
                // One record that the engine cannot stand must not cost the code: leave out what it panics on.
                let mut sound: Vec<Record> = Vec::with_capacity(records.len());
                for record in records {
                    let seq = record.seq;
                    sound.push(record);
                    if plan(&sound, &protocols, now_ms).is_none() {
                        unsound.extend(sound.pop());
                        tracing::error!(code = %stored.id, seq, "a stored record makes the plan fail and is left out");
                    }
                }
                records = sound;
                plan(&records, &protocols, now_ms)?
            }
        };
        let head = stored.records.last().and_then(|record| Hash::try_from(record.hash.clone()).ok());
        let mut room = Self::bare(hub, stored.id, stored.place, protocols, snapshot, durable);
        let hashed = |(id, version, text): &(String, u32, String)| ((id.clone(), *version), chain::of_text(text));
        room.texts = stored.protocols.iter().map(hashed).collect();
        room.epoch_ms = stored.epoch_ms;
        room.floor_ms = floor_ms;
        room.taken = stored.records.len() as u64;
        room.durable_seq = room.taken;
        room.head = head.unwrap_or(chain::START);
        let left = room.left_devices();
        room.members = stored.members.iter().copied().filter(|device| !left.contains(device)).collect();
        for (index, record) in records.iter().enumerate() {
            room.known.insert(record.id, Known { index, claimed_ms: None, seq: Some(record.seq) });
        }
        // What is left out keeps its id: sent again it must not come in a second time.
        for record in unsound {
            room.known.insert(record.id, Known { index: usize::MAX, claimed_ms: None, seq: Some(record.seq) });
        }
        room.records = records;
        room.released = room.is_closed();
        Some(room)
    }

    fn bare(
        hub: Arc<Hub>,
        id: Uuid,
        place: i64,
        protocols: BTreeMap<(String, u32), Arc<Protocol>>,
        snapshot: Snapshot,
        durable: mpsc::UnboundedSender<Durable>,
    ) -> Self {
        Self {
            hub,
            id,
            place,
            epoch_ms: None,
            floor_ms: 0,
            records: Vec::new(),
            taken: 0,
            durable_seq: 0,
            head: chain::START,
            known: HashMap::new(),
            waiting: HashMap::new(),
            protocols,
            texts: BTreeMap::new(),
            members: BTreeSet::new(),
            seats: BTreeMap::new(),
            snapshot,
            rev: 0,
            roster: None,
            shown: BTreeMap::new(),
            durable,
            refresh_at: None,
            rest_until: None,
            released: false,
            left: BTreeMap::new(),
            began: tokio::time::Instant::now(),
        }
    }
}

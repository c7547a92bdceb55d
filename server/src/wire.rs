//! The messages between server and tablets: JSON text frames tagged by `type`. The TypeScript types are generated from
//! these. What a record or a view holds is the engine's; this module adds only the envelope.

use coxswain_engine::event::{AgeGroup, Event, Role};
use coxswain_engine::record::Record;
use coxswain_engine::view::{Phase, View};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Largest frame a client may send, in bytes.
pub const MAX_FRAME_BYTES: usize = 64 * 1024;
/// Largest view, in bytes of JSON.
pub const MAX_VIEW_BYTES: usize = 4 * 1024;

/// What a tablet sends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "type", rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
#[expect(clippy::large_enum_variant, reason = "one message at a time is held, and most of them are records")]
pub enum ClientMessage {
    /// First timestamp of a clock exchange, on the tablet's own clock; also the sign of life.
    Ping {
        /// Tablet's clock when it sent this.
        #[cfg_attr(test, ts(type = "number"))]
        sent_ms: f64,
    },
    /// A fact, an amendment or a void.
    Record {
        /// Made by the tablet (uuid v7): sending again is harmless.
        id: Uuid,
        /// Which code.
        code: Uuid,
        /// Code time of the fact; absent from a program without a clock.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[cfg_attr(test, ts(type = "number"))]
        at_ms: Option<i64>,
        /// How far the tablet's clock may be off.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[cfg_attr(test, ts(type = "number"))]
        clock_error_ms: Option<f64>,
        /// What happened.
        event: Event,
    },
    /// How full the tablet's battery is. Not a record: the leader's list of devices shows the latest.
    Battery(Battery),
}

/// A tablet's battery.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Battery {
    /// How full, 0 to 100.
    pub percent: u8,
    /// Whether it is being charged.
    pub charging: bool,
}

/// Why something was refused. A refusal is final for its id.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
pub enum RefusalReason {
    /// Not JSON, or a field missing, mistyped or impossible.
    Malformed,
    /// The event's kind is not known.
    UnknownEvent,
    /// The message's type is not known.
    UnknownMessage,
    /// The frame is larger than [`MAX_FRAME_BYTES`].
    TooLarge,
    /// More than a second ahead of the code clock.
    Future,
    /// A fact for a code that is closed.
    Closed,
    /// The id was used before, with other content.
    IdReused,
    /// No such code.
    UnknownCode,
    /// The device is not in this code.
    NotInCode,
    /// The server met a bug in taking this record; it is not counted.
    Fault,
}

/// A code in a list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub struct CodeSummary {
    /// Its id.
    pub id: Uuid,
    /// Where.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub location: Option<String>,
    /// Where it stands.
    pub phase: Phase,
    /// A drill.
    pub training: bool,
    /// For whom.
    pub age_group: AgeGroup,
    /// Server time of code time 0; absent on standby.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, ts(type = "number"))]
    pub epoch_ms: Option<i64>,
    /// Whether the receiving device is in it.
    pub joined: bool,
}

/// Who a device is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub struct DeviceInfo {
    /// Its id.
    pub id: Uuid,
    /// Its name as people call it.
    pub name: String,
    /// Where it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub location: Option<String>,
    /// The role it wakes into.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub home_role: Option<Role>,
}

/// A device in a code, as the leader sees it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub struct RosterEntry {
    /// Its id.
    pub device: Uuid,
    /// Its name.
    pub name: String,
    /// Its roles now.
    pub roles: Vec<Role>,
    /// Whether its link is up.
    pub connected: bool,
    /// Its battery as it last said; absent where its browser does not tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub battery: Option<Battery>,
}

/// A view as it goes over the wire.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub struct ViewMessage {
    /// Which code.
    pub code: Uuid,
    /// Raised durably at every start of the server.
    #[cfg_attr(test, ts(type = "number"))]
    pub run: u64,
    /// Raised at every change within a run. Views are ordered by (run, rev).
    #[cfg_attr(test, ts(type = "number"))]
    pub rev: u64,
    /// The last record that is on disk.
    #[cfg_attr(test, ts(type = "number"))]
    pub durable_seq: u64,
    /// The last record taken, on disk or not.
    #[cfg_attr(test, ts(type = "number"))]
    pub last_seq: u64,
    /// Hash of the chain at `durable_seq`, hexadecimal.
    pub head: String,
    /// Server time of code time 0; null on standby.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub epoch_ms: Option<i64>,
    /// The roles this view is for.
    pub roles: Vec<Role>,
    /// Roles that nobody holds; their prompts fall to the leader, else to every device.
    pub unheld: Vec<Role>,
    /// Set while the disk does not take records: what is not saved, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub not_saving: Option<String>,
    /// What these roles see.
    #[serde(flatten)]
    pub view: View,
}

/// What the server sends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "type", rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub enum ServerMessage {
    /// First message on a connection.
    Welcome {
        /// Who you are.
        device: DeviceInfo,
        /// Server time now.
        #[cfg_attr(test, ts(type = "number"))]
        server_ms: i64,
        /// The codes that run.
        codes: Vec<CodeSummary>,
        /// Server milliseconds that pass in a real one; absent means 1. Only a demonstration runs faster.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        clock_rate: Option<f64>,
    },
    /// The other three timestamps of a clock exchange.
    Pong {
        /// As the client sent it.
        #[cfg_attr(test, ts(type = "number"))]
        sent_ms: f64,
        /// Server time on arrival.
        #[cfg_attr(test, ts(type = "number"))]
        received_ms: i64,
        /// Server time on leaving.
        #[cfg_attr(test, ts(type = "number"))]
        replied_ms: i64,
    },
    /// The record is on disk.
    Recorded {
        /// The client's id.
        id: Uuid,
        /// Which code.
        code: Uuid,
        /// Its final place.
        #[cfg_attr(test, ts(type = "number"))]
        seq: u64,
        /// The code time it was given.
        #[cfg_attr(test, ts(type = "number"))]
        at_ms: i64,
    },
    /// Refused, and why.
    Refused {
        /// The client's id; null where the message had none that could be read.
        #[cfg_attr(test, ts(type = "string | null"))]
        id: Option<Uuid>,
        /// The named reason.
        reason: RefusalReason,
        /// The reason in a plain sentence.
        message: String,
    },
    /// What this device's roles see.
    View(Box<ViewMessage>),
    /// The codes that run, when one opens, closes or changes phase.
    Codes {
        /// All of them.
        codes: Vec<CodeSummary>,
    },
    /// Who is in the code; for devices that show it (leader, recorder, and devices without a role).
    Roster {
        /// Which code.
        code: Uuid,
        /// The devices.
        devices: Vec<RosterEntry>,
    },
    /// Records, for devices that show the timeline: first all of them in parts, then each as it comes.
    Timeline {
        /// Which code.
        code: Uuid,
        /// Whether these replace what was sent before.
        reset: bool,
        /// In order of seq.
        records: Vec<Record>,
    },
}

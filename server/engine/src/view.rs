//! Exactly what a set of roles sees at a moment. Plain data; it must stay small: a view is at most 4 KiB on the wire.

use serde::{Deserialize, Serialize};

use crate::event::{AgeGroup, CompressedBy, PauseReason, Pulse, Rhythm, Role};
use crate::prompt::{Action, Prompt};

/// Where the code stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Phase {
    /// Opened; the clock has not started.
    Standby,
    /// In cardiac arrest.
    Arrest,
    /// Circulation has returned.
    Rosc,
    /// Over.
    Closed,
}

/// What the chest gets now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum HandsOrder {
    /// Nothing is ordered.
    None,
    /// Nobody touches the patient.
    Clear,
    /// Hands off the chest, for a moment.
    Pause,
    /// Compress.
    Compress,
}

/// What was last recorded of the chest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Observed {
    /// Whether compressions run, as far as anybody recorded.
    pub compressing: bool,
    /// Since when; absent if nobody ever recorded a start.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub since_ms: Option<i64>,
    /// By hand or by a device.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<CompressedBy>,
}

/// The hands line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Hands {
    /// The order.
    pub now: HandsOrder,
    /// Code time since which it holds.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub since_ms: i64,
    /// Code time at which it becomes `compress` by itself; absent if it does not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub until_ms: Option<i64>,
    /// The order is `compress` because a pause ran past its limit.
    pub overdue: bool,
    /// What was recorded.
    pub observed: Observed,
}

/// A role's next task, for the leader.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct TeamLine {
    /// Whose.
    pub role: Role,
    /// Whether any device holds the role.
    pub held: bool,
    /// What is next; absent if nothing is planned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub action: Option<Action>,
    /// The drug, where it is about one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drug: Option<String>,
    /// When it is due.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub due_at_ms: Option<i64>,
    /// When it is late.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub late_at_ms: Option<i64>,
}

/// The pause that runs, if one does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PauseView {
    /// When compressions stopped.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub since_ms: i64,
    /// What the pause is for now.
    pub reason: PauseReason,
    /// When it is too long.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub limit_ms: i64,
}

/// The last look at the rhythm.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct LookView {
    /// When.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub at_ms: i64,
    /// Which rhythm.
    pub rhythm: Rhythm,
    /// Which pulse.
    pub pulse: Pulse,
}

/// The defibrillator as far as anybody recorded.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct ChargeView {
    /// When charging began.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub since_ms: i64,
    /// When it is ready, as recorded or as expected.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub ready_at_ms: i64,
    /// Energy in joules.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "crate::number::optional::serialize")]
    pub energy_j: Option<f64>,
}

/// What was given so far, prior care included.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Counts {
    /// Shocks.
    pub shocks: u32,
    /// The last one here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub last_shock_at_ms: Option<i64>,
    /// Looks at the rhythm here.
    pub looks: u32,
    /// How often circulation returned.
    pub roscs: u32,
}

/// The standing line of a drug: always there, whether or not something is asked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct DrugLine {
    /// The drug's id in the protocol.
    pub drug: String,
    /// Doses so far, prior care included.
    pub doses: u32,
    /// When the last one was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub last_at_ms: Option<i64>,
    /// That time is not known but assumed.
    #[serde(default)]
    pub last_assumed: bool,
    /// When the next one is due, as far as that is decided.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub due_at_ms: Option<i64>,
    /// That time is only expected: a check or a shock comes first.
    #[serde(default)]
    pub waits: bool,
    /// Until when it is too early.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub too_early_until_ms: Option<i64>,
    /// When the window for it ends.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub latest_ms: Option<i64>,
}

/// Compressions so far, so that a tablet can go on computing the fraction by itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Running {
    /// Milliseconds compressed within arrests up to `at_ms`.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub compressed_ms: i64,
    /// Milliseconds in arrest up to `at_ms`.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub arrest_ms: i64,
}

/// Which protocol the code runs under.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ProtocolView {
    /// Such as `aha-adult`.
    pub id: String,
    /// What the screen shows.
    pub title: String,
    /// The department's version.
    pub version: u32,
    /// Whether the department has approved it; until then every screen says so.
    pub approved: bool,
}

/// What a set of roles sees.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct View {
    /// The moment it was made for, in code time.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub at_ms: i64,
    /// Where the code stands.
    pub phase: Phase,
    /// A drill, not a patient.
    pub training: bool,
    /// Adult, child or infant.
    pub age_group: AgeGroup,
    /// The hands line.
    pub hands: Hands,
    /// The tasks of these roles, soonest first: those that show now and those of the next minutes.
    pub prompts: Vec<Prompt>,
    /// The other roles' next tasks; for the leader only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub team: Option<Vec<TeamLine>>,
    /// The next check at the rhythm, if one is planned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub next_check_ms: Option<i64>,
    /// The pause that runs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pause: Option<PauseView>,
    /// The last look at the rhythm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub look: Option<LookView>,
    /// A charge on the defibrillator.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge: Option<ChargeView>,
    /// Counts.
    pub counts: Counts,
    /// The drugs' standing lines.
    pub drugs: Vec<DrugLine>,
    /// The compression fraction's two parts.
    pub running: Running,
    /// Since when the present compressor compresses.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub compressor_since_ms: Option<i64>,
    /// The role with the finger on the pulse.
    pub pulse_duty: Role,
    /// Beats of compression per minute.
    #[serde(serialize_with = "crate::number::serialize")]
    pub compressions_per_minute: f64,
    /// The protocol.
    pub protocol: ProtocolView,
}

//! Exactly what a set of roles sees at a moment. Plain data; it must stay small: a view is at most 4 KiB on the wire.

use serde::{Deserialize, Serialize};

use crate::event::{AgeGroup, Circumstance, CompressedBy, PauseReason, Pulse, Rhythm, Role, WeightBasis};
use crate::prompt::{Action, Prompt, WeightEstimate};

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
    /// The task in the protocol's words, where the action alone does not name it: `aftercare`, `special_care`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub item: Option<String>,
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
    /// A circumstance withholds it: nothing is asked, and a note says why.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    #[cfg_attr(feature = "typescript", ts(optional, as = "Option<bool>"))]
    pub withheld: bool,
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

/// What is known of the patient, as far as it changes doses or tasks.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct PatientView {
    /// Body weight in kilograms.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "crate::number::optional::serialize")]
    pub weight_kg: Option<f64>,
    /// Where the weight comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight_basis: Option<WeightBasis>,
    /// The weight does not fit the age: why, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight_doubt: Option<String>,
    /// While there is no weight: the estimate from the age.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub estimate: Option<WeightEstimate>,
    /// Age in completed months.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age_months: Option<u32>,
    /// Weeks of gestation.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "crate::number::optional::serialize")]
    pub gestation_weeks: Option<f64>,
    /// The latest core temperature in degrees Celsius.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "crate::number::optional::serialize")]
    pub core_temp_c: Option<f64>,
}

/// What kind of thing a note says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum NoteKind {
    /// Two rules that cannot both be followed: which one the plan follows, and that the leader decides.
    Conflict,
    /// The plan leaves out something it would ask for otherwise, and why.
    Withheld,
    /// The plan rests on something that nobody recorded.
    Assumption,
    /// What the guideline says to consider. Never advice.
    Information,
}

/// A sentence that stands beside the tasks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Note {
    /// What kind.
    pub kind: NoteKind,
    /// The sentence, in plain words: what it rests on stands apart.
    pub text: String,
    /// Where the protocol's value behind it is published, as the file says it; absent where it rests on none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
}

/// A target of care after return of circulation, and the latest reading against it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct TargetLine {
    /// The word on the record.
    pub id: String,
    /// What is looked after, in the protocol's words.
    pub title: String,
    /// The target in words.
    pub target: String,
    /// The latest reading since circulation returned, in words with its unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<String>,
    /// When it was read, or the item was ticked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub at_ms: Option<i64>,
    /// Whether the reading lies within the target; absent where there is no reading or no numbers to hold it against.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub within: Option<bool>,
}

/// How breaths follow one another: each so many seconds with an advanced airway, else after so many compressions.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct BreathRhythm {
    /// Seconds from breath to breath; compressions go on.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "crate::number::optional::serialize")]
    pub each_s: Option<f64>,
    /// Compressions before breaths are given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after_compressions: Option<u32>,
    /// How long those breaths take, as the protocol counts.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "crate::number::optional::serialize")]
    pub gap_s: Option<f64>,
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
    /// Where the patient is, as opened or as moved since; at most 80 characters of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub location: Option<String>,
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
    /// Beats of compression per minute; absent while a device compresses: nobody needs a beat then.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "crate::number::optional::serialize")]
    pub compressions_per_minute: Option<f64>,
    /// The rhythm of breaths in an arrest, for the cue that a device may sound; absent where none can be counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub breath_rhythm: Option<BreathRhythm>,
    /// The patient.
    pub patient: PatientView,
    /// Special circumstances that are set.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "typescript", ts(optional, as = "Option<Vec<Circumstance>>"))]
    pub circumstances: Vec<Circumstance>,
    /// Sentences for these roles, the gravest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "typescript", ts(optional, as = "Option<Vec<Note>>"))]
    pub notes: Vec<Note>,
    /// After return of circulation: the protocol's targets, for the leader and the recorder.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "typescript", ts(optional, as = "Option<Vec<TargetLine>>"))]
    pub aftercare: Vec<TargetLine>,
    /// The protocol.
    pub protocol: ProtocolView,
}

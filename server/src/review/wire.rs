//! What the review pages ask and are told: the shapes of docs/wire.md. The TypeScript types are generated from these.

use std::collections::BTreeMap;

use coxswain_engine::event::{Event, FollowUp, Outcome, Role};
use coxswain_engine::measure::targets::Target;
use coxswain_engine::measure::{ArrestCourse, Figures};
use coxswain_engine::record::Record;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::summary::CodeLine;

/// What an account may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
pub enum AccountRole {
    /// Reads, corrects, debriefs, signs, exports.
    Reviewer,
    /// The same, and reads the whole access log.
    Administrator,
}

impl AccountRole {
    /// Every role.
    pub const ALL: &'static [Self] = &[Self::Reviewer, Self::Administrator];

    /// The word for it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Reviewer => "reviewer",
            Self::Administrator => "administrator",
        }
    }
}

/// A person who may review.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Account {
    /// Its id; stands as `by.device` in the records it makes.
    pub id: Uuid,
    /// The person's name, by which they sign in.
    pub name: String,
    /// What it may do.
    pub role: AccountRole,
}

/// Body of `POST /api/review/session`.
#[derive(Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SignIn {
    /// The account's name.
    pub name: String,
    /// Its password.
    pub password: String,
}

/// Answer of `GET` and `POST /api/review/session`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SessionState {
    /// Who is signed in.
    pub account: Account,
    /// Wall clock at which the session ends in any case (RFC 3339).
    pub ends_at: String,
    /// It ends this long after the last request, in seconds.
    #[cfg_attr(test, ts(type = "number"))]
    pub idle_s: u64,
}

/// Query of `GET /api/review/codes`. Every field may be absent.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub struct CodeFilter {
    /// Opened on this day or later: `2026-11-01`, or a moment (RFC 3339).
    pub from: Option<String>,
    /// Opened before this day or moment.
    pub to: Option<String>,
    /// Opened there; empty: those without a place.
    pub location: Option<String>,
    /// Ran under the protocol of this id.
    pub protocol: Option<String>,
    /// Drills only, or real ones only.
    pub training: Option<bool>,
    /// Ended so.
    pub outcome: Option<Outcome>,
    /// Signed ones only, or the others only.
    pub signed: Option<bool>,
}

/// Answer of `GET /api/review/codes`: the latest first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct CodePage {
    /// The codes of this page.
    pub codes: Vec<CodeLine>,
    /// Which page, from 1.
    #[cfg_attr(test, ts(type = "number"))]
    pub page: u64,
    /// How many pages there are, at least 1.
    #[cfg_attr(test, ts(type = "number"))]
    pub pages: u64,
    /// How many codes the filter lets through.
    #[cfg_attr(test, ts(type = "number"))]
    pub total: u64,
    /// Codes whose line is still being made, after an upgrade: they are missing here, or shown as they were.
    #[cfg_attr(test, ts(type = "number"))]
    pub unfinished: u64,
    /// Codes that cannot be read, and are missing here: `coxswain verify` and the server's log name them.
    #[cfg_attr(test, ts(type = "number"))]
    pub unreadable: u64,
    /// Every location that a code was opened at.
    pub locations: Vec<String>,
    /// Every protocol that a code ran under.
    pub protocols: Vec<String>,
}

/// Answer of `GET /api/review/codes/{id}`, and of every change of it.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub struct ReviewedCode {
    /// Its line in the list, as of the version shown.
    pub line: CodeLine,
    /// Hash of the chain as shown: what a change has to name.
    pub head: String,
    /// Whether changes are taken: the code is over, the version shown is the latest one, it is not signed, and its chain holds.
    pub open_for_changes: bool,
    /// Where the hash chain is broken, in words; absent where it holds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub broken: Option<String>,
    /// What was added to every wall-clock time, in milliseconds: the alignment that stands.
    #[cfg_attr(test, ts(type = "number"))]
    pub wall_offset_ms: i64,
    /// Wall clock of code time 0, aligned (RFC 3339); absent if the clock never started.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zero_at: Option<String>,
    /// Every record, in order of the chain, with what became of it.
    pub records: Vec<RecordShown>,
    /// The figures, by the engine, from these records.
    pub figures: Figures,
    /// When compressions ran, arrest by arrest: what the figures were made from (`measure::course`).
    pub course: Vec<ArrestCourse>,
    /// The published targets beside them, with the moments that missed them.
    pub targets: Vec<Target>,
    /// The figures as the table of `coxswain measure` has them.
    pub table: Vec<TableLine>,
    /// What the protocol says of times, for whoever draws the code.
    pub rules: ProtocolRules,
    /// What was asked, of whom, and what became of it, in order of time.
    pub prompts: Vec<PromptDeed>,
    /// Devices and accounts by id, with their names.
    #[cfg_attr(test, ts(as = "BTreeMap<String, String>"))]
    pub names: BTreeMap<Uuid, String>,
    /// The debrief that stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub debrief: Option<DebriefShown>,
    /// Every version, the first one first.
    pub versions: Vec<Version>,
    /// What was read from monitors, with which source counts where.
    pub imports: Vec<ImportShown>,
}

/// One line of the table of figures.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct TableLine {
    /// What is measured.
    pub name: &'static str,
    /// The value, or a dash.
    pub value: String,
    /// The published target with its source; empty where none applies.
    pub target: &'static str,
}

/// A record with what became of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub struct RecordShown {
    /// As it was recorded: never changed.
    pub record: Record,
    /// Whether it counts: not voided; for a fact also not after the closing.
    pub counts: bool,
    /// Corrections that name it, in order of the chain, whether they stand or not.
    pub corrected_by: Vec<Uuid>,
    /// The time that counts, where an amendment changed it; of what a choice set aside, the time that would count without it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, ts(type = "number"))]
    pub now_at_ms: Option<i64>,
    /// The content that counts, where an amendment changed it; of what a choice set aside, what would count without it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub now_event: Option<Event>,
    /// What a choice of source did to it; absent if none touched it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by_choice: Option<ByChoice>,
}

/// What a choice of source did to a start or a stop of compressions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
pub enum ByChoice {
    /// Tapped, and set aside: a monitor's compressions count there. It can be corrected, and counts again with the taps.
    SetAside,
    /// A monitor's, brought by a choice that stands.
    Brought,
    /// A monitor's, brought by a choice that was taken back or made anew since.
    TakenBack,
}

/// What the protocol of a code says of times.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ProtocolRules {
    /// Such as `aha-adult`.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Its version.
    pub version: u32,
    /// From check to check.
    #[cfg_attr(test, ts(type = "number"))]
    pub cycle_ms: i64,
    /// The longest pause before the screens ask for compressions again.
    #[cfg_attr(test, ts(type = "number"))]
    pub pause_limit_ms: i64,
    /// From one dose of epinephrine to the next: earliest.
    #[cfg_attr(test, ts(type = "number"))]
    pub epinephrine_from_ms: i64,
    /// When it is due.
    #[cfg_attr(test, ts(type = "number"))]
    pub epinephrine_due_ms: i64,
    /// Latest.
    #[cfg_attr(test, ts(type = "number"))]
    pub epinephrine_until_ms: i64,
    /// What its own tasks are called, by what stands behind the colon of a prompt's key: `ecg_12_lead`, `trauma.call_surgeon`.
    pub tasks: BTreeMap<String, String>,
}

/// What became of a prompt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
pub enum PromptEnd {
    /// A record did it.
    Done,
    /// It went without having been done.
    Withdrawn,
}

/// A prompt and the deed that answered it, as it was known then; corrections do not change it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub struct PromptDeed {
    /// Its key: `action@id of the anchoring record`.
    pub key: String,
    /// What was asked.
    pub action: String,
    /// Of which roles; empty for codes from before this was kept.
    pub roles: Vec<Role>,
    /// When it showed first, in code time.
    #[cfg_attr(test, ts(type = "number"))]
    pub shown_at_ms: i64,
    /// The devices that it showed on.
    pub devices: Vec<Uuid>,
    /// When it was due.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, ts(type = "number"))]
    pub due_at_ms: Option<i64>,
    /// When it was late.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, ts(type = "number"))]
    pub late_at_ms: Option<i64>,
    /// What became of it; absent if it still stood at the end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end: Option<PromptEnd>,
    /// When that was: of a deed, its time on the record as it counts now.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, ts(type = "number"))]
    pub ended_at_ms: Option<i64>,
    /// When the tap that told of the deed came in, in code time; absent for codes from before this was kept.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, ts(type = "number"))]
    pub acknowledged_at_ms: Option<i64>,
    /// The device on which that was tapped.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub acknowledged_on: Option<Uuid>,
    /// If it was done: from the moment it was due, or showed if that was later, until then; negative if it was done before.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, ts(type = "number"))]
    pub after_due_ms: Option<i64>,
}

/// A debrief with who recorded it, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct DebriefShown {
    /// The record.
    pub id: Uuid,
    /// Who.
    pub by: String,
    /// Wall clock.
    pub at: String,
    /// What went well.
    pub went_well: String,
    /// What to change.
    pub to_change: String,
    /// Who follows up.
    pub follow_ups: Vec<FollowUp>,
}

/// One version of a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub struct Version {
    /// From 1.
    pub version: u32,
    /// Why it was opened; absent for the first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// Its signature; absent while it is open.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signature: Option<SignatureShown>,
}

/// Who signed what, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SignatureShown {
    /// Who.
    pub by: String,
    /// Wall clock.
    pub at: String,
    /// Hash of the chain that was signed.
    pub head: String,
    /// How many records that chain has.
    #[cfg_attr(test, ts(type = "number"))]
    pub records: u64,
}

/// What was read from a monitor.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ImportShown {
    /// The record of the import.
    pub id: Uuid,
    /// What it is called.
    pub name: String,
    /// What was added to the file's times.
    #[cfg_attr(test, ts(type = "number"))]
    pub offset_ms: i64,
    /// Its compressions, in order of time.
    pub stretches: Vec<StretchShown>,
}

/// Compressions as a monitor has them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct StretchShown {
    /// Code time of the first compression.
    #[cfg_attr(test, ts(type = "number"))]
    pub start_ms: i64,
    /// Code time at which they stopped.
    #[cfg_attr(test, ts(type = "number"))]
    pub stop_ms: i64,
    /// Whose times count here.
    pub counts: Counting,
}

/// Whose times of compressions count in a stretch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
pub enum Counting {
    /// The team's taps.
    Taps,
    /// The monitor in a part of it, the taps in the rest.
    Part,
    /// The monitor.
    Monitor,
}

/// Body of `POST /api/review/codes/{id}/changes`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ChangeRequest {
    /// The head that the reviewer saw: if the chain moved on since, nothing is changed.
    pub head: String,
    /// Why: stands in the record of the change.
    pub reason: String,
    /// What.
    pub change: Change,
}

/// Which source counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
pub enum CompressionSource {
    /// What the team tapped.
    Taps,
    /// What the monitor recorded.
    Monitor,
}

/// One change, tagged by `kind`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub enum Change {
    /// Another time, another content, or both, for a fact.
    Amend {
        /// The fact.
        target: Uuid,
        /// Its time.
        #[serde(default)]
        #[cfg_attr(test, ts(type = "number"))]
        at_ms: Option<i64>,
        /// Its content.
        #[serde(default)]
        event: Option<Event>,
    },
    /// Takes a fact, an amendment or a void out of what counts.
    Void {
        /// Which.
        target: Uuid,
    },
    /// A fact that nobody recorded.
    Add {
        /// When it was.
        #[cfg_attr(test, ts(type = "number"))]
        at_ms: i64,
        /// What it was.
        event: Event,
    },
    /// Every wall-clock time of the record was off. Code time and figures stay.
    Align {
        /// What is added to them, in milliseconds: negative if the clock was ahead. Counts in place of an earlier alignment.
        #[cfg_attr(test, ts(type = "number"))]
        offset_ms: i64,
    },
    /// Reads a monitor's compressions from a CSV (docs/review.md). Changes nothing by itself.
    ImportMonitor {
        /// What it is called, such as the file's name.
        name: String,
        /// The file's text.
        csv: String,
        /// What is added to its times to make them code time, in milliseconds.
        #[serde(default)]
        #[cfg_attr(test, ts(type = "number"))]
        offset_ms: i64,
        /// For a file with clock times: what the monitor's clock showed when the arrest was recognised, as `09:12:03`.
        #[serde(default)]
        zero_clock: Option<String>,
    },
    /// Whose compressions count in a stretch of time.
    ChooseSource {
        /// The record of the import.
        import: Uuid,
        /// From this code time on.
        #[cfg_attr(test, ts(type = "number"))]
        from_ms: i64,
        /// Up to this one.
        #[cfg_attr(test, ts(type = "number"))]
        to_ms: i64,
        /// Whose.
        source: CompressionSource,
    },
    /// Opens a signed record for a new version.
    NewVersion,
}

/// Body of `POST /api/review/codes/{id}/debrief`.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct DebriefRequest {
    /// The head that the reviewer saw.
    pub head: String,
    /// What went well.
    pub went_well: String,
    /// What to change.
    pub to_change: String,
    /// Who follows up.
    pub follow_ups: Vec<FollowUp>,
}

/// Body of `POST /api/review/codes/{id}/signature`: closes the version that is shown.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SignatureRequest {
    /// The head that the reviewer saw, and signs.
    pub head: String,
}

/// Why a request was refused with 409.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
pub enum Conflict {
    /// The chain moved on since the reviewer looked; `code` in the answer is how it stands now.
    ChangedMeanwhile,
    /// The code still runs: it is corrected at its own screens.
    CodeRunning,
    /// The version is signed: a new one has to be opened first.
    Signed,
    /// It is not signed: there is no need of a new version.
    NotSigned,
    /// A choice of source is not made of what is tapped now: the code ran again after it.
    ChoiceNotCurrent,
    /// The hash chain of this code is broken: nothing can be added to it that anybody could trust.
    ChainBroken,
}

/// What an entry of the access log says was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
pub enum Deed {
    /// Somebody signed in.
    SignedIn,
    /// A name or a password was wrong.
    SignInFailed,
    /// Somebody signed out.
    SignedOut,
    /// The list was looked at.
    Listed,
    /// A code was opened.
    Opened,
    /// A code, or many, were exported.
    Exported,
    /// Trends were looked at.
    Trended,
    /// A record was changed.
    Changed,
    /// A debrief was recorded.
    Debriefed,
    /// A record was signed.
    Signed,
    /// The access log was looked at.
    LogRead,
    /// An account was added, from the shell.
    AccountAdded,
    /// An account was removed, from the shell.
    AccountRemoved,
}

/// One entry of the access log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub struct AccessEntry {
    /// Its place, from 1.
    #[cfg_attr(test, ts(type = "number"))]
    pub place: i64,
    /// Wall clock (RFC 3339).
    pub at: String,
    /// Who; of a failed sign-in, the account if the name is one's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub account: Option<Uuid>,
    /// The account's name then; `shell` for what was done from the server's own shell.
    pub name: String,
    /// What.
    pub deed: Deed,
    /// Which code.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub code: Option<Uuid>,
    /// More: the kind of a change, the format of an export, the version that was opened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
    /// The address that asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
}

/// Answer of `GET /api/review/access_log?code=&page=`: the latest first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct AccessPage {
    /// The entries of this page.
    pub entries: Vec<AccessEntry>,
    /// Which page, from 1.
    #[cfg_attr(test, ts(type = "number"))]
    pub page: u64,
    /// How many pages there are, at least 1.
    #[cfg_attr(test, ts(type = "number"))]
    pub pages: u64,
}

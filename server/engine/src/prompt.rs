//! What a role is asked to do, and when: the plan's output. Plain data; the rules that make it live in `plan`.

use serde::{Deserialize, Serialize};

use crate::event::{Circumstance, Dose, Event, Role};

/// What is asked. The words are part of the wire contract (`docs/wire.md`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Action {
    /// Begin chest compressions.
    StartCompressions,
    /// Go back to compressions after a pause.
    ResumeCompressions,
    /// Stop for the rhythm and pulse check.
    PauseForCheck,
    /// Say aloud what comes next; `detail.of` says what.
    Announce,
    /// Go to the chest, ready to take over compressions.
    ReadyRelief,
    /// Put a finger on the pulse while compressions run.
    FingerOnPulse,
    /// Say which rhythm and pulse there is.
    ReadRhythm,
    /// Say whether this is return of spontaneous circulation.
    ConfirmRosc,
    /// Capnography suggests circulation: look at the next check.
    PossibleRosc,
    /// Put the pads on.
    AttachPads,
    /// Charge while compressions run, ahead of the check.
    ChargeAhead,
    /// Charge now, compressions running.
    Charge,
    /// Call "all clear".
    CallAllClear,
    /// Give the shock.
    GiveShock,
    /// Nobody recorded whether the shock was given: say so.
    ConfirmShock,
    /// Dump the charge: it is not wanted.
    DumpCharge,
    /// Get a line in.
    GainAccess,
    /// Enter the patient's weight.
    EnterWeight,
    /// Draw the drug up.
    DrawUp,
    /// Give the drug.
    GiveDrug,
    /// Keep this breath rhythm.
    Ventilate,
    /// Read the end-tidal carbon dioxide.
    ReadEtco2,
    /// Go through the reversible causes.
    ReviewCauses,
    /// A target of care after return of circulation.
    Aftercare,
    /// Breaths before the first compression.
    InitialBreaths,
    /// Move the pads to the position in `detail.target`.
    ChangePads,
    /// What a special circumstance asks for: `detail.item`, with its aim in `detail.target`.
    SpecialCare,
    /// Two doses of one drug within its minimum: were both given?
    ConfirmSecondDose,
    /// The protocol does not fit the patient: change to the one in `detail.item`.
    ChangeProtocol,
    /// A reading suggests a circumstance that nobody has set: say whether it holds.
    ConsiderCircumstance,
    /// The patient was moved: say who holds which role here.
    ConfirmRoles,
    /// Extracorporeal circulation was started: say when its flow carries the patient.
    ConfirmFlow,
    /// An order that limits treatment was found: the leader decides.
    ReviewLimits,
    /// Death was declared and the code is still open: close it, or say that it goes on.
    CloseCode,
}

impl Action {
    /// The word used in JSON and in keys.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::StartCompressions => "start_compressions",
            Self::ResumeCompressions => "resume_compressions",
            Self::PauseForCheck => "pause_for_check",
            Self::Announce => "announce",
            Self::ReadyRelief => "ready_relief",
            Self::FingerOnPulse => "finger_on_pulse",
            Self::ReadRhythm => "read_rhythm",
            Self::ConfirmRosc => "confirm_rosc",
            Self::PossibleRosc => "possible_rosc",
            Self::AttachPads => "attach_pads",
            Self::ChargeAhead => "charge_ahead",
            Self::Charge => "charge",
            Self::CallAllClear => "call_all_clear",
            Self::GiveShock => "give_shock",
            Self::ConfirmShock => "confirm_shock",
            Self::DumpCharge => "dump_charge",
            Self::GainAccess => "gain_access",
            Self::EnterWeight => "enter_weight",
            Self::DrawUp => "draw_up",
            Self::GiveDrug => "give_drug",
            Self::Ventilate => "ventilate",
            Self::ReadEtco2 => "read_etco2",
            Self::ReviewCauses => "review_causes",
            Self::Aftercare => "aftercare",
            Self::InitialBreaths => "initial_breaths",
            Self::ChangePads => "change_pads",
            Self::SpecialCare => "special_care",
            Self::ConfirmSecondDose => "confirm_second_dose",
            Self::ChangeProtocol => "change_protocol",
            Self::ConsiderCircumstance => "consider_circumstance",
            Self::ConfirmRoles => "confirm_roles",
            Self::ConfirmFlow => "confirm_flow",
            Self::ReviewLimits => "review_limits",
            Self::CloseCode => "close_code",
        }
    }

    /// Kinds of event that do it. A tablet without its server lets its own taps remove prompts by this list.
    pub const fn done_by(self) -> &'static [&'static str] {
        match self {
            Self::StartCompressions | Self::ResumeCompressions => &["compressions_started"],
            Self::PauseForCheck => &["rhythm_checked", "compressions_stopped"],
            Self::ReadyRelief => &["compressor_changed"],
            Self::FingerOnPulse => &["pulse_finger_placed"],
            Self::ReadRhythm | Self::PossibleRosc => &["rhythm_checked"],
            Self::ConfirmRosc => &["rosc", "compressions_started"],
            Self::AttachPads => &["pads_attached", "rhythm_checked", "charging_started"],
            Self::ChargeAhead | Self::Charge => &["charging_started"],
            Self::CallAllClear => &["all_clear_called"],
            Self::GiveShock | Self::ConfirmShock => {
                &["shock_delivered", "shock_aborted", "charge_dumped", "compressions_started"]
            }
            Self::DumpCharge => &["charge_dumped"],
            Self::GainAccess => &["access_gained"],
            Self::EnterWeight => &["patient_updated"],
            Self::DrawUp => &["drug_prepared", "drug_given"],
            Self::GiveDrug => &["drug_given"],
            Self::ReadEtco2 => &["etco2_read"],
            Self::ReviewCauses => &["cause_considered", "cause_treated", "task_done"],
            Self::Announce => &["task_done"],
            Self::Aftercare => &["task_done", "vital_read", "lab_read"],
            Self::Ventilate => &[],
            Self::InitialBreaths => &["breaths_given", "compressions_started", "task_done"],
            Self::ChangePads => &["pads_attached", "task_done"],
            // A task of a circumstance may name further events that do it.
            Self::SpecialCare => &["task_done"],
            Self::ConfirmSecondDose => &["task_done", "voided"],
            Self::ChangeProtocol => &["protocol_changed", "task_done"],
            Self::ConsiderCircumstance => &["circumstance_set", "task_done"],
            Self::ConfirmRoles => &["role_assigned", "role_released", "task_done"],
            Self::ConfirmFlow | Self::ReviewLimits | Self::CloseCode => &["code_closed", "task_done"],
        }
    }

    /// Whether doing it means touching the patient; none of these may show while hands are clear.
    pub const fn touches_patient(self) -> bool {
        match self {
            Self::StartCompressions
            | Self::ResumeCompressions
            | Self::ReadyRelief
            | Self::FingerOnPulse
            | Self::AttachPads
            | Self::GainAccess
            | Self::GiveDrug
            | Self::Ventilate
            | Self::InitialBreaths
            | Self::ChangePads
            | Self::SpecialCare => true,
            Self::PauseForCheck
            | Self::Announce
            | Self::ReadRhythm
            | Self::ConfirmRosc
            | Self::PossibleRosc
            | Self::ChargeAhead
            | Self::Charge
            | Self::CallAllClear
            | Self::GiveShock
            | Self::ConfirmShock
            | Self::DumpCharge
            | Self::EnterWeight
            | Self::DrawUp
            | Self::ReadEtco2
            | Self::ReviewCauses
            | Self::Aftercare
            | Self::ConfirmSecondDose
            | Self::ChangeProtocol
            | Self::ConsiderCircumstance
            | Self::ConfirmRoles
            | Self::ConfirmFlow
            | Self::ReviewLimits
            | Self::CloseCode => false,
        }
    }
}

/// A drug that may be given instead, never as well.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Alternative {
    /// The drug's id in the protocol.
    pub drug: String,
    /// Its dose for this patient, if it can be computed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dose: Option<Dose>,
    /// The volume of that dose at the protocol's strength.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volume: Option<Dose>,
    /// The rule in words, where the dose depends on a weight that is not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rule: Option<String>,
}

/// The particulars of a prompt. Only the fields that mean something for its action are present.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Detail {
    /// announce, and a second question within a check: the action it is about.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of: Option<Action>,
    /// announce: code time of the thing announced.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of_at_ms: Option<i64>,
    /// The drug's id in the protocol.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drug: Option<String>,
    /// The dose for this patient.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dose: Option<Dose>,
    /// The volume of that dose at `strength`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volume: Option<Dose>,
    /// The strength it is computed for, such as `0.1 mg/mL`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub strength: Option<String>,
    /// The dose rule in words: for which weight it is, or why mg and mL cannot be known yet. ventilate: the rate in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule: Option<String>,
    /// Millilitres of flush after the drug.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "crate::number::optional::serialize")]
    pub flush_ml: Option<f64>,
    /// draw_up: when it is to be given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub give_at_ms: Option<i64>,
    /// give_drug: before this moment it is too early.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub too_early_until_ms: Option<i64>,
    /// give_drug: whether it has been drawn up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub prepared: Option<bool>,
    /// draw_up, give_drug: what must come first, `shock` or `rhythm_check`, where the time is only expected.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub waits_for: Option<String>,
    /// give_drug: the alternative, never as well.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub or: Option<Alternative>,
    /// Energy in joules.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "crate::number::optional::serialize")]
    pub energy_j: Option<f64>,
    /// Energy in words: for which weight it is, or the rule where no energy is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub energy_rule: Option<String>,
    /// ventilate: compressions to breaths, such as `30:2`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ratio: Option<String>,
    /// ventilate: seconds from breath to breath, compressions going on.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "crate::number::optional::serialize")]
    pub one_breath_each_s: Option<f64>,
    /// aftercare, special_care: what, in the protocol's words; change_protocol: the id of the one that fits.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub item: Option<String>,
    /// aftercare, special_care: the target in words; change_pads: the position.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub target: Option<String>,
    /// special_care, consider_circumstance: which circumstance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub circumstance: Option<Circumstance>,
    /// initial_breaths: how many.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub breaths: Option<u32>,
    /// enter_weight: the estimate from the age, which counts only once somebody confirms it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub estimate: Option<WeightEstimate>,
    /// A reason to look twice, in words: a weight that does not fit the age, a reading outside its target.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub doubt: Option<String>,
    /// give_shock: which shock of a quick stack, and of how many.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stack: Option<StackPlace>,
    /// confirm_second_dose: milliseconds between the two doses.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub apart_ms: Option<i64>,
}

/// A weight estimated from the age.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct WeightEstimate {
    /// Kilograms.
    #[serde(serialize_with = "crate::number::serialize")]
    pub weight_kg: f64,
    /// The formula with its name, such as `APLS: 2 x years + 8`.
    pub formula: String,
}

/// A shock's place in a quick stack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct StackPlace {
    /// From 1.
    pub number: u32,
    /// The most a stack has.
    pub of: u32,
}

/// One task for one or more roles.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Prompt {
    /// `action@id of the anchoring record`: the same task keeps it as the plan is made anew.
    pub key: String,
    /// What is asked.
    pub action: Action,
    /// Who is asked.
    pub roles: Vec<Role>,
    /// Code time from which it shows.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub show_at_ms: i64,
    /// Code time at which it is to be done.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub due_at_ms: i64,
    /// Code time after which it is late; absent where lateness has no meaning.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub late_at_ms: Option<i64>,
    /// Particulars.
    pub detail: Detail,
    /// Kinds of event that do it.
    pub done_by: Vec<String>,
    /// Whether it rests on something nobody recorded, or lies beyond a branch.
    pub assumed: bool,
    /// The reason, in a few words.
    pub why: String,
    /// What one tap on the main button records, where one tap is enough.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tap: Option<Event>,
}

//! The event vocabulary: everything that can happen in a code, as one closed enum.
//!
//! On the wire and in files an event is a JSON object tagged by `kind`, with its fields beside the tag. Unknown
//! fields are ignored (a newer version may add some); an unknown kind or a bad value is an error that names the field.
//! This module must not know what an event means for the plan or the figures.

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::Value;
use uuid::Uuid;

use crate::number;

/// A field that is wrong, and why, in words for the person who sent it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldError {
    /// Path of the field from the record's root, such as `event.energy_j`.
    pub field: String,
    /// What is wrong with it.
    pub problem: String,
}

impl FieldError {
    /// Names a field and its problem.
    pub fn new(field: impl Into<String>, problem: impl Into<String>) -> Self {
        Self { field: field.into(), problem: problem.into() }
    }
}

impl fmt::Display for FieldError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.field, self.problem)
    }
}

impl std::error::Error for FieldError {}

/// Declares a closed set of words that stand for themselves in JSON, in snake case.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$variant_doc:meta])* $variant:ident),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        #[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
        #[expect(missing_docs, reason = "the words are the trade's and stand for themselves")]
        pub enum $name { $($(#[$variant_doc])* $variant),+ }

        impl $name {
            /// Every word of the set, in order of declaration.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];
        }
    };
}

words! {
    /// What a device, and the person behind it, does in the team.
    Role { Leader, Compressor, Relief, Airway, Drugs, Defibrillator, Recorder }
}

impl Role {
    /// The word used for the role in JSON.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Leader => "leader",
            Self::Compressor => "compressor",
            Self::Relief => "relief",
            Self::Airway => "airway",
            Self::Drugs => "drugs",
            Self::Defibrillator => "defibrillator",
            Self::Recorder => "recorder",
        }
    }
}

impl std::str::FromStr for Role {
    type Err = FieldError;

    fn from_str(text: &str) -> Result<Self, FieldError> {
        Self::ALL.iter().copied().find(|role| role.as_str() == text).ok_or_else(|| {
            let known: Vec<_> = Self::ALL.iter().map(|role| role.as_str()).collect();
            FieldError::new("role", format!("`{text}` is no role; the roles are {}", known.join(", ")))
        })
    }
}

words! {
    /// For whom a protocol is.
    AgeGroup { Adult, Child, Infant }
}

impl AgeGroup {
    /// Whether doses and energies go by weight.
    pub const fn is_young(self) -> bool {
        match self {
            Self::Adult => false,
            Self::Child | Self::Infant => true,
        }
    }
}

words! {
    /// The patient's sex, as the Utstein template asks for it (clinical sources, U5).
    Sex { Female, Male, Unknown }
}
words! {
    /// Where a weight comes from.
    WeightBasis { Measured, Length, Age, Told }
}
words! {
    /// What moves the chest.
    CompressedBy { Manual, Mechanical }
}
words! {
    /// Why compressions stopped, or what a running pause is for now.
    PauseReason {
        RhythmCheck, PulseCheck, Shock, Airway, Access, CompressorChange, Breaths, Moving, Device, Ultrasound,
        Delivery, Handover, Rosc, Other,
    }
}
words! {
    /// Where the pads are.
    PadPosition { Anterolateral, Anteroposterior, Unknown }
}
words! {
    /// Where the finger is.
    PulseSite { Carotid, Femoral, Brachial }
}
words! {
    /// What the monitor shows.
    Rhythm { Vf, PulselessVt, Pea, Asystole, Bradycardia, Perfusing, Unknown }
}
words! {
    /// What the finger feels.
    Pulse { Present, Absent, NotChecked }
}
words! {
    /// How a drug went in.
    Route { Iv, Io, Im, Tracheal, Intranasal, Other }
}
words! {
    /// At once or running.
    DrugForm { Bolus, Infusion }
}
words! {
    /// A line into a vein or into the bone.
    AccessRoute { Iv, Io }
}
words! {
    /// What keeps the airway open.
    AirwayKind { BagMask, Supraglottic, Tracheal, FrontOfNeck }
}
words! {
    /// Where a temperature was taken.
    TemperatureSite { Core, Other }
}
words! {
    /// How the code ended.
    Outcome { SurvivedEvent, Died, Transferred, NotAnArrest, TreatmentLimit, Ecmo }
}

impl AirwayKind {
    /// Whether breaths need no pause in compressions with this airway in.
    pub const fn is_advanced(self) -> bool {
        match self {
            Self::BagMask => false,
            Self::Supraglottic | Self::Tracheal | Self::FrontOfNeck => true,
        }
    }
}

impl Rhythm {
    /// Whether a shock treats this rhythm.
    pub const fn is_shockable(self) -> bool {
        match self {
            Self::Vf | Self::PulselessVt => true,
            Self::Pea | Self::Asystole | Self::Bradycardia | Self::Perfusing | Self::Unknown => false,
        }
    }
}

/// A circumstance that changes the plan: one of the named ones, or the department's own word.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[expect(missing_docs, reason = "the words are the trade's and stand for themselves")]
pub enum Circumstance {
    Pregnancy,
    Hypothermia,
    Opioid,
    Hyperkalaemia,
    Drowning,
    Anaphylaxis,
    Trauma,
    PulmonaryEmbolism,
    LocalAnaesthetic,
    /// Ours: an order that limits treatment was found during the code.
    TreatmentLimit,
    /// Ours: the defibrillator at hand gives monophasic shocks.
    MonophasicDefibrillator,
    #[serde(untagged)]
    Other(String),
}

impl Circumstance {
    /// The word used for it in JSON, in protocol files and in keys.
    pub fn as_str(&self) -> &str {
        match self {
            Self::Pregnancy => "pregnancy",
            Self::Hypothermia => "hypothermia",
            Self::Opioid => "opioid",
            Self::Hyperkalaemia => "hyperkalaemia",
            Self::Drowning => "drowning",
            Self::Anaphylaxis => "anaphylaxis",
            Self::Trauma => "trauma",
            Self::PulmonaryEmbolism => "pulmonary_embolism",
            Self::LocalAnaesthetic => "local_anaesthetic",
            Self::TreatmentLimit => "treatment_limit",
            Self::MonophasicDefibrillator => "monophasic_defibrillator",
            Self::Other(word) => word,
        }
    }
}

/// The international nonproprietary name of a drug that has another name in British use: adrenaline and lignocaine (the
/// MHRA's list of changed names keeps "adrenaline" beside "epinephrine"; from memory). Any other name is its own.
pub fn international_name(drug: &str) -> &str {
    let is = |name: &str| drug.eq_ignore_ascii_case(name);
    match drug {
        _ if is("adrenaline") || is("epinephrine") => "epinephrine",
        _ if is("lignocaine") || is("lidocaine") => "lidocaine",
        _ if is("amiodarone") => "amiodarone",
        _ => drug,
    }
}

/// An amount with its unit, as it was drawn up or given.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Dose {
    /// How much, in `unit`.
    #[serde(serialize_with = "number::serialize")]
    pub value: f64,
    /// UCUM unit, such as `mg`, `ug`, `g`, `mL`, `mg/kg`.
    pub unit: String,
}

/// Which protocol a code runs under.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ProtocolRef {
    /// Such as `aha-adult`.
    pub id: String,
    /// The department's version of it.
    pub version: u32,
    /// SHA-256 of the protocol's exact text, in hexadecimal: the server fills it in, so that the record vouches for the text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(optional))]
    pub sha256: Option<String>,
}

/// What is known of the patient. Every field may be absent, and a later report changes only what it names.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Patient {
    /// Adult, child or infant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age_group: Option<AgeGroup>,
    /// Body weight in kilograms.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
    pub weight_kg: Option<f64>,
    /// Where the weight comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight_basis: Option<WeightBasis>,
    /// Age in completed months.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age_months: Option<u32>,
    /// Weeks of gestation, in pregnancy.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
    pub gestation_weeks: Option<f64>,
    /// Core temperature in degrees Celsius.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
    pub core_temp_c: Option<f64>,
    /// Sex.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sex: Option<Sex>,
}

/// What was done before this team took over.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct PriorCare {
    /// Doses of epinephrine already given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub epinephrine_doses: Option<u32>,
    /// Code time of the last of them; negative before recognition, absent if nobody knows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub last_epinephrine_at_ms: Option<i64>,
    /// Shocks already given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shocks: Option<u32>,
    /// Amiodarone already given, in milligrams.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
    pub amiodarone_mg: Option<f64>,
    /// Lidocaine already given, in milligrams.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
    pub lidocaine_mg: Option<f64>,
    /// The airway that is already in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub airway: Option<AirwayKind>,
    /// The access that is already there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub access: Option<AccessRoute>,
}

/// Compressions as a monitor's own record has them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct CompressionStretch {
    /// Code time of the first compression.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub start_ms: i64,
    /// Code time at which they stopped.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub stop_ms: i64,
}

/// What somebody took upon themselves in a debrief.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct FollowUp {
    /// Who.
    pub who: String,
    /// What.
    pub what: String,
    /// By which day, as `2026-12-01`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by_when: Option<String>,
}

/// What a reviewer did with a record as a whole, tagged by `what`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub enum ReviewDeed {
    /// The debrief; a later one takes its place.
    Debriefed {
        /// What went well.
        went_well: String,
        /// What to change.
        to_change: String,
        /// Who follows up.
        follow_ups: Vec<FollowUp>,
    },
    /// This version of the record is closed. The signature is of the chain up to the record before this one.
    Signed {
        /// Which version, from 1.
        version: u32,
        /// Hash of the chain that was signed, hexadecimal.
        head: String,
    },
    /// A new version of a signed record begins: it may be corrected again.
    VersionOpened {
        /// Which version, from 2.
        version: u32,
        /// Why.
        reason: String,
    },
    /// Why a fact that nobody had recorded was added by the reviewer.
    Added {
        /// The record that was added.
        target: Uuid,
        /// Why.
        reason: String,
    },
    /// A monitor's own record of compressions was read. By itself it changes nothing: each stretch is chosen.
    MonitorImported {
        /// The file's name, or what the reviewer calls it.
        name: String,
        /// Why.
        reason: String,
        /// What was added to the file's times.
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        offset_ms: i64,
        /// In order of time, not touching each other.
        stretches: Vec<CompressionStretch>,
    },
    /// Whose compressions count from one moment to another: a monitor's in place of what was tapped there, or the taps again.
    SourceChosen {
        /// The record of the monitor's import; absent where the taps were chosen. Voided, with all that it brought, where the taps
        /// count again.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        import: Option<Uuid>,
        /// From this code time on.
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        from_ms: i64,
        /// Up to this one.
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        to_ms: i64,
        /// Why.
        reason: String,
        /// The monitor's starts and stops, and the voids of what was tapped: the records that were made with it.
        records: Vec<Uuid>,
        /// The choice that somebody made, where this one makes it anew: another was made beside it, or what was tapped beneath it
        /// was corrected. Whatever was made for that one and counts still belongs to it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        renews: Option<Uuid>,
    },
}

const fn manual() -> CompressedBy {
    CompressedBy::Manual
}
const fn pads_unknown() -> PadPosition {
    PadPosition::Unknown
}
const fn pulse_not_checked() -> Pulse {
    Pulse::NotChecked
}
const fn bolus() -> DrugForm {
    DrugForm::Bolus
}
#[expect(clippy::trivially_copy_pass_by_ref, reason = "the signature serde asks for")]
const fn is_false(value: &bool) -> bool {
    !*value
}

/// One thing that happened, as a person or a device recorded it.
///
/// `#[serde(remote = "Self")]` makes serde derive the plain functions only; the trait implementations below move the
/// variant's name into `kind`, and keep the path of a bad field, which serde's own internal tagging would lose.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(remote = "Self", rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(tag = "kind", rename_all = "snake_case", optional_fields))]
#[expect(missing_docs, reason = "the words are the trade's and stand for themselves")]
pub enum Event {
    /// A code begins on standby: no clock yet.
    CodeOpened {
        protocol: ProtocolRef,
        patient: Patient,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        location: Option<String>,
        training: bool,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        witnessed: Option<bool>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        monitored: Option<bool>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        prior_care: Option<PriorCare>,
    },
    PatientUpdated {
        #[serde(flatten)]
        patient: Patient,
    },
    PriorCareReported {
        #[serde(flatten)]
        prior_care: PriorCare,
    },
    CircumstanceSet {
        name: Circumstance,
        on: bool,
    },
    ProtocolChanged {
        protocol: ProtocolRef,
        reason: String,
    },
    /// Code time 0: the arrest was recognised. `recognised_ago_ms` says how long before the tap that was.
    ClockStarted {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        recognised_ago_ms: Option<i64>,
    },
    RoleAssigned {
        role: Role,
        device: Uuid,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        person: Option<String>,
    },
    RoleReleased {
        role: Role,
        device: Uuid,
    },
    /// The device that records this leaves the code and gives up every role that it holds.
    DeviceLeft {},
    /// Who keeps the finger on the pulse from now on, in place of the role that the protocol names.
    PulseDutyGiven {
        role: Role,
    },
    CompressionsStarted {
        #[serde(default = "manual")]
        by: CompressedBy,
    },
    CompressionsStopped {
        reason: PauseReason,
    },
    PauseReason {
        reason: PauseReason,
    },
    CompressorChanged {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        person: Option<String>,
    },
    PadsAttached {
        #[serde(default = "pads_unknown")]
        position: PadPosition,
    },
    PadsRemoved {},
    PulseFingerPlaced {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<PulseSite>,
    },
    RhythmChecked {
        rhythm: Rhythm,
        #[serde(default = "pulse_not_checked")]
        pulse: Pulse,
    },
    ChargingStarted {
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        energy_j: Option<f64>,
    },
    ChargeReady {
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        energy_j: Option<f64>,
    },
    ChargeDumped {
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        energy_j: Option<f64>,
    },
    AllClearCalled {},
    ShockDelivered {
        #[serde(serialize_with = "number::serialize")]
        energy_j: f64,
        /// Shocks of one quick stack share it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        stack_id: Option<String>,
        /// Two defibrillators in quick sequence.
        #[serde(default, skip_serializing_if = "is_false")]
        double: bool,
    },
    ShockAborted {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason: Option<String>,
    },
    DrugPrepared {
        drug: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        dose: Option<Dose>,
    },
    DrugGiven {
        drug: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        dose: Option<Dose>,
        route: Route,
        #[serde(default = "bolus")]
        form: DrugForm,
    },
    AccessGained {
        route: AccessRoute,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<String>,
    },
    AccessFailed {
        route: AccessRoute,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<String>,
    },
    AccessLost {
        route: AccessRoute,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<String>,
    },
    AirwayPlaced {
        airway: AirwayKind,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        confirmed_by_capnography: Option<bool>,
    },
    AirwayAttempted {
        airway: AirwayKind,
    },
    AirwayRemoved {
        airway: AirwayKind,
    },
    BreathsGiven {
        count: u32,
    },
    Etco2Read {
        #[serde(serialize_with = "number::serialize")]
        mmhg: f64,
    },
    VitalRead {
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        spo2_pct: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        systolic_mmhg: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        diastolic_mmhg: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        temp_c: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        temp_site: Option<TemperatureSite>,
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        glucose_mmol_l: Option<f64>,
    },
    LabRead {
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        potassium_mmol_l: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        lactate_mmol_l: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        ph: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "number::optional::serialize")]
        paco2_mmhg: Option<f64>,
    },
    CauseConsidered {
        cause: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    CauseTreated {
        cause: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// A prompt with no event of its own was done; `prompt` is its key.
    TaskDone {
        prompt: String,
    },
    TeamCalled {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    TeamArrived {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    UltrasoundDone {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    Delivery {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    EcmoStarted {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    Thoracotomy {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    DeathDeclared {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    Moved {
        location: String,
    },
    Rosc {},
    ArrestAgain {},
    Note {
        text: String,
    },
    CodeClosed {
        outcome: Outcome,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cpr_ongoing: Option<bool>,
    },
    /// Replaces the time or the content of a fact. Never of an amendment or a void.
    Amended {
        target: Uuid,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        at_ms: Option<i64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        event: Option<Box<Event>>,
        reason: String,
    },
    /// Takes a fact, an amendment or a void out of what counts.
    Voided {
        target: Uuid,
        reason: String,
    },
    /// The clock was wrong. By the server: code time went from one moment to another. By a reviewer (source `review`): the
    /// wall-clock times of the whole record are `to_ms - from_ms` later than they say; code time stays.
    ClockCorrected {
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        from_ms: i64,
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        to_ms: i64,
        basis: String,
    },
    /// A reviewer did something with the record as a whole. No fact of the code: neither plan nor figures look at it.
    Reviewed {
        deed: ReviewDeed,
    },
}

impl Event {
    /// Whether this is a correction of another record rather than a fact of its own.
    pub const fn is_correction(&self) -> bool {
        matches!(self, Self::Amended { .. } | Self::Voided { .. })
    }

    /// The protocol that this event, or the fact that it puts in place of another, names.
    pub fn protocol_mut(&mut self) -> Option<&mut ProtocolRef> {
        match self {
            Self::CodeOpened { protocol, .. } | Self::ProtocolChanged { protocol, .. } => Some(protocol),
            Self::Amended { event: Some(inner), .. } => inner.protocol_mut(),
            _ => None,
        }
    }

    /// The protocol as [`Self::protocol_mut`] has it.
    pub fn protocol(&self) -> Option<&ProtocolRef> {
        match self {
            Self::CodeOpened { protocol, .. } | Self::ProtocolChanged { protocol, .. } => Some(protocol),
            Self::Amended { event: Some(inner), .. } => inner.protocol(),
            _ => None,
        }
    }

    /// Whether it says the same as `other`, which may leave out the hash of a protocol's text.
    pub fn says_the_same_as(&self, other: &Self) -> bool {
        if other.protocol().is_none_or(|protocol| protocol.sha256.is_some()) {
            return self == other;
        }
        let mut bare = self.clone();
        if let Some(protocol) = bare.protocol_mut() {
            protocol.sha256 = None;
        }
        bare == *other
    }

    /// The word in `kind`.
    pub fn kind(&self) -> String {
        match serde_json::to_value(self) {
            Ok(Value::Object(fields)) => fields.get("kind").and_then(Value::as_str).unwrap_or_default().to_owned(),
            _ => String::new(),
        }
    }

    /// Reads an event from JSON.
    ///
    /// # Errors
    /// Names the field (below `event`) that is missing, unknown or of the wrong type.
    pub fn from_value(value: Value) -> Result<Self, FieldError> {
        let Value::Object(mut fields) = value else {
            return Err(FieldError::new("event", "must be an object with a `kind`"));
        };
        let Some(kind) = fields.remove("kind") else {
            return Err(FieldError::new("event.kind", "is missing"));
        };
        let Value::String(kind) = kind else {
            return Err(FieldError::new("event.kind", "must be a word"));
        };
        hoist(&kind, &mut fields);
        let mut tagged = serde_json::Map::new();
        tagged.insert(kind.clone(), Value::Object(fields));
        let mut track = serde_path_to_error::Track::new();
        let read = Self::deserialize(serde_path_to_error::Deserializer::new(Value::Object(tagged), &mut track));
        read.map_err(|error| {
            let problem = error.to_string();
            if problem.starts_with("unknown variant") && problem.contains(&format!("`{kind}`")) {
                return FieldError::new("event.kind", format!("`{kind}` is no known event"));
            }
            let path = track.path().to_string();
            let below = path.strip_prefix(&kind).unwrap_or(&path).trim_start_matches('.');
            let field = if below.is_empty() || below == "?" { "event".to_owned() } else { format!("event.{below}") };
            FieldError::new(field, problem)
        })
    }

    /// Whether `error` says that the kind itself is unknown.
    pub fn is_unknown_kind(error: &FieldError) -> bool {
        error.field == "event.kind" && error.problem.ends_with("is no known event")
    }
}

/// A partial report may name its fields beside `kind`, or within the object that code_opened has them in.
fn hoist(kind: &str, fields: &mut serde_json::Map<String, Value>) {
    let within = match kind {
        "patient_updated" => "patient",
        "prior_care_reported" => "prior_care",
        _ => return,
    };
    if let Some(Value::Object(inner)) = fields.remove(within) {
        fields.extend(inner);
    }
}

impl<'de> Deserialize<'de> for Event {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let value = Value::deserialize(deserializer)?;
        Self::from_value(value).map_err(serde::de::Error::custom)
    }
}

impl Serialize for Event {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::Error;
        let tagged = Self::serialize(self, serde_json::value::Serializer).map_err(S::Error::custom)?;
        let Value::Object(tagged) = tagged else {
            return Err(S::Error::custom("an event is an object"));
        };
        let Some((kind, Value::Object(mut fields))) = tagged.into_iter().next() else {
            return Err(S::Error::custom("an event has fields"));
        };
        fields.insert("kind".to_owned(), Value::String(kind));
        fields.serialize(serializer)
    }
}

//! What a special circumstance changes, as a protocol file says it: typed effects, each with its source. A circumstance
//! that no file describes changes nothing, and the plan says so. This module must not know one circumstance from another.

use serde::Deserialize;

use crate::event::{Circumstance, Role};

use super::{Protocol, Seconds, Sourced, VolumeRule};

/// A special circumstance and what it changes.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CircumstanceRules {
    /// The word on the record (`circumstance_set.name`).
    pub id: Circumstance,
    /// What the screen shows.
    pub title: String,
    /// What it asks of the team.
    #[serde(default)]
    pub tasks: Vec<CareTask>,
    /// What it says beside the tasks.
    #[serde(default)]
    pub notes: Vec<CareNote>,
    /// How drugs and shocks depend on the core temperature.
    #[serde(default)]
    pub temperature_bands: Vec<TemperatureBand>,
    /// Whether the first dose of epinephrine waits for no look and no shock.
    #[serde(default)]
    pub epinephrine_at_once: Option<Sourced<bool>>,
    /// Drugs that are not offered while it is set, and whose doses count for nothing then.
    #[serde(default)]
    pub avoid_drugs: Option<Sourced<Vec<String>>>,
    /// Whether its tasks come before epinephrine.
    #[serde(default)]
    pub causes_first: Option<Sourced<bool>>,
    /// Breaths at the beginning.
    #[serde(default)]
    pub initial_breaths: Option<FirstBreaths>,
    /// Where access is to be gained.
    #[serde(default)]
    pub access_note: Option<Sourced<String>>,
    /// The energies of the first, second, … shock in joules, the last one staying, in place of `shock.energy`.
    #[serde(default)]
    pub fixed_j: Option<Sourced<Vec<f64>>>,
    /// The leader is to review how far treatment goes: in which words.
    #[serde(default)]
    pub review_limits: Option<Sourced<String>>,
    /// A treatment after which resuscitation goes on for longer.
    #[serde(default)]
    pub go_on: Option<GoOn>,
    /// Readings that suggest the circumstance where nobody has set it.
    #[serde(default)]
    pub suggested_by: Vec<ReadingRule>,
    /// Other circumstances with which it cannot be fully followed.
    #[serde(default)]
    pub conflicts: Vec<ConflictPair>,
}

/// From which moment the times of a task count.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CountsFrom {
    /// From the setting of the circumstance, or the arrest's beginning if that is later.
    #[default]
    Set,
    /// From the arrest's beginning, however late the circumstance was set.
    Recognition,
}

/// What must have begun before a task is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Begun {
    /// Compressions, in this arrest.
    Compressions,
    /// Breaths or an airway; taken as begun at the first check, where nobody recorded them.
    Breaths,
}

/// Something recorded that does a task.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Deed {
    /// The child was delivered.
    Delivery,
    /// The chest was opened.
    Thoracotomy,
    /// Breaths were given.
    BreathsGiven,
    /// An advanced airway is in.
    AdvancedAirway,
    /// A core temperature was read.
    CoreTemperature,
    /// This reversible cause was treated.
    CauseTreated(String),
}

impl Deed {
    /// Whether doing it once ends a task for good, also one that is asked again and again.
    pub const fn is_lasting(&self) -> bool {
        match self {
            Self::Delivery | Self::Thoracotomy | Self::AdvancedAirway | Self::CauseTreated(_) => true,
            Self::BreathsGiven | Self::CoreTemperature => false,
        }
    }

    /// The kinds of event that record it.
    pub const fn kinds(&self) -> &'static [&'static str] {
        match self {
            Self::Delivery => &["delivery"],
            Self::Thoracotomy => &["thoracotomy"],
            Self::BreathsGiven => &["breaths_given"],
            Self::AdvancedAirway => &["airway_placed"],
            Self::CoreTemperature => &["vital_read", "patient_updated"],
            Self::CauseTreated(_) => &["cause_treated"],
        }
    }
}

/// A reading that a rule looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reading {
    /// Core temperature in degrees Celsius.
    CoreTempC,
    /// Potassium in millimoles per litre.
    PotassiumMmolL,
    /// Glucose in millimoles per litre.
    GlucoseMmolL,
}

impl Reading {
    /// The reading in words, and its unit.
    pub const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::CoreTempC => ("core temperature", "°C"),
            Self::PotassiumMmolL => ("potassium", "mmol/L"),
            Self::GlucoseMmolL => ("glucose", "mmol/L"),
        }
    }
}

/// A range of a reading.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingRule {
    /// Which reading, in the unit of its name.
    pub reading: Reading,
    /// It holds at this value or above.
    #[serde(default)]
    pub at_least: Option<Sourced<f64>>,
    /// It holds below this value.
    #[serde(default)]
    pub below: Option<Sourced<f64>>,
}

impl ReadingRule {
    /// Whether a value lies within it.
    pub fn holds(&self, value: f64) -> bool {
        self.at_least.as_ref().is_none_or(|low| value >= low.value)
            && self.below.as_ref().is_none_or(|high| value < high.value)
    }
}

/// How much of something is given.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum CareAmount {
    /// Millilitres, the same for everybody.
    VolumeMl(Sourced<f64>),
    /// Millilitres by weight, up to a maximum.
    PerKg(VolumeRule),
    /// In words, where no volume follows from the guideline.
    Words(Sourced<String>),
}

/// One task of a circumstance.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CareTask {
    /// Distinguishes it within its circumstance.
    pub id: String,
    /// What the screen shows.
    pub title: String,
    /// Who is asked.
    pub role: Role,
    /// From which moment its times count.
    #[serde(default)]
    pub from: CountsFrom,
    /// Asked from this long after that moment; absent: at once.
    #[serde(default)]
    pub ask_after_s: Option<Seconds>,
    /// Due this long after that moment.
    pub due_after_s: Seconds,
    /// Late this long after it was due; absent where lateness has no meaning.
    #[serde(default)]
    pub late_after_s: Option<Seconds>,
    /// Asked again this long after it was last done; absent: done once is done.
    #[serde(default)]
    pub repeat_s: Option<Seconds>,
    /// The aim in words.
    pub target: Sourced<String>,
    /// What does it, beside a tick.
    #[serde(default)]
    pub done_by: Vec<Deed>,
    /// Which of these its one tap records; absent: a tick.
    #[serde(default)]
    pub tap: Option<Deed>,
    /// Drugs of which any one, given by any route, does it. A task with drugs asks for a drug: a circumstance that
    /// withholds drugs withholds it.
    #[serde(default)]
    pub drugs: Vec<String>,
    /// How much.
    #[serde(default)]
    pub amount: Option<CareAmount>,
    /// Not asked where the gestation is known to be shorter.
    #[serde(default)]
    pub from_gestation_weeks: Option<Sourced<f64>>,
    /// Not asked before these have begun.
    #[serde(default)]
    pub needs: Vec<Begun>,
    /// Asked only while the latest reading lies in this range.
    #[serde(default)]
    pub when: Option<ReadingRule>,
    /// Asked after return of circulation too: it treats the cause, not the arrest.
    #[serde(default)]
    pub after_rosc: bool,
}

impl CareTask {
    /// The drug that the task asks for by name: its only one, or the first where the amount is of that one. The others
    /// answer it too.
    pub fn asked_drug(&self) -> Option<&str> {
        match (self.drugs.as_slice(), &self.amount) {
            ([drug], _) | ([drug, ..], Some(CareAmount::VolumeMl(_) | CareAmount::PerKg(_))) => Some(drug),
            _ => None,
        }
    }
}

/// A sentence of a circumstance.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CareNote {
    /// Distinguishes it within its circumstance.
    pub id: String,
    /// The sentence.
    pub text: Sourced<String>,
    /// Said only once this was done; absent: as long as the circumstance is set.
    #[serde(default)]
    pub after: Option<Deed>,
    /// Said after return of circulation too.
    #[serde(default)]
    pub after_rosc: bool,
}

/// How drugs are timed in a range of temperature, the gravest last.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DrugPlan {
    /// As the protocol says.
    #[default]
    Standard,
    /// Intervals twice as long.
    DoubledInterval,
    /// None is asked for.
    Withheld,
}

impl DrugPlan {
    /// What an interval between doses is multiplied by.
    pub const fn interval_factor(self) -> i64 {
        match self {
            Self::Standard | Self::Withheld => 1,
            Self::DoubledInterval => 2,
        }
    }
}

/// Drugs and shocks in a range of core temperature.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TemperatureBand {
    /// Distinguishes it within its circumstance.
    pub id: String,
    /// From this temperature; absent: from any.
    #[serde(default)]
    pub from_c: Option<Sourced<f64>>,
    /// Below this temperature; absent: without end.
    #[serde(default)]
    pub below_c: Option<Sourced<f64>>,
    /// Drugs.
    pub drugs: Sourced<DrugPlan>,
    /// The most shocks, all of the code counted; absent: as usual.
    #[serde(default)]
    pub max_shocks: Option<Sourced<u32>>,
}

impl TemperatureBand {
    /// Whether a core temperature lies in it.
    pub fn holds(&self, core_temp_c: f64) -> bool {
        self.from_c.as_ref().is_none_or(|low| core_temp_c >= low.value)
            && self.below_c.as_ref().is_none_or(|high| core_temp_c < high.value)
    }

    /// Whether it changes anything.
    pub fn is_standard(&self) -> bool {
        self.drugs.value == DrugPlan::Standard && self.max_shocks.is_none()
    }

    /// The range in words.
    pub fn words(&self) -> String {
        match (&self.from_c, &self.below_c) {
            (None, None) => "at any core temperature".to_owned(),
            (None, Some(high)) => format!("below {} °C", high.value),
            (Some(low), None) => format!("from {} °C", low.value),
            (Some(low), Some(high)) => format!("from {} to below {} °C", low.value, high.value),
        }
    }
}

/// Breaths at the beginning of an arrest.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FirstBreaths {
    /// How many; absent where the guideline gives no number.
    #[serde(default)]
    pub count: Option<Sourced<u32>>,
    /// What they are for, in words.
    pub target: Sourced<String>,
}

/// A treatment that needs time to work.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GoOn {
    /// Drugs of which any begins it.
    pub drugs: Vec<String>,
    /// A cause treated that begins it where no drug was recorded.
    pub cause: String,
    /// What the screen shows.
    pub title: String,
    /// At least this long.
    pub from_s: Seconds,
    /// At most this long.
    pub to_s: Seconds,
}

/// Two circumstances that cannot both be fully followed.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConflictPair {
    /// The other one.
    pub with: Circumstance,
    /// What the leader is told.
    pub words: Sourced<String>,
}

impl Protocol {
    /// What a circumstance changes, if this protocol says anything of it.
    pub fn circumstance(&self, id: &Circumstance) -> Option<&CircumstanceRules> {
        self.circumstances.iter().find(|rules| rules.id == *id)
    }
}

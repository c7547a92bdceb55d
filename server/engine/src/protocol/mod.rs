//! A clinical protocol: every number the plan uses, each with the source it was taken from.
//!
//! A protocol is a TOML file. The difference between two protocols lies in their files alone: no code anywhere asks
//! for a protocol's name.

mod advice;
mod care;
mod circumstance;
mod circumstance_orders;
mod compose;
mod demanded;
mod limits;
mod maxima;
mod names;
mod orders;
mod page;
mod place;
mod quantity;
mod read;
mod value;
mod words;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::event::{AgeGroup, Role};

pub(crate) use care::MMHG_PER_KPA;
pub use care::{Ending, LowByAge, Range, Refractory, Stack, name_and_unit};
pub use circumstance::{
    Begun, CareAmount, CareNote, CareTask, CircumstanceRules, ConflictPair, CountsFrom, Deed, DrugPlan, FirstBreaths,
    GoOn, Reading, ReadingRule, TemperatureBand,
};
pub use limits::{Ages, LIMITS, Limit};
pub use names::{DRUGS, other_ages_fault};
pub use page::{Extent, JOINED, LeftOut, Page, Section, Source, page};
pub use read::{Rejected, check, read, reread};
pub use value::{Row, rows};

/// The shipped protocols: id and text.
pub const fn shipped() -> &'static [(&'static str, &'static str)] {
    &[
        ("aha-adult", include_str!("../../../protocols/aha-adult.toml")),
        ("erc-adult", include_str!("../../../protocols/erc-adult.toml")),
        ("aha-child", include_str!("../../../protocols/aha-child.toml")),
        ("erc-child", include_str!("../../../protocols/erc-child.toml")),
    ]
}

/// How a value was obtained.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Read in the source named, or in a digest of it.
    Read,
    /// From memory: to be checked against the source before the department approves.
    Memory,
    /// Common practice; no published source.
    Practice,
}

/// A value with its source.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sourced<T> {
    /// The value, in the unit its field's name ends with.
    pub value: T,
    /// Where it is published, or `common practice, no source`.
    pub source: String,
    /// How it was obtained.
    pub basis: Basis,
    /// Why the department departs from the published range; absent if it does not.
    #[serde(default)]
    pub unusual: Option<String>,
}

/// Seconds in the file, milliseconds in the engine.
pub type Seconds = Sourced<f64>;

impl Seconds {
    /// The value in whole milliseconds.
    #[expect(clippy::cast_possible_truncation, reason = "checked on reading: between 0 and a day")]
    pub fn ms(&self) -> i64 {
        (self.value * 1_000.0).round() as i64
    }
}

/// Times of the two-minute cycle and of what is said ahead of it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cycle {
    /// From the restart of compressions to the next check.
    pub length_s: Seconds,
    /// From pads on to the first check.
    pub first_check_after_pads_s: Seconds,
    /// Longest pause.
    pub pause_limit_s: Seconds,
    /// How long hands stay clear when nobody records what became of the shock.
    pub clear_limit_s: Seconds,
    /// A check is late this long after it was due.
    pub check_late_s: Seconds,
    /// The leader announces the check, and the relief goes to the chest, this long ahead.
    pub announce_check_ahead_s: Seconds,
    /// The relief stands ready this long ahead.
    pub relief_ready_ahead_s: Seconds,
    /// The finger is asked for this long ahead.
    pub finger_ask_ahead_s: Seconds,
    /// The finger is on the pulse this long ahead.
    pub finger_on_ahead_s: Seconds,
    /// The rhythm is to be read this long after the stop.
    pub read_rhythm_s: Seconds,
    /// Compressions are late to resume this long after they were due.
    pub resume_late_s: Seconds,
    /// A stop with reason rosc asks for confirmation after this.
    pub confirm_rosc_after_s: Seconds,
    /// With no restart recorded, the cycle is assumed to begin this long after a shock.
    pub assume_restart_after_shock_s: Seconds,
    /// With no shock recorded, the cycle is assumed to begin this long after a shockable look.
    pub assume_restart_after_look_s: Seconds,
    /// Beats of compression per minute.
    pub compressions_per_minute: Sourced<f64>,
    /// Pause for two breaths without an advanced airway, for the estimate in the figures.
    pub breath_gap_s: Seconds,
}

/// How energy is chosen.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum EnergyRule {
    /// Fixed energies for the first, second, … shock; the last one stays.
    FixedJ(Sourced<Vec<f64>>),
    /// Joules per kilogram for the first, second, … shock; the last one stays, up to a ceiling.
    PerKg {
        /// Joules per kilogram, shock by shock.
        j_per_kg: Sourced<Vec<f64>>,
        /// Never more than this for each kilogram.
        max_j_per_kg: Sourced<f64>,
        /// Never more than this.
        max_j: Sourced<f64>,
        /// Where the next setting up would pass the maximum, a lower one stands for the energy down to this part of it; below,
        /// a person decides. A text without it lets no lower one stand.
        #[serde(default)]
        least_setting_part: Option<Sourced<f64>>,
    },
}

/// Shocks.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shock {
    /// Whether the team charges ahead of each check.
    pub precharge: Sourced<bool>,
    /// Charging ahead is asked for this long before the check.
    pub charge_ask_ahead_s: Seconds,
    /// Charging ahead is due this long before the check.
    pub charge_ahead_s: Seconds,
    /// From the start of charging until the device is ready, if nobody says so earlier.
    pub charge_s: Seconds,
    /// A charge held longer than this is to be dumped.
    pub charge_hold_s: Seconds,
    /// Which energy.
    pub energy: EnergyRule,
    /// The settings of the department's defibrillator, rising: an energy by weight is rounded up to the next of them.
    /// Without the list it is rounded up to a whole joule, and the screen says to set the next one up.
    #[serde(default)]
    pub settings_j: Option<Sourced<Vec<f64>>>,
    /// Which energy the guideline gives for the first biphasic shock; absent where it goes by weight.
    #[serde(default)]
    pub first_j: Option<Range>,
    /// Of a fixed energy: a charge of at most this part of it is doubted. In a text without it none is.
    #[serde(default)]
    pub check_to_part: Option<Sourced<f64>>,
    /// Of an energy by weight: a charge of at least this many times it is doubted. In a text without it none is, up to the
    /// maximum.
    #[serde(default)]
    pub check_from_times: Option<Sourced<f64>>,
    /// What the guideline says of the energy beyond its numbers, in words for the screen. Once read, the numbers stand before
    /// them: a file does not say a number twice.
    pub energy_rule: Sourced<String>,
    /// What it says of a rhythm that shocks do not end; absent if nothing.
    #[serde(default)]
    pub refractory: Option<Refractory>,
    /// Quick stacked shocks, where it allows them.
    #[serde(default)]
    pub stack: Option<Stack>,
}

/// How a dose follows from the patient.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum DoseRule {
    /// The same for everybody.
    FixedMg(Sourced<f64>),
    /// By weight, up to a maximum.
    PerKg {
        /// Milligrams per kilogram.
        mg_per_kg: Sourced<f64>,
        /// Never more than this.
        max_mg: Sourced<f64>,
    },
}

/// A volume that follows from the weight, of what has no milligrams worth naming, such as an emulsion or a fluid.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VolumeRule {
    /// Millilitres per kilogram.
    pub ml_per_kg: Sourced<f64>,
    /// Never more than this.
    pub max_ml: Sourced<f64>,
}

/// How a drug comes and goes in.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Preparation {
    /// Milligrams in a millilitre of what is drawn up.
    pub strength_mg_per_ml: Sourced<f64>,
    /// Flush afterwards.
    pub flush_ml: Sourced<f64>,
    /// How it is given, in words.
    pub route: Sourced<String>,
}

/// Epinephrine: one dose again and again.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Epinephrine {
    /// Each dose.
    pub dose: DoseRule,
    /// A bolus of at most this part of a fixed dose is a push and no dose of the arrest. Only where the dose is fixed: by
    /// weight, and in a text without it, every bolus is a dose.
    #[serde(default)]
    pub push_part: Option<Sourced<f64>>,
    /// A bolus of more than this many times the dose is to be checked. In a text without it none is.
    #[serde(default)]
    pub check_above_times: Option<Sourced<f64>>,
    /// Strength, flush, route.
    pub preparation: Preparation,
    /// In a shockable rhythm the first dose comes after this many shocks.
    pub after_shocks: Sourced<u32>,
    /// From dose to dose.
    pub interval_s: Seconds,
    /// Earlier than this is too early.
    pub min_interval_s: Seconds,
    /// Later than this is outside the window.
    pub max_interval_s: Seconds,
    /// Whether the time is moved to the check that lies inside the window.
    pub align_to_checks: Sourced<bool>,
}

/// One of the drugs that may be used against a refractory shockable rhythm.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AntiarrhythmicDrug {
    /// Such as `amiodarone`.
    pub id: String,
    /// First dose, second dose, ...: as many as there are, at most one for each of `after_shocks`.
    pub doses: Vec<DoseRule>,
    /// Strength, flush, route.
    pub preparation: Preparation,
}

/// Antiarrhythmics: either drug, never both in a row.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Antiarrhythmic {
    /// Dose number k comes after this many shocks.
    pub after_shocks: Sourced<Vec<u32>>,
    /// In order of preference.
    pub drugs: Vec<AntiarrhythmicDrug>,
}

/// What holds for every drug: times, and when a syringe is ready.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DrugRules {
    /// Drawing up and announcing begin this long ahead.
    pub draw_up_ahead_s: Seconds,
    /// It is drawn up this long ahead, and giving it shows from then.
    pub give_ask_ahead_s: Seconds,
    /// Late this long after it was due.
    pub late_s: Seconds,
    /// Access is due this long after the arrest began.
    pub access_due_s: Seconds,
    /// A syringe that holds up to this part more or less than the dose is that dose. In a text without it only the dose
    /// itself is.
    #[serde(default)]
    pub syringe_tolerance_part: Option<Sourced<f64>>,
}

/// Airway, breaths and capnography.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Airway {
    /// Compressions before the breaths, without an advanced airway.
    pub ratio_compressions: Sourced<u32>,
    /// Breaths after them.
    pub ratio_breaths: Sourced<u32>,
    /// Seconds from breath to breath with an advanced airway, where `by_age` says nothing else.
    pub one_breath_each_s: Seconds,
    /// The fastest rate that the guideline gives, where it gives a range and `one_breath_each_s` is its slower end.
    #[serde(default)]
    pub fastest_breath_each_s: Option<Seconds>,
    /// What the guideline says of the rate, in words for the screen. Once read, the range stands before it.
    #[serde(default)]
    pub breath_rule: Option<Sourced<String>>,
    /// Breaths with an advanced airway by age, from the youngest up.
    #[serde(default)]
    pub by_age: Vec<BreathsByAge>,
    /// Breaths before the first compression of a code; absent where the guideline asks for none.
    #[serde(default)]
    pub initial_breaths: Option<Sourced<u32>>,
    /// Capnography is read this long ahead of the check.
    pub etco2_ahead_s: Seconds,
    /// A rise of at least this much ...
    pub rosc_rise_mmhg: Sourced<f64>,
    /// ... to at least this suggests circulation.
    pub rosc_level_mmhg: Sourced<f64>,
}

/// Breaths with an advanced airway from an age on.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BreathsByAge {
    /// Completed months from which it holds, until the next entry.
    pub from_months: Sourced<u32>,
    /// Seconds from breath to breath.
    pub one_breath_each_s: Seconds,
}

/// A published formula from age to weight: `kg_per_step` x completed steps + `plus_kg`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WeightFormula {
    /// From this age on, in completed months.
    pub from_months: Sourced<u32>,
    /// Up to and with this age, in completed months.
    pub through_months: Sourced<u32>,
    /// Length of a step: 1 month or 12.
    pub step_months: Sourced<u32>,
    /// Kilograms for each completed step.
    pub kg_per_step: Sourced<f64>,
    /// Kilograms at no step at all.
    pub plus_kg: Sourced<f64>,
}

/// Weight where nobody has measured it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Weight {
    /// Under which name the formulas are published.
    pub name: Sourced<String>,
    /// From the youngest up, without a gap.
    pub formulas: Vec<WeightFormula>,
    /// A weight below this part of the estimate is doubted.
    pub plausible_low: Sourced<f64>,
    /// A weight above this multiple of the estimate is doubted.
    pub plausible_high: Sourced<f64>,
}

/// A reversible cause.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cause {
    /// The word on the record.
    pub id: String,
    /// What the screen shows.
    pub title: String,
    /// Words on the record by which other protocols name it: what was recorded under one of them counts as this cause after
    /// a change of protocol.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<String>,
}

/// Reversible causes.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Causes {
    /// Asked from this long after the cycle began.
    pub ask_after_s: Seconds,
    /// Due this long after the cycle began.
    pub due_after_s: Seconds,
    /// Never asked closer than this to the next check.
    pub clear_of_check_s: Seconds,
    /// Asked once in this many cycles. In a text without it in each.
    #[serde(default)]
    pub every_cycles: Option<Sourced<u32>>,
    /// The guideline's list.
    pub list: Sourced<Vec<Cause>>,
}

/// One target of care after return of circulation.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AftercareItem {
    /// The word on the record.
    pub id: String,
    /// What the screen shows.
    pub title: String,
    /// Who is asked.
    pub role: Role,
    /// What is aimed at beyond the numbers of `ranges`, in words; a file does not say a number twice.
    #[serde(default)]
    pub target: Option<Sourced<String>>,
    /// Asked for within this long after return of circulation.
    pub due_s: Seconds,
    /// Field of a vital or lab reading that meets it; absent if a tap does.
    #[serde(default)]
    pub reading: Option<String>,
    /// The target in numbers, by field of a reading, or `mean_mmhg` for the mean of a pressure.
    #[serde(default)]
    pub ranges: BTreeMap<String, Range>,
    /// Asked for again this long after the last reading; absent if once is enough.
    #[serde(default)]
    pub repeat_s: Option<Seconds>,
}

/// A change in a newer edition, and how sure we are of it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KnownChange {
    /// Which edition.
    pub edition: String,
    /// What changes.
    pub what: String,
    /// Whether this file carries it, and how it was confirmed.
    pub state: String,
}

/// Ages that overrule the group that was told. A file and the one that it names for the other ages have the same.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AgeBounds {
    /// Completed months before which nobody is treated as an adult.
    pub no_adult_before_months: Sourced<u32>,
    /// Completed months from which nobody is treated as a child.
    pub no_child_from_months: Sourced<u32>,
}

/// A protocol, read and checked.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Protocol {
    /// Such as `aha-adult`.
    pub id: String,
    /// What the screen shows.
    pub title: String,
    /// Which guideline, and which edition of it.
    pub edition: String,
    /// The department's version of the file.
    pub version: u32,
    /// For whom.
    pub age_group: AgeGroup,
    /// Id of the protocol for the other age group: what a code changes to when the patient does not fit this one.
    #[serde(default)]
    pub other_ages: Option<String>,
    /// Who approved it here; absent until then.
    #[serde(default)]
    pub approved_by: Option<String>,
    /// When, as a date.
    #[serde(default)]
    pub approved_on: Option<String>,
    /// Which role has the pulse duty.
    pub pulse_duty: Sourced<Role>,
    /// Ages that overrule the group that was told. In a text without them the group holds that was told.
    #[serde(default)]
    pub ages: Option<AgeBounds>,
    /// The cycle.
    pub cycle: Cycle,
    /// Shocks.
    pub shock: Shock,
    /// What holds for every drug.
    pub drugs: DrugRules,
    /// Epinephrine.
    pub epinephrine: Epinephrine,
    /// Antiarrhythmics.
    pub antiarrhythmic: Antiarrhythmic,
    /// Airway and breaths.
    pub airway: Airway,
    /// Weight by age, and when a weight is doubted; absent where nothing depends on weight.
    #[serde(default)]
    pub weight: Option<Weight>,
    /// Reversible causes.
    pub causes: Causes,
    /// After return of circulation.
    pub aftercare: Vec<AftercareItem>,
    /// What the guideline says to consider when an arrest lasts: information, never advice.
    #[serde(default)]
    pub ending: Vec<Ending>,
    /// Special circumstances.
    #[serde(default)]
    pub circumstances: Vec<CircumstanceRules>,
    /// What newer editions change.
    #[serde(default)]
    pub known_changes: Vec<KnownChange>,
}

impl Protocol {
    /// Whether the department has approved this file.
    pub const fn is_approved(&self) -> bool {
        self.approved_by.is_some() && self.approved_on.is_some()
    }

    /// The words by which other protocols name a cause of this one.
    pub fn other_words_for(&self, cause: &str) -> &[String] {
        let known = self.causes.list.value.iter().find(|known| known.id == cause);
        known.map_or(&[], |known| &known.also)
    }

    /// Whether it is made for a patient of this group. What is made for children is for infants too.
    pub const fn is_for(&self, patient: AgeGroup) -> bool {
        self.age_group.is_young() == patient.is_young()
    }
}

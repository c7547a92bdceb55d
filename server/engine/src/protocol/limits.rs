//! The range that has been published for each value of a protocol, so that a slip of the pen (milliseconds for seconds,
//! a tenfold dose, a strength of 1 for 0.1) is refused before it reaches a bedside.
//!
//! A department may depart from a range by `unusual = "reason"` beside the value. Where nothing is published the range
//! is ours and says so: wide enough for any sensible policy, narrow enough to catch a wrong unit. The letters and numbers
//! in brackets are rows of docs/clinical-sources.md.

use crate::event::AgeGroup;

/// For whom a range holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ages {
    /// Everybody.
    All,
    /// Adults.
    Adult,
    /// Children and infants.
    Young,
}

impl Ages {
    const fn hold_for(self, group: AgeGroup) -> bool {
        match (self, group) {
            (Self::All, _) | (Self::Adult, AgeGroup::Adult) | (Self::Young, AgeGroup::Child | AgeGroup::Infant) => true,
            (Self::Adult, AgeGroup::Child | AgeGroup::Infant) | (Self::Young, AgeGroup::Adult) => false,
        }
    }
}

/// A range of values that needs no reason.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Dotted path of the field; `*` stands for one member of a list.
    pub field: &'static str,
    /// For whom.
    pub ages: Ages,
    /// From, included.
    pub low: f64,
    /// To, included.
    pub high: f64,
    /// Whether 0 needs no reason either: at once, or not at all.
    pub or_zero: bool,
    /// Unit of both.
    pub unit: &'static str,
    /// Where it is published.
    pub source: &'static str,
}

const OURS: &str = "no published range; ours";

const fn all(field: &'static str, low: f64, high: f64, unit: &'static str, source: &'static str) -> Limit {
    Limit { field, ages: Ages::All, low, high, or_zero: false, unit, source }
}

const fn adult(field: &'static str, low: f64, high: f64, unit: &'static str, source: &'static str) -> Limit {
    Limit { field, ages: Ages::Adult, low, high, or_zero: false, unit, source }
}

const fn young(field: &'static str, low: f64, high: f64, unit: &'static str, source: &'static str) -> Limit {
    Limit { field, ages: Ages::Young, low, high, or_zero: false, unit, source }
}

/// A time of ours in seconds: 0, or within a range.
const fn at_once_or(field: &'static str, low: f64, high: f64) -> Limit {
    Limit { field, ages: Ages::All, low, high, or_zero: true, unit: "s", source: OURS }
}

/// Every range. No shipped value is within its range when it is ten times larger or smaller: a test tries each.
pub const LIMITS: &[Limit] = &[
    all("ages.no_adult_before_months", 96.0, 192.0, "months", "puberty: AHA 2020 (P17); in months it is ours"),
    all("ages.no_child_from_months", 192.0, 216.0, "months", "18 years: ERC 2021 (P17); earlier is ours"),
    all("cycle.length_s", 90.0, 120.0, "s", "2 min, or about 5 cycles of 30:2: AHA 2020, RCUK 2021 (A1, A2)"),
    at_once_or("cycle.first_check_after_pads_s", 2.0, 30.0),
    all("cycle.pause_limit_s", 5.0, 10.0, "s", "AHA 2020, RCUK 2021 (A3, A4)"),
    all(
        "cycle.clear_limit_s",
        3.0,
        10.0,
        "s",
        "under 5 s: ERC 2015 (A5); as short as possible: AHA 2020; the rest ours",
    ),
    at_once_or("cycle.check_late_s", 3.0, 30.0),
    all("cycle.announce_check_ahead_s", 15.0, 30.0, "s", "Lauridsen 2020 (H2)"),
    at_once_or("cycle.relief_ready_ahead_s", 3.0, 30.0),
    all("cycle.finger_ask_ahead_s", 5.0, 30.0, "s", OURS),
    at_once_or("cycle.finger_on_ahead_s", 2.0, 30.0),
    all("cycle.read_rhythm_s", 2.0, 10.0, "s", "AHA 2020, RCUK 2021 (A3, A4)"),
    at_once_or("cycle.resume_late_s", 2.0, 10.0),
    at_once_or("cycle.confirm_rosc_after_s", 2.0, 10.0),
    all("cycle.assume_restart_after_shock_s", 3.0, 30.0, "s", OURS),
    all("cycle.assume_restart_after_look_s", 10.0, 120.0, "s", OURS),
    all("cycle.compressions_per_minute", 100.0, 120.0, "a minute", "AHA 2020 (A6, P27)"),
    all("cycle.breath_gap_s", 2.0, 10.0, "s", "worked examples W34 to W36 use 3 to 5 s; the rest ours"),
    all("shock.charge_ask_ahead_s", 5.0, 45.0, "s", OURS),
    at_once_or("shock.charge_ahead_s", 3.0, 45.0),
    all("shock.charge_s", 1.0, 20.0, "s", OURS),
    all("shock.charge_hold_s", 10.0, 300.0, "s", OURS),
    adult("shock.energy.fixed_j", 120.0, 360.0, "J", "AHA 2020, ERC 2021, ANZCOR (A20 to A25)"),
    adult("shock.first_j.low", 120.0, 150.0, "J", "120 J: AHA 2025 (N3); 150 J, pulsed 120 J: ERC 2021 (A21, A22)"),
    adult("shock.first_j.high", 150.0, 360.0, "J", "200 J: AHA 2025, the maximum if unknown (N3); pulsed 150 J (A22)"),
    young("shock.energy.per_kg.j_per_kg", 2.0, 10.0, "J/kg", "AHA 2020, ERC 2021 (P1 to P4)"),
    young("shock.energy.per_kg.max_j_per_kg", 4.0, 10.0, "J/kg", "10 J/kg: AHA 2020; 8 J/kg: ERC 2021 (P4)"),
    all("shock.settings_j", 1.0, 360.0, "J", "what a defibrillator can be set to; ours"),
    young("shock.energy.per_kg.max_j", 120.0, 360.0, "J", "the adult dose, or 360 J (P4, A20 to A25)"),
    young("shock.energy.per_kg.least_setting_part", 0.3, 1.0, "of the energy", OURS),
    adult("shock.check_to_part", 0.3, 0.8, "of the energy", OURS),
    young("shock.check_from_times", 1.5, 3.0, "times the energy", OURS),
    all("drugs.draw_up_ahead_s", 15.0, 120.0, "s", OURS),
    at_once_or("drugs.give_ask_ahead_s", 5.0, 60.0),
    at_once_or("drugs.late_s", 15.0, 120.0),
    at_once_or("drugs.access_due_s", 30.0, 300.0),
    all("drugs.syringe_tolerance_part", 0.02, 0.2, "of the dose", OURS),
    all("epinephrine.after_shocks", 2.0, 3.0, "shocks", "AHA 2020 after 2, ERC 2021 after 3 (A44, P12)"),
    all("epinephrine.interval_s", 180.0, 300.0, "s", "3 to 5 min: AHA 2020, ERC 2021 (A41, P7)"),
    all("epinephrine.min_interval_s", 180.0, 300.0, "s", "3 to 5 min: AHA 2020, ERC 2021 (A41, P7)"),
    all("epinephrine.max_interval_s", 180.0, 300.0, "s", "3 to 5 min: AHA 2020, ERC 2021 (A41, P7)"),
    adult("epinephrine.dose.fixed_mg", 1.0, 1.0, "mg", "AHA 2020, ERC 2021 (A40, A45)"),
    young("epinephrine.dose.per_kg.mg_per_kg", 0.01, 0.01, "mg/kg", "AHA 2020, ERC 2021 (P5)"),
    young("epinephrine.dose.per_kg.max_mg", 1.0, 1.0, "mg", "AHA drug table (P6)"),
    adult("epinephrine.push_part", 0.02, 0.2, "of the dose", OURS),
    all("epinephrine.check_above_times", 1.2, 5.0, "times the dose", OURS),
    all("epinephrine.preparation.strength_mg_per_ml", 0.1, 0.1, "mg/mL", "AHA drug table (P5); 1:10,000 (W11, W12)"),
    adult("epinephrine.preparation.flush_ml", 20.0, 50.0, "mL", "at least 20 mL: AHA, ERC (A56); the ceiling ours"),
    young("epinephrine.preparation.flush_ml", 2.0, 20.0, "mL", OURS),
    adult("antiarrhythmic.after_shocks", 3.0, 5.0, "shocks", "after 3 and 5: AHA 2020, RCUK 2021 (A47, A48)"),
    young(
        "antiarrhythmic.after_shocks",
        3.0,
        7.0,
        "shocks",
        "after 3 and 5: ERC 2021; up to 3 doses: AHA 2020 (P15); 7 ours",
    ),
    adult("antiarrhythmic.drugs.amiodarone.doses.0.fixed_mg", 300.0, 300.0, "mg", "AHA 2020, ERC 2021 (A47)"),
    adult("antiarrhythmic.drugs.amiodarone.doses.1.fixed_mg", 150.0, 150.0, "mg", "AHA 2020, RCUK 2021 (A48)"),
    young("antiarrhythmic.drugs.amiodarone.doses.*.per_kg.mg_per_kg", 5.0, 5.0, "mg/kg", "AHA, ERC 2021 (P13)"),
    young("antiarrhythmic.drugs.amiodarone.doses.*.per_kg.max_mg", 150.0, 300.0, "mg", "AHA, ERC 2021 (P14)"),
    all("antiarrhythmic.drugs.amiodarone.preparation.strength_mg_per_ml", 50.0, 50.0, "mg/mL", "150 mg in 3 mL (W11)"),
    adult("antiarrhythmic.drugs.*.preparation.flush_ml", 20.0, 50.0, "mL", "at least 20 mL (A56); the ceiling ours"),
    young("antiarrhythmic.drugs.*.preparation.flush_ml", 2.0, 20.0, "mL", OURS),
    adult("antiarrhythmic.drugs.lidocaine.doses.*.fixed_mg", 50.0, 100.0, "mg", "note after ERC 2021 (A50, A51)"),
    all("antiarrhythmic.drugs.lidocaine.doses.*.per_kg.mg_per_kg", 0.5, 1.5, "mg/kg", "AHA 2020 (A50, A51, P16)"),
    all("antiarrhythmic.drugs.lidocaine.doses.*.per_kg.max_mg", 50.0, 150.0, "mg", "1.5 mg/kg at 100 kg (A50); ours"),
    all(
        "antiarrhythmic.drugs.lidocaine.preparation.strength_mg_per_ml",
        10.0,
        20.0,
        "mg/mL",
        "1 and 2 % solutions; ours",
    ),
    adult("airway.ratio_compressions", 30.0, 30.0, "compressions", "AHA 2020, ERC 2021 (A10)"),
    young("airway.ratio_compressions", 15.0, 30.0, "compressions", "AHA 2020, ERC 2021 (P17, P18)"),
    all("airway.ratio_breaths", 2.0, 2.0, "breaths", "AHA 2020, ERC 2021 (A10, P17)"),
    adult("airway.one_breath_each_s", 6.0, 6.0, "s", "AHA 2020, ERC 2021 (A11)"),
    young("airway.one_breath_each_s", 2.0, 6.0, "s", "AHA 2020, ERC 2021 (P19 to P24)"),
    young("airway.fastest_breath_each_s", 2.0, 3.0, "s", "one breath each 2 to 3 s: AHA 2020 (P19)"),
    young("airway.by_age.*.from_months", 0.0, 216.0, "months", "0 to 18 years: ERC 2021 (P17, P21 to P24)"),
    young(
        "airway.by_age.*.one_breath_each_s",
        2.0,
        6.0,
        "s",
        "25 to 10 a minute: ERC 2021 (P21 to P24); AHA 2020 (P19)",
    ),
    young("airway.initial_breaths", 5.0, 5.0, "breaths", "ERC 2021 (P36)"),
    young("weight.formulas.*.from_months", 0.0, 180.0, "months", "0 to 14 years: APLS (P40 to P42)"),
    young("weight.formulas.*.through_months", 0.0, 180.0, "months", "0 to 14 years: APLS (P40 to P42)"),
    young("weight.formulas.*.step_months", 1.0, 12.0, "months", "a month or a year: APLS (P40 to P42)"),
    young("weight.formulas.*.kg_per_step", 0.5, 3.0, "kg", "APLS (P40 to P42), older rules (P43, P44)"),
    young("weight.formulas.*.plus_kg", 4.0, 8.0, "kg", "APLS (P40 to P42), older rules (P43, P44)"),
    young("weight.plausible_low", 0.4, 0.8, "times the estimate", OURS),
    young("weight.plausible_high", 1.2, 1.8, "times the estimate", OURS),
    all("airway.etco2_ahead_s", 10.0, 110.0, "s", OURS),
    all("airway.rosc_rise_mmhg", 5.0, 20.0, "mmHg", OURS),
    all("airway.rosc_level_mmhg", 35.0, 45.0, "mmHg", "typically at least 40: AHA 2020 (A68); the rest ours"),
    at_once_or("causes.ask_after_s", 5.0, 110.0),
    at_once_or("causes.due_after_s", 15.0, 110.0),
    all("causes.clear_of_check_s", 10.0, 110.0, "s", OURS),
    all("causes.every_cycles", 1.0, 5.0, "cycles", OURS),
    all("aftercare.oxygen.due_s", 60.0, 300.0, "s", OURS),
    all("aftercare.blood_pressure.due_s", 60.0, 300.0, "s", OURS),
    all("aftercare.carbon_dioxide.due_s", 120.0, 900.0, "s", OURS),
    all("aftercare.ecg_12_lead.due_s", 120.0, 1_200.0, "s", OURS),
    all("aftercare.glucose.due_s", 300.0, 1_800.0, "s", OURS),
    all("aftercare.temperature.due_s", 300.0, 3_600.0, "s", OURS),
    all("aftercare.*.due_s", 30.0, 7_200.0, "s", OURS),
    all("aftercare.oxygen.repeat_s", 120.0, 900.0, "s", OURS),
    all("aftercare.blood_pressure.repeat_s", 120.0, 900.0, "s", OURS),
    all("aftercare.carbon_dioxide.repeat_s", 600.0, 7_200.0, "s", OURS),
    all("aftercare.temperature.repeat_s", 900.0, 7_200.0, "s", OURS),
    all("aftercare.*.repeat_s", 60.0, 14_400.0, "s", OURS),
    all("aftercare.*.ranges.spo2_pct.low", 92.0, 94.0, "%", "AHA 2020 from 92, UK practice from 94 (S80)"),
    adult("aftercare.*.ranges.spo2_pct.high", 98.0, 98.0, "%", "AHA 2020, UK practice (S80)"),
    young("aftercare.*.ranges.spo2_pct.high", 98.0, 99.0, "%", "98 as in adults (S80); 99: PALS, from memory"),
    young("aftercare.*.ranges.glucose_mmol_l.low", 3.0, 4.0, "mmol/L", "60 mg/dL, from memory; ours"),
    young("aftercare.*.ranges.glucose_mmol_l.high", 8.0, 14.0, "mmol/L", "180 mg/dL, from memory; ours"),
    young("aftercare.*.ranges.systolic_mmhg.low_by_age.0.from_months", 0.0, 0.0, "months", "from birth; ours"),
    young("aftercare.*.ranges.systolic_mmhg.low_by_age.1.from_months", 1.0, 1.0, "months", "PALS, from memory; ours"),
    young(
        "aftercare.*.ranges.systolic_mmhg.low_by_age.*.from_months",
        12.0,
        144.0,
        "months",
        "PALS, from memory; ours",
    ),
    young("aftercare.*.ranges.systolic_mmhg.low_by_age.*.low", 60.0, 90.0, "mmHg", "PALS, from memory; ours"),
    young("aftercare.*.ranges.systolic_mmhg.low_by_age.*.per_year", 2.0, 2.0, "mmHg", "PALS, from memory; ours"),
    all("aftercare.*.ranges.paco2_mmhg.low", 33.75, 35.0, "mmHg", "AHA 2020 from 35, UK practice from 4.5 kPa (S81)"),
    all("aftercare.*.ranges.paco2_mmhg.high", 45.0, 45.0, "mmHg", "AHA 2020, UK practice 6.0 kPa (S81)"),
    adult("aftercare.*.ranges.systolic_mmhg.*", 90.0, 100.0, "mmHg", "AHA 2020 from 90, ERC 2021 above 100 (S82)"),
    adult("aftercare.*.ranges.mean_mmhg.*", 65.0, 65.0, "mmHg", "AHA 2020, ERC 2021 (S83)"),
    all("aftercare.*.ranges.temp_c.low", 32.0, 36.0, "degrees Celsius", "AHA 2023 from 32 (S84); the rest ours"),
    all("aftercare.*.ranges.temp_c.high", 37.5, 37.7, "degrees Celsius", "AHA 2023 37.5, ERC 2021 37.7 (S84, P32)"),
    all("shock.refractory.after_shocks", 3.0, 3.0, "shocks", "ERC 2025 after three failed shocks (A88)"),
    all("shock.stack.max", 2.0, 3.0, "shocks", "ERC 2021, up to three (A26)"),
    all("ending.*.after_s", 1_200.0, 3_600.0, "s", "20 min: AHA 2020 (A66), UK practice (S92); the ceiling ours"),
    all(
        "circumstances.pregnancy.tasks.decide_delivery.due_after_s",
        180.0,
        240.0,
        "s",
        "decide at 4 min (S3); earlier is ours",
    ),
    all(
        "circumstances.pregnancy.tasks.deliver.due_after_s",
        240.0,
        300.0,
        "s",
        "delivered within 5 min (S4); earlier is ours",
    ),
    at_once_or("circumstances.*.tasks.*.ask_after_s", 60.0, 300.0),
    at_once_or("circumstances.*.tasks.*.due_after_s", 30.0, 300.0),
    at_once_or("circumstances.*.tasks.*.late_after_s", 15.0, 300.0),
    all("circumstances.pregnancy.tasks.displacement.repeat_s", 60.0, 300.0, "s", OURS),
    all("circumstances.hypothermia.tasks.core_temperature.repeat_s", 300.0, 1_800.0, "s", OURS),
    all("circumstances.*.tasks.*.repeat_s", 60.0, 3_600.0, "s", OURS),
    all("circumstances.*.tasks.*.from_gestation_weeks", 20.0, 20.0, "weeks", "at least 20 weeks: AHA 2020 (S1)"),
    adult(
        "circumstances.hyperkalaemia.tasks.calcium.amount.volume_ml",
        10.0,
        10.0,
        "mL",
        "calcium chloride 10 % (S31)",
    ),
    all(
        "circumstances.hyperkalaemia.tasks.*.when.below",
        7.0,
        7.0,
        "mmol/L",
        "glucose below 7.0 mmol/L: UKKA 2023 (S33)",
    ),
    all("circumstances.hyperkalaemia.suggested_by.*.at_least", 6.5, 6.5, "mmol/L", "severe from 6.5 mmol/L (S30)"),
    all("circumstances.local_anaesthetic.tasks.lipid.amount.per_kg.ml_per_kg", 1.5, 1.5, "mL/kg", "AHA 2023 (S74)"),
    all(
        "circumstances.local_anaesthetic.tasks.lipid.amount.per_kg.max_ml",
        100.0,
        150.0,
        "mL",
        "1.5 mL/kg at 100 kg; ours",
    ),
    all("circumstances.trauma.tasks.volume.amount.per_kg.ml_per_kg", 20.0, 20.0, "mL/kg", "ANZCOR (S62)"),
    all("circumstances.trauma.tasks.volume.amount.per_kg.max_ml", 500.0, 2_000.0, "mL", "20 mL/kg at 100 kg; ours"),
    all(
        "circumstances.hypothermia.temperature_bands.*.from_c",
        30.0,
        35.0,
        "degrees Celsius",
        "30 and 35: ERC (S10, S12)",
    ),
    all(
        "circumstances.hypothermia.temperature_bands.*.below_c",
        30.0,
        35.0,
        "degrees Celsius",
        "30 and 35: ERC (S10, S12)",
    ),
    all(
        "circumstances.hypothermia.temperature_bands.*.max_shocks",
        1.0,
        3.0,
        "shocks",
        "3: ERC (S11); 1: one county (S14)",
    ),
    all("circumstances.hypothermia.suggested_by.*.below", 35.0, 35.0, "degrees Celsius", "35, from memory (S12)"),
    all("circumstances.drowning.initial_breaths.count", 5.0, 5.0, "breaths", "ERC 2021, from memory (S41)"),
    adult("circumstances.monophasic_defibrillator.fixed_j", 360.0, 360.0, "J", "AHA 2020 (A24)"),
    all(
        "circumstances.pulmonary_embolism.go_on.from_s",
        3_600.0,
        3_600.0,
        "s",
        "60 to 90 min: ERC 2021, from memory (S70)",
    ),
    all(
        "circumstances.pulmonary_embolism.go_on.to_s",
        5_400.0,
        5_400.0,
        "s",
        "60 to 90 min: ERC 2021, from memory (S70)",
    ),
];

/// What published texts say in numbers that no field of a file has: the words of a field may name these, and no other.
const SAID: &[(&str, &str)] = &[
    // AHA 2020 (A66).
    ("ending.*.words", "10 mmHg"),
    // AHA 2023, 2025 (S85, A87); ERC 2021 (S84).
    ("aftercare.temperature.target", "24 h, 36 h, 72 h"),
    // AHA/AAP 2025 (P33).
    ("aftercare.blood_pressure.target", "10th"),
    // A 12-lead ECG (S86).
    ("aftercare.*.title", "12-lead"),
    // Pulsed biphasic, ERC 2021 (A22).
    ("shock.energy_rule", "120 to 150 J"),
    // WMS 2019 (S15, S16).
    ("circumstances.hypothermia.notes.*.text", "1 min, 12 mmol/L"),
    // UKKA 2023 (S32).
    ("circumstances.hyperkalaemia.tasks.insulin.amount.words", "10 units, 25 g"),
    // Solutions by their usual names (S31, S33, S74).
    ("circumstances.hyperkalaemia.tasks.*.title", "10 %"),
    ("circumstances.local_anaesthetic.tasks.lipid.title", "20 %"),
    // ANZCOR; ERC from memory (S61).
    ("circumstances.trauma.notes.*.text", "10 min, 15 min"),
];

/// The published texts with numbers that the words of a field may name.
pub(super) fn said_of(field: &str) -> impl Iterator<Item = &'static str> {
    SAID.iter().filter(move |(pattern, _)| fits(pattern, field)).map(|(_, text)| *text)
}

/// The range for a field; the first entry that fits counts.
pub(super) fn limit_of(field: &str, group: AgeGroup) -> Option<&'static Limit> {
    LIMITS.iter().find(|limit| limit.ages.hold_for(group) && fits(limit.field, field))
}

fn fits(pattern: &str, field: &str) -> bool {
    let mut pattern = pattern.split('.');
    let mut field = field.split('.');
    loop {
        match (pattern.next(), field.next()) {
            (None, None) => return true,
            (Some(wanted), Some(found)) if wanted == "*" || wanted == found => {}
            (Some(_) | None, Some(_) | None) => return false,
        }
    }
}

impl Limit {
    /// Whether a guideline or a study gave the range, and not we alone.
    pub(super) fn is_published(&self) -> bool {
        !self.source.to_lowercase().contains("ours")
    }

    /// Whether a value needs no reason; a hair's breadth beyond, from decimal fractions, is within.
    pub(super) fn allows(&self, value: f64) -> bool {
        let hair = 1e-9 * self.high.abs();
        (self.low - hair..=self.high + hair).contains(&value) || (self.or_zero && value == 0.0)
    }

    /// What is wrong with a value outside the range, with a guess at the slip.
    pub(super) fn words(&self, value: f64) -> String {
        let zero = if self.or_zero { "0, or " } else { "" };
        let range = if self.low == self.high {
            format!("{} {}", self.low, self.unit)
        } else {
            format!("{zero}{} to {} {}", self.low, self.high, self.unit)
        };
        // Where nothing is published, nothing is said to be.
        let kind = if self.source == OURS { "our own" } else { "the published" };
        let slip = [
            (1e-3, "perhaps it is in thousandths of the unit"),
            (1e3, "perhaps it is in thousands of the unit"),
            (60.0, "perhaps it is in minutes"),
            (0.1, "perhaps it is ten times too large"),
            (10.0, "perhaps it is ten times too small"),
        ]
        .into_iter()
        .find(|(factor, _)| value != 0.0 && self.allows(value * factor))
        .map_or(String::new(), |(_, guess)| format!("; {guess}"));
        format!(
            "{value} {} is outside {kind} range, {range} ({}){slip}. If it is meant, write unusual = \"reason\" beside it.",
            self.unit, self.source
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_range_is_one_and_names_its_source() {
        for limit in LIMITS {
            assert!(limit.low <= limit.high && limit.low >= 0.0, "{limit:?}");
            assert!(!limit.source.is_empty() && !limit.unit.is_empty(), "{limit:?}");
        }
    }

    #[test]
    fn a_range_is_found_by_field_and_age() {
        assert_eq!(limit_of("airway.one_breath_each_s", AgeGroup::Infant).unwrap().low, 2.0);
        assert_eq!(limit_of("airway.one_breath_each_s", AgeGroup::Adult).unwrap().low, 6.0);
        assert!(limit_of("antiarrhythmic.drugs.amiodarone.doses.1.fixed_mg", AgeGroup::Adult).is_some());
        assert!(limit_of("airway", AgeGroup::Adult).is_none());
    }

    #[test]
    fn a_slip_is_guessed() {
        let limit = limit_of("epinephrine.interval_s", AgeGroup::Adult).unwrap();
        assert!(limit.words(240_000.0).contains("thousandths"), "{}", limit.words(240_000.0));
        assert!(limit.words(4.0).contains("minutes"));
        let strength = limit_of("epinephrine.preparation.strength_mg_per_ml", AgeGroup::Adult).unwrap();
        assert!(strength.words(1.0).contains("ten times too large"));
    }
}

//! Parts of a protocol for what is not every code's: shocks that fail, shocks in a stack, numbers to aim at after return of
//! circulation, and what the guideline says when an arrest lasts.

use serde::Deserialize;

use super::orders::Fault;
use super::{AftercareItem, Protocol, Seconds, Sourced};
use crate::event::{PadPosition, Rhythm};

/// A rhythm that shocks do not end.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Refractory {
    /// After this many shocks in an arrest, each shock of a stack counted.
    pub after_shocks: Sourced<u32>,
    /// Where the pads are moved to; absent if the guideline asks for no such thing.
    #[serde(default)]
    pub pads: Option<Sourced<PadPosition>>,
    /// What the guideline says, in words for the leader.
    pub words: Sourced<String>,
}

/// Quick shocks one after another, in an arrest that was witnessed and monitored.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stack {
    /// The most shocks in a stack.
    pub max: Sourced<u32>,
}

/// The numbers of a target. A bound that is absent does not bound.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// At least this.
    #[serde(default)]
    pub low: Option<Sourced<f64>>,
    /// More than this; never together with `low`.
    #[serde(default)]
    pub above: Option<Sourced<f64>>,
    /// At most this.
    #[serde(default)]
    pub high: Option<Sourced<f64>>,
    /// At least this by age, from birth up; never together with `low` or `above`. It is a floor and no target: below it a
    /// value is outside, above it nothing is said.
    #[serde(default)]
    pub low_by_age: Vec<LowByAge>,
}

/// A lower bound from an age on: `low` + `per_year` x completed years.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LowByAge {
    /// Completed months from which it holds, until the next entry.
    pub from_months: Sourced<u32>,
    /// The bound at birth, if it rises with age; else the bound.
    pub low: Sourced<f64>,
    /// How much it rises with each completed year; absent if it does not.
    #[serde(default)]
    pub per_year: Option<Sourced<f64>>,
}

impl Range {
    /// The lower bound that holds at an age, in completed months, and whether the bound itself is still within.
    fn bound(&self, age_months: u32) -> Option<(f64, bool)> {
        let fixed = self.low.as_ref().map(|low| (low.value, true));
        fixed.or_else(|| self.above.as_ref().map(|above| (above.value, false))).or_else(|| {
            let band = self.low_by_age.iter().rfind(|band| band.from_months.value <= age_months)?;
            let rise = band.per_year.as_ref().map_or(0.0, |per_year| per_year.value * f64::from(age_months / 12));
            Some((band.low.value + rise, true))
        })
    }

    /// Whether a value that is not outside is known to be within: a floor alone says nothing of what lies above it.
    pub fn is_target(&self) -> bool {
        self.low.is_some() || self.above.is_some() || self.high.is_some()
    }

    /// Whether a value is too low for it at an age in completed months.
    pub fn is_below(&self, value: f64, age_months: u32) -> bool {
        self.bound(age_months).is_some_and(|(low, within)| value < low || (value <= low && !within))
    }

    /// Whether a value is too high for it.
    pub fn is_above(&self, value: f64) -> bool {
        self.high.as_ref().is_some_and(|high| value > high.value)
    }

    /// What a value that is too low is, such as `below 94 to 98`.
    pub fn words_below(&self, age_months: u32) -> String {
        match (self.bound(age_months), &self.high) {
            (Some((low, _)), Some(high)) => format!("below {low} to {}", high.value),
            (Some((low, true)), None) => format!("below {low}"),
            (Some((above, false)), None) => format!("not above {above}"),
            (None, _) => String::new(),
        }
    }

    /// What a value that is too high is, such as `above 94 to 98`.
    pub fn words_above(&self, age_months: u32) -> String {
        match (self.bound(age_months), &self.high) {
            (Some((low, _)), Some(high)) => format!("above {low} to {}", high.value),
            (None, Some(high)) => format!("above {}", high.value),
            (_, None) => String::new(),
        }
    }

    /// The range in words, without a unit, such as `92 to 98` or `at least 90`.
    pub fn words(&self, age_months: u32, shown: impl Fn(f64) -> String) -> String {
        match (self.bound(age_months), &self.high) {
            (Some((low, true)), Some(high)) => format!("{} to {}", shown(low), shown(high.value)),
            (Some((above, false)), Some(high)) => format!("above {} to {}", shown(above), shown(high.value)),
            (Some((low, true)), None) => format!("at least {}", shown(low)),
            (Some((above, false)), None) => format!("above {}", shown(above)),
            (None, Some(high)) => format!("at most {}", shown(high.value)),
            (None, None) => String::new(),
        }
    }
}

impl AftercareItem {
    /// The target in words: its numbers first, so that they are those which readings are held against, then what else the
    /// protocol says. Age in completed months, for bounds that go by it.
    pub fn target_words(&self, age_months: u32) -> String {
        // The reading that the item asks for comes first.
        let mut ranges: Vec<_> = self.ranges.iter().collect();
        ranges.sort_by_key(|(reading, _)| self.reading.as_ref() != Some(*reading));
        let numbers = ranges.into_iter().map(|(reading, range)| range_words(reading, range, age_months));
        let beyond = self.target.as_ref().map(|target| target.value.clone());
        numbers.chain(beyond).collect::<Vec<_>>().join(", ")
    }
}

fn range_words(reading: &str, range: &Range, age_months: u32) -> String {
    let (name, unit) = name_and_unit(reading);
    let words = range.words(age_months, |value| ((value * 10.0).round() / 10.0).to_string());
    let words = format!("{name} {words} {unit}");
    let words = words.trim();
    if reading != "paco2_mmhg" {
        return words.to_owned();
    }
    let in_kpa = range.words(age_months, |value| format!("{:.1}", value / MMHG_PER_KPA));
    format!("{words} ({in_kpa} kPa)")
}

/// A reading's name and unit as a screen writes them.
pub fn name_and_unit(reading: &str) -> (&str, &'static str) {
    match reading {
        "spo2_pct" => ("SpO2", "%"),
        "paco2_mmhg" => ("PaCO2", "mmHg"),
        "systolic_mmhg" => ("systolic", "mmHg"),
        "diastolic_mmhg" => ("diastolic", "mmHg"),
        "mean_mmhg" => ("mean", "mmHg"),
        "temp_c" => ("", "\u{b0}C"),
        "glucose_mmol_l" => ("glucose", "mmol/L"),
        "potassium_mmol_l" => ("potassium", "mmol/L"),
        "lactate_mmol_l" => ("lactate", "mmol/L"),
        "ph" => ("pH", ""),
        other => (other, ""),
    }
}

/// Millimetres of mercury in a kilopascal, by the definition of both units.
pub(crate) const MMHG_PER_KPA: f64 = 7.500_62;

/// A sentence for the leader while an arrest lasts. It informs; whether and when a code ends is the team's to say.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ending {
    /// A word for it, so that a fault can name it.
    pub id: String,
    /// The sentence.
    pub words: Sourced<String>,
    /// Shown from this long after the arrest began; with `rhythm`, after that rhythm was first seen without a break.
    #[serde(default)]
    pub after_s: Option<Seconds>,
    /// Shown only while the last looks had this rhythm.
    #[serde(default)]
    pub rhythm: Option<Rhythm>,
}

/// What a reading derives from others: the mean of a blood pressure.
pub(super) const DERIVED: &str = "mean_mmhg";

pub(super) fn faults(protocol: &Protocol, readings: &[&str]) -> Vec<Fault> {
    let aftercare = protocol.aftercare.iter().filter_map(|item| target(item, readings));
    aftercare.chain(shocks(protocol)).collect()
}

fn target(item: &AftercareItem, readings: &[&str]) -> Option<Fault> {
    let field = format!("aftercare.{}", item.id);
    if item.target.is_none() && item.ranges.is_empty() {
        return Some((field, "aims at nothing: write ranges, or a target in words".to_owned()));
    }
    if item.reading.is_none() && (!item.ranges.is_empty() || item.repeat_s.is_some()) {
        let problem = "has numbers or a time to ask again, but names no reading to hold against them";
        return Some((field, problem.to_owned()));
    }
    item.ranges.iter().find_map(|(reading, range)| {
        let field = format!("{field}.ranges.{reading}");
        if reading != DERIVED && !readings.contains(&reading.as_str()) {
            return Some((field, format!("`{reading}` is no reading: {}, {DERIVED}", readings.join(", "))));
        }
        range_problem(range).map(|problem| (field, problem))
    })
}

fn range_problem(range: &Range) -> Option<String> {
    let lower = [range.low.is_some(), range.above.is_some(), !range.low_by_age.is_empty()];
    match lower.iter().filter(|there| **there).count() {
        0 if range.high.is_none() => return Some("names no bound: low, above, low_by_age or high".to_owned()),
        0 | 1 => {}
        _ => return Some("has both low and above, or one of them by age too; one of them binds".to_owned()),
    }
    let from: Vec<u32> = range.low_by_age.iter().map(|band| band.from_months.value).collect();
    if from.first().is_some_and(|first| *first != 0) {
        return Some("must begin with from_months = 0: the youngest would have no bound".to_owned());
    }
    if from.windows(2).any(|pair| pair[1] <= pair[0]) {
        return Some("the ages of low_by_age must rise".to_owned());
    }
    // A floor that falls with age is nobody's.
    let bounds: Vec<f64> = (0..216).filter_map(|months| range.bound(months)).map(|(low, _)| low).collect();
    if let Some(pair) = bounds.windows(2).find(|pair| pair[1] < pair[0]) {
        return Some(format!("falls from {} to {} as the patient grows; a floor rises with age", pair[0], pair[1]));
    }
    let (highest, high) = (bounds.iter().copied().fold(f64::MIN, f64::max), range.high.as_ref()?);
    (highest >= high.value).then(|| format!("from {highest} to {} holds no value", high.value))
}

fn shocks(protocol: &Protocol) -> Option<Fault> {
    let refractory = protocol.shock.refractory.as_ref()?;
    let unknown = refractory.pads.as_ref().is_some_and(|pads| pads.value == PadPosition::Unknown);
    unknown.then(|| ("shock.refractory.pads".to_owned(), "must say where the pads are to be".to_owned()))
}

#[cfg(test)]
mod tests {
    use crate::protocol::{read, shipped};

    const ERC: &str = include_str!("../../../protocols/erc-adult.toml");

    #[test]
    fn what_makes_no_target_and_what_advises_is_refused_by_field() {
        let oxygen = "spo2_pct = { low = { value = 94";
        let cases = [
            (oxygen, "spo2_pct = { low = { value = 9.4", "aftercare.oxygen.ranges.spo2_pct.low", "ten times"),
            (
                oxygen,
                "spo3_pct = { low = { value = 94, unusual = \"a test\"",
                "ranges.spo3_pct.high",
                "no published range",
            ),
            (oxygen, "spo2_pct = { low = { value = 99, unusual = \"a test\"", "ranges.spo2_pct", "holds no value"),
            (
                "systolic_mmhg = { above",
                "systolic_mmhg = { low = { value = 100, source = \"s\", basis = \"practice\" }, above",
                "ranges.systolic_mmhg",
                "both low and above",
            ),
            ("reading = \"spo2_pct\"\n", "", "aftercare.oxygen", "names no reading"),
            ("value = \"anteroposterior\"", "value = \"unknown\"", "shock.refractory.pads", "where the pads"),
            ("max = { value = 3", "max = { value = 30", "shock.stack.max", "ten times too large"),
            ("No validated rule", "The team should stop: no rule", "ending.in_hospital.words", "is advice"),
        ];
        for (old, new, field, words) in cases {
            assert!(ERC.contains(old), "{old}");
            let error = read(&ERC.replacen(old, new, 1)).expect_err("must be refused");
            assert!(error.field.ends_with(field) && error.problem.contains(words), "{new}: {error}");
        }
    }

    #[test]
    fn a_target_in_words_is_what_readings_are_held_against() {
        let words = |id: &str, item: &str, age_months: u32| {
            let text = shipped().iter().find(|(name, _)| *name == id).unwrap().1;
            read(text).unwrap().aftercare.iter().find(|one| one.id == item).unwrap().target_words(age_months)
        };
        for (id, item, wanted) in [
            ("aha-adult", "oxygen", "SpO2 92 to 98 %"),
            ("erc-adult", "oxygen", "SpO2 94 to 98 %"),
            ("aha-adult", "carbon_dioxide", "PaCO2 35 to 45 mmHg (4.7 to 6.0 kPa)"),
            ("erc-adult", "carbon_dioxide", "PaCO2 33.8 to 45 mmHg (4.5 to 6.0 kPa)"),
            ("aha-adult", "blood_pressure", "systolic at least 90 mmHg, mean at least 65 mmHg"),
            ("erc-adult", "blood_pressure", "systolic above 100 mmHg, mean above 65 mmHg"),
            ("aha-adult", "temperature", "32 to 37.5 \u{b0}C, constant, for at least 24 h"),
            ("erc-adult", "temperature", "at most 37.7 \u{b0}C, prevent fever for at least 72 h"),
            ("aha-child", "temperature", "at most 37.5 \u{b0}C"),
            ("aha-child", "glucose", "glucose 3.3 to 10 mmol/L, treat by local policy"),
        ] {
            assert_eq!(words(id, item, 0), wanted, "{id}");
        }
        // The floor goes by completed years: 60 at birth, 70 from a month, 70 + 2 x years, 90 from ten years on.
        for (age_months, mmhg) in
            [(0, 60), (1, 70), (11, 70), (12, 72), (59, 78), (60, 80), (119, 88), (120, 90), (200, 90)]
        {
            let said = words("aha-child", "blood_pressure", age_months);
            assert!(said.starts_with(&format!("systolic at least {mmhg} mmHg, aim: ")), "{age_months}: {said}");
        }
    }

    #[test]
    fn no_shipped_protocol_repeats_a_rule_for_outside_the_hospital() {
        for (id, text) in shipped() {
            let protocol = read(text).unwrap();
            assert!(protocol.ending.iter().any(|ending| ending.id == "in_hospital"), "{id}");
            for ending in &protocol.ending {
                // Traps 11 and 35 of the clinical sheet.
                let words = format!("{} {}", ending.words.value, ending.words.source);
                assert!(!words.contains("S90") && !words.contains("S91"), "{id}: {words}");
                assert!(!words.contains("out-of-hospital"), "{id}: {words}");
            }
        }
    }
}

//! A value of a protocol file in a clinician's words: its unit, minutes for long times, and the published range behind it.

use super::super::{AgeGroup, Row, limits};

/// Between a number and its unit, and inside a source's key: no line breaks here.
pub const JOINED: char = '\u{a0}';

/// Units that a field's name ends with, the longest first, and how they are written.
const UNITS: &[(&str, &str)] = &[
    ("mg_per_ml", "mg/mL"),
    ("mg_per_kg", "mg/kg"),
    ("ml_per_kg", "mL/kg"),
    ("j_per_kg", "J/kg"),
    ("kg_per_step", "kg"),
    ("per_minute", "a minute"),
    ("mmol_l", "mmol/L"),
    ("mmhg", "mmHg"),
    ("months", "months"),
    ("weeks", "weeks"),
    ("part", PART),
    ("mg", "mg"),
    ("ml", "mL"),
    ("kg", "kg"),
    ("pct", "%"),
    ("s", "s"),
    ("j", "J"),
    ("c", "°C"),
];

/// The unit of a part of something, which the phrase names.
pub(super) const PART: &str = "of 1";

/// Parts that have a name, in thousandths.
const PARTS: &[(f64, &str)] = &[(500.0, "half"), (250.0, "a quarter"), (200.0, "a fifth"), (100.0, "a tenth")];

/// Names whose last letters are no unit, or whose number counts something else.
const NO_UNIT: &[&str] = &["after_shocks", "max_shocks", "ratio_compressions", "ratio_breaths", "initial_breaths"];

/// Bounds: a bound has the unit of the reading it bounds, which stands in the field's path.
const BOUNDS: &[&str] = &["low", "above", "high", "per_year"];

fn unit_of(name: &str) -> Option<(&'static str, &'static str)> {
    if NO_UNIT.contains(&name) {
        return None;
    }
    UNITS.iter().copied().find(|(suffix, _)| name == *suffix || name.ends_with(&format!("_{suffix}")))
}

fn unit(field: &str) -> &'static str {
    let name = last(field);
    let of_reading = || field.split('.').rev().skip(1).find_map(unit_of).filter(|_| BOUNDS.contains(&name));
    unit_of(name).or_else(of_reading).map_or("", |(_, unit)| unit)
}

fn last(field: &str) -> &str {
    field.rsplit('.').next().unwrap_or(field)
}

/// Whether the value is nothing, or no: what a phrase for "at once" or "not" is for.
pub(super) fn is_nothing(row: &Row) -> bool {
    row.value == "no" || row.value.parse::<f64>().is_ok_and(|number| number == 0.0)
}

/// The value with its unit, the range published for a group where there is one, and the reason where it departs from that.
pub(super) fn words(row: &Row, group: Option<AgeGroup>) -> String {
    let mut words = match numbers(&row.value) {
        None => row.value.clone(),
        Some(numbers) => {
            let unit = unit(&row.field);
            let published = group
                .and_then(|group| limits::limit_of(&row.field, group))
                .filter(|limit| (limit.low < limit.high || row.unusual.is_some()) && limit.is_published());
            let range = published.map_or(String::new(), |limit| range(limit.low, limit.high, &numbers, unit));
            format!("{}{range}", amount(&numbers, unit))
        }
    };
    if let Some(reason) = &row.unusual {
        words.push_str(&format!(" UNUSUAL, because: {reason}"));
    }
    words
}

/// The numbers of a value; nothing where it is words.
pub(super) fn numbers(value: &str) -> Option<Vec<f64>> {
    value.split(", ").map(|number| number.parse().ok()).collect()
}

/// ` (3 to 5)`, with the unit only where it is not that of the amount before it.
fn range(low: f64, high: f64, of: &[f64], unit: &str) -> String {
    let (of, low, high) = (amount(of, unit), amount(&[low], unit), amount(&[high], unit));
    let unit_in = |words: &str| words.split_once(JOINED).map(|(_, unit)| unit.to_owned());
    let alike = unit_in(&low) == unit_in(&high) && unit_in(&of) == unit_in(&high);
    let bare = |words: &str| words.split(JOINED).next().unwrap_or_default().to_owned();
    if low == high {
        return format!(" (published: {low})");
    }
    if alike { format!(" ({} to {})", bare(&low), bare(&high)) } else { format!(" ({low} to {high})") }
}

fn in_minutes(seconds: f64) -> bool {
    seconds >= 120.0 && seconds % 60.0 == 0.0
}

/// Numbers with their unit, seconds as minutes and months as years where that is shorter, a part by its name where it has one.
pub(super) fn amount(numbers: &[f64], unit: &str) -> String {
    let words = |numbers: &[f64]| numbers.iter().map(f64::to_string).collect::<Vec<_>>().join(", ");
    if unit == "s" && numbers.iter().all(|seconds| in_minutes(*seconds)) {
        let minutes: Vec<f64> = numbers.iter().map(|seconds| seconds / 60.0).collect();
        return format!("{}{JOINED}min", words(&minutes));
    }
    if let (&[months], "months") = (numbers, unit)
        && months >= 24.0
    {
        let (years, left) = (format!("{}{JOINED}years", (months / 12.0).floor()), months % 12.0);
        return if left == 0.0 { years } else { format!("{years}{JOINED}{}", amount(&[left], unit)) };
    }
    if unit == PART {
        let named = |part: &f64| PARTS.iter().find(|(thousandths, _)| *thousandths == (part * 1_000.0).round());
        let parts =
            numbers.iter().map(|part| named(part).map_or_else(|| part.to_string(), |(_, name)| (*name).to_owned()));
        return parts.collect::<Vec<_>>().join(", ");
    }
    let unit = if numbers == [1.0] { unit.strip_suffix('s').filter(|one| one.len() > 2).unwrap_or(unit) } else { unit };
    if unit.is_empty() { words(numbers) } else { format!("{}{JOINED}{unit}", words(numbers)) }
}

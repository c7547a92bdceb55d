//! Care after return of circulation: the protocol's targets, each asked of its role, held against the readings, and asked
//! again after the protocol's time. A reading outside its target keeps the question.

use crate::prompt::{Action, Detail};
use crate::protocol::{AftercareItem, MMHG_PER_KPA, Range, name_and_unit};
use crate::state::{Mark, Reading};
use crate::view::TargetLine;
use crate::weight;

use super::{Planner, asked};

pub(super) fn plan(planner: &mut Planner<'_>) {
    let Some(rosc) = planner.state.rosc else { return };
    for item in &planner.protocol.aftercare {
        let (age_months, assumed) = age(planner);
        let readings = readings(planner, item, rosc);
        let latest = readings.iter().map(|(_, reading)| reading.mark).max_by_key(|mark| mark.at_ms);
        let doubt = readings
            .iter()
            .find_map(|(field, reading)| outside(field, reading.value, item.ranges.get(*field)?, age_months))
            .or_else(|| still_cold(planner, &readings));
        let target = target(item, age_months, assumed);
        let is_judged = |field: &str| item.ranges.get(field).is_some_and(|range| doubt.is_some() || range.is_target());
        let asked_from = latest.unwrap_or(rosc);
        let ticked = planner
            .state
            .ticked
            .last_of(asked_from.id, |anchor| format!("{}@{anchor}:{}", Action::Aftercare.as_str(), item.id));
        planner.aftercare.push(TargetLine {
            id: item.id.clone(),
            title: item.title.clone(),
            target: target.clone(),
            reading: (!readings.is_empty()).then(|| {
                let words: Vec<_> = readings.iter().map(|(field, reading)| in_words(field, reading.value)).collect();
                words.join(", ")
            }),
            at_ms: ticked.or(latest).map(|mark| mark.at_ms),
            within: readings.iter().any(|(field, _)| is_judged(field)).then_some(doubt.is_none()),
        });
        ask(planner, item, target, Answers { rosc, latest, ticked }, doubt);
    }
}

/// A target that has no lower bound must not call a patient warm whom a circumstance's range of temperature still holds.
fn still_cold(planner: &Planner<'_>, readings: &[(&str, Reading)]) -> Option<String> {
    let (_, temperature) = readings.iter().find(|(field, _)| *field == "temp_c")?;
    let bands = planner.state.special.bands(planner.protocol);
    let (rules, band) = bands.into_iter().find(|(_, band)| !band.is_standard() && band.holds(temperature.value))?;
    Some(format!("{}: {}, {}", in_words("temp_c", temperature.value), rules.title, band.words()))
}

/// The age that bounds by age are taken for, in completed months, and whether it is assumed.
fn age(planner: &Planner<'_>) -> (u32, bool) {
    weight::age_months(&planner.state.patient, planner.state.age_group(planner.protocol))
}

/// The target in words; where it goes by an age that nobody entered, it says so.
fn target(item: &AftercareItem, age_months: u32, assumed: bool) -> String {
    let words = item.target_words(age_months);
    let by_age = item.ranges.values().any(|range| !range.low_by_age.is_empty());
    if assumed && by_age { format!("{words}; enter the age: the youngest of the group is assumed") } else { words }
}

/// What was last said of an item.
#[derive(Clone, Copy)]
struct Answers {
    rosc: Mark,
    latest: Option<Mark>,
    ticked: Option<Mark>,
}

fn ask(planner: &mut Planner<'_>, item: &AftercareItem, target: String, answers: Answers, doubt: Option<String>) {
    let Answers { rosc, latest, ticked } = answers;
    let repeat_ms = item.repeat_s.as_ref().map(|repeat| repeat.ms());
    let (anchor, show_ms, due_ms) = match (ticked, latest, repeat_ms) {
        // Somebody said that it is seen to: look again after a while, if the protocol has one.
        (Some(tick), _, Some(repeat_ms)) => (tick, tick.at_ms + repeat_ms, tick.at_ms + repeat_ms),
        (Some(_), _, None) => return,
        (None, Some(read), repeat_ms) if doubt.is_some() => (read, read.at_ms, read.at_ms + repeat_ms.unwrap_or(0)),
        (None, Some(read), Some(repeat_ms)) => (read, read.at_ms + repeat_ms, read.at_ms + repeat_ms),
        (None, Some(_), None) => return,
        (None, None, _) => (rosc, rosc.at_ms, rosc.at_ms + item.due_s.ms()),
    };
    asked(Action::Aftercare, &[item.role], anchor, show_ms, due_ms)
        .keyed(&item.id)
        .why(if doubt.is_some() {
            "the last reading is outside its target"
        } else {
            "care after return of circulation"
        })
        .detail(Detail { item: Some(item.title.clone()), target: Some(target), doubt, ..Detail::default() })
        .ticked_by_tap()
        .put(planner);
}

/// The item's readings since circulation returned, its own first.
fn readings<'a>(planner: &Planner<'a>, item: &'a AftercareItem, rosc: Mark) -> Vec<(&'a str, Reading)> {
    let mut fields: Vec<&str> = item.reading.iter().map(String::as_str).collect();
    for field in item.ranges.keys() {
        if !fields.contains(&field.as_str()) {
            fields.push(field);
        }
    }
    let read = |field: &str| planner.state.care.readings.get(field).copied();
    fields
        .into_iter()
        .filter_map(|field| Some((field, read(field)?)))
        .filter(|(_, reading)| reading.mark.at_ms >= rosc.at_ms)
        .collect()
}

/// How a value misses its target, in words; nothing if it does not.
///
/// A value counts as the screen shows it: "mean 65 mmHg: below 65" would contradict itself.
fn outside(field: &str, value: f64, range: &Range, age_months: u32) -> Option<String> {
    let value = as_shown(field, value);
    let miss = match (range.is_below(value, age_months), range.is_above(value)) {
        (true, _) => range.words_below(age_months),
        (_, true) => range.words_above(age_months),
        (false, false) => return None,
    };
    Some(format!("{}: {miss}", in_words(field, value)))
}

/// A value at the precision with which it stands on the screen.
fn as_shown(field: &str, value: f64) -> f64 {
    match field {
        "mean_mmhg" => value.round(),
        "ph" => value,
        _ => (value * 10.0).round() / 10.0,
    }
}

/// A reading with its name and unit; a pressure of carbon dioxide in both its units.
fn in_words(field: &str, value: f64) -> String {
    let (name, unit) = name_and_unit(field);
    let words = format!("{name} {} {unit}", as_shown(field, value));
    let in_kpa = if field == "paco2_mmhg" { format!(" ({:.1} kPa)", value / MMHG_PER_KPA) } else { String::new() };
    format!("{}{in_kpa}", words.trim())
}

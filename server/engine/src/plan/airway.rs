//! Breaths and capnography.

use crate::event::{Event, Role};
use crate::prompt::{Action, Detail};
use crate::weight;

use super::{Planner, asked};

pub(super) fn plan(planner: &mut Planner<'_>) {
    initial_breaths(planner);
    ventilate(planner);
    etco2(planner);
    possible_rosc(planner);
}

/// How many breaths come before the first compression, while neither has been given. Only at the start of a code: with an
/// arrest that comes again, or care before arrival, the team is past them.
pub(super) fn initial_breaths_wanted(planner: &Planner<'_>) -> Option<u32> {
    let state = planner.state;
    let breaths = planner.protocol.airway.initial_breaths.as_ref()?.value;
    let first = state.arrest.is_some_and(|arrest| arrest.number == 1);
    let untouched = !state.chest.started_in_arrest
        && state.chest.pause.is_none()
        && state.care.breaths.is_none()
        && state.rhythms.looks == 0
        && state.rhythms.shocks.is_empty()
        && state.care.prior == crate::event::PriorCare::default();
    (first && untouched).then_some(breaths)
}

fn initial_breaths(planner: &mut Planner<'_>) {
    let (Some(breaths), Some(arrest)) = (initial_breaths_wanted(planner), planner.state.arrest) else { return };
    asked(Action::InitialBreaths, &[Role::Airway], arrest.start, arrest.start.at_ms, arrest.start.at_ms)
        .why("before the first compression")
        .detail(Detail { breaths: Some(breaths), ..Detail::default() })
        .tap(Event::BreathsGiven { count: breaths })
        .put(planner);
}

/// Seconds from breath to breath with an advanced airway, the rate in words, and whether the age behind it is assumed.
fn breath_rate(planner: &Planner<'_>) -> (f64, Option<String>, bool) {
    let airway = &planner.protocol.airway;
    let (age_months, assumed) = weight::age_months(&planner.state.patient, planner.state.age_group(planner.protocol));
    let Some(band) = airway.by_age.iter().rfind(|band| band.from_months.value <= age_months) else {
        return (airway.one_breath_each_s.value, airway.breath_rule.as_ref().map(|rule| rule.value.clone()), false);
    };
    let each_s = band.one_breath_each_s.value;
    let from_years = band.from_months.value / 12;
    let whom = if from_years == 0 { "an infant".to_owned() } else { format!("{from_years} years and over") };
    let why = if assumed { ": the age is not entered, the youngest of the group is assumed" } else { "" };
    (each_s, Some(format!("{:.0} a minute for {whom}{why}", 60.0 / each_s)), assumed)
}

/// The breath rhythm stands as long as the arrest does.
fn ventilate(planner: &mut Planner<'_>) {
    let Some(arrest) = planner.state.arrest else { return };
    let airway = &planner.protocol.airway;
    let placed = planner.state.care.airway.map(|(_, mark)| mark).filter(|mark| mark.at_ms > arrest.start.at_ms);
    let anchor = placed.unwrap_or(arrest.start);
    let (detail, why, assumed) = if planner.state.care.has_advanced_airway() {
        let (each_s, rule, assumed) = breath_rate(planner);
        let detail = Detail { one_breath_each_s: Some(each_s), rule, ..Detail::default() };
        (detail, "advanced airway in: compressions go on through breaths", assumed)
    } else {
        let ratio = format!("{}:{}", airway.ratio_compressions.value, airway.ratio_breaths.value);
        (Detail { ratio: Some(ratio), ..Detail::default() }, "no advanced airway: breaths in short pauses", false)
    };
    asked(Action::Ventilate, &[Role::Airway], anchor, anchor.at_ms, anchor.at_ms)
        .why(why)
        .assumed(assumed)
        .detail(detail)
        .put(planner);
}

/// Once a cycle, with an advanced airway in.
fn etco2(planner: &mut Planner<'_>) {
    let state = planner.state;
    let (Some(start), Some(check)) = (state.cycle.start(), planner.next_check) else { return };
    if !state.care.has_advanced_airway() || check.first {
        return;
    }
    let read = state.care.etco2.is_some_and(|reading| reading.mark.at_ms >= start.at_ms);
    // A cycle that is only expected has not begun.
    if read || start.at_ms > planner.now_ms {
        planner.wake(start.at_ms);
        return;
    }
    let due_ms = check.due_ms - planner.protocol.airway.etco2_ahead_s.ms();
    let show_ms = state.care.airway.map_or(start.at_ms, |(_, placed)| placed.at_ms.max(start.at_ms));
    asked(Action::ReadEtco2, &[Role::Airway], start.anchor, show_ms, due_ms)
        .why("shows the quality of compressions")
        .assumed(start.assumed)
        .put(planner);
}

/// A jump of the end-tidal reading: look at the next check. Compressions are never stopped for it.
fn possible_rosc(planner: &mut Planner<'_>) {
    let check = planner.running_check.or(planner.next_check);
    let (Some(rise), Some(check)) = (planner.state.care.etco2_rise, check) else { return };
    asked(Action::PossibleRosc, &[Role::Leader], rise, rise.at_ms, check.due_ms)
        .why("end-tidal carbon dioxide rose: look at the next check, go on compressing")
        .put(planner);
}

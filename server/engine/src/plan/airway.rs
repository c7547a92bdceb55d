//! Breaths and capnography.

use crate::event::Role;
use crate::prompt::{Action, Detail};

use super::{Planner, asked};

pub(super) fn plan(planner: &mut Planner<'_>) {
    ventilate(planner);
    etco2(planner);
    possible_rosc(planner);
}

/// The breath rhythm stands as long as the arrest does.
fn ventilate(planner: &mut Planner<'_>) {
    let Some(arrest) = planner.state.arrest else { return };
    let airway = &planner.protocol.airway;
    let placed = planner.state.care.airway.map(|(_, mark)| mark).filter(|mark| mark.at_ms > arrest.start.at_ms);
    let anchor = placed.unwrap_or(arrest.start);
    let (detail, why) = if planner.state.care.has_advanced_airway() {
        let detail = Detail { one_breath_each_s: Some(airway.one_breath_each_s.value), ..Detail::default() };
        (detail, "advanced airway in: compressions go on through breaths")
    } else {
        let ratio = format!("{}:{}", airway.ratio_compressions.value, airway.ratio_breaths.value);
        (Detail { ratio: Some(ratio), ..Detail::default() }, "no advanced airway: breaths in short pauses")
    };
    asked(Action::Ventilate, &[Role::Airway], anchor, anchor.at_ms, anchor.at_ms).why(why).detail(detail).put(planner);
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

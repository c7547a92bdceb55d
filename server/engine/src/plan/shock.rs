//! The shock: charge ahead, charge, all clear, shock, or dump the charge. Compressions go on through charging.

use crate::dose;
use crate::event::{Event, Role};
use crate::prompt::{Action, Detail, StackPlace};
use crate::state::Charge;
use crate::view::NoteKind;

use super::{Planner, asked, special};

const ROLE: &[Role] = &[Role::Defibrillator];

pub(super) fn plan(planner: &mut Planner<'_>) {
    charge_ahead(planner);
    dump(planner);
    if ask_what_became_of_it(planner) {
        return;
    }
    let state = planner.state;
    let Some(wanted) = state.rhythms.shock_wanted else { return };
    let charge = usable(planner);
    let stack = stack(planner);
    if let Some((_, place)) = &stack {
        let text = format!(
            "Witnessed, monitored, no shock before: up to {} shocks in quick succession. Compressions in between end the \
             stack.",
            place.of
        );
        planner.note(&[Role::Leader, Role::Compressor, Role::Defibrillator], NoteKind::Information, &text);
    }
    if let Some(call) = state.rhythms.all_clear {
        let from_ms = wanted.at_ms.max(call.at_ms);
        let energy_j = charge.and_then(|charge| charge.energy_j).or_else(|| energy_j(planner));
        let mut give = asked(Action::GiveShock, ROLE, wanted, from_ms, from_ms)
            .why("everybody is clear")
            .detail(charged_detail(planner, energy_j));
        give.0.detail.stack = stack.as_ref().map(|(_, place)| *place);
        // An energy that nobody knows is asked for on the screen, never made up.
        if let Some(energy_j) = energy_j {
            let stack_id = stack.map(|(id, _)| id);
            give = give.tap(Event::ShockDelivered { energy_j, stack_id, double: false });
        }
        give.put(planner);
        return;
    }
    let Some(charge) = charge else {
        let from_ms = wanted.at_ms;
        let energy_j = energy_j(planner);
        let again = stack.filter(|(_, place)| place.number > 1);
        let why = match again {
            Some(_) => "next shock of the stack; compressions end the stack",
            None => "shockable rhythm: charge while compressions go on",
        };
        let detail = Detail { stack: again.map(|(_, place)| place), ..energy_detail(planner, energy_j) };
        asked(Action::Charge, ROLE, wanted, from_ms, from_ms)
            .why(why)
            .detail(detail)
            .tap(Event::ChargingStarted { energy_j })
            .put(planner);
        return;
    };
    let show_ms = wanted.at_ms.max(charge.mark.at_ms);
    asked(Action::CallAllClear, ROLE, charge.mark, show_ms, charge.ready_ms)
        .why("compressions go on until all clear")
        .detail(charged_detail(planner, charge.energy_j))
        .tap(Event::AllClearCalled {})
        .put(planner);
}

/// The stack that the next shock belongs to: the one that is open, or a new one where the protocol knows stacks and the
/// arrest was seen by a person and a monitor, with no shock and no epinephrine before it. Its id is the look's.
fn stack(planner: &Planner<'_>) -> Option<(String, StackPlace)> {
    let of = planner.protocol.shock.stack.as_ref()?.max.value;
    let state = planner.state;
    if let Some((id, given)) = state.rhythms.open_stack() {
        return Some((id.to_owned(), StackPlace { number: given + 1, of }));
    }
    let first = state.arrest.is_some_and(|arrest| arrest.number == 1)
        && state.rhythms.first_not_shockable.is_none()
        && state.rhythms.shock_count() == 0
        && state.care.epinephrine_doses() == 0;
    let seen = state.witnessed == Some(true) && state.monitored == Some(true);
    let look = state.rhythms.shock_wanted.filter(|_| first && seen)?;
    Some((look.id.to_string(), StackPlace { number: 1, of }))
}

/// The charge that a shock may use: not unwanted, and not held too long.
fn usable(planner: &Planner<'_>) -> Option<Charge> {
    planner.state.rhythms.charge.filter(|charge| {
        charge.unwanted.is_none() && planner.now_ms < charge.mark.at_ms + planner.protocol.shock.charge_hold_s.ms()
    })
}

fn energy_j(planner: &Planner<'_>) -> Option<f64> {
    let next = planner.state.rhythms.shock_count().saturating_add(1);
    if planner.lacks_weight() || planner.made_for_others().is_some() {
        return None;
    }
    if let Some(energy_j) = special::energy_j(planner, next) {
        return Some(energy_j);
    }
    dose::shock_energy_j(&planner.protocol.shock, next, planner.state.patient.weight_kg)
}

/// An energy to be set: by weight it says for which one, and that the device's next setting up is meant.
fn energy_detail(planner: &Planner<'_>, energy_j: Option<f64>) -> Detail {
    let next = planner.state.rhythms.shock_count().saturating_add(1);
    let shock = &planner.protocol.shock;
    let energy_rule = match (energy_j, dose::j_per_kg(&shock.energy, next), planner.weight_label()) {
        (None, _, _) => Some(planner.made_for_others().unwrap_or_else(|| shock.energy_rule.value.clone())),
        (Some(_), Some(j_per_kg), Some(label)) => {
            let up = if shock.settings_j.is_some() { "" } else { "; set the next setting up" };
            Some(format!("{j_per_kg} J/kg {label}{up}"))
        }
        (Some(_), _, _) => None,
    };
    let doubt = energy_rule.as_ref().filter(|_| energy_j.is_some()).and_then(|_| planner.weight_doubt());
    Detail { energy_j, energy_rule, doubt, ..Detail::default() }
}

/// An energy that is charged: where it goes by weight and is not what the weight asks for, that is said.
fn charged_detail(planner: &Planner<'_>, charged_j: Option<f64>) -> Detail {
    let Some(charged_j) = charged_j else { return energy_detail(planner, None) };
    let Some(wanted_j) = energy_j(planner) else {
        // Charged before anybody knew that it goes by weight: the shock is not held back, and nothing vouches for it.
        let doubt = format!("{charged_j} J is charged; there is no weight to hold it against");
        return Detail { energy_j: Some(charged_j), doubt: Some(doubt), ..energy_detail(planner, None) };
    };
    let detail = energy_detail(planner, Some(charged_j));
    let rules = &planner.protocol.shock;
    let most_j = dose::most_j(&rules.energy, planner.state.patient.weight_kg);
    // A device rounds up to its next setting; a few times as much is another energy.
    let is_more = rules.check_from_times.as_ref().is_some_and(|times| charged_j >= times.value * wanted_j);
    // Makers differ in what they call the same shock; a small part of it is another one.
    let is_less = rules.check_to_part.as_ref().is_some_and(|part| charged_j <= part.value * wanted_j);
    let off = match most_j {
        Some(most_j) if charged_j > most_j => {
            format!("{charged_j} J is charged; the most for this weight is {most_j} J")
        }
        Some(_) if charged_j < wanted_j || is_more => {
            format!("{charged_j} J is charged; the protocol asks for {wanted_j} J")
        }
        None if is_less => format!("{charged_j} J is charged; the protocol asks for {wanted_j} J"),
        Some(_) | None => return detail,
    };
    Detail { doubt: Some(off), ..detail }
}

/// Ahead of the check, if the protocol charges ahead and nothing usable is charged.
fn charge_ahead(planner: &mut Planner<'_>) {
    let protocol = planner.protocol;
    let Some(check) = planner.next_check.filter(|_| protocol.shock.precharge.value) else { return };
    // During a check the rhythm decides; after a look that wants a shock, `charge` asks; an old charge goes first. Where
    // no further shock is allowed, nothing is charged.
    if planner.state.rhythms.limited
        || usable(planner).is_some()
        || planner.running_check.is_some()
        || planner.state.rhythms.shock_wanted.is_some()
        || dump_from(planner).is_some()
    {
        return;
    }
    let energy_j = energy_j(planner);
    let show_ms = check.due_ms - protocol.shock.charge_ask_ahead_s.ms();
    asked(Action::ChargeAhead, ROLE, check.anchor, show_ms, check.due_ms - protocol.shock.charge_ahead_s.ms())
        .why("charge while compressions run, ready for the look")
        .assumed(check.assumed)
        .detail(energy_detail(planner, energy_j))
        .tap(Event::ChargingStarted { energy_j })
        .put(planner);
}

/// Since when a charge is to be dumped, and why: it is not wanted, or was held too long.
fn dump_from(planner: &Planner<'_>) -> Option<(i64, &'static str)> {
    let rhythms = &planner.state.rhythms;
    let charge = rhythms.charge?;
    let shock = &planner.protocol.shock;
    let held_ms = charge.mark.at_ms + shock.charge_hold_s.ms();
    // A look corrected after charging began counts as one since then.
    let corrected = rhythms
        .look
        .filter(|look| !look.rhythm.is_shockable())
        .and_then(|look| look.amended_ms)
        .filter(|amended_ms| *amended_ms >= charge.mark.at_ms);
    let (from_ms, why) = match (charge.unwanted.map(|mark| mark.at_ms).or(corrected), planner.now_ms >= held_ms) {
        (Some(from_ms), held) if !held || from_ms <= held_ms => {
            (from_ms, "no shock is wanted: disarm before hands go on")
        }
        (Some(_) | None, true) => (held_ms, "charged too long: disarm"),
        (Some(_) | None, false) => return None,
    };
    // While a shock is wanted, charging anew replaces an old charge: dumping it would end the want.
    if rhythms.shock_wanted.is_some() {
        return None;
    }
    // So does charging ahead of the next check, and a check's own look: asking for both would contradict. A charge whose
    // time runs out after that is to be dumped.
    let replaced = !rhythms.limited && rhythm_decides_from_ms(planner).is_some_and(|ask_ms| from_ms < ask_ms);
    (!replaced).then_some((from_ms, why))
}

/// Since when the coming check, or the one that runs, says what becomes of an old charge: `charge_ahead` is shown, or
/// compressions were stopped for the check before.
fn rhythm_decides_from_ms(planner: &Planner<'_>) -> Option<i64> {
    let shock = &planner.protocol.shock;
    let stop_ms = planner.state.chest.pause.and_then(|pause| pause.check).map(|check| check.at_ms);
    let ask_ms = planner.running_check.or(planner.next_check)?.due_ms - shock.charge_ask_ahead_s.ms();
    match (planner.running_check, stop_ms) {
        (Some(_), Some(stop_ms)) => Some(ask_ms.min(stop_ms)),
        _ => Some(ask_ms).filter(|ask_ms| shock.precharge.value && planner.now_ms >= *ask_ms),
    }
}

/// A charge that is not wanted, or was held too long.
pub(super) fn dump(planner: &mut Planner<'_>) {
    let Some(charge) = planner.state.rhythms.charge else { return };
    planner.wake(charge.mark.at_ms + planner.protocol.shock.charge_hold_s.ms());
    if let Some(check) = planner.next_check {
        planner.wake(check.due_ms - planner.protocol.shock.charge_ask_ahead_s.ms());
    }
    let Some((from_ms, why)) = dump_from(planner) else { return };
    asked(Action::DumpCharge, ROLE, charge.mark, from_ms, from_ms)
        .why(why)
        .detail(Detail { energy_j: charge.energy_j, ..Detail::default() })
        .tap(Event::ChargeDumped { energy_j: charge.energy_j })
        .put(planner);
}

/// Hands were clear, the time for it is over, and nobody said whether the shock was given.
fn ask_what_became_of_it(planner: &mut Planner<'_>) -> bool {
    let Some(clear) = planner.state.rhythms.clear else { return false };
    let over_ms = clear.mark.at_ms + planner.protocol.cycle.clear_limit_s.ms();
    if planner.now_ms < over_ms {
        return false;
    }
    let charged = planner.state.rhythms.charge.and_then(|charge| charge.energy_j);
    asked(Action::ConfirmShock, ROLE, clear.mark, over_ms, over_ms)
        .why("hands were clear: was the shock given?")
        .detail(charged_detail(planner, charged.or_else(|| energy_j(planner))))
        .put(planner);
    true
}

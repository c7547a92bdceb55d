//! Reversible causes: one review every other cycle, kept clear of the check.

use crate::event::Role;
use crate::prompt::Action;

use super::{Planner, asked};

pub(super) fn plan(planner: &mut Planner<'_>) {
    let state = planner.state;
    let causes = &planner.protocol.causes;
    let (Some(start), Some(check)) = (state.cycle.start(), planner.next_check) else { return };
    let (show_ms, until_ms) = (start.at_ms + causes.ask_after_s.ms(), check.due_ms - causes.clear_of_check_s.ms());
    planner.wake(show_ms);
    planner.wake(until_ms);
    let in_check =
        state.rhythms.shock_wanted.is_some() || planner.running_check.is_some() || state.rhythms.clear.is_some();
    let reviewed = state.care.cause.is_some_and(|cause| cause.at_ms >= start.at_ms);
    if in_check || reviewed || check.first || planner.now_ms >= until_ms || !asks_in_this_cycle(planner) {
        return;
    }
    asked(Action::ReviewCauses, &[Role::Leader], start.anchor, show_ms, start.at_ms + causes.due_after_s.ms())
        .why("what could be reversed?")
        .assumed(start.assumed)
        .ticked_by_tap()
        .put(planner);
}

/// Every other cycle, the first full one among them. The stretch before an early first look is none.
fn asks_in_this_cycle(planner: &Planner<'_>) -> bool {
    let cycle = &planner.state.cycle;
    let first_was_full = match (cycle.first_start_ms, cycle.first_check_ms) {
        (Some(start_ms), Some(check_ms)) => {
            check_ms - start_ms >= planner.protocol.cycle.length_s.ms() - planner.protocol.causes.clear_of_check_s.ms()
        }
        (Some(_) | None, None) => true,
        (None, Some(_)) => false,
    };
    cycle.checks.is_multiple_of(2) == first_was_full
}

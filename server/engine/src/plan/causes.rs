//! Reversible causes: a review every few cycles, as the protocol says, kept clear of the check.

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

/// Every so many cycles, the first full one among them. The stretch before an early first look is none.
fn asks_in_this_cycle(planner: &Planner<'_>) -> bool {
    let cycle = &planner.state.cycle;
    let first_was_full = match (cycle.first_start_ms, cycle.first_check_ms) {
        (Some(start_ms), Some(check_ms)) => {
            check_ms - start_ms >= planner.protocol.cycle.length_s.ms() - planner.protocol.causes.clear_of_check_s.ms()
        }
        (Some(_) | None, None) => true,
        (None, Some(_)) => false,
    };
    let every_cycles = planner.protocol.causes.every_cycles.as_ref().map_or(1, |every| every.value);
    cycle.checks.checked_sub(u32::from(!first_was_full)).is_some_and(|full| full.is_multiple_of(every_cycles))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::protocol::{self, Sourced};
    use crate::snapshot::{Knowledge, Snapshot};
    use crate::testing::Script;

    /// In which of six cycles the causes are asked about, a minute after each begins. The first one begins after an early look.
    fn asked_in(every_cycles: Option<u32>) -> Vec<usize> {
        let mut protocol = protocol::read(include_str!("../../../protocols/aha-adult.toml")).unwrap();
        let shipped = protocol.causes.every_cycles.take().unwrap();
        protocol.causes.every_cycles = every_cycles.map(|value| Sourced { value, ..shipped });
        let mut script = Script::new(
            "0 code_opened protocol={\"id\":\"aha-adult\",\"version\":1} patient={\"age_group\":\"adult\"} training=true
            0 clock_started
            3s compressions_started",
        );
        let begins_s: Vec<i64> = (0..6).map(|cycle| 13 + 123 * cycle).collect();
        for at_s in &begins_s {
            script.extend(&format!(
                "{}s compressions_stopped reason=rhythm_check\n{}s rhythm_checked rhythm=asystole\n{at_s}s compressions_started",
                at_s - 3,
                at_s - 1
            ));
        }
        let is_asked = |at_s: i64| {
            let snapshot = Snapshot::at(script.records(), &protocol, at_s * 1_000, Knowledge::AsKnown);
            snapshot.visible(Role::Leader).iter().any(|prompt| prompt.action == Action::ReviewCauses)
        };
        (0..6).filter(|cycle| is_asked(begins_s[*cycle] + 60)).collect()
    }

    #[test]
    fn causes_are_asked_about_in_every_so_many_cycles_from_the_first_full_one_on() {
        assert_eq!(asked_in(Some(1)), [0, 1, 2, 3, 4, 5]);
        assert_eq!(asked_in(Some(2)), [0, 2, 4]);
        assert_eq!(asked_in(Some(3)), [0, 3]);
        assert_eq!(asked_in(None), [0, 1, 2, 3, 4, 5]);
    }
}

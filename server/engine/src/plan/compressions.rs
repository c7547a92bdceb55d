//! Compressions: start, stop for the check, change over, resume. What is asked around a check is asked ahead of it.

use crate::event::{CompressedBy, Event, PauseReason, Role};
use crate::prompt::{Action, Detail};

use super::check::Check;
use super::{HORIZON_MS, Planner, airway, asked, hands, rhythm};

pub(super) fn plan(planner: &mut Planner<'_>) {
    start(planner);
    resume(planner);
    if let Some(check) = planner.running_check {
        relief_and_finger(planner, check, 0);
    }
    if let Some(check) = planner.next_check {
        around(planner, check, 0);
        later_checks(planner, check);
    }
}

fn by_last_means(planner: &Planner<'_>) -> CompressedBy {
    planner.state.chest.last_by.unwrap_or(CompressedBy::Manual)
}

/// Nobody has recorded a first compression.
fn start(planner: &mut Planner<'_>) {
    let state = planner.state;
    let idle = !state.chest.started_in_arrest && state.chest.pause.is_none();
    let confirming = rhythm::confirm_stands(planner);
    let Some(arrest) = state.arrest.filter(|_| idle && !confirming) else { return };
    let start = arrest.start;
    asked(Action::StartCompressions, &[Role::Compressor], start, start.at_ms, start.at_ms)
        .why(match airway::initial_breaths_wanted(planner) {
            Some(_) => "right after the initial breaths",
            None => "no compressions recorded yet",
        })
        .tap(Event::CompressionsStarted { by: by_last_means(planner) })
        .put(planner);
}

/// A stop that nothing has ended.
fn resume(planner: &mut Planner<'_>) {
    let state = planner.state;
    let Some(pause) = state.chest.pause else { return };
    if rhythm::confirm_stands(planner) {
        return;
    }
    let cycle = &planner.protocol.cycle;
    let limit_ms = pause.stop.at_ms + cycle.pause_limit_s.ms();
    let due_ms = match (state.rhythms.clear, hands::given_back_ms(state)) {
        // Once hands were clear and nobody said what became of it, they are wanted back at the end of that.
        (Some(clear), _) => clear.mark.at_ms + cycle.clear_limit_s.ms(),
        (None, Some(given_back_ms)) => given_back_ms,
        (None, None) => limit_ms,
    };
    asked(Action::ResumeCompressions, &[Role::Compressor, Role::Relief], pause.stop, pause.stop.at_ms, due_ms)
        .late(due_ms + cycle.resume_late_s.ms())
        .why(if planner.hands.overdue { "the pause is too long" } else { "every pause stops the blood flow" })
        .tap(Event::CompressionsStarted { by: by_last_means(planner) })
        .put(planner);
}

/// All that is asked around one check. `later` counts the checks beyond the next one, which rest on a guess.
fn around(planner: &mut Planner<'_>, check: Check, later: u32) {
    let cycle = &planner.protocol.cycle;
    let ahead_ms = check.due_ms - cycle.announce_check_ahead_s.ms();
    let assumed = check.assumed || later > 0;
    let key = |asked: super::Asked| if later > 0 { asked.keyed(&format!("after{later}")) } else { asked };

    let stop = asked(Action::PauseForCheck, &[Role::Compressor], check.anchor, ahead_ms, check.due_ms)
        .late(check.due_ms + cycle.check_late_s.ms())
        .why(if check.first { "first look as soon as pads are on" } else { "two minutes of compressions" })
        .assumed(assumed)
        .tap(Event::CompressionsStopped { reason: PauseReason::RhythmCheck });
    key(stop).put(planner);

    if planner.now_ms < check.due_ms {
        let announce = asked(Action::Announce, &[Role::Leader], check.anchor, ahead_ms, ahead_ms)
            .why("so that every hand is ready")
            .assumed(assumed)
            .detail(Detail { of: Some(Action::PauseForCheck), of_at_ms: Some(check.due_ms), ..Detail::default() });
        key(announce).ticked_by_tap().put(planner);
    }
    relief_and_finger(planner, check, later);
}

fn relief_and_finger(planner: &mut Planner<'_>, check: Check, later: u32) {
    let cycle = &planner.protocol.cycle;
    let assumed = check.assumed || later > 0;
    let key = |asked: super::Asked| if later > 0 { asked.keyed(&format!("after{later}")) } else { asked };
    let since = |mark: Option<crate::state::Mark>, from_ms: i64| mark.is_some_and(|mark| mark.at_ms >= from_ms);

    let ready_show_ms = check.due_ms - cycle.announce_check_ahead_s.ms();
    if !planner.state.chest.is_mechanical() && !since(planner.state.chest.changed, ready_show_ms) {
        let ready = asked(
            Action::ReadyRelief,
            &[Role::Relief],
            check.anchor,
            ready_show_ms,
            check.due_ms - cycle.relief_ready_ahead_s.ms(),
        )
        .why("change over at the check")
        .assumed(assumed);
        // The tap swaps the two roles: it is offered when hands change, not while the relief still walks to the chest.
        let changing = planner.running_check.is_some() || planner.now_ms >= check.due_ms;
        let ready = if changing { ready.tap(Event::CompressorChanged { person: None }) } else { ready };
        key(ready).put(planner);
    }

    // A finger that was placed a little before it was asked for is on the pulse all the same.
    if !since(planner.state.care.finger, ready_show_ms) {
        let finger = asked(
            Action::FingerOnPulse,
            &[planner.state.team.pulse_duty.unwrap_or(planner.protocol.pulse_duty.value)],
            check.anchor,
            check.due_ms - cycle.finger_ask_ahead_s.ms(),
            check.due_ms - cycle.finger_on_ahead_s.ms(),
        )
        .why("the pause then only confirms")
        .assumed(assumed)
        .tap(Event::PulseFingerPlaced { site: None });
        key(finger).put(planner);
    }
}

/// Beyond the next look nobody knows the way; the checks go on every two minutes until it is known.
fn later_checks(planner: &mut Planner<'_>, next: Check) {
    let cycle = &planner.protocol.cycle;
    let step_ms = cycle.pause_limit_s.ms() + cycle.length_s.ms();
    let horizon_ms = planner.now_ms + HORIZON_MS;
    let mut later = 1;
    let mut due_ms = next.due_ms.max(planner.now_ms) + step_ms;
    if next.due_ms <= planner.now_ms {
        planner.wake(planner.now_ms + cycle.pause_limit_s.ms());
    }
    while due_ms - cycle.announce_check_ahead_s.ms() <= horizon_ms {
        around(planner, Check { due_ms, anchor: next.anchor, assumed: true, first: false }, later);
        due_ms += step_ms;
        later += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::snapshot::{Knowledge, Snapshot};
    use crate::testing::Script;

    /// With an advanced airway in, the airway role has a hand free for the pulse.
    #[test]
    fn the_leader_may_give_the_pulse_duty_to_another_role() {
        let protocol = crate::protocol::read(include_str!("../../../protocols/aha-adult.toml")).unwrap();
        let mut script = Script::new("0 clock_started\n3s compressions_started");
        let asked = |script: &Script, role: Role| {
            let snapshot = Snapshot::at(script.records(), &protocol, 110_000, Knowledge::AsKnown);
            snapshot.visible(role).iter().any(|prompt| prompt.action == Action::FingerOnPulse)
        };
        assert!(asked(&script, Role::Relief) && !asked(&script, Role::Airway));
        script.extend("60s pulse_duty_given role=airway");
        assert!(asked(&script, Role::Airway) && !asked(&script, Role::Relief));
    }

    /// One tap swaps compressor and relief: before hands change it would move both screens to the wrong person.
    #[test]
    fn the_change_over_is_offered_when_hands_change_and_not_before() {
        let protocol = crate::protocol::read(include_str!("../../../protocols/aha-adult.toml")).unwrap();
        let mut script = Script::new("0 clock_started\n3s compressions_started");
        let offered = |script: &Script, at_ms: i64| {
            let snapshot = Snapshot::at(script.records(), &protocol, at_ms, Knowledge::AsKnown);
            let visible = snapshot.visible(Role::Relief);
            visible.iter().find(|prompt| prompt.action == Action::ReadyRelief).unwrap().tap.is_some()
        };
        assert!(!offered(&script, 100_000));
        assert!(offered(&script, 123_000));
        script.extend("121s compressions_stopped reason=rhythm_check");
        assert!(offered(&script, 121_500));
    }
}

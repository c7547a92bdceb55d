//! The look: reading rhythm and pulse, and what the leader is asked after it.

use crate::event::{Event, PauseReason, Role};
use crate::prompt::{Action, Detail};
use crate::state::{Mark, Meaning};

use super::{Planner, asked};

pub(super) fn plan(planner: &mut Planner<'_>) {
    read_rhythm(planner);
    look_again(planner);
    if let Some((mark, why)) = confirm(planner) {
        // Once the pause is over hands are ordered back, whatever was felt: until then somebody has to say.
        let pause_ms = planner.state.chest.pause.map_or(mark.at_ms, |pause| pause.stop.at_ms);
        asked(Action::ConfirmRosc, &[Role::Leader], mark, mark.at_ms, mark.at_ms)
            .late(mark.at_ms.max(pause_ms + planner.protocol.cycle.pause_limit_s.ms()))
            .why(why)
            .tap(Event::Rosc {})
            .put(planner);
    }
}

/// The stop for a check wants its look, also when compressions run again: the plan hangs on it.
fn read_rhythm(planner: &mut Planner<'_>) {
    let state = planner.state;
    let Some(stop) = state.cycle.unread_stop else { return };
    let cycle = &planner.protocol.cycle;
    asked(Action::ReadRhythm, &[Role::Leader], stop, stop.at_ms, stop.at_ms + cycle.read_rhythm_s.ms())
        .late(stop.at_ms + cycle.pause_limit_s.ms())
        .why("say rhythm, and pulse if the rhythm is organised")
        .put(planner);
}

/// A look that leaves a question: the pulse nobody felt, or a pulse that cannot be.
fn look_again(planner: &mut Planner<'_>) {
    let Some(look) = planner.state.rhythms.question else { return };
    let (of, why) = match look.meaning {
        Meaning::PulseUnknown => (Action::FingerOnPulse, "an organised rhythm: is there a pulse?"),
        Meaning::Contradiction => (Action::ReadRhythm, "a shockable rhythm with a pulse: look again"),
        Meaning::Shockable | Meaning::NotShockable | Meaning::PulsePresent | Meaning::Unreadable => return,
    };
    asked(Action::ReadRhythm, &[Role::Leader], look.mark, look.mark.at_ms, look.mark.at_ms)
        .late(look.mark.at_ms + planner.protocol.cycle.pause_limit_s.ms())
        .why(why)
        .detail(Detail { of: Some(of), ..Detail::default() })
        .put(planner);
}

/// What asks whether circulation has returned: a look with a pulse, or a stop for ROSC that nobody confirmed.
fn confirm(planner: &mut Planner<'_>) -> Option<(Mark, &'static str)> {
    let state = planner.state;
    if let Some(look) = state.rhythms.question.filter(|look| look.meaning == Meaning::PulsePresent) {
        return Some((look.mark, "a pulse was felt: return of circulation?"));
    }
    let pause = state.chest.pause.filter(|pause| pause.reason == PauseReason::Rosc)?;
    let from_ms = pause.stop.at_ms + planner.protocol.cycle.confirm_rosc_after_s.ms();
    planner.wake(from_ms);
    let asked_from = Mark { at_ms: from_ms, id: pause.stop.id };
    (planner.now_ms >= from_ms).then_some((asked_from, "stopped for return of circulation: confirm it"))
}

/// Whether the leader is asked to confirm the return of circulation.
pub(super) fn confirm_stands(planner: &mut Planner<'_>) -> bool {
    confirm(planner).is_some()
}

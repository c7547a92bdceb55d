//! The hands line: what the chest gets now. It never orders hands off by itself: pause and clear begin with something a
//! person recorded, and end by themselves at their limit.

use crate::protocol::Protocol;
use crate::state::{Look, State};
use crate::view::{Hands, HandsOrder, Observed, Phase};

/// The order at a moment, beside what was observed.
pub fn order(state: &State, protocol: &Protocol, now_ms: i64) -> Hands {
    let chest = &state.chest;
    let observed = Observed {
        compressing: chest.compressing.is_some(),
        since_ms: match (chest.compressing, chest.pause) {
            (Some(running), _) => Some(running.since_ms),
            (None, Some(pause)) => Some(pause.stop.at_ms),
            (None, None) => None,
        },
        by: chest.compressing.map(|running| running.by),
    };
    let (now, since_ms, until_ms, overdue) = decide(state, protocol, now_ms);
    Hands { now, since_ms, until_ms, overdue, observed }
}

fn decide(state: &State, protocol: &Protocol, now_ms: i64) -> (HandsOrder, i64, Option<i64>, bool) {
    if state.phase != Phase::Arrest {
        return (HandsOrder::None, state.phase_since_ms, None, false);
    }
    let mut passed_ms = None;
    if let Some(clear) = state.rhythms.clear {
        let until_ms = clear.mark.at_ms + protocol.cycle.clear_limit_s.ms();
        if now_ms < until_ms {
            return (HandsOrder::Clear, clear.mark.at_ms, Some(until_ms), false);
        }
        passed_ms = Some(until_ms);
    } else if let Some(pause) = state.chest.pause {
        let until_ms = pause.stop.at_ms + protocol.cycle.pause_limit_s.ms();
        match given_back_ms(state) {
            Some(at_ms) => return (HandsOrder::Compress, at_ms, None, false),
            None if now_ms < until_ms => return (HandsOrder::Pause, pause.stop.at_ms, Some(until_ms), false),
            None => passed_ms = Some(until_ms),
        }
    }
    match (passed_ms, state.chest.compressing) {
        (Some(at_ms), None) => (HandsOrder::Compress, at_ms, None, true),
        (Some(at_ms), Some(_)) => (HandsOrder::Compress, at_ms, None, false),
        (None, Some(running)) => (HandsOrder::Compress, running.since_ms, None, false),
        (None, None) => (HandsOrder::Compress, state.phase_since_ms, None, false),
    }
}

/// The running pause is over for the hands: a look gave them back, or a shock or its end did.
pub(super) fn given_back_ms(state: &State) -> Option<i64> {
    let pause = state.chest.pause?;
    let settled_ms = pause.settled_ms?;
    let look: Option<Look> = state.rhythms.look.filter(|look| look.mark.at_ms >= pause.stop.at_ms);
    match look {
        // A pulse, or the question for one, keeps hands off to the limit, unless a shock came after all.
        Some(look) if look.meaning.keeps_pause() => state
            .rhythms
            .shocks
            .last()
            .map(|shock| shock.mark.at_ms)
            .filter(|at_ms| *at_ms >= pause.stop.at_ms && *at_ms >= look.mark.at_ms),
        Some(_) | None => Some(settled_ms),
    }
}

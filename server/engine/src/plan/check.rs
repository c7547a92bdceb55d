//! The check of rhythm and pulse: when the next one is, and which one runs.

use crate::protocol::Protocol;
use crate::state::{Mark, Start, State};

/// A planned check.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Check {
    /// When compressions are to stop for it: T.
    pub due_ms: i64,
    /// The record it hangs on.
    pub anchor: Mark,
    /// Whether a tap is missing behind it.
    pub assumed: bool,
    /// The first check of the arrest, made as soon as pads are on.
    pub first: bool,
}

/// The next check of the arrest that runs.
pub(super) fn next(state: &State, protocol: &Protocol) -> Option<Check> {
    if !state.in_arrest() {
        return None;
    }
    if state.cycle.first_check_ms.is_none()
        && let Some(first) = first(state, protocol)
    {
        return Some(first);
    }
    state.cycle.start().map(|start| after(start, protocol))
}

/// The check that stopped compressions and has had no look yet. Past the pause's limit it is over, look or no look.
pub(super) fn running(state: &State, protocol: &Protocol, now_ms: i64) -> Option<Check> {
    let pause = state.chest.pause.filter(|_| state.in_arrest())?;
    pause.check?;
    if pause.settled_ms.is_some() || now_ms >= pause.stop.at_ms + protocol.cycle.pause_limit_s.ms() {
        return None;
    }
    let was_first = state.cycle.first_check_ms == Some(pause.stop.at_ms);
    if was_first && let Some(first) = first(state, protocol) {
        return Some(first);
    }
    state.cycle.checked.map(|start| after(start, protocol))
}

fn first(state: &State, protocol: &Protocol) -> Option<Check> {
    let (pads, arrest) = (state.care.pads?, state.arrest?);
    let anchor = if pads.at_ms >= arrest.start.at_ms { pads } else { arrest.start };
    let anchor = Mark { at_ms: anchor.at_ms.max(arrest.told_ms), id: anchor.id };
    let due_ms = anchor.at_ms + protocol.cycle.first_check_after_pads_s.ms();
    Some(Check { due_ms, anchor, assumed: false, first: true })
}

fn after(start: Start, protocol: &Protocol) -> Check {
    Check {
        due_ms: start.at_ms + protocol.cycle.length_s.ms(),
        anchor: start.anchor,
        assumed: start.assumed,
        first: false,
    }
}

//! Pads that are to be moved, after shocks that did not end the rhythm. Asked between shocks only: it delays none, and
//! nobody touches pads that hold a charge.

use crate::event::{Event, Role};
use crate::prompt::{Action, Detail};
use crate::protocol::Refractory;
use crate::state::{Mark, Meaning};
use crate::view::NoteKind;

use super::{Planner, asked};

pub(super) fn plan(planner: &mut Planner<'_>) {
    let Some(rule) = &planner.protocol.shock.refractory else { return };
    let Some((anchor, from_ms)) = refractory(planner, rule) else { return };
    planner.note_from(&[Role::Leader], NoteKind::Information, &rule.words.value, &rule.words.source);

    let state = planner.state;
    let Some(pads) = rule.pads.as_ref().filter(|pads| state.care.pad_position != Some(pads.value)) else { return };
    let shocking = state.rhythms.shock_wanted.is_some() || state.rhythms.charge.is_some();
    let near_check = planner.running_check.is_some()
        || planner.next_check.is_some_and(|check| {
            let ask_ms = check.due_ms - planner.protocol.shock.charge_ask_ahead_s.ms();
            planner.wake(ask_ms);
            planner.now_ms >= ask_ms
        });
    // Where a circumstance allows no further shock, there is nothing to move them for.
    if shocking || near_check || state.rhythms.limited {
        return;
    }
    let word = serde_json::to_value(pads.value).ok().and_then(|word| word.as_str().map(str::to_owned));
    asked(Action::ChangePads, &[Role::Defibrillator], anchor, from_ms, from_ms)
        .why("shocks do not end the rhythm; compressions go on")
        .detail(Detail { target: word, ..Detail::default() })
        .tap(Event::PadsAttached { position: pads.value })
        .put(planner);
}

/// The shock that made the rhythm a refractory one, and since when it is: the last look was shockable all the same.
fn refractory(planner: &Planner<'_>, rule: &Refractory) -> Option<(Mark, i64)> {
    let state = planner.state;
    let look = state.rhythms.look.filter(|look| look.meaning == Meaning::Shockable)?;
    // Circulation came back from the shocks of an earlier arrest: they did not fail.
    let prior = if state.arrest?.number == 1 { state.rhythms.prior_shocks } else { 0 };
    let needed = usize::try_from(rule.after_shocks.value.saturating_sub(prior)).ok()?;
    let mut here = state.rhythms.shocks.iter().filter(|shock| shock.in_this_arrest);
    let anchor = match needed.checked_sub(1) {
        Some(place) => here.nth(place)?.mark,
        None => state.care.prior_marks.shocks?,
    };
    Some((anchor, anchor.at_ms.max(look.shockable_since_ms.unwrap_or(look.mark.at_ms))))
}

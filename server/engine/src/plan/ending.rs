//! An arrest that lasts: what the guideline says to consider, as information for the leader. Nothing here advises, and
//! nothing changes what the plan asks. Once a person has declared death, the leader is asked to close the code, since the
//! screens go on ordering compressions until then.

use crate::event::Role;
use crate::prompt::Action;
use crate::view::NoteKind;

use super::clock::clock;
use super::{Planner, asked};

/// Death was declared, in an arrest or after return of circulation: seen with its time until the code is closed, or the
/// leader says that it goes on.
pub(super) fn declared(planner: &mut Planner<'_>) {
    let Some(declared) = planner.state.death_declared else { return };
    let ask = asked(Action::CloseCode, &[Role::Leader], declared, declared.at_ms, declared.at_ms);
    if planner.state.ticked.contains(ask.key()) {
        return;
    }
    let text = format!(
        "Death declared {} after recognition; the code is open until somebody closes it.",
        clock(declared.at_ms.max(0))
    );
    planner.note(Role::ALL, NoteKind::Information, &text);
    ask.why("until then every task goes on").ticked_by_tap().put(planner);
}

const LEADER: &[Role] = &[Role::Leader];

pub(super) fn plan(planner: &mut Planner<'_>) {
    let state = planner.state;
    let Some(arrest) = state.arrest else { return };
    let look = state.rhythms.look;
    for ending in &planner.protocol.ending {
        let since_ms = match ending.rhythm {
            None => arrest.start.at_ms,
            Some(rhythm) => match look.filter(|look| look.rhythm == rhythm) {
                Some(look) => look.rhythm_since_ms.max(arrest.start.at_ms),
                None => continue,
            },
        };
        let from_ms = since_ms + ending.after_s.as_ref().map_or(0, |after| after.ms());
        planner.wake(from_ms);
        if planner.now_ms >= from_ms {
            planner.note_from(LEADER, NoteKind::Information, &ending.words.value, &ending.words.source);
        }
    }
}

//! An arrest that lasts: what the guideline says to consider, as information for the leader. Nothing here advises, and
//! nothing changes what the plan asks. Once a person has declared death, the leader is asked to close the code, since the
//! screens go on ordering compressions until then.

use crate::event::Role;
use crate::prompt::Action;
use crate::view::NoteKind;

use super::{Planner, asked};

pub(super) fn plan(planner: &mut Planner<'_>) {
    let state = planner.state;
    let Some(arrest) = state.arrest else { return };
    if let Some(declared) = state.death_declared {
        let seconds = (declared.at_ms / 1_000).max(0);
        let text = format!(
            "Death declared {}:{:02} after recognition; the code is open until somebody closes it.",
            seconds / 60,
            seconds % 60
        );
        planner.note(Role::ALL, NoteKind::Information, &text);
        asked(Action::CloseCode, &[Role::Leader], declared, declared.at_ms, declared.at_ms)
            .why("until then every task goes on")
            .ticked_by_tap()
            .put(planner);
    }
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
            planner.note(&[Role::Leader], NoteKind::Information, &ending.words.value);
        }
    }
}

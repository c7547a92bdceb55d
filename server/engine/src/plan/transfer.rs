//! The patient on the move, and extracorporeal circulation: the code goes on, and the leader says what changed.

use crate::event::Role;
use crate::prompt::Action;
use crate::view::NoteKind;

use super::{Planner, asked};

/// Moved: who holds which role here? Counts, compressions and every other task go on.
pub(super) fn roles(planner: &mut Planner<'_>) {
    let Some(moved) = planner.state.moved.as_ref().map(|moved| moved.mark) else { return };
    asked(Action::ConfirmRoles, &[Role::Leader], moved, moved.at_ms, moved.at_ms)
        .why("the patient was moved: who does what here?")
        .ticked_by_tap()
        .put(planner);
}

/// Extracorporeal circulation was started. Hands are given back to nobody but the team: compressions are ordered until
/// circulation is recorded or the code is closed.
pub(super) fn flow(planner: &mut Planner<'_>) {
    let Some(started) = planner.state.ecmo else { return };
    planner.note(
        &[Role::Leader],
        NoteKind::Information,
        "ECMO started: compressions and drugs go on by the protocol until return of circulation is recorded or the code \
         is closed; the team decides.",
    );
    asked(Action::ConfirmFlow, &[Role::Leader], started, started.at_ms, started.at_ms)
        .why("does its flow carry the patient?")
        .ticked_by_tap()
        .put(planner);
}

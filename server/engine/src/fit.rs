//! Keeping a view within its limit on the wire. What shows now is never dropped: first the farthest guesses go, then
//! what shows later, then information from the guideline, then words and ready-made taps, which every screen can do without,
//! and last what stands elsewhere too: the lines of aftercare, the place, the notes on what is assumed.

use crate::prompt::{Action, Prompt};
use crate::view::{NoteKind, View};

/// Trims a view until its JSON has at most `limit_bytes`.
pub fn fit(view: &mut View, limit_bytes: usize) {
    let at_ms = view.at_ms;
    while size(view) > limit_bytes {
        let later = |assumed: bool| {
            let prompts = view.prompts.iter().enumerate();
            prompts
                .filter(|(_, prompt)| prompt.show_at_ms > at_ms && (prompt.assumed || !assumed))
                .max_by_key(|(_, prompt)| prompt.show_at_ms)
                .map(|(place, _)| place)
        };
        if let Some(place) = later(true).or_else(|| later(false)) {
            view.prompts.remove(place);
        } else if view.notes.last().is_some_and(|note| note.kind == NoteKind::Information) {
            // Notes stand in order of gravity: information last.
            view.notes.pop();
        } else if let Some(prompt) = view.prompts.iter_mut().rev().find(|prompt| !prompt.why.is_empty()) {
            prompt.why.clear();
        } else if let Some(prompt) = view.prompts.iter_mut().rev().find(|prompt| aim_of_care(prompt)) {
            // The task itself stays: its aim is in the protocol too.
            prompt.detail.target = None;
        } else if let Some(prompt) = view.prompts.iter_mut().rev().find(|prompt| prompt.tap.is_some()) {
            prompt.tap = None;
        } else if view.aftercare.pop().is_some() {
            // Each target that is still asked for stands in its prompt as well.
        } else if view.location.take().is_some() {
            // The list of codes has it.
        } else if view.notes.last().is_some_and(|note| note.kind == NoteKind::Assumption) {
            // The drugs' lines mark what is assumed; a conflict and what is withheld always stand.
            view.notes.pop();
        } else if let Some(prompt) = view.prompts.iter_mut().rev().find(|prompt| !prompt.done_by.is_empty()) {
            // Only a tablet that has lost its server needs them.
            prompt.done_by.clear();
        } else if let Some(prompt) = view.prompts.iter_mut().rev().find(|prompt| named_by_key(prompt)) {
            prompt.detail.circumstance = None;
        } else {
            return;
        }
    }
}

fn aim_of_care(prompt: &Prompt) -> bool {
    prompt.action == Action::SpecialCare && prompt.detail.target.is_some()
}

/// The key of a circumstance's task names its circumstance too.
fn named_by_key(prompt: &Prompt) -> bool {
    prompt.action == Action::SpecialCare && prompt.detail.circumstance.is_some()
}

fn size(view: &View) -> usize {
    serde_json::to_string(view).map_or(0, |text| text.len())
}

//! Keeping a view within its limit on the wire. What shows now is never dropped, nor the tap that answers it: a button
//! that recorded something else than the task above it would be worse than a long view. First the sources of sentences go,
//! then the farthest guesses, then what shows later, information from the guideline, reasons, ticks (a screen makes them from the
//! key), and last what stands elsewhere too: the lines of aftercare, the place, the words of the team's tasks, the aims of a
//! circumstance's tasks.
//! A device that holds many roles in a code with several circumstances may still get a longer one.

use crate::event::Event;
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
        if let Some(note) = view.notes.iter_mut().find(|note| note.source.is_some()) {
            // Nobody acts on it at the bedside, and the protocol's own page has every one.
            note.source = None;
        } else if let Some(place) = later(true).or_else(|| later(false)) {
            view.prompts.remove(place);
        } else if view.notes.last().is_some_and(|note| note.kind == NoteKind::Information) {
            // Notes stand in order of gravity: information last.
            view.notes.pop();
        } else if let Some(prompt) = view.prompts.iter_mut().rev().find(|prompt| !prompt.why.is_empty()) {
            prompt.why.clear();
        } else if let Some(prompt) = view.prompts.iter_mut().rev().find(|prompt| is_ticked(prompt)) {
            prompt.tap = None;
        } else if view.aftercare.pop().is_some() {
            // Each target that is still asked for stands in its prompt as well.
        } else if view.location.take().is_some() {
            // The list of codes has it.
        } else if let Some(line) = view.team.iter_mut().flatten().find(|line| line.item.is_some()) {
            // The line still says what kind of task it is.
            line.item = None;
        } else if let Some(prompt) =
            view.prompts.iter_mut().rev().find(|prompt| prompt.tap.is_some() && !prompt.done_by.is_empty())
        {
            // Only a tablet that has lost its server needs them, where the tap itself stands.
            prompt.done_by.clear();
        } else if let Some(prompt) = view.prompts.iter_mut().rev().find(|prompt| named_by_key(prompt)) {
            prompt.detail.circumstance = None;
        } else if let Some(prompt) = view.prompts.iter_mut().rev().find(|prompt| aim_of_care(prompt)) {
            // The task itself stays: its aim is in the protocol too.
            prompt.detail.target = None;
        } else {
            return;
        }
    }
}

/// One tap only ticks it: the event is made of the key.
fn is_ticked(prompt: &Prompt) -> bool {
    matches!(prompt.tap, Some(Event::TaskDone { .. }))
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

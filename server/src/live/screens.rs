//! What each set of roles is shown, cut to the size that a view may have. It decides nothing clinical: what
//! may be left out is the engine's to say.

use std::collections::BTreeSet;

use coxswain_engine::event::Role;
use coxswain_engine::fit::fit;
use coxswain_engine::snapshot::Snapshot;
use coxswain_engine::view::View;
use serde::Serialize;

use super::outbox::Frame;
use crate::wire::{MAX_VIEW_BYTES, ViewMessage};

/// The envelope's tag, written flat beside the view.
#[derive(Serialize)]
struct Tagged<'a> {
    r#type: &'static str,
    #[serde(flatten)]
    message: &'a ViewMessage,
}

/// What a set of roles sees. Where nobody holds any role, everybody sees every prompt.
pub(super) fn view_of(snapshot: &Snapshot, roles: &BTreeSet<Role>) -> View {
    if snapshot.holders().is_empty() {
        let everyone = Role::ALL.iter().copied().collect();
        let mut view = snapshot.view(&everyone);
        view.team = None;
        view
    } else {
        snapshot.view(roles)
    }
}

/// Roles that nobody holds.
pub(super) fn unheld(snapshot: &Snapshot) -> Vec<Role> {
    if snapshot.holders().is_empty() { Role::ALL.to_vec() } else { snapshot.unheld() }
}

/// The message's text, at most [`MAX_VIEW_BYTES`] long if leaving out what does not show yet can make it so.
pub(super) fn fitted(message: &mut ViewMessage) -> Frame {
    let text = tagged(message);
    if text.len() <= MAX_VIEW_BYTES {
        return text;
    }
    let view_bytes = super::outbox::frame(&message.view).len();
    let envelope_bytes = text.len().saturating_sub(view_bytes);
    fit(&mut message.view, MAX_VIEW_BYTES.saturating_sub(envelope_bytes));
    tagged(message)
}

fn tagged(message: &ViewMessage) -> Frame {
    super::outbox::frame(&Tagged { r#type: "view", message })
}

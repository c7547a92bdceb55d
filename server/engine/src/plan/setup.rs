//! What every arrest needs once: pads and access.

use crate::event::{AccessRoute, Event, PadPosition, Role};
use crate::prompt::{Action, Detail};

use super::{Planner, asked, special};

/// Pads and access: asked when the arrest begins, and again only if they are lost.
pub(super) fn arrest(planner: &mut Planner<'_>) {
    let Some(arrest) = planner.state.arrest else { return };
    let care = &planner.state.care;
    if care.pads.is_none() && !care.pads_implied {
        let anchor = care.pads_removed.unwrap_or(arrest.start);
        asked(Action::AttachPads, &[Role::Defibrillator], anchor, anchor.at_ms, anchor.at_ms)
            .why("no look at the rhythm without them")
            .tap(Event::PadsAttached { position: PadPosition::Anterolateral })
            .put(planner);
    }
    if care.access.routes.is_empty() {
        let anchor = care.access.lost.filter(|lost| lost.at_ms > arrest.start.at_ms).unwrap_or(arrest.start);
        let due_ms = anchor.at_ms + planner.protocol.drugs.access_due_s.ms();
        asked(Action::GainAccess, &[Role::Drugs], anchor, anchor.at_ms, due_ms)
            .why("drugs need a line: vein first, bone if that fails")
            .detail(Detail { target: special::access_note(planner), ..Detail::default() })
            .tap(Event::AccessGained { route: AccessRoute::Iv, site: None })
            .put(planner);
    }
}

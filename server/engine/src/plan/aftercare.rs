//! Care after return of circulation: the protocol's targets, each asked of its role until it was met with a reading.

use crate::prompt::{Action, Detail};

use super::{Planner, asked};

pub(super) fn plan(planner: &mut Planner<'_>) {
    let Some(rosc) = planner.state.rosc else { return };
    for item in &planner.protocol.aftercare {
        let read = item.reading.as_ref().and_then(|field| planner.state.care.readings.get(field.as_str()));
        if read.is_some_and(|at_ms| *at_ms >= rosc.at_ms) {
            continue;
        }
        let prompt = asked(Action::Aftercare, &[item.role], rosc, rosc.at_ms, rosc.at_ms + item.due_s.ms())
            .keyed(&item.id)
            .why("care after return of circulation")
            .detail(Detail {
                item: Some(item.title.clone()),
                target: Some(item.target.value.clone()),
                ..Detail::default()
            });
        prompt.ticked_by_tap().put(planner);
    }
}

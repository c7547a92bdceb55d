//! "Twice?": two doses of one drug closer together than its rule allows. Both stand on the record and count until somebody
//! says that one of them was a slip.

use crate::event::Role;
use crate::prompt::{Action, Detail};
use crate::state::Mark;

use super::drugs::EPINEPHRINE;
use super::{Planner, asked};

pub(super) fn plan(planner: &mut Planner<'_>) {
    for (drug, first, second) in doubtful(planner) {
        asked(Action::ConfirmSecondDose, &[Role::Drugs, Role::Leader], second, second.at_ms, second.at_ms)
            .why("two doses close together: were both given?")
            .detail(Detail {
                drug: Some(drug),
                of_at_ms: Some(first.at_ms),
                apart_ms: Some(second.at_ms - first.at_ms),
                ..Detail::default()
            })
            .ticked_by_tap()
            .put(planner);
    }
}

/// Doses in a row that stand too close: epinephrine within its minimum, an antiarrhythmic with no shock between.
fn doubtful(planner: &Planner<'_>) -> Vec<(String, Mark, Mark)> {
    let protocol = planner.protocol;
    let mut found = Vec::new();
    for (drug, medication) in &planner.state.care.drugs {
        let is_antiarrhythmic = protocol.antiarrhythmic.drugs.iter().any(|known| known.id == *drug);
        for pair in medication.given.windows(2) {
            let [first, second] = [pair[0].mark, pair[1].mark];
            let too_close = if drug == EPINEPHRINE {
                second.at_ms - first.at_ms < pair[1].interval_factor * protocol.epinephrine.min_interval_s.ms()
            } else {
                let between = |at_ms: i64| first.at_ms < at_ms && at_ms <= second.at_ms;
                is_antiarrhythmic && !planner.state.rhythms.shocks.iter().any(|shock| between(shock.mark.at_ms))
            };
            if too_close {
                found.push((drug.clone(), first, second));
            }
        }
    }
    found
}

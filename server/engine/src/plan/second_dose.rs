//! "Twice?": two doses of one drug closer together than its rule allows, or an antiarrhythmic right after the other. Both
//! stand on the record and count until somebody says that one of them was a slip.

use crate::event::Role;
use crate::prompt::{Action, Detail};
use crate::state::{Mark, PriorTime};

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
    found.extend(after_prior_care(planner));
    // A dose is asked about once, whatever it stands too close to.
    let asked: Vec<uuid::Uuid> = found.iter().map(|(_, _, second)| second.id).collect();
    found.extend(two_antiarrhythmics(planner).into_iter().filter(|(_, _, second)| !asked.contains(&second.id)));
    found
}

/// The first dose of epinephrine here within the minimum of one before arrival whose time was told.
fn after_prior_care(planner: &Planner<'_>) -> Option<(String, Mark, Mark)> {
    let care = &planner.state.care;
    let prior = care.prior_epinephrine().filter(|prior| prior.time == PriorTime::Told)?;
    let here = care.drugs.get(EPINEPHRINE)?.given.first()?;
    let apart_ms = here.mark.at_ms - prior.mark.at_ms;
    let min_ms = here.interval_factor * planner.protocol.epinephrine.min_interval_s.ms();
    (0..min_ms).contains(&apart_ms).then(|| (EPINEPHRINE.to_owned(), prior.mark, here.mark))
}

/// One antiarrhythmic right after the other: either drug, never both in a row.
fn two_antiarrhythmics(planner: &Planner<'_>) -> Vec<(String, Mark, Mark)> {
    let known = planner.protocol.antiarrhythmic.drugs.iter();
    let mut given: Vec<(&str, Mark)> = known
        .filter_map(|drug| Some((drug.id.as_str(), planner.state.care.drugs.get(&drug.id)?)))
        .flat_map(|(id, medication)| medication.given.iter().map(move |dose| (id, dose.mark)))
        .collect();
    given.sort_by_key(|(_, mark)| mark.at_ms);
    let pairs = given.windows(2).filter(|pair| pair[0].0 != pair[1].0);
    pairs.map(|pair| (pair[1].0.to_owned(), pair[0].1, pair[1].1)).collect()
}

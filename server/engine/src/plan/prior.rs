//! What the plan assumes of care before arrival, said where it assumes it. The counts themselves are taken where they
//! count: in `drugs`, `shock` and `airway`.

use crate::event::Role;
use crate::state::PriorTime;
use crate::view::NoteKind;

use super::Planner;
use super::drugs::{EPINEPHRINE, antiarrhythmics_given, last_epinephrine};

const TO: &[Role] = &[Role::Leader, Role::Drugs];

pub(super) fn plan(planner: &mut Planner<'_>) {
    let care = &planner.state.care;
    let leads =
        care.prior_epinephrine().filter(|dose| last_epinephrine(planner.state).map(|last| last.0) == Some(dose.mark));
    let epinephrine = leads.and_then(|dose| match dose.time {
        PriorTime::Told => None,
        PriorTime::Unknown => {
            Some("Epinephrine before arrival, time not known: taken as given when this code was opened.")
        }
        PriorTime::Ahead => {
            Some("Epinephrine before arrival, told with a time still to come: taken as given when it was told.")
        }
    });
    let ids: Vec<&str> = planner.protocol.antiarrhythmic.drugs.iter().map(|drug| drug.id.as_str()).collect();
    let given_here = |drug: &str| care.drugs.get(drug).is_some_and(|drug| !drug.given.is_empty());
    let antiarrhythmic_here = ids.iter().any(|drug| given_here(drug));

    // Once a drug that follows shocks was given here, the shocks before have had their say.
    let shocks = planner.state.rhythms.prior_shocks;
    let shocks = (shocks > 0 && !antiarrhythmic_here && !given_here(EPINEPHRINE)).then(|| {
        let what = if shocks == 1 { "1 shock".to_owned() } else { format!("{shocks} shocks") };
        format!("{what} before arrival, times not known: counted towards the drugs that follow shocks.")
    });
    let doses = antiarrhythmics_given(planner.state, planner.protocol).doses;
    let antiarrhythmic = (doses > 0 && !antiarrhythmic_here).then(|| {
        let doses = if doses == 1 { "one dose".to_owned() } else { format!("{doses} doses") };
        format!("Antiarrhythmic before arrival, time not known: taken as {doses}, given before every shock here.")
    });
    for text in epinephrine.map(str::to_owned).into_iter().chain(shocks).chain(antiarrhythmic) {
        planner.note(TO, NoteKind::Assumption, &text);
    }
}

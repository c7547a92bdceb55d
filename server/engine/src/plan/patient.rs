//! For whom the plan is: whether the protocol fits the patient, which weight doses and energies go by, and what is asked
//! until that is known. No amount is shown on a guess, and no task is held back for one.

use crate::event::{Event, Patient, Role, WeightBasis};
use crate::prompt::{Action, Detail, WeightEstimate};
use crate::view::NoteKind;
use crate::weight;

use super::{Planner, asked};

impl Planner<'_> {
    /// Why no amount of this protocol may be shown for this patient: it is made for another age. In words.
    pub(super) fn made_for_others(&self) -> Option<String> {
        let patient = self.state.age_group(self.protocol);
        if self.protocol.is_for(patient) {
            return None;
        }
        let whose = if patient.is_young() { "an adult's" } else { "a child's" };
        Some(format!("this protocol's doses and energies are {whose}: change the protocol"))
    }

    /// A child whose weight nobody entered: no amount and no energy may be shown.
    pub(super) fn lacks_weight(&self) -> bool {
        self.state.age_group(self.protocol).is_young() && self.state.patient.weight_kg.is_none()
    }

    /// The weight as it stands beside a dose, an estimate labelled as one.
    pub(super) fn weight_label(&self) -> Option<String> {
        weight::label(&self.state.patient, self.protocol)
    }

    /// Why the weight is doubted, until somebody says that it is right.
    pub(super) fn weight_doubt(&self) -> Option<String> {
        self.state.weight_doubt(self.protocol)
    }

    fn estimate(&self) -> Option<WeightEstimate> {
        weight::estimate(&self.state.patient, self.protocol)
    }
}

/// The protocol is made for another age than the patient's: the leader changes it in one tap.
pub(super) fn protocol(planner: &mut Planner<'_>) {
    let (Some(fitted), Some(why)) = (planner.state.fitted, planner.made_for_others()) else { return };
    asked(Action::ChangeProtocol, &[Role::Leader], fitted, fitted.at_ms, fitted.at_ms)
        .why(why)
        .detail(Detail { item: planner.protocol.other_ages.clone(), ..Detail::default() })
        .put(planner);
}

/// A child's doses want a weight: the question stands from the opening on, and again where the weight is doubtful.
pub(super) fn weight(planner: &mut Planner<'_>) {
    if planner.lacks_weight() {
        missing(planner);
    } else if let Some(doubt) = planner.weight_doubt() {
        doubtful(planner, doubt);
    }
    outranked(planner);
}

const ROLES: &[Role] = &[Role::Leader, Role::Recorder];

fn missing(planner: &mut Planner<'_>) {
    let Some(opened) = planner.state.opened else { return };
    let estimate = planner.estimate();
    let why = match (&estimate, planner.state.patient.age_months) {
        (Some(_), _) => "doses and energies depend on it; the estimate counts once confirmed",
        (None, None) => "doses and energies depend on it; with the age there is an estimate",
        (None, Some(_)) => "doses and energies depend on it; no formula holds for this age",
    };
    let mut asked = asked(Action::EnterWeight, ROLES, opened, opened.at_ms, opened.at_ms).why(why);
    if let Some(estimate) = &estimate {
        asked = asked.tap(confirm(estimate));
    }
    asked.detail(Detail { estimate, ..Detail::default() }).put(planner);
}

/// Nothing is refused: the doses go by this weight until it is corrected, and say that it is doubted.
fn doubtful(planner: &mut Planner<'_>, doubt: String) {
    let Some(sized) = planner.state.sized else { return };
    let estimate = planner.estimate();
    let mut asked = asked(Action::EnterWeight, ROLES, sized, sized.at_ms, sized.at_ms)
        .why("correct the weight, or say that it is right")
        .also_done_by("task_done");
    // An estimate from an age that has changed since is replaced in one tap; what a person entered is the person's.
    let stale = planner.state.patient.weight_basis == Some(WeightBasis::Age);
    asked = match estimate.as_ref().filter(|_| stale) {
        Some(estimate) => asked.tap(confirm(estimate)),
        None => asked.ticked_by_tap(),
    };
    asked.detail(Detail { estimate, doubt: Some(doubt), ..Detail::default() }).put(planner);
}

fn confirm(estimate: &WeightEstimate) -> Event {
    Event::PatientUpdated {
        patient: Patient {
            weight_kg: Some(estimate.weight_kg),
            weight_basis: Some(WeightBasis::Age),
            ..Patient::default()
        },
    }
}

/// A weight that was entered and does not count must not vanish without a word.
fn outranked(planner: &mut Planner<'_>) {
    let state = planner.state;
    let Some(outranked) = state.weighed.and_then(|weighed| weighed.outranked) else { return };
    let Some(counts) = planner.weight_label() else { return };
    let whence = match outranked.basis {
        Some(WeightBasis::Measured) => "measured",
        Some(WeightBasis::Length) => "by length",
        Some(WeightBasis::Told) | None => "told",
        Some(WeightBasis::Age) => "estimated from age",
    };
    let text = format!(
        "Doses are {counts}; {} kg {whence}, entered later, does not count. If it should, correct the first entry.",
        weight::kg(outranked.weight_kg)
    );
    planner.note(&[Role::Leader, Role::Recorder, Role::Drugs], NoteKind::Conflict, &text);
}

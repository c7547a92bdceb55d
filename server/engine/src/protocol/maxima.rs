//! Ceilings that would cut the dose of every patient: each may be a sound amount by itself, and the pair still a slip of the
//! pen. What a dose is, this module must not know.

use super::orders::Fault;
use super::{CareAmount, DoseRule, EnergyRule, Protocol};
use crate::event::AgeGroup;

/// The lightest patients of each group, in kilograms: a ceiling below their amount holds for everybody. Ours: a newborn, and
/// an adult far below any usual weight.
const fn lightest_kg(group: AgeGroup) -> f64 {
    match group {
        AgeGroup::Adult => 30.0,
        AgeGroup::Child | AgeGroup::Infant => 3.0,
    }
}

/// Everything that does not hold.
pub(super) fn faults(protocol: &Protocol) -> Vec<Fault> {
    let kg = lightest_kg(protocol.age_group);
    let mut faults = Vec::new();
    let mut hold = |field: String, per_kg: f64, max: f64, unit: &str| {
        if max < per_kg * kg {
            let problem = format!(
                "{max} {unit} is less than {kg} kg need ({} {unit}): the maximum would hold for everybody. Correct one of \
                 the two.",
                per_kg * kg
            );
            faults.push((field, problem));
        }
    };
    let mut dose = |field: &str, rule: &DoseRule| {
        if let DoseRule::PerKg { mg_per_kg, max_mg } = rule {
            hold(format!("{field}.per_kg.max_mg"), mg_per_kg.value, max_mg.value, "mg");
        }
    };
    dose("epinephrine.dose", &protocol.epinephrine.dose);
    for drug in &protocol.antiarrhythmic.drugs {
        for (place, rule) in drug.doses.iter().enumerate() {
            dose(&format!("antiarrhythmic.drugs.{}.doses.{place}", drug.id), rule);
        }
    }
    for rules in &protocol.circumstances {
        for task in &rules.tasks {
            if let Some(CareAmount::PerKg(rule)) = &task.amount {
                let field = format!("circumstances.{}.tasks.{}.amount.per_kg.max_ml", rules.id.as_str(), task.id);
                hold(field, rule.ml_per_kg.value, rule.max_ml.value, "mL");
            }
        }
    }
    if let EnergyRule::PerKg { j_per_kg, max_j_per_kg, max_j, .. } = &protocol.shock.energy {
        let highest = j_per_kg.value.iter().copied().fold(0.0, f64::max);
        hold("shock.energy.per_kg.max_j".to_owned(), highest, max_j.value, "J");
        if highest > max_j_per_kg.value {
            let problem = format!(
                "{} J/kg is less than the {highest} J/kg that shock.energy.per_kg.j_per_kg asks for",
                max_j_per_kg.value
            );
            faults.push(("shock.energy.per_kg.max_j_per_kg".to_owned(), problem));
        }
    }
    faults
}

//! Weight and age: the estimate by a published formula, whether a weight fits the age, and how a weight is named beside
//! a dose. Nothing is guessed: an estimate counts only once somebody confirms it, and a doubt refuses nothing.

use crate::event::{AgeGroup, Patient, WeightBasis};
use crate::prompt::WeightEstimate;
use crate::protocol::{AgeBounds, Protocol, Weight, WeightFormula};

/// Completed months at which an infant becomes a child: what the trade's two words mean, and no department's choice.
const INFANT_BEFORE_MONTHS: u32 = 12;

/// The group of a patient of this age. Between the bounds, and without an age or bounds, it is what somebody told.
pub fn group_by_age(age_months: Option<u32>, told: AgeGroup, bounds: Option<&AgeBounds>) -> AgeGroup {
    let (Some(months), Some(bounds)) = (age_months, bounds) else { return told };
    if months < bounds.no_adult_before_months.value && !told.is_young() {
        if months < INFANT_BEFORE_MONTHS { AgeGroup::Infant } else { AgeGroup::Child }
    } else if months >= bounds.no_child_from_months.value && told.is_young() {
        AgeGroup::Adult
    } else {
        told
    }
}

/// The weight that the protocol's formula gives for the patient's age; absent without an age, or outside the formulas.
pub fn estimate(patient: &Patient, protocol: &Protocol) -> Option<WeightEstimate> {
    let weight = protocol.weight.as_ref()?;
    let age_months = patient.age_months?;
    let formula = weight.formulas.iter().find(|formula| holds(formula, age_months))?;
    Some(WeightEstimate { weight_kg: kg_at(formula, age_months), formula: in_words(weight, formula) })
}

fn holds(formula: &WeightFormula, age_months: u32) -> bool {
    (formula.from_months.value..=formula.through_months.value).contains(&age_months)
}

/// Completed months or years, as the formula's step says.
pub(crate) fn kg_at(formula: &WeightFormula, age_months: u32) -> f64 {
    let steps = age_months / formula.step_months.value.max(1);
    formula.kg_per_step.value * f64::from(steps) + formula.plus_kg.value
}

fn in_words(weight: &Weight, formula: &WeightFormula) -> String {
    let step = if formula.step_months.value == 1 { "months" } else { "years" };
    format!("{}: {} x {step} + {}", weight.name.value, formula.kg_per_step.value, formula.plus_kg.value)
}

/// The weights by age that a weight is held against, the lowest and the highest, and the age in words.
fn by_age(patient: &Patient, weight: &Weight) -> Option<(f64, f64, String)> {
    let at = |age_months: u32| {
        let formula = weight.formulas.iter().find(|formula| holds(formula, age_months))?;
        Some(kg_at(formula, age_months))
    };
    if let Some(age_months) = patient.age_months {
        return at(age_months).map(|kg| (kg, kg, age_in_words(age_months)));
    }
    // Without an age only an infant has narrow bounds: those of the youngest and the oldest.
    let infant = patient.age_group == Some(AgeGroup::Infant);
    infant.then(|| Some((at(0)?, at(INFANT_BEFORE_MONTHS - 1)?, "an infant".to_owned())))?
}

fn age_in_words(age_months: u32) -> String {
    match age_months {
        0..=23 => format!("{age_months} months"),
        _ => format!("{} years", age_months / 12),
    }
}

/// Why the weight does not fit the age, in words; absent where it does, or where nothing can be said.
pub fn doubt(patient: &Patient, protocol: &Protocol) -> Option<String> {
    let weight = protocol.weight.as_ref()?;
    let weight_kg = patient.weight_kg?;
    if patient.weight_basis == Some(WeightBasis::Age) {
        let Some(now) = estimate(patient, protocol) else {
            return Some(format!(
                "{} kg was estimated from age, and no formula holds for the age known now",
                kg(weight_kg)
            ));
        };
        return ((now.weight_kg - weight_kg).abs() > 1e-9).then(|| {
            format!(
                "{} kg was estimated from another age; {} gives {} kg",
                kg(weight_kg),
                now.formula,
                kg(now.weight_kg)
            )
        });
    }
    let (least_kg, most_kg, age) = by_age(patient, weight)?;
    let (much, slip) = if weight_kg > most_kg * weight.plausible_high.value {
        ("much", "pounds")
    } else if weight_kg < least_kg * weight.plausible_low.value {
        ("little", "another unit")
    } else {
        return None;
    };
    let expected =
        if least_kg < most_kg { format!("{} to {}", kg(least_kg), kg(most_kg)) } else { kg(most_kg).to_string() };
    Some(format!("{} kg is {much} for {age} (by age about {expected} kg): kilograms, or {slip}?", kg(weight_kg)))
}

/// The weight as it stands beside a dose: an estimate stays labelled as one.
pub fn label(patient: &Patient, protocol: &Protocol) -> Option<String> {
    let weight_kg = kg(patient.weight_kg?);
    Some(match patient.weight_basis {
        Some(WeightBasis::Measured) => format!("for {weight_kg} kg measured"),
        Some(WeightBasis::Length) => format!("for {weight_kg} kg by length, an estimate"),
        Some(WeightBasis::Told) | None => format!("for {weight_kg} kg told"),
        Some(WeightBasis::Age) => match estimate(patient, protocol) {
            Some(now) if Some(now.weight_kg) == patient.weight_kg => {
                format!("for {weight_kg} kg, estimated from age ({})", now.formula)
            }
            Some(_) | None => format!("for {weight_kg} kg, estimated from age"),
        },
    })
}

/// Kilograms as a scale shows them.
pub fn kg(weight_kg: f64) -> f64 {
    let marks = if weight_kg < 10.0 { 100.0 } else { 10.0 };
    (weight_kg * marks).round() / marks
}

/// The age that the plan goes by where the months are not known: the youngest of the group. Whether it is assumed.
pub fn age_months(patient: &Patient, group: AgeGroup) -> (u32, bool) {
    match (patient.age_months, group) {
        (Some(months), _) => (months, false),
        (None, AgeGroup::Infant) => (0, true),
        (None, AgeGroup::Child | AgeGroup::Adult) => (INFANT_BEFORE_MONTHS, true),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::protocol;

    fn child() -> Protocol {
        protocol::read(include_str!("../../protocols/aha-child.toml")).unwrap()
    }

    fn aged(age_months: u32) -> Patient {
        Patient { age_months: Some(age_months), ..Patient::default() }
    }

    fn weighing(age_months: u32, weight_kg: f64, basis: WeightBasis) -> Patient {
        Patient { weight_kg: Some(weight_kg), weight_basis: Some(basis), ..aged(age_months) }
    }

    #[test]
    fn an_age_overrules_the_group_outside_the_protocols_bounds_only() {
        let bounds = child().ages.unwrap();
        let of = |months, told| group_by_age(Some(months), told, Some(&bounds));
        let (before, from) = (bounds.no_adult_before_months.value, bounds.no_child_from_months.value);
        assert_eq!([of(0, AgeGroup::Adult), of(11, AgeGroup::Adult)], [AgeGroup::Infant; 2]);
        assert_eq!([of(12, AgeGroup::Adult), of(before - 1, AgeGroup::Adult)], [AgeGroup::Child; 2]);
        assert_eq!([of(before, AgeGroup::Adult), of(from, AgeGroup::Child)], [AgeGroup::Adult; 2]);
        assert_eq!([of(before, AgeGroup::Child), of(from - 1, AgeGroup::Child)], [AgeGroup::Child; 2]);
        // A text from before the bounds came in: what was told holds.
        assert_eq!(group_by_age(Some(6), AgeGroup::Adult, None), AgeGroup::Adult);
        assert_eq!(group_by_age(None, AgeGroup::Adult, Some(&bounds)), AgeGroup::Adult);
    }

    #[test]
    fn half_years_count_as_completed_years() {
        let of = |months| estimate(&aged(months), &child()).map(|estimate| estimate.weight_kg);
        assert_eq!(
            [of(12), of(23), of(24), of(71), of(72), of(155), of(156)],
            [Some(10.0), Some(10.0), Some(12.0), Some(18.0), Some(25.0), Some(43.0), None]
        );
        assert_eq!(of(7), Some(7.5));
        assert_eq!(estimate(&Patient::default(), &child()), None);
        assert_eq!(estimate(&aged(36), &child()).unwrap().formula, "APLS: 2 x years + 8");
    }

    #[test]
    fn a_weight_that_does_not_fit_is_doubted_in_words() {
        let of = |patient: Patient| doubt(&patient, &child());
        assert_eq!(of(weighing(36, 14.0, WeightBasis::Measured)), None);
        // A child of 3 years weighs about 14 kg, which is 31 lb.
        assert_eq!(
            of(weighing(36, 31.0, WeightBasis::Told)).unwrap(),
            "31 kg is much for 3 years (by age about 14 kg): kilograms, or pounds?"
        );
        assert!(of(weighing(36, 6.4, WeightBasis::Told)).unwrap().contains("little"));
        assert_eq!(of(weighing(200, 90.0, WeightBasis::Told)), None, "no formula, no doubt");
        let infant =
            Patient { age_months: None, age_group: Some(AgeGroup::Infant), ..weighing(0, 22.0, WeightBasis::Told) };
        assert!(of(infant).unwrap().contains("an infant (by age about 4 to 9.5 kg)"));
    }

    #[test]
    fn an_estimate_for_another_age_is_doubted_and_stays_labelled() {
        let right = weighing(60, 18.0, WeightBasis::Age);
        assert_eq!(doubt(&right, &child()), None);
        assert_eq!(label(&right, &child()).unwrap(), "for 18 kg, estimated from age (APLS: 2 x years + 8)");
        let stale = weighing(36, 18.0, WeightBasis::Age);
        assert_eq!(
            doubt(&stale, &child()).unwrap(),
            "18 kg was estimated from another age; APLS: 2 x years + 8 gives 14 kg"
        );
        assert_eq!(label(&stale, &child()).unwrap(), "for 18 kg, estimated from age");
    }
}

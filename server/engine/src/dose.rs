//! Weight to milligrams, millilitres and joules, with maxima and rounding.
//!
//! A dose is computed, then capped at the protocol's maximum, then rounded to what a syringe can show, and capped again:
//! rounding never takes it above the maximum. No clinical number lives here, and nothing is guessed: without the
//! weight that a rule needs there is no amount, only the rule in words.
//!
//! Rounding of a volume, half a mark upwards (the marks of common syringes; common practice, no source):
//! below 1 mL to 0.01 mL (1 mL syringe), below 10 mL to 0.1 mL, from 10 mL to 0.5 mL.
//! Milligrams are the ordered dose to three significant figures; the volume may differ from them by half a mark.
//! Joules by weight are rounded up to the defibrillator's next setting (clinical sources, P35), never above the maximum;
//! where its settings are not known, to a whole joule.

use crate::event::Dose;
use crate::protocol::{DoseRule, DrugRules, EnergyRule, Epinephrine, Preparation, Shock, VolumeRule};

/// A dose and the volume that holds it.
#[derive(Debug, Clone, PartialEq)]
pub struct Amount {
    /// Milligrams.
    pub dose: Dose,
    /// Millilitres at the preparation's strength; absent where no syringe shows so little.
    pub volume: Option<Dose>,
}

/// What can be said of a dose for this patient.
#[derive(Debug, Clone, PartialEq)]
pub enum DoseFor {
    /// The amount.
    Known(Amount),
    /// The rule in words, where the weight it needs is not known.
    ByRule(String),
}

/// What can be said of a volume for this patient.
#[derive(Debug, Clone, PartialEq)]
pub enum VolumeFor {
    /// Millilitres.
    Known(Dose),
    /// The rule in words, where the weight it needs is not known.
    ByRule(String),
}

/// The dose by a rule, at a strength, for a weight.
pub fn drug_dose(rule: &DoseRule, preparation: &Preparation, weight_kg: Option<f64>) -> DoseFor {
    let strength = preparation.strength_mg_per_ml.value;
    let (computed_mg, max_mg) = match rule {
        DoseRule::FixedMg(fixed) => (fixed.value, fixed.value),
        DoseRule::PerKg { mg_per_kg, max_mg } => match usable(weight_kg) {
            Some(weight_kg) => (mg_per_kg.value * weight_kg, max_mg.value),
            None => return DoseFor::ByRule(in_words(mg_per_kg.value, max_mg.value, strength)),
        },
    };
    let mg = computed_mg.min(max_mg);
    DoseFor::Known(Amount {
        dose: Dose { value: three_figures(mg).min(max_mg), unit: "mg".to_owned() },
        volume: volume_ml(mg, max_mg, strength).map(|value| Dose { value, unit: "mL".to_owned() }),
    })
}

/// An amount in milligrams, where its unit is one of mass.
pub fn in_mg(dose: &Dose) -> Option<f64> {
    match dose.unit.as_str() {
        // UCUM's, and what people write for it.
        "ug" | "mcg" | "µg" | "μg" => Some(dose.value / 1_000.0),
        "mg" => Some(dose.value),
        "g" => Some(dose.value * 1_000.0),
        _ => None,
    }
}

/// The most milligrams of epinephrine that are a push and no dose of the arrest; absent where every bolus is a dose.
pub fn most_of_a_push_mg(epinephrine: &Epinephrine) -> Option<f64> {
    match (&epinephrine.dose, &epinephrine.push_part) {
        (DoseRule::FixedMg(whole), Some(part)) => Some(clean(part.value * whole.value)),
        (DoseRule::FixedMg(_) | DoseRule::PerKg { .. }, _) => None,
    }
}

/// Whether a syringe that was drawn up with so much holds the dose that is asked for now.
pub fn is_drawn_up(drawn_up_mg: f64, asked_mg: f64, rules: &DrugRules) -> bool {
    let tolerance_part = rules.syringe_tolerance_part.as_ref().map_or(0.0, |part| part.value);
    clean((drawn_up_mg - asked_mg).abs()) <= clean(tolerance_part * asked_mg)
}

/// The volume by a rule for a weight, on a syringe's mark and never above the maximum.
pub fn volume_dose(rule: &VolumeRule, weight_kg: Option<f64>) -> VolumeFor {
    let (ml_per_kg, max_ml) = (rule.ml_per_kg.value, rule.max_ml.value);
    usable(weight_kg).and_then(|weight_kg| on_a_mark((ml_per_kg * weight_kg).min(max_ml), max_ml)).map_or_else(
        || VolumeFor::ByRule(format!("{ml_per_kg} mL/kg, at most {max_ml} mL")),
        |value| VolumeFor::Known(Dose { value, unit: "mL".to_owned() }),
    )
}

/// Joules per kilogram of shock number `shock_number`, counted from 1; absent where energies are fixed.
pub fn j_per_kg(rule: &EnergyRule, shock_number: u32) -> Option<f64> {
    match rule {
        EnergyRule::FixedJ(_) => None,
        EnergyRule::PerKg { j_per_kg, .. } => of_shock(&j_per_kg.value, shock_number),
    }
}

/// The highest energy that a rule allows for a weight, in joules; absent where energies are fixed or the weight is not known.
pub fn most_j(rule: &EnergyRule, weight_kg: Option<f64>) -> Option<f64> {
    match rule {
        EnergyRule::FixedJ(_) => None,
        EnergyRule::PerKg { max_j_per_kg, max_j, .. } => {
            Some(clean(max_j_per_kg.value * usable(weight_kg)?).min(max_j.value))
        }
    }
}

/// The energy of shock number `shock_number`, counted from 1. Absent where the rule needs a weight that is not known, and
/// where the defibrillator has no setting that is low enough: then a person decides.
pub fn shock_energy_j(shock: &Shock, shock_number: u32, weight_kg: Option<f64>) -> Option<f64> {
    match &shock.energy {
        EnergyRule::FixedJ(fixed) => of_shock(&fixed.value, shock_number),
        rule @ EnergyRule::PerKg { least_setting_part, .. } => {
            let most_j = most_j(rule, weight_kg)?;
            let joules = clean(j_per_kg(rule, shock_number)? * usable(weight_kg)?).min(most_j);
            let Some(settings) = &shock.settings_j else {
                let up = if joules.ceil() <= most_j { joules.ceil() } else { most_j.floor() };
                return Some(up).filter(|up| *up > 0.0);
            };
            let mut allowed = settings.value.iter().copied().filter(|setting| *setting <= most_j);
            // The next one up; where that is beyond the maximum, the highest one below it, unless that is another treatment:
            // then a person decides.
            let up = allowed.clone().find(|setting| *setting >= joules);
            let least_j = clean(least_setting_part.as_ref().map_or(1.0, |part| part.value) * joules);
            up.or_else(|| allowed.next_back().filter(|highest| *highest >= least_j))
        }
    }
}

fn of_shock(values: &[f64], shock_number: u32) -> Option<f64> {
    let place = usize::try_from(shock_number.saturating_sub(1)).unwrap_or(usize::MAX);
    values.get(place).or_else(|| values.last()).copied()
}

fn usable(weight_kg: Option<f64>) -> Option<f64> {
    weight_kg.filter(|weight_kg| weight_kg.is_finite() && *weight_kg > 0.0)
}

/// Takes away what binary fractions add to decimal ones, so that 0.3 / 0.1 is 3 and a half rounds as a half.
fn clean(value: f64) -> f64 {
    (value * 1e9).round() / 1e9
}

fn three_figures(value: f64) -> f64 {
    let mut scale = 1.0;
    while value * scale < 100.0 && scale < 1e6 {
        scale *= 10.0;
    }
    (value * scale).round() / scale
}

/// Marks to the millilitre of the smallest syringe that holds the volume.
fn marks_per_ml(volume_ml: f64) -> f64 {
    if volume_ml < 1.0 {
        100.0
    } else if volume_ml < 10.0 {
        10.0
    } else {
        2.0
    }
}

fn volume_ml(mg: f64, max_mg: f64, strength_mg_per_ml: f64) -> Option<f64> {
    on_a_mark(mg / strength_mg_per_ml, max_mg / strength_mg_per_ml)
}

/// The nearest mark of the smallest syringe that holds the volume, and not above `max_ml`.
fn on_a_mark(ml: f64, max_ml: f64) -> Option<f64> {
    let exact = clean(ml);
    if !exact.is_finite() || exact <= 0.0 {
        return None;
    }
    let marks = marks_per_ml(exact);
    let nearest = clean(exact * marks).round();
    let highest = clean(max_ml * marks).floor();
    let volume = nearest.min(highest) / marks;
    (volume > 0.0).then_some(volume)
}

fn in_words(mg_per_kg: f64, max_mg: f64, strength: f64) -> String {
    let ml_per_kg = clean(mg_per_kg / strength);
    format!("{mg_per_kg} mg/kg, at most {max_mg} mg; at {strength} mg/mL that is {ml_per_kg} mL/kg")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::protocol::{Basis, Sourced};

    fn sourced<T>(value: T) -> Sourced<T> {
        Sourced { value, source: "test".into(), basis: Basis::Practice, unusual: None }
    }

    fn per_kg(mg_per_kg: f64, max_mg: f64) -> DoseRule {
        DoseRule::PerKg { mg_per_kg: sourced(mg_per_kg), max_mg: sourced(max_mg) }
    }

    fn at(strength: f64) -> Preparation {
        Preparation {
            strength_mg_per_ml: sourced(strength),
            flush_ml: sourced(20.0),
            route: sourced("IV or IO".to_owned()),
        }
    }

    fn amount(rule: &DoseRule, strength: f64, weight_kg: f64) -> (f64, Option<f64>) {
        match drug_dose(rule, &at(strength), Some(weight_kg)) {
            DoseFor::Known(amount) => (amount.dose.value, amount.volume.map(|volume| volume.value)),
            DoseFor::ByRule(words) => panic!("{words}"),
        }
    }

    #[test]
    fn a_fixed_dose_needs_no_weight() {
        let known = drug_dose(&DoseRule::FixedMg(sourced(1.0)), &at(0.1), None);
        let DoseFor::Known(amount) = known else { panic!("a fixed dose is known") };
        assert_eq!(amount.dose, Dose { value: 1.0, unit: "mg".into() });
        assert_eq!(amount.volume, Some(Dose { value: 10.0, unit: "mL".into() }));
    }

    #[test]
    fn without_a_weight_there_are_words_and_no_amount() {
        for weight in [None, Some(0.0), Some(-3.0), Some(f64::NAN), Some(f64::INFINITY)] {
            assert_eq!(
                drug_dose(&per_kg(0.01, 1.0), &at(0.1), weight),
                DoseFor::ByRule("0.01 mg/kg, at most 1 mg; at 0.1 mg/mL that is 0.1 mL/kg".into())
            );
        }
    }

    #[test]
    fn volumes_fall_on_the_marks_of_a_syringe() {
        let rule = per_kg(1.0, 1_000.0);
        assert_eq!(amount(&rule, 100.0, 12.4), (12.4, Some(0.12)));
        assert_eq!(amount(&rule, 10.0, 12.5), (12.5, Some(1.3)));
        assert_eq!(amount(&rule, 1.0, 12.2), (12.2, Some(12.0)));
        assert_eq!(amount(&rule, 1.0, 12.25), (12.3, Some(12.5)));
        // Too little for any mark: no volume rather than a zero.
        assert_eq!(amount(&per_kg(0.0001, 1.0), 1.0, 3.0).1, None);
    }

    #[test]
    fn rounding_never_passes_the_maximum() {
        // 2 mg at 0.3 mg/mL is 6.667 mL; 6.7 mL would hold 2.01 mg.
        assert_eq!(amount(&per_kg(0.1, 2.0), 0.3, 50.0), (2.0, Some(6.6)));
        assert_eq!(amount(&per_kg(1.0, 66.66), 10.0, 80.0), (66.66, Some(6.6)));
        for tenths in 1..=2_000 {
            let weight = f64::from(tenths) / 10.0;
            let (mg, ml) = amount(&per_kg(0.01, 1.0), 0.1, weight);
            assert!(mg <= 1.0 && ml.unwrap() * 0.1 <= 1.0 + 1e-9, "{weight} kg: {mg} mg, {ml:?} mL");
        }
    }

    /// The shocks of a shipped child protocol, with another rule and other settings.
    fn shock(energy: EnergyRule, settings_j: Option<&[f64]>) -> Shock {
        let file = include_str!("../../protocols/aha-child.toml");
        let settings_j = settings_j.map(|settings| sourced(settings.to_vec()));
        Shock { energy, settings_j, ..crate::protocol::read(file).unwrap().shock }
    }

    fn by_weight(list: &[f64], max_j_per_kg: f64, max_j: f64) -> EnergyRule {
        EnergyRule::PerKg {
            j_per_kg: sourced(list.to_vec()),
            max_j_per_kg: sourced(max_j_per_kg),
            max_j: sourced(max_j),
            least_setting_part: Some(sourced(0.5)),
        }
    }

    #[test]
    fn the_last_energy_of_a_list_stays() {
        let fixed = shock(EnergyRule::FixedJ(sourced(vec![150.0, 200.0, 360.0])), None);
        let energies: Vec<_> = (0..=5).map(|number| shock_energy_j(&fixed, number, None)).collect();
        assert_eq!(energies, [150.0, 150.0, 200.0, 360.0, 360.0, 360.0].map(Some));
        assert_eq!(shock_energy_j(&shock(EnergyRule::FixedJ(sourced(Vec::new())), None), 1, None), None);
    }

    #[test]
    fn energy_by_weight_is_rounded_up_and_capped() {
        let shock = shock(by_weight(&[2.0, 4.0], 10.0, 200.0), None);
        assert_eq!(shock_energy_j(&shock, 1, Some(3.3)), Some(7.0));
        assert_eq!(shock_energy_j(&shock, 2, Some(3.0)), Some(12.0));
        assert_eq!(shock_energy_j(&shock, 9, Some(80.0)), Some(200.0));
        assert_eq!(shock_energy_j(&shock, 1, None), None);
        assert_eq!(shock_energy_j(&shock, 1, Some(0.0)), None);
        // 0.3 + 0.3 ... of binary fractions do not add a joule: 2 J/kg at 14.5 kg is 29 J.
        assert_eq!(shock_energy_j(&shock, 1, Some(14.5)), Some(29.0));
    }

    #[test]
    fn energy_goes_up_to_the_next_setting_and_never_above_the_maximum() {
        let settings = [5.0, 10.0, 20.0, 30.0, 50.0, 70.0, 100.0, 150.0, 170.0, 200.0];
        let of = |max_j: f64| shock(by_weight(&[2.0, 4.0], 10.0, max_j), Some(&settings));
        // 28 J goes up to 30, 56 J to 70; what is a setting stays.
        assert_eq!(shock_energy_j(&of(200.0), 1, Some(14.0)), Some(30.0));
        assert_eq!(shock_energy_j(&of(200.0), 2, Some(14.0)), Some(70.0));
        assert_eq!(shock_energy_j(&of(200.0), 1, Some(25.0)), Some(50.0));
        // 4 J/kg at 45 kg is 180 J: the next setting, 200, would pass a maximum of 190.
        assert_eq!(shock_energy_j(&of(200.0), 2, Some(45.0)), Some(200.0));
        assert_eq!(shock_energy_j(&of(190.0), 2, Some(45.0)), Some(170.0));
        // 10 J/kg binds before the joules do: at 0.6 kg the ceiling is 6 J, and 5 J the only setting below.
        assert_eq!(shock_energy_j(&of(200.0), 2, Some(0.6)), Some(5.0));
        assert_eq!(shock_energy_j(&of(200.0), 2, Some(0.4)), None, "no setting is low enough: a person decides");
        // A gap in the list: 1 J where 6 J are asked for would be no treatment.
        let gap = shock(by_weight(&[2.0, 4.0], 10.0, 200.0), Some(&[1.0, 200.0]));
        assert_eq!(shock_energy_j(&gap, 1, Some(3.0)), None);
        // How low a setting may stand for the energy is the file's: 170 of 180 J, and in a text without it none.
        let least = |part: Option<f64>| {
            let EnergyRule::PerKg { j_per_kg, max_j_per_kg, max_j, .. } = of(190.0).energy else { panic!("by weight") };
            let energy = EnergyRule::PerKg { j_per_kg, max_j_per_kg, max_j, least_setting_part: part.map(sourced) };
            shock_energy_j(&shock(energy, Some(&settings)), 2, Some(45.0))
        };
        assert_eq!([least(Some(0.94)), least(Some(0.95)), least(None)], [Some(170.0), None, None]);
        let shock = of(200.0);
        for tenths in 5..1_200 {
            let weight = f64::from(tenths) / 10.0;
            let most = most_j(&shock.energy, Some(weight)).unwrap();
            for number in 1..4 {
                let energy = shock_energy_j(&shock, number, Some(weight)).unwrap();
                assert!(energy <= most && settings.contains(&energy), "{weight} kg: {energy} J of {most}");
            }
        }
    }

    /// What a push is and which syringe is ready are numbers of the file; without them nothing is small, or nearly right.
    #[test]
    fn small_and_nearly_right_are_what_the_file_says() {
        let shipped = |id: &str| {
            crate::protocol::read(crate::protocol::shipped().iter().find(|(name, _)| *name == id).unwrap().1).unwrap()
        };
        let (adult, child) = (shipped("erc-adult"), shipped("erc-child"));
        let push = |part: Option<f64>| {
            most_of_a_push_mg(&Epinephrine { push_part: part.map(sourced), ..adult.epinephrine.clone() })
        };
        assert_eq!([push(Some(0.05)), push(Some(0.15)), push(None)], [Some(0.05), Some(0.15), None]);
        assert_eq!(most_of_a_push_mg(&child.epinephrine), None);
        let ready = |part: Option<f64>, mg: f64| {
            is_drawn_up(mg, 0.3, &DrugRules { syringe_tolerance_part: part.map(sourced), ..child.drugs.clone() })
        };
        assert!(ready(Some(0.1), 0.27) && ready(Some(0.1), 0.33) && !ready(Some(0.1), 0.34));
        assert!(ready(Some(0.2), 0.34) && !ready(Some(0.2), 0.37) && ready(None, 0.3) && !ready(None, 0.29));
    }

    #[test]
    fn a_volume_by_weight_is_capped_and_falls_on_a_mark() {
        let rule = VolumeRule { ml_per_kg: sourced(1.5), max_ml: sourced(100.0) };
        let of = |weight| volume_dose(&rule, weight);
        let ml = |value| VolumeFor::Known(Dose { value, unit: "mL".into() });
        // clinical sheet S74: 1.5 mL/kg
        assert_eq!(of(Some(20.0)), ml(30.0));
        assert_eq!(of(Some(3.3)), ml(5.0));
        assert_eq!(of(Some(80.0)), ml(100.0));
        assert_eq!(of(None), VolumeFor::ByRule("1.5 mL/kg, at most 100 mL".into()));
        assert_eq!(of(Some(f64::NAN)), of(None));
    }

    /// Doses and energies by weight: the table of worked examples of our clinical sheet (W1 to W10, arithmetic on P1-P5, P13, P16).
    #[test]
    fn worked_examples_by_weight() {
        // kg, epinephrine mg, mL at 0.1 mg/mL, amiodarone mg, mL at 50 mg/mL, lidocaine mg, 2 J/kg, 4 J/kg up to 200 J
        let table = [
            (3.0, 0.03, 0.3, 15.0, 0.3, 3.0, 6.0, 12.0),
            (5.0, 0.05, 0.5, 25.0, 0.5, 5.0, 10.0, 20.0),
            (10.0, 0.1, 1.0, 50.0, 1.0, 10.0, 20.0, 40.0),
            (14.0, 0.14, 1.4, 70.0, 1.4, 14.0, 28.0, 56.0),
            (20.0, 0.2, 2.0, 100.0, 2.0, 20.0, 40.0, 80.0),
            (25.0, 0.25, 2.5, 125.0, 2.5, 25.0, 50.0, 100.0),
            (30.0, 0.3, 3.0, 150.0, 3.0, 30.0, 60.0, 120.0),
            (50.0, 0.5, 5.0, 250.0, 5.0, 50.0, 100.0, 200.0),
            (60.0, 0.6, 6.0, 300.0, 6.0, 60.0, 120.0, 200.0),
            (100.0, 1.0, 10.0, 300.0, 6.0, 100.0, 200.0, 200.0),
        ];
        let energy = shock(by_weight(&[2.0, 4.0], 10.0, 200.0), None);
        for (kg, epinephrine_mg, epinephrine_ml, amiodarone_mg, amiodarone_ml, lidocaine_mg, first, later) in table {
            assert_eq!(amount(&per_kg(0.01, 1.0), 0.1, kg), (epinephrine_mg, Some(epinephrine_ml)), "{kg} kg");
            assert_eq!(amount(&per_kg(5.0, 300.0), 50.0, kg), (amiodarone_mg, Some(amiodarone_ml)), "{kg} kg");
            assert_eq!(amount(&per_kg(1.0, 100.0), 20.0, kg).0, lidocaine_mg, "{kg} kg");
            assert_eq!(shock_energy_j(&energy, 1, Some(kg)), Some(first), "{kg} kg");
            assert_eq!(shock_energy_j(&energy, 2, Some(kg)), Some(later), "{kg} kg");
        }
    }
}

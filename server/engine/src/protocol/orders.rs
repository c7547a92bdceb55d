//! What must hold between the values of a protocol, whatever a department's reasons: a window that ends before it
//! begins, or a charge held for less time than charging takes, makes no plan. This module must not know ranges.

use super::{EnergyRule, Protocol, care, circumstance_orders, demanded, maxima};

/// A field and what is wrong with it.
pub(super) type Fault = (String, String);

/// Readings of vital_read and lab_read that may meet a target of aftercare.
const READINGS: &[&str] = &[
    "spo2_pct",
    "systolic_mmhg",
    "diastolic_mmhg",
    "temp_c",
    "glucose_mmol_l",
    "potassium_mmol_l",
    "lactate_mmol_l",
    "ph",
    "paco2_mmhg",
];

fn not_above(low: (&str, f64), high: (&str, f64), why: &str) -> Option<Fault> {
    (low.1 > high.1).then(|| (high.0.to_owned(), format!("{} is less than {} in {}: {why}", high.1, low.1, low.0)))
}

/// Everything that does not hold.
pub(super) fn faults(protocol: &Protocol) -> Vec<Fault> {
    let single = [
        shocks(protocol),
        settings(protocol),
        antiarrhythmics(protocol),
        ages(protocol),
        weight(protocol),
        lists(protocol),
    ];
    let mut faults = times(protocol);
    faults.extend(demanded::faults(protocol));
    faults.extend(single.into_iter().flatten());
    faults.extend(maxima::faults(protocol));
    faults.extend(care::faults(protocol, READINGS));
    faults.extend(circumstance_orders::faults(protocol));
    faults
}

fn times(protocol: &Protocol) -> Vec<Fault> {
    let (cycle, shock, drugs) = (&protocol.cycle, &protocol.shock, &protocol.drugs);
    let epinephrine = &protocol.epinephrine;
    let pair = |low: (&'static str, f64), high: (&'static str, f64), why| not_above(low, high, why);
    let interval = ("epinephrine.interval_s", epinephrine.interval_s.value);
    let checks = [
        pair(
            ("epinephrine.min_interval_s", epinephrine.min_interval_s.value),
            interval,
            "the interval would be too early by its own minimum",
        ),
        pair(
            interval,
            ("epinephrine.max_interval_s", epinephrine.max_interval_s.value),
            "the interval would end outside its own window",
        ),
        pair(
            ("shock.charge_s", shock.charge_s.value),
            ("shock.charge_hold_s", shock.charge_hold_s.value),
            "the charge would be dumped before it is ready",
        ),
        pair(
            ("shock.charge_ask_ahead_s", shock.charge_ask_ahead_s.value),
            ("shock.charge_hold_s", shock.charge_hold_s.value),
            "a charge made ahead would be dumped before the check",
        ),
        pair(
            ("shock.charge_ahead_s", shock.charge_ahead_s.value),
            ("shock.charge_ask_ahead_s", shock.charge_ask_ahead_s.value),
            "charging would be due before it is asked for",
        ),
        pair(
            ("cycle.finger_on_ahead_s", cycle.finger_on_ahead_s.value),
            ("cycle.finger_ask_ahead_s", cycle.finger_ask_ahead_s.value),
            "the finger would be due before it is asked for",
        ),
        pair(
            ("cycle.relief_ready_ahead_s", cycle.relief_ready_ahead_s.value),
            ("cycle.announce_check_ahead_s", cycle.announce_check_ahead_s.value),
            "the relief would be due before it is asked for",
        ),
        pair(
            ("cycle.read_rhythm_s", cycle.read_rhythm_s.value),
            ("cycle.pause_limit_s", cycle.pause_limit_s.value),
            "the rhythm would be read after the pause must end",
        ),
        pair(
            ("cycle.announce_check_ahead_s", cycle.announce_check_ahead_s.value),
            ("cycle.length_s", cycle.length_s.value),
            "the check would be announced before the cycle begins",
        ),
        pair(
            ("drugs.give_ask_ahead_s", drugs.give_ask_ahead_s.value),
            ("drugs.draw_up_ahead_s", drugs.draw_up_ahead_s.value),
            "the drug would be given before it is drawn up",
        ),
        pair(
            ("drugs.draw_up_ahead_s", drugs.draw_up_ahead_s.value),
            ("epinephrine.min_interval_s", epinephrine.min_interval_s.value),
            "the next dose would be drawn up before the last was given",
        ),
        pair(
            ("causes.ask_after_s", protocol.causes.ask_after_s.value),
            ("causes.due_after_s", protocol.causes.due_after_s.value),
            "the review would be due before it is asked for",
        ),
    ];
    let ages = protocol.ages.as_ref().and_then(|ages| {
        pair(
            ("ages.no_adult_before_months", f64::from(ages.no_adult_before_months.value)),
            ("ages.no_child_from_months", f64::from(ages.no_child_from_months.value)),
            "between the two nobody could be told to be either",
        )
    });
    let fastest = protocol.airway.fastest_breath_each_s.as_ref().and_then(|fastest| {
        pair(
            ("airway.fastest_breath_each_s", fastest.value),
            ("airway.one_breath_each_s", protocol.airway.one_breath_each_s.value),
            "the fastest rate would be the slower one",
        )
    });
    checks.into_iter().flatten().chain(ages).chain(fastest).collect()
}

fn shocks(protocol: &Protocol) -> Option<Fault> {
    let (field, energies) = match &protocol.shock.energy {
        EnergyRule::FixedJ(fixed) => ("shock.energy.fixed_j", fixed),
        EnergyRule::PerKg { j_per_kg, .. } => ("shock.energy.per_kg.j_per_kg", j_per_kg),
    };
    if let EnergyRule::PerKg { j_per_kg, .. } = &protocol.shock.energy
        && j_per_kg.unusual.is_none()
    {
        let (first, second) = (j_per_kg.value[0], j_per_kg.value.get(1).or(j_per_kg.value.first()));
        if !(2.0..=4.0).contains(&first) || second.is_some_and(|second| *second < 4.0) {
            return Some((
                field.to_owned(),
                "the first shock is 2 or 4 J/kg, each later one at least 4 J/kg: AHA 2020, ERC 2021 (P1 to P3). If it is \
                 meant otherwise, write unusual = \"reason\" beside it."
                    .to_owned(),
            ));
        }
    }
    if let EnergyRule::FixedJ(fixed) = &protocol.shock.energy {
        let Some(first_j) = &protocol.shock.first_j else {
            return Some((
                "shock.first_j".to_owned(),
                "is missing: write what your guideline gives for the first biphasic shock, as low and high in joules"
                    .to_owned(),
            ));
        };
        let first = energies.value[0];
        if fixed.unusual.is_none() && (first_j.is_below(first, 0) || first_j.is_above(first)) {
            return Some((
                field.to_owned(),
                format!(
                    "begins with {first} J, and shock.first_j says {} J for the first shock. If it is meant, write unusual = \
                     \"reason\" beside it.",
                    first_j.words(0, |joules| joules.to_string())
                ),
            ));
        }
    }
    let falls = energies.value.windows(2).any(|pair| pair[1] < pair[0]);
    (falls && energies.unusual.is_none()).then(|| {
        (
            field.to_owned(),
            "a later shock has less energy than the one before; guidelines keep or raise it (A23). If it is meant, \
             write unusual = \"reason\" beside it."
                .to_owned(),
        )
    })
}

fn settings(protocol: &Protocol) -> Option<Fault> {
    let settings = &protocol.shock.settings_j.as_ref()?.value;
    let fault = |problem: String| Some(("shock.settings_j".to_owned(), problem));
    if settings.windows(2).any(|pair| pair[1] <= pair[0]) {
        return fault("the settings must rise".to_owned());
    }
    match &protocol.shock.energy {
        EnergyRule::FixedJ(fixed) => {
            let lacking = fixed.value.iter().find(|energy_j| !settings.contains(energy_j))?;
            fault(format!("has no {lacking} J, which shock.energy.fixed_j asks for"))
        }
        // A list that ends too early would ask for less than the weight does.
        EnergyRule::PerKg { max_j, .. } => {
            let highest = settings.last().filter(|highest| **highest < max_j.value)?;
            fault(format!(
                "ends at {highest} J, below shock.energy.per_kg.max_j of {} J; list every setting, and set max_j to the \
                 highest one if the device gives no more",
                max_j.value
            ))
        }
    }
}

/// Ages of breath rates: from birth, and rising.
fn ages(protocol: &Protocol) -> Option<Fault> {
    let from: Vec<u32> = protocol.airway.by_age.iter().map(|band| band.from_months.value).collect();
    let fault = |problem: &str| Some(("airway.by_age".to_owned(), problem.to_owned()));
    match from.first() {
        None => None,
        Some(0) if from.windows(2).all(|pair| pair[1] > pair[0]) => None,
        Some(0) => fault("the ages must rise"),
        Some(_) => fault("must begin with from_months = 0: the youngest would have no rate"),
    }
}

/// The least and the most that a published formula gives for an age, in kilograms (clinical sources, P40 to P44).
fn published_kg(age_months: u32) -> (f64, f64) {
    let (months, years) = (f64::from(age_months), f64::from(age_months / 12));
    if age_months < 12 {
        return (0.5 * months + 4.0, 0.5 * months + 4.5);
    }
    let given = [2.0 * years + 8.0, 3.0 * years + 7.0];
    (given[0].min(given[1]), given[0].max(given[1]))
}

/// Each number of a formula may be a published one, and the formula still nobody's: years taken for months.
fn unlike_any_published(formula: &super::WeightFormula) -> Option<String> {
    let reasons = [&formula.kg_per_step.unusual, &formula.plus_kg.unusual, &formula.step_months.unusual];
    if reasons.into_iter().any(Option::is_some) {
        return None;
    }
    (formula.from_months.value..=formula.through_months.value).find_map(|age_months| {
        let kg = crate::weight::kg_at(formula, age_months);
        let (least, most) = published_kg(age_months);
        (!(0.9 * least..=1.1 * most).contains(&kg)).then(|| {
            format!(
                "gives {kg} kg at {age_months} months; published formulas give {least} to {most} kg (P40 to P44). If it is \
                 meant, write unusual = \"reason\" beside kg_per_step."
            )
        })
    })
}

/// Formulas from age to weight: no gap, no overlap, and nothing to divide by zero.
fn weight(protocol: &Protocol) -> Option<Fault> {
    let per_kg = matches!(protocol.shock.energy, EnergyRule::PerKg { .. });
    let Some(weight) = &protocol.weight else {
        return (per_kg && protocol.age_group.is_young())
            .then(|| ("weight".to_owned(), "is missing: energies by weight need its rules".to_owned()));
    };
    let fault = |problem: String| Some(("weight.formulas".to_owned(), problem));
    if weight.formulas.is_empty() {
        return fault("needs at least one formula".to_owned());
    }
    for formula in &weight.formulas {
        if formula.through_months.value < formula.from_months.value {
            return fault(format!("ends at {} before it begins", formula.through_months.value));
        }
        if !matches!(formula.step_months.value, 1 | 12) {
            return fault("step_months is 1 (months) or 12 (years)".to_owned());
        }
    }
    if let Some(problem) = weight.formulas.iter().find_map(unlike_any_published) {
        return fault(problem);
    }
    weight.formulas.windows(2).find(|pair| pair[1].from_months.value != pair[0].through_months.value + 1).and_then(
        |pair| {
            fault(format!(
                "one ends with month {} and the next begins with month {}: no age may be left out or stand twice",
                pair[0].through_months.value, pair[1].from_months.value
            ))
        },
    )
}

fn antiarrhythmics(protocol: &Protocol) -> Option<Fault> {
    let rule = &protocol.antiarrhythmic;
    let shocks = &rule.after_shocks.value;
    if shocks.windows(2).any(|pair| pair[1] <= pair[0]) {
        return Some(("antiarrhythmic.after_shocks".to_owned(), "the shocks must rise from dose to dose".to_owned()));
    }
    for drug in &rule.drugs {
        // A drug may stop sooner than the other; a dose that no shock asks for would never be given.
        if drug.doses.is_empty() || drug.doses.len() > shocks.len() {
            return Some((
                format!("antiarrhythmic.drugs.{}", drug.id),
                format!("has {} doses for {} shocks in antiarrhythmic.after_shocks", drug.doses.len(), shocks.len()),
            ));
        }
    }
    let most = rule.drugs.iter().map(|drug| drug.doses.len()).max()?;
    (most < shocks.len()).then(|| {
        (
            "antiarrhythmic.after_shocks".to_owned(),
            format!("names {} shocks, but no drug has more than {most} doses", shocks.len()),
        )
    })
}

/// A word that means two causes would count one as treated when the other was.
fn other_words(protocol: &Protocol) -> Option<Fault> {
    let causes = &protocol.causes.list.value;
    let all = || causes.iter().flat_map(|cause| std::iter::once(&cause.id).chain(&cause.also));
    causes.iter().find_map(|cause| {
        let word = cause.also.iter().find(|word| all().filter(|other| other == word).count() > 1)?;
        Some((
            format!("causes.list.{}.also", cause.id),
            format!("`{word}` stands twice among the words for causes: it would mean two of them"),
        ))
    })
}

fn lists(protocol: &Protocol) -> Option<Fault> {
    if protocol.causes.list.value.is_empty() {
        return Some(("causes.list".to_owned(), "must name at least one reversible cause".to_owned()));
    }
    if let Some(fault) = other_words(protocol) {
        return Some(fault);
    }
    for item in &protocol.aftercare {
        if let Some(reading) = &item.reading
            && !READINGS.contains(&reading.as_str())
        {
            let field = format!("aftercare.{}.reading", item.id);
            return Some((field, format!("`{reading}` is no reading: {}", READINGS.join(", "))));
        }
    }
    let unclear = |change: &&super::KnownChange| {
        [&change.edition, &change.what, &change.state].into_iter().any(|text| text.trim().is_empty())
    };
    let change = protocol.known_changes.iter().find(unclear)?;
    Some(("known_changes".to_owned(), format!("`{}` leaves a field empty", change.what)))
}

//! Values that a file must have to be used, although a code on record may have run under a text from before they came in:
//! that text is read again as it is, and goes without them as their fields say.

use super::orders::Fault;
use super::{DoseRule, EnergyRule, Protocol};

/// Everything that is missing, or stands where nothing would ask for it.
pub(super) fn faults(protocol: &Protocol) -> Vec<Fault> {
    let epinephrine = &protocol.epinephrine;
    let is_fixed = matches!(epinephrine.dose, DoseRule::FixedMg(_));
    let shock = &protocol.shock;
    let (check_from_times, check_to_part) = (shock.check_from_times.is_some(), shock.check_to_part.is_some());
    let (least_setting, more, less) = match &shock.energy {
        EnergyRule::FixedJ(_) => (true, true, check_to_part),
        EnergyRule::PerKg { least_setting_part, .. } => (least_setting_part.is_some(), check_from_times, true),
    };
    let by_weight = matches!(shock.energy, EnergyRule::PerKg { .. });
    let demanded = [
        ("ages", protocol.ages.is_some(), "from which age a patient is a child or an adult, whatever was told"),
        (
            "shock.energy.per_kg.least_setting_part",
            least_setting,
            "down to which part of an energy a lower setting stands for it",
        ),
        ("shock.check_from_times", more, "from how many times an energy by weight a charge is to be checked"),
        ("shock.check_to_part", less, "up to which part of a fixed energy a charge is to be checked"),
        (
            "drugs.syringe_tolerance_part",
            protocol.drugs.syringe_tolerance_part.is_some(),
            "how much more or less than the dose a syringe may hold, as a part of it",
        ),
        (
            "epinephrine.push_part",
            epinephrine.push_part.is_some() || !is_fixed,
            "up to which part of the dose a bolus is a push and no dose of the arrest",
        ),
        (
            "epinephrine.check_above_times",
            epinephrine.check_above_times.is_some(),
            "above how many times the dose a bolus is to be checked",
        ),
        (
            "causes.every_cycles",
            protocol.causes.every_cycles.is_some(),
            "in every how many cycles the causes are asked about",
        ),
    ];
    let missing = demanded
        .into_iter()
        .filter(|(_, stands, _)| !stands)
        .map(|(field, _, words)| (field.to_owned(), format!("is missing: write {words}; the shipped files show how")));
    let idle = [
        (
            "epinephrine.push_part",
            epinephrine.push_part.is_some() && !is_fixed,
            "stands beside a dose by weight, where every bolus is a dose: leave it out",
        ),
        ("shock.check_to_part", check_to_part && by_weight, "stands beside an energy by weight: leave it out"),
        ("shock.check_from_times", check_from_times && !by_weight, "stands beside a fixed energy: leave it out"),
    ];
    let idle = idle.into_iter().filter(|(_, stands, _)| *stands);
    let idle = idle.map(|(field, _, problem)| (field.to_owned(), problem.to_owned()));
    missing.chain(idle).collect()
}

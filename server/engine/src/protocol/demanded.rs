//! Values that a file must have to be used, although a code on record may have run under a text from before they came in:
//! that text is read again as it is, and goes without them as their fields say.

use super::orders::Fault;
use super::{DoseRule, EnergyRule, Protocol};

/// Everything that is missing, or stands where nothing would ask for it.
pub(super) fn faults(protocol: &Protocol) -> Vec<Fault> {
    let epinephrine = &protocol.epinephrine;
    let is_fixed = matches!(epinephrine.dose, DoseRule::FixedMg(_));
    let least_setting = match &protocol.shock.energy {
        EnergyRule::FixedJ(_) => true,
        EnergyRule::PerKg { least_setting_part, .. } => least_setting_part.is_some(),
    };
    let demanded = [
        ("ages", protocol.ages.is_some(), "from which age a patient is a child or an adult, whatever was told"),
        (
            "shock.energy.per_kg.least_setting_part",
            least_setting,
            "down to which part of an energy a lower setting stands for it",
        ),
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
    let idle = (epinephrine.push_part.is_some() && !is_fixed).then(|| {
        let problem = "stands beside a dose by weight, where every bolus is a dose: leave it out".to_owned();
        ("epinephrine.push_part".to_owned(), problem)
    });
    missing.chain(idle).collect()
}

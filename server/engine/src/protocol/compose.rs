//! Words that follow from numbers: a protocol says a number once, where the plan reads it, and what a screen shows of it is
//! made here. So the two cannot contradict each other.

use super::{Airway, Basis, EnergyRule, Protocol, Shock, Sourced};

/// The protocol with its numbers before its words.
pub(super) fn composed(mut protocol: Protocol) -> Protocol {
    let monophasic = protocol.circumstances.iter().find_map(|rules| rules.fixed_j.as_ref());
    let monophasic = monophasic.map(|energies| format!(" Monophasic {} J.", joined(&energies.value)));
    let words = energy_words(&protocol.shock);
    let said = &mut protocol.shock.energy_rule.value;
    *said = format!("{words}: {said}{}", monophasic.unwrap_or_default());
    protocol.airway.breath_rule = breath_rule(&mut protocol.airway);
    protocol
}

fn joined(numbers: &[f64]) -> String {
    numbers.iter().map(f64::to_string).collect::<Vec<_>>().join(", ")
}

fn energy_words(shock: &Shock) -> String {
    match (&shock.energy, &shock.first_j) {
        (EnergyRule::FixedJ(_), Some(first_j)) => {
            format!("Biphasic, first shock {} J", first_j.words(0, |joules| joules.to_string()))
        }
        (EnergyRule::FixedJ(energies), None) => format!("Biphasic {} J", joined(&energies.value)),
        (EnergyRule::PerKg { j_per_kg, max_j_per_kg, max_j, .. }, _) => {
            format!("{}; at most {} J/kg and {} J", steps(&j_per_kg.value), max_j_per_kg.value, max_j.value)
        }
    }
}

/// Energies by weight, each said once: "2 J/kg, from shock 2 on 4 J/kg".
fn steps(j_per_kg: &[f64]) -> String {
    let mut words = Vec::new();
    let mut last = None;
    for (place, energy) in j_per_kg.iter().enumerate() {
        match last {
            None => words.push(format!("{energy} J/kg")),
            Some(last) if last == energy => {}
            Some(_) => words.push(format!("from shock {} on {energy} J/kg", place + 1)),
        }
        last = Some(energy);
    }
    words.join(", ")
}

fn breath_rule(airway: &mut Airway) -> Option<Sourced<String>> {
    let said = airway.breath_rule.take();
    let Some(fastest) = &airway.fastest_breath_each_s else { return said };
    let (fast, slow) = (fastest.value, airway.one_breath_each_s.value);
    let range = format!("one breath each {fast} to {slow} s, {:.0} to {:.0} a minute", 60.0 / slow, 60.0 / fast);
    let value = said.map_or_else(|| range.clone(), |said| format!("{range}; {}", said.value));
    Some(Sourced { value, source: fastest.source.clone(), basis: Basis::Read, unusual: fastest.unusual.clone() })
}

//! One row a code: what it was, and its figures by the definitions of docs/measures.md.

use coxswain_engine::event::Event;
use serde_json::Value;

use super::code::{Code, Zero, closing, patient};
use super::table::{cell, row, text, word};

/// What stands in front of the figures.
const FRONT: &[&str] = &[
    "code",
    "recognised_at",
    "training",
    "location",
    "protocol",
    "protocol_version",
    "age_group",
    "age_months",
    "sex",
    "weight_kg",
    "witnessed",
    "monitored",
    "closed",
    "outcome",
    "records",
    "head",
];
/// The figures, by their names; lists are JSON.
const FIGURES: &[&str] = &[
    "arrest_ms",
    "compression_fraction",
    "no_flow_ms",
    "low_flow_ms",
    "compression_fraction_from_first",
    "pauses",
    "pauses_over_10_s",
    "longest_pause_ms",
    "shocks",
    "charging_compression_fraction",
    "first_rhythm",
    "first_compression_ms",
    "first_shock_ms",
    "first_epinephrine_ms",
    "first_access_ms",
    "first_advanced_airway_ms",
    "epinephrine_intervals_ms",
    "check_intervals_ms",
    "compressor_spells_ms",
    "finger_ready_fraction",
    "rosc_ms",
    "rosc_count",
    "breath_pauses_estimate_ms",
    "gaps",
];

/// Names of the columns.
pub(super) fn header() -> String {
    row([FRONT, FIGURES].concat())
}

/// A code's row.
pub(super) fn row_of(code: &Code) -> String {
    let facts = code.facts();
    let patient = patient(&facts);
    let outcome = closing(&facts).and_then(|fact| match fact.event {
        Event::CodeClosed { outcome, .. } => Some(*outcome),
        _ => None,
    });
    let opening = code.opening();
    let optional = |value: Option<String>| value.unwrap_or_default();
    let mut cells = vec![
        code.id.to_string(),
        optional(match code.zero {
            Zero::At(zero) => Some(format!("{zero:.3}")),
            Zero::Unknown | Zero::Hidden => None,
        }),
        opening.training.to_string(),
        text(&optional(opening.location)),
        text(&code.protocol_name),
        code.protocol.version.to_string(),
        word(patient.age_group),
        word(patient.age_months),
        word(patient.sex),
        word(patient.weight_kg),
        word(opening.witnessed),
        word(opening.monitored),
        closing(&facts).is_some().to_string(),
        word(outcome),
        code.records.len().to_string(),
        optional(code.head.clone()),
    ];
    let figures = serde_json::to_value(code.figures()).unwrap_or_default();
    cells.extend(FIGURES.iter().map(|name| cell(figures.get(*name).unwrap_or(&Value::Null))));
    row(cells)
}

#[cfg(test)]
mod tests {
    use super::*;
    use coxswain_engine::measure::measure;
    use coxswain_engine::protocol;

    #[test]
    fn every_figure_has_a_column() {
        let protocol = protocol::reread(protocol::shipped()[0].1).unwrap();
        let figures = serde_json::to_value(measure(&[], &protocol)).unwrap();
        let named: std::collections::BTreeSet<&str> = FIGURES.iter().copied().collect();
        let made = figures.as_object().unwrap().keys().map(String::as_str).collect();
        assert_eq!(named, made);
    }
}

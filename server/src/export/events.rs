//! One row an event: each record as it stands now, with what it was recorded as where a correction changed it.

use std::collections::{BTreeMap, BTreeSet};

use coxswain_engine::event::Event;
use coxswain_engine::record::Record;
use coxswain_engine::timeline::Fact;
use serde_json::{Map, Value};
use uuid::Uuid;

use super::code::Code;
use super::table::{cell, code_time, row, text, word};

/// What stands in front of the event.
const FRONT: &[&str] = &[
    "code",
    "seq",
    "id",
    "standing",
    "amended",
    "at_ms",
    "code_time",
    "at",
    "recorded_at",
    "source",
    "device",
    "name",
    "roles",
    "kind",
];
/// Fields of events that have a column of their own; everything else of an event is in `details`, as JSON.
const FIELDS: &[&str] = &[
    "reason",
    "by",
    "rhythm",
    "pulse",
    "energy_j",
    "drug",
    "dose",
    "dose_unit",
    "route",
    "form",
    "airway",
    "mmhg",
    "outcome",
    "target",
];
/// What stands behind it.
const BEHIND: &[&str] = &["details", "first_at_ms", "first_event"];

/// Names of the columns.
pub(super) fn header() -> String {
    row([FRONT, FIELDS, BEHIND].concat())
}

/// A code's rows, in order of its chain.
pub(super) fn rows(code: &Code) -> String {
    let facts = code.facts();
    let by_id: BTreeMap<Uuid, &Fact<'_>> = facts.iter().map(|fact| (fact.id, fact)).collect();
    let voided = coxswain_engine::timeline::voided(&code.records);
    let mut seen = BTreeSet::new();
    code.records
        .iter()
        .map(|record| {
            let standing = if !seen.insert(record.id) {
                "repeated"
            } else if voided.contains(&record.id) {
                "voided"
            } else if record.event.is_correction() {
                "correction"
            } else if by_id.contains_key(&record.id) {
                "counts"
            } else if is_about_the_record(record) {
                "review"
            } else {
                "after_closing"
            };
            one(code, record, by_id.get(&record.id).copied(), standing)
        })
        .collect()
}

fn is_about_the_record(record: &Record) -> bool {
    matches!(record.event, Event::Reviewed { .. } | Event::ClockCorrected { .. })
}

fn one(code: &Code, record: &Record, fact: Option<&Fact<'_>>, standing: &str) -> String {
    let (at_ms, event) = fact.map_or((record.at_ms, &record.event), |fact| (fact.at_ms, fact.event));
    let amended = fact.is_some_and(|fact| fact.at_ms != record.at_ms || fact.event != fact.recorded);
    let mut fields = as_map(event);
    let kind = fields.remove("kind").unwrap_or_default();
    // A dose is an amount with its unit: two columns.
    if let Some(Value::Object(dose)) = fields.remove("dose") {
        fields.insert("dose".to_owned(), dose.get("value").cloned().unwrap_or_default());
        fields.insert("dose_unit".to_owned(), dose.get("unit").cloned().unwrap_or_default());
    }
    let roles: Vec<&str> = record.by.roles.iter().map(|role| role.as_str()).collect();
    let mut cells = vec![
        code.id.to_string(),
        record.seq.to_string(),
        record.id.to_string(),
        standing.to_owned(),
        amended.to_string(),
        at_ms.to_string(),
        code_time(at_ms),
        code.wall(at_ms).map(|at| format!("{at:.3}")).unwrap_or_default(),
        record.recorded_at.clone(),
        word(record.source),
        record.by.device.to_string(),
        text(&record.by.name),
        roles.join(" "),
        cell(&kind),
    ];
    cells.extend(FIELDS.iter().map(|field| cell(&fields.remove(*field).unwrap_or_default())));
    cells.push(if fields.is_empty() { String::new() } else { Value::Object(fields).to_string() });
    cells.push(if amended { record.at_ms.to_string() } else { String::new() });
    let changed = fact.is_some_and(|fact| fact.event != fact.recorded);
    cells.push(if changed { Value::Object(as_map(&record.event)).to_string() } else { String::new() });
    row(cells)
}

fn as_map(event: &Event) -> Map<String, Value> {
    match serde_json::to_value(event) {
        Ok(Value::Object(fields)) => fields,
        _ => Map::new(),
    }
}

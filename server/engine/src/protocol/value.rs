//! The sourced values of a protocol file, one by one: each with its source, its basis and its reason, and each held against
//! the range published for it. What must hold between values is in `orders`.

use std::collections::BTreeMap;

use toml::Value;

use super::place::{line_near, lines};
use super::read::{Rejected, bad_toml, below};
use super::{Basis, limits};
use crate::event::AgeGroup;

/// One value of a protocol as a reviewer reads it.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Dotted path of the field.
    pub field: String,
    /// The value as the file writes it.
    pub value: String,
    /// Its source.
    pub source: String,
    /// How it was obtained.
    pub basis: Basis,
    /// Why it departs from the published range.
    pub unusual: Option<String>,
}

/// Longest time that a protocol may name, in seconds.
const LONGEST_S: f64 = 86_400.0;
/// Fields by which others are divided or multiplied: none of these can be nothing.
const NEVER_ZERO: &[&str] = &[
    "strength_mg_per_ml",
    "length_s",
    "compressions_per_minute",
    "pause_limit_s",
    "fixed_mg",
    "mg_per_kg",
    "max_mg",
    "fixed_j",
    "j_per_kg",
    "max_j_per_kg",
    "max_j",
    "settings_j",
    "ml_per_kg",
    "max_ml",
    "volume_ml",
    "one_breath_each_s",
    "step_months",
    "kg_per_step",
    "plausible_low",
    "plausible_high",
    "least_setting_part",
    "check_to_part",
    "check_from_times",
    "push_part",
    "check_above_times",
    "every_cycles",
];

/// Every sourced value of a protocol file, in the order of the file.
///
/// # Errors
/// As [`read`], where the text is no TOML at all.
pub fn rows(text: &str) -> Result<Vec<Row>, Rejected> {
    let row = |found: Found| Row {
        value: in_words(&found.value),
        field: found.field,
        source: found.source,
        basis: found.basis,
        unusual: found.unusual,
    };
    let file = toml::from_str(text).map_err(|error| bad_toml(text, &error))?;
    Ok(sourced(&file, &lines(text)?).into_iter().map(row).collect())
}

/// A sourced value as it stands in the file.
pub(super) struct Found {
    pub(super) field: String,
    pub(super) value: Value,
    pub(super) source: String,
    pub(super) basis: Basis,
    pub(super) unusual: Option<String>,
}

pub(super) fn sourced(file: &Value, lines: &BTreeMap<String, usize>) -> Vec<Found> {
    let mut found = Vec::new();
    collect(file, "", &mut found);
    found.sort_by_key(|found| line_near(lines, &found.field));
    found
}

fn collect(value: &Value, path: &str, found: &mut Vec<Found>) {
    match value {
        Value::Table(table) => {
            if let (Some(inner), Some(Value::String(source))) = (table.get("value"), table.get("source")) {
                let basis = match table.get("basis").and_then(Value::as_str) {
                    Some("read") => Basis::Read,
                    Some("practice") => Basis::Practice,
                    Some(_) | None => Basis::Memory,
                };
                found.push(Found {
                    field: path.to_owned(),
                    value: inner.clone(),
                    source: source.clone(),
                    basis,
                    unusual: table.get("unusual").and_then(Value::as_str).map(str::to_owned),
                });
                return;
            }
            for (name, inner) in table {
                collect(inner, &below(path, name), found);
            }
        }
        Value::Array(items) => {
            for (index, inner) in items.iter().enumerate() {
                let name = inner.get("id").and_then(Value::as_str).map_or_else(|| index.to_string(), str::to_owned);
                collect(inner, &below(path, &name), found);
            }
        }
        Value::String(_) | Value::Integer(_) | Value::Float(_) | Value::Boolean(_) | Value::Datetime(_) => {}
    }
}

/// Words that stand where a source should.
const NO_SOURCE: &[&str] =
    &["-", "?", "n/a", "na", "none", "no", "nil", "unknown", "todo", "tbd", "tba", "xxx", "source"];

/// What makes a value unfit to be followed at a bedside.
pub(super) fn unsafe_value(found: &Found, group: AgeGroup) -> Option<String> {
    no_source(found).or_else(|| no_amount(found)).or_else(|| out_of_range(found, group))
}

fn no_source(found: &Found) -> Option<String> {
    let source = found.source.trim().to_lowercase();
    if source.is_empty() {
        return Some("its source is empty; write where it is published, or `common practice, no source`".to_owned());
    }
    if NO_SOURCE.contains(&source.as_str()) {
        return Some(format!("`{source}` is no source; write where it is published, or `common practice, no source`"));
    }
    if found.basis == Basis::Read && source.starts_with("common practice") {
        return Some("common practice was read nowhere: write basis = \"practice\"".to_owned());
    }
    let reason = found.unusual.as_ref()?.trim();
    (reason.is_empty() || NO_SOURCE.contains(&reason.to_lowercase().as_str()))
        .then(|| "`unusual` gives no reason".to_owned())
}

fn numbers(found: &Found) -> Vec<f64> {
    match &found.value {
        Value::Array(items) => items.iter().filter_map(number).collect(),
        other => number(other).into_iter().collect(),
    }
}

/// What no reason makes good: a value that nothing can be computed with.
pub(super) fn no_amount(found: &Found) -> Option<String> {
    match &found.value {
        Value::Array(items) if items.is_empty() => return Some("must not be empty".to_owned()),
        Value::String(text) if text.trim().is_empty() => return Some("must not be empty".to_owned()),
        _ => {}
    }
    let name = found.field.rsplit('.').next().unwrap_or_default();
    numbers(found).into_iter().find_map(|value| {
        if !value.is_finite() || value < 0.0 {
            return Some(format!("{value} is no amount; write a number of 0 or more"));
        }
        if value == 0.0 && NEVER_ZERO.contains(&name) {
            return Some("must be more than 0".to_owned());
        }
        (name.ends_with("_s") && value > LONGEST_S)
            .then(|| format!("{value} s is longer than a day; perhaps it is in milliseconds. Write it in seconds."))
    })
}

fn out_of_range(found: &Found, group: AgeGroup) -> Option<String> {
    if found.unusual.is_some() {
        return None;
    }
    let limit = limits::limit_of(&found.field, group);
    numbers(found).into_iter().find_map(|value| match limit {
        Some(limit) if limit.allows(value) => None,
        Some(limit) => Some(limit.words(value)),
        None => {
            Some("no published range is known for it. If it is meant, write unusual = \"reason\" beside it.".to_owned())
        }
    })
}

#[expect(clippy::cast_precision_loss, reason = "a protocol's whole numbers are far below 2^53")]
pub(super) fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Integer(whole) => Some(*whole as f64),
        Value::Float(value) => Some(*value),
        Value::String(_) | Value::Boolean(_) | Value::Datetime(_) | Value::Array(_) | Value::Table(_) => None,
    }
}

fn in_words(value: &Value) -> String {
    match value {
        Value::Array(items) => items.iter().map(in_words).collect::<Vec<_>>().join(", "),
        Value::Table(table) => {
            table.get("title").and_then(Value::as_str).map_or_else(|| value.to_string(), str::to_owned)
        }
        Value::String(text) => text.clone(),
        Value::Boolean(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Value::Integer(_) | Value::Float(_) | Value::Datetime(_) => value.to_string(),
    }
}

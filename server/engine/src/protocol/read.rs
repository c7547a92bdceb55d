//! Reading a protocol file: its text becomes a [`Protocol`], or an error that names field and line.
//!
//! A file that does not pass is refused whole: there is no reading around a doubtful number. Ranges are in `limits`, what
//! must hold between values in `orders`.

use std::collections::BTreeMap;

use toml::Value;
use toml::de::{DeTable, DeValue};

use super::{Basis, Protocol, limits, orders};
use crate::event::AgeGroup;

/// Why a protocol file was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rejected {
    /// Line in the file, from 1; absent where the fault has no place, such as a missing table.
    pub line: Option<usize>,
    /// Dotted path of the field.
    pub field: String,
    /// What is wrong, and what to do.
    pub problem: String,
}

impl std::fmt::Display for Rejected {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if let Some(line) = self.line {
            write!(f, "line {line}: ")?;
        }
        if !self.field.is_empty() {
            write!(f, "{}: ", self.field)?;
        }
        f.write_str(&self.problem)
    }
}

impl std::error::Error for Rejected {}

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

fn line_of(text: &str, offset: usize) -> usize {
    text.bytes().take(offset).filter(|byte| *byte == b'\n').count() + 1
}

/// Longest protocol file, in bytes: far beyond any real one.
const MAX_BYTES: usize = 1 << 20;
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
];

/// Reads a protocol from its text.
///
/// # Errors
/// Names line and field of the first value that is missing, mistyped or unsafe.
pub fn read(text: &str) -> Result<Protocol, Rejected> {
    if text.len() > MAX_BYTES {
        return Err(Rejected {
            line: None,
            field: String::new(),
            problem: format!("is longer than {MAX_BYTES} bytes: this is no protocol file"),
        });
    }
    let deserializer = toml::Deserializer::parse(text).map_err(|error| bad_toml(text, &error))?;
    let protocol: Protocol = serde_path_to_error::deserialize(deserializer).map_err(|error| Rejected {
        line: error.inner().span().map(|span| line_of(text, span.start)),
        field: error.path().to_string(),
        problem: error.inner().message().to_owned(),
    })?;
    let lines = lines(text)?;
    let rejected = |(field, problem): orders::Fault| Rejected { line: line_near(&lines, &field), field, problem };
    for found in sourced(text)? {
        if let Some(problem) = unsafe_value(&found, protocol.age_group) {
            return Err(rejected((found.field, problem)));
        }
    }
    orders::first_fault(&protocol).map_or(Ok(protocol), |fault| Err(rejected(fault)))
}

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
    Ok(sourced(text)?.into_iter().map(row).collect())
}

/// A sourced value as it stands in the file.
struct Found {
    field: String,
    value: Value,
    source: String,
    basis: Basis,
    unusual: Option<String>,
}

fn sourced(text: &str) -> Result<Vec<Found>, Rejected> {
    let value: Value = toml::from_str(text).map_err(|error| bad_toml(text, &error))?;
    let mut found = Vec::new();
    collect(&value, "", &mut found);
    let lines = lines(text)?;
    found.sort_by_key(|found| line_near(&lines, &found.field));
    Ok(found)
}

fn bad_toml(text: &str, error: &toml::de::Error) -> Rejected {
    Rejected {
        line: error.span().map(|span| line_of(text, span.start)),
        field: String::new(),
        problem: error.message().to_owned(),
    }
}

fn below(path: &str, name: &str) -> String {
    if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") }
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

/// Where each field stands, by the same names.
fn lines(text: &str) -> Result<BTreeMap<String, usize>, Rejected> {
    let document = DeTable::parse(text).map_err(|error| bad_toml(text, &error))?;
    let mut places = Places { starts: vec![0], found: BTreeMap::new() };
    places.starts.extend(text.match_indices('\n').map(|(offset, _)| offset + 1));
    places.table(document.get_ref(), "");
    Ok(places.found)
}

/// Collects the line of each field.
struct Places {
    /// Where each line begins.
    starts: Vec<usize>,
    found: BTreeMap<String, usize>,
}

impl Places {
    fn table(&mut self, table: &DeTable<'_>, path: &str) {
        for (name, value) in table {
            let field = below(path, name.get_ref());
            self.note(&field, name.span().start);
            self.value(value.get_ref(), &field);
        }
    }

    fn value(&mut self, value: &DeValue<'_>, path: &str) {
        match value {
            DeValue::Table(table) => self.table(table, path),
            DeValue::Array(items) => {
                for (index, item) in items.iter().enumerate() {
                    let id = match item.get_ref() {
                        DeValue::Table(table) => table.iter().find_map(|(name, value)| match value.get_ref() {
                            DeValue::String(id) if name.get_ref() == "id" => Some(id.clone().into_owned()),
                            _ => None,
                        }),
                        _ => None,
                    };
                    let field = below(path, &id.unwrap_or_else(|| index.to_string()));
                    self.note(&field, item.span().start);
                    self.value(item.get_ref(), &field);
                }
            }
            DeValue::String(_)
            | DeValue::Integer(_)
            | DeValue::Float(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_) => {}
        }
    }

    fn note(&mut self, field: &str, offset: usize) {
        self.found.insert(field.to_owned(), self.starts.partition_point(|start| *start <= offset));
    }
}

/// The line of a value, or of the nearest table above it that has one.
fn line_near(lines: &BTreeMap<String, usize>, field: &str) -> Option<usize> {
    let mut field = field;
    // A table's header may stand far above the value itself.
    if let Some(line) = lines.get(&format!("{field}.value")) {
        return Some(*line);
    }
    loop {
        if let Some(line) = lines.get(field) {
            return Some(*line);
        }
        field = field.rsplit_once('.')?.0;
    }
}

/// What makes a value unfit to be followed at a bedside.
fn unsafe_value(found: &Found, group: AgeGroup) -> Option<String> {
    if found.source.trim().is_empty() {
        return Some("its source is empty; write where it is published, or `common practice, no source`".to_owned());
    }
    if found.unusual.as_ref().is_some_and(|reason| reason.trim().is_empty()) {
        return Some("`unusual` gives no reason".to_owned());
    }
    let numbers: Vec<f64> = match &found.value {
        Value::Array(items) => {
            if items.is_empty() {
                return Some("must not be empty".to_owned());
            }
            items.iter().filter_map(number).collect()
        }
        Value::String(text) if text.trim().is_empty() => return Some("must not be empty".to_owned()),
        other => number(other).into_iter().collect(),
    };
    let name = found.field.rsplit('.').next().unwrap_or_default();
    for value in numbers {
        if !value.is_finite() || value < 0.0 {
            return Some(format!("{value} is no amount"));
        }
        if value == 0.0 && NEVER_ZERO.contains(&name) {
            return Some("must be more than 0".to_owned());
        }
        if name.ends_with("_s") && value > LONGEST_S {
            return Some(format!("{value} s is longer than a day; perhaps it is in milliseconds"));
        }
        if found.unusual.is_some() {
            continue;
        }
        match limits::limit_of(&found.field, group) {
            Some(limit) if limit.allows(value) => {}
            Some(limit) => return Some(limit.words(value)),
            None => {
                return Some(
                    "no published range is known for it. If it is meant, write unusual = \"reason\" beside it."
                        .to_owned(),
                );
            }
        }
    }
    None
}

#[expect(clippy::cast_precision_loss, reason = "a protocol's whole numbers are far below 2^53")]
fn number(value: &Value) -> Option<f64> {
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

#[cfg(test)]
#[path = "read_tests.rs"]
mod tests;

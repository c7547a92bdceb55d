//! Reading a protocol file: its text becomes a [`Protocol`], or an error that names field and line.

use toml::Value;

use super::{Basis, Protocol};

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

/// Reads a protocol from its text.
///
/// # Errors
/// Names line and field of the first value that is missing, mistyped or unsafe.
pub fn read(text: &str) -> Result<Protocol, Rejected> {
    let deserializer = toml::Deserializer::parse(text).map_err(|error| Rejected {
        line: error.span().map(|span| line_of(text, span.start)),
        field: String::new(),
        problem: error.message().to_owned(),
    })?;
    serde_path_to_error::deserialize(deserializer).map_err(|error| Rejected {
        line: error.inner().span().map(|span| line_of(text, span.start)),
        field: error.path().to_string(),
        problem: error.inner().message().to_owned(),
    })
}

/// Every sourced value of a protocol file, in alphabetical order of its field.
///
/// # Errors
/// As [`read`], where the text is no TOML at all.
pub fn rows(text: &str) -> Result<Vec<Row>, Rejected> {
    let value: Value = toml::from_str(text).map_err(|error| Rejected {
        line: error.span().map(|span| line_of(text, span.start)),
        field: String::new(),
        problem: error.message().to_owned(),
    })?;
    let mut found = Vec::new();
    collect(&value, "", &mut found);
    Ok(found)
}

fn collect(value: &Value, path: &str, found: &mut Vec<Row>) {
    match value {
        Value::Table(table) => {
            if let (Some(inner), Some(Value::String(source))) = (table.get("value"), table.get("source")) {
                let basis = match table.get("basis").and_then(Value::as_str) {
                    Some("read") => Basis::Read,
                    Some("practice") => Basis::Practice,
                    Some(_) | None => Basis::Memory,
                };
                found.push(Row {
                    field: path.to_owned(),
                    value: inner.to_string(),
                    source: source.clone(),
                    basis,
                    unusual: table.get("unusual").and_then(Value::as_str).map(str::to_owned),
                });
                return;
            }
            for (name, inner) in table {
                let below = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
                collect(inner, &below, found);
            }
        }
        Value::Array(items) => {
            for (index, inner) in items.iter().enumerate() {
                let name = inner.get("id").and_then(Value::as_str).map_or_else(|| index.to_string(), str::to_owned);
                collect(inner, &format!("{path}.{name}"), found);
            }
        }
        Value::String(_) | Value::Integer(_) | Value::Float(_) | Value::Boolean(_) | Value::Datetime(_) => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ADULT: &str = include_str!("../../../protocols/aha-adult.toml");

    #[test]
    fn a_shipped_protocol_reads_and_every_value_has_its_source() {
        let protocol = read(ADULT).unwrap();
        assert_eq!((protocol.id.as_str(), protocol.cycle.length_s.ms()), ("aha-adult", 120_000));
        let rows = rows(ADULT).unwrap();
        assert!(rows.len() > 60, "{}", rows.len());
        assert!(rows.iter().all(|row| !row.source.trim().is_empty()));
    }

    #[test]
    fn a_fault_names_line_and_field() {
        let broken = ADULT.replacen("length_s = { value = 120", "length_s = { value = \"two minutes\"", 1);
        let error = read(&broken).unwrap_err();
        assert_eq!(error.field, "cycle.length_s.value");
        assert!(error.line.is_some(), "{error}");
        let error = read(&ADULT.replacen("source = \"AHA 2020 (S80)\", ", "", 1)).unwrap_err();
        assert!(error.problem.contains("source"), "{error}");
    }
}

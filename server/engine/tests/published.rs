//! Checks against what lies outside the engine: the check tables, timelines and worked figures of `tests/published`.
//!
//! The folder's README names the source of each; this file must hold no expected number of its own.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a test")]

use std::path::{Path, PathBuf};

use coxswain_engine::measure::measure;
use coxswain_engine::protocol::{self, Protocol};
use coxswain_engine::record::Record;
use serde_json::Value;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/published")
}

fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn adult() -> Protocol {
    protocol::read(&text(&folder().join("../../server/protocols/aha-adult.toml"))).unwrap()
}

fn records(path: &Path) -> Vec<Record> {
    text(path)
        .lines()
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty())
        .map(|(place, line)| {
            Record::from_json(line).unwrap_or_else(|error| panic!("{}:{}: {error}", path.display(), place + 1))
        })
        .collect()
}

/// Fractions to 1e-4, all else exact; only the names that `expected` has.
fn compare(name: &str, expected: &Value, found: &Value) -> Vec<String> {
    let mut wrong = Vec::new();
    for (field, value) in expected.as_object().unwrap() {
        let other = &found[field];
        let same = match (value.as_f64(), other.as_f64()) {
            (Some(value), Some(other)) if field.contains("fraction") => (value - other).abs() <= 1e-4,
            _ => value == other,
        };
        if !same {
            wrong.push(format!("{name}: {field}: expected {value}, found {other}"));
        }
    }
    wrong
}

#[test]
fn timelines_measure_as_worked_out_elsewhere() {
    let protocol = adult();
    let mut wrong = Vec::new();
    let mut seen = 0;
    for entry in std::fs::read_dir(folder().join("cases")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|extension| extension != "jsonl") {
            continue;
        }
        seen += 1;
        let expected: Value = serde_json::from_str(&text(&path.with_extension("expected.json"))).unwrap();
        let found = serde_json::to_value(measure(&records(&path), &protocol)).unwrap();
        wrong.extend(compare(&path.display().to_string(), &expected, &found));
    }
    assert!(seen >= 14, "only {seen} timelines found");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

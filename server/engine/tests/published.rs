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

/// A messy timeline as `messy.py` writes it: `[seq, id, at_ms, event]`, ids and targets as small numbers.
fn messy_records(line: &Value) -> Vec<Record> {
    let id = |number: &Value| uuid::Uuid::from_u128(u128::from(number.as_u64().unwrap())).to_string();
    let record = |fields: &Value| {
        let mut event = fields[3].clone();
        if let Some(target) = event.get("target").cloned() {
            event["target"] = Value::String(id(&target));
        }
        let record = serde_json::json!({
            "seq": fields[0], "id": id(&fields[1]), "code": id(&Value::from(0)), "at_ms": fields[2],
            "recorded_at": "2026-11-25T09:00:00Z", "source": "live", "event": event,
            "by": {"device": id(&Value::from(0)), "name": "messy", "roles": []},
        });
        Record::from_json(&record.to_string()).unwrap_or_else(|error| panic!("{fields}: {error}"))
    };
    line["records"].as_array().unwrap().iter().map(record).collect()
}

fn compare_messy(text: &str) -> usize {
    let protocol = adult();
    let mut wrong = Vec::new();
    let mut seen = 0;
    for line in text.lines() {
        seen += 1;
        let line: Value = serde_json::from_str(line).unwrap();
        let mut found = serde_json::to_value(measure(&messy_records(&line), &protocol)).unwrap();
        // The oracle has no words for gaps.
        for gap in found["gaps"].as_array_mut().unwrap() {
            gap.as_object_mut().unwrap().remove("words");
        }
        wrong.extend(compare(&format!("seed {}", line["seed"]), &line["expected"], &found));
    }
    assert!(wrong.is_empty(), "{} differences\n{}", wrong.len(), wrong.join("\n"));
    seen
}

#[test]
fn messy_timelines_measure_as_the_second_implementation_says() {
    assert!(compare_messy(&text(&folder().join("messy.jsonl"))) >= 60);
}

/// Fresh messy timelines, where Python is at hand: `COXSWAIN_MESSY="SEED COUNT"` chooses them.
#[test]
fn fresh_messy_timelines_measure_as_the_second_implementation_says() {
    let chosen = option_env!("COXSWAIN_MESSY").unwrap_or("1000 300");
    let script = folder().join("messy.py");
    let Ok(made) = std::process::Command::new("python3").arg(script).args(chosen.split_whitespace()).output() else {
        println!("no python3 here: only the timelines kept in messy.jsonl were compared");
        return;
    };
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    assert!(compare_messy(&String::from_utf8(made.stdout).unwrap()) > 0);
}

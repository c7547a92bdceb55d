//! Checks against what lies outside the engine: the check tables, timelines and worked figures of `tests/published`.
//!
//! The folder's README names the source of each; this file must hold no expected number of its own.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a test")]

use std::path::{Path, PathBuf};

use coxswain_engine::dose::{DoseFor, drug_dose, shock_energy_j};
use coxswain_engine::event::{Patient, Role};
use coxswain_engine::measure::measure;
use coxswain_engine::protocol::{
    self, Basis, DoseRule, EnergyRule, Preparation, Protocol, Shock, Sourced, WeightFormula,
};
use coxswain_engine::record::Record;
use coxswain_engine::snapshot::{Knowledge, Snapshot};
use coxswain_engine::weight::estimate;
use serde_json::Value;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/published")
}

fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn shipped(id: &str) -> Protocol {
    protocol::read(protocol::shipped().iter().find(|(name, _)| *name == id).unwrap().1).unwrap()
}

fn adult() -> Protocol {
    shipped("aha-adult")
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

fn table(name: &str) -> Value {
    let value: toml::Value = toml::from_str(&text(&folder().join(name))).unwrap();
    serde_json::to_value(value).unwrap()
}

fn list<'a>(value: &'a Value, name: &str) -> &'a [Value] {
    value[name].as_array().unwrap()
}

/// A row, its words and its source, for the message when a check fails. No check may lack them.
fn label(check: &Value) -> String {
    let word = |name: &str| {
        check[name]
            .as_str()
            .filter(|word| !word.is_empty())
            .unwrap_or_else(|| panic!("{check} lacks `{name}`"))
            .to_owned()
    };
    assert!(["read", "memory", "calc", "practice"].contains(&word("basis").as_str()), "{check}");
    assert_eq!(word("basis") == "practice", word("source").contains("common practice, no source"), "{check}");
    format!("{}: {} ({})", word("row"), word("says"), word("source"))
}

fn protocols(check: &Value) -> Vec<(&'static str, &'static str)> {
    let wanted = check["protocol"].as_str().unwrap();
    let fits = |id: &str| match wanted {
        "both" => id.ends_with("-adult"),
        "both children" => id.ends_with("-child"),
        one => id == one,
    };
    let found: Vec<_> = protocol::shipped().iter().copied().filter(|(id, _)| fits(id)).collect();
    assert!(!found.is_empty(), "{check}");
    found
}

/// The value at a dotted path of a protocol file, members of lists by id or place.
fn value_at(file: &str, path: &str) -> Value {
    let whole: toml::Value = toml::from_str(file).unwrap();
    let mut value = serde_json::to_value(whole).unwrap();
    for name in path.split('.') {
        let below = match &value {
            Value::Array(members) => {
                members.iter().find(|member| member["id"] == name).or_else(|| members.get(name.parse::<usize>().ok()?))
            }
            other => other.get(name),
        };
        value = below.unwrap_or_else(|| panic!("{path}: no {name}")).clone();
    }
    value["value"].clone()
}

fn value_fault(check: &Value, value: &Value) -> Option<String> {
    let numbers: Vec<f64> = match value {
        Value::Array(members) => members.iter().filter_map(Value::as_f64).collect(),
        other => other.as_f64().into_iter().collect(),
    };
    let tests = [
        check.get("equals").map(|wanted| numbers == [wanted.as_f64().unwrap()]),
        check
            .get("at_least")
            .map(|low| !numbers.is_empty() && numbers.iter().all(|value| *value >= low.as_f64().unwrap())),
        check
            .get("at_most")
            .map(|high| !numbers.is_empty() && numbers.iter().all(|value| *value <= high.as_f64().unwrap())),
        check.get("first").map(|wanted| numbers.first().copied() == wanted.as_f64()),
        check.get("last").map(|wanted| numbers.last().copied() == wanted.as_f64()),
        check.get("members").map(|wanted| value.as_array().unwrap().len() as u64 == wanted.as_u64().unwrap()),
        check.get("contains").map(|words| value.as_str().unwrap().contains(words.as_str().unwrap())),
    ];
    assert!(tests.iter().any(Option::is_some), "{check} tests nothing");
    tests.contains(&Some(false)).then(|| format!("the file has {value}"))
}

#[test]
fn protocol_values_agree_with_what_is_published() {
    let checks = table("values.toml");
    let mut wrong = Vec::new();
    for check in list(&checks, "check") {
        for (id, file) in protocols(check) {
            if let Some(fault) = value_fault(check, &value_at(file, check["field"].as_str().unwrap())) {
                wrong.push(format!("{id}: {}: {fault}", label(check)));
            }
            label(check);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Lines of `seconds kind field=value …`.
fn script(lines: &str) -> Vec<Record> {
    let line = |(place, line): (usize, &str)| {
        let mut words = line.split_whitespace();
        let at_s: f64 = words.next().unwrap().parse().unwrap();
        let mut event = serde_json::json!({ "kind": words.next().unwrap() });
        for word in words {
            let (name, value) = word.split_once('=').unwrap();
            event[name] = serde_json::from_str(value).unwrap_or_else(|_| Value::String(value.to_owned()));
        }
        let record = serde_json::json!({
            "seq": place + 1, "id": uuid::Uuid::from_u128(place as u128 + 1), "code": uuid::Uuid::nil(),
            "at_ms": (at_s * 1_000.0).round() as i64, "recorded_at": "2026-11-25T09:00:00Z", "source": "live",
            "event": event, "by": {"device": uuid::Uuid::nil(), "name": "script", "roles": []},
        });
        Record::from_json(&record.to_string()).unwrap_or_else(|error| panic!("{line}: {error}"))
    };
    lines.lines().map(str::trim).filter(|line| !line.is_empty()).enumerate().map(line).collect()
}

/// Whether `found` has everything that `wanted` has, and the same.
fn has(found: &Value, wanted: &Value) -> bool {
    match (found, wanted) {
        (Value::Object(found), Value::Object(wanted)) => {
            wanted.iter().all(|(name, value)| found.get(name).is_some_and(|other| has(other, value)))
        }
        (Value::Number(found), Value::Number(wanted)) => found.as_f64() == wanted.as_f64(),
        (found, wanted) => found == wanted,
    }
}

#[test]
fn plans_agree_with_what_is_published() {
    let wrong: Vec<String> = PLANS.iter().flat_map(|name| plans_that_differ(&table(name))).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Tables of plans, all of one form.
const PLANS: &[&str] = &["plans.toml", "shock_details.toml", "prior_care.toml"];

fn plans_that_differ(plans: &Value) -> Vec<String> {
    let mut wrong = Vec::new();
    for plan in list(plans, "plan") {
        let at_ms = plan["at_s"].as_i64().unwrap() * 1_000;
        let records = joined(plans, plan);
        let role: Role = plan["role"].as_str().unwrap().parse().unwrap();
        for (id, file) in protocols(plan) {
            let protocol = protocol::read(file).unwrap();
            let snapshot = Snapshot::at(&records, &protocol, at_ms, Knowledge::Hindsight);
            let prompts: Vec<Value> = snapshot
                .visible(role)
                .iter()
                .map(|prompt| serde_json::to_value(prompt).unwrap())
                .filter(|prompt| prompt["action"] == plan["action"])
                .filter(|prompt| plan.get("drug").is_none_or(|drug| prompt["detail"]["drug"] == *drug))
                .filter(|prompt| prompt["detail"].get("waits_for").is_none())
                .collect();
            let notes = snapshot.view(&std::collections::BTreeSet::from([role])).notes;
            let says = |words: &Value| notes.iter().any(|note| note.text.contains(words.as_str().unwrap()));
            let right = match (plan.get("want"), plan.get("note"), plan.get("no_note")) {
                (Some(wanted), _, _) => prompts.iter().any(|prompt| has(prompt, wanted)),
                (None, Some(words), _) => says(words),
                (None, None, Some(words)) => !says(words),
                (None, None, None) => {
                    assert_eq!(plan["absent"], true, "{plan} tests nothing");
                    prompts.is_empty()
                }
            };
            if !right {
                wrong.push(format!("{id}: {}: {prompts:?} {notes:?}", label(plan)));
            }
            label(plan);
        }
    }
    wrong
}

#[test]
fn readings_after_return_of_circulation_agree_with_what_is_published() {
    let readings = table("aftercare.toml");
    let mut wrong = Vec::new();
    for check in list(&readings, "reading") {
        let word = |name: &str| check[name].as_str().unwrap();
        let records = script(&format!("0 clock_started\n10 rosc\n60 {}", word("read")));
        for (id, file) in protocols(check) {
            let snapshot = Snapshot::at(&records, &protocol::read(file).unwrap(), 61_000, Knowledge::AsKnown);
            let view = snapshot.view(&Role::ALL.iter().copied().collect());
            let line = view.aftercare.iter().find(|line| line.id == word("item")).unwrap();
            let of_item = format!(":{}", word("item"));
            let doubted = view.prompts.iter().any(|prompt| {
                prompt.key.ends_with(&of_item) && prompt.show_at_ms <= 61_000 && prompt.detail.doubt.is_some()
            });
            if line.within != check["within"].as_bool() || Some(doubted) != line.within.map(|within| !within) {
                wrong.push(format!("{id}: {}: {line:?}, doubted: {doubted}", label(check)));
            }
            label(check);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A shock in cardiac arrest is never timed to a beat: no task, no label and no protocol speaks of it.
#[test]
fn a_shock_timed_to_a_beat_is_offered_nowhere() {
    let root = folder().join("../..");
    let mut texts: Vec<(String, String)> =
        protocol::shipped().iter().map(|(id, file)| ((*id).to_owned(), (*file).to_owned())).collect();
    for folder in ["server/engine/src", "server/engine/src/plan", "client-web/src/text"] {
        for entry in std::fs::read_dir(root.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                texts.push((path.display().to_string(), text(&path)));
            }
        }
    }
    assert!(texts.len() > 30, "{}", texts.len());
    for (name, text) in texts {
        let text = text.to_lowercase();
        assert!(!text.contains("synchron") && !text.contains("cardiover"), "{name}");
    }
}

/// Pieces of timeline, joined.
fn joined(table: &Value, check: &Value) -> Vec<Record> {
    let mut lines: String = list(check, "pieces")
        .iter()
        .map(|piece| table["pieces"][piece.as_str().unwrap()].as_str().unwrap_or_else(|| panic!("{piece}")))
        .collect();
    lines.push_str(check["more"].as_str().unwrap_or_default());
    script(&lines)
}

/// What of an expectation does not hold of a view.
fn circumstance_fault(check: &Value, expected: &Value, view: &Value) -> Option<String> {
    let at_ms = check["at_s"].as_i64().unwrap() * 1_000;
    let suffix = check.get("task").map(|task| format!(":{}", task.as_str().unwrap()));
    let prompts: Vec<&Value> = list(view, "prompts")
        .iter()
        .filter(|prompt| prompt["show_at_ms"].as_i64().unwrap() <= at_ms && prompt["action"] == check["action"])
        .filter(|prompt| suffix.as_ref().is_none_or(|suffix| prompt["key"].as_str().unwrap().ends_with(suffix)))
        .filter(|prompt| check.get("drug").is_none_or(|drug| prompt["detail"]["drug"] == *drug))
        .filter(|prompt| prompt["detail"].get("waits_for").is_none())
        .collect();
    let drug = check.get("drug").cloned().unwrap_or_default();
    let line = list(view, "drugs").iter().find(|line| line["drug"] == drug).cloned().unwrap_or_default();
    let said = |words: &Value| {
        let words: Vec<&str> = words.as_array().unwrap().iter().map(|word| word.as_str().unwrap()).collect();
        view.get("notes").into_iter().flat_map(|notes| notes.as_array().unwrap()).any(|note| {
            note["kind"] == expected["kind"] && words.iter().all(|word| note["text"].as_str().unwrap().contains(word))
        })
    };
    let same = |wanted: &Value| {
        // A field that is false is left out on the wire.
        let field = |(name, value): (&String, &Value)| {
            line.get(name).map_or(*value == Value::Bool(false), |other| has(other, value))
        };
        wanted.as_object().unwrap().iter().all(field)
    };
    let tests = [
        expected.get("want").map(|wanted| prompts.iter().any(|prompt| has(prompt, wanted))),
        expected.get("absent").map(|absent| *absent == Value::Bool(true) && prompts.is_empty()),
        expected.get("line").map(same),
        expected.get("note").map(said),
    ];
    assert!(tests.iter().any(Option::is_some), "{check} tests nothing");
    tests.contains(&Some(false)).then(|| format!("prompts {prompts:?}, line {line}, notes {}", view["notes"]))
}

#[test]
fn special_circumstances_agree_with_what_is_published_side_by_side() {
    let table = table("circumstances.toml");
    let mut wrong = Vec::new();
    let shipped = |id: &str| {
        let (_, file) = protocol::shipped().iter().find(|(shipped, _)| *shipped == id).unwrap();
        protocol::read(file).unwrap()
    };
    let guidelines = [("aha", shipped("aha-adult")), ("erc", shipped("erc-adult"))];
    for check in list(&table, "check") {
        let records = joined(&table, check);
        let at_ms = check["at_s"].as_i64().unwrap() * 1_000;
        let role: Role = check["role"].as_str().unwrap().parse().unwrap();
        for (name, protocol) in &guidelines {
            let snapshot = Snapshot::at(&records, protocol, at_ms, Knowledge::Hindsight);
            let view = serde_json::to_value(snapshot.view(&[role].into())).unwrap();
            if let Some(fault) = circumstance_fault(check, &check[name], &view) {
                wrong.push(format!("{name}: {}: {fault}", label(check)));
            }
            label(check);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn sourced<T>(value: T) -> Sourced<T> {
    Sourced { value, source: "tests/published/doses.toml".to_owned(), basis: Basis::Read, unusual: None }
}

#[test]
fn doses_by_weight_agree_with_the_worked_table() {
    let doses = table("doses.toml");
    let number = |value: &Value| value.as_f64().unwrap();
    for weight in list(&doses, "weight") {
        let kg = number(&weight["kg"]);
        for (drug, mg) in weight["mg"].as_object().unwrap() {
            let given = &doses["rules"][drug];
            let rule = DoseRule::PerKg {
                mg_per_kg: sourced(number(&given["mg_per_kg"])),
                max_mg: sourced(number(&given["max_mg"])),
            };
            let preparation = Preparation {
                strength_mg_per_ml: sourced(number(&given["strength_mg_per_ml"])),
                flush_ml: sourced(20.0),
                route: sourced("IV or IO".to_owned()),
            };
            let DoseFor::Known(amount) = drug_dose(&rule, &preparation, Some(kg)) else {
                panic!("{}: {drug} has no dose", weight["row"]);
            };
            assert_eq!(amount.dose.value, number(mg), "{}: {drug}", weight["row"]);
            if let Some(ml) = weight["ml"].get(drug) {
                assert_eq!(amount.volume.map(|volume| volume.value), ml.as_f64(), "{}: {drug}", weight["row"]);
            }
        }
        for (rule, joules) in weight["j"].as_object().unwrap() {
            let given = &doses["energies"][rule];
            let energy = EnergyRule::PerKg {
                j_per_kg: sourced(vec![number(&given["j_per_kg"])]),
                max_j_per_kg: sourced(number(&given["max_j_per_kg"])),
                max_j: sourced(number(&given["max_j"])),
                least_setting_part: None,
            };
            let shock = Shock { energy, ..shipped("aha-child").shock };
            assert_eq!(shock_energy_j(&shock, 1, Some(kg)), joules.as_f64(), "{}: {rule}", weight["row"]);
        }
    }
}

#[test]
fn weights_by_age_agree_with_the_published_examples() {
    let weights = table("weights.toml");
    let whole = |value: &Value| sourced(u32::try_from(value.as_u64().unwrap()).unwrap());
    let rule = &weights["older"];
    let older = WeightFormula {
        from_months: whole(&rule["from_months"]),
        through_months: whole(&rule["through_months"]),
        step_months: whole(&rule["step_months"]),
        kg_per_step: sourced(rule["kg_per_step"].as_f64().unwrap()),
        plus_kg: sourced(rule["plus_kg"].as_f64().unwrap()),
    };
    for id in ["aha-child", "erc-child"] {
        for check in list(&weights, "weight") {
            let mut protocol = shipped(id);
            if check["rule"] == "older" {
                protocol.weight.as_mut().unwrap().formulas = vec![older.clone()];
            }
            let (months, kg) = (list(check, "months"), list(check, "kg"));
            assert!(months.len() == kg.len() && !months.is_empty(), "{check}");
            for (months, kg) in months.iter().zip(kg) {
                let age_months = u32::try_from(months.as_u64().unwrap()).ok();
                let patient = Patient { age_months, ..Patient::default() };
                let found = estimate(&patient, &protocol).map(|estimate| estimate.weight_kg);
                assert_eq!(found, kg.as_f64(), "{id}: {}: {months} months", label(check));
            }
        }
    }
}

#[test]
fn worked_figures_measure_as_published() {
    let figures = table("figures.toml");
    for figure in list(&figures, "figure") {
        let mut protocol = adult();
        let changed = |name: &str, value: &mut f64| *value = figure.get(name).and_then(Value::as_f64).unwrap_or(*value);
        changed("compressions_per_minute", &mut protocol.cycle.compressions_per_minute.value);
        changed("breath_gap_s", &mut protocol.cycle.breath_gap_s.value);
        let found = serde_json::to_value(measure(&script(figure["script"].as_str().unwrap()), &protocol)).unwrap();
        let wrong = compare(&label(figure), &figure["expect"], &found);
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}

/// The rows, such as A44, that a text cites.
fn cited(text: &str) -> std::collections::BTreeSet<String> {
    text.split(|letter: char| !letter.is_ascii_alphanumeric())
        .filter(|word| word.len() > 1 && word.len() < 4 && "ACHNPQSW".contains(&word[..1]))
        .filter(|word| word[1..].bytes().all(|byte| byte.is_ascii_digit()))
        .map(str::to_owned)
        .collect()
}

#[test]
fn every_row_that_is_cited_is_listed_with_its_source() {
    let root = folder().join("../..");
    let listed = text(&root.join("docs/clinical-sources.md"));
    let mut texts: Vec<String> = protocol::shipped().iter().map(|(_, file)| (*file).to_owned()).collect();
    texts.extend(
        [
            "values.toml",
            "plans.toml",
            "circumstances.toml",
            "figures.toml",
            "weights.toml",
            "aftercare.toml",
            "shock_details.toml",
            "prior_care.toml",
        ]
        .map(|name| text(&folder().join(name))),
    );
    texts.push(text(&root.join("docs/measures.md")));
    texts.extend(protocol::LIMITS.iter().map(|limit| limit.source.to_owned()));
    let mut seen = 0;
    for row in texts.iter().flat_map(|text| cited(text)) {
        seen += 1;
        // W1 to W12 are listed in words: the numbers themselves are in doses.toml.
        let in_words = row.starts_with('W') && row[1..].parse::<u32>().is_ok_and(|number| number <= 12);
        assert!(in_words || listed.contains(&format!("\n| {row} |")), "{row} is cited but not listed");
    }
    assert!(seen > 100, "{seen}");
}

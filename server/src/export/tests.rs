use std::collections::BTreeSet;

use coxswain_engine::event::Event;
use serde_json::{Value, json};

use super::*;
use crate::ledger::{StoredRecord, chain};

const FORMATS: [Format; 4] = [Format::Jsonl, Format::Csv, Format::CsvCodes, Format::Fhir];
/// Words, names and ids that nobody may find in a de-identified file.
const SECRETS: &[&str] = &[
    "Ward 12",
    "Bay 7",
    "Mary",
    "Dr Grey",
    "left wrist",
    "sister is a nurse",
    "wrong button",
    "strange powder",
    "st-mary",
    "2026",
    "scoops",
    "her own word",
    "0198",
];

/// A code with something to hide in every place where a person can put a word.
fn stored(training: bool) -> StoredCode {
    let id = |place: u64| format!("01980000-0000-7000-8000-{place:012}");
    let protocol = include_str!("../../protocols/aha-adult.toml");
    let events = [
        (
            0,
            json!({"kind": "code_opened", "protocol": {"id": "aha-adult", "version": 1, "sha256": chain::of_text(protocol)},
            "patient": {"age_group": "adult", "age_months": 1100, "weight_kg": 82.4, "sex": "female"}, "location": "Ward 12",
            "training": training}),
        ),
        (0, json!({"kind": "clock_started"})),
        (1_000, json!({"kind": "role_assigned", "role": "compressor", "device": id(900), "person": "Mary"})),
        (8_000, json!({"kind": "compressions_started"})),
        (9_000, json!({"kind": "access_gained", "route": "iv", "site": "left wrist"})),
        (10_000, json!({"kind": "note", "text": "her sister is a nurse"})),
        (35_000, json!({"kind": "compressions_stopped", "reason": "rhythm_check"})),
        (39_000, json!({"kind": "rhythm_checked", "rhythm": "vf", "pulse": "absent"})),
        (41_000, json!({"kind": "shock_delivered", "energy_j": 200})),
        (44_500, json!({"kind": "compressions_started"})),
        (
            60_000,
            json!({"kind": "drug_given", "drug": "adrenaline", "dose": {"value": 1, "unit": "mg"}, "route": "iv"}),
        ),
        (
            61_000,
            json!({"kind": "drug_given", "drug": "strange powder", "dose": {"value": 2, "unit": "scoops"}, "route": "other"}),
        ),
        (62_000, json!({"kind": "circumstance_set", "name": "her own word", "on": true})),
        (70_000, json!({"kind": "vital_read", "spo2_pct": 91.5, "systolic_mmhg": 80})),
        (80_000, json!({"kind": "etco2_read", "mmhg": 14})),
        (90_000, json!({"kind": "shock_delivered", "energy_j": 150})),
        (91_000, json!({"kind": "voided", "target": id(16), "reason": "Mary: wrong button"})),
        (92_000, json!({"kind": "amended", "target": id(9), "at_ms": 41_500, "reason": "wrong button"})),
        (95_000, json!({"kind": "moved", "location": "Bay 7"})),
        (99_000, json!({"kind": "code_closed", "outcome": "survived_event"})),
    ];
    let mut head = chain::START;
    let records = (1..).zip(events).map(|(seq, (at_ms, event))| {
        let reviewed = matches!(event["kind"].as_str(), Some("amended"));
        let record = json!({
            "seq": seq, "id": id(seq), "code": id(500), "at_ms": at_ms, "received_ms": at_ms,
            "recorded_at": format!("2026-11-25T09:14:{:02}.{:03}Z", at_ms / 1_000 % 60, at_ms % 1_000),
            "by": {"device": id(if reviewed { 901 } else { 902 }), "name": if reviewed { "Dr Grey" } else { "Bay 7 monitor" },
                "roles": ["recorder"]},
            "source": if reviewed { "review" } else { "live" }, "event": event,
        });
        let text = Record::from_json(&record.to_string()).unwrap().canonical_json().unwrap();
        head = chain::link(&head, &text);
        StoredRecord { seq, text, hash: head.to_vec() }
    });
    StoredCode {
        place: 1,
        id: id(500).parse().unwrap(),
        location: Some("Ward 12".to_owned()),
        epoch_ms: Some(0),
        closed: true,
        protocols: vec![("aha-adult".to_owned(), 1, protocol.to_owned())],
        records: records.collect(),
        members: Vec::new(),
    }
}

fn exported(format: Format, deidentified: bool, codes: &[StoredCode]) -> String {
    let mut export = Export::new(format, deidentified);
    let mut text = export.begin();
    for code in codes {
        text.push_str(&export.code(code).unwrap());
    }
    text + &export.end()
}

#[test]
fn every_format_has_one_name() {
    for format in FORMATS {
        assert_eq!(Format::named(format.name()), Some(format));
    }
    assert_eq!((Format::named("csv-events"), Format::named("xml")), (Some(Format::Csv), None));
}

#[test]
fn json_lines_are_the_stored_bytes() {
    let code = stored(false);
    let lines: String = code.records.iter().map(|record| format!("{}\n", record.text)).collect();
    assert_eq!(exported(Format::Jsonl, false, &[code]), lines);
}

#[test]
fn a_deidentified_file_holds_nothing_that_somebody_typed() {
    for format in FORMATS {
        let text = exported(format, true, &[stored(false), stored(false)]);
        for secret in SECRETS {
            assert!(!text.contains(secret), "{secret} stands in {format:?}:\n{text}");
        }
    }
    // The same words do stand in the record as it is, so that the test can fail.
    let open = exported(Format::Jsonl, false, &[stored(false)]);
    assert!(SECRETS.iter().filter(|secret| open.contains(**secret)).count() >= 10);
}

#[test]
fn a_deidentified_record_still_reads_and_measures_the_same() {
    let code = Code::of(&stored(false), &mut Protocols::new()).unwrap();
    let hidden = deidentify::code(&code, 3);
    assert_eq!(hidden.figures(), code.figures());
    for line in hidden.jsonl().unwrap().lines() {
        Record::from_json(line).unwrap();
    }
    let patient = code::patient(&hidden.facts());
    assert_eq!((patient.age_months, patient.weight_kg), (Some(1_080), Some(82.0)));
    // Corrections still find their targets.
    let shocks = hidden.facts().into_iter().filter(|fact| matches!(fact.event, Event::ShockDelivered { .. }));
    assert_eq!(shocks.map(|shock| shock.at_ms).collect::<Vec<_>>(), [41_500]);
}

/// Columns by name of each row.
fn rows(text: &str) -> Vec<std::collections::BTreeMap<String, String>> {
    let split = |line: &str| {
        let (mut cells, mut cell, mut within) = (Vec::new(), String::new(), false);
        for sign in line.chars() {
            match sign {
                '"' => within = !within,
                ',' if !within => cells.push(std::mem::take(&mut cell)),
                other => cell.push(other),
            }
        }
        cells.push(cell);
        cells
    };
    let mut lines = text.split_terminator("\r\n");
    let names = split(lines.next().unwrap());
    lines.map(|line| names.iter().cloned().zip(split(line)).collect()).collect()
}

/// The signs at which spreadsheets begin a formula are common practice, no source.
#[test]
fn only_numbers_and_code_times_begin_as_a_formula_would() {
    let mut code = stored(false);
    for record in &mut code.records {
        let mut read = Record::from_json(&record.text).unwrap();
        read.at_ms -= 525_600 * 60_000;
        read.by.name = "-Mary".to_owned();
        if let Event::Note { text } = &mut read.event {
            *text = "=SUM(A1)".to_owned();
        }
        if let Event::Voided { reason, .. } = &mut read.event {
            *reason = "@wrong".to_owned();
        }
        record.text = read.canonical_json().unwrap();
    }
    let mut times = 0;
    for format in [Format::Csv, Format::CsvCodes] {
        for row in rows(&exported(format, false, &[code.clone()])) {
            for (column, cell) in
                row.iter().filter(|(_, cell)| cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']))
            {
                let plain = cell.parse::<f64>().is_ok() || {
                    let parts: Vec<&str> = cell.trim_start_matches('-').split(':').collect();
                    parts.len() == 2 && parts.iter().all(|part| part.bytes().all(|byte| byte.is_ascii_digit()))
                };
                assert!(plain, "{column}: {cell}");
                times += usize::from(column == "code_time");
            }
        }
    }
    assert_eq!(times, 20);
    let events = rows(&exported(Format::Csv, false, &[code]));
    assert_eq!((events[0]["code_time"].as_str(), events[0]["name"].as_str()), ("-525600:00", "'-Mary"));
    assert_eq!(events[16]["reason"], "'@wrong");
}

#[test]
fn a_row_an_event_says_how_each_stands() {
    let rows = rows(&exported(Format::Csv, false, &[stored(false)]));
    assert_eq!(rows.len(), 20);
    let of = |seq: usize, column: &str| rows[seq - 1][column].as_str();
    assert_eq!(
        (of(9, "standing"), of(9, "amended"), of(9, "at_ms"), of(9, "first_at_ms")),
        ("counts", "true", "41500", "41000")
    );
    assert_eq!((of(16, "standing"), of(17, "standing"), of(18, "source")), ("voided", "correction", "review"));
    assert_eq!((of(11, "drug"), of(11, "dose"), of(11, "dose_unit"), of(11, "route")), ("adrenaline", "1", "mg", "iv"));
    assert_eq!((of(9, "at"), of(20, "outcome")), ("2026-11-25T09:14:41.500Z", "survived_event"));
}

/// A reviewer found the wall clock 90 s ahead: every time of day is 90 s earlier, code time is as it was.
#[test]
fn an_alignment_moves_times_of_day_and_nothing_else() {
    let mut code = stored(false);
    let mut record = Record::from_json(&code.records[17].text).unwrap();
    record.event = Event::ClockCorrected { from_ms: 0, to_ms: -90_000, basis: "the monitor was ahead".to_owned() };
    code.records[17].text = record.canonical_json().unwrap();
    let aligned = rows(&exported(Format::Csv, false, &[code.clone()]));
    let as_it_was = rows(&exported(Format::Csv, false, &[stored(false)]));
    assert_eq!(aligned[7]["at_ms"], as_it_was[7]["at_ms"]);
    assert_eq!(
        (aligned[7]["at"].as_str(), as_it_was[7]["at"].as_str()),
        ("2026-11-25T09:13:09.000Z", "2026-11-25T09:14:39.000Z")
    );
    assert_eq!(aligned[17]["standing"], "review");
    let bundle: Value = serde_json::from_str(&exported(Format::Fhir, false, &[code])).unwrap();
    assert!(bundle.to_string().contains("2026-11-25T09:13:09.000Z"));
    let told: Vec<&Value> =
        resources(&bundle).into_iter().filter(|one| one["reason"][0]["text"] == "the monitor was ahead").collect();
    assert_eq!(told.len(), 1);
    assert_eq!(told[0]["activity"]["text"], "Moved every wall-clock time of the record");
}

#[test]
fn a_row_a_code_has_its_figures() {
    let rows = rows(&exported(Format::CsvCodes, false, &[stored(true), stored(false)]));
    assert_eq!((rows[0]["training"].as_str(), rows[1]["training"].as_str()), ("true", "false"));
    let row = &rows[1];
    assert_eq!(row["recognised_at"], "2026-11-25T09:14:00.000Z");
    assert_eq!((row["first_rhythm"].as_str(), row["first_shock_ms"].as_str()), ("vf", "41500"));
    assert_eq!(row["outcome"], "survived_event");
}

fn resources(bundle: &Value) -> Vec<&Value> {
    bundle["entry"].as_array().unwrap().iter().map(|entry| &entry["resource"]).collect()
}

/// Every reference within a value.
fn references(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::Object(fields) => {
            found.extend(fields.get("reference").and_then(Value::as_str).map(str::to_owned));
            fields.values().for_each(|field| references(field, found));
        }
        Value::Array(items) => items.iter().for_each(|item| references(item, found)),
        _ => {}
    }
}

#[test]
fn every_reference_of_a_bundle_resolves_and_no_entry_repeats() {
    for deidentified in [false, true] {
        let text = exported(Format::Fhir, deidentified, &[stored(false)]);
        let bundle: Value = serde_json::from_str(&text).unwrap();
        let urls: Vec<&str> =
            bundle["entry"].as_array().unwrap().iter().map(|entry| entry["fullUrl"].as_str().unwrap()).collect();
        let known: BTreeSet<&str> = urls.iter().copied().collect();
        assert_eq!(known.len(), urls.len());
        let mut named = Vec::new();
        references(&bundle, &mut named);
        assert!(named.len() > 30);
        assert!(named.iter().all(|reference| known.contains(reference.as_str())));
    }
    let empty: Value = serde_json::from_str(&exported(Format::Fhir, false, &[])).unwrap();
    assert_eq!(empty, json!({"resourceType": "Bundle", "type": "collection"}));
}

/// R4 names (clinical sources, E1 to E6 and trap 30): `context`, `performed`, `effective`; R5 renamed them.
#[test]
fn a_bundle_says_what_was_done_and_what_was_taken_back() {
    let bundle: Value = serde_json::from_str(&exported(Format::Fhir, false, &[stored(false)])).unwrap();
    let resources = resources(&bundle);
    let of = |kind: &str| resources.iter().filter(|resource| resource["resourceType"] == kind).collect::<Vec<_>>();
    let given = of("MedicationAdministration");
    assert_eq!(given.len(), 2);
    assert_eq!(given[0]["medicationCodeableConcept"]["coding"][0]["code"], "3992");
    assert_eq!(given[0]["dosage"]["dose"]["code"], "mg");
    assert_eq!(given[0]["effectiveDateTime"], "2026-11-25T09:15:00.000Z");
    assert!(given[0]["context"]["reference"].is_string());
    // A unit that is none of UCUM has no code.
    assert!(given[1]["dosage"]["dose"]["code"].is_null());
    let shocks: Vec<_> =
        of("Procedure").into_iter().filter(|resource| resource["code"]["coding"][0]["code"] == "426220008").collect();
    assert_eq!(shocks.len(), 2);
    assert_eq!((&shocks[0]["status"], &shocks[1]["status"]), (&json!("completed"), &json!("entered-in-error")));
    assert_eq!(shocks[0]["performedDateTime"], "2026-11-25T09:14:41.500Z");
    let activities: BTreeSet<&str> =
        of("Provenance").iter().filter_map(|resource| resource["activity"]["text"].as_str()).collect();
    assert_eq!(activities, BTreeSet::from(["Recorded as it happened", "Amended", "Voided"]));
    assert_eq!(of("Patient").len(), 1);
}

#[test]
fn a_drill_never_looks_like_a_patient() {
    let text = exported(Format::Fhir, false, &[stored(true)]);
    let bundle: Value = serde_json::from_str(&text).unwrap();
    for resource in resources(&bundle) {
        assert_ne!(resource["resourceType"], "Patient");
        assert_eq!(resource["meta"]["tag"][0]["code"], "training", "{resource}");
        assert_ne!(resource["class"]["code"], "EMER");
    }
    // And a real one never says that it is a drill.
    assert!(!exported(Format::Fhir, false, &[stored(false)]).contains("raining"));
}

#[test]
fn what_cannot_be_read_is_named() {
    let mut code = stored(false);
    code.records[2].text = code.records[2].text.replace("role_assigned", "moonwalk");
    let error = Export::new(Format::Jsonl, false).code(&code).unwrap_err().to_string();
    assert!(error.contains("01980000-0000-7000-8000-000000000500") && error.contains("moonwalk"), "{error}");
    code.records.remove(2);
    code.protocols.clear();
    let error = Export::new(Format::CsvCodes, false).code(&code).unwrap_err().to_string();
    assert!(error.contains("protocol"), "{error}");
}

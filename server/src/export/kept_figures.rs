//! Whatever is on the record, a de-identified file measures as the record does: hunted over random chains of taps, of
//! corrections of anything, and of what a reviewer did.

use std::sync::Mutex;

use coxswain_engine::measure::measure;
use coxswain_engine::record::Record;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use serde_json::{Value, json};

use super::code::{Code, Protocols};
use super::deidentify;
use crate::ledger::{StoredCode, StoredRecord};

const PROTOCOL: &str = include_str!("../../protocols/aha-adult.toml");
const SIGNED_HEAD: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

/// Read once: reading it for each chain would take most of the time.
static KNOWN: Mutex<Protocols> = Mutex::new(Protocols::new());

fn id(place: usize) -> String {
    format!("01980000-0000-7000-8000-{place:012}")
}

/// A tap by number: some that figures look at, some with a word that somebody typed.
fn tap(number: usize) -> Value {
    match number {
        0 | 1 => json!({"kind": "compressions_started"}),
        2 => json!({"kind": "compressions_stopped", "reason": "rhythm_check"}),
        3 => json!({"kind": "compressions_stopped", "reason": "shock"}),
        4 => json!({"kind": "rhythm_checked", "rhythm": "vf"}),
        5 => json!({"kind": "charging_started", "energy_j": 200}),
        6 => json!({"kind": "shock_delivered", "energy_j": 200, "stack_id": "first three"}),
        7 => json!({"kind": "drug_given", "drug": "adrenaline", "dose": {"value": 1, "unit": "mg"}, "route": "iv"}),
        8 => json!({"kind": "access_gained", "route": "io", "site": "left knee"}),
        9 => json!({"kind": "compressor_changed", "person": "Mary"}),
        10 => json!({"kind": "airway_placed", "airway": "tracheal"}),
        11 => json!({"kind": "rosc"}),
        12 => json!({"kind": "arrest_again"}),
        13 => json!({"kind": "note", "text": "her sister is a nurse"}),
        _ => json!({"kind": "code_closed", "outcome": "died"}),
    }
}
const TAPS: usize = 15;

/// What a reviewer did, by number.
fn deed(number: usize, target: usize) -> Value {
    let deed = match number {
        0 => json!({"what": "debriefed", "went_well": "calm", "to_change": "", "follow_ups": []}),
        1 => json!({"what": "signed", "version": 1, "head": SIGNED_HEAD}),
        2 => json!({"what": "version_opened", "version": 2, "reason": "Mary found more"}),
        3 => json!({"what": "added", "target": id(target), "reason": "nobody tapped it"}),
        4 => json!({"what": "monitor_imported", "name": "bay7.csv", "reason": "from the monitor", "offset_ms": 0,
            "stretches": [{"start_ms": 1_000, "stop_ms": 20_000}]}),
        _ => json!({"what": "source_chosen", "import": id(target), "from_ms": 0, "to_ms": 9_000, "reason": "taps late",
            "records": [id(target)]}),
    };
    json!({"kind": "reviewed", "deed": deed})
}
const DEEDS: usize = 6;

/// One more record of a chain: when, and what.
#[derive(Debug, Clone)]
enum Next {
    Tap(usize),
    Deed(usize, usize),
    Void(usize),
    Amend(usize, Option<i64>, Option<usize>),
    Align(i64),
    /// An earlier id again, as a file may repeat a record.
    Again(usize),
}

fn next(length: usize) -> impl Strategy<Value = Next> {
    // Also targets that come later, and some that never come. The opening is never taken back.
    let target = 2..length + 4;
    prop_oneof![
        4 => (0..TAPS).prop_map(Next::Tap),
        2 => (0..DEEDS, target.clone()).prop_map(|(number, target)| Next::Deed(number, target)),
        3 => target.clone().prop_map(Next::Void),
        2 => (target.clone(), prop::option::of(-5_000_i64..300_000), prop::option::of(0..TAPS))
            .prop_map(|(target, at_ms, event)| Next::Amend(target, at_ms, event)),
        1 => (-90_000_i64..90_000).prop_map(Next::Align),
        1 => target.prop_map(Next::Again),
    ]
}

fn chains() -> impl Strategy<Value = Vec<(i64, Next)>> {
    (1_usize..40).prop_flat_map(|length| prop::collection::vec((0_i64..300_000, next(length)), length))
}

fn stored(chain: &[(i64, Next)]) -> StoredCode {
    let opened = json!({"kind": "code_opened", "protocol": {"id": "aha-adult", "version": 1}, "location": "Ward 12",
        "patient": {"age_group": "adult"}, "training": false});
    let mut events = vec![(0, 1, "live", opened), (0, 2, "live", json!({"kind": "clock_started"}))];
    for (at_ms, next) in chain {
        let place = events.len() + 1;
        let (place, source, event) = match next {
            Next::Tap(number) => (place, "live", tap(*number)),
            Next::Deed(number, target) => (place, "review", deed(*number, *target)),
            Next::Void(target) => {
                (place, "review", json!({"kind": "voided", "target": id(*target), "reason": "wrong button"}))
            }
            Next::Amend(target, at_ms, event) => {
                let mut fields = json!({"kind": "amended", "target": id(*target), "reason": "late"});
                // An amendment changes at least one of the two.
                fields["at_ms"] = json!(at_ms.unwrap_or(7_000));
                if let Some(number) = event {
                    fields["event"] = tap(*number);
                }
                (place, "review", fields)
            }
            Next::Align(to_ms) => {
                let event = json!({"kind": "clock_corrected", "from_ms": 0, "to_ms": to_ms, "basis": "the radio"});
                (place, "review", event)
            }
            Next::Again(earlier) => ((*earlier).min(place), "live", tap(0)),
        };
        events.push((*at_ms, place, source, event));
    }
    let records = (1_u64..).zip(events).map(|(seq, (at_ms, place, source, event))| {
        let record = json!({"seq": seq, "id": id(place), "code": id(999_999), "at_ms": at_ms, "received_ms": at_ms,
            "recorded_at": "2026-11-25T09:14:00.000Z", "source": source, "event": event,
            "by": {"device": id(999_998), "name": "Bay 7 monitor", "roles": ["recorder"]}});
        let text = Record::from_json(&record.to_string()).unwrap().canonical_json().unwrap();
        StoredRecord { seq, text, hash: vec![0; 32] }
    });
    StoredCode {
        place: 1,
        id: id(999_999).parse().unwrap(),
        location: None,
        epoch_ms: Some(0),
        closed: true,
        protocols: vec![("aha-adult".to_owned(), 1, PROTOCOL.to_owned())],
        records: records.collect(),
        members: Vec::new(),
    }
}

/// The figures of the file's own text, and those of the record.
fn both(chain: &[(i64, Next)]) -> (Value, Value) {
    let code = Code::of(&stored(chain), &mut KNOWN.lock().unwrap()).unwrap();
    let text = deidentify::code(&code, 1).jsonl().unwrap();
    let hidden: Vec<Record> = text.lines().map(|line| Record::from_json(line).unwrap()).collect();
    let json = |records: &[Record]| serde_json::to_value(measure(records, &code.protocol)).unwrap();
    (json(&hidden), json(&code.records))
}

#[test]
fn a_struck_out_import_or_debrief_leaves_no_gap() {
    // Record 3 is an import, 4 strikes it out, 5 that, 6 that; 7 strikes out a debrief that comes after it; 9 waits for ever.
    let chain = [
        Next::Deed(4, 1),
        Next::Void(3),
        Next::Void(4),
        Next::Void(5),
        Next::Void(8),
        Next::Deed(0, 1),
        Next::Void(77),
        Next::Tap(14),
    ];
    let chain: Vec<_> = (1..).zip(chain).map(|(second, next)| (second * 1_000, next)).collect();
    let (hidden, original) = both(&chain);
    assert_eq!(hidden, original);
    // What waits in the record itself still waits, once.
    let waiting = |figures: &Value| {
        let gaps = figures["gaps"].as_array().unwrap();
        gaps.iter().filter(|gap| gap["what"] == "waiting_target").count()
    };
    assert_eq!((waiting(&hidden), waiting(&original)), (1, 1));
}

#[test]
fn a_closing_that_was_corrected_to_before_the_opening_leaves_a_record_that_can_be_handed_over() {
    let chain = [(60_000, Next::Tap(14)), (70_000, Next::Amend(3, Some(-5_000), None))];
    let (hidden, original) = both(&chain);
    assert_eq!(hidden, original);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, rng_seed: RngSeed::Fixed(1), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_figure_is_that_of_the_record(chain in chains()) {
        let (hidden, original) = both(&chain);
        prop_assert_eq!(hidden, original);
    }
}

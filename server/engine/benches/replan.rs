//! How long it takes to make the plan anew: `make bench`. The server does this at every record and every moment at which
//! something falls due, so it has to stay far below what a person could notice; the aim for a code of 60 minutes with 500
//! events is 1 ms for the fold, the plan and the views of all seven roles. Printed, never asserted: a timing is no test.
#![expect(clippy::unwrap_used, reason = "a benchmark stops at the first thing wrong with it")]

use std::collections::BTreeSet;

use coxswain_engine::event::Role;
use coxswain_engine::protocol::{self, Protocol};
use coxswain_engine::record::Record;
use coxswain_engine::snapshot::{Knowledge, Snapshot};
use divan::{Bencher, black_box};
use serde_json::{Value, json};

const CODE_MS: i64 = 60 * 60_000;
const CYCLE_MS: i64 = 120_000;
const EVENTS: usize = 500;

fn main() {
    divan::main();
}

/// Both kinds of patient: an adult by fixed doses, and a cold child whose doses go by weight.
#[derive(Debug, Clone, Copy)]
enum Case {
    Adult,
    ColdChild,
}

impl Case {
    fn protocol(self) -> Protocol {
        let text = match self {
            Self::Adult => include_str!("../../protocols/aha-adult.toml"),
            Self::ColdChild => include_str!("../../protocols/erc-child.toml"),
        };
        protocol::read(text).unwrap()
    }

    fn opened(self) -> Value {
        match self {
            Self::Adult => json!({"kind": "code_opened", "protocol": {"id": "aha-adult", "version": 1},
                "patient": {"age_group": "adult"}, "training": true}),
            Self::ColdChild => json!({"kind": "code_opened", "protocol": {"id": "erc-child", "version": 1},
                "patient": {"age_group": "child", "age_months": 60, "weight_kg": 18.0, "weight_basis": "measured",
                "core_temp_c": 31.0}, "training": true}),
        }
    }
}

/// A busy hour: each cycle a finger on the pulse, a charge ahead, a look, a shock, drugs, breaths and readings.
fn an_hour(case: Case) -> Vec<Record> {
    let mut events = vec![(0, case.opened()), (0, json!({"kind": "clock_started"}))];
    events.push((1_000, json!({"kind": "compressions_started"})));
    events.push((20_000, json!({"kind": "access_gained", "route": "iv"})));
    events.push((30_000, json!({"kind": "pads_attached", "position": "anterolateral"})));
    if matches!(case, Case::ColdChild) {
        events.push((40_000, json!({"kind": "circumstance_set", "name": "hypothermia", "on": true})));
    }
    for cycle in 0..CODE_MS / CYCLE_MS {
        let at = |s: i64| cycle * CYCLE_MS + s * 1_000;
        events.extend([
            (at(60), json!({"kind": "etco2_read", "mmhg": 18.0 + f64::from(i32::try_from(cycle).unwrap() % 4)})),
            (at(70), json!({"kind": "breaths_given", "count": 2})),
            (at(80), json!({"kind": "vital_read", "temp_c": 31.5, "temp_site": "core"})),
            (at(90), json!({"kind": "cause_considered", "cause": "hypovolaemia"})),
            (at(95), json!({"kind": "drug_prepared", "drug": "epinephrine"})),
            (at(100), json!({"kind": "pulse_finger_placed", "site": "femoral"})),
            (at(103), json!({"kind": "charging_started", "energy_j": 200.0})),
            (at(108), json!({"kind": "charge_ready", "energy_j": 200.0})),
            (at(110), json!({"kind": "compressions_stopped", "reason": "rhythm_check"})),
            (at(112), json!({"kind": "rhythm_checked", "rhythm": "vf", "pulse": "absent"})),
            (at(113), json!({"kind": "all_clear_called"})),
            (at(115), json!({"kind": "shock_delivered", "energy_j": 200.0})),
            (at(116), json!({"kind": "compressions_started"})),
            (at(117), json!({"kind": "compressor_changed"})),
            (at(118), json!({"kind": "note", "text": "as planned"})),
        ]);
        if cycle % 2 == 1 {
            let dose = json!({"value": 1.0, "unit": "mg"});
            events.push((at(119), json!({"kind": "drug_given", "drug": "epinephrine", "route": "iv", "dose": dose})));
        }
    }
    let spare = EVENTS - events.len();
    events.extend((0..spare).map(|place| {
        let at_ms = CODE_MS * i64::try_from(place).unwrap() / i64::try_from(spare).unwrap();
        (at_ms, json!({"kind": "note", "text": "said aloud"}))
    }));
    events.sort_by_key(|(at_ms, _)| *at_ms);
    assert_eq!(events.len(), EVENTS);
    events.iter().enumerate().map(|(place, (at_ms, event))| record(place + 1, *at_ms, event)).collect()
}

fn record(seq: usize, at_ms: i64, event: &Value) -> Record {
    let line = json!({
        "seq": seq, "id": format!("01980000-0000-7000-8000-{seq:012}"), "code": "01980000-0000-7000-8000-000000000000",
        "at_ms": at_ms, "recorded_at": "2026-11-25T09:00:00Z", "source": "live", "event": event,
        "by": {"device": "01980000-0000-7000-8000-999999999999", "name": "bench", "roles": ["recorder"]},
    });
    Record::from_json(&line.to_string()).unwrap()
}

/// The whole of it: fold, plan, and seven views.
#[divan::bench(args = [Case::Adult, Case::ColdChild])]
fn replan_with_seven_views(bencher: Bencher<'_, '_>, case: Case) {
    let (records, protocol) = (an_hour(case), case.protocol());
    let roles: Vec<BTreeSet<Role>> = Role::ALL.iter().map(|role| BTreeSet::from([*role])).collect();
    bencher.bench_local(|| {
        let snapshot = Snapshot::at(black_box(&records), &protocol, CODE_MS, Knowledge::AsKnown);
        roles.iter().map(|roles| snapshot.view(roles)).for_each(|view| drop(black_box(view)));
    });
}

/// The fold and the plan alone.
#[divan::bench(args = [Case::Adult, Case::ColdChild])]
fn fold_and_plan(bencher: Bencher<'_, '_>, case: Case) {
    let (records, protocol) = (an_hour(case), case.protocol());
    bencher.bench_local(|| Snapshot::at(black_box(&records), &protocol, CODE_MS, Knowledge::AsKnown));
}

/// What a plan costs once the state is there.
#[divan::bench(args = [Case::Adult, Case::ColdChild])]
fn plan_alone(bencher: Bencher<'_, '_>, case: Case) {
    let (records, protocol) = (an_hour(case), case.protocol());
    let snapshot = Snapshot::at(&records, &protocol, CODE_MS, Knowledge::AsKnown);
    bencher.bench_local(|| coxswain_engine::plan::Plan::make(black_box(snapshot.state()), &protocol, CODE_MS));
}

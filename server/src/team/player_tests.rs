//! The seven players against the engine alone, without sockets or a clock: a whole code in a moment. It shows that the
//! team's mind and the plan fit each other, and what a scenario's slips leave on the record.

use std::collections::BTreeMap;
use std::sync::Arc;

use coxswain_engine::event::{AgeGroup, Event, Patient, ProtocolRef, Rhythm, Role};
use coxswain_engine::protocol;
use coxswain_engine::record::{Author, Record, Source};
use coxswain_engine::snapshot::{Knowledge, Snapshot};
use coxswain_engine::view::Phase;
use uuid::Uuid;

use super::super::scenario::Scenario;
use super::{Askings, Player, Tap};
use crate::wire::ViewMessage;

struct Drill {
    records: Vec<Record>,
    forgotten: Vec<coxswain_engine::prompt::Action>,
}

impl Drill {
    fn add(&mut self, at_ms: i64, device: Uuid, event: Event) {
        let seq = self.records.len() as u64 + 1;
        self.records.push(Record {
            seq,
            id: Uuid::from_u128(u128::from(seq)),
            code: Uuid::from_u128(0xC0DE),
            at_ms,
            received_ms: None,
            recorded_at: "2026-11-25T09:00:00Z".into(),
            by: Author { device, name: "simulated".into(), roles: Vec::new() },
            source: Source::Live,
            event,
        });
    }

    fn times(&self, counts: impl Fn(&Event) -> bool) -> Vec<i64> {
        self.records.iter().filter(|record| counts(&record.event)).map(|record| record.at_ms).collect()
    }
}

fn device(role: Role) -> Uuid {
    Uuid::from_u128(0xD000 + role as u128)
}

fn message(snapshot: &Snapshot, device: Uuid) -> ViewMessage {
    let roles = snapshot.roles_of(device);
    ViewMessage {
        code: Uuid::from_u128(0xC0DE),
        run: 1,
        rev: 1,
        durable_seq: 0,
        last_seq: 0,
        head: String::new(),
        epoch_ms: Some(0),
        unheld: snapshot.unheld(),
        not_saving: None,
        view: snapshot.view(&roles),
        roles: roles.into_iter().collect(),
    }
}

/// Plays a scenario to its end.
fn drill(scenario: Scenario) -> Drill {
    let protocol = protocol::read(include_str!("../../protocols/aha-adult.toml")).unwrap();
    let scenario = Arc::new(scenario);
    let askings = Arc::new(Askings::default());
    let mut players: BTreeMap<Role, Player> =
        Role::ALL.iter().map(|&role| (role, Player::new(Arc::clone(&scenario), Arc::clone(&askings)))).collect();
    let mut drill = Drill { records: Vec::new(), forgotten: Vec::new() };
    let patient = Patient { age_group: Some(AgeGroup::Adult), ..Patient::default() };
    let opened = Event::CodeOpened {
        protocol: ProtocolRef { id: "aha-adult".into(), version: 1, sha256: None },
        patient,
        location: None,
        training: true,
        witnessed: None,
        monitored: None,
        prior_care: None,
    };
    drill.add(0, device(Role::Leader), opened);
    for &role in Role::ALL {
        drill.add(0, device(role), Event::RoleAssigned { role, device: device(role), person: None });
    }
    drill.add(0, device(Role::Leader), Event::ClockStarted { recognised_ago_ms: None });

    let mut now_ms = 0;
    for _ in 0..20_000 {
        let snapshot = Snapshot::at(&drill.records, &protocol, now_ms, Knowledge::AsKnown);
        if snapshot.phase() == Phase::Closed {
            drill.forgotten = askings.forgotten();
            return drill;
        }
        let mut wake = snapshot.next_wake_ms();
        let mut tapped = false;
        for (&role, player) in &mut players {
            let (taps, again) = player.look(&message(&snapshot, device(role)), now_ms);
            wake = [wake, again].into_iter().flatten().min();
            for Tap { event, .. } in taps {
                drill.add(now_ms, device(role), event);
                tapped = true;
            }
        }
        if !tapped {
            now_ms = wake.expect("a code that is not over has a next moment").max(now_ms + 1);
        }
    }
    panic!("the code never closes; last records: {:#?}", &drill.records[drill.records.len().saturating_sub(5)..]);
}

#[test]
fn a_shockable_code_is_played_to_its_end() {
    let mut scenario = Scenario::shipped("shockable-rosc").unwrap();
    scenario.slips.clear();
    let drill = drill(scenario);
    let shocks = drill.times(|event| matches!(event, Event::ShockDelivered { .. }));
    let looks = drill.times(|event| matches!(event, Event::RhythmChecked { .. }));
    assert_eq!((shocks.len(), looks.len()), (3, 5), "{:#?}", drill.records);
    assert_eq!(drill.times(|event| matches!(event, Event::Rosc {})).len(), 1);
    for pair in looks.windows(2).skip(1) {
        assert!((110_000..=150_000).contains(&(pair[1] - pair[0])), "looks about every 2 min: {looks:?}");
    }
    let epinephrine = drill.times(|event| matches!(event, Event::DrugGiven { drug, .. } if drug == "epinephrine"));
    assert!(epinephrine.len() >= 2 && epinephrine[0] >= shocks[1], "{epinephrine:?} {shocks:?}");
    assert!(epinephrine.windows(2).all(|pair| pair[1] - pair[0] >= 180_000), "{epinephrine:?}");
    assert_eq!(drill.times(|event| matches!(event, Event::DrugGiven { drug, .. } if drug == "amiodarone")).len(), 1);
}

#[test]
fn a_code_without_circulation_is_stopped() {
    let drill = drill(Scenario { slips: Vec::new(), ..Scenario::shipped("not-shockable").unwrap() });
    assert_eq!(drill.times(|event| matches!(event, Event::ShockDelivered { .. })).len(), 1);
    let fibrillation = |event: &Event| matches!(event, Event::RhythmChecked { rhythm: Rhythm::Vf, .. });
    assert_eq!(drill.times(fibrillation).len(), 1);
    assert!(drill.times(|event| matches!(event, Event::DrugGiven { drug, .. } if drug == "epinephrine")).len() >= 3);
    let closed = drill.times(|event| matches!(event, Event::CodeClosed { .. }));
    assert!(closed[0] >= 960_000, "{closed:?}");
}

#[test]
fn slips_of_the_scenario_show_on_the_record() {
    let scenario = Scenario::shipped("shockable-rosc").unwrap();
    let careful = drill(Scenario { slips: Vec::new(), ..scenario.clone() });
    let careless = drill(scenario);
    let fingers = |drill: &Drill| drill.times(|event| matches!(event, Event::PulseFingerPlaced { .. })).len();
    let changes = |drill: &Drill| drill.times(|event| matches!(event, Event::CompressorChanged { .. })).len();
    assert_eq!(fingers(&careless) + 1, fingers(&careful));
    assert_eq!(changes(&careless) + 1, changes(&careful));
    assert_eq!(careless.forgotten.len(), 2, "{:?}", careless.forgotten);
}

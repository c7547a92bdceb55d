//! Who gets what: seven devices through a code, a device that joins in the middle, one that lags, a command sent twice.

use std::collections::{BTreeMap, BTreeSet};

use coxswain::team::link::open_code;
use coxswain_engine::event::Role;
use coxswain_tests::device::Device;
use coxswain_tests::server::Server;
use serde_json::{Value, json};
use tempfile::TempDir;
use uuid::Uuid;

/// A server with seven devices in a running code.
pub(crate) struct Room {
    pub(crate) data: TempDir,
    pub(crate) server: Server,
    pub(crate) devices: BTreeMap<Role, Device>,
    pub(crate) code: Uuid,
}

impl Room {
    /// Seven paired devices; the leader opens a code and starts its clock; every screen has woken.
    pub(crate) async fn open() -> Self {
        let data = tempfile::tempdir().unwrap();
        let server = Server::start(data.path()).await.unwrap();
        let mut devices = BTreeMap::new();
        for &role in Role::ALL {
            let name = format!("Bay 1 {}", role.as_str());
            devices.insert(role, Device::join(&server, &name, "Bay 1", Some(role)).await.unwrap());
        }
        let token = devices[&Role::Leader].pairing.token.clone();
        let body = json!({
            "id": Uuid::now_v7(), "protocol": {"id": "aha-adult", "version": 1},
            "patient": {"age_group": "adult"}, "location": "Bay 1", "training": true,
        });
        let code = open_code(server.address, &token, &body).await.unwrap();
        let mut room = Self { data, server, devices, code };
        for &role in Role::ALL {
            let device = room.device(role);
            let woken =
                device.view("the screen to wake", |view| view["roles"] == json!([role.as_str()])).await.unwrap();
            assert_eq!(woken["code"], json!(code));
        }
        room.device(Role::Leader).recorded(code, json!({"kind": "clock_started"})).await.unwrap();
        for &role in Role::ALL {
            room.device(role).view("the clock", |view| view["phase"] == "arrest").await.unwrap();
        }
        room
    }

    pub(crate) fn device(&mut self, role: Role) -> &mut Device {
        self.devices.get_mut(&role).unwrap()
    }
}

fn parsed(device: &Device) -> Vec<Value> {
    device.frames.iter().map(|text| serde_json::from_str(text).unwrap()).collect()
}

fn words(value: &Value) -> BTreeSet<&str> {
    value.as_array().into_iter().flatten().filter_map(Value::as_str).collect()
}

/// Design, section 2: "A tablet never receives a prompt that is not for its roles", on the raw frames of a whole cycle.
#[tokio::test(flavor = "multi_thread")]
async fn each_device_gets_its_own_roles_prompts_and_nothing_else() {
    let mut room = Room::open().await;
    let code = room.code;
    let steps = [
        (Role::Compressor, json!({"kind": "compressions_started"})),
        (Role::Defibrillator, json!({"kind": "pads_attached"})),
        (Role::Drugs, json!({"kind": "access_gained", "route": "iv"})),
        (Role::Compressor, json!({"kind": "compressions_stopped", "reason": "rhythm_check"})),
        (Role::Leader, json!({"kind": "rhythm_checked", "rhythm": "vf"})),
        (Role::Compressor, json!({"kind": "compressions_started"})),
        (Role::Defibrillator, json!({"kind": "charging_started", "energy_j": 200})),
        (Role::Defibrillator, json!({"kind": "all_clear_called"})),
        (Role::Compressor, json!({"kind": "compressions_stopped", "reason": "shock"})),
        (Role::Defibrillator, json!({"kind": "shock_delivered", "energy_j": 200})),
        (Role::Compressor, json!({"kind": "compressions_started"})),
    ];
    for (role, event) in steps {
        room.device(role).recorded(code, event).await.unwrap();
    }
    let mut actions = BTreeMap::new();
    for &role in Role::ALL {
        let device = room.device(role);
        device.drain().await.unwrap();
        let frames = parsed(device);
        let views: Vec<_> = frames.iter().filter(|frame| frame["type"] == "view").collect();
        assert!(views.len() > 5, "{role:?} got {} views", views.len());
        for view in &views {
            let unheld = words(&view["unheld"]);
            for prompt in view["prompts"].as_array().unwrap() {
                let to = words(&prompt["roles"]);
                let falls_here = role == Role::Leader && to.iter().any(|to| unheld.contains(to));
                assert!(to.contains(role.as_str()) || falls_here, "{role:?} got {prompt}");
                actions.entry(role).or_insert_with(BTreeSet::new).insert(prompt["action"].as_str().unwrap().to_owned());
            }
            assert_eq!(view["team"].is_array(), role == Role::Leader, "only the leader sees the others' next tasks");
        }
        // In the moment of opening a device has no role yet, and is shown the record so far: who was given what.
        let opening = |frame: &Value| {
            let kinds = ["code_opened", "role_assigned"];
            frame["records"]
                .as_array()
                .into_iter()
                .flatten()
                .all(|record| record["event"]["kind"].as_str().is_some_and(|kind| kinds.contains(&kind)))
        };
        for (text, frame) in device.frames.iter().zip(&frames) {
            assert!(frame["type"] != "view" || text.len() <= 4 * 1024, "a view of {} bytes", text.len());
            let timeline = frame["type"] == "timeline" && !opening(frame);
            assert!(!timeline || role == Role::Leader || role == Role::Recorder, "{role:?} got {frame}");
        }
        let revisions: Vec<_> = views.iter().map(|view| (view["run"].as_u64(), view["rev"].as_u64())).collect();
        assert!(revisions.is_sorted(), "views in order: {revisions:?}");
    }
    // The other half: what a role is to be asked did reach it.
    let expected = [
        (Role::Compressor, "start_compressions"),
        (Role::Compressor, "pause_for_check"),
        (Role::Compressor, "resume_compressions"),
        (Role::Defibrillator, "attach_pads"),
        (Role::Defibrillator, "charge"),
        (Role::Defibrillator, "give_shock"),
        (Role::Drugs, "gain_access"),
        (Role::Leader, "read_rhythm"),
        (Role::Airway, "ventilate"),
        (Role::Relief, "finger_on_pulse"),
    ];
    for (role, action) in expected {
        assert!(actions[&role].contains(action), "{role:?} was never asked to {action}: {:?}", actions[&role]);
    }
    let device = room.device(Role::Leader);
    let last = parsed(device).into_iter().rev().find(|frame| frame["type"] == "view").unwrap();
    let team: BTreeSet<_> = last["team"].as_array().unwrap().iter().filter_map(|line| line["role"].as_str()).collect();
    assert!(team.contains("compressor") && team.contains("drugs") && !team.contains("leader"), "{team:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_command_sent_twice_is_one_record() {
    let mut room = Room::open().await;
    let code = room.code;
    let id = Uuid::now_v7();
    let event = json!({"kind": "compressions_started"});
    let compressor = room.device(Role::Compressor);
    // Back to back, so that the second one meets the first while it is still on its way to the disk.
    compressor.record_as(id, code, Some(10), event.clone()).await.unwrap();
    compressor.record_as(id, code, Some(10), event.clone()).await.unwrap();
    let first = compressor.answer_to(id).await.unwrap();
    let second = compressor.answer_to(id).await.unwrap();
    assert_eq!((&first["type"], &first["seq"]), (&json!("recorded"), &second["seq"]));
    // And once more when it is long stored, over a new connection.
    let compressor = room.devices.remove(&Role::Compressor).unwrap();
    let mut compressor = compressor.reconnect().await.unwrap();
    compressor.record_as(id, code, Some(10), event).await.unwrap();
    assert_eq!(compressor.answer_to(id).await.unwrap()["seq"], first["seq"]);
    let seen = room.device(Role::Recorder);
    seen.drain().await.unwrap();
    let records: Vec<_> = parsed(seen)
        .iter()
        .filter(|frame| frame["type"] == "timeline")
        .flat_map(|frame| frame["records"].as_array().unwrap().clone())
        .filter(|record| record["id"] == json!(id))
        .collect();
    assert_eq!(records.len(), 1, "{records:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_device_that_joins_in_the_middle_sees_where_the_code_stands() {
    let mut room = Room::open().await;
    let code = room.code;
    for (role, event) in [
        (Role::Compressor, json!({"kind": "compressions_started"})),
        (Role::Defibrillator, json!({"kind": "pads_attached"})),
        (Role::Compressor, json!({"kind": "compressions_stopped", "reason": "rhythm_check"})),
        (Role::Leader, json!({"kind": "rhythm_checked", "rhythm": "asystole"})),
        (Role::Compressor, json!({"kind": "compressions_started"})),
    ] {
        room.device(role).recorded(code, event).await.unwrap();
    }
    let mut second = Device::join(&room.server, "Trolley 2", "Bay 1", Some(Role::Recorder)).await.unwrap();
    let view = second.view("the code", |view| view["code"] == json!(code)).await.unwrap();
    assert_eq!((&view["phase"], &view["hands"]["now"]), (&json!("arrest"), &json!("compress")));
    assert_eq!(view["look"]["rhythm"], "asystole");
    // It records from now on, and the others see it.
    let assign = json!({"kind": "role_assigned", "role": "recorder", "device": second.pairing.device});
    room.device(Role::Leader).recorded(code, assign).await.unwrap();
    second.view("its role", |view| view["roles"] == json!(["recorder"])).await.unwrap();
    second.drain().await.unwrap();
    let looks = |frame: &Value| frame["type"] == "timeline" && frame.to_string().contains("rhythm_checked");
    assert!(parsed(&second).iter().any(looks), "the timeline so far");
    second.recorded(code, json!({"kind": "note", "text": "joined late"})).await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_device_that_does_not_read_gets_the_latest_view_and_holds_nobody_up() {
    let mut room = Room::open().await;
    let code = room.code;
    room.device(Role::Compressor).recorded(code, json!({"kind": "compressions_started"})).await.unwrap();
    // The recorder's screen reads nothing through all of this; its frames pile up at the server and in its socket.
    let text = "x".repeat(1_900);
    let others = [Role::Airway, Role::Drugs, Role::Defibrillator];
    for number in 0..600 {
        let note = json!({"kind": "note", "text": text});
        room.device(Role::Leader).recorded(code, note).await.unwrap();
        // The others read: who answers no ping for 10 s is taken for gone, and on a busy machine all this takes longer.
        if number % 20 == 0 {
            for role in others {
                room.device(role).drain().await.unwrap();
            }
        }
    }
    let leader = room.device(Role::Leader);
    leader.recorded(code, json!({"kind": "cause_considered", "cause": "hypoxia"})).await.unwrap();
    leader.drain().await.unwrap();
    let frames = parsed(leader);
    let newest = frames.iter().rev().find(|frame| frame["type"] == "view").unwrap();
    let (run, rev) = (newest["run"].as_u64(), newest["rev"].as_u64());
    let lagging = room.devices.remove(&Role::Recorder).unwrap();
    // The server may have hung up on it meanwhile; then it comes back, as a tablet does.
    let mut lagging = catch_up(lagging, run, rev).await;
    lagging.recorded(code, json!({"kind": "note", "text": "here again"})).await.unwrap();
    // The others were never cut off.
    for role in others {
        room.device(role).drain().await.unwrap();
    }
}

async fn catch_up(mut device: Device, run: Option<u64>, rev: Option<u64>) -> Device {
    let newest = |frame: &Value| (frame["run"].as_u64(), frame["rev"].as_u64()) >= (run, rev);
    for _ in 0..2 {
        if device.view("the latest view", newest).await.is_ok() {
            return device;
        }
        device = device.find_again().await.unwrap();
    }
    panic!("the lagging device never got the latest view")
}

//! A server that is killed in the middle of a code and started again: code time goes on, and nothing that was
//! acknowledged is lost.

use coxswain_engine::event::Role;
use coxswain_tests::binary;
use coxswain_tests::device::Device;
use coxswain_tests::server::Server;
use serde_json::{Value, json};

use crate::rooms::Room;

/// Code time as a device computes it from a view and an exchange.
async fn code_ms(device: &mut Device, epoch_ms: i64) -> f64 {
    device.send_text(json!({"type": "ping", "sent_ms": 1}).to_string()).await.unwrap();
    let pong = device.wait("a pong", |frame| frame["type"] == "pong").await.unwrap();
    pong["received_ms"].as_f64().unwrap() - epoch_ms as f64
}

#[tokio::test(flavor = "multi_thread")]
async fn a_killed_server_goes_on_where_it_was() {
    let mut room = Room::open().await;
    let code = room.code;
    let mut acknowledged = Vec::new();
    for (role, event) in [
        (Role::Compressor, json!({"kind": "compressions_started"})),
        (Role::Defibrillator, json!({"kind": "pads_attached"})),
        (Role::Drugs, json!({"kind": "access_gained", "route": "io"})),
    ] {
        acknowledged.push(room.device(role).recorded(code, event).await.unwrap());
    }
    let leader = room.device(Role::Leader);
    // Facts on their way while the power goes: each is acknowledged, or sent again afterwards under the same id.
    let mut under_way = Vec::new();
    for number in 0..40 {
        let event = json!({"kind": "note", "text": format!("under way {number}")});
        under_way.push((leader.record(code, event.clone()).await.unwrap(), event));
    }
    leader.drain().await.unwrap();
    let view = leader.frames.iter().rev().find(|text| text.contains("\"type\":\"view\"")).unwrap();
    let view: Value = serde_json::from_str(view).unwrap();
    let epoch_ms = view["epoch_ms"].as_i64().unwrap();
    let before_ms = code_ms(leader, epoch_ms).await;
    let before = std::time::Instant::now();

    let Room { data, server, mut devices, .. } = room;
    let server = server.kill_and_restart().await.unwrap();
    let mut leader = devices.remove(&Role::Leader).unwrap().find_again().await.unwrap();
    let again = leader.view("the code, once more", |view| view["code"] == json!(code)).await.unwrap();
    assert_eq!(again["epoch_ms"].as_i64(), Some(epoch_ms), "code time is on the same axis");
    assert!(again["run"].as_u64() > view["run"].as_u64(), "a new start is a new run");
    assert_eq!(again["roles"], json!(["leader"]));
    let after_ms = code_ms(&mut leader, epoch_ms).await;
    let passed_ms = before.elapsed().as_secs_f64() * 1_000.0;
    let off_ms = (after_ms - before_ms) - passed_ms;
    println!("code time after a kill and a restart: off by {off_ms:.1} ms over {passed_ms:.0} ms");
    assert!(off_ms.abs() < 100.0, "code time went on by {} ms in {passed_ms} ms", after_ms - before_ms);

    for (id, event) in under_way {
        leader.record_as(id, code, None, event).await.unwrap();
        let answer = leader.answer_to(id).await.unwrap();
        assert_eq!(answer["type"], "recorded", "{answer}");
        acknowledged.push(answer);
    }
    server.kill().await.unwrap();
    let stored = exported(data.path(), code);
    for answer in &acknowledged {
        let found: Vec<_> = stored.iter().filter(|record| record["id"] == answer["id"]).collect();
        assert_eq!(found.len(), 1, "{answer}");
        assert_eq!((&found[0]["seq"], &found[0]["at_ms"]), (&answer["seq"], &answer["at_ms"]));
    }
    let places: Vec<_> = stored.iter().filter_map(|record| record["seq"].as_u64()).collect();
    assert_eq!(places, (1..=places.len() as u64).collect::<Vec<_>>(), "dense from 1");
    let verified = binary::run(&["verify", "--data", data.path().to_str().unwrap()], b"").unwrap();
    assert!(verified.status.success(), "{verified:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn paired_devices_stay_paired_and_one_server_holds_the_data() {
    let room = Room::open().await;
    let Room { data, server, devices, .. } = room;
    let path = data.path().to_str().unwrap().to_owned();
    let second = tokio::task::spawn_blocking(move || {
        binary::run(&["serve", "--listen", "127.0.0.1:0", "--data", &path], b"").unwrap()
    });
    let second = second.await.unwrap();
    assert_eq!(second.status.code(), Some(1), "a second server on the same data ends: {second:?}");
    assert!(String::from_utf8_lossy(&second.stderr).trim().lines().count() >= 1);
    let server = server.kill_and_restart().await.unwrap();
    for device in devices.into_values() {
        let role = device.role.unwrap();
        let mut device = device.find_again().await.unwrap();
        device.view("its role again", |view| view["roles"] == json!([role.as_str()])).await.unwrap();
    }
    assert!(server.said().contains("serves on"));
}

#[test]
fn a_changed_record_is_found() {
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let data = tempfile::tempdir().unwrap();
    runtime.block_on(async {
        let server = Server::start(data.path()).await.unwrap();
        let mut device = Device::join(&server, "Bay 1 lead", "Bay 1", Some(Role::Leader)).await.unwrap();
        let body = json!({"protocol": {"id": "aha-adult", "version": 1}, "patient": {"age_group": "adult"},
            "location": "Bay 1", "training": true});
        let code = coxswain::team::link::open_code(server.address, &device.pairing.token, &body).await.unwrap();
        device.view("the code", |view| view["code"] == json!(code)).await.unwrap();
        device.recorded(code, json!({"kind": "note", "text": "the plain truth"})).await.unwrap();
        // Enough to follow that the record is in the database itself, and not only in the log before it.
        let filler = "x".repeat(1_900);
        for _ in 0..30 {
            let mut last = None;
            for _ in 0..100 {
                last = Some(device.record(code, json!({"kind": "note", "text": filler})).await.unwrap());
            }
            device.answer_to(last.unwrap()).await.unwrap();
        }
        drop(device);
        server.stop().await.unwrap();
    });
    let path = data.path().to_str().unwrap();
    assert!(binary::run(&["verify", "--data", path], b"").unwrap().status.success());
    // The same length, so that the file stays a valid database: only the chain can tell.
    let mut changed = 0;
    for entry in std::fs::read_dir(data.path()).unwrap() {
        let file = entry.unwrap().path();
        let Ok(mut bytes) = std::fs::read(&file) else { continue };
        let (from, to) = (b"the plain truth", b"the plain trick");
        let places: Vec<_> =
            (0..bytes.len().saturating_sub(from.len())).filter(|&at| bytes[at..].starts_with(from)).collect();
        for at in places {
            bytes[at..at + to.len()].copy_from_slice(to);
            changed += 1;
        }
        std::fs::write(&file, bytes).unwrap();
    }
    assert!(changed > 0, "the record was found nowhere");
    let verified = binary::run(&["verify", "--data", path], b"").unwrap();
    assert_eq!(verified.status.code(), Some(1), "{verified:?}");
}

/// A code as the command line exports it.
pub(crate) fn exported(data: &std::path::Path, code: uuid::Uuid) -> Vec<Value> {
    let data = data.to_str().unwrap();
    let output = binary::run(&["export", &code.to_string(), "--format", "jsonl", "--data", data], b"").unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    text.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

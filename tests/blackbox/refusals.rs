//! What the server refuses: each with a named reason and a plain sentence, on a connection that lives on, and with
//! nothing of it on the record.

use coxswain_engine::event::Role;
use coxswain_tests::device::Device;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::rooms::Room;

fn refusal_is(answer: &Value, reason: &str) {
    assert_eq!((&answer["type"], &answer["reason"]), (&json!("refused"), &json!(reason)), "{answer}");
    let message = answer["message"].as_str().unwrap();
    assert!(message.len() > 10 && message.contains(' '), "a plain sentence, not {message:?}");
}

async fn refused(device: &mut Device) -> Value {
    device.wait("a refusal", |frame| frame["type"] == "refused").await.unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn bad_input_is_refused_by_name_and_the_connection_lives_on() {
    let mut room = Room::open().await;
    let code = room.code;
    let drugs = room.device(Role::Drugs);

    for text in ["", "{", "[]", "7", "{\"type\":5}", "{\"type\":\"record\"}", "\u{0}"] {
        drugs.send_text(text).await.unwrap();
        refusal_is(&refused(drugs).await, "malformed");
    }
    drugs.send_text(json!({"type": "moonwalk"}).to_string()).await.unwrap();
    refusal_is(&refused(drugs).await, "unknown_message");

    let id = drugs.record(code, json!({"kind": "moonwalk"})).await.unwrap();
    refusal_is(&drugs.answer_to(id).await.unwrap(), "unknown_event");

    let id = drugs.record(code, json!({"kind": "shock_delivered", "energy_j": "much"})).await.unwrap();
    let answer = drugs.answer_to(id).await.unwrap();
    refusal_is(&answer, "malformed");
    assert!(answer["message"].as_str().unwrap().contains("energy_j"), "it names the field: {answer}");

    let id = Uuid::now_v7();
    drugs.record_as(id, code, Some(3_600_000), json!({"kind": "note", "text": "tomorrow"})).await.unwrap();
    refusal_is(&drugs.answer_to(id).await.unwrap(), "future");

    let id = drugs.record(Uuid::now_v7(), json!({"kind": "note", "text": "no such code"})).await.unwrap();
    refusal_is(&drugs.answer_to(id).await.unwrap(), "unknown_code");

    let used = drugs.record(code, json!({"kind": "note", "text": "first"})).await.unwrap();
    assert_eq!(drugs.answer_to(used).await.unwrap()["type"], "recorded");
    drugs.record_as(used, code, None, json!({"kind": "note", "text": "second"})).await.unwrap();
    refusal_is(&drugs.answer_to(used).await.unwrap(), "id_reused");

    let long = "x".repeat(70 * 1024);
    drugs
        .send_text(
            json!({"type": "record", "id": Uuid::now_v7(), "code": code,
        "event": {"kind": "note", "text": long}})
            .to_string(),
        )
        .await
        .unwrap();
    refusal_is(&refused(drugs).await, "too_large");

    // After all of that the same connection still records.
    drugs.recorded(code, json!({"kind": "drug_prepared", "drug": "epinephrine"})).await.unwrap();

    // None of it is on the record.
    let recorder = room.device(Role::Recorder);
    recorder.drain().await.unwrap();
    for forbidden in ["moonwalk", "tomorrow", "no such code", "second", "xxxxxxxxxxxxxxxx"] {
        let leak = recorder.frames.iter().find(|text| text.contains(forbidden));
        assert!(leak.is_none(), "{forbidden} is on the record");
    }
    assert!(recorder.frames.iter().any(|text| text.contains("first")));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_closed_code_takes_no_facts_but_corrections() {
    let mut room = Room::open().await;
    let code = room.code;
    let leader = room.device(Role::Leader);
    let note = leader.recorded(code, json!({"kind": "note", "text": "before"})).await.unwrap();
    leader.recorded(code, json!({"kind": "code_closed", "outcome": "transferred"})).await.unwrap();
    let id = leader.record(code, json!({"kind": "compressions_started"})).await.unwrap();
    refusal_is(&leader.answer_to(id).await.unwrap(), "closed");
    let correction = json!({"kind": "voided", "target": note["id"], "reason": "entered for another patient"});
    leader.recorded(code, correction).await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_device_that_is_not_in_the_code_cannot_record_in_it() {
    let room = Room::open().await;
    let mut stranger = Device::join(&room.server, "Ward 7", "Ward 7", None).await.unwrap();
    let id = stranger.record(room.code, json!({"kind": "shock_delivered", "energy_j": 200})).await.unwrap();
    refusal_is(&stranger.answer_to(id).await.unwrap(), "not_in_code");
    stranger.drain().await.unwrap();
    let views = stranger.frames.iter().filter(|text| text.contains("\"type\":\"view\"")).count();
    assert_eq!(views, 0, "a device of another place is shown nothing of the code");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_wrong_token_and_a_wrong_join_code_open_nothing() {
    use coxswain::team::link::{Socket, pair};
    let room = Room::open().await;
    assert!(Socket::connect(room.server.address, "not-a-token").await.is_err());
    let error = pair(room.server.address, "WRONG1", "Thief", None, None).await.unwrap_err();
    assert!(!error.to_string().contains(&room.server.join_code), "a refusal does not tell the join code");
}

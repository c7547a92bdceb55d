//! A device leaves a code that goes on: its roles stand open, it is free, it does not fall back into it by itself, and the
//! record says so. Shapes are those of docs/wire.md.

use crate::support::{Running, serve};
use coxswain::team::http::get;
use serde_json::{Value, json};
use uuid::Uuid;

fn is_open(view: &Value, role: &str) -> bool {
    view["unheld"].as_array().unwrap().contains(&json!(role))
}

/// The code that the server says a device is in.
async fn code_of(server: &Running, token: &str) -> Value {
    get(server.address, "/api/me", Some(token)).await.unwrap().json()["code"].clone()
}

#[tokio::test]
async fn a_device_that_leaves_is_free_and_its_roles_are_open() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1 lead", Some("Bay 1"), Some("leader")).await;
    let mut drugs = server.device("Bay 1 drugs", Some("Bay 1"), Some("drugs")).await;
    let code = leader.open_code(&json!({})).await;
    leader.record(&code, &json!({"kind": "clock_started"})).await;
    drugs.until("view", |view| view["roles"] == json!(["drugs"])).await;
    leader.until("view", |view| !is_open(view, "drugs")).await;

    let left = drugs.record(&code, &json!({"kind": "device_left"})).await;
    assert_eq!(code_of(&server, &drugs.token).await, Value::Null);
    let view = leader.until("view", |view| is_open(view, "drugs")).await;
    let asked = |action: &str| view["prompts"].as_array().unwrap().iter().any(|prompt| prompt["action"] == action);
    assert!(asked("gain_access"), "what nobody holds falls to the leader");
    // The same again is the same; anything else is not its to record.
    let again = json!({"type": "record", "id": left["id"], "code": code, "event": {"kind": "device_left"}});
    drugs.send(&again).await;
    drugs.until("recorded", |message| message["id"] == left["id"]).await;
    let note = json!({"type": "record", "id": Uuid::now_v7(), "code": code, "event": {"kind": "note", "text": "x"}});
    assert_eq!(drugs.refused(&note).await["reason"], "not_in_code");

    // A page loaded again does not fall back into the code that its device left; neither after a restart.
    let (id, token) = (drugs.id, drugs.token.clone());
    drop(drugs);
    let mut drugs = server.connect(id, &token).await;
    drugs.until("codes", |message| message["codes"][0]["joined"] == false).await;
    drop(drugs);
    let (lead_id, lead_token) = (leader.id, leader.token.clone());
    drop(leader);
    server.stop().await;
    let server = serve(folder.path()).await;
    let mut leader = server.connect(lead_id, &lead_token).await;
    let mut drugs = server.connect(id, &token).await;
    drugs.until("codes", |message| message["codes"][0]["joined"] == false).await;
    leader.until("view", |view| is_open(view, "drugs")).await;

    // It comes back by taking a role, as any other.
    drugs.record(&code, &json!({"kind": "role_assigned", "role": "airway", "device": id})).await;
    drugs.until("view", |view| view["roles"] == json!(["airway"])).await;
    let path = format!("/api/codes/{code}/timeline");
    let stored = get(server.address, &path, Some(&token)).await.unwrap().text;
    assert_eq!(stored.lines().filter(|line| line.contains("\"device_left\"")).count(), 1);
    server.stop().await;
}

#[tokio::test]
async fn leaving_that_was_a_slip_is_taken_back_with_its_roles() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1 lead", Some("Bay 1"), Some("leader")).await;
    let mut drugs = server.device("Bay 1 drugs", Some("Bay 1"), Some("drugs")).await;
    let code = leader.open_code(&json!({})).await;
    drugs.until("view", |view| view["roles"] == json!(["drugs"])).await;
    let left = drugs.record(&code, &json!({"kind": "device_left"})).await;
    assert_eq!(code_of(&server, &drugs.token).await, Value::Null);
    leader.record(&code, &json!({"kind": "voided", "target": left["id"], "reason": "slip"})).await;
    drugs.until("codes", |message| message["codes"][0]["joined"] == true).await;
    leader.until("view", |view| !is_open(view, "drugs")).await;
    drugs.record(&code, &json!({"kind": "note", "text": "here again"})).await;
    server.stop().await;
}

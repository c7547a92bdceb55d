//! A child in a room: the protocol may change from one age to the other, everything stays counted, and the record vouches
//! for the exact text of each protocol it ran under.

use crate::support::serve;
use coxswain::ledger::Store;
use coxswain::team::http::get;
use serde_json::{Value, json};
use uuid::Uuid;

fn shows<'a>(view: &'a Value, action: &str) -> Option<&'a Value> {
    view["prompts"].as_array()?.iter().find(|prompt| prompt["action"] == action)
}

#[tokio::test]
async fn a_weight_changes_the_energy_at_once_and_the_protocol_changes_with_counts_kept() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", None, Some("leader")).await;
    let opened = json!({"protocol": "aha-child", "patient": {"age_group": "child", "age_months": 150}});
    let code = leader.open_code(&opened).await;
    for event in [
        json!({"kind": "clock_started"}),
        json!({"kind": "compressions_started"}),
        json!({"kind": "rhythm_checked", "rhythm": "vf"}),
    ] {
        leader.record(&code, &event).await;
    }
    let asked = leader.until("view", |view| shows(view, "charge").is_some()).await;
    assert!(shows(&asked, "charge").unwrap()["detail"].get("energy_j").is_none());
    let enter = shows(&asked, "enter_weight").unwrap().clone();
    assert_eq!(enter["detail"]["estimate"], json!({"weight_kg": 43, "formula": "APLS: 3 x years + 7"}));
    leader.record(&code, &enter["tap"]).await;
    let energy = |view: &Value| shows(view, "charge").map(|charge| charge["detail"]["energy_j"].clone());
    leader.until("view", |view| energy(view) == Some(json!(86))).await;
    leader.record(&code, &json!({"kind": "patient_updated", "weight_kg": 40, "weight_basis": "measured"})).await;
    leader.until("view", |view| energy(view) == Some(json!(80))).await;

    leader.record(&code, &json!({"kind": "shock_delivered", "energy_j": 80})).await;
    leader.record(&code, &json!({"kind": "drug_given", "drug": "epinephrine", "route": "iv"})).await;
    leader.record(&code, &json!({"kind": "patient_updated", "age_group": "adult"})).await;
    let misfit = leader.until("view", |view| shows(view, "change_protocol").is_some()).await;
    assert_eq!(shows(&misfit, "change_protocol").unwrap()["detail"]["item"], "aha-adult");
    let id = Uuid::now_v7();
    let change = json!({"type": "record", "id": id, "code": code,
        "event": {"kind": "protocol_changed", "protocol": {"id": "aha-adult", "version": 1}, "reason": "looks adult"}});
    // Sent again without the hash that the server filled in, it is the same record.
    for _ in 0..2 {
        leader.send(&change).await;
        leader.until("recorded", |message| message["id"] == id.to_string()).await;
    }
    let adult = leader.until("view", |view| view["protocol"]["id"] == "aha-adult").await;
    assert!(shows(&adult, "change_protocol").is_none());
    assert_eq!((&adult["counts"]["shocks"], &adult["drugs"][0]["doses"]), (&json!(1), &json!(1)));
    let other_text = json!({"type": "record", "id": Uuid::now_v7(), "code": code,
        "event": {"kind": "protocol_changed", "reason": "x",
            "protocol": {"id": "aha-adult", "version": 1, "sha256": "0".repeat(64)}}});
    assert_eq!(leader.refused(&other_text).await["reason"], "malformed");

    // Both records vouch for their texts, and a text that was altered in the file is found.
    let timeline = get(server.address, &format!("/api/codes/{code}/timeline"), Some(&leader.token)).await.unwrap().text;
    let named: Vec<Value> = timeline
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap()["event"]["protocol"]["sha256"].clone())
        .filter(|hash| !hash.is_null())
        .collect();
    assert_eq!(named.len(), 2, "{timeline}");
    assert_ne!(named[0], named[1]);
    server.stop().await;
    let store = Store::read_only(folder.path()).await.unwrap();
    let mut stored = store.reader().code(code.parse().unwrap()).await.unwrap().unwrap();
    stored.verify().unwrap();
    for (_, _, text) in stored.protocols.iter_mut().filter(|(id, _, _)| id == "aha-adult") {
        *text = text.replacen("[200, 200, 200]", "[360, 360, 360]", 1);
    }
    let broken = stored.verify().unwrap_err();
    assert!(broken.problem.contains("aha-adult") && broken.problem.contains("altered"), "{broken}");
    stored.protocols.retain(|(id, _, _)| id != "aha-adult");
    assert!(stored.verify().unwrap_err().problem.contains("not stored"));
}

#[tokio::test]
async fn a_code_opened_again_is_the_same_with_and_without_the_hash() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let device = server.device("Bay 1", None, None).await;
    let id = Uuid::now_v7();
    let body = json!({"id": id, "protocol": {"id": "erc-child", "version": 1}, "patient": {"weight_kg": 7.5}});
    assert_eq!(device.post("/api/codes", &body).await.status, 201);
    assert_eq!(device.post("/api/codes", &body).await.status, 200);
    let mut wrong = body.clone();
    wrong["protocol"]["sha256"] = json!("0".repeat(64));
    wrong["id"] = json!(Uuid::now_v7());
    let refused = device.post("/api/codes", &wrong).await;
    assert_eq!((refused.status, &refused.json()["error"]["field"]), (400, &json!("protocol.sha256")));
    server.stop().await;
}

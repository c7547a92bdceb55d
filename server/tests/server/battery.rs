//! A tablet says how its battery is, and the devices that list the others show it. Shapes are those of docs/wire.md.

use crate::support::serve;
use serde_json::{Value, json};

fn battery_of(roster: &Value, device: &uuid::Uuid) -> Value {
    let entries = roster["devices"].as_array().unwrap();
    entries.iter().find(|entry| entry["device"] == json!(device)).map_or(Value::Null, |entry| entry["battery"].clone())
}

#[tokio::test]
async fn the_leader_sees_how_full_each_tablet_is_and_nothing_of_it_is_recorded() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1 lead", Some("Bay 1"), Some("leader")).await;
    let mut drugs = server.device("Bay 1 drugs", Some("Bay 1"), Some("drugs")).await;
    let (lead_id, drugs_id) = (leader.id, drugs.id);
    // Said before there is a code: it counts when there is one.
    drugs.send(&json!({"type": "battery", "percent": 81, "charging": false})).await;
    let code = leader.open_code(&json!({})).await;
    let full = leader.until("roster", |roster| battery_of(roster, &drugs_id) != Value::Null).await;
    assert_eq!(battery_of(&full, &drugs_id), json!({"percent": 81, "charging": false}));
    assert_eq!(battery_of(&full, &lead_id), Value::Null, "who does not say is not shown as empty");

    // More often than once a second is passed over, so that a faulty page cannot keep a room busy.
    drugs.send(&json!({"type": "battery", "percent": 1, "charging": false})).await;
    leader.send(&json!({"type": "battery", "percent": 15, "charging": true})).await;
    let both = leader.until("roster", |roster| battery_of(roster, &lead_id) != Value::Null).await;
    assert_eq!(battery_of(&both, &lead_id), json!({"percent": 15, "charging": true}));
    assert_eq!(battery_of(&both, &drugs_id)["percent"], 81);

    // What makes no sense is refused by name, and the connection goes on.
    drugs.send(&json!({"type": "battery", "percent": 900, "charging": false})).await;
    let refused = drugs.until("refused", |_| true).await;
    assert_eq!((&refused["id"], &refused["reason"]), (&Value::Null, &json!("malformed")));
    let at = drugs.record(&code, &json!({"kind": "note", "text": "x"})).await;
    assert_eq!(at["seq"], 4, "opened, two home roles, and the note: a battery is no record");

    // A tablet that is gone keeps what it last said: an empty battery may be why.
    drop(drugs);
    let gone = leader.until("roster", |roster| {
        roster["devices"]
            .as_array()
            .unwrap()
            .iter()
            .any(|entry| entry["device"] == json!(drugs_id) && entry["connected"] == false)
    });
    assert_eq!(battery_of(&gone.await, &drugs_id)["percent"], 81);
    server.stop().await;
}

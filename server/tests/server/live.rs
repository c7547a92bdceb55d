//! Codes over real sockets: who is in them, what is taken and refused, what survives. Shapes are those of docs/wire.md.

use crate::support::{PATIENCE, serve};
use coxswain::ledger::Store;
use coxswain::team::http::{get, post};
use serde_json::{Value, json};
use uuid::Uuid;

#[tokio::test]
async fn a_code_wakes_the_free_devices_of_its_location_and_shows_a_banner_to_the_others() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1 lead", Some("Bay 1"), Some("leader")).await;
    let mut drugs = server.device("Bay 1 drugs", Some("Bay 1"), Some("drugs")).await;
    let mut elsewhere = server.device("Bay 2", Some("Bay 2"), Some("leader")).await;
    let code = leader.open_code(&json!({})).await;

    let view = leader.until("view", |view| view["roles"] == json!(["leader"])).await;
    assert_eq!((&view["phase"], &view["epoch_ms"]), (&json!("standby"), &Value::Null));
    drugs.until("view", |view| view["roles"] == json!(["drugs"]) && view["code"] == code.as_str()).await;
    let banner = elsewhere.until("codes", |message| message["codes"] != json!([])).await;
    assert_eq!((&banner["codes"][0]["joined"], &banner["codes"][0]["location"]), (&json!(false), &json!("Bay 1")));

    // A device that comes later wakes at once.
    let mut late = server.device("Bay 1 relief", Some("Bay 1"), Some("relief")).await;
    late.until("view", |view| view["roles"] == json!(["relief"])).await;
    let roster = leader.until("roster", |roster| roster["devices"].as_array().unwrap().len() == 3).await;
    assert_eq!(roster["devices"][0]["connected"], true);

    // A second start at the same place asks to join; at another place it is another code.
    let body = json!({"protocol": {"id": "aha-adult", "version": 1}, "location": "Bay 1"});
    let refused = elsewhere.post("/api/codes", &body).await;
    assert_eq!((refused.status, &refused.json()["error"]["reason"]), (409, &json!("code_running")));
    assert_eq!(refused.json()["error"]["id"], code.as_str());
    let note = json!({"kind": "note", "text": "may I?"});
    let outside =
        elsewhere.refused(&json!({"type": "record", "id": Uuid::now_v7(), "code": code, "event": note})).await;
    assert_eq!(outside["reason"], "not_in_code");

    // It joins by taking a role for itself.
    let joins = json!({"kind": "role_assigned", "role": "recorder", "device": elsewhere.id});
    elsewhere.record(&code, &joins).await;
    elsewhere.until("view", |view| view["roles"] == json!(["recorder"])).await;
    elsewhere.record(&code, &note).await;

    // From now on it is in this code and can be given a role in no other.
    let mut third = server.device("Bay 3", Some("Bay 3"), None).await;
    let other = third.open_code(&json!({})).await;
    assert_ne!(other, code);
    let takes = json!({"kind": "role_assigned", "role": "leader", "device": elsewhere.id});
    let taken = third.refused(&json!({"type": "record", "id": Uuid::now_v7(), "code": other, "event": takes})).await;
    assert_eq!(taken["reason"], "not_in_code");
    server.stop().await;
}

#[tokio::test]
async fn closing_frees_the_devices_and_undoing_it_brings_them_back() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", Some("Bay 1"), Some("leader")).await;
    let code = leader.open_code(&json!({})).await;
    leader.record(&code, &json!({"kind": "clock_started"})).await;
    let closing = Uuid::now_v7();
    let close = json!({"kind": "code_closed", "outcome": "not_an_arrest"});
    leader.send(&json!({"type": "record", "id": closing, "code": code, "event": close})).await;
    leader.until("recorded", |message| message["id"] == closing.to_string()).await;
    leader.until("view", |view| view["phase"] == "closed").await;
    leader.until("codes", |message| message["codes"] == json!([])).await;
    let fact = json!({"type": "record", "id": Uuid::now_v7(), "code": code, "event": {"kind": "rosc"}});
    assert_eq!(leader.refused(&fact).await["reason"], "closed");

    leader.record(&code, &json!({"kind": "voided", "target": closing, "reason": "closed by mistake"})).await;
    leader.until("view", |view| view["phase"] == "arrest").await;
    leader.until("codes", |message| message["codes"][0]["joined"] == true).await;
    leader.record(&code, &json!({"kind": "compressions_started"})).await;
    leader.record(&code, &close).await;
    let next = leader.open_code(&json!({})).await;
    leader.until("view", |view| view["code"] == next.as_str()).await;
    server.stop().await;
}

#[tokio::test]
async fn a_record_sent_again_is_harmless_and_another_under_its_id_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", None, Some("leader")).await;
    let code = leader.open_code(&json!({})).await;
    leader.record(&code, &json!({"kind": "clock_started", "recognised_ago_ms": 30_000})).await;
    let id = Uuid::now_v7();
    let shock = json!({"type": "record", "id": id, "code": code, "at_ms": 12_000, "event": {"kind": "shock_delivered", "energy_j": 200}});
    let mut told = Vec::new();
    for _ in 0..3 {
        leader.send(&shock).await;
        told.push(leader.until("recorded", |message| message["id"] == id.to_string()).await);
    }
    assert_eq!(told[0], told[1]);
    assert_eq!(told[0], told[2]);
    assert_eq!(told[0]["at_ms"], 12_000);
    for other in [
        json!({"type": "record", "id": id, "code": code, "at_ms": 12_000, "event": {"kind": "shock_delivered", "energy_j": 150}}),
        json!({"type": "record", "id": id, "code": code, "at_ms": 13_000, "event": {"kind": "shock_delivered", "energy_j": 200}}),
    ] {
        assert_eq!(leader.refused(&other).await["reason"], "id_reused");
    }
    let timeline = get(server.address, &format!("/api/codes/{code}/timeline"), Some(&leader.token)).await.unwrap().text;
    assert_eq!(timeline.matches("shock_delivered").count(), 1);
    let line = timeline.lines().find(|line| line.contains("shock_delivered")).unwrap();
    assert!(line.contains(r#""source":"late""#), "{line}");
    server.stop().await;
}

#[tokio::test]
async fn what_is_refused_is_named_and_the_connection_lives_on() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", None, Some("leader")).await;
    let code = leader.open_code(&json!({})).await;
    leader.record(&code, &json!({"kind": "clock_started"})).await;
    let timeline = get(server.address, &format!("/api/codes/{code}/timeline"), Some(&leader.token)).await.unwrap().text;
    let opening: Value = serde_json::from_str(timeline.lines().next().unwrap()).unwrap();
    let opening = opening["id"].clone();
    let id = || Uuid::now_v7().to_string();
    let record = |event: Value| json!({"type": "record", "id": id(), "code": code, "event": event});
    let cases = [
        (json!({"type": "record", "id": id(), "code": Uuid::now_v7(), "event": {"kind": "rosc"}}), "unknown_code"),
        (record(json!({"kind": "moonwalk"})), "unknown_event"),
        (record(json!({"kind": "shock_delivered", "energy_j": "much"})), "malformed"),
        (
            record(
                json!({"kind": "code_opened", "protocol": {"id": "aha-adult", "version": 1}, "patient": {}, "training": true}),
            ),
            "malformed",
        ),
        (
            record(json!({"kind": "protocol_changed", "protocol": {"id": "nobody's", "version": 1}, "reason": "x"})),
            "malformed",
        ),
        (record(json!({"kind": "role_assigned", "role": "drugs", "device": Uuid::now_v7()})), "malformed"),
        // An amendment is held to the same as the fact that it puts in place.
        (
            record(json!({"kind": "amended", "target": Uuid::now_v7(), "reason": "x",
                "event": {"kind": "role_assigned", "role": "drugs", "device": Uuid::now_v7()}})),
            "malformed",
        ),
        (
            record(json!({"kind": "amended", "target": Uuid::now_v7(), "reason": "x",
                "event": {"kind": "protocol_changed", "protocol": {"id": "nobody's", "version": 1}, "reason": "x"}})),
            "malformed",
        ),
        (record(json!({"kind": "voided", "target": opening, "reason": "x"})), "malformed"),
        (
            record(
                json!({"kind": "amended", "target": opening, "reason": "x", "event": {"kind": "note", "text": "x"}}),
            ),
            "malformed",
        ),
        (record(json!({"kind": "clock_corrected", "from_ms": 60_000, "to_ms": 0, "basis": "x"})), "malformed"),
        (json!({"type": "record", "id": id(), "code": code, "at_ms": 3_600_000, "event": {"kind": "rosc"}}), "future"),
        (record(json!({"kind": "amended", "target": Uuid::now_v7(), "at_ms": 3_600_000, "reason": "x"})), "future"),
    ];
    for (message, reason) in cases {
        let refused = leader.refused(&message).await;
        assert_eq!(refused["reason"], reason, "{message}");
        assert!(refused["message"].as_str().unwrap().len() > 10);
    }
    for (text, reason) in [
        ("{".to_owned(), "malformed"),
        ("x".repeat(70_000), "too_large"),
        (r#"{"type":"dance"}"#.to_owned(), "unknown_message"),
    ] {
        leader.socket.send_text(text).await.unwrap();
        let refused = leader.until("refused", |_| true).await;
        assert_eq!((&refused["reason"], &refused["id"]), (&json!(reason), &Value::Null));
    }
    // A little ahead is taken as now.
    let shock =
        json!({"type": "record", "id": id(), "code": code, "at_ms": 900, "event": {"kind": "compressions_started"}});
    leader.send(&shock).await;
    let taken = leader.until("recorded", |message| message["id"] == shock["id"]).await;
    assert!(taken["at_ms"].as_i64().unwrap() <= 900);
    leader.send(&json!({"type": "ping", "sent_ms": 5.5})).await;
    let pong = leader.until("pong", |_| true).await;
    assert_eq!(pong["sent_ms"], 5.5);
    assert!(pong["replied_ms"].as_f64() >= pong["received_ms"].as_f64());
    server.stop().await;
}

#[tokio::test]
async fn a_running_code_goes_on_after_a_restart() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", Some("Bay 1"), Some("leader")).await;
    let code = leader.open_code(&json!({})).await;
    let started = leader.record(&code, &json!({"kind": "clock_started", "recognised_ago_ms": 60_000})).await;
    assert_eq!(started["at_ms"], 0);
    let before = leader.until("view", |view| view["phase"] == "arrest" && view["durable_seq"] == 3).await;
    server.stop().await;

    let server = serve(folder.path()).await;
    let mut leader = server.connect(leader.id, &leader.token).await;
    let after = leader.until("view", |view| view["phase"] == "arrest").await;
    assert!(after["run"].as_u64() > before["run"].as_u64());
    for field in ["epoch_ms", "durable_seq", "head", "roles"] {
        assert_eq!(after[field], before[field], "{field}");
    }
    assert!(after["at_ms"].as_i64() >= before["at_ms"].as_i64());
    assert_eq!(leader.record(&code, &json!({"kind": "compressions_started"})).await["seq"], 4);
    let stored =
        Store::read_only(folder.path()).await.unwrap().reader().code(code.parse().unwrap()).await.unwrap().unwrap();
    stored.verify().unwrap();
    assert_eq!(stored.records.len(), 4);
    let prompts = Store::read_only(folder.path()).await.unwrap().reader().prompts(stored.place).await.unwrap();
    let start: Vec<&str> = prompts
        .iter()
        .filter(|row| row.key.starts_with("start_compressions@"))
        .map(|row| row.became.as_str())
        .collect();
    assert_eq!(start.first(), Some(&"shown"), "{prompts:?}");
    server.stop().await;
}

#[tokio::test]
async fn one_device_without_a_role_sees_every_prompt_and_no_view_is_too_large() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut alone = server.device("Bay 1", None, None).await;
    let code = alone.open_code(&json!({})).await;
    // `until` checks the size of every view that passes.
    alone.record(&code, &json!({"kind": "clock_started", "recognised_ago_ms": 300_000})).await;
    let view = alone.until("view", |view| view["phase"] == "arrest").await;
    let actions: Vec<&str> =
        view["prompts"].as_array().unwrap().iter().map(|prompt| prompt["action"].as_str().unwrap()).collect();
    assert!(actions.contains(&"start_compressions") && actions.contains(&"attach_pads"), "{actions:?}");
    for event in [
        json!({"kind": "compressions_started"}),
        json!({"kind": "pads_attached"}),
        json!({"kind": "access_gained", "route": "iv"}),
        json!({"kind": "compressions_stopped", "reason": "rhythm_check"}),
        json!({"kind": "rhythm_checked", "rhythm": "vf"}),
        json!({"kind": "compressions_started"}),
        json!({"kind": "charging_started", "energy_j": 200}),
    ] {
        let seq = alone.record(&code, &event).await["seq"].clone();
        alone.until("view", |view| view["durable_seq"].as_u64() >= seq.as_u64()).await;
    }
    server.stop().await;
}

#[tokio::test]
async fn views_come_before_the_disk_and_acknowledgements_after_it() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", None, Some("leader")).await;
    let code = leader.open_code(&json!({})).await;
    leader.record(&code, &json!({"kind": "clock_started"})).await;
    // Another process keeps the file: nothing can be saved.
    let store = Store::beside(folder.path()).await.unwrap();
    let mut other = store.writing().await.unwrap();
    sqlx::query("BEGIN IMMEDIATE").execute(&mut other).await.unwrap();
    let id = Uuid::now_v7().to_string();
    let start = json!({"type": "record", "id": id, "code": code, "event": {"kind": "compressions_started"}});
    leader.send(&start).await;
    let shown = leader.until("view", |view| view["hands"]["observed"]["compressing"] == true).await;
    assert!(shown["durable_seq"].as_u64() < shown["last_seq"].as_u64());
    leader.until("view", |view| view["not_saving"].is_string()).await;
    // Sent again while it waits: each of the two is acknowledged, at the commit.
    leader.send(&start).await;
    leader.send(&json!({"type": "ping", "sent_ms": 1})).await;
    leader.until("pong", |_| true).await;
    sqlx::query("ROLLBACK").execute(&mut other).await.unwrap();
    for _ in 0..2 {
        leader.until("recorded", |message| message["id"] == id.as_str()).await;
    }
    leader.until("view", |view| view["not_saving"].is_null() && view["durable_seq"] == view["last_seq"]).await;
    server.stop().await;
}

#[tokio::test]
async fn pairing_needs_the_code_of_the_moment_and_wrong_ones_are_limited() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let wrong = json!({"join_code": "nonsense", "name": "Bay 1"});
    let nameless = post(server.address, "/api/pair", None, &json!({"join_code": server.join_code})).await.unwrap();
    assert_eq!((nameless.status, &nameless.json()["error"]["field"]), (400, &json!("name")));
    for _ in 0..10 {
        let answer = post(server.address, "/api/pair", None, &wrong).await.unwrap();
        assert_eq!((answer.status, &answer.json()["error"]["reason"]), (403, &json!("wrong_join_code")));
    }
    let right = json!({"join_code": server.join_code, "name": "Bay 1"});
    let answer = post(server.address, "/api/pair", None, &right).await.unwrap();
    assert_eq!((answer.status, &answer.json()["error"]["reason"]), (429, &json!("too_many_tries")));
    let unknown = get(server.address, "/api/me", Some("no token of ours")).await.unwrap();
    assert_eq!((unknown.status, &unknown.json()["error"]["reason"]), (401, &json!("unknown_device")));
    server.stop().await;
}

#[tokio::test]
async fn opening_a_code_names_what_is_wrong_and_takes_the_clients_id() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let device = server.device("Bay 1", None, None).await;
    for (body, field) in [
        (json!({}), "protocol.id"),
        (json!({"protocol": {"id": "nobody's", "version": 1}}), "protocol.id"),
        (json!({"protocol": {"id": "aha-adult", "version": 99}}), "protocol.version"),
        (json!({"protocol": {"id": "aha-adult", "version": 1}, "patient": {"weight_kg": 9_000}}), "patient.weight_kg"),
        (json!({"protocol": {"id": "aha-adult", "version": 1}, "training": "yes"}), "training"),
    ] {
        let answer = device.post("/api/codes", &body).await;
        assert_eq!((answer.status, &answer.json()["error"]["field"]), (400, &json!(field)), "{body} {}", answer.text);
    }
    let id = Uuid::now_v7();
    let body = json!({"id": id, "protocol": {"id": "aha-adult", "version": 1}});
    for status in [201, 200] {
        let answer = device.post("/api/codes", &body).await;
        assert_eq!((answer.status, &answer.json()["id"]), (status, &json!(id)));
    }
    let codes = get(server.address, "/api/codes", Some(&device.token)).await.unwrap().json();
    assert_eq!((&codes["codes"][0]["id"], &codes["running"][0]["joined"]), (&json!(id), &json!(true)));
    let figures = get(server.address, &format!("/api/codes/{id}/figures"), Some(&device.token)).await.unwrap();
    assert_eq!(figures.json()["rosc_count"], 0, "{}", figures.text);
    server.stop().await;
}

#[tokio::test]
async fn the_server_says_how_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let _device = server.device("Bay 1", None, None).await;
    assert_eq!(get(server.address, "/healthz", None).await.unwrap().text, "ok");
    assert_eq!(get(server.address, "/readyz", None).await.unwrap().status, 200);
    let metrics = get(server.address, "/metrics", None).await.unwrap().text;
    assert!(metrics.contains("coxswain_devices_connected 1\n"), "{metrics}");
    let page = get(server.address, "/any/page", None).await.unwrap();
    assert_eq!(page.status, 200);
    let policy = page.headers.iter().find(|(name, _)| name == "content-security-policy").unwrap();
    assert!(policy.1.contains("frame-ancestors 'none'"));
    assert_eq!(get(server.address, "/api/nothing", None).await.unwrap().status, 404);
    let no = post(server.address, "/api/me", None, &json!({})).await.unwrap();
    assert_eq!((no.status, no.json()["error"]["reason"].as_str()), (405, Some("no_such_method")), "{}", no.text);
    tokio::time::timeout(PATIENCE, server.stop()).await.unwrap();
}

#[tokio::test]
async fn a_code_that_moves_wakes_the_devices_of_its_new_place() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", Some("Bay 1"), Some("leader")).await;
    let mut theatre = server.device("Theatre", Some("Theatre"), Some("airway")).await;
    let code = leader.open_code(&json!({})).await;
    theatre.until("codes", |message| message["codes"][0]["joined"] == false).await;
    let mut along = server.device("Bay 1 drugs", Some("Bay 1"), Some("drugs")).await;
    along.until("view", |view| view["roles"] == json!(["drugs"])).await;
    leader.record(&code, &json!({"kind": "clock_started"})).await;
    let moved = leader.record(&code, &json!({"kind": "moved", "location": "Theatre"})).await;
    let woken = theatre.until("view", |view| view["roles"] == json!(["airway"])).await;
    assert_eq!(woken["location"], "Theatre");
    let list = theatre.until("codes", |message| message["codes"][0]["joined"] == true).await;
    assert_eq!(list["codes"][0]["location"], "Theatre");
    // Who came along is still in it, with the same role and the same tasks.
    let view = along.until("view", |view| view["location"] == "Theatre").await;
    assert_eq!((&view["roles"], &view["code"]), (&json!(["drugs"]), &json!(code)));
    assert!(view["prompts"].as_array().unwrap().iter().any(|prompt| prompt["action"] == "gain_access"));
    // The tablet that woke took its role itself: whether that is right, the leader is still asked.
    let asks = |view: &Value| {
        let prompts = view["prompts"].as_array().unwrap();
        prompts.iter().find(|prompt| prompt["action"] == "confirm_roles").cloned()
    };
    let asked = asks(&leader.until("view", |view| asks(view).is_some()).await).unwrap();
    leader.record(&code, &json!({"kind": "task_done", "prompt": asked["key"]})).await;
    leader.until("view", |view| asks(view).is_none()).await;
    // A move that was a slip takes the place back with it.
    leader.record(&code, &json!({"kind": "voided", "target": moved["id"], "reason": "slip"})).await;
    let list = theatre.until("codes", |message| message["codes"][0]["location"] == "Bay 1").await;
    assert_eq!(list["codes"][0]["joined"], true, "nobody is thrown out by a correction");
    server.stop().await;
}

/// The design's never-list, 6: a prompt is always on some screen, also when the tablet that had it is gone.
#[tokio::test]
async fn prompts_of_a_tablet_that_is_gone_fall_to_the_others() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Lead", None, Some("leader")).await;
    let compressor = server.device("Chest", None, Some("compressor")).await;
    let mut drugs = server.device("Drugs", None, Some("drugs")).await;
    let code = leader.open_code(&json!({})).await;
    leader.record(&code, &json!({"kind": "clock_started"})).await;
    let asks = |action: &'static str| {
        move |view: &Value| view["prompts"].as_array().unwrap().iter().any(|prompt| prompt["action"] == action)
    };
    drugs.until("view", asks("gain_access")).await;
    assert!(!asks("start_compressions")(&leader.until("view", asks("attach_pads")).await));
    drop(compressor);
    leader.until("view", asks("start_compressions")).await;
    drop(leader);
    let view = drugs.until("view", asks("start_compressions")).await;
    assert!(view["unheld"].as_array().unwrap().contains(&json!("leader")), "{view}");
    server.stop().await;
}

#[tokio::test]
async fn a_code_opened_again_under_its_id_with_other_content_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let leader = server.device("Lead", None, Some("leader")).await;
    let id = Uuid::now_v7();
    leader.open_code(&json!({"id": id})).await;
    let again = |training: bool| json!({"id": id, "protocol": {"id": "aha-adult", "version": 1}, "training": training});
    assert_eq!(leader.post("/api/codes", &again(true)).await.status, 200);
    let answer = leader.post("/api/codes", &again(false)).await;
    assert_eq!((answer.status, &answer.json()["error"]["reason"]), (409, &json!("id_reused")));
    server.stop().await;
}

/// The design's never-list, 7, over random bursts: while the disk is held, no view and no acknowledgement may claim more
/// than what is stored.
#[tokio::test]
async fn nothing_is_shown_as_saved_that_is_not_on_disk() {
    let folder = tempfile::tempdir().unwrap();
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", None, Some("leader")).await;
    let code = leader.open_code(&json!({})).await;
    leader.record(&code, &json!({"kind": "clock_started"})).await;
    let store = Store::beside(folder.path()).await.unwrap();
    let mut other = store.writing().await.unwrap();
    let mut seed: u64 = 7;
    let mut claims = 0;
    for round in 0..6 {
        sqlx::query("BEGIN IMMEDIATE").execute(&mut other).await.unwrap();
        let path = format!("/api/codes/{code}/timeline");
        let stored = get(server.address, &path, Some(&leader.token)).await.unwrap().text.lines().count() as u64;
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let burst = (seed >> 60) + 1;
        for note in 0..burst {
            let event = json!({"kind": "note", "text": format!("{round}.{note}")});
            leader.send(&json!({"type": "record", "id": Uuid::now_v7(), "code": code, "event": event})).await;
        }
        let mut shown = false;
        while !shown {
            let text = tokio::time::timeout(PATIENCE, leader.socket.next_text()).await.unwrap().unwrap();
            let message: Value = serde_json::from_str(&text).unwrap();
            let claimed = match message["type"].as_str().unwrap() {
                "view" => {
                    shown = message["last_seq"].as_u64().unwrap() >= stored + burst;
                    message["durable_seq"].as_u64().unwrap()
                }
                "recorded" => message["seq"].as_u64().unwrap(),
                _ => continue,
            };
            assert!(claimed <= stored, "{claimed} said to be saved, {stored} on disk");
            claims += 1;
        }
        sqlx::query("ROLLBACK").execute(&mut other).await.unwrap();
        leader.record(&code, &json!({"kind": "note", "text": "saved"})).await;
    }
    assert!(claims >= 6, "every burst was shown before it was saved");
    server.stop().await;
}

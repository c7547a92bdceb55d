//! Who may review: accounts, sessions, the access log, and what a device at the bedside may not open.

use crate::support::{PASSWORD, Reviewer, add_account, put_case, serve};
use coxswain::ledger::Store;
use coxswain::review::session::{IDLE_MS, WHOLE_MS};
use coxswain::team::http::{ask, get, post};
use serde_json::{Value, json};

const SESSION: &str = "/api/review/session";

#[tokio::test]
async fn a_wrong_name_and_a_wrong_password_get_the_same_answer_and_the_cookie_is_closed_to_scripts() {
    let folder = tempfile::tempdir().unwrap();
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let sign_in = |name: &str, password: &str| {
        let body = json!({"name": name, "password": password});
        let address = server.address;
        async move { post(address, SESSION, None, &body).await.unwrap() }
    };
    let (nobody, wrong) = (sign_in("Nobody", PASSWORD).await, sign_in("Ann", "not the password").await);
    assert_eq!((nobody.status, &nobody.text), (403, &wrong.text));
    let bad = post(server.address, SESSION, None, &json!({"name": "Ann"})).await.unwrap();
    assert_eq!((bad.status, &bad.json()["error"]["reason"]), (400, &json!("malformed")));
    let right = sign_in(" ann ", PASSWORD).await;
    let (_, cookie) = right.headers.iter().find(|(name, _)| name == "set-cookie").unwrap();
    assert!(cookie.contains("; HttpOnly; SameSite=Strict;") && !cookie.contains("Secure"), "{cookie}");
    assert_eq!(
        (&right.json()["account"]["name"], &right.json()["account"]["role"]),
        (&json!("Ann"), &json!("reviewer"))
    );
    let ann = Reviewer::sign_in(&server, "Ann").await;
    assert_eq!(ann.get(SESSION).await["account"]["name"], "Ann");
    // What is kept of the session is not what opens it.
    let token = ann.cookie.split_once('=').unwrap().1.to_owned();
    let file = std::fs::read(folder.path().join("coxswain.sqlite")).unwrap();
    let holds = |what: &str| file.windows(what.len()).any(|window| window == what.as_bytes());
    assert!(!holds(&token) && !holds(PASSWORD));
    assert_eq!(ann.ask("DELETE", SESSION, &Value::Null).await.status, 204);
    assert_eq!(ann.ask("GET", SESSION, &Value::Null).await.json()["error"]["reason"], "not_signed_in");
    // A page of another server asks in vain.
    let ben = Reviewer::sign_in(&server, "Ann").await;
    let headers = format!("Cookie: {}\r\nOrigin: http://other.example\r\n", ben.cookie);
    assert_eq!(ask(server.address, "GET", "/api/review/codes", &headers, "").await.unwrap().status, 403);
    server.stop().await;
}

#[tokio::test]
async fn wrong_passwords_slow_down_and_removing_an_account_ends_its_sessions() {
    let folder = tempfile::tempdir().unwrap();
    add_account(folder.path(), "Ann", "reviewer").await;
    add_account(folder.path(), "Ben", "administrator").await;
    let server = serve(folder.path()).await;
    let wrong = json!({"name": "Ann", "password": "not the password"});
    for _ in 0..3 {
        assert_eq!(post(server.address, SESSION, None, &wrong).await.unwrap().status, 403);
    }
    let slowed = post(server.address, SESSION, None, &wrong).await.unwrap();
    assert_eq!((slowed.status, &slowed.json()["error"]["reason"]), (429, &json!("too_many_tries")));
    assert!(slowed.json()["retry_after_s"].as_u64().is_some_and(|seconds| (1..=31).contains(&seconds)));
    // Nobody else is kept out by it.
    let ben = Reviewer::sign_in(&server, "Ben").await;
    let removed = Store::beside(folder.path()).await.unwrap().remove_account("BEN", "now").await.unwrap();
    assert_eq!(removed.unwrap().name, "Ben");
    assert_eq!(ben.ask("GET", SESSION, &Value::Null).await.status, 401);
    let again = post(server.address, SESSION, None, &json!({"name": "Ben", "password": PASSWORD})).await.unwrap();
    assert_eq!(again.status, 403);
    server.stop().await;
}

/// The server's clock is set on in the data folder, as it goes on while a machine is off.
#[tokio::test]
async fn a_session_ends_by_the_servers_clock() {
    let folder = tempfile::tempdir().unwrap();
    add_account(folder.path(), "Ann", "reviewer").await;
    let mut server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let cookie = ann.cookie.clone();
    for (later_ms, status) in [(0, 200), (IDLE_MS - 60_000, 200), (IDLE_MS, 401), (WHOLE_MS, 401)] {
        server.stop().await;
        let store = Store::beside(folder.path()).await.unwrap();
        let mut connection = store.writing().await.unwrap();
        let moved = sqlx::query("UPDATE server SET server_ms = server_ms + ?1").bind(later_ms);
        moved.execute(&mut connection).await.unwrap();
        server = serve(folder.path()).await;
        let answer = ask(server.address, "GET", SESSION, &format!("Cookie: {cookie}\r\n"), "").await.unwrap();
        assert_eq!(answer.status, status, "{later_ms} ms later: {}", answer.text);
    }
    server.stop().await;
}

#[tokio::test]
async fn every_opening_and_change_is_in_a_log_that_nobody_clears() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    add_account(folder.path(), "Ben", "administrator").await;
    let server = serve(folder.path()).await;
    let wrong = json!({"name": "my secret password, typed in the wrong field", "password": "x"});
    assert_eq!(post(server.address, SESSION, None, &wrong).await.unwrap().status, 403);
    let ann = Reviewer::sign_in(&server, "Ann").await;
    ann.get("/api/review/codes").await;
    let seen = ann.code(id).await;
    ann.changed(&seen, json!({"kind": "align", "offset_ms": 5_000})).await;
    let all = ann.ask("GET", "/api/review/access_log", &Value::Null).await;
    assert_eq!((all.status, &all.json()["error"]["reason"]), (403, &json!("administrators_only")));
    let deeds = |log: &Value| -> Vec<(String, String)> {
        let entries = log["entries"].as_array().unwrap().iter().rev();
        entries
            .map(|one| (one["name"].as_str().unwrap().to_owned(), one["deed"].as_str().unwrap().to_owned()))
            .collect()
    };
    let pair = |name: &str, deed: &str| (name.to_owned(), deed.to_owned());
    // A refusal that shows the record as it stands now shows all of it.
    let late = ann.change(&seen, "too late", json!({"kind": "align", "offset_ms": 6_000})).await;
    assert_eq!((late.status, late.json()["code"]["records"].is_array()), (409, true));
    let of_code = ann.get(&format!("/api/review/access_log?code={id}")).await;
    let logged = [pair("Ann", "opened"), pair("Ann", "changed"), pair("Ann", "opened"), pair("Ann", "log_read")];
    assert_eq!(deeds(&of_code), logged);
    assert_eq!(of_code["entries"][1]["detail"], "changed meanwhile");
    assert_eq!(of_code["entries"][2]["detail"], "align");
    assert_eq!(of_code["entries"][2]["from"], "127.0.0.1");
    let ben = Reviewer::sign_in(&server, "Ben").await;
    let log = ben.get("/api/review/access_log").await;
    let told = deeds(&log);
    assert_eq!(
        told[..4],
        [
            pair("shell", "account_added"),
            pair("shell", "account_added"),
            pair("-", "sign_in_failed"),
            pair("Ann", "signed_in")
        ]
    );
    assert!(!log.to_string().contains("secret"), "a password may have been typed for a name");
    // No address takes anything away from it, and the file itself refuses.
    for method in ["DELETE", "PUT", "POST", "PATCH"] {
        assert_eq!(ben.ask(method, "/api/review/access_log", &json!({})).await.status, 405);
    }
    let mut connection = Store::beside(folder.path()).await.unwrap().writing().await.unwrap();
    assert!(sqlx::query("DELETE FROM access_log").execute(&mut connection).await.is_err());
    assert!(sqlx::query("UPDATE access_log SET name = 'x'").execute(&mut connection).await.is_err());
    server.stop().await;
}

/// A page says whom it shows as signed in: if another tab has signed somebody else in since, nothing is done under that name.
#[tokio::test]
async fn a_page_that_shows_another_account_gets_nothing_done() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    let ann = add_account(folder.path(), "Ann", "reviewer").await;
    let ben = add_account(folder.path(), "Ben", "reviewer").await;
    let server = serve(folder.path()).await;
    let signed_in = Reviewer::sign_in(&server, "Ann").await;
    let seen = signed_in.code(id).await;
    let path = format!("/api/review/codes/{id}/signature");
    let sign = async |shown: String| {
        let headers = format!("Cookie: {}\r\ncoxswain-account: {shown}\r\n", signed_in.cookie);
        ask(server.address, "POST", &path, &headers, &json!({"head": seen["head"]}).to_string()).await.unwrap()
    };
    for shown in [ben.to_string(), "Ann".to_owned(), String::new()] {
        let refused = sign(shown.clone()).await;
        assert_eq!((refused.status, &refused.json()["error"]["reason"]), (401, &json!("other_account")), "{shown}");
    }
    assert_eq!(signed_in.code(id).await["line"]["standing"], "unsigned");
    assert_eq!(sign(ann.to_string()).await.status, 201);
    assert_eq!(signed_in.code(id).await["versions"][0]["signature"]["by"], "Ann");
    server.stop().await;
}

#[tokio::test]
async fn a_device_opens_the_codes_it_was_in_and_no_other() {
    let folder = tempfile::tempdir().unwrap();
    let old = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let mut here = server.device("Bay 1", Some("Bay 1"), Some("leader")).await;
    let there = server.device("Bay 2", Some("Bay 2"), Some("leader")).await;
    let code = here.open_code(&json!({})).await;
    for part in ["timeline", "figures"] {
        let path = format!("/api/codes/{code}/{part}");
        assert_eq!(get(server.address, &path, Some(&here.token)).await.unwrap().status, 200);
        let other = get(server.address, &path, Some(&there.token)).await.unwrap();
        let none = get(server.address, &path.replace(&code, &uuid::Uuid::now_v7().to_string()), Some(&there.token))
            .await
            .unwrap();
        assert_eq!(
            (other.status, &other.text),
            (404, &none.text),
            "as little is told as of a code that there never was"
        );
        let old = get(server.address, &format!("/api/codes/{old}/{part}"), Some(&here.token)).await.unwrap();
        assert_eq!(old.status, 404);
    }
    let listed = |token: &str| {
        let (token, address) = (token.to_owned(), server.address);
        async move { get(address, "/api/codes", Some(&token)).await.unwrap().json()["codes"].as_array().unwrap().len() }
    };
    assert_eq!((listed(&here.token).await, listed(&there.token).await), (1, 0));
    // Review is for people: a device's token opens nothing there, in whatever way it is sent; a person's session no device's door.
    let ann = Reviewer::sign_in(&server, "Ann").await;
    for path in ["/api/review/codes", &format!("/api/review/codes/{code}"), "/api/review/access_log", SESSION] {
        let as_cookies = format!("Cookie: coxswain_device={0}; coxswain_review={0}\r\n", here.token);
        for headers in [String::new(), format!("Authorization: Bearer {}\r\n", here.token), as_cookies] {
            assert_eq!(ask(server.address, "GET", path, &headers, "").await.unwrap().status, 401, "{path} {headers}");
        }
    }
    assert_eq!(ann.ask("GET", &format!("/api/codes/{code}/timeline"), &Value::Null).await.status, 401);

    // What a reviewer signed no device changes, though it was in the code.
    here.record(&code, &json!({"kind": "clock_started"})).await;
    here.record(&code, &json!({"kind": "code_closed", "outcome": "not_an_arrest"})).await;
    let id: uuid::Uuid = code.parse().unwrap();
    let mut seen = ann.code(id).await;
    let forged = json!({"kind": "reviewed", "deed": {"what": "signed", "version": 1, "head": ""}});
    let record = |event: Value| json!({"type": "record", "id": uuid::Uuid::now_v7(), "code": code, "event": event});
    let refused = here.refused(&record(forged)).await;
    assert_eq!(refused["reason"], "closed");
    let debrief = json!({"head": seen["head"], "went_well": "all of it", "to_change": "", "follow_ups": []});
    seen = ann.ask("POST", &format!("/api/review/codes/{code}/debrief"), &debrief).await.json();
    let theirs = seen["debrief"]["id"].clone();
    let void = |target: &Value| record(json!({"kind": "voided", "target": target, "reason": "no"}));
    let refused = here.refused(&void(&theirs)).await;
    assert_eq!(refused["reason"], "malformed");
    let signed = ann.ask("POST", &format!("/api/review/codes/{code}/signature"), &json!({"head": seen["head"]})).await;
    assert_eq!(signed.status, 201, "{}", signed.text);
    let first = seen["records"][1]["record"]["id"].clone();
    let refused = here.refused(&void(&first)).await;
    assert_eq!(refused["reason"], "closed");
    // Nor while a new version is open: a tablet would let a code run again that somebody answered for.
    let reopened = ann.changed(&signed.json(), json!({"kind": "new_version"})).await;
    let records = reopened["records"].as_array().unwrap();
    let closing = records.iter().find(|one| one["record"]["event"]["kind"] == "code_closed").unwrap();
    let refused = here.refused(&void(&closing["record"]["id"])).await;
    assert_eq!(refused["reason"], "closed");
    assert_eq!(ann.code(id).await["line"]["standing"], "reopened");
    server.stop().await;
}

/// What a prompt asked, of whom and where, is kept as it was shown; the deed is paired with it.
#[tokio::test]
async fn prompts_are_paired_with_their_deeds() {
    let folder = tempfile::tempdir().unwrap();
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", Some("Bay 1"), Some("leader")).await;
    let code = leader.open_code(&json!({})).await;
    leader.record(&code, &json!({"kind": "clock_started"})).await;
    leader.until("view", |view| view["prompts"].to_string().contains("start_compressions")).await;
    let started = leader.record(&code, &json!({"kind": "compressions_started"})).await;
    leader.record(&code, &json!({"kind": "code_closed", "outcome": "died"})).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let seen = ann.code(code.parse().unwrap()).await;
    let prompts = seen["prompts"].as_array().unwrap();
    let asked = prompts.iter().find(|one| one["action"] == "start_compressions").unwrap();
    assert_eq!((&asked["end"], &asked["roles"]), (&json!("done"), &json!(["compressor"])));
    assert_eq!((&asked["due_at_ms"], &asked["devices"]), (&json!(0), &json!([leader.id])));
    assert!(asked["after_due_ms"].as_i64().unwrap() >= 0);
    let deed = seen["records"].as_array().unwrap().iter().find(|one| one["record"]["id"] == started["id"]).unwrap();
    assert_eq!((&asked["ended_at_ms"], &asked["acknowledged_on"]), (&deed["record"]["at_ms"], &json!(leader.id)));
    assert!(asked["acknowledged_at_ms"].as_i64().unwrap() >= asked["ended_at_ms"].as_i64().unwrap());
    assert_eq!(seen["names"][leader.id.to_string()], "Bay 1");
    assert_eq!(seen["line"]["figures"]["prompts"]["start_compressions"]["done"], 1);
    server.stop().await;
}

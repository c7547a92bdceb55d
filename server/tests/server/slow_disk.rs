//! A reviewer's change on a disk that takes nothing for a while: answered, never lost without a word, never made twice.

use std::path::Path;
use std::time::{Duration, Instant};

use crate::support::{PATIENCE, Reviewer, Running, add_account, put_case, serve_waiting};
use coxswain::ledger::Store;
use serde_json::{Value, json};
use sqlx::SqliteConnection;
use uuid::Uuid;

const WAIT: Duration = Duration::from_millis(200);

async fn begun(folder: &Path) -> (Uuid, Running, Reviewer, SqliteConnection) {
    let id = put_case(folder, "02").await;
    add_account(folder, "Ann", "reviewer").await;
    let server = serve_waiting(folder, None, WAIT).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    (id, server, ann, Store::beside(folder).await.unwrap().writing().await.unwrap())
}

async fn told(connection: &mut SqliteConnection, statement: &'static str) {
    sqlx::query(statement).execute(connection).await.unwrap();
}

fn note() -> Value {
    json!({"kind": "add", "at_ms": 100_000, "event": {"kind": "note", "text": "once"}})
}

fn notes(code: &Value) -> usize {
    let records = code["records"].as_array().unwrap().iter();
    records.filter(|record| record["record"]["event"]["text"] == "once").count()
}

/// Asks until the answer is no 503 any more: the disk takes things again, and the writer tries again by itself.
async fn once_saved(ann: &Reviewer, method: &str, path: &str, body: &Value) -> coxswain::team::http::HttpAnswer {
    let deadline = Instant::now() + PATIENCE;
    loop {
        let answer = ann.ask(method, path, body).await;
        if answer.status != 503 {
            return answer;
        }
        assert!(Instant::now() < deadline, "the disk takes things again, and nothing is saved");
    }
}

/// Another program holds the file: not even the access log can be written, and a change comes after that.
#[tokio::test]
async fn a_change_that_could_not_be_logged_is_not_made() {
    let folder = tempfile::tempdir().unwrap();
    let (id, server, ann, mut other) = begun(folder.path()).await;
    let seen = ann.code(id).await;
    told(&mut other, "BEGIN IMMEDIATE").await;
    let late = ann.change(&seen, "nobody tapped it", note()).await;
    let error = late.json()["error"].clone();
    assert_eq!((late.status, &error["reason"]), (503, &json!("not_saved")), "{}", late.text);
    let message = error["message"].as_str().unwrap();
    assert!(message.contains("cannot write to its disk now") && message.contains("may be saved later"), "{message}");
    told(&mut other, "ROLLBACK").await;
    let now = once_saved(&ann, "GET", &format!("/api/review/codes/{id}"), &Value::Null).await.json();
    assert_eq!((&now["head"], notes(&now)), (&seen["head"], 0), "it was not made");
    assert_eq!(notes(&ann.changed(&now, note()).await), 1);
    server.stop().await;
}

/// The disk takes the access log and no record: the change is with the writer, which tries again until it is there. In
/// place of the disk stands a trigger that cannot run, so that records alone are not taken.
#[tokio::test]
async fn a_change_that_is_saved_late_is_there_once() {
    let folder = tempfile::tempdir().unwrap();
    let (id, server, ann, mut other) = begun(folder.path()).await;
    let seen = ann.code(id).await;
    told(&mut other, "CREATE TRIGGER full BEFORE INSERT ON record BEGIN INSERT INTO nowhere VALUES (1); END").await;
    let late = ann.change(&seen, "nobody tapped it", note()).await;
    assert_eq!((late.status, &late.json()["error"]["reason"]), (503, &json!("not_saved")), "{}", late.text);
    // Whoever does it again meanwhile adds nothing.
    let again = ann.change(&seen, "nobody tapped it", note()).await;
    assert_eq!((again.status, &again.json()["error"]["reason"]), (503, &json!("not_saved")), "{}", again.text);
    told(&mut other, "DROP TRIGGER full").await;
    let path = format!("/api/review/codes/{id}");
    let now = once_saved(&ann, "GET", &path, &Value::Null).await.json();
    assert_eq!(notes(&now), 1, "it is there, once");
    assert_eq!(now["records"].as_array().unwrap().len(), seen["records"].as_array().unwrap().len() + 2);
    let body = json!({"head": seen["head"], "reason": "nobody tapped it", "change": note()});
    let old = ann.ask("POST", &format!("{path}/changes"), &body).await;
    assert_eq!((old.status, &old.json()["error"]["reason"]), (409, &json!("changed_meanwhile")), "{}", old.text);
    assert_eq!((&old.json()["code"]["head"], notes(&old.json()["code"])), (&now["head"], 1));
    server.stop().await;
    Store::read_only(folder.path()).await.unwrap().reader().code(id).await.unwrap().unwrap().verify().unwrap();
}

//! Exports and trends over HTTP: only for who is signed in, logged before they are sent, and the bytes of the library that the
//! command line writes through. `tests/review` compares the two programs, and every number.

use crate::support::{Reviewer, add_account, put_case, serve};
use coxswain::export::{Format, Parts};
use coxswain::ledger::Store;
use serde_json::{Value, json};

async fn written(parts: Parts) -> String {
    let (mut parts, mut text) = (parts, String::new());
    while let Some(part) = parts.next().await {
        text.push_str(&part.unwrap());
    }
    text
}

#[tokio::test]
async fn an_export_is_logged_and_has_the_bytes_of_the_command_line() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "administrator").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let reader = Store::read_only(folder.path()).await.unwrap().reader().clone();
    for format in [Format::Jsonl, Format::Csv, Format::CsvCodes, Format::Fhir] {
        for hidden in [false, true] {
            let name = format.name();
            let path = format!("/api/review/codes/{id}/export?format={name}&deidentified={hidden}");
            let answer = ann.ask("GET", &path, &Value::Null).await;
            assert_eq!(answer.status, 200, "{}", answer.text);
            assert_eq!(answer.text, written(Parts::of_code(reader.clone(), id, format, hidden)).await);
            let said = answer.headers.iter().find(|(name, _)| name == "content-disposition").unwrap().1.clone();
            assert_eq!(said.contains(&id.to_string()), !hidden, "{said}");
        }
    }
    let many = ann.ask("GET", "/api/review/export?format=csv-codes&since=2020-01-01", &Value::Null).await;
    let all = Parts::of_all(reader, Some("2020-01-01"), Format::CsvCodes, false).await.unwrap();
    assert_eq!(many.text, written(all).await);
    let log = ann.get("/api/review/access_log").await;
    let logged: Vec<&str> = log["entries"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|entry| entry["deed"] == "exported")
        .filter_map(|entry| entry["detail"].as_str())
        .collect();
    assert_eq!(logged.len(), 10);
    assert_eq!(logged[..2], ["with others: csv-codes, since 2020-01-01", "csv-codes, since 2020-01-01"]);
    assert_eq!(logged[2], "fhir, de-identified");
    // Whoever may open a code sees that it left in a file with others.
    let of_code = ann.get(&format!("/api/review/access_log?code={id}")).await;
    let with_others = |entry: &Value| entry["detail"] == "with others: csv-codes, since 2020-01-01";
    assert!(of_code["entries"].as_array().unwrap().iter().any(with_others));
    server.stop().await;
}

#[tokio::test]
async fn nobody_else_gets_an_export_or_a_trend_and_wrong_requests_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let mut nobody = Reviewer::sign_in(&server, "Ann").await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    nobody.cookie = "coxswain_review=0".to_owned();
    let paths = [
        format!("/api/review/codes/{id}/export?format=csv"),
        "/api/review/export?format=csv".to_owned(),
        "/api/review/trends".to_owned(),
    ];
    for path in paths {
        assert_eq!(nobody.ask("GET", &path, &Value::Null).await.status, 401, "{path}");
    }
    for (path, field) in [
        (format!("/api/review/codes/{id}/export"), "format"),
        (format!("/api/review/codes/{id}/export?format=xml"), "format"),
        ("/api/review/export?format=csv&since=soon".to_owned(), "since"),
        ("/api/review/trends?than_from=soon".to_owned(), "from"),
    ] {
        let answer = ann.ask("GET", &path, &Value::Null).await;
        assert_eq!((answer.status, &answer.json()["error"]["field"]), (400, &json!(field)), "{path}");
    }
    let other = uuid::Uuid::now_v7();
    let answer = ann.ask("GET", &format!("/api/review/codes/{other}/export?format=csv"), &Value::Null).await;
    assert_eq!(answer.status, 404);
    server.stop().await;
}

#[tokio::test]
async fn trends_show_two_sides_of_what_the_list_has() {
    let folder = tempfile::tempdir().unwrap();
    put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let drill = ann.get("/api/review/codes").await["codes"][0]["training"].as_bool().unwrap();
    let answer = ann.get(&format!("/api/review/trends?training={drill}&than_training={}", !drill)).await;
    let sides = answer["sides"].as_array().unwrap();
    assert_eq!((&sides[0]["trends"]["codes"], &sides[1]["trends"]["codes"]), (&json!(1), &json!(0)));
    assert_eq!((&answer["few_below"], &answer["unfinished"]), (&json!(10), &json!(0)));
    // Worked by hand from case 02, as in `review.rs`.
    let longest =
        sides[0]["trends"]["values"].as_array().unwrap().iter().find(|value| value["name"] == "longest_pause_ms");
    assert_eq!(longest.unwrap()["overall"]["median"], 11_736.0);
    server.stop().await;
}

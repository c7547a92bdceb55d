//! Exports and trends over HTTP: only for who is signed in, logged before they are sent, and the bytes of the library that the
//! command line writes through. `tests/review` compares the two programs, and every number.

use std::collections::BTreeSet;

use crate::support::{Reviewer, add_account, put_case, serve};
use coxswain::export::{Format, Parts};
use coxswain::ledger::{Store, chain};
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
    let mut names = BTreeSet::new();
    for format in [Format::Jsonl, Format::Csv, Format::CsvCodes, Format::Fhir] {
        for hidden in [false, true] {
            let name = format.name();
            let path = format!("/api/review/codes/{id}/export?format={name}&deidentified={hidden}");
            let answer = ann.ask("GET", &path, &Value::Null).await;
            assert_eq!(answer.status, 200, "{}", answer.text);
            assert_eq!(answer.text, written(Parts::of_code(reader.clone(), id, None, format, hidden)).await);
            let said = answer.headers.iter().find(|(name, _)| name == "content-disposition").unwrap().1.clone();
            assert_eq!(said.contains(&id.to_string()), !hidden, "{said}");
            assert!(said.contains(&format!("{}\"", format.ending())), "{said}");
            assert!(names.insert(said), "no two files have one name");
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

/// The published case was opened at 2026-03-01T12:00:00Z. Its clock was 13 hours behind: it is a code of the next day.
#[tokio::test]
async fn a_code_is_exported_since_the_day_on_which_the_list_has_it() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let reader = Store::read_only(folder.path()).await.unwrap().reader().clone();
    let since = |day: &str| {
        let (reader, day) = (reader.clone(), day.to_owned());
        async move { written(Parts::of_all(reader, Some(&day), Format::Jsonl, false).await.unwrap()).await }
    };
    assert!(!since("2026-03-01").await.is_empty());
    assert_eq!(since("2026-03-02").await, "");
    // Its line is stale by this, until somebody looks at the list; then it is not. The bytes are the same.
    let seen = ann.code(id).await;
    let later = ann.changed(&seen, json!({"kind": "align", "offset_ms": 13 * 3_600_000})).await;
    let stale = since("2026-03-02").await;
    assert_eq!(ann.get("/api/review/codes?from=2026-03-02&to=2026-03-03").await["total"], 1);
    assert!(stale.contains(&id.to_string()));
    assert_eq!(since("2026-03-02").await, stale);
    assert_eq!(ann.ask("GET", "/api/review/export?format=jsonl&since=2026-03-02", &Value::Null).await.text, stale);
    // And the other way: aligned to the day before, by a line and without one.
    ann.changed(&later, json!({"kind": "align", "offset_ms": -13 * 3_600_000})).await;
    for made in [false, true] {
        assert_eq!(since("2026-03-01").await, "", "with its line made: {made}");
        assert!(since("2026-02-28").await.contains(&id.to_string()), "with its line made: {made}");
        assert_eq!(ann.get("/api/review/codes?from=2026-03-01").await["total"], 0);
    }
    server.stop().await;
    // A copy of a file from before there were lines is read as it is.
    let mut file = Store::beside(folder.path()).await.unwrap().writing().await.unwrap();
    sqlx::query("DROP TABLE code_line").execute(&mut file).await.unwrap();
    assert_eq!(since("2026-03-01").await, "");
    assert!(since("2026-02-28").await.contains(&id.to_string()));
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
        // What nobody knows is not passed over.
        (format!("/api/review/codes/{id}?versoin=1"), "versoin"),
        (format!("/api/review/codes/{id}/export?format=csv&since=2020-01-01"), "since"),
        ("/api/review/export?format=csv&location=Bay".to_owned(), "location"),
        ("/api/review/export?format=csv&deidentified=false&deidentified=true".to_owned(), "deidentified"),
        ("/api/review/codes?locations=Bay".to_owned(), "locations"),
        ("/api/review/codes?than_location=Bay".to_owned(), "than_location"),
        ("/api/review/trends?page=1".to_owned(), "page"),
        ("/api/review/trends?than_page=1".to_owned(), "than_page"),
        ("/api/review/trends?than_=1".to_owned(), "than_"),
        ("/api/review/codes?page=0".to_owned(), "page"),
        ("/api/review/codes?page=100001".to_owned(), "page"),
        ("/api/review/codes?page=99999999999999999999".to_owned(), "page"),
        (format!("/api/review/access_log?code={id}&page=100001"), "page"),
        (format!("/api/review/access_log?code={id}&limit=5"), "limit"),
    ] {
        let answer = ann.ask("GET", &path, &Value::Null).await;
        assert_eq!((answer.status, &answer.json()["error"]["field"]), (400, &json!(field)), "{path}");
    }
    let empty = ann.get("/api/review/codes?page=100000").await;
    assert_eq!((&empty["codes"], &empty["page"], &empty["pages"]), (&json!([]), &json!(100_000), &json!(1)));
    let other = uuid::Uuid::now_v7();
    let answer = ann.ask("GET", &format!("/api/review/codes/{other}/export?format=csv"), &Value::Null).await;
    assert_eq!(answer.status, 404);
    server.stop().await;
}

#[tokio::test]
async fn codes_without_a_place_can_be_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let without = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", None, Some("leader")).await;
    let code = leader.open_code(&json!({"location": "Bay 1", "training": true})).await;
    for event in [json!({"kind": "clock_started"}), json!({"kind": "code_closed", "outcome": "died"})] {
        leader.record(&code, &event).await;
    }
    let within: uuid::Uuid = code.parse().unwrap();
    let ann = Reviewer::sign_in(&server, "Ann").await;
    for (filter, wanted) in [
        ("", vec![within, without]),
        ("?location=", vec![without]),
        ("?location=%20", vec![without]),
        ("?location=Bay%201", vec![within]),
        ("?location=Bay%202", vec![]),
    ] {
        let list = ann.get(&format!("/api/review/codes{filter}")).await;
        let mut found: Vec<_> = list["codes"].as_array().unwrap().iter().map(|line| line["id"].clone()).collect();
        let mut wanted: Vec<_> = wanted.into_iter().map(|id| json!(id)).collect();
        found.sort_by_key(Value::to_string);
        wanted.sort_by_key(Value::to_string);
        assert_eq!((&found, &list["total"]), (&wanted, &json!(wanted.len())), "{filter}");
    }
    let sides = ann.get("/api/review/trends?training=true&location=Bay%201&than_location=").await;
    let of = |side: usize| (sides["sides"][side]["trends"]["codes"].clone(), sides["sides"][side]["filter"].clone());
    assert_eq!((of(0).0, of(0).1["location"].clone()), (json!(1), json!("Bay 1")));
    assert_eq!((of(1).0, of(1).1["location"].clone()), (json!(1), json!("")));
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

fn coxswain(arguments: &[&str]) -> std::process::Output {
    std::process::Command::new(env!("CARGO_BIN_EXE_coxswain")).args(arguments).output().unwrap()
}

fn said(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

/// The last hash of a file's own chain, as docs/wire.md has it.
fn head_of(jsonl: &str) -> String {
    chain::hex(&jsonl.lines().fold(chain::START, |head, line| chain::link(&head, line)))
}

#[tokio::test]
async fn the_hash_on_the_report_is_checked_from_the_shell_and_the_signed_version_comes_out_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().to_str().unwrap();
    let id = put_case(folder.path(), "02").await;
    let code = id.to_string();
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let export = |version: &str| format!("/api/review/codes/{id}/export?format=jsonl&version={version}");
    let early = ann.ask("GET", &export("1"), &Value::Null).await;
    assert_eq!((early.status, &early.json()["error"]["reason"]), (404, &json!("unknown_version")));

    let sign = |head: Value| (format!("/api/review/codes/{id}/signature"), json!({ "head": head }));
    let (path, body) = sign(ann.code(id).await["head"].clone());
    let signed = ann.ask("POST", &path, &body).await.json();
    let opened = ann.changed(&signed, json!({"kind": "new_version"})).await;
    let target = opened["records"][14]["record"]["id"].clone();
    let amended = ann.changed(&opened, json!({"kind": "amend", "target": target, "at_ms": 207_020})).await;
    let (path, body) = sign(amended["head"].clone());
    let signed = ann.ask("POST", &path, &body).await.json();
    let heads: Vec<&str> =
        signed["versions"].as_array().unwrap().iter().map(|one| one["signature"]["head"].as_str().unwrap()).collect();

    for (number, records) in [(1, 22), (2, 25)] {
        let head = heads[number - 1];
        let file = ann.ask("GET", &export(&number.to_string()), &Value::Null).await;
        assert_eq!((file.status, file.text.lines().count()), (200, records), "{}", file.text);
        assert_eq!(head_of(&file.text), head);
        let version = number.to_string();
        let out = coxswain(&["export", &code, "--version", &version, "--format", "jsonl", "--data", data]);
        assert_eq!((said(&out.stdout), out.status.success()), (file.text.as_str(), true));
        assert_eq!(said(&out.stderr), format!("{records} records, head {head}\n"));
    }
    for (version, status) in [("3", 404), ("0", 400), ("x", 400), ("-1", 400)] {
        assert_eq!(ann.ask("GET", &export(version), &Value::Null).await.status, status, "{version}");
    }
    let none = coxswain(&["export", &code, "--version", "3", "--format", "csv", "--data", data]);
    assert_eq!((none.status.code(), said(&none.stdout)), (Some(2), ""));
    assert!(said(&none.stderr).contains("--version 3: no such version was signed; signed is version 1, 2"));
    let csv = ann.ask("GET", &export("1").replace("jsonl", "csv-codes"), &Value::Null).await;
    assert!(csv.text.contains(heads[0]) && !csv.text.contains(heads[1]), "{}", csv.text);
    let log = ann.get(&format!("/api/review/access_log?code={id}")).await;
    assert!(log["entries"].as_array().unwrap().iter().any(|entry| entry["detail"] == "jsonl, version 1"));
    server.stop().await;

    let verified = coxswain(&["verify", "--data", data]);
    let text = said(&verified.stdout);
    assert!(verified.status.success() && text.contains("1 codes, every chain holds."), "{text}");
    for (number, records) in [(1, 22), (2, 25)] {
        let begins = format!("  version {number} signed by Ann at 20");
        let ends = format!("Z over {records} records: head {} holds", heads[number - 1]);
        assert!(text.lines().any(|line| line.starts_with(&begins) && line.ends_with(&ends)), "{ends}: {text}");
    }

    // Somebody with the disk writes a time anew, and every hash after it: the chain holds in itself, the signatures do not.
    let store = Store::beside(folder.path()).await.unwrap();
    let stored = store.reader().code(id).await.unwrap().unwrap();
    let mut file = store.writing().await.unwrap();
    sqlx::query("DROP TRIGGER record_is_never_edited").execute(&mut file).await.unwrap();
    let mut head = chain::START;
    for record in stored.records {
        let text = record.text.replace("\"at_ms\":209756", "\"at_ms\":203756");
        head = chain::link(&head, &text);
        let query = sqlx::query("UPDATE record SET text = ?1, hash = ?2 WHERE seq = ?3").bind(text).bind(head.to_vec());
        query.bind(i64::try_from(record.seq).unwrap()).execute(&mut file).await.unwrap();
    }
    let verified = coxswain(&["verify", "--data", data]);
    let text = said(&verified.stdout);
    assert_eq!(verified.status.code(), Some(1), "{text}");
    assert!(text.contains(&format!("{id} ok, ")) && text.matches("DOES NOT HOLD").count() == 2, "{text}");
    assert!(said(&verified.stderr).contains("2 signatures do not hold: code "), "{}", said(&verified.stderr));
    let out = coxswain(&["export", &code, "--version", "1", "--format", "jsonl", "--data", data]);
    assert_eq!((out.status.code(), said(&out.stdout)), (Some(1), ""));
    assert!(said(&out.stderr).contains(heads[0]), "{}", said(&out.stderr));
}

/// A figure has the same digits wherever it is read: in the line that was kept in the file and read back, in the code, and by
/// `measure` from its export. Fractions are what differs first: the shortest text of a double is read back as its neighbour
/// by a parser that rounds more than once (Clinger 1990, "How to read floating point numbers accurately").
#[tokio::test]
async fn a_figure_that_was_kept_has_the_digits_of_measure() {
    let mut fractions = 0;
    // Each of them closed: the line of a code that runs is made beside, whenever its turn comes.
    for case in ["02", "04", "05", "09", "12", "w30"] {
        let folder = tempfile::tempdir().unwrap();
        let id = put_case(folder.path(), case).await;
        add_account(folder.path(), "Ann", "reviewer").await;
        let server = serve(folder.path()).await;
        let ann = Reviewer::sign_in(&server, "Ann").await;
        let list = ann.ask("GET", "/api/review/codes", &Value::Null).await.text;
        let code = ann.ask("GET", &format!("/api/review/codes/{id}"), &Value::Null).await.text;
        let export = ann.ask("GET", &format!("/api/review/codes/{id}/export?format=jsonl"), &Value::Null).await;
        let file = folder.path().join("code.jsonl");
        std::fs::write(&file, export.text).unwrap();
        let mut program = std::process::Command::new(env!("CARGO_BIN_EXE_coxswain"));
        let program = program.args(["measure", "--json"]).arg(file).output().unwrap();
        let measured = String::from_utf8(program.stdout).unwrap();
        let digits = |text: &str, name: &str| {
            let figures = text.rsplit_once("\"figures\":{").map_or(text, |(_, figures)| figures);
            let found = figures.split_once(&format!("\"{name}\":"));
            let (_, rest) = found.unwrap_or_else(|| panic!("{case}: no {name} in {text}"));
            rest[..rest.find([',', '}']).unwrap()].to_owned()
        };
        for name in ["compression_fraction", "compression_fraction_from_first", "charging_compression_fraction"] {
            let wanted = digits(&measured, name);
            assert_eq!((digits(&list, name), digits(&code, name)), (wanted.clone(), wanted.clone()), "{case}: {name}");
            if wanted.len() > 10 {
                fractions += 1;
                for format in ["csv-codes", "fhir"] {
                    let file =
                        ann.ask("GET", &format!("/api/review/codes/{id}/export?format={format}"), &Value::Null).await;
                    assert!(file.text.contains(&wanted), "{case}: {name}: {wanted} in {format}");
                }
            }
        }
        server.stop().await;
    }
    assert!(fractions >= 6, "{fractions} fractions tell little");
}

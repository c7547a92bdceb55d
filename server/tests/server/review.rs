//! Review over HTTP: figures follow corrections, nothing is overwritten, what is signed stays. Shapes are those of
//! docs/wire.md. The cases are those of tests/published/cases, whose figures others worked out.

use crate::support::{PATIENCE, Reviewer, add_account, put_case, serve};
use coxswain::ledger::Store;
use serde_json::{Value, json};
use std::time::Instant;
use uuid::Uuid;

fn record_at(code: &Value, place: usize) -> &str {
    code["records"][place - 1]["record"]["id"].as_str().unwrap()
}

fn reason(answer: &coxswain::team::http::HttpAnswer) -> (u16, String) {
    (answer.status, answer.json()["error"]["reason"].as_str().unwrap_or_default().to_owned())
}

fn field(answer: &coxswain::team::http::HttpAnswer) -> (u16, String, String) {
    let error = &answer.json()["error"];
    let text = |name: &str| error[name].as_str().unwrap_or_default().to_owned();
    (answer.status, text("field"), text("message"))
}

/// Worked by hand from case 02: 348 641 ms of arrest, the first compression at 41 479 ms, pauses of 9 919, 11 736 and
/// 3 331 ms. The start that ends the second one is record 15.
#[tokio::test]
async fn figures_follow_a_correction_at_once_and_the_original_stays() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    let account = add_account(folder.path(), "A. Reviewer", "reviewer").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "a. reviewer").await;
    let before = ann.code(id).await;
    assert_eq!(before["open_for_changes"], true);
    assert_eq!((&before["line"]["standing"], &before["figures"]["pauses_over_10_s"]), (&json!("unsigned"), &json!(1)));
    let fraction = |code: &Value| code["figures"]["compression_fraction"].as_f64().unwrap();
    assert!((fraction(&before) - 282_176.0 / 348_641.0).abs() < 1e-9);
    let missed = |code: &Value| {
        let pauses = code["targets"].as_array().unwrap().iter().find(|one| one["name"] == "pauses").unwrap().clone();
        (pauses["of"].as_u64().unwrap(), pauses["held"].as_u64().unwrap(), pauses["missed"].as_array().unwrap().len())
    };
    assert_eq!(missed(&before), (3, 2, 1));

    let target = record_at(&before, 15).to_owned();
    let amended = ann.changed(&before, json!({"kind": "amend", "target": target, "at_ms": 207_020})).await;
    assert_eq!(amended["figures"]["longest_pause_ms"], 9_919);
    assert!((fraction(&amended) - 284_912.0 / 348_641.0).abs() < 1e-9);
    assert_eq!(missed(&amended), (3, 3, 0));
    let shown = &amended["records"][14];
    assert_eq!((&shown["record"]["at_ms"], &shown["now_at_ms"]), (&json!(209_756), &json!(207_020)));
    let made = &amended["records"][22]["record"];
    assert_eq!(shown["corrected_by"], json!([made["id"]]));
    assert_eq!((&made["source"], &made["by"]["name"]), (&json!("review"), &json!("A. Reviewer")));
    assert_eq!((&made["by"]["device"], &made["event"]["reason"]), (&json!(account), &json!("as the monitor has it")));
    // The list has it at once, too.
    let list = ann.get("/api/review/codes").await;
    assert_eq!((&list["total"], &list["unfinished"]), (&json!(1), &json!(0)));
    assert_eq!(list["codes"][0]["figures"]["longest_pause_ms"], 9_919);
    assert_eq!(list["codes"][0]["head"], amended["head"]);

    // The amendment taken back, and that taken back again.
    let void = ann.changed(&amended, json!({"kind": "void", "target": made["id"]})).await;
    assert_eq!(void["figures"], before["figures"]);
    let last = record_at(&void, 24).to_owned();
    let again = ann.changed(&void, json!({"kind": "void", "target": last})).await;
    assert_eq!(again["figures"], amended["figures"]);

    // A fact that nobody recorded, with its reason beside it; another content for one.
    let shock = json!({"kind": "shock_delivered", "energy_j": 150});
    let added = ann.changed(&again, json!({"kind": "add", "at_ms": 170_000, "event": shock})).await;
    assert_eq!(added["figures"]["first_shock_ms"], 170_000);
    let records = added["records"].as_array().unwrap();
    let deed = &records[records.len() - 1]["record"]["event"]["deed"];
    let fact = &records[records.len() - 2]["record"];
    assert_eq!((&deed["what"], &deed["target"]), (&json!("added"), &fact["id"]));
    let other = json!({"kind": "shock_delivered", "energy_j": 200});
    let other = ann.changed(&added, json!({"kind": "amend", "target": fact["id"], "event": other})).await;
    assert_eq!(other["figures"]["shocks"][0]["energy_j"], 200);
    for (old, new) in before["records"].as_array().unwrap().iter().zip(other["records"].as_array().unwrap()) {
        assert_eq!(old["record"], new["record"], "what was recorded stands as it was");
    }
    server.stop().await;
    Store::read_only(folder.path()).await.unwrap().reader().code(id).await.unwrap().unwrap().verify().unwrap();
}

#[tokio::test]
async fn two_reviewers_at_once_overwrite_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    add_account(folder.path(), "Ben", "reviewer").await;
    let server = serve(folder.path()).await;
    let (ann, ben) = (Reviewer::sign_in(&server, "Ann").await, Reviewer::sign_in(&server, "Ben").await);
    let seen = ann.code(id).await;
    let note = |text: &str| json!({"kind": "add", "at_ms": 100_000, "event": {"kind": "note", "text": text}});
    // Both at the very same time, on what both saw: one is taken, the other one sees what was done.
    let (one, other) = tokio::join!(ann.change(&seen, "x", note("Ann's")), ben.change(&seen, "x", note("Ben's")));
    let (taken, refused) = if one.status == 201 { (one, other) } else { (other, one) };
    assert_eq!(taken.status, 201, "{}", taken.text);
    assert_eq!(reason(&refused), (409, "changed_meanwhile".to_owned()));
    let now = refused.json()["code"].clone();
    assert_eq!(now["head"], taken.json()["head"]);
    assert_eq!(now["records"].as_array().unwrap().len(), seen["records"].as_array().unwrap().len() + 2);
    // On what it is now, the other's change is taken as well: both stand.
    let both = ben.changed(&now, note("after all")).await;
    assert_eq!(both["records"].as_array().unwrap().len(), seen["records"].as_array().unwrap().len() + 4);
    assert_eq!(ann.code(id).await["head"], both["head"]);
    server.stop().await;
}

#[tokio::test]
async fn what_is_signed_is_closed_until_a_new_version_and_stays_readable() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let path = |end: &str| format!("/api/review/codes/{id}/{end}");
    let seen = ann.code(id).await;
    for offset_ms in [i64::MIN, i64::MAX, 400 * 86_400_000] {
        let far = ann.change(&seen, "why", json!({"kind": "align", "offset_ms": offset_ms})).await;
        assert_eq!((far.status, &far.json()["error"]["field"]), (400, &json!("change.offset_ms")));
    }
    let early = ann.change(&seen, "why", json!({"kind": "new_version"})).await;
    assert_eq!(reason(&early), (409, "not_signed".to_owned()));
    let debrief = json!({"head": seen["head"], "went_well": "Short pauses.", "to_change": "Announce the check earlier.",
        "follow_ups": [{"who": "B. Lead", "what": "a drill", "by_when": "2026-12-24"}]});
    let debriefed = ann.ask("POST", &path("debrief"), &debrief).await;
    assert_eq!(debriefed.status, 201, "{}", debriefed.text);
    let debriefed = debriefed.json();
    assert_eq!((&debriefed["debrief"]["by"], &debriefed["line"]["debriefed"]), (&json!("Ann"), &json!(true)));
    assert_eq!(debriefed["figures"], seen["figures"]);
    let signed = ann.ask("POST", &path("signature"), &json!({"head": debriefed["head"]})).await;
    assert_eq!(signed.status, 201, "{}", signed.text);
    let signed = signed.json();
    assert_eq!((&signed["line"]["standing"], &signed["open_for_changes"]), (&json!("signed"), &json!(false)));
    let signature = &signed["versions"][0]["signature"];
    assert_eq!(
        (&signature["by"], &signature["head"], &signature["records"]),
        (&json!("Ann"), &debriefed["head"], &json!(23))
    );

    // Nothing is taken until a new version is opened.
    let target = record_at(&signed, 15).to_owned();
    let amend = json!({"kind": "amend", "target": target, "at_ms": 207_020});
    assert_eq!(reason(&ann.change(&signed, "why", amend.clone()).await), (409, "signed".to_owned()));
    let again = ann.ask("POST", &path("signature"), &json!({"head": signed["head"]})).await;
    assert_eq!(reason(&again), (409, "signed".to_owned()));
    let opened = ann.changed(&signed, json!({"kind": "new_version"})).await;
    assert_eq!((&opened["line"]["standing"], &opened["line"]["version"]), (&json!("reopened"), &json!(2)));
    let amended = ann.changed(&opened, amend).await;
    assert_ne!(amended["figures"], signed["figures"]);

    // The signed version is as it was, by its hash.
    let first = ann.get(&path("?version=1").replace("/?", "?")).await;
    assert_eq!((&first["head"], &first["figures"]), (&debriefed["head"], &signed["figures"]));
    assert_eq!((first["records"].as_array().unwrap().len(), &first["open_for_changes"]), (23, &json!(false)));
    let none = ann.ask("GET", &format!("/api/review/codes/{id}?version=2"), &Value::Null).await;
    assert_eq!(reason(&none), (404, "unknown_version".to_owned()));
    let second = ann.ask("POST", &path("signature"), &json!({"head": amended["head"]})).await.json();
    assert_eq!(second["versions"][1]["signature"]["head"], amended["head"]);
    assert_eq!(second["versions"][1]["reason"], "as the monitor has it");
    assert_eq!(ann.get("/api/review/codes?signed=true").await["total"], 1);
    assert_eq!(ann.get("/api/review/codes?signed=false").await["total"], 0);
    server.stop().await;
}

#[tokio::test]
async fn a_code_that_runs_is_not_corrected_in_review_and_none_is_called_back() {
    let folder = tempfile::tempdir().unwrap();
    let closed = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", Some("Bay 1"), Some("leader")).await;
    let running: Uuid = leader.open_code(&json!({})).await.parse().unwrap();
    leader.record(&running.to_string(), &json!({"kind": "clock_started"})).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let seen = ann.code(running).await;
    assert_eq!((&seen["line"]["standing"], &seen["open_for_changes"]), (&json!("running"), &json!(false)));
    let note = json!({"kind": "add", "at_ms": 0, "event": {"kind": "note", "text": "x"}});
    let refused = ann.change(&seen, "why", note).await;
    assert!(matches!(reason(&refused), (409, why) if why == "code_running" || why == "changed_meanwhile"));

    let sign = format!("/api/review/codes/{running}/signature");
    let answer = ann.ask("POST", &sign, &json!({"head": ann.code(running).await["head"]})).await;
    assert!(matches!(reason(&answer), (409, why) if why == "code_running" || why == "changed_meanwhile"));
    assert_eq!(ann.code(running).await["versions"][0].get("signature"), None, "nobody signs under a code that runs");

    let seen = ann.code(closed).await;
    let closing = record_at(&seen, 22).to_owned();
    let refused = ann.change(&seen, "why", json!({"kind": "void", "target": closing})).await;
    assert_eq!(field(&refused).1, "change.target");
    assert_eq!(ann.code(closed).await["head"], seen["head"]);
    assert_eq!(
        ann.changed(
            &seen,
            json!({"kind": "amend", "target": closing, "event": {"kind": "code_closed", "outcome": "transferred"}})
        )
        .await["line"]["outcome"],
        "transferred"
    );
    // The room at the bedside heard nothing of all this.
    leader.record(&running.to_string(), &json!({"kind": "compressions_started"})).await;
    server.stop().await;
}

#[tokio::test]
async fn a_wrong_change_is_named_by_its_field_and_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let seen = ann.code(id).await;
    let start = record_at(&seen, 15);
    let opening = record_at(&seen, 1);
    let note = json!({"kind": "note", "text": "x"});
    let cases = [
        (json!({"kind": "void", "target": Uuid::now_v7()}), "change.target", "no record of this code"),
        (json!({"kind": "void", "target": opening}), "change.target", "the opening"),
        (json!({"kind": "void"}), "change", "missing field `target`"),
        (json!({"kind": "dance"}), "change", "unknown variant `dance`"),
        (json!({"kind": "amend", "target": start}), "change", "changes nothing"),
        (json!({"kind": "amend", "target": start, "at_ms": 209_756}), "change", "changes nothing"),
        (json!({"kind": "amend", "target": start, "at_ms": 99_000_000}), "change.at_ms", "still to come"),
        (
            json!({"kind": "amend", "target": opening, "event": note}),
            "change.event.kind",
            "the opening and the closing",
        ),
        (
            json!({"kind": "amend", "target": start, "event": {"kind": "voided", "target": opening, "reason": ""}}),
            "change.event.kind",
            "a fact in place of a fact",
        ),
        (
            json!({"kind": "add", "at_ms": 1_000, "event": {"kind": "shock_delivered", "energy_j": 9_000}}),
            "change.event.energy_j",
            "between 1 and 1000",
        ),
        (json!({"kind": "add", "at_ms": 1_000, "event": {"kind": "shock_delivered"}}), "change", "energy_j"),
        (json!({"kind": "add", "at_ms": 348_641, "event": note}), "change.at_ms", "not before the closing"),
        (
            json!({"kind": "add", "at_ms": 1_000, "event": {"kind": "code_closed", "outcome": "died"}}),
            "change.event.kind",
            "nothing to add",
        ),
        (
            json!({"kind": "add", "at_ms": 1_000, "event": {"kind": "reviewed", "deed": {"what": "signed", "version": 9, "head": ""}}}),
            "change.event.kind",
            "nothing to add",
        ),
        (
            json!({"kind": "add", "at_ms": 1_000, "event": {"kind": "protocol_changed", "protocol": {"id": "nobody's", "version": 1}, "reason": ""}}),
            "change.event.protocol",
            "aha-adult version 1",
        ),
        (json!({"kind": "align", "offset_ms": 0}), "change.offset_ms", "stands already"),
        (
            json!({"kind": "import_monitor", "name": "m.csv", "csv": "start,stop\n1,2\n3,x\n"}),
            "change.csv",
            "row 3, column stop",
        ),
        (
            json!({"kind": "add", "at_ms": 1_000, "event": {"kind": "note", "text": " \u{200b} "}}),
            "change.event.text",
            "no character that shows",
        ),
        (
            json!({"kind": "amend", "target": start, "event": {"kind": "vital_read", "temp_site": "core"}}),
            "change.event",
            "has no value",
        ),
        (json!({"kind": "add", "at_ms": 1_000, "event": {"kind": "lab_read"}}), "change.event", "has no value"),
        (
            json!({"kind": "choose_source", "import": start, "from_ms": 0, "to_ms": 9, "source": "monitor"}),
            "change.import",
            "no import",
        ),
    ];
    for (change, name, words) in cases {
        let answer = ann.change(&seen, "why", change.clone()).await;
        let (status, field, message) = field(&answer);
        assert!(status == 400 && field.starts_with(name), "{change}: {field}: {message}");
        assert!(message.contains(words), "{change}: {message}");
    }
    // What reads one way on a screen and another on paper, wherever it is typed.
    let hidden = json!({"kind": "note", "text": "gave 1\u{202e}5 mg"});
    let answer = ann.change(&seen, "why", json!({"kind": "add", "at_ms": 1_000, "event": hidden})).await;
    assert_eq!(field(&answer).1, "change.event.text");
    assert!(field(&answer).2.contains("U+202E"), "{}", answer.text);
    let moved = json!({"kind": "amend", "target": opening, "event": {"kind": "code_opened", "protocol": {"id": "aha-adult", "version": 1},
        "patient": {}, "training": true, "location": "Bay\u{1b} 1"}});
    assert_eq!(field(&ann.change(&seen, "why", moved).await).1, "change.event.location");
    let file = json!({"kind": "import_monitor", "name": "m\u{2066}.csv", "csv": "start,stop\r\n1,2\r\n"});
    assert_eq!(field(&ann.change(&seen, "why", file).await).1, "change.name");
    let answer = ann.change(&seen, "wh\u{0}y", json!({"kind": "void", "target": start})).await;
    assert_eq!(field(&answer).1, "reason");
    let debrief = json!({"head": seen["head"], "went_well": "calm", "to_change": "",
        "follow_ups": [{"who": "B\u{202d}", "what": "a drill"}]});
    let answer = ann.ask("POST", &format!("/api/review/codes/{id}/debrief"), &debrief).await;
    assert_eq!(field(&answer).1, "follow_ups[0].who");
    for blank in ["  ", "\u{200b}", " \u{2060}\u{feff} "] {
        let answer = ann.change(&seen, blank, json!({"kind": "void", "target": start})).await;
        assert_eq!(field(&answer).1, "reason", "{blank:?}");
    }
    let follow_up = |who: &str, by_when: &str| json!([{"who": who, "what": "a drill", "by_when": by_when}]);
    for (went_well, follow_ups, name) in [
        ("\u{200b}", json!([]), "went_well"),
        ("\u{200b}", follow_up("B", "2026-02-28"), "went_well"),
        ("calm", follow_up("\u{2060}", "2026-02-28"), "follow_ups[0].who"),
        ("calm", follow_up("B", "2026-02-31"), "follow_ups[0].by_when"),
        ("calm", follow_up("B", "2027-02-29"), "follow_ups[0].by_when"),
        ("calm", follow_up("B", "soon"), "follow_ups[0].by_when"),
    ] {
        let debrief = json!({"head": seen["head"], "went_well": went_well, "to_change": "", "follow_ups": follow_ups});
        let answer = ann.ask("POST", &format!("/api/review/codes/{id}/debrief"), &debrief).await;
        assert_eq!((answer.status, field(&answer).1.as_str()), (400, name), "{debrief}: {}", answer.text);
    }
    let headless = json!({"head": "beef", "reason": "x", "change": {"kind": "new_version"}});
    let answer = ann.ask("POST", &format!("/api/review/codes/{id}/changes"), &headless).await;
    assert_eq!(field(&answer).1, "head");
    assert_eq!(ann.code(id).await["head"], seen["head"], "nothing was appended");
    server.stop().await;
}

/// Nothing counts after a closing: a code that ended before it began would have no facts, and figures of nothing.
#[tokio::test]
async fn no_correction_lets_a_code_end_before_it_began() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let seen = ann.code(id).await;
    let of = |kind: &str| {
        let records = seen["records"].as_array().unwrap();
        let found = records.iter().find(|one| one["record"]["event"]["kind"] == kind).unwrap();
        (found["record"]["id"].clone(), found["record"]["at_ms"].as_i64().unwrap())
    };
    let ((opening, _), (start, start_ms), (closing, closed_ms)) =
        (of("code_opened"), of("clock_started"), of("code_closed"));
    assert_eq!((start_ms, closed_ms), (0, 348_641));
    let at = |target: &Value, at_ms: i64| json!({"kind": "amend", "target": target, "at_ms": at_ms});
    for (change, words) in [
        (at(&closing, -1), "the code cannot end before it began: the clock was started at 0 ms"),
        (at(&start, 348_642), "the code cannot begin after it ended: with this the clock was started at 348642 ms"),
        (at(&opening, 348_642), "the code cannot begin after it ended: with this it was opened at 348642 ms"),
    ] {
        let (status, field, message) = field(&ann.change(&seen, "why", change.clone()).await);
        assert!(status == 400 && field == "change.at_ms" && message.contains(words), "{change}: {field}: {message}");
    }
    assert_eq!(ann.code(id).await["head"], seen["head"], "nothing was appended");

    // Nor by way of what is taken back: the start moved behind the old end, and then the later end struck out.
    let later = ann.changed(&seen, at(&closing, 400_000)).await;
    let later_end = later["records"].as_array().unwrap().last().unwrap()["record"]["id"].clone();
    let moved = ann.changed(&later, at(&start, 350_000)).await;
    let refused = ann.change(&moved, "why", json!({"kind": "void", "target": later_end})).await;
    assert_eq!((refused.status, field(&refused).1.as_str()), (400, "change.target"), "{}", refused.text);
    assert!(field(&refused).2.contains("started at 350000 ms"), "{}", refused.text);
    // To the very moment, and with everything else, it goes on.
    ann.changed(&moved, at(&start, 400_000)).await;
    server.stop().await;
}

#[tokio::test]
async fn a_monitors_times_count_where_they_are_chosen_and_the_wall_clock_is_aligned_as_a_whole() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let seen = ann.code(id).await;
    // The monitor's clock was 90 s ahead of the code's.
    let csv = "start,stop\n131.479,254.031\n262.000,288.020\n297.020,350.042\n353.373,438.641\n";
    let import = json!({"kind": "import_monitor", "name": "monitor.csv", "csv": csv, "offset_ms": -90_000});
    let imported = ann.changed(&seen, import).await;
    assert_eq!(imported["figures"], seen["figures"], "by itself an import changes nothing");
    let stretches = &imported["imports"][0]["stretches"];
    assert_eq!((&stretches[1]["start_ms"], &stretches[1]["counts"]), (&json!(172_000), &json!("taps")));
    let choose = |from_ms: i64, to_ms: i64, source: &str| json!({"kind": "choose_source", "import": imported["imports"][0]["id"], "from_ms": from_ms, "to_ms": to_ms, "source": source});
    let monitor = ann.changed(&imported, choose(0, 250_000, "monitor")).await;
    // By the monitor the pause for the look ends at 172 000, the one for the airway at 207 020: worked by hand from the file.
    let pauses: Vec<(i64, i64, &str)> = monitor["figures"]["pauses"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            (one["start_ms"].as_i64().unwrap(), one["end_ms"].as_i64().unwrap(), one["reason"].as_str().unwrap())
        })
        .collect();
    assert_eq!(
        pauses,
        [(164_031, 172_000, "rhythm_check"), (198_020, 207_020, "airway"), (260_042, 263_373, "rhythm_check")]
    );
    let counting: Vec<&str> = monitor["imports"][0]["stretches"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["counts"].as_str().unwrap())
        .collect();
    assert_eq!(counting, ["monitor", "monitor", "part", "taps"]);
    // Nothing of a choice is corrected by itself: neither the choice, nor a start or a stop or a void that it made.
    let news = |now: &Value, before: &Value| {
        let number = before["records"].as_array().unwrap().len();
        let all = now["records"].as_array().unwrap().iter().skip(number);
        all.map(|one| one["record"]["id"].clone()).collect::<Vec<Value>>()
    };
    let refused = async |now: &Value, parts: &[Value]| {
        assert!(parts.len() > 5, "{parts:?}");
        for part in parts {
            for change in
                [json!({"kind": "void", "target": part}), json!({"kind": "amend", "target": part, "at_ms": 1_000})]
            {
                let (status, field, message) = field(&ann.change(now, "why", change.clone()).await);
                assert_eq!((status, field.as_str()), (400, "change.target"), "{change}");
                assert!(message.contains("is part of a choice of source: choose there anew"), "{change}: {message}");
            }
        }
    };
    refused(&monitor, &news(&monitor, &imported)).await;
    // Another monitor's times over a part of it: there they count alone.
    let csv = "start,stop\n8,290\n";
    let both = ann.changed(&monitor, json!({"kind": "import_monitor", "name": "other.csv", "csv": csv})).await;
    let other = both["imports"][1]["id"].clone();
    let choose_other = |source: &str| json!({"kind": "choose_source", "import": other, "from_ms": 160_000, "to_ms": 190_000, "source": source});
    let both = ann.changed(&both, choose_other("monitor")).await;
    let counting = |of: &Value| -> Vec<Value> {
        let imports = of["imports"].as_array().unwrap().iter();
        imports.flat_map(|import| import["stretches"].as_array().unwrap()).map(|one| one["counts"].clone()).collect()
    };
    assert_eq!(counting(&both), ["part", "part", "part", "taps", "part"]);
    assert_eq!(both["figures"]["pauses"][0]["start_ms"], 198_020, "the other one compressed through the look");
    // The taps in place of one are in place of both; what took the choices back is part of them, too.
    let back = ann.changed(&both, choose(0, 300_000, "taps")).await;
    assert_eq!(back["figures"], seen["figures"]);
    assert_eq!(counting(&back), ["taps"; 5]);
    refused(&back, &news(&back, &both)).await;
    let again = ann.change(&back, "why", choose(0, 300_000, "taps")).await;
    assert_eq!((again.status, field(&again).1.as_str()), (400, "change.source"));

    let aligned = ann.changed(&back, json!({"kind": "align", "offset_ms": -90_000})).await;
    assert_eq!((&aligned["figures"], &aligned["wall_offset_ms"]), (&seen["figures"], &json!(-90_000)));
    assert_eq!(seen["zero_at"], "2026-03-01T12:00:00.000Z");
    assert_eq!(
        (&aligned["zero_at"], &aligned["line"]["opened_at"]),
        (&json!("2026-03-01T11:58:30.000Z"), &json!("2026-03-01T11:58:30.000Z"))
    );
    assert_eq!(ann.get("/api/review/codes?from=2026-03-01T11:59:00Z").await["total"], 0);
    assert_eq!(
        ann.get("/api/review/codes?from=2026-03-01&to=2026-03-02&training=true&protocol=aha-adult&outcome=died").await
            ["total"],
        1
    );
    let bad = ann.ask("GET", "/api/review/codes?from=soon", &Value::Null).await;
    assert_eq!(field(&bad).1, "from");
    server.stop().await;
}

/// What was tapped beneath a choice is still corrected, struck out and added to; the choice follows, for the reason and under the
/// name that it was made for.
#[tokio::test]
async fn taps_beneath_a_choice_are_corrected_and_the_choice_follows() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    for name in ["Ann", "Ben"] {
        add_account(folder.path(), name, "reviewer").await;
    }
    let server = serve(folder.path()).await;
    let (ann, ben) = (Reviewer::sign_in(&server, "Ann").await, Reviewer::sign_in(&server, "Ben").await);
    let csv = "start,stop\n41.479,164.031\n172.000,198.020\n207.020,260.042\n";
    let seen =
        ann.changed(&ann.code(id).await, json!({"kind": "import_monitor", "name": "monitor.csv", "csv": csv})).await;
    let import = seen["imports"][0]["id"].clone();
    let choose = |source: &str| json!({"kind": "choose_source", "import": import, "from_ms": 0, "to_ms": 250_000, "source": source});
    let chosen = ann.changed(&seen, choose("monitor")).await;
    let deeds = |code: &Value| -> Vec<Value> {
        let all = code["records"].as_array().unwrap().iter();
        let of_monitor = |deed: &Value| deed["what"] == "source_chosen" && !deed["import"].is_null();
        let standing = all.filter(|one| one["counts"] == true && of_monitor(&one["record"]["event"]["deed"]));
        standing.map(|one| one["record"].clone()).collect()
    };
    let first = deeds(&chosen)[0].clone();
    // The pause for the airway by the monitor, worked by hand from the file: only its reason is the team's.
    let pause = |code: &Value| {
        let pauses = code["figures"]["pauses"].as_array().unwrap().clone();
        let found = pauses.into_iter().find(|one| one["start_ms"] == 198_020).unwrap();
        assert_eq!(found["end_ms"], 207_020, "the monitor's times stand");
        found["reason"].clone()
    };
    let of = |code: &Value, what: &str, kind: &str| -> Vec<Value> {
        let all = code["records"].as_array().unwrap().iter();
        all.filter(|one| one["by_choice"] == what && one["record"]["event"]["kind"] == kind).cloned().collect()
    };
    let tapped = of(&chosen, "set_aside", "compressions_stopped");
    let tap = tapped.iter().find(|one| one["record"]["event"]["reason"] == "airway").unwrap()["record"].clone();
    assert_eq!((tapped.len(), pause(&chosen)), (3, json!("airway")));

    let other =
        json!({"kind": "amend", "target": tap["id"], "event": {"kind": "compressions_stopped", "reason": "access"}});
    let amended = ben.changed(&chosen, other.clone()).await;
    assert_eq!(pause(&amended), "access");
    let renewed = &deeds(&amended)[0];
    assert_eq!((&renewed["event"]["deed"]["renews"], &renewed["by"]["name"]), (&first["id"], &json!("Ben")));
    assert_eq!(renewed["event"]["deed"]["reason"], first["event"]["deed"]["reason"]);
    let shown = of(&amended, "set_aside", "compressions_stopped");
    let shown = shown.iter().find(|one| one["record"]["id"] == tap["id"]).unwrap();
    assert_eq!((&shown["now_event"]["reason"], &shown["counts"]), (&json!("access"), &json!(false)));
    assert_eq!(
        of(&amended, "brought", "compressions_started").len(),
        of(&chosen, "brought", "compressions_started").len()
    );
    assert_eq!(field(&ben.change(&amended, "why", other).await).0, 400, "it says so already");

    let struck = ben.changed(&amended, json!({"kind": "void", "target": tap["id"]})).await;
    assert_eq!(pause(&struck), "other");
    let again = ben.change(&struck, "why", json!({"kind": "void", "target": tap["id"]})).await;
    assert!(field(&again).2.contains("struck out already"), "{}", again.text);
    let stop =
        json!({"kind": "add", "at_ms": 199_000, "event": {"kind": "compressions_stopped", "reason": "handover"}});
    let added = ben.changed(&struck, stop).await;
    assert_eq!(pause(&added), "handover");
    assert_eq!(deeds(&added)[0]["event"]["deed"]["renews"], first["id"], "the first choice is still named");
    let new = of(&added, "set_aside", "compressions_stopped").pop().unwrap();
    assert_eq!(new["record"]["at_ms"], 199_000);
    // What changes nothing beneath leaves the choice alone.
    let note = json!({"kind": "add", "at_ms": 100_000, "event": {"kind": "note", "text": "the monitor has it"}});
    let noted = ben.changed(&added, note).await;
    assert_eq!(deeds(&noted), deeds(&added));
    let bundle = ann.get(&format!("/api/review/codes/{id}/export?format=fhir")).await;
    let entries = bundle["entry"].as_array().unwrap();
    let name_of = |reference: &Value| {
        let found = entries.iter().find(|one| one["fullUrl"] == reference["reference"]).unwrap();
        found["resource"].to_string()
    };
    let anew = entries
        .iter()
        .map(|one| &one["resource"])
        .find(|one| one["activity"]["text"] == "Made a choice of a monitor's compressions anew");
    let agent = &anew.unwrap()["agent"][0];
    assert!(name_of(&agent["who"]).contains("Ben") && name_of(&agent["onBehalfOf"]).contains("Ann"), "{agent}");
    // With the taps, all of it counts as it was corrected; who chose them, and why, is on the record.
    let back = ann.changed(&noted, choose("taps")).await;
    let last = back["records"].as_array().unwrap().last().unwrap();
    assert_eq!((&last["record"]["event"]["deed"]["what"], &last["counts"]), (&json!("source_chosen"), &json!(true)));
    assert_eq!(last["record"]["event"]["deed"].get("import"), None);
    assert_eq!((deeds(&back).len(), of(&back, "set_aside", "compressions_stopped").len()), (0, 0));
    let pauses = back["figures"]["pauses"].as_array().unwrap();
    assert!(pauses.iter().any(|one| one["start_ms"] == 199_000 && one["reason"] == "handover"), "{pauses:?}");
    server.stop().await;
}

/// A tablet of the team still corrects a code that is closed, and not what a reviewer's choice is made of.
#[tokio::test]
async fn once_a_reviewer_chose_whose_compressions_count_devices_leave_them_alone() {
    let folder = tempfile::tempdir().unwrap();
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let mut leader = server.device("Bay 1", Some("Bay 1"), Some("leader")).await;
    let code = leader.open_code(&json!({})).await;
    leader.record(&code, &json!({"kind": "clock_started", "recognised_ago_ms": 60_000})).await;
    let note = leader.record(&code, &json!({"kind": "note", "text": "tapped in the wrong bay"})).await;
    let mut tap = async |at_ms: i64, event: Value| {
        let id = json!(Uuid::now_v7());
        leader.send(&json!({"type": "record", "id": id, "code": code, "at_ms": at_ms, "event": event})).await;
        leader.until("recorded", |told| told["id"] == id).await;
        id
    };
    tap(5_000, json!({"kind": "compressions_started"})).await;
    let stop = tap(30_000, json!({"kind": "compressions_stopped", "reason": "airway"})).await;
    tap(36_000, json!({"kind": "compressions_started"})).await;
    leader.record(&code, &json!({"kind": "code_closed", "outcome": "died"})).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let seen = ann.code(code.parse().unwrap()).await;
    let csv = "start,stop\n4,29\n35,50\n";
    let read = ann.changed(&seen, json!({"kind": "import_monitor", "name": "m.csv", "csv": csv})).await;
    let import = read["imports"][0]["id"].clone();
    let choice = json!({"kind": "choose_source", "import": import, "from_ms": 0, "to_ms": 40_000, "source": "monitor"});
    let chosen = ann.changed(&read, choice).await;
    let void = |target: &Value| {
        json!({"type": "record", "id": Uuid::now_v7(), "code": code,
            "event": {"kind": "voided", "target": target, "reason": "slip"}})
    };
    let refused = leader.refused(&void(&stop)).await;
    assert_eq!(refused["reason"], "closed");
    assert!(refused["message"].as_str().unwrap().contains("whose compressions count"), "{refused}");
    leader.record(&code, &json!({"kind": "voided", "target": note["id"], "reason": "another bay"})).await;
    let now = ann.code(code.parse().unwrap()).await;
    assert_eq!(now["figures"]["pauses"], chosen["figures"]["pauses"]);

    // A code that was closed by mistake runs again, whatever was chosen of it. The choice is seen to before anybody signs.
    let closing = now["records"].as_array().unwrap().iter().find(|one| one["record"]["event"]["kind"] == "code_closed");
    let closing = closing.unwrap()["record"]["id"].clone();
    leader.record(&code, &json!({"kind": "voided", "target": closing, "reason": "closed by mistake"})).await;
    let id = json!(Uuid::now_v7());
    let event = json!({"kind": "compressions_stopped", "reason": "breaths"});
    leader.send(&json!({"type": "record", "id": id, "code": code, "at_ms": 10_000, "event": event})).await;
    leader.until("recorded", |told| told["id"] == id).await;
    let another = leader.record(&code, &json!({"kind": "note", "text": "the wrong bay again"})).await;
    leader.record(&code, &json!({"kind": "code_closed", "outcome": "died"})).await;
    // What has nothing to do with the choice is still corrected.
    leader.record(&code, &json!({"kind": "voided", "target": another["id"], "reason": "another bay"})).await;
    let sign = async |seen: &Value| {
        ann.ask("POST", &format!("/api/review/codes/{code}/signature"), &json!({"head": seen["head"]})).await
    };
    let stale = ann.code(code.parse().unwrap()).await;
    assert_eq!(reason(&sign(&stale).await), (409, "choice_not_current".to_owned()));
    let choice = json!({"kind": "choose_source", "import": import, "from_ms": 0, "to_ms": 40_000, "source": "monitor"});
    let current = ann.changed(&stale, choice).await;
    let pauses = current["figures"]["pauses"].as_array().unwrap();
    assert_eq!((pauses[0]["start_ms"].as_i64(), pauses[0]["end_ms"].as_i64()), (Some(29_000), Some(35_000)));
    assert_eq!(sign(&current).await.status, 201);
    server.stop().await;
}

/// Any sequence of changes: each is taken or refused by name, never a fault; the chain holds after all of them, what was
/// recorded reads as it did, and figures made from the export are those that were shown.
#[tokio::test]
async fn any_sequence_of_changes_keeps_the_chain_and_the_original() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "12").await;
    let reader = |folder: &std::path::Path| {
        let folder = folder.to_owned();
        async move { Store::read_only(&folder).await.unwrap().reader().code(id).await.unwrap().unwrap() }
    };
    let before = reader(folder.path()).await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let (mut seen, mut taken) = (ann.code(id).await, 0);
    // A generator by Marsaglia's xorshift (2003), seeded: the same changes each time.
    let mut state: u64 = 0x9e37_79b9_7f4a_7c15;
    let mut draw = |below: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        usize::try_from(state % below as u64).unwrap()
    };
    let deadline = Instant::now() + PATIENCE;
    for _ in 0..80 {
        let records = seen["records"].as_array().unwrap();
        let target = records[draw(records.len())]["record"]["id"].clone();
        let at_ms = draw(400_000);
        let import =
            seen["imports"].as_array().unwrap().first().map_or(json!(Uuid::nil()), |import| import["id"].clone());
        let change = match draw(9) {
            0 | 1 => json!({"kind": "void", "target": target}),
            2 => json!({"kind": "amend", "target": target, "at_ms": at_ms}),
            3 => json!({"kind": "amend", "target": target, "event": {"kind": "rhythm_checked", "rhythm": "vf"}}),
            4 => json!({"kind": "add", "at_ms": at_ms, "event": {"kind": "compressions_stopped", "reason": "airway"}}),
            5 => json!({"kind": "align", "offset_ms": at_ms}),
            6 => {
                json!({"kind": "import_monitor", "name": "m", "csv": format!("start,stop\n{},{}\n", at_ms / 2_000, at_ms / 1_000 + 1)})
            }
            7 => {
                json!({"kind": "choose_source", "import": import, "from_ms": at_ms, "to_ms": at_ms + 60_000, "source": if draw(3) == 0 { "taps" } else { "monitor" }})
            }
            _ => json!({"kind": "new_version"}),
        };
        let answer = ann.change(&seen, "drawn", change.clone()).await;
        assert!(matches!(answer.status, 201 | 400 | 409), "{change}: {} {}", answer.status, answer.text);
        if answer.status == 201 {
            (seen, taken) = (answer.json(), taken + 1);
        }
        if draw(20) == 0 {
            let head = json!({"head": seen["head"]});
            let answer = ann.ask("POST", &format!("/api/review/codes/{id}/signature"), &head).await;
            if answer.status == 201 {
                seen = answer.json();
            }
        }
        assert!(Instant::now() < deadline, "this takes far too long");
    }
    assert!(taken >= 25, "only {taken} changes were taken");
    server.stop().await;
    let after = reader(folder.path()).await;
    let head = after.verify().unwrap();
    assert_eq!(coxswain::ledger::chain::hex(&head), seen["head"].as_str().unwrap());
    assert_eq!(after.records[..before.records.len()], before.records[..]);
    let records = coxswain::export::records(&after).unwrap();
    let protocol = coxswain::shelf::stored(&after.protocols[0].2).unwrap().protocol;
    let figures = coxswain_engine::measure::measure(&records, &protocol);
    assert_eq!(serde_json::to_value(&figures).unwrap(), seen["figures"]);
}

//! The command line: exit codes, one plain sentence that names the line or the field, files and standard input.

use std::process::Output;

use coxswain_tests::binary::run;
use serde_json::{Value, json};

/// A short timeline of our own: one check, one shock, one dose.
fn timeline() -> Vec<Value> {
    let events = [
        (
            0,
            json!({"kind": "code_opened", "protocol": {"id": "aha-adult", "version": 1}, "patient": {"age_group": "adult"}, "training": true}),
        ),
        (0, json!({"kind": "clock_started"})),
        (8_000, json!({"kind": "compressions_started"})),
        (30_000, json!({"kind": "pads_attached"})),
        (35_000, json!({"kind": "compressions_stopped", "reason": "rhythm_check"})),
        (39_000, json!({"kind": "rhythm_checked", "rhythm": "vf"})),
        (41_000, json!({"kind": "compressions_started"})),
        (43_000, json!({"kind": "charging_started", "energy_j": 200})),
        (50_000, json!({"kind": "all_clear_called"})),
        (51_000, json!({"kind": "compressions_stopped", "reason": "shock"})),
        (53_000, json!({"kind": "shock_delivered", "energy_j": 200})),
        (56_000, json!({"kind": "compressions_started"})),
        (90_000, json!({"kind": "access_gained", "route": "iv"})),
    ];
    events
        .into_iter()
        .enumerate()
        .map(|(place, (at_ms, event))| {
            json!({
                "seq": place + 1,
                "id": format!("01980000-0000-7000-8000-{:012}", place + 1),
                "code": "01980000-0000-7000-8000-00000000c0de",
                "at_ms": at_ms, "received_ms": at_ms, "recorded_at": "2026-11-25T09:14:28.123Z",
                "by": {"device": "01980000-0000-7000-8000-00000000d0d0", "name": "Bay 1", "roles": ["recorder"]},
                "source": "live", "event": event,
            })
        })
        .collect()
}

fn lines(records: &[Value]) -> String {
    records.iter().map(|record| format!("{record}\n")).collect()
}

fn errors(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn wrong_usage_ends_with_two_and_help_with_zero() {
    assert_eq!(run(&["--help"], b"").unwrap().status.code(), Some(0));
    for args in [
        &[][..],
        &["conjure"],
        &["replay", "-"],
        &["measure"],
        &["measure", "/no/such/file.jsonl"],
        &["replay", "-", "--at", "soon", "--role", "leader"],
        &["replay", "-", "--at", "1000", "--role", "juggler"],
        &["export", "not-an-id", "--format", "jsonl"],
        &["export", "--format", "csv"],
        &["export", "--all", "--format", "xml"],
        &["export", "--all", "--since", "soon", "--format", "csv"],
        &["export", "01980000-0000-7000-8000-00000000c0de", "--since", "2026-11-01", "--format", "csv"],
        &["export", "01980000-0000-7000-8000-00000000c0de", "--all", "--format", "csv"],
    ] {
        let output = run(args, b"").unwrap();
        assert_eq!(output.status.code(), Some(2), "{args:?}: {output:?}");
        assert_eq!(errors(&output).trim().lines().count(), 1, "{args:?} says why in one line: {}", errors(&output));
        assert!(output.stdout.is_empty(), "{args:?} prints nothing else");
    }
}

#[test]
fn a_timeline_is_read_from_a_file_and_from_standard_input() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("code.jsonl");
    let text = lines(&timeline());
    std::fs::write(&file, &text).unwrap();
    let from_file = run(&["measure", file.to_str().unwrap(), "--json"], b"").unwrap();
    let from_input = run(&["measure", "-", "--json"], text.as_bytes()).unwrap();
    assert_eq!(from_file.status.code(), Some(0), "{}", errors(&from_file));
    assert_eq!(from_file.stdout, from_input.stdout);
    let figures: Value = serde_json::from_slice(&from_file.stdout).unwrap();
    assert_eq!(figures["shocks"][0]["peri_shock_ms"], 5_000);
    assert_eq!(figures["longest_pause_ms"], 6_000);
    assert_eq!(figures["first_shock_ms"], 53_000);
    // The same for a person to read.
    let plain = run(&["measure", file.to_str().unwrap()], b"").unwrap();
    assert!(plain.status.success() && plain.stdout.len() > 100);
}

#[test]
fn replay_shows_what_a_role_saw() {
    let text = lines(&timeline());
    let output = run(&["replay", "-", "--at", "51500", "--role", "defibrillator", "--json"], text.as_bytes()).unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", errors(&output));
    let shown: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!((&shown["at_ms"], &shown["hands"]["now"]), (&json!(51_500), &json!("clear")));
    let actions: Vec<_> = shown["prompts"].as_array().unwrap().iter().map(|prompt| &prompt["action"]).collect();
    assert!(actions.contains(&&json!("give_shock")), "{actions:?}");
}

#[test]
fn replay_answers_many_moments_and_roles_in_turn_as_it_answers_each() {
    let text = lines(&timeline());
    let asked = |args: &[&str]| {
        let output = run(&[&["replay", "-"], args].concat(), text.as_bytes()).unwrap();
        assert_eq!(output.status.code(), Some(0), "{args:?}: {}", errors(&output));
        String::from_utf8(output.stdout).unwrap()
    };
    let (moments, roles) = (["51500", "1000", "120000"], ["defibrillator", "drugs"]);
    for json in [&["--json"][..], &[]] {
        let mut all: Vec<&str> = json.to_vec();
        all.extend(moments.iter().flat_map(|moment| ["--at", moment]));
        all.extend(roles.iter().flat_map(|role| ["--role", role]));
        let mut each = String::new();
        for moment in moments {
            for role in roles {
                each += &asked(&[json, &["--at", moment, "--role", role]].concat());
            }
        }
        assert_eq!(asked(&all), each);
    }
}

#[test]
fn a_broken_line_is_named_with_its_number_and_field() {
    type Breaks = fn(&mut Value);
    let cases: [(&str, Breaks); 5] = [
        ("at_ms", |record| {
            record.as_object_mut().unwrap().remove("at_ms");
        }),
        ("energy_j", |record| record["event"] = json!({"kind": "shock_delivered", "energy_j": "much"})),
        ("kind", |record| record["event"] = json!({"kind": "moonwalk"})),
        ("rhythm", |record| record["event"] = json!({"kind": "rhythm_checked", "rhythm": "jazz"})),
        ("source", |record| record["source"] = json!("hearsay")),
    ];
    for (field, breaks) in cases {
        let mut records = timeline();
        breaks(&mut records[6]);
        for args in [&["measure", "-"][..], &["replay", "-", "--at", "1000", "--role", "leader"]] {
            let output = run(args, lines(&records).as_bytes()).unwrap();
            let said = errors(&output);
            assert_eq!(output.status.code(), Some(2), "{field}: {said}");
            assert!(said.contains("line 7") && said.contains(field), "{field}: {said}");
            assert_eq!(said.trim().lines().count(), 1, "one sentence: {said}");
        }
    }
    let output = run(&["measure", "-"], b"{\"seq\":1\n").unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(errors(&output).contains("line 1"), "{}", errors(&output));
}

#[test]
fn protocols_and_devices_are_listed_from_the_shell() {
    let data = tempfile::tempdir().unwrap();
    let path = data.path().to_str().unwrap();
    let listed = run(&["protocol", "list"], b"").unwrap();
    let said = String::from_utf8_lossy(&listed.stdout).into_owned();
    assert!(listed.status.success() && said.contains("aha-adult") && said.contains("erc-adult"), "{said}");

    let added = run(&["device", "add", "--name", "Bay 3 drugs", "--home-role", "drugs", "--data", path], b"").unwrap();
    assert_eq!(added.status.code(), Some(0), "{}", errors(&added));
    let token = String::from_utf8_lossy(&added.stdout).into_owned();
    let listed = run(&["device", "list", "--data", path], b"").unwrap();
    let said = String::from_utf8_lossy(&listed.stdout).into_owned();
    assert!(said.contains("Bay 3 drugs"), "{said}");
    for word in token.split_whitespace().filter(|word| word.len() > 24) {
        assert!(!said.contains(word) || word.parse::<uuid::Uuid>().is_ok(), "a list never shows a token");
    }
    let removed = run(&["device", "remove", "--name", "Bay 3 drugs", "--data", path], b"").unwrap();
    assert_eq!(removed.status.code(), Some(0), "{}", errors(&removed));
    let listed = run(&["device", "list", "--data", path], b"").unwrap();
    assert!(!String::from_utf8_lossy(&listed.stdout).contains("Bay 3 drugs"));
    let wrong = run(&["device", "add", "--name", "X", "--home-role", "juggler", "--data", path], b"").unwrap();
    assert_eq!(wrong.status.code(), Some(2));
}

//! The program as the shell sees it: what it prints, what it refuses, and its exit codes.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use crate::support::serve;
use coxswain_engine::record::Record;
use serde_json::{Value, json};

fn coxswain(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_coxswain")).args(arguments).output().unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

fn refused(output: &Output, code: i32, words: &str) {
    let stderr = text(&output.stderr);
    assert_eq!(output.status.code(), Some(code), "{stderr}");
    assert!(stderr.contains(words) && stderr.lines().count() == 1, "{stderr}");
}

/// A short code through a real server; returns its id.
async fn short_code(folder: &Path) -> String {
    let server = serve(folder).await;
    let mut leader = server.device("=Bay, 1", None, Some("leader")).await;
    let code = leader.open_code(&json!({"location": "Bay 1"})).await;
    for event in [
        json!({"kind": "clock_started", "recognised_ago_ms": 10_000}),
        json!({"kind": "compressions_started"}),
        json!({"kind": "rhythm_checked", "rhythm": "asystole"}),
        json!({"kind": "code_closed", "outcome": "died"}),
    ] {
        leader.record(&code, &event).await;
    }
    server.stop().await;
    code
}

#[tokio::test]
async fn a_code_is_exported_measured_replayed_and_verified() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().to_str().unwrap();
    let code = short_code(folder.path()).await;

    let file = folder.path().join("code.jsonl");
    let file = file.to_str().unwrap();
    let exported = coxswain(&["export", &code, "--format", "jsonl", "--data", data, "-o", file]);
    assert!(
        exported.status.success() && text(&exported.stderr).contains("6 records, head "),
        "{}",
        text(&exported.stderr)
    );
    let lines = std::fs::read_to_string(file).unwrap();
    for (index, line) in lines.lines().enumerate() {
        let record = Record::from_json(line).unwrap();
        assert_eq!(record.seq, index as u64 + 1);
        assert_eq!(record.canonical_json().unwrap(), line, "what is stored is canonical");
    }
    let table = coxswain(&["export", &code, "--format", "csv", "--data", data]);
    let table = text(&table.stdout);
    assert_eq!(table.lines().count(), 7);
    assert!(table.contains("\"'=Bay, 1\""), "a name is no formula: {table}");

    let measured = coxswain(&["measure", file, "--json"]);
    let figures: Value = serde_json::from_slice(&measured.stdout).unwrap();
    assert_eq!((&figures["first_rhythm"], &figures["rosc_count"]), (&json!("asystole"), &json!(0)));
    assert!(figures["first_compression_ms"].as_i64().unwrap() >= 10_000);
    assert!(coxswain(&["measure", file]).status.success());

    let shown = coxswain(&["replay", file, "--at", "0", "--role", "compressor", "--hindsight", "--json"]);
    let shown: Value = serde_json::from_slice(&shown.stdout).unwrap();
    assert_eq!((&shown["at_ms"], &shown["hands"]["now"]), (&json!(0), &json!("compress")));
    // What only became known ten seconds later was not shown at 0.
    let known = coxswain(&["replay", file, "--at", "0", "--role", "compressor", "--json"]);
    let known: Value = serde_json::from_slice(&known.stdout).unwrap();
    assert_eq!((&known["hands"]["now"], &known["prompts"]), (&json!("none"), &json!([])));

    let verified = coxswain(&["verify", "--data", data]);
    assert!(verified.status.success() && text(&verified.stdout).contains("every chain holds"));
    let store = coxswain::ledger::Store::beside(folder.path()).await.unwrap();
    let mut file = store.writing().await.unwrap();
    sqlx::query("DROP TRIGGER record_is_never_edited").execute(&mut file).await.unwrap();
    sqlx::query("UPDATE record SET text = replace(text, 'asystole', 'vf') WHERE seq = 5")
        .execute(&mut file)
        .await
        .unwrap();
    refused(&coxswain(&["verify", "--data", data]), 1, "record 5");
}

#[test]
fn unreadable_input_is_exit_code_2_with_line_and_field() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("t.jsonl");
    let path = path.to_str().unwrap();
    let line = |seq: u64, event: &str| {
        format!(
            r#"{{"seq":{seq},"id":"01980000-0000-7000-8000-00000000000{seq}","code":"01980000-0000-7000-8000-0000000000aa","at_ms":0,"recorded_at":"2026-11-25T09:14:28.123Z","by":{{"device":"01980000-0000-7000-8000-0000000000bb","name":"Bay 1","roles":[]}},"source":"live","event":{event}}}"#
        )
    };
    let opened = |id: &str| {
        line(
            1,
            &format!(
                r#"{{"kind":"code_opened","protocol":{{"id":"{id}","version":1}},"patient":{{}},"training":true}}"#
            ),
        )
    };
    for (content, words) in [
        (format!("{}\n{}\n", opened("aha-adult"), line(2, r#"{"kind":"shock_delivered"}"#)), "line 2: event"),
        (format!("{}\nnot json\n", opened("aha-adult")), "line 2: record"),
        (format!("{}\n", opened("nobodys")), "`nobodys`"),
        (format!("{}\n", line(1, r#"{"kind":"rosc"}"#)), "code_opened"),
        (String::new(), "no records"),
    ] {
        std::fs::write(path, content).unwrap();
        refused(&coxswain(&["measure", path]), 2, words);
        refused(&coxswain(&["replay", path, "--at", "0", "--role", "leader"]), 2, words);
    }
    refused(&coxswain(&["measure", "/nowhere/at/all"]), 2, "cannot be read");
    assert_eq!(coxswain(&["replay", path, "--at", "0", "--role", "cook"]).status.code(), Some(2));
    assert_eq!(coxswain(&["dance"]).status.code(), Some(2));
    refused(&coxswain(&["verify", "--data", "/nowhere/at/all"]), 2, "no coxswain data");
    refused(&coxswain(&["serve", "--tls", "on"]), 2, "give local, off, or a certificate and its key");
    let data = folder.path().join("data");
    let data = data.to_str().unwrap();
    refused(&coxswain(&["serve", "--data", data, "--tls", "/nowhere.pem,/key.pem"]), 2, "--tls: /nowhere.pem: ");
}

/// A command that reads a line from stdin.
fn told(arguments: &[&str], line: &str) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_coxswain"));
    command.args(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    // One that refuses its arguments reads nothing.
    let _ = child.stdin.take().unwrap().write_all(line.as_bytes());
    child.wait_with_output().unwrap()
}

#[test]
fn an_account_is_added_with_a_password_from_stdin_listed_and_removed() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().to_str().unwrap();
    let add = |name: &str, role: &str, line: &str| {
        told(&["account", "add", "--name", name, "--role", role, "--data", data], line)
    };
    refused(&add("Ann", "reviewer", "short\n"), 2, "at least 12 characters");
    refused(&add("Ann", "king", "a long enough password\n"), 2, "the roles are reviewer, administrator");
    refused(&add(" ", "reviewer", "a long enough password\n"), 2, "--name: must have");
    assert!(add("Ann", "reviewer", "a long enough password\n").status.success());
    assert!(add("Ben", "administrator", "another long password").status.success());
    refused(&add("ANN", "reviewer", "a long enough password\n"), 1, "already");
    // A capital alpha, which nobody tells from an A (UTS 39, confusables.txt).
    let taken = "looks like that of the account Ann: give one that nobody takes for it";
    refused(&add("\u{391}nn", "reviewer", "a long enough password\n"), 1, taken);
    refused(&add("Ann\u{200b}", "reviewer", "a long enough password\n"), 2, "--name: has U+200B, which does not show");
    refused(&add(" Zoe", "reviewer", "a long enough password\n"), 2, "--name: must have one space between words");
    let list = || coxswain(&["account", "list", "--data", data]).stdout;
    let listed: Vec<String> = text(&list()).lines().map(|line| line.split_once('\t').unwrap().1.to_owned()).collect();
    assert_eq!(listed, ["Ann\treviewer", "Ben\tadministrator"]);
    refused(&coxswain(&["account", "remove", "--name", "Nobody", "--data", data]), 1, "no account of the name Nobody");
    assert!(coxswain(&["account", "remove", "--name", "ann", "--data", data]).status.success());
    assert_eq!(text(&list()).lines().count(), 1);
    assert!(add("Ann", "reviewer", "a long enough password\n").status.success(), "the name is free again");
}

/// At a terminal the password is asked for twice and does not show; the terminal is as it was afterwards.
#[test]
fn a_password_is_typed_twice_at_a_terminal_and_does_not_show() {
    use rustix::fs::{Mode, OFlags};
    use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
    use rustix::termios::{LocalModes, tcgetattr};
    use std::io::Read;
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().to_str().unwrap();
    let first = "a long enough password";
    for (second, code) in [("another long password", 2), (first, 0)] {
        let controller = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
        grantpt(&controller).unwrap();
        unlockpt(&controller).unwrap();
        let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC;
        let terminal = rustix::fs::open(ptsname(&controller, Vec::new()).unwrap(), flags, Mode::empty()).unwrap();
        let mut keys = std::fs::File::from(controller);
        keys.write_all(b"this shows\n").unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_coxswain"));
        command.args(["account", "add", "--name", "Ann", "--data", data]).stdin(terminal.try_clone().unwrap());
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut told = child.stderr.take().unwrap();
        let mut until = |words: &str| {
            let mut said = Vec::new();
            while !said.ends_with(words.as_bytes()) {
                let mut byte = [0];
                assert_eq!(told.read(&mut byte).unwrap(), 1, "{}", String::from_utf8_lossy(&said));
                said.push(byte[0]);
            }
        };
        until("Password for Ann: ");
        keys.write_all(format!("{first}\n").as_bytes()).unwrap();
        until("The same again: ");
        keys.write_all(format!("{second}\n").as_bytes()).unwrap();
        let mut rest = String::new();
        told.read_to_string(&mut rest).unwrap();
        assert_eq!(child.wait().unwrap().code(), Some(code), "{rest}");
        assert_eq!(rest.contains("the two passwords are not the same"), code == 2, "{rest}");
        assert!(tcgetattr(&terminal).unwrap().local_modes.contains(LocalModes::ECHO));
        keys.write_all(b"and this\n").unwrap();
        let mut screen = String::new();
        while !screen.ends_with("and this\r\n") {
            let mut byte = [0];
            assert_eq!(keys.read(&mut byte).unwrap(), 1);
            screen.push(char::from(byte[0]));
        }
        assert_eq!(screen.replace("\r\n", "|").trim_matches('|'), "this shows|and this");
    }
    let list = coxswain(&["account", "list", "--data", data]);
    assert_eq!(text(&list.stdout).lines().count(), 1, "only the one that was typed the same twice");
}

#[test]
fn a_timeline_is_read_from_stdin() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_coxswain"))
        .args(["measure", "-", "--json"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let opened = r#"{"seq":1,"id":"01980000-0000-7000-8000-000000000001","code":"01980000-0000-7000-8000-0000000000aa","at_ms":0,"recorded_at":"2026-11-25T09:14:28.123Z","by":{"device":"01980000-0000-7000-8000-0000000000bb","name":"Bay 1","roles":[]},"source":"live","event":{"kind":"code_opened","protocol":{"id":"aha-adult","version":1},"patient":{},"training":true}}"#;
    child.stdin.take().unwrap().write_all(opened.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    let figures: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(figures["arrest_ms"], 0);
}

#[tokio::test]
async fn a_device_paired_from_the_shell_is_known_to_the_running_server() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().to_str().unwrap();
    let server = serve(folder.path()).await;
    let added = coxswain(&["device", "add", "--name", "Bay 9", "--home-role", "drugs", "--data", data]);
    let token = text(&added.stdout).trim().to_owned();
    let me = coxswain::team::http::get(server.address, "/api/me", Some(&token)).await.unwrap();
    assert_eq!(me.json()["device"]["home_role"], "drugs", "{}", me.text);
    assert!(text(&coxswain(&["device", "list", "--data", data]).stdout).contains("Bay 9\tdrugs"));
    let mut tablet = server.connect(me.json()["device"]["id"].as_str().unwrap().parse().unwrap(), &token).await;
    assert!(coxswain(&["device", "remove", "--name", "Bay 9", "--data", data]).status.success());
    // A lost tablet must not go on in a code it was connected to.
    tablet.until_closed().await;
    let me = coxswain::team::http::get(server.address, "/api/me", Some(&token)).await.unwrap();
    assert_eq!(me.status, 401);
    refused(&coxswain(&["device", "remove", "--name", "Bay 9", "--data", data]), 1, "Bay 9");
    refused(&coxswain(&["serve", "--data", data, "--listen", "127.0.0.1:0"]), 1, "another coxswain serves");
    server.stop().await;
}

#[test]
fn protocols_are_listed_shown_and_checked() {
    let list = coxswain(&["protocol", "list"]);
    assert!(text(&list.stdout).contains("aha-adult\tversion"));
    let shown = coxswain(&["protocol", "show", "aha-adult", "--text"]);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("ours.toml");
    std::fs::write(&file, &shown.stdout).unwrap();
    assert!(coxswain(&["protocol", "check", file.to_str().unwrap()]).status.success());
    let page = coxswain(&["protocol", "show", "aha-adult"]);
    let length = text(&page.stdout).lines().find(|line| line.starts_with("Check ")).unwrap().to_owned();
    assert!(length.contains("every 2 min") && length.contains("[N2,A1]"), "{length}");
    // Aligned, no wider than a portrait sheet in small print, and not growing unseen.
    // Some 107 lines of 120 characters in 6.5 pt fill a sheet of A4.
    for id in ["aha-adult", "erc-adult", "aha-child", "erc-child"] {
        for (options, most) in [(&[][..], 100), (&["--long"][..], 155)] {
            let page = coxswain(&[&["protocol", "show", id], options].concat());
            let lines: Vec<&str> = text(&page.stdout).lines().collect();
            assert!(lines.len() <= most, "{id} {options:?}: {} lines", lines.len());
            let widest = lines.iter().map(|line| line.chars().count()).max().unwrap();
            assert!(widest <= 120, "{id} {options:?}: {widest} columns");
            assert!(lines.iter().any(|line| line.starts_with("SOURCES")), "{id}");
            let (long, has) = (!options.is_empty(), |start: &str| lines.iter().any(|line| line.starts_with(start)));
            assert!(has("KNOWN CHANGES") == long && has("With --long also: ") != long, "{id} {options:?}");
        }
    }
    refused(&coxswain(&["protocol", "show", "aha-adult", "--long", "--text"]), 2, "cannot be used with");
    std::fs::write(&file, text(&shown.stdout).replace("age_group = \"adult\"", "age_group = \"elder\"")).unwrap();
    refused(&coxswain(&["protocol", "check", file.to_str().unwrap()]), 2, "line");
}

#[test]
fn an_unsafe_protocol_file_is_refused_by_field_and_line_unless_it_says_why() {
    let shipped = coxswain(&["protocol", "show", "aha-child", "--text"]);
    let shipped = text(&shipped.stdout);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("ours.toml");
    let check = |changed: &str| {
        std::fs::write(&file, changed).unwrap();
        coxswain(&["protocol", "check", file.to_str().unwrap()])
    };
    assert!(check(shipped).status.success());
    let with = |old: &str, new: &str| {
        assert!(shipped.contains(old), "{old}");
        shipped.replacen(old, new, 1)
    };
    // What is changed, the field and the words that name it, and whether a reason beside it lets it pass.
    let cases = [
        (
            "\ninterval_s = { value = 240,",
            "\ninterval_s = { value = 600,",
            "epinephrine.interval_s",
            "published range",
            false,
        ),
        (
            "\ninterval_s = { value = 240,",
            "\ninterval_s = { value = 240000,",
            "epinephrine.interval_s",
            "milliseconds",
            false,
        ),
        ("\ninterval_s = { value = 240,", "\ninterval_s = { value = 4,", "epinephrine.interval_s", "minutes", false),
        (
            "mg_per_kg = { value = 0.01,",
            "mg_per_kg = { value = 10,",
            "epinephrine.dose.per_kg.mg_per_kg",
            "thousandths",
            // Milligrams for micrograms: the maximum would hold for every child, which no reason makes good.
            false,
        ),
        (
            "mg_per_kg = { value = 0.01,",
            "mg_per_kg = { value = -0.01,",
            "epinephrine.dose.per_kg.mg_per_kg",
            "no amount",
            false,
        ),
        (
            "mg_per_kg = { value = 0.01,",
            "mg_per_kg = { value = nan,",
            "epinephrine.dose.per_kg.mg_per_kg",
            "no amount",
            false,
        ),
        (
            "mg_per_kg = { value = 0.01,",
            "mg_per_kg = { value = 0,",
            "epinephrine.dose.per_kg.mg_per_kg",
            "more than 0",
            false,
        ),
        (
            "strength_mg_per_ml = { value = 0.1,",
            "strength_mg_per_ml = { value = 1,",
            "epinephrine.preparation.strength_mg_per_ml",
            "ten times too large",
            true,
        ),
        (
            "max_j_per_kg = { value = 10,",
            "max_j_per_kg = { value = 100,",
            "shock.energy.per_kg.max_j_per_kg",
            "ten times",
            true,
        ),
        ("max_j = { value = 200,", "max_j = { value = 400,", "shock.energy.per_kg.max_j", "published range", true),
        (
            "value = 15, source = \"AHA 2020 Part 4, two",
            "value = 5, source = \"AHA 2020 Part 4, two",
            "airway.ratio_compressions",
            "published range",
            true,
        ),
    ];
    for (old, new, field, words, passes) in cases {
        let changed = with(old, new);
        let answer = check(&changed);
        refused(&answer, 2, &format!("{field}: "));
        refused(&answer, 2, words);
        let line: usize =
            text(&answer.stderr).split("line ").nth(1).unwrap().split(':').next().unwrap().parse().unwrap();
        assert!(
            changed.lines().nth(line - 1).unwrap().starts_with(field.rsplit('.').next().unwrap()),
            "{field}: {line}"
        );
        let reasoned = check(&with(old, &new.replacen(',', ", unusual = \"our study\",", 1)));
        assert_eq!(reasoned.status.success(), passes, "{new}: {}", text(&reasoned.stderr));
    }
    for (old, new, words) in [
        ("source = \"AHA drug table (P6)\", basis = \"read\"", "basis = \"read\"", "source"),
        ("source = \"AHA drug table (P6)\"", "source = \"\"", "source is empty"),
        ("source = \"AHA drug table (P6)\", basis = \"read\"", "source = \"AHA drug table (P6)\"", "basis"),
    ] {
        let changed = with(old, new);
        let answer = check(&changed);
        refused(&answer, 2, words);
        refused(&answer, 2, "epinephrine.dose.per_kg.max_mg");
        let place = changed.lines().position(|line| line.contains("max_mg")).unwrap() + 1;
        refused(&answer, 2, &format!("line {place}: "));
    }
    // Every fault is named at once; a protocol for the other ages that is not at hand is one.
    let several = with("max_mg = { value = 1,", "max_mg = { value = 1000,").replacen(
        "after_shocks = { value = 2,",
        "after_shocks = { value = 20,",
        1,
    );
    let answer = check(&several);
    let lines: Vec<&str> = text(&answer.stderr).lines().collect();
    assert!(answer.status.code() == Some(2) && lines.len() == 2, "{lines:?}");
    for (line, field) in lines.iter().zip(["epinephrine.after_shocks: ", "epinephrine.dose.per_kg.max_mg: "]) {
        assert!(line.contains("ours.toml: line ") && line.contains(field), "{line}");
    }
    refused(
        &check(&with("other_ages = \"aha-adult\"", "other_ages = \"aha-adlt\"")),
        2,
        "other_ages: no protocol `aha-adlt` is at hand",
    );
    refused(&check(&with("other_ages = \"aha-adult\"", "other_ages = \"erc-child\"")), 2, "same age group");
    // A department's own file takes the shipped one's place, and its signature clears the notice.
    let signed = with("version = 1", "version = 2\napproved_by = \"A. Lead\"\napproved_on = \"2026-11-25\"");
    std::fs::create_dir(folder.path().join("protocols")).unwrap();
    std::fs::write(folder.path().join("protocols/child.toml"), signed).unwrap();
    let data = folder.path().to_str().unwrap();
    let list = coxswain(&["protocol", "list", "--data", data]);
    let line = text(&list.stdout).lines().find(|line| line.starts_with("aha-child")).unwrap().to_owned();
    assert!(line.contains("version 2") && line.contains("\tapproved here"), "{line}");
    let page = coxswain(&["protocol", "show", "aha-child", "--data", data]);
    assert!(text(&page.stdout).contains("Approved by A. Lead on 2026-11-25."));
}

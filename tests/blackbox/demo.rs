//! The simulated team at a real server, and what `measure` then says about it: the figures must agree with what the team
//! did, within what the players' clocks may be off.

use std::path::Path;

use coxswain::team::{Deed, Scenario, Told, open, play, take_seats};
use coxswain_engine::event::{Event, PauseReason};
use coxswain_tests::binary;
use coxswain_tests::device::Device;
use coxswain_tests::server::Server;
use serde_json::{Value, json};
use tokio::sync::watch;

use crate::restart::exported;

/// Code time passes this many times faster than real time. A real millisecond of delay is then as many of code time.
const SPEED: f64 = 20.0;
/// What a deed's time may differ between the player's own log and the record: the server may clamp a tap that seems to
/// come from the future, and both round to milliseconds.
const WITHIN_MS: i64 = 50;

fn measured(data: &Path, code: uuid::Uuid) -> Value {
    let text: String = exported(data, code).iter().map(|record| format!("{record}\n")).collect();
    let output = binary::run(&["measure", "-", "--json"], text.as_bytes()).unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

/// A code as the demonstration played it: its id, and the team's own log.
struct Played {
    code: uuid::Uuid,
    deeds: Vec<Deed>,
}

/// Runs `coxswain demo` to the end of its code.
fn demonstrate(data: &Path, scenario: &str) -> Played {
    let deeds = data.join("deeds.jsonl");
    let speed = SPEED.to_string();
    let args = ["demo", "--exit", "--listen", "127.0.0.1:0", "--speed", &speed, "--scenario", scenario, "--data"];
    let args = [&args[..], &[data.to_str().unwrap(), "--deeds", deeds.to_str().unwrap()]].concat();
    let output = binary::run(&args, b"").unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{said}\n{}", String::from_utf8_lossy(&output.stderr));
    for words in ["serves on", "join code:", "shock", "return of circulation"] {
        assert!(said.to_lowercase().contains(words), "the demonstration says {words}: {said}");
    }
    let log = std::fs::read_to_string(&deeds).unwrap();
    let deeds: Vec<Deed> = log.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let code = said.lines().find_map(|line| line.trim().strip_prefix("code ")?.split_whitespace().next()?.parse().ok());
    Played { code: code.unwrap_or_else(|| panic!("the code's id is said: {said}")), deeds }
}

/// Deeds that count: not refused, and not the second tap of a double one.
fn times(played: &Played, counts: impl Fn(&Event) -> bool) -> Vec<i64> {
    let counts = |deed: &&Deed| !deed.mistaken && counts(&deed.event);
    played.deeds.iter().filter(counts).map(|deed| deed.at_ms).collect()
}

fn agree(what: &str, figures: &[Option<i64>], deeds: &[i64]) {
    assert_eq!(figures.len(), deeds.len(), "{what}: measured {figures:?}, done {deeds:?}");
    for (figure, deed) in figures.iter().zip(deeds) {
        let off = figure.map(|figure| (figure - deed).abs());
        assert!(off.is_some_and(|off| off <= WITHIN_MS), "{what}: measured {figures:?}, done {deeds:?}");
    }
}

fn intervals(times: &[i64]) -> Vec<i64> {
    times.windows(2).map(|pair| pair[1] - pair[0]).collect()
}

#[test]
fn the_figures_of_a_shockable_code_agree_with_what_the_team_did() {
    let data = tempfile::tempdir().unwrap();
    let played = demonstrate(data.path(), "shockable-rosc");
    for deed in &played.deeds {
        assert!(deed.durable, "every tap was taken: {deed:?}");
    }
    let figures = measured(data.path(), played.code);
    println!("measured: {figures:#}");

    // Standing facts come before the clock; what follows is compared on the clock's axis.
    let shocks = times(&played, |event| matches!(event, Event::ShockDelivered { .. }));
    assert_eq!(shocks.len(), 3);
    let at = |figure: &Value| figure["at_ms"].as_i64();
    agree("shocks", &figures["shocks"].as_array().unwrap().iter().map(at).collect::<Vec<_>>(), &shocks);
    let epinephrine = times(&played, |event| matches!(event, Event::DrugGiven { drug, .. } if drug == "epinephrine"));
    assert!(epinephrine.len() >= 2, "{epinephrine:?}");
    agree("first epinephrine", &[figures["first_epinephrine_ms"].as_i64()], &epinephrine[..1]);
    let between: Vec<_> = figures["epinephrine_intervals_ms"].as_array().unwrap().iter().map(Value::as_i64).collect();
    agree("between doses", &between, &intervals(&epinephrine));
    let rosc = times(&played, |event| matches!(event, Event::Rosc {}));
    agree("rosc", &[figures["rosc_ms"].as_i64()], &rosc);
    let compressions = times(&played, |event| matches!(event, Event::CompressionsStarted { .. }));
    agree("first compression", &[figures["first_compression_ms"].as_i64()], &compressions[..1]);
    assert_eq!((&figures["rosc_count"], &figures["first_rhythm"]), (&json!(1), &json!("vf")));

    // The compressor's own taps give the pauses: each stop to the next start (or to return of circulation).
    let stops = times(&played, |event| matches!(event, Event::CompressionsStopped { .. }));
    let ends: Vec<_> = stops
        .iter()
        .map(|stop| compressions.iter().chain(&rosc).copied().filter(|end| end > stop).min().unwrap())
        .collect();
    let pauses = figures["pauses"].as_array().unwrap();
    agree("pauses begin", &pauses.iter().map(|pause| pause["start_ms"].as_i64()).collect::<Vec<_>>(), &stops);
    agree("pauses end", &pauses.iter().map(|pause| pause["end_ms"].as_i64()).collect::<Vec<_>>(), &ends);
    let arrest_ms = rosc[0];
    let compressed: i64 =
        arrest_ms - compressions[0] - stops.iter().zip(&ends).map(|(stop, end)| end - stop).sum::<i64>();
    let fraction = figures["compression_fraction"].as_f64().unwrap();
    assert!((fraction - compressed as f64 / arrest_ms as f64).abs() < 0.002, "{fraction} {compressed}/{arrest_ms}");

    // The scenario's slips: a finger forgotten lowers the fraction, and the doubled shock does not count.
    let fingers = times(&played, |event| matches!(event, Event::PulseFingerPlaced { .. }));
    let ready = |stop: &&i64| fingers.iter().any(|finger| (**stop - 30_000..=**stop).contains(finger));
    // On a slow machine a charge may come after the look: the stop for that shock is no check.
    let check = |event: &Event| matches!(event, Event::CompressionsStopped { reason: PauseReason::RhythmCheck });
    let checks = times(&played, check);
    let ready = checks.iter().filter(ready).count() as f64 / checks.len() as f64;
    assert!(ready < 1.0, "the forgotten finger shows");
    let measured = figures["finger_ready_fraction"].as_f64().unwrap();
    assert!((measured - ready).abs() < 0.001, "measured {measured}, done {ready}");
    let doubled = played.deeds.iter().filter(|deed| deed.mistaken).count();
    assert_eq!(doubled, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_team_survives_a_server_that_is_killed_in_the_middle() {
    let data = tempfile::tempdir().unwrap();
    let mut scenario = Scenario::shipped("shockable-rosc").unwrap();
    scenario.patient.looks.truncate(1);
    scenario.work.recognised_ago_s = 0.0;
    scenario.work.pads_s = 5.0;
    scenario.work.access_s = 12.0;
    scenario.work.access_failures = 0;
    scenario.work.stop_s = 45.0;
    scenario.slips.clear();
    let server = Server::start(data.path()).await.unwrap();
    let seats = take_seats(server.address, &server.join_code, &scenario.location).await.unwrap();
    let code = open(server.address, &seats, &scenario).await.unwrap();
    let (told, mut deeds) = tokio::sync::mpsc::unbounded_channel();
    let (_go_on, stop) = watch::channel(false);
    let address = server.address;
    let playing = tokio::spawn(async move { play(address, &seats, code, &scenario, Some(told), stop).await });
    // The power goes at the first shock, which may or may not be on disk by then.
    while let Some(told) = deeds.recv().await {
        if matches!(told, Told::Deed(deed) if matches!(deed.event, Event::ShockDelivered { .. })) {
            break;
        }
    }
    let server = server.kill_and_restart().await.unwrap();
    let played = playing.await.unwrap().unwrap();
    server.kill().await.unwrap();
    let stored = exported(data.path(), code);
    for deed in &played.deeds {
        assert!(deed.durable, "sent again until it was taken: {deed:?}");
        let copies = stored.iter().filter(|record| record["id"] == json!(deed.id)).count();
        assert_eq!(copies, 1, "{deed:?}");
    }
    let figures = measured(data.path(), code);
    assert_eq!(figures["shocks"].as_array().unwrap().len(), 1);
    let after = played.deeds.iter().skip_while(|deed| !matches!(deed.event, Event::ShockDelivered { .. })).skip(1);
    let resumed = after.filter(|deed| matches!(deed.event, Event::CompressionsStarted { .. })).count();
    assert_eq!(resumed, 1, "the team went on after the restart: {:?}", played.deeds);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_newcomer_takes_a_role_and_the_simulated_player_steps_back() {
    let data = tempfile::tempdir().unwrap();
    let scenario = Scenario::shipped("shockable-rosc").unwrap();
    let server = Server::start(data.path()).await.unwrap();
    let seats = take_seats(server.address, &server.join_code, &scenario.location).await.unwrap();
    let code = open(server.address, &seats, &scenario).await.unwrap();
    let (end, stop) = watch::channel(false);
    let (address, players) = (server.address, seats.clone());
    let playing = tokio::spawn(async move { play(address, &players, code, &scenario, None, stop).await });

    let mut newcomer = Device::join(&server, "A newcomer", "Bay 1", None).await.unwrap();
    let me = newcomer.pairing.device;
    // The leader first, whose screen shows who has which role.
    for role in ["leader", "drugs"] {
        newcomer.recorded(code, json!({"kind": "role_assigned", "role": role, "device": me})).await.unwrap();
        let simulated = seats.iter().find(|seat| seat.role.as_str() == role).unwrap().device;
        let stepped_back = |frame: &Value| {
            let holds = |id: uuid::Uuid| {
                frame["devices"].as_array().into_iter().flatten().any(|device| {
                    let roles = device["roles"].as_array();
                    device["device"] == json!(id) && roles.is_some_and(|roles| roles.contains(&json!(role)))
                })
            };
            frame["type"] == "roster" && holds(me) && !holds(simulated)
        };
        // It may have stepped back before the newcomer's own record was acknowledged.
        let seen =
            newcomer.frames.iter().any(|text| serde_json::from_str(text).is_ok_and(|frame| stepped_back(&frame)));
        if !seen {
            newcomer.wait("the player to step back", stepped_back).await.unwrap();
        }
    }
    // Both roles' prompts come to the newcomer's screen now.
    newcomer.drain().await.unwrap();
    assert!(newcomer.frames.iter().any(|text| text.contains("\"gain_access\"") && text.contains("\"review_causes\"")));
    end.send_replace(true);
    playing.await.unwrap().unwrap();
    server.kill().await.unwrap();
}

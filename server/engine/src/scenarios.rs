//! Scenario tables: whole codes as scripts, and beside them the prompts of every role at every change.
//!
//! `scenarios/NAME.script` names its protocol and lists the events; `scenarios/NAME.expected` is what the plan made of
//! it, one line a change, read and agreed to by a person before it was committed. `COXSWAIN_WRITE_SCENARIOS=1` writes
//! them anew: then read the difference.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::event::Role;
use crate::prompt::{Action, Prompt};
use crate::protocol;
use crate::snapshot::{Knowledge, Snapshot};
use crate::testing::Script;

fn clock(at_ms: i64) -> String {
    let (sign, ms) = if at_ms < 0 { ("-", -at_ms) } else { ("", at_ms) };
    let text = format!("{sign}{}:{:02}.{}", ms / 60_000, ms / 1_000 % 60, ms % 1_000 / 100);
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

fn line(prompt: &Prompt) -> String {
    let mut text = format!("{} due {}", prompt.action.as_str(), clock(prompt.due_at_ms));
    let detail = &prompt.detail;
    if let Some(of) = detail.of {
        let _ = write!(text, " of {}", of.as_str());
    }
    if let Some(drug) = &detail.drug {
        let _ = write!(text, " {drug}");
    }
    if let Some(dose) = &detail.dose {
        let _ = write!(text, " {} {}", dose.value, dose.unit);
    }
    if let Some(volume) = &detail.volume {
        let _ = write!(text, " = {} {}", volume.value, volume.unit);
    }
    if let Some(rule) = &detail.rule {
        let _ = write!(text, " [{rule}]");
    }
    if let Some(until) = detail.too_early_until_ms {
        let _ = write!(text, " not before {}", clock(until));
    }
    if let Some(energy) = detail.energy_j {
        let _ = write!(text, " {energy} J");
    }
    if let Some(stack) = detail.stack {
        let _ = write!(text, " (stack {} of {})", stack.number, stack.of);
    }
    if let Some(apart_ms) = detail.apart_ms {
        let _ = write!(text, " {} apart", clock(apart_ms));
    }
    if let Some(doubt) = &detail.doubt {
        let _ = write!(text, " [{doubt}]");
    }
    for words in [&detail.ratio, &detail.item, &detail.waits_for].into_iter().flatten() {
        let _ = write!(text, " ({words})");
    }
    if let Some(seconds) = detail.one_breath_each_s {
        let _ = write!(text, " (a breath each {seconds} s)");
    }
    if prompt.assumed {
        text.push_str(" ?");
    }
    text
}

/// Every moment at which something changes, by an event or by itself, and what changed for each role.
fn play(script: &Script, protocol: &protocol::Protocol) -> String {
    let records = script.records();
    let mut moments: Vec<i64> = records.iter().map(|record| record.at_ms.max(0)).collect();
    let end_ms = moments.iter().copied().max().unwrap_or(0) + 150_000;
    let mut at_ms = 0;
    let mut shown: BTreeMap<Role, Vec<String>> = BTreeMap::new();
    let mut hands = String::new();
    let mut text = String::new();
    while at_ms <= end_ms {
        let snapshot = Snapshot::at(records, protocol, at_ms, Knowledge::AsKnown);
        let happened: Vec<String> =
            records.iter().filter(|record| record.at_ms.max(0) == at_ms).map(|record| record.event.kind()).collect();
        let mut changes = String::new();
        let order = serde_json::to_value(snapshot.plan().hands.now).unwrap();
        let order =
            format!("{}{}", order.as_str().unwrap(), if snapshot.plan().hands.overdue { " OVERDUE" } else { "" });
        if order != hands {
            let _ = writeln!(changes, "    hands: {order}");
            hands = order;
        }
        for role in Role::ALL {
            let now: Vec<String> = snapshot.visible(*role).iter().map(line).collect();
            let before = shown.insert(*role, now.clone()).unwrap_or_default();
            for gone in before.iter().filter(|line| !now.contains(line)) {
                let _ = writeln!(changes, "    - {}: {gone}", role.as_str());
            }
            for new in now.iter().filter(|line| !before.contains(line)) {
                let _ = writeln!(changes, "    + {}: {new}", role.as_str());
            }
        }
        if !changes.is_empty() || !happened.is_empty() {
            let _ = writeln!(text, "{} {}", clock(at_ms), happened.join(", "));
            text.push_str(&changes);
        }
        moments.retain(|moment| *moment > at_ms);
        let wake = snapshot.next_wake_ms();
        match moments.iter().copied().chain(wake).min() {
            Some(next) => at_ms = next,
            None => break,
        }
    }
    text
}

fn check(name: &str) {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    let text = std::fs::read_to_string(format!("{folder}/{name}.script")).unwrap();
    let id = text.lines().next().and_then(|line| line.strip_prefix("# protocol: ")).unwrap();
    let file = std::fs::read_to_string(format!("{folder}/../../protocols/{id}.toml")).unwrap();
    let protocol = protocol::read(&file).unwrap();
    let made = play(&Script::new(&text), &protocol);
    let path = format!("{folder}/{name}.expected");
    if option_env!("COXSWAIN_WRITE_SCENARIOS").is_some() {
        std::fs::write(&path, &made).unwrap();
    }
    let expected = std::fs::read_to_string(&path).unwrap();
    for (place, (made, expected)) in made.lines().zip(expected.lines()).enumerate() {
        assert_eq!(made, expected, "{name}, line {} of {path}", place + 1);
    }
    assert_eq!(made.lines().count(), expected.lines().count(), "{name}");
}

macro_rules! scenarios {
    ($($name:ident),+ $(,)?) => { $(#[test] fn $name() { check(stringify!($name)); })+ };
}

scenarios!(
    aha_shockable,
    aha_not_shockable,
    nobody_taps,
    forgetful,
    corrected,
    arrest_again,
    prior_care,
    charge_held,
    erc_shockable,
    erc_not_shockable,
    erc_stack,
    twice,
    rosc_out_of_target,
    erc_rosc_and_again,
    mechanical,
    aha_pregnancy,
    erc_pregnancy,
    aha_hypothermia,
    erc_hypothermia,
);

#[test]
fn every_action_names_itself_in_its_key() {
    let script = Script::new("0 clock_started");
    let file = include_str!("../../protocols/aha-adult.toml");
    let protocol = protocol::read(file).unwrap();
    let snapshot = Snapshot::at(script.records(), &protocol, 0, Knowledge::AsKnown);
    assert!(snapshot.prompts().iter().any(|prompt| prompt.action == Action::StartCompressions));
    for prompt in snapshot.prompts() {
        assert!(prompt.key.starts_with(&format!("{}@", prompt.action.as_str())), "{}", prompt.key);
    }
}

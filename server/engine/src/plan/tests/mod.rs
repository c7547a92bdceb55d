//! What the screens show, one rule a test, under the guideline or guidelines that say so: a file for each duty or circumstance,
//! and here what they share.

mod aftercare;
mod circumstances;
mod cold;
mod doses;
mod ending;
mod pregnancy;
mod prior_care;
mod shocks;
mod together;
mod words;

use std::collections::BTreeSet;

use crate::event::{CompressedBy, Dose, Event, Role};
use crate::fit::fit;
use crate::prompt::{Action, Prompt};
use crate::protocol::{self, Protocol};
use crate::snapshot::{Knowledge, Snapshot};
use crate::testing::{Script, id};
use crate::view::{HandsOrder, Note, NoteKind, TargetLine, View};

fn aha() -> Protocol {
    protocol::read(include_str!("../../../../protocols/aha-adult.toml")).unwrap()
}

fn erc() -> Protocol {
    protocol::read(include_str!("../../../../protocols/erc-adult.toml")).unwrap()
}

/// A code with this prior care, and the opening's other fields.
fn opened(fields: &str, more: &str) -> Script {
    Script::new(&format!(
        "0 code_opened protocol={{\"id\":\"x\",\"version\":1}} patient={{\"age_group\":\"adult\"}} training=true {fields}\n\
         0 clock_started\n{more}"
    ))
}

fn at(script: &Script, protocol: &Protocol, at_s: i64) -> Snapshot {
    Snapshot::at(script.records(), protocol, at_s * 1_000, Knowledge::AsKnown)
}

fn shown(snapshot: &Snapshot, role: Role, action: Action) -> Option<Prompt> {
    snapshot.visible(role).into_iter().find(|prompt| prompt.action == action)
}

fn of_drug(snapshot: &Snapshot, action: Action, drug: &str) -> Option<Prompt> {
    let prompts = snapshot.prompts().iter();
    prompts
        .filter(|prompt| prompt.action == action && prompt.detail.drug.as_deref() == Some(drug))
        .find(|prompt| prompt.detail.waits_for.is_none())
        .cloned()
}

fn notes(snapshot: &Snapshot, role: Role, kind: NoteKind) -> String {
    let notes = snapshot.view(&BTreeSet::from([role])).notes;
    notes.iter().filter(|note| note.kind == kind).map(|note| note.text.as_str()).collect::<Vec<_>>().join("\n")
}

const VF_1: &str = "10s compressions_stopped reason=rhythm_check\n13s rhythm_checked rhythm=vf\n14s charging_started energy_j=200\n\
    21s all_clear_called\n22s shock_delivered energy_j=200\n24s compressions_started\n";

/// Three shocks by hand, two minutes apart.
fn three_shocks() -> String {
    let cycle = |from: i64| {
        format!(
            "{}s compressions_stopped reason=rhythm_check\n{}s rhythm_checked rhythm=vf\n{}s charging_started energy_j=200\n\
             {}s all_clear_called\n{}s shock_delivered energy_j=200\n{}s compressions_started\n",
            from,
            from + 3,
            from + 4,
            from + 11,
            from + 12,
            from + 14
        )
    };
    format!(
        "3s compressions_started\n4s pads_attached position=anterolateral\n{}{}{}",
        cycle(10),
        cycle(144),
        cycle(278)
    )
}

const ROSC: &str = "3s compressions_started\n10s rhythm_checked rhythm=perfusing pulse=present\n12s rosc\n";

fn visible(script: &Script, protocol: &Protocol, at_s: i64, role: Role) -> Vec<Prompt> {
    at(script, protocol, at_s).visible(role)
}

fn asks(script: &Script, protocol: &Protocol, at_s: i64, role: Role, action: Action) -> Option<Prompt> {
    visible(script, protocol, at_s, role).into_iter().find(|prompt| prompt.action == action)
}

/// The task of a circumstance, if it shows.
fn task(script: &Script, protocol: &Protocol, at_s: i64, role: Role, name: &str) -> Option<Prompt> {
    visible(script, protocol, at_s, role).into_iter().find(|prompt| prompt.key.ends_with(&format!(":{name}")))
}

fn view(script: &Script, protocol: &Protocol, at_s: i64, role: Role) -> View {
    at(script, protocol, at_s).view(&[role].into())
}

fn sentences(script: &Script, protocol: &Protocol, at_s: i64, role: Role, kind: NoteKind) -> Vec<String> {
    let of_kind = |note: Note| (note.kind == kind).then_some(note.text);
    view(script, protocol, at_s, role).notes.into_iter().filter_map(of_kind).collect()
}

/// Epinephrine that is due, not merely expected.
fn epinephrine(script: &Script, protocol: &Protocol, at_s: i64) -> Option<Prompt> {
    visible(script, protocol, at_s, Role::Drugs).into_iter().find(|prompt| {
        prompt.action == Action::GiveDrug
            && prompt.detail.drug.as_deref() == Some("epinephrine")
            && prompt.detail.waits_for.is_none()
    })
}

const START: &str = "0 clock_started\n3s compressions_started\n6s pads_attached\n8s access_gained route=iv";
const ASYSTOLE: &str = "12s compressions_stopped reason=rhythm_check\n15s rhythm_checked rhythm=asystole pulse=absent\n\
                        16s compressions_started";

fn begun(more: &str) -> Script {
    Script::new(&format!("{START}\n{more}"))
}

/// A check with a shock: look at `at_s`, shock 6 s later, compressions 2 s after that.
fn shocked(at_s: i64) -> String {
    format!(
        "{}s compressions_stopped reason=rhythm_check\n{at_s}s rhythm_checked rhythm=vf\n{}s charging_started energy_j=200\n\
         {}s all_clear_called\n{}s shock_delivered energy_j=200\n{}s compressions_started\n",
        at_s - 3,
        at_s + 1,
        at_s + 5,
        at_s + 6,
        at_s + 8
    )
}

fn set(at_s: i64, name: &str) -> String {
    format!("{at_s}s circumstance_set name={name} on=true\n")
}

fn core(at_s: i64, celsius: f64) -> String {
    format!("{at_s}s vital_read temp_c={celsius} temp_site=core\n")
}

const GIVEN: &str = "drug_given drug=epinephrine dose={\"value\":1,\"unit\":\"mg\"} route=iv";

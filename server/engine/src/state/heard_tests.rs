//! A core temperature that is entered long after it was read.

use crate::event::Role;
use crate::prompt::{Action, Prompt};
use crate::protocol::Protocol;
use crate::snapshot::{Knowledge, Snapshot};
use crate::testing::Script;

const COLD: &str = "0 clock_started\n2s compressions_started\n15s rhythm_checked rhythm=asystole\n\
    20s drug_given drug=epinephrine route=iv dose={\"value\":1,\"unit\":\"mg\"}\n\
    30s circumstance_set name=hypothermia on=true\n40s vital_read temp_c=28 temp_site=core";

fn erc() -> Protocol {
    crate::protocol::read(include_str!("../../../protocols/erc-adult.toml")).unwrap()
}

fn asked(script: &Script, protocol: &Protocol, at_s: i64, role: Role, action: Action) -> Option<Prompt> {
    let snapshot = Snapshot::at(script.records(), protocol, at_s * 1_000, Knowledge::AsKnown);
    snapshot.visible(role).into_iter().find(|prompt| prompt.action == action)
}

fn epinephrine_due_ms(script: &Script, protocol: &Protocol, at_s: i64) -> Option<i64> {
    asked(script, protocol, at_s, Role::Drugs, Action::GiveDrug).map(|prompt| prompt.due_at_ms)
}

#[test]
fn what_a_late_reading_sets_free_is_due_when_it_is_heard() {
    let protocol = erc();
    let mut script = Script::new(&format!("{COLD}\n400s vital_read temp_c=36 temp_site=core"));
    script.heard_at(600_000);
    assert_eq!(epinephrine_due_ms(&script, &protocol, 599), None);
    let dose = asked(&script, &protocol, 601, Role::Drugs, Action::GiveDrug).unwrap();
    assert_eq!((dose.due_at_ms, dose.late_at_ms), (600_000, Some(660_000)));
}

#[test]
fn a_late_reading_that_says_nothing_new_moves_nothing() {
    let protocol = erc();
    let mut script = Script::new(&format!("{COLD}\n500s vital_read temp_c=36 temp_site=core"));
    script.extend("400s vital_read temp_c=36.5 temp_site=core");
    script.heard_at(700_000);
    assert_eq!(epinephrine_due_ms(&script, &protocol, 650), Some(500_000));
    assert_eq!(epinephrine_due_ms(&script, &protocol, 701), Some(500_000));
}

#[test]
fn a_late_reading_older_than_one_that_still_withholds_frees_nothing() {
    let protocol = erc();
    let mut script = Script::new(&format!("{COLD}\n500s vital_read temp_c=29 temp_site=core"));
    script.extend("400s vital_read temp_c=36 temp_site=core");
    script.heard_at(700_000);
    assert_eq!(epinephrine_due_ms(&script, &protocol, 701), None);
}

/// Three shocks at 28 degrees, then a look that a fourth would follow: nobody shocks on it because warmth was entered late.
#[test]
fn a_late_reading_revives_no_look_that_was_held_back() {
    let protocol = erc();
    let mut script = Script::new(
        "0 code_opened protocol={\"id\":\"erc-adult\",\"version\":1} patient={\"age_group\":\"adult\"} training=true \
         prior_care={\"shocks\":3}\n0 clock_started\n2s compressions_started\n\
         8s circumstance_set name=hypothermia on=true\n9s vital_read temp_c=28 temp_site=core\n\
         15s compressions_stopped reason=rhythm_check\n18s rhythm_checked rhythm=vf\n20s compressions_started",
    );
    script.extend("16s vital_read temp_c=36 temp_site=core");
    script.heard_at(100_000);
    assert!(asked(&script, &protocol, 101, Role::Defibrillator, Action::Charge).is_none());
    script.extend("140s rhythm_checked rhythm=vf");
    assert!(asked(&script, &protocol, 141, Role::Defibrillator, Action::Charge).is_some(), "the next look wants it");
}

//! An arrest that goes on elsewhere, on a pump, or to its end.

use super::*;

#[test]
fn a_moved_patient_asks_the_leader_for_roles_and_the_code_goes_on() {
    let mut script = opened("location=\"Bay 1\"", &format!("3s compressions_started\n{VF_1}"));
    let before = at(&script, &aha(), 60);
    script.extend("60s moved location=\"Cath lab\"");
    let moved = at(&script, &aha(), 61);
    assert_eq!(before.view(&BTreeSet::new()).location.as_deref(), Some("Bay 1"));
    assert_eq!(moved.view(&BTreeSet::new()).location.as_deref(), Some("Cath lab"));
    assert_eq!((moved.plan().hands.now, moved.plan().next_check), (HandsOrder::Compress, before.plan().next_check));
    assert_eq!(moved.view(&BTreeSet::new()).counts, before.view(&BTreeSet::new()).counts);
    let confirm = shown(&moved, Role::Leader, Action::ConfirmRoles).unwrap();
    // A tablet that wakes there with its home role answers nothing; a role given to another device does.
    let (own, other) = (crate::testing::device(0), crate::testing::device(7));
    script.push(62_000, Event::RoleAssigned { role: Role::Drugs, device: own, person: None });
    script.push(62_000, Event::RoleAssigned { role: Role::Leader, device: own, person: None });
    assert!(shown(&at(&script, &aha(), 63), Role::Leader, Action::ConfirmRoles).is_some());
    script.push(64_000, Event::RoleAssigned { role: Role::Airway, device: other, person: None });
    assert!(shown(&at(&script, &aha(), 65), Role::Leader, Action::ConfirmRoles).is_none());
    let mut ticked = opened("", "60s moved location=\"Cath lab\"");
    let key = shown(&at(&ticked, &aha(), 61), Role::Leader, Action::ConfirmRoles).unwrap().key;
    assert_eq!(key, confirm.key.replace("00000000000a", "000000000003").replace("000000000009", "000000000003"));
    ticked.push(62_000, Event::TaskDone { prompt: key });
    assert!(shown(&at(&ticked, &aha(), 63), Role::Leader, Action::ConfirmRoles).is_none());
    // A long name does not fill a view.
    ticked.extend(&format!("70s moved location={}", "x".repeat(1_500)));
    assert_eq!(at(&ticked, &aha(), 71).view(&BTreeSet::new()).location.map(|place| place.len()), Some(80));
}

#[test]
fn extracorporeal_circulation_leaves_hands_and_drugs_as_they_are() {
    let mut script = opened(
        "",
        "3s compressions_started\n10s rhythm_checked rhythm=asystole\n20s drug_given drug=epinephrine route=iv\n100s ecmo_started",
    );
    let snapshot = at(&script, &aha(), 262);
    let confirm = shown(&snapshot, Role::Leader, Action::ConfirmFlow).unwrap();
    assert_eq!(snapshot.plan().hands.now, HandsOrder::Compress);
    assert!(shown(&snapshot, Role::Drugs, Action::GiveDrug).is_some());
    assert!(notes(&snapshot, Role::Leader, NoteKind::Information).contains("ECMO"));
    script.push(263_000, Event::TaskDone { prompt: confirm.key });
    let ticked = at(&script, &aha(), 264);
    assert!(shown(&ticked, Role::Leader, Action::ConfirmFlow).is_none());
    assert_eq!(ticked.plan().hands.now, HandsOrder::Compress, "until circulation or closing is recorded");
    script.extend("270s code_closed outcome=ecmo");
    assert_eq!(at(&script, &aha(), 271).plan().hands.now, HandsOrder::None);
}

#[test]
fn what_the_guideline_says_of_ending_is_information_for_the_leader_and_never_advice() {
    let script =
        opened("", "3s compressions_started\n60s rhythm_checked rhythm=asystole\n200s rhythm_checked rhythm=asystole");
    let words =
        |protocol: &Protocol, at_s: i64, role: Role| notes(&at(&script, protocol, at_s), role, NoteKind::Information);
    assert!(words(&aha(), 1_199, Role::Leader).is_empty());
    assert!(words(&aha(), 1_200, Role::Leader).contains("only with a tracheal tube in"));
    // S92 counts from the first look at asystole; one look at another rhythm takes it away.
    assert!(!words(&erc(), 1_259, Role::Leader).contains("Asystole"));
    assert!(words(&erc(), 1_260, Role::Leader).contains("Asystole for more than 20 min"));
    let mut changed = opened("", "60s rhythm_checked rhythm=asystole");
    changed.extend("900s rhythm_checked rhythm=pea\n1000s rhythm_checked rhythm=asystole");
    assert!(!notes(&at(&changed, &erc(), 1_900), Role::Leader, NoteKind::Information).contains("Asystole"));
    // Nothing else changes: the same tasks at the same times.
    let mut silent = erc();
    silent.ending.clear();
    assert_eq!(at(&script, &erc(), 1_300).prompts(), at(&script, &silent, 1_300).prompts());
    let mut named = opened("", "3s compressions_started");
    named.push(4_000, Event::RoleAssigned { role: Role::Leader, device: crate::testing::device(1), person: None });
    assert!(notes(&at(&named, &aha(), 1_300), Role::Drugs, NoteKind::Information).is_empty());
}

#[test]
fn death_declared_is_seen_with_its_time_and_closes_nothing() {
    let mut script = opened("", "3s compressions_started\n1930s death_declared");
    let snapshot = at(&script, &aha(), 1_931);
    assert!(notes(&snapshot, Role::Leader, NoteKind::Information).contains("Death declared 32:10 after recognition"));
    assert!(snapshot.state().in_arrest());
    let ask = shown(&snapshot, Role::Leader, Action::CloseCode).unwrap();
    assert!(shown(&snapshot, Role::Compressor, Action::CloseCode).is_none());
    // Declared by a slip, or not the end yet: a tick takes the question away and leaves everything else.
    let mut goes_on = opened("", "3s compressions_started\n1930s death_declared");
    goes_on.push(1_932_000, ask.tap.unwrap());
    let snapshot = at(&goes_on, &aha(), 1_933);
    assert!(shown(&snapshot, Role::Leader, Action::CloseCode).is_none());
    assert_eq!(snapshot.plan().hands.now, HandsOrder::Compress);
    script.extend("1950s code_closed outcome=died");
    assert!(!at(&script, &aha(), 1_951).state().in_arrest());
}

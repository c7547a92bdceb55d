//! Care before arrival, by a device, in doubt, on the move and after return of circulation: what the screens show of it, one
//! rule a test, under the guideline or guidelines that say so.

use std::collections::BTreeSet;

use crate::event::{CompressedBy, Event, Role};
use crate::fit::fit;
use crate::prompt::{Action, Prompt};
use crate::protocol::{self, Protocol};
use crate::snapshot::{Knowledge, Snapshot};
use crate::testing::Script;
use crate::view::{HandsOrder, NoteKind, TargetLine};

fn aha() -> Protocol {
    protocol::read(include_str!("../../../protocols/aha-adult.toml")).unwrap()
}

fn erc() -> Protocol {
    protocol::read(include_str!("../../../protocols/erc-adult.toml")).unwrap()
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

#[test]
fn shocks_before_arrival_count_towards_both_drugs() {
    // A44, A47: after 2 (AHA) and after 3 (ERC) epinephrine, after 3 the antiarrhythmic; each from prior shocks and one here.
    for (protocol, before, epinephrine) in [(aha(), 1, true), (erc(), 1, false), (erc(), 2, true)] {
        let script =
            opened(&format!("prior_care={{\"shocks\":{before}}}"), &format!("3s compressions_started\n{VF_1}"));
        let snapshot = at(&script, &protocol, 25);
        assert_eq!(of_drug(&snapshot, Action::GiveDrug, "epinephrine").is_some(), epinephrine, "{}", protocol.id);
        assert_eq!(of_drug(&snapshot, Action::GiveDrug, "amiodarone").is_some(), before == 2, "{}", protocol.id);
        assert!(notes(&snapshot, Role::Drugs, NoteKind::Assumption).contains("before arrival, times not known"));
        assert_eq!(snapshot.view(&BTreeSet::new()).counts.shocks, before + 1);
    }
    // Told only later, they count all the same, and the note goes once a drug that follows shocks was given here.
    let mut script = opened("", &format!("3s compressions_started\n{VF_1}"));
    assert!(of_drug(&at(&script, &aha(), 25), Action::GiveDrug, "epinephrine").is_none());
    script.extend("30s prior_care_reported shocks=2");
    let snapshot = at(&script, &aha(), 30);
    assert!(of_drug(&snapshot, Action::GiveDrug, "epinephrine").is_some());
    assert!(of_drug(&snapshot, Action::GiveDrug, "amiodarone").is_some());
    script.extend("40s drug_given drug=epinephrine route=iv");
    assert!(!notes(&at(&script, &aha(), 40), Role::Drugs, NoteKind::Assumption).contains("shocks"));
}

#[test]
fn the_last_dose_before_arrival_counts_towards_the_next() {
    let due_s = |fields: &str, more: &str, at_s: i64| {
        let snapshot = at(&opened(fields, more), &aha(), at_s);
        let give = of_drug(&snapshot, Action::GiveDrug, "epinephrine").map(|prompt| prompt.due_at_ms / 1_000);
        (give, notes(&snapshot, Role::Drugs, NoteKind::Assumption))
    };
    let told = "prior_care={\"epinephrine_doses\":1,\"last_epinephrine_at_ms\":-100000}";
    assert_eq!(due_s(told, "", 5), (Some(140), String::new()));
    // The time not known: as at the opening, and said so.
    let (due, words) = due_s("prior_care={\"epinephrine_doses\":2}", "", 5);
    assert!(due == Some(240) && words.contains("time not known"), "{due:?} {words}");
    // Long ago: due now, and its lateness counts from the arrest.
    let (due, _) = due_s("prior_care={\"last_epinephrine_at_ms\":-3600000}", "", 5);
    assert_eq!(due, Some(0));
    // Told of in the middle: due from when it was told, not late since before.
    let (due, _) = due_s("", "400s prior_care_reported last_epinephrine_at_ms=-60000", 401);
    assert_eq!(due, Some(400));
    let (due, words) = due_s("", "400s prior_care_reported epinephrine_doses=1", 401);
    assert!(due == Some(400) && words.contains("code was opened"), "{due:?} {words}");
    // A time that has not come yet is a slip: as at the telling, and said so; it must not push the next dose away.
    let (due, words) = due_s("", "30s prior_care_reported epinephrine_doses=1 last_epinephrine_at_ms=900000", 31);
    assert!(due == Some(270) && words.contains("still to come"), "{due:?} {words}");
    // None, after all.
    let (due, words) = due_s(told, "9s prior_care_reported epinephrine_doses=0", 10);
    assert!(due.is_none() && words.is_empty(), "{due:?} {words}");
    // A dose here leads from then on.
    let (due, words) = due_s("prior_care={\"epinephrine_doses\":1}", "100s drug_given drug=epinephrine route=io", 101);
    assert_eq!((due, words), (Some(340), String::new()));
}

#[test]
fn a_partial_report_changes_only_what_it_names() {
    let mut script = opened("prior_care={\"epinephrine_doses\":1,\"last_epinephrine_at_ms\":-60000}", "");
    let key =
        |script: &Script, at_s: i64| of_drug(&at(script, &aha(), at_s), Action::GiveDrug, "epinephrine").unwrap().key;
    let before = key(&script, 20);
    script.extend("30s prior_care_reported shocks=2\n31s prior_care_reported airway=tracheal");
    assert_eq!(key(&script, 40), before, "the same task keeps its key");
    let snapshot = at(&script, &aha(), 40);
    assert_eq!((snapshot.state().care.epinephrine_doses(), snapshot.state().rhythms.shock_count()), (1, 2));
    script.extend("50s prior_care_reported last_epinephrine_at_ms=-10000");
    assert_eq!(of_drug(&at(&script, &aha(), 60), Action::GiveDrug, "epinephrine").unwrap().due_at_ms, 230_000);
}

#[test]
fn after_a_second_arrest_prior_doses_only_hold_the_minimum_interval() {
    let script = opened(
        "prior_care={\"epinephrine_doses\":1,\"last_epinephrine_at_ms\":-10000}",
        "5s compressions_started\n10s rhythm_checked rhythm=perfusing pulse=present\n12s rosc\n60s arrest_again\n\
         61s compressions_started\n65s rhythm_checked rhythm=asystole",
    );
    let give = of_drug(&at(&script, &aha(), 66), Action::GiveDrug, "epinephrine").unwrap();
    assert_eq!((give.due_at_ms, give.detail.too_early_until_ms), (170_000, Some(170_000)));
}

#[test]
fn airway_and_access_before_arrival_are_there() {
    let none = at(&opened("", "3s compressions_started"), &aha(), 5);
    assert!(shown(&none, Role::Drugs, Action::GainAccess).is_some());
    assert_eq!(shown(&none, Role::Airway, Action::Ventilate).unwrap().detail.ratio.as_deref(), Some("30:2"));
    let mut script = opened("prior_care={\"airway\":\"supraglottic\",\"access\":\"io\"}", "3s compressions_started");
    let there = at(&script, &aha(), 5);
    assert!(shown(&there, Role::Drugs, Action::GainAccess).is_none());
    assert_eq!(shown(&there, Role::Airway, Action::Ventilate).unwrap().detail.one_breath_each_s, Some(6.0));
    assert!(shown(&there, Role::Airway, Action::ReadEtco2).is_some());
    // Told again later, it does not undo what happened here.
    script.extend("20s access_lost route=io\n30s airway_removed airway=supraglottic\n40s prior_care_reported airway=supraglottic access=io");
    let later = at(&script, &aha(), 41);
    assert!(shown(&later, Role::Drugs, Action::GainAccess).is_some());
    assert!(shown(&later, Role::Airway, Action::Ventilate).unwrap().detail.ratio.is_some());
}

#[test]
fn an_antiarrhythmic_before_arrival_is_the_first_dose() {
    let care = "prior_care={\"shocks\":4,\"amiodarone_mg\":300}";
    let snapshot = at(&opened(care, &format!("3s compressions_started\n{VF_1}")), &erc(), 25);
    let give = of_drug(&snapshot, Action::GiveDrug, "amiodarone").unwrap();
    assert_eq!(give.detail.dose.map(|dose| dose.value), Some(150.0));
    assert!(notes(&snapshot, Role::Leader, NoteKind::Assumption).contains("taken as one dose"));
}

#[test]
fn a_device_takes_over_and_gives_back_in_one_tap_each() {
    let mut script = opened("", &format!("3s compressions_started\n{VF_1}60s compressions_started by=mechanical"));
    let snapshot = at(&script, &aha(), 130);
    let view = snapshot.view(&BTreeSet::from([Role::Relief]));
    assert!(view.pause.is_none() && view.compressor_since_ms.is_none() && view.compressions_per_minute.is_none());
    assert_eq!((view.hands.observed.by, view.hands.observed.since_ms), (Some(CompressedBy::Mechanical), Some(24_000)));
    assert!(shown(&snapshot, Role::Relief, Action::ReadyRelief).is_none());
    assert!(shown(&snapshot, Role::Relief, Action::FingerOnPulse).is_some());
    assert!(shown(&snapshot, Role::Compressor, Action::PauseForCheck).is_some());
    // Back to hands: the spell counts from there.
    script.extend("131s compressions_started by=manual");
    let view = at(&script, &aha(), 132).view(&BTreeSet::from([Role::Compressor]));
    assert_eq!((view.compressor_since_ms, view.compressions_per_minute), (Some(131_000), Some(110.0)));
    assert!(shown(&at(&script, &aha(), 132), Role::Relief, Action::ReadyRelief).is_some());
}

#[test]
fn with_a_device_clear_means_people_off_and_the_pause_limit_holds_while_it_is_fitted() {
    let mut script = opened("", "3s compressions_started\n30s compressions_stopped reason=device");
    assert_eq!(at(&script, &aha(), 39).plan().hands.now, HandsOrder::Pause);
    let late = at(&script, &aha(), 40);
    assert!(late.plan().hands.now == HandsOrder::Compress && late.plan().hands.overdue);
    script.extend(
        "42s compressions_started by=mechanical\n60s rhythm_checked rhythm=vf\n61s charging_started energy_j=200\n68s all_clear_called",
    );
    let clear = at(&script, &aha(), 69);
    let hands = &clear.plan().hands;
    assert_eq!(
        (hands.now, hands.observed.compressing, hands.observed.by),
        (HandsOrder::Clear, true, Some(CompressedBy::Mechanical))
    );
    assert!(Role::ALL.iter().all(|role| clear.visible(*role).iter().all(|prompt| !prompt.action.touches_patient())));
    // The device went on through the shock: the cycle begins with it and nothing is assumed.
    script.extend("70s shock_delivered energy_j=200");
    let check = at(&script, &aha(), 71).plan().next_check.unwrap();
    assert_eq!((check.due_ms, check.assumed), (190_000, false));
    // Stopped and to be resumed: by what ran last.
    script.extend("190s compressions_stopped reason=rhythm_check\n193s rhythm_checked rhythm=pea");
    let resume = shown(&at(&script, &aha(), 194), Role::Compressor, Action::ResumeCompressions).unwrap();
    assert_eq!(resume.tap, Some(Event::CompressionsStarted { by: CompressedBy::Mechanical }));
}

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

#[test]
fn after_three_failed_shocks_pads_move_where_the_guideline_says_so() {
    let mut script = opened("", &three_shocks());
    let pads = |script: &Script, protocol: &Protocol, at_s: i64| {
        shown(&at(script, protocol, at_s), Role::Defibrillator, Action::ChangePads)
    };
    let words = |protocol: &Protocol, at_s: i64| {
        notes(&at(&opened("", &three_shocks()), protocol, at_s), Role::Leader, NoteKind::Information)
    };
    // A88, N11: ERC 2025. A85: under AHA it is words for the leader, and nobody is asked.
    let asked = pads(&script, &erc(), 295).unwrap();
    assert_eq!(asked.detail.target.as_deref(), Some("anteroposterior"));
    assert!(words(&erc(), 295).contains("antero-posterior") && words(&aha(), 295).contains("not established"));
    assert!(pads(&script, &aha(), 295).is_none());
    assert!(pads(&script, &erc(), 270).is_none() && words(&erc(), 270).is_empty(), "after the second shock");
    // Not in the last seconds before the check, nor in it, nor while a shock is wanted or charged.
    assert!(pads(&script, &erc(), 398).is_none());
    script.extend("411s charging_started energy_j=200\n412s compressions_stopped reason=rhythm_check\n415s rhythm_checked rhythm=vf\n417s all_clear_called");
    assert!((412..419).all(|at_s| pads(&script, &erc(), at_s).is_none()));
    script.extend("419s shock_delivered energy_j=200\n421s compressions_started");
    assert_eq!(pads(&script, &erc(), 422).unwrap().key, asked.key);
    let mut ticked = opened("", &three_shocks());
    ticked.push(300_000, Event::TaskDone { prompt: asked.key });
    assert!(pads(&ticked, &erc(), 301).is_none());
    script.push(425_000, asked.tap.unwrap());
    assert!(pads(&script, &erc(), 426).is_none());
    // A rhythm that no shock treats ends it.
    let mut ended = opened("", &three_shocks());
    ended.extend("300s rhythm_checked rhythm=pea");
    assert!(pads(&ended, &erc(), 305).is_none());
}

#[test]
fn energies_go_up_with_every_shock_prior_and_stacked_ones_counted() {
    let mut protocol = erc();
    let crate::protocol::EnergyRule::FixedJ(list) = &mut protocol.shock.energy else {
        panic!("fixed in the adult file")
    };
    list.value = vec![150.0, 200.0, 300.0];
    let next = |fields: &str, more: &str, at_s: i64| {
        shown(&at(&opened(fields, more), &protocol, at_s), Role::Defibrillator, Action::Charge).unwrap().detail.energy_j
    };
    let look = "3s rhythm_checked rhythm=vf";
    assert_eq!(next("", look, 4), Some(150.0));
    assert_eq!(next("prior_care={\"shocks\":1}", look, 4), Some(200.0));
    assert_eq!(next("prior_care={\"shocks\":7}", look, 4), Some(300.0));
    let stacked =
        format!("{look}\n5s shock_delivered energy_j=150 stack_id=a\n7s shock_delivered energy_j=200 stack_id=a");
    assert_eq!(next("", &stacked, 8), Some(300.0));
}

#[test]
fn a_stack_is_offered_only_where_it_was_seen_and_nothing_came_before() {
    let offered = |protocol: &Protocol, fields: &str, before: &str| {
        let script = opened(
            fields,
            &format!("{before}\n20s rhythm_checked rhythm=vf\n21s charging_started energy_j=150\n28s all_clear_called"),
        );
        let give = shown(&at(&script, protocol, 29), Role::Defibrillator, Action::GiveShock).unwrap();
        let Some(Event::ShockDelivered { stack_id, .. }) = give.tap else { panic!("a shock is tapped") };
        assert_eq!(stack_id.is_some(), give.detail.stack.is_some());
        give.detail.stack
    };
    let seen = "witnessed=true monitored=true";
    // A26: ERC from memory; AHA knows none.
    assert!(offered(&erc(), seen, "").is_some_and(|stack| (stack.number, stack.of) == (1, 3)));
    assert!(offered(&aha(), seen, "").is_none());
    assert!(offered(&erc(), "witnessed=true", "").is_none() && offered(&erc(), "monitored=true", "").is_none());
    assert!(offered(&erc(), "witnessed=true monitored=false", "").is_none());
    assert!(offered(&erc(), &format!("{seen} prior_care={{\"shocks\":1}}"), "").is_none());
    assert!(offered(&erc(), seen, "10s drug_given drug=epinephrine route=iv").is_none());
    assert!(offered(&erc(), seen, "10s rhythm_checked rhythm=pea").is_none());
    assert!(offered(&erc(), seen, "5s shock_delivered energy_j=150").is_none());
}

#[test]
fn a_stack_counts_once_for_epinephrine_and_each_for_amiodarone() {
    // A27, trap 15. The tap of each prompt is taken as it comes.
    let mut script = opened("witnessed=true monitored=true", "2s pads_attached\n4s rhythm_checked rhythm=vf");
    for (number, from_s) in [(1, 5), (2, 15), (3, 25)] {
        script.extend(&format!("{from_s}s charging_started energy_j=150\n{}s all_clear_called", from_s + 7));
        let give = shown(&at(&script, &erc(), from_s + 7), Role::Defibrillator, Action::GiveShock).unwrap();
        assert_eq!(give.detail.stack.map(|stack| stack.number), Some(number));
        script.push((from_s + 8) * 1_000, give.tap.unwrap());
        let again = shown(&at(&script, &erc(), from_s + 8), Role::Defibrillator, Action::Charge);
        assert_eq!(again.is_some(), number < 3, "after shock {number}");
        // Hands are given back after each: compressions end the stack.
        assert_eq!(at(&script, &erc(), from_s + 8).plan().hands.now, HandsOrder::Compress);
        let mut ended = Script::new("");
        script.records().iter().for_each(|record| ended.push(record.at_ms, record.event.clone()));
        ended.extend(&format!("{}s compressions_started", from_s + 9));
        assert!(shown(&at(&ended, &erc(), from_s + 9), Role::Defibrillator, Action::Charge).is_none());
    }
    let snapshot = at(&script, &erc(), 34);
    assert!(of_drug(&snapshot, Action::GiveDrug, "amiodarone").is_some());
    assert!(of_drug(&snapshot, Action::GiveDrug, "epinephrine").is_none());
    assert_eq!((snapshot.state().rhythms.shock_count(), snapshot.state().rhythms.stack_count()), (3, 1));
}

/// Found by the differential test (seed 369): the look between two shocks of a stack was forgotten with the stack.
#[test]
fn compressions_end_a_stack_but_not_the_shock_that_a_look_since_then_wants() {
    let given = "2s pads_attached\n4s rhythm_checked rhythm=vf\n5s shock_delivered energy_j=150 stack_id=a";
    let asked = |after: &str| {
        let script = opened("witnessed=true monitored=true", &format!("{given}\n{after}"));
        shown(&at(&script, &erc(), 15), Role::Defibrillator, Action::Charge).map(|charge| charge.detail.stack.is_some())
    };
    assert_eq!(asked("9s rhythm_checked rhythm=vf"), Some(true));
    assert_eq!(asked("9s rhythm_checked rhythm=vf\n11s compressions_started"), Some(false));
    assert_eq!(asked("11s compressions_started"), None);
    // Nor does the two minutes' clock start before that shock.
    let next_check = |after: &str| {
        let script = opened("witnessed=true monitored=true", &format!("{given}\n{after}"));
        at(&script, &erc(), 15).plan().next_check.map(|check| check.due_ms)
    };
    assert_eq!(next_check("9s rhythm_checked rhythm=vf\n11s compressions_started"), Some(189_000));
}

#[test]
fn a_rise_of_carbon_dioxide_never_stops_compressions_and_ends_with_the_look() {
    let mut script = opened("", "3s compressions_started\n20s etco2_read mmhg=12\n60s etco2_read mmhg=44");
    let snapshot = at(&script, &aha(), 61);
    assert!(shown(&snapshot, Role::Leader, Action::PossibleRosc).is_some());
    assert_eq!(snapshot.plan().hands.now, HandsOrder::Compress);
    assert!(notes(&snapshot, Role::Compressor, NoteKind::Information).is_empty());
    // Circulation may have returned before.
    let after_rosc = opened("", &format!("{ROSC}1930s death_declared"));
    assert!(shown(&at(&after_rosc, &aha(), 1_931), Role::Leader, Action::CloseCode).is_some());
    script.extend("120s compressions_stopped reason=rhythm_check");
    assert!(shown(&at(&script, &aha(), 121), Role::Leader, Action::PossibleRosc).is_some());
    script.extend("124s rhythm_checked rhythm=pea pulse=absent");
    assert!(shown(&at(&script, &aha(), 125), Role::Leader, Action::PossibleRosc).is_none());
    // Neither a rise that stays low nor a high reading without a rise is one.
    for readings in ["20s etco2_read mmhg=12\n60s etco2_read mmhg=30", "20s etco2_read mmhg=38\n60s etco2_read mmhg=44"]
    {
        let script = opened("", &format!("3s compressions_started\n{readings}"));
        assert!(shown(&at(&script, &aha(), 61), Role::Leader, Action::PossibleRosc).is_none());
    }
}

#[test]
fn a_pulse_that_nobody_confirms_gives_the_hands_back_at_the_limit_and_the_question_turns_late() {
    let mut script = opened(
        "",
        "3s compressions_started\n100s compressions_stopped reason=rhythm_check\n104s rhythm_checked rhythm=perfusing pulse=present",
    );
    assert_eq!(at(&script, &aha(), 109).plan().hands.now, HandsOrder::Pause);
    let late = at(&script, &aha(), 110);
    assert!(late.plan().hands.now == HandsOrder::Compress && late.plan().hands.overdue);
    let confirm = shown(&late, Role::Leader, Action::ConfirmRosc).unwrap();
    assert_eq!((confirm.due_at_ms, confirm.late_at_ms), (104_000, Some(110_000)));
    assert!(shown(&late, Role::Compressor, Action::ResumeCompressions).is_none(), "never beside the question");
    script.extend("115s compressions_started");
    let on = at(&script, &aha(), 116);
    assert!(shown(&on, Role::Leader, Action::ConfirmRosc).is_none());
    assert_eq!(on.plan().next_check.unwrap().due_ms, 235_000);
}

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

/// A52: either drug, never both.
#[test]
fn an_antiarrhythmic_after_the_other_is_asked_about() {
    let script = opened(
        "",
        "3s compressions_started\n290s drug_given drug=amiodarone route=iv\n300s drug_given drug=lidocaine route=iv",
    );
    for protocol in [aha(), erc()] {
        let ask = shown(&at(&script, &protocol, 301), Role::Leader, Action::ConfirmSecondDose).unwrap();
        assert_eq!((ask.detail.drug.as_deref(), ask.detail.apart_ms), (Some("lidocaine"), Some(10_000)));
    }
}

/// S12: from 30 to 35 degrees the interval is doubled, and so is what counts as too close.
#[test]
fn two_doses_are_held_against_the_interval_that_held_when_the_second_was_given() {
    let doses = |temp_c: f64| {
        opened(
            "",
            &format!(
                "3s compressions_started\n4s circumstance_set name=hypothermia on=true\n5s vital_read temp_c={temp_c} temp_site=core\n\
                 20s drug_given drug=epinephrine route=iv\n260s drug_given drug=epinephrine route=iv\n\
                 265s vital_read temp_c=36 temp_site=core"
            ),
        )
    };
    let asked = |script: &Script, protocol: &Protocol| {
        shown(&at(script, protocol, 270), Role::Drugs, Action::ConfirmSecondDose)
    };
    assert_eq!(asked(&doses(32.0), &erc()).unwrap().detail.apart_ms, Some(240_000));
    assert!(asked(&doses(32.0), &aha()).is_none() && asked(&doses(36.0), &erc()).is_none());
}

#[test]
fn two_doses_close_together_are_asked_about_and_both_count_until_one_is_taken_back() {
    let mut script = opened(
        "",
        "3s compressions_started\n10s rhythm_checked rhythm=asystole\n20s drug_given drug=epinephrine route=iv\n22s drug_given drug=epinephrine route=iv",
    );
    let snapshot = at(&script, &aha(), 23);
    let ask = shown(&snapshot, Role::Leader, Action::ConfirmSecondDose).unwrap();
    assert_eq!(shown(&snapshot, Role::Drugs, Action::ConfirmSecondDose).as_ref(), Some(&ask));
    assert_eq!((ask.detail.of_at_ms, ask.detail.apart_ms), (Some(20_000), Some(2_000)));
    assert!(ask.done_by.contains(&"voided".to_owned()));
    let doses = |snapshot: &Snapshot| snapshot.state().care.epinephrine_doses();
    let due = |snapshot: &Snapshot| of_drug(snapshot, Action::GiveDrug, "epinephrine").unwrap().due_at_ms;
    assert_eq!((doses(&snapshot), due(&snapshot)), (2, 262_000));
    let second = crate::testing::id(6);
    assert!(ask.key.ends_with(&second.to_string()));
    script.push(30_000, Event::Voided { target: second, reason: "doubled".into() });
    let one = at(&script, &aha(), 31);
    assert!(shown(&one, Role::Leader, Action::ConfirmSecondDose).is_none());
    assert_eq!((doses(&one), due(&one)), (1, 260_000));
    // "Yes, two" is a tick. Into a muscle, or as an infusion, nothing is asked.
    let mut two = opened("", "20s drug_given drug=epinephrine route=iv\n22s drug_given drug=epinephrine route=iv");
    two.push(30_000, shown(&at(&two, &aha(), 23), Role::Drugs, Action::ConfirmSecondDose).unwrap().tap.unwrap());
    assert!(shown(&at(&two, &aha(), 31), Role::Drugs, Action::ConfirmSecondDose).is_none());
    assert_eq!(doses(&at(&two, &aha(), 31)), 2);
    for second in ["route=im", "route=iv form=infusion"] {
        let script =
            opened("", &format!("20s drug_given drug=epinephrine route=iv\n22s drug_given drug=epinephrine {second}"));
        assert!(shown(&at(&script, &aha(), 23), Role::Drugs, Action::ConfirmSecondDose).is_none());
    }
    // Exactly the minimum apart is not too close (A41).
    let apart = opened("", "20s drug_given drug=epinephrine route=iv\n200s drug_given drug=epinephrine route=iv");
    assert!(shown(&at(&apart, &aha(), 201), Role::Drugs, Action::ConfirmSecondDose).is_none());
}

/// A41 holds over the door too, as far as the time of the dose before arrival was told.
#[test]
fn a_dose_here_right_after_one_before_arrival_is_asked_about() {
    let script = |prior: &str, given_s: i64| {
        opened(
            &format!("prior_care={{\"epinephrine_doses\":1{prior}}}"),
            &format!("3s compressions_started\n{given_s}s drug_given drug=epinephrine route=iv"),
        )
    };
    let told = ",\"last_epinephrine_at_ms\":-60000";
    let asked = |script: &Script| shown(&at(script, &aha(), 200), Role::Drugs, Action::ConfirmSecondDose);
    let ask = asked(&script(told, 60)).unwrap();
    assert_eq!((ask.detail.of_at_ms, ask.detail.apart_ms), (Some(-60_000), Some(120_000)));
    assert!(asked(&script(told, 120)).is_none(), "exactly the minimum apart");
    assert!(asked(&script("", 60)).is_none(), "nobody knows when the first one was given");
}

/// Against low pressure epinephrine is pushed by micrograms: such a bolus must not hold back the dose of the arrest.
#[test]
fn a_push_of_micrograms_is_no_dose_of_the_arrest() {
    let given = |dose: &str| {
        opened(
            "",
            &format!(
                "3s compressions_started\n10s rhythm_checked rhythm=asystole\n\
                 20s drug_given drug=epinephrine route=iv dose={dose}"
            ),
        )
    };
    let due = |script: &Script| of_drug(&at(script, &aha(), 30), Action::GiveDrug, "epinephrine").unwrap().due_at_ms;
    let said = |script: &Script| notes(&at(script, &aha(), 30), Role::Drugs, NoteKind::Assumption);
    for small in
        ["{\"value\":10,\"unit\":\"ug\"}", "{\"value\":10,\"unit\":\"mcg\"}", "{\"value\":0.1,\"unit\":\"mg\"}"]
    {
        let script = given(small);
        assert_eq!(due(&script), 10_000, "{small}");
        assert_eq!(at(&script, &aha(), 30).state().care.epinephrine_doses(), 0);
        assert!(said(&script).contains("0:20") && said(&script).contains("not counted"), "{}", said(&script));
        let mut whole = script;
        whole.extend("40s drug_given drug=epinephrine route=iv dose={\"value\":1,\"unit\":\"mg\"}");
        assert_eq!(at(&whole, &aha(), 41).state().care.epinephrine_doses(), 1);
        assert!(!notes(&at(&whole, &aha(), 41), Role::Drugs, NoteKind::Assumption).contains("not counted"));
    }
    // More counts, and so does what has no mass: nobody gives twice on a doubt of ours.
    for whole in
        ["{\"value\":0.3,\"unit\":\"mg\"}", "{\"value\":1000,\"unit\":\"ug\"}", "{\"value\":1,\"unit\":\"mL\"}"]
    {
        assert_eq!(due(&given(whole)), 260_000, "{whole}");
        assert!(said(&given(whole)).is_empty());
    }
}

/// What is small for a child hangs on a weight that may be corrected, or on a protocol that may be changed, after the dose.
#[test]
fn a_childs_dose_counts_whatever_is_learned_of_its_weight_or_protocol_later() {
    let child = protocol::read(include_str!("../../../protocols/aha-child.toml")).unwrap();
    let text = "0 code_opened protocol={\"id\":\"aha-child\",\"version\":1} \
         patient={\"age_group\":\"child\",\"age_months\":36,\"weight_kg\":30} training=true\n\
         0 clock_started\n3s compressions_started\n20s rhythm_checked rhythm=asystole\n\
         70s drug_given drug=epinephrine route=iv dose={\"value\":0.09,\"unit\":\"mg\"}";
    let weighed = Script::new(&format!("{text}\n90s patient_updated weight_kg=13.6 weight_basis=length"));
    let due = |script: &Script, protocol: &Protocol| {
        of_drug(&at(script, protocol, 95), Action::GiveDrug, "epinephrine").map(|prompt| prompt.due_at_ms)
    };
    assert_eq!(at(&weighed, &child, 95).state().care.epinephrine_doses(), 1);
    assert_eq!(due(&weighed, &child), Some(310_000));
    let grown = Script::new(&format!(
        "{text}\n90s protocol_changed protocol={{\"id\":\"aha-adult\",\"version\":1}} reason=\"looks adult\"\n\
         91s patient_updated age_group=adult age_months=220"
    ));
    assert_eq!(at(&grown, &aha(), 95).state().care.epinephrine_doses(), 1);
    assert_eq!(due(&grown, &aha()), Some(310_000));
}

/// Ten times a child's dose is seen at once, and counts.
#[test]
fn a_dose_far_above_the_protocols_is_said() {
    let child = protocol::read(include_str!("../../../protocols/erc-child.toml")).unwrap();
    let given = |mg: f64, child: &Protocol| {
        let script = Script::new(&format!(
            "0 code_opened protocol={{\"id\":\"erc-child\",\"version\":1}} \
             patient={{\"age_group\":\"child\",\"weight_kg\":10}} training=true\n0 clock_started\n3s compressions_started\n\
             30s drug_given drug=epinephrine route=iv dose={{\"value\":{mg},\"unit\":\"mg\"}}"
        ));
        let snapshot = at(&script, child, 40);
        assert_eq!(snapshot.state().care.epinephrine_doses(), 1);
        notes(&snapshot, Role::Drugs, NoteKind::Assumption)
    };
    let said = "Epinephrine 1 mg at 0:30: more than 2 times the protocol's 0.1 mg";
    assert!(given(1.0, &child).contains(said), "{}", given(1.0, &child));
    assert!(!given(0.1, &child).contains("times") && !given(0.2, &child).contains("times"));
    // How many times is the file's; a text without it asks for no check.
    for (times, is_said) in [(Some(1.5), true), (Some(3.0), false), (None, false)] {
        let shipped = child.epinephrine.check_above_times.clone().unwrap();
        let changed = times.map(|value| protocol::Sourced { value, ..shipped });
        let mut other = child.clone();
        other.epinephrine.check_above_times = changed;
        assert_eq!(given(0.21, &other).contains("times"), is_said, "{times:?}");
    }
}

/// A syringe for another weight is not this dose.
#[test]
fn what_was_drawn_up_for_another_weight_is_not_ready() {
    let child = protocol::read(include_str!("../../../protocols/aha-child.toml")).unwrap();
    let script = |drawn_up_mg: f64| {
        Script::new(&format!(
            "0 code_opened protocol={{\"id\":\"aha-child\",\"version\":1}} \
             patient={{\"age_group\":\"child\",\"weight_kg\":12}} training=true\n0 clock_started\n3s compressions_started\n\
             10s rhythm_checked rhythm=asystole\n\
             12s drug_prepared drug=epinephrine dose={{\"value\":{drawn_up_mg},\"unit\":\"mg\"}}"
        ))
    };
    let give = |drawn_up_mg: f64| {
        of_drug(&at(&script(drawn_up_mg), &child, 25), Action::GiveDrug, "epinephrine").unwrap().detail
    };
    let wrong = give(1.0);
    assert_eq!(wrong.prepared, Some(false));
    assert_eq!(wrong.doubt.as_deref(), Some("drawn up: 1 mg; asked for now: 0.12 mg"));
    let right = give(0.12);
    assert_eq!((right.prepared, right.doubt), (Some(true), None));
}

/// Two leaders press start: the clock runs from the first, and so does what was told before it.
#[test]
fn a_second_start_of_the_clock_moves_nothing() {
    let script = |more: &str| {
        opened(
            "prior_care={\"epinephrine_doses\":1}",
            &format!("{more}\n3s compressions_started\n20s rhythm_checked rhythm=asystole"),
        )
    };
    let prompts = |script: &Script| -> Vec<(Action, i64)> {
        at(script, &aha(), 30).prompts().iter().map(|prompt| (prompt.action, prompt.due_at_ms)).collect()
    };
    assert_eq!(prompts(&script("1s clock_started recognised_ago_ms=600000")), prompts(&script("")));
}

/// A look just before the clock is the arrest's first look, whichever rhythm it found.
#[test]
fn asystole_seen_on_standby_makes_epinephrine_due_when_the_clock_is_started() {
    let script = |ago: &str, look: &str, start: &str| {
        Script::new(&format!(
            "0 code_opened protocol={{\"id\":\"x\",\"version\":1}} patient={{\"age_group\":\"adult\"}} training=true\n\
             {look}\n0 clock_started {ago}\n{start}s compressions_started"
        ))
    };
    let due = |script: &Script, at_s: i64| {
        of_drug(&at(script, &aha(), at_s), Action::GiveDrug, "epinephrine").map(|prompt| prompt.due_at_ms)
    };
    let look = "0 rhythm_checked rhythm=asystole";
    assert_eq!(due(&script("", look, "3"), 10), Some(0));
    assert_eq!(due(&script("recognised_ago_ms=300000", look, "303"), 310), Some(300_000), "not late since recognition");
    // After a late start a shockable look of before it asks for no stop that was due long ago.
    let late = script("recognised_ago_ms=300000", "0 rhythm_checked rhythm=vf", "303");
    assert!(shown(&at(&late, &erc(), 305), Role::Compressor, Action::PauseForCheck).is_none());
    assert!(shown(&at(&late, &erc(), 305), Role::Defibrillator, Action::Charge).is_some());
}

/// Lidocaine for the pain of a needle in the bone is no antiarrhythmic of the arrest, and nothing is nothing.
#[test]
fn an_antiarrhythmic_counts_from_the_first_shockable_rhythm_on() {
    let doses = |before: &str| {
        let script = opened("", &format!("3s compressions_started\n{before}\n{}", three_shocks()));
        let snapshot = at(&script, &aha(), 295);
        let said = notes(&snapshot, Role::Drugs, NoteKind::Assumption);
        (of_drug(&snapshot, Action::GiveDrug, "amiodarone").is_some(), said)
    };
    let (asked, said) = doses("5s drug_given drug=lidocaine route=io dose={\"value\":40,\"unit\":\"mg\"}");
    assert!(asked && said.contains("lidocaine at 0:05"), "{said}");
    assert!(
        doses("5s rhythm_checked rhythm=vf\n6s drug_given drug=amiodarone route=iv dose={\"value\":0,\"unit\":\"mg\"}")
            .0
    );
    assert!(!doses("5s rhythm_checked rhythm=vf\n6s drug_given drug=amiodarone route=iv").0, "given early, it counts");
}

/// Of shocks before arrival that are told of late, nothing is late before the telling.
#[test]
fn prior_shocks_make_a_dose_due_when_they_are_told() {
    let script =
        opened("", &format!("3s compressions_started\n{VF_1}140s prior_care_reported prior_care={{\"shocks\":2}}"));
    for (protocol, drug) in [(aha(), "epinephrine"), (erc(), "epinephrine"), (aha(), "amiodarone")] {
        assert_eq!(of_drug(&at(&script, &protocol, 141), Action::GiveDrug, drug).unwrap().due_at_ms, 140_000, "{drug}");
    }
}

/// The other guideline asks for a dose that the first one did not yet: due at the change.
#[test]
fn a_changed_protocol_makes_nothing_late_at_once() {
    let script = opened(
        "",
        "3s compressions_started\n4s circumstance_set name=hypothermia on=true\n5s vital_read temp_c=28 temp_site=core\n\
             10s rhythm_checked rhythm=asystole\n500s protocol_changed protocol={\"id\":\"aha-adult\",\"version\":1} reason=\"other guideline\"",
    );
    let due = of_drug(&at(&script, &aha(), 501), Action::GiveDrug, "epinephrine").unwrap();
    assert_eq!((due.due_at_ms, due.late_at_ms), (500_000, Some(560_000)));
}

/// British names are names of the same drugs.
#[test]
fn adrenaline_is_epinephrine() {
    let script = opened(
        "",
        "3s compressions_started\n20s drug_given drug=Adrenaline route=iv\n22s drug_given drug=lignocaine route=iv",
    );
    let snapshot = at(&script, &aha(), 30);
    assert_eq!(snapshot.state().care.epinephrine_doses(), 1);
    let measured = crate::measure::measure(script.records(), &aha());
    assert_eq!(measured.first_epinephrine_ms, Some(20_000));
    assert!(snapshot.state().care.drugs.contains_key("lidocaine"));
}

/// The clock was started two minutes late: what was told before it was told then, not at recognition.
#[test]
fn care_told_before_a_late_start_counts_from_the_start_of_the_clock() {
    let script = |prior: &str| {
        Script::new(&format!(
            "0 code_opened protocol={{\"id\":\"x\",\"version\":1}} patient={{\"age_group\":\"adult\"}} training=true \
             prior_care={{\"epinephrine_doses\":1{prior}}}\n0 clock_started recognised_ago_ms=120000\n125s compressions_started"
        ))
    };
    let due = |prior: &str| {
        of_drug(&at(&script(prior), &aha(), 130), Action::DrawUp, "epinephrine")
            .or_else(|| of_drug(&at(&script(prior), &aha(), 130), Action::GiveDrug, "epinephrine"))
            .map(|prompt| prompt.detail.give_at_ms.unwrap_or(prompt.due_at_ms))
    };
    assert_eq!(due(""), Some(360_000), "at an unknown time: taken as given when the clock was started");
    assert_eq!(due(",\"last_epinephrine_at_ms\":-200000"), Some(120_000), "its time is over: due when it was told");
    let mut twice = script("");
    twice.extend("130s clock_started recognised_ago_ms=60000");
    let draw = of_drug(&at(&twice, &aha(), 310), Action::DrawUp, "epinephrine").unwrap();
    assert_eq!(draw.detail.give_at_ms, Some(360_000), "a second start changes nothing");
}

#[test]
fn an_antiarrhythmic_again_without_a_shock_between_is_asked_about() {
    let first = format!("{}300s drug_given drug=amiodarone route=iv\n", three_shocks());
    let twice = opened("", &format!("{first}330s drug_given drug=amiodarone route=iv"));
    let ask = shown(&at(&twice, &aha(), 331), Role::Drugs, Action::ConfirmSecondDose).unwrap();
    assert_eq!((ask.detail.drug.as_deref(), ask.detail.apart_ms), (Some("amiodarone"), Some(30_000)));
    let shocked =
        opened("", &format!("{first}320s shock_delivered energy_j=200\n330s drug_given drug=amiodarone route=iv"));
    assert!(shown(&at(&shocked, &aha(), 331), Role::Drugs, Action::ConfirmSecondDose).is_none());
}

#[test]
fn an_early_dose_shifts_the_next_and_a_late_one_stays_late() {
    let script = opened(
        "",
        "3s compressions_started\n10s rhythm_checked rhythm=asystole\n20s drug_given drug=epinephrine route=iv\n210s drug_prepared drug=epinephrine",
    );
    let early = shown(&at(&script, &aha(), 215), Role::Drugs, Action::GiveDrug).unwrap();
    assert_eq!(early.detail.too_early_until_ms, Some(200_000));
    let soon = Script::new(
        "0 clock_started\n10s rhythm_checked rhythm=asystole\n20s drug_given drug=epinephrine route=iv\n150s drug_prepared drug=epinephrine",
    );
    let line = at(&soon, &aha(), 151).view(&BTreeSet::from([Role::Drugs])).drugs[0].clone();
    assert_eq!(
        (line.too_early_until_ms, line.due_at_ms, line.latest_ms),
        (Some(200_000), Some(260_000), Some(320_000))
    );
    let mut given = opened(
        "",
        "10s rhythm_checked rhythm=asystole\n20s drug_given drug=epinephrine route=iv\n205s drug_given drug=epinephrine route=iv",
    );
    assert_eq!(of_drug(&at(&given, &aha(), 206), Action::GiveDrug, "epinephrine").unwrap().due_at_ms, 445_000);
    let late = of_drug(&at(&given, &aha(), 700), Action::GiveDrug, "epinephrine").unwrap();
    assert_eq!((late.due_at_ms, late.late_at_ms), (445_000, Some(505_000)));
    given.extend("700s drug_given drug=epinephrine route=iv");
    assert_eq!(of_drug(&at(&given, &aha(), 701), Action::GiveDrug, "epinephrine").unwrap().due_at_ms, 940_000);
}

const ROSC: &str = "3s compressions_started\n10s rhythm_checked rhythm=perfusing pulse=present\n12s rosc\n";

fn line(snapshot: &Snapshot, id: &str) -> TargetLine {
    let view = snapshot.view(&BTreeSet::from([Role::Leader]));
    view.aftercare.into_iter().find(|line| line.id == id).unwrap()
}

fn oxygen(snapshot: &Snapshot) -> Option<Prompt> {
    let visible = snapshot.visible(Role::Airway);
    visible.into_iter().find(|prompt| prompt.key.ends_with(":oxygen"))
}

#[test]
fn a_reading_outside_its_target_keeps_the_question_and_one_within_answers_it() {
    let mut script = opened("", &format!("{ROSC}60s vital_read spo2_pct=99"));
    let snapshot = at(&script, &erc(), 61);
    assert_eq!(oxygen(&snapshot).unwrap().detail.doubt.as_deref(), Some("SpO2 99 %: above 94 to 98"));
    let oxygen_line = line(&snapshot, "oxygen");
    assert_eq!(
        (oxygen_line.within, oxygen_line.at_ms, oxygen_line.reading.as_deref()),
        (Some(false), Some(60_000), Some("SpO2 99 %"))
    );
    script.extend("90s vital_read spo2_pct=96");
    assert!(oxygen(&at(&script, &erc(), 91)).is_none());
    assert_eq!(line(&at(&script, &erc(), 91), "oxygen").within, Some(true));
    // Asked again after the protocol's time, and each answer counts from its own.
    let again = oxygen(&at(&script, &erc(), 390)).unwrap();
    assert_eq!((again.due_at_ms, again.detail.doubt), (390_000, None));
    script.push(400_000, Event::TaskDone { prompt: again.key });
    assert!(oxygen(&at(&script, &erc(), 401)).is_none());
    assert!(oxygen(&at(&script, &erc(), 700)).is_some());
    // Who does not keep the whole picture has no lines.
    assert!(at(&script, &erc(), 91).view(&BTreeSet::from([Role::Compressor])).aftercare.len() <= 6);
    let named = opened("", ROSC);
    let mut named = named;
    named.push(13_000, Event::RoleAssigned { role: Role::Leader, device: crate::testing::device(1), person: None });
    named.push(13_000, Event::RoleAssigned { role: Role::Recorder, device: crate::testing::device(2), person: None });
    assert!(at(&named, &erc(), 20).view(&BTreeSet::from([Role::Compressor])).aftercare.is_empty());
    assert_eq!(at(&named, &erc(), 20).view(&BTreeSet::from([Role::Recorder])).aftercare.len(), 6);
}

#[test]
fn the_mean_pressure_counts_where_both_values_were_read() {
    // 100/40: mean 60 (common formula). Systolic alone says nothing of it.
    for (reading, doubt) in [
        ("systolic_mmhg=100 diastolic_mmhg=40", Some("mean 60 mmHg: below 65")),
        ("systolic_mmhg=120 diastolic_mmhg=60", None),
        ("systolic_mmhg=100", None),
        // 64.67 is shown as 65, and 65 is not below 65.
        ("systolic_mmhg=90 diastolic_mmhg=52", None),
        ("systolic_mmhg=89 diastolic_mmhg=70", Some("systolic 89 mmHg: below 90")),
    ] {
        let script = opened("", &format!("{ROSC}60s vital_read {reading}"));
        let snapshot = at(&script, &aha(), 61);
        let asked =
            shown(&snapshot, Role::Drugs, Action::Aftercare).filter(|prompt| prompt.key.ends_with(":blood_pressure"));
        assert_eq!(asked.and_then(|prompt| prompt.detail.doubt).as_deref(), doubt, "{reading}");
    }
}

#[test]
fn a_second_return_of_circulation_starts_aftercare_anew_and_the_counts_stay() {
    let mut script = opened(
        "",
        &format!(
            "{VF_1}40s drug_given drug=epinephrine route=iv\n60s rosc\n70s vital_read spo2_pct=96\n80s task_done prompt=aftercare@x:oxygen"
        ),
    );
    assert!(oxygen(&at(&script, &aha(), 75)).is_none());
    script.extend("100s arrest_again");
    let again = at(&script, &aha(), 101);
    let counts = again.view(&BTreeSet::new()).counts;
    assert_eq!((counts.shocks, counts.looks, counts.roscs, again.state().care.epinephrine_doses()), (1, 1, 1, 1));
    assert!(again.prompts().iter().all(|prompt| prompt.action != Action::Aftercare));
    script.extend("130s rosc");
    let rosc = at(&script, &aha(), 131);
    assert_eq!(oxygen(&rosc).unwrap().due_at_ms, 250_000);
    assert_eq!((line(&rosc, "oxygen").reading, line(&rosc, "oxygen").within), (None, None));
}

/// A tick that names its own record must not send the plan round in circles.
#[test]
fn a_tick_that_ticks_itself_is_harmless() {
    let own = crate::testing::id(6);
    let mut script = opened("", ROSC);
    let first = oxygen(&at(&script, &aha(), 13)).unwrap().key;
    script.push(20_000, Event::TaskDone { prompt: format!("aftercare@{own}:oxygen") });
    script.push(21_000, Event::TaskDone { prompt: first });
    script.push(22_000, Event::TaskDone { prompt: format!("aftercare@{}:oxygen", crate::testing::id(7)) });
    assert!(oxygen(&at(&script, &aha(), 23)).is_none());
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

/// A device that holds every role, with all that this file is about at once.
#[test]
fn a_view_with_notes_and_targets_fits_and_keeps_its_tasks() {
    let every: BTreeSet<Role> = Role::ALL.iter().copied().collect();
    let prior = "prior_care={\"shocks\":3,\"epinephrine_doses\":2,\"amiodarone_mg\":300}";
    let place = "y".repeat(300);
    let script = opened(
        &format!("{prior} location={place}"),
        &format!(
            "{}1000s moved location={place}\n1010s ecmo_started\n1020s death_declared\n1100s drug_given drug=epinephrine route=iv\n\
         1101s drug_given drug=epinephrine route=iv\n1300s rosc\n1310s vital_read spo2_pct=99 systolic_mmhg=80 diastolic_mmhg=30 temp_c=39\n\
         1311s lab_read paco2_mmhg=60\n",
            three_shocks()
        ),
    );
    for protocol in [aha(), erc()] {
        for at_s in [1, 30, 300, 1_050, 1_102, 1_250, 1_301, 1_312, 1_700] {
            let snapshot = at(&script, &protocol, at_s);
            for roles in [every.clone(), BTreeSet::from([Role::Leader]), BTreeSet::from([Role::Recorder])] {
                let whole = snapshot.view(&roles);
                let mut view = whole.clone();
                fit(&mut view, 3_600);
                let size = serde_json::to_string(&view).unwrap().len();
                let limit = if roles.len() == 1 { 3_600 } else { 5_000 };
                assert!(size <= limit, "{size} bytes for {roles:?} at {at_s} s");
                let showing = |view: &crate::view::View| {
                    let prompts = view.prompts.iter().filter(|prompt| prompt.show_at_ms <= at_s * 1_000);
                    prompts.map(|prompt| prompt.key.clone()).collect::<Vec<_>>()
                };
                assert_eq!(showing(&view), showing(&whole));
            }
        }
    }
}

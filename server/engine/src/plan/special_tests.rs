use super::*;
use crate::prompt::Prompt;
use crate::protocol::Protocol;
use crate::snapshot::{Knowledge, Snapshot};
use crate::testing::{Script, id};
use crate::view::{HandsOrder, Note, View};

fn aha() -> Protocol {
    crate::protocol::read(include_str!("../../../protocols/aha-adult.toml")).unwrap()
}

fn erc() -> Protocol {
    crate::protocol::read(include_str!("../../../protocols/erc-adult.toml")).unwrap()
}

fn at(script: &Script, protocol: &Protocol, at_s: i64) -> Snapshot {
    Snapshot::at(script.records(), protocol, at_s * 1_000, Knowledge::AsKnown)
}

fn shown(script: &Script, protocol: &Protocol, at_s: i64, role: Role) -> Vec<Prompt> {
    at(script, protocol, at_s).visible(role)
}

fn asks(script: &Script, protocol: &Protocol, at_s: i64, role: Role, action: Action) -> Option<Prompt> {
    shown(script, protocol, at_s, role).into_iter().find(|prompt| prompt.action == action)
}

/// The task of a circumstance, if it shows.
fn task(script: &Script, protocol: &Protocol, at_s: i64, role: Role, name: &str) -> Option<Prompt> {
    shown(script, protocol, at_s, role).into_iter().find(|prompt| prompt.key.ends_with(&format!(":{name}")))
}

fn view(script: &Script, protocol: &Protocol, at_s: i64, role: Role) -> View {
    at(script, protocol, at_s).view(&[role].into())
}

fn notes(script: &Script, protocol: &Protocol, at_s: i64, role: Role, kind: NoteKind) -> Vec<String> {
    let of_kind = |note: Note| (note.kind == kind).then_some(note.text);
    view(script, protocol, at_s, role).notes.into_iter().filter_map(of_kind).collect()
}

/// Epinephrine that is due, not merely expected.
fn epinephrine(script: &Script, protocol: &Protocol, at_s: i64) -> Option<Prompt> {
    shown(script, protocol, at_s, Role::Drugs).into_iter().find(|prompt| {
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

// Pregnancy: S1 to S6.

#[test]
fn the_clock_of_a_delivery_runs_from_recognition_however_late_the_circumstance_is_set() {
    for protocol in [aha(), erc()] {
        let script = begun(&set(30, "pregnancy"));
        let prepare = task(&script, &protocol, 30, Role::Leader, "pregnancy.prepare_delivery").unwrap();
        assert!(prepare.due_at_ms <= 30_000);
        assert!(task(&script, &protocol, 30, Role::Relief, "pregnancy.displacement").is_some());
        let decide = task(&script, &protocol, 200, Role::Leader, "pregnancy.decide_delivery").unwrap();
        assert_eq!((decide.due_at_ms, decide.late_at_ms), (240_000, Some(240_000)));
        let deliver = task(&script, &protocol, 250, Role::Leader, "pregnancy.deliver").unwrap();
        assert_eq!((deliver.due_at_ms, deliver.late_at_ms), (300_000, Some(300_000)));
        assert_eq!(deliver.tap, Some(Event::Delivery { note: None }));
        assert!(deliver.done_by.iter().any(|kind| kind == "delivery"));

        let late = begun(&set(420, "pregnancy"));
        let deliver = task(&late, &protocol, 420, Role::Leader, "pregnancy.deliver").unwrap();
        assert_eq!((deliver.due_at_ms, deliver.show_at_ms, deliver.late_at_ms), (300_000, 420_000, Some(300_000)));
    }
}

#[test]
fn a_delivery_ends_what_leads_to_it_and_makes_two_patients() {
    let mut script = begun(&set(30, "pregnancy"));
    script.extend("290s delivery");
    let protocol = aha();
    for name in ["prepare_delivery", "decide_delivery", "deliver"] {
        assert!(task(&script, &protocol, 300, Role::Leader, &format!("pregnancy.{name}")).is_none(), "{name}");
    }
    let said = notes(&script, &protocol, 300, Role::Leader, NoteKind::Information);
    assert!(said.iter().any(|text| text.contains("two patients")), "{said:?}");
    let before = notes(&script, &protocol, 200, Role::Leader, NoteKind::Information);
    assert!(!before.iter().any(|text| text.contains("two patients")), "{before:?}");
}

#[test]
fn below_twenty_weeks_displacement_and_delivery_are_not_asked_and_a_note_says_so() {
    let mut script = begun(&set(30, "pregnancy"));
    script.extend("40s patient_updated gestation_weeks=18");
    let protocol = erc();
    assert!(task(&script, &protocol, 41, Role::Leader, "pregnancy.prepare_delivery").is_none());
    assert!(task(&script, &protocol, 41, Role::Relief, "pregnancy.displacement").is_none());
    let said = notes(&script, &protocol, 41, Role::Leader, NoteKind::Withheld);
    assert!(said[0].contains("18 weeks") && said[0].contains("Delivery"), "{said:?}");
    script.extend("50s patient_updated gestation_weeks=20");
    assert!(task(&script, &protocol, 51, Role::Leader, "pregnancy.prepare_delivery").is_some());
}

#[test]
fn access_goes_above_the_diaphragm_and_energies_and_doses_stay() {
    let script = Script::new(&format!("0 clock_started\n{}", set(1, "pregnancy")));
    let access = asks(&script, &aha(), 2, Role::Drugs, Action::GainAccess).unwrap();
    assert_eq!(access.detail.target.as_deref(), Some("above the diaphragm"));
    let script = begun(&format!("{}{}", set(1, "pregnancy"), ASYSTOLE));
    assert_eq!(epinephrine(&script, &aha(), 20).unwrap().detail.dose.unwrap().value, 1.0);
}

#[test]
fn a_circumstance_may_be_switched_off_voided_amended_or_come_late() {
    let protocol = aha();
    let prepare = |script: &Script, at_s| task(script, &protocol, at_s, Role::Leader, "pregnancy.prepare_delivery");
    let mut script = begun(&set(30, "pregnancy"));
    assert!(prepare(&script, 31).is_some());
    assert_eq!(view(&script, &protocol, 31, Role::Leader).circumstances, [crate::event::Circumstance::Pregnancy]);
    script.extend("40s circumstance_set name=pregnancy on=false");
    assert!(prepare(&script, 41).is_none());
    assert!(view(&script, &protocol, 41, Role::Leader).circumstances.is_empty());
    // The switching off was a slip.
    script.push(50_000, Event::Voided { target: id(6), reason: "slip".into() });
    assert!(prepare(&script, 51).is_some());
    script.push(
        60_000,
        Event::Amended {
            target: id(5),
            at_ms: None,
            event: Some(Box::new(Event::CircumstanceSet { name: crate::event::Circumstance::Opioid, on: true })),
            reason: "wrong button".into(),
        },
    );
    assert!(prepare(&script, 61).is_none());
    assert!(task(&script, &protocol, 61, Role::Airway, "opioid.ventilate").is_some());
    // Set on standby, and entered late: both count.
    let standby = Script::new(&format!("0 circumstance_set name=pregnancy on=true\n{START}"));
    assert!(prepare(&standby, 1).is_some());
}

#[test]
fn after_return_of_circulation_nothing_of_the_arrest_is_asked_and_in_the_next_arrest_it_is_again() {
    let protocol = aha();
    let mut script = begun(&set(30, "pregnancy"));
    let prepare = task(&script, &protocol, 31, Role::Leader, "pregnancy.prepare_delivery").unwrap();
    script.push(35_000, Event::TaskDone { prompt: prepare.key });
    assert!(task(&script, &protocol, 36, Role::Leader, "pregnancy.prepare_delivery").is_none());
    script.extend("60s rosc");
    // The uterus presses on the great vessels with circulation too; nothing else of it belongs here.
    for role in Role::ALL {
        let asked = shown(&script, &protocol, 61, *role).into_iter();
        let mut asked = asked.filter(|prompt| prompt.action == Action::SpecialCare);
        assert!(asked.all(|prompt| prompt.key.ends_with(":pregnancy.displacement")));
    }
    script.extend("200s arrest_again");
    let again = task(&script, &protocol, 440, Role::Leader, "pregnancy.deliver").unwrap();
    assert_eq!(again.due_at_ms, 500_000, "five minutes from the new arrest");
    assert!(task(&script, &protocol, 201, Role::Leader, "pregnancy.prepare_delivery").is_some());
}

// Hypothermia: S10 to S17.

#[test]
fn below_thirty_degrees_erc_withholds_drugs_and_aha_does_not() {
    let script = begun(&format!("{}{}{ASYSTOLE}", set(1, "hypothermia"), core(2, 28.0)));
    assert!(epinephrine(&script, &aha(), 20).is_some());
    let protocol = erc();
    let drug = [Action::GiveDrug, Action::DrawUp];
    assert!(!shown(&script, &protocol, 20, Role::Drugs).iter().any(|prompt| drug.contains(&prompt.action)));
    let line = &view(&script, &protocol, 20, Role::Drugs).drugs[0];
    assert!(line.withheld && line.due_at_ms.is_none() && line.latest_ms.is_none(), "{line:?}");
    for role in [Role::Leader, Role::Drugs] {
        let said = notes(&script, &protocol, 20, role, NoteKind::Withheld);
        assert!(said[0].contains("28 °C") && said[0].contains("below 30 °C"), "{said:?}");
    }
    assert!(!view(&script, &aha(), 20, Role::Drugs).drugs[0].withheld);
}

#[test]
fn warming_past_a_threshold_changes_the_plan_at_once_and_so_does_cooling() {
    let protocol = erc();
    let mut script = begun(&format!("{}{}{ASYSTOLE}", set(1, "hypothermia"), core(2, 28.0)));
    assert!(epinephrine(&script, &protocol, 99).is_none());
    // Never given, and its time has passed: due at the reading.
    script.extend(&core(100, 30.0));
    let first = epinephrine(&script, &protocol, 100).unwrap();
    assert_eq!(first.due_at_ms, 100_000);
    script.extend(&format!("110s {GIVEN}"));
    // 8 min, and a window from 6 to 10 min.
    assert_eq!(at(&script, &protocol, 120).plan().drugs[0].due_ms, 590_000);
    let line = view(&script, &protocol, 120, Role::Drugs).drugs[0].clone();
    assert_eq!(
        (line.due_at_ms, line.too_early_until_ms, line.latest_ms),
        (Some(590_000), Some(470_000), Some(710_000))
    );
    let next = epinephrine(&script, &protocol, 580).unwrap();
    assert_eq!((next.late_at_ms, next.detail.too_early_until_ms), (Some(710_000), Some(470_000)));
    // At 35 degrees the standard interval has passed: due at that reading.
    script.extend(&core(400, 35.0));
    let now = epinephrine(&script, &protocol, 400).unwrap();
    assert_eq!((now.due_at_ms, now.late_at_ms), (400_000, Some(460_000)));
    // And cold again: nothing.
    script.extend(&core(410, 29.9));
    assert!(epinephrine(&script, &protocol, 411).is_none());
    script.extend("420s circumstance_set name=hypothermia on=false");
    assert_eq!(epinephrine(&script, &protocol, 420).unwrap().due_at_ms, 420_000);
}

#[test]
fn an_antiarrhythmic_is_withheld_too_and_due_at_the_reading_that_ends_it() {
    let protocol = erc();
    let shocks: String = [15, 145, 275].into_iter().map(shocked).collect();
    let mut script = begun(&format!("{}{}{shocks}", set(1, "hypothermia"), core(2, 29.0)));
    let amiodarone = |script: &Script, at_s| {
        shown(script, &protocol, at_s, Role::Drugs)
            .into_iter()
            .find(|prompt| prompt.action == Action::GiveDrug && prompt.detail.drug.as_deref() == Some("amiodarone"))
    };
    assert!(amiodarone(&script, 290).is_none());
    script.extend(&core(300, 31.0));
    assert_eq!(amiodarone(&script, 300).unwrap().due_at_ms, 300_000);
    assert_eq!(epinephrine(&script, &protocol, 300).unwrap().due_at_ms, 300_000);
}

#[test]
fn below_thirty_degrees_three_shocks_are_the_most_and_the_checks_go_on() {
    let protocol = erc();
    let shocks: String = [15, 145, 275].into_iter().map(shocked).collect();
    let mut script = begun(&format!("{}{}{shocks}", set(1, "hypothermia"), core(2, 29.0)));
    assert!(asks(&script, &protocol, 390, Role::Defibrillator, Action::ChargeAhead).is_none());
    script.extend("403s compressions_stopped reason=rhythm_check\n406s rhythm_checked rhythm=vf pulse=absent");
    for at_s in [406, 410, 420] {
        let asked = shown(&script, &protocol, at_s, Role::Defibrillator);
        let shock = [Action::Charge, Action::ChargeAhead, Action::CallAllClear, Action::GiveShock];
        assert!(!asked.iter().any(|prompt| shock.contains(&prompt.action)), "{asked:?}");
        assert_eq!(at(&script, &protocol, at_s).plan().hands.now, HandsOrder::Compress);
    }
    script.extend("408s compressions_started");
    assert_eq!(at(&script, &protocol, 420).plan().next_check.unwrap().due_ms, 528_000);
    let said = notes(&script, &protocol, 420, Role::Defibrillator, NoteKind::Withheld);
    assert!(said[0].contains("3 shocks given; at most 3"), "{said:?}");
    // The standard plan shocks on.
    assert!(asks(&script, &aha(), 410, Role::Defibrillator, Action::Charge).is_some());
    // Warmer: shocks as usual from the next check on.
    script.extend(&core(500, 30.5));
    assert!(asks(&script, &protocol, 516, Role::Defibrillator, Action::ChargeAhead).is_some());
    script.extend("529s compressions_stopped reason=rhythm_check\n532s rhythm_checked rhythm=vf pulse=absent");
    assert!(asks(&script, &protocol, 533, Role::Defibrillator, Action::Charge).is_some());
}

#[test]
fn shocks_before_arrival_count_and_a_charge_that_is_held_is_dumped() {
    let protocol = erc();
    let mut script = begun(&format!("{}{}", set(1, "hypothermia"), core(2, 29.0)));
    script.extend(
        "9s prior_care_reported shocks=2\n12s compressions_stopped reason=rhythm_check\n15s rhythm_checked rhythm=vf\n\
         16s compressions_started\n17s charging_started energy_j=200",
    );
    assert!(asks(&script, &protocol, 20, Role::Defibrillator, Action::CallAllClear).is_some(), "the third is allowed");
    script.extend("21s prior_care_reported shocks=3");
    assert!(asks(&script, &protocol, 21, Role::Defibrillator, Action::CallAllClear).is_none());
    assert!(asks(&script, &protocol, 21, Role::Defibrillator, Action::DumpCharge).is_some());
    assert_eq!(at(&script, &protocol, 21).plan().next_check.unwrap().due_ms, 141_000, "the cycle goes on");
}

/// The temperature comes in while everybody stands clear: no shock is asked for any more, and hands wait for the dump.
#[test]
fn a_reading_in_the_middle_of_all_clear_takes_the_shock_back_and_leaves_hands_off() {
    let protocol = erc();
    let mut script = begun(&set(1, "hypothermia"));
    script.extend(
        "9s prior_care_reported shocks=3\n12s compressions_stopped reason=rhythm_check\n15s rhythm_checked rhythm=vf\n\
         16s charging_started energy_j=200\n22s all_clear_called",
    );
    assert!(asks(&script, &protocol, 23, Role::Defibrillator, Action::GiveShock).is_some());
    script.extend(&core(24, 28.0));
    assert!(asks(&script, &protocol, 24, Role::Defibrillator, Action::GiveShock).is_none());
    assert!(asks(&script, &protocol, 24, Role::Defibrillator, Action::DumpCharge).is_some());
    assert_eq!(at(&script, &protocol, 24).plan().hands.now, HandsOrder::Clear);
    script.extend("26s charge_dumped");
    assert_eq!(at(&script, &protocol, 26).plan().hands.now, HandsOrder::Compress);
}

#[test]
fn without_a_core_temperature_the_plan_is_the_standard_one_and_says_so() {
    let protocol = erc();
    let mut script = begun(&format!(
        "{}{ASYSTOLE}\n17s vital_read temp_c=27 temp_site=other\n18s vital_read temp_c=27",
        set(1, "hypothermia")
    ));
    assert!(epinephrine(&script, &protocol, 20).is_some());
    assert!(task(&script, &protocol, 20, Role::Recorder, "hypothermia.core_temperature").is_some());
    let said = notes(&script, &protocol, 20, Role::Leader, NoteKind::Assumption);
    assert!(said[0].contains("no core temperature known"), "{said:?}");
    script.extend(&core(30, 27.0));
    assert!(task(&script, &protocol, 31, Role::Recorder, "hypothermia.core_temperature").is_none());
    assert!(notes(&script, &protocol, 31, Role::Leader, NoteKind::Assumption).is_empty());
    let again = task(&script, &protocol, 630, Role::Recorder, "hypothermia.core_temperature").unwrap();
    assert_eq!(again.due_at_ms, 630_000, "asked again as the patient warms");
    assert_eq!(view(&script, &protocol, 31, Role::Leader).patient.core_temp_c, Some(27.0));
    // The latest by time counts, whatever order the readings came in.
    script.extend("40s vital_read temp_c=36 temp_site=core\n35s patient_updated core_temp_c=26");
    assert_eq!(view(&script, &protocol, 41, Role::Leader).patient.core_temp_c, Some(36.0));
}

#[test]
fn a_cold_reading_alone_changes_nothing_and_asks_the_leader() {
    for protocol in [aha(), erc()] {
        let mut script = begun(&format!("{}{ASYSTOLE}", core(2, 28.0)));
        assert!(epinephrine(&script, &protocol, 20).is_some(), "not set: the standard plan");
        let consider = asks(&script, &protocol, 20, Role::Leader, Action::ConsiderCircumstance).unwrap();
        assert_eq!(consider.detail.circumstance, Some(crate::event::Circumstance::Hypothermia));
        let tap = Event::CircumstanceSet { name: crate::event::Circumstance::Hypothermia, on: true };
        assert_eq!(consider.tap, Some(tap.clone()));
        script.push(21_000, tap);
        assert!(asks(&script, &protocol, 22, Role::Leader, Action::ConsiderCircumstance).is_none());
        // Switched off: the leader has decided about this reading, and a new one asks anew.
        script.extend("30s circumstance_set name=hypothermia on=false");
        assert!(asks(&script, &protocol, 31, Role::Leader, Action::ConsiderCircumstance).is_none());
        script.extend(&core(40, 34.9));
        assert!(asks(&script, &protocol, 41, Role::Leader, Action::ConsiderCircumstance).is_some());
        script.extend(&core(50, 35.0));
        assert!(asks(&script, &protocol, 51, Role::Leader, Action::ConsiderCircumstance).is_none());
    }
}

// Opioid: S20, S21.

#[test]
fn naloxone_waits_for_compressions_and_breaths() {
    let protocol = aha();
    let mut script = Script::new(&format!("0 clock_started\n{}", set(1, "opioid")));
    let naloxone = |script: &Script, at_s| task(script, &protocol, at_s, Role::Drugs, "opioid.naloxone");
    assert!(task(&script, &protocol, 2, Role::Airway, "opioid.ventilate").is_some());
    assert!(naloxone(&script, 2).is_none());
    script.extend("5s compressions_started");
    assert!(naloxone(&script, 6).is_none());
    script.extend("10s breaths_given count=2");
    let asked = naloxone(&script, 11).unwrap();
    assert!(asked.detail.rule.unwrap().contains("local protocol") && asked.detail.dose.is_none());
    assert_eq!(asked.tap, None, "without a line nobody knows the route");
    script.extend("15s access_gained route=io");
    let tap = naloxone(&script, 16).unwrap().tap;
    assert!(matches!(tap, Some(Event::DrugGiven { route: crate::event::Route::Io, .. })), "{tap:?}");
    script.extend("20s drug_given drug=naloxone route=intranasal");
    assert!(naloxone(&script, 21).is_none());
}

// Hyperkalaemia: S30 to S33.

#[test]
fn a_high_potassium_suggests_the_circumstance_and_its_tasks_follow() {
    let mut script = begun("10s lab_read potassium_mmol_l=6.4");
    let protocol = erc();
    assert!(asks(&script, &protocol, 11, Role::Leader, Action::ConsiderCircumstance).is_none());
    script.extend("12s lab_read potassium_mmol_l=6.5");
    assert!(asks(&script, &protocol, 13, Role::Leader, Action::ConsiderCircumstance).is_some());
    script.extend(&set(14, "hyperkalaemia"));
    let calcium = task(&script, &protocol, 15, Role::Drugs, "hyperkalaemia.calcium").unwrap();
    assert_eq!(calcium.detail.volume, Some(Dose { value: 10.0, unit: "mL".into() }));
    let aha_calcium = task(&script, &aha(), 15, Role::Drugs, "hyperkalaemia.calcium").unwrap();
    assert!(aha_calcium.detail.volume.is_none() && aha_calcium.detail.rule.unwrap().contains("local protocol"));
    let insulin = task(&script, &protocol, 15, Role::Drugs, "hyperkalaemia.insulin").unwrap();
    assert_eq!(insulin.detail.rule.as_deref(), Some("10 units with glucose 25 g"));
    let glucose = |script: &Script, at_s| task(script, &protocol, at_s, Role::Drugs, "hyperkalaemia.glucose");
    assert!(glucose(&script, 15).is_none(), "no glucose known");
    script.extend("20s vital_read glucose_mmol_l=7.0");
    assert!(glucose(&script, 21).is_none());
    script.extend("30s vital_read glucose_mmol_l=6.9");
    assert!(glucose(&script, 31).is_some());
    script.extend("40s drug_given drug=calcium_chloride route=iv");
    assert!(task(&script, &protocol, 41, Role::Drugs, "hyperkalaemia.calcium").is_none());
}

// Drowning: S40, S41.

#[test]
fn initial_breaths_are_asked_until_given_and_never_take_hands_off() {
    let script = Script::new(&format!("0 circumstance_set name=drowning on=true\n{START}"));
    let breaths = asks(&script, &erc(), 5, Role::Airway, Action::InitialBreaths).unwrap();
    assert_eq!((breaths.detail.breaths, breaths.tap), (Some(5), Some(Event::BreathsGiven { count: 5 })));
    let aha_breaths = asks(&script, &aha(), 5, Role::Airway, Action::InitialBreaths).unwrap();
    assert!(aha_breaths.detail.breaths.is_none() && aha_breaths.detail.target.unwrap().contains("rescue breathing"));
    assert_eq!(at(&script, &erc(), 5).plan().hands.now, HandsOrder::Compress);
    for end in
        ["9s breaths_given count=5", "9s airway_placed airway=tracheal", "9s compressions_stopped reason=rhythm_check"]
    {
        let mut ended = Script::new(&format!("0 circumstance_set name=drowning on=true\n{START}"));
        ended.extend(end);
        assert!(asks(&ended, &erc(), 10, Role::Airway, Action::InitialBreaths).is_none(), "{end}");
    }
    assert!(asks(&script, &erc(), 121, Role::Airway, Action::InitialBreaths).is_none(), "the first cycle is over");
}

// Anaphylaxis: S50, S51.

#[test]
fn in_anaphylaxis_epinephrine_waits_for_no_look_and_no_shock_but_for_the_minimum_interval() {
    for protocol in [aha(), erc()] {
        let mut script = begun(&set(9, "anaphylaxis"));
        assert_eq!(epinephrine(&script, &protocol, 10).unwrap().due_at_ms, 9_000);
        script.extend(&shocked(20));
        let first = epinephrine(&script, &protocol, 30).unwrap();
        assert_eq!((first.due_at_ms, first.detail.dose.unwrap().value), (9_000, 1.0), "after the first shock too");
        // An IM dose is none of the arrest's.
        script.extend("31s drug_given drug=epinephrine dose={\"value\":0.5,\"unit\":\"mg\"} route=im");
        assert!(epinephrine(&script, &protocol, 32).is_some());
        script.extend(&format!("40s {GIVEN}"));
        assert_eq!(epinephrine(&script, &protocol, 270).unwrap().due_at_ms, 280_000);
        // In the next arrest: at once, but not within the minimum interval.
        script.extend("60s rosc\n100s arrest_again");
        assert_eq!(epinephrine(&script, &protocol, 215).unwrap().due_at_ms, 220_000);
    }
}

// Trauma: S60 to S62.

#[test]
fn in_trauma_reversible_causes_come_before_epinephrine() {
    let protocol = aha();
    let mut script = begun(&format!("{ASYSTOLE}\n{}", set(60, "trauma")));
    let drugs = shown(&script, &protocol, 61, Role::Drugs);
    let place = |drugs: &[Prompt], action| drugs.iter().position(|prompt| prompt.action == action).unwrap();
    assert!(place(&drugs, Action::SpecialCare) < place(&drugs, Action::GiveDrug), "{drugs:?}");
    assert!(epinephrine(&script, &protocol, 61).unwrap().why.contains("reversible causes come first"));
    let volume = task(&script, &protocol, 61, Role::Drugs, "trauma.volume").unwrap();
    assert_eq!(volume.detail.rule.as_deref(), Some("20 mL/kg, at most 2000 mL"));
    script.extend("62s patient_updated weight_kg=70 weight_basis=told");
    let volume = task(&script, &protocol, 62, Role::Drugs, "trauma.volume").unwrap();
    assert_eq!(volume.detail.volume, Some(Dose { value: 1_400.0, unit: "mL".into() }));
    script.extend(&format!("70s {GIVEN}"));
    let announced = |script: &Script| {
        shown(script, &protocol, 255, Role::Leader)
            .iter()
            .any(|prompt| prompt.action == Action::Announce && prompt.detail.drug.as_deref() == Some("epinephrine"))
    };
    assert!(!announced(&script), "not announced while the causes stand open");
    script.extend(
        "80s cause_treated cause=hypovolaemia\n81s cause_treated cause=hypoxia\n82s cause_treated cause=tension_pneumothorax\n\
         83s thoracotomy",
    );
    assert!(announced(&script));
    for role in Role::ALL {
        assert!(!shown(&script, &protocol, 90, *role).iter().any(|prompt| prompt.action == Action::SpecialCare));
    }
}

// Pulmonary embolism: S70.

#[test]
fn after_lysis_the_leader_is_told_how_long_to_go_on() {
    for (protocol, cause) in [(aha(), "thrombosis_pulmonary"), (erc(), "thrombosis")] {
        let mut script = begun(&set(10, "pulmonary_embolism"));
        let consider = task(&script, &protocol, 20, Role::Leader, "pulmonary_embolism.thrombolysis").unwrap();
        assert!(matches!(consider.tap, Some(Event::TaskDone { .. })), "considering it is not giving it");
        let go_on = |script: &Script, at_s| task(script, &protocol, at_s, Role::Leader, "pulmonary_embolism.go_on");
        assert!(go_on(&script, 20).is_none());
        let mut ticked = begun(&set(10, "pulmonary_embolism"));
        ticked.extend(&format!("300s cause_treated cause={cause}"));
        // An hour's countdown would stand before what is to be done now: the sentence says it until then.
        assert!(go_on(&ticked, 301).is_none() && go_on(&ticked, 3_899).is_none() && go_on(&ticked, 3_901).is_some());
        script.extend("400s drug_given drug=alteplase route=iv");
        assert!(task(&script, &protocol, 401, Role::Leader, "pulmonary_embolism.thrombolysis").is_none());
        assert_eq!(go_on(&script, 4_001).unwrap().due_at_ms, 400_000 + 5_400_000);
        let said = notes(&script, &protocol, 401, Role::Leader, NoteKind::Information);
        assert!(said.iter().any(|text| text.contains("begun at 6:40: on to 66:40 to 96:40")), "{said:?}");
    }
}

// Local-anaesthetic toxicity: S74.

#[test]
fn lipid_emulsion_goes_by_weight_and_by_rule_without_one() {
    let mut script = begun(&set(10, "local_anaesthetic"));
    let lipid = |script: &Script, at_s| task(script, &aha(), at_s, Role::Drugs, "local_anaesthetic.lipid").unwrap();
    assert_eq!(lipid(&script, 11).detail.rule.as_deref(), Some("1.5 mL/kg, at most 150 mL"));
    script.extend("20s patient_updated weight_kg=70 weight_basis=told");
    assert_eq!(lipid(&script, 21).detail.volume, Some(Dose { value: 105.0, unit: "mL".into() }));
    assert!(task(&script, &erc(), 21, Role::Drugs, "local_anaesthetic.stop").is_some());
}

// Ours: treatment limits; A24: monophasic energy.

#[test]
fn a_treatment_limit_asks_the_leader_until_ticked_and_all_else_goes_on() {
    let mut script = begun(&format!("{}{ASYSTOLE}", set(9, "treatment_limit")));
    let review = asks(&script, &aha(), 20, Role::Leader, Action::ReviewLimits).unwrap();
    assert!(epinephrine(&script, &aha(), 20).is_some());
    script.push(25_000, review.tap.unwrap());
    assert!(asks(&script, &aha(), 26, Role::Leader, Action::ReviewLimits).is_none());
}

#[test]
fn a_monophasic_defibrillator_charges_360_joules() {
    for protocol in [aha(), erc()] {
        let mut script = begun("12s compressions_stopped reason=rhythm_check\n15s rhythm_checked rhythm=vf");
        let energy = |script: &Script, at_s| {
            asks(script, &protocol, at_s, Role::Defibrillator, Action::Charge).unwrap().detail.energy_j.unwrap()
        };
        assert!(energy(&script, 16) < 360.0);
        script.extend(&set(17, "monophasic_defibrillator"));
        assert_eq!(energy(&script, 18), 360.0);
    }
}

// Two at once.

#[test]
fn what_is_withheld_wins_over_what_is_asked_and_the_leader_is_told() {
    let protocol = erc();
    let script = begun(&format!(
        "{}{}{}{}",
        set(10, "anaphylaxis"),
        set(11, "hypothermia"),
        core(12, 28.0),
        set(13, "local_anaesthetic")
    ));
    assert!(epinephrine(&script, &protocol, 20).is_none());
    assert!(task(&script, &protocol, 20, Role::Drugs, "local_anaesthetic.lipid").is_none());
    assert!(task(&script, &protocol, 20, Role::Drugs, "local_anaesthetic.stop").is_some(), "stopping is no drug");
    assert!(task(&script, &protocol, 20, Role::Leader, "hypothermia.rewarm").is_some());
    let said = notes(&script, &protocol, 20, Role::Leader, NoteKind::Conflict);
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].contains("Anaphylaxis asks for: epinephrine at once"), "{said:?}");
    assert!(said[1].contains("Lipid emulsion 20 %"), "{said:?}");
    assert!(said.iter().all(|text| text.contains("the team leader decides")), "{said:?}");
    // Under AHA nothing is withheld: both are asked, and nothing conflicts.
    assert!(epinephrine(&script, &aha(), 20).is_some());
    assert!(notes(&script, &aha(), 20, Role::Leader, NoteKind::Conflict).is_empty());
}

#[test]
fn pairs_that_the_file_names_are_told_whichever_came_first() {
    for order in [["trauma", "pulmonary_embolism"], ["pulmonary_embolism", "trauma"]] {
        let script = begun(&format!("{}{}", set(10, order[0]), set(11, order[1])));
        let said = notes(&script, &aha(), 20, Role::Leader, NoteKind::Conflict);
        assert!(said.len() == 1 && said[0].contains("bleeding in trauma"), "{said:?}");
        assert!(task(&script, &aha(), 20, Role::Leader, "pulmonary_embolism.thrombolysis").is_some());
        assert!(task(&script, &aha(), 20, Role::Leader, "trauma.chest").is_some());
    }
}

#[test]
fn a_circumstance_of_the_departments_own_is_named_as_unknown_to_the_protocol() {
    let script = begun(&set(10, "lightning"));
    let said = notes(&script, &aha(), 20, Role::Leader, NoteKind::Assumption);
    assert!(said[0].contains("says nothing of lightning"), "{said:?}");
}

#[test]
fn what_touches_the_patient_waits_while_hands_are_clear() {
    let script = begun(&format!(
        "{}12s compressions_stopped reason=rhythm_check\n15s rhythm_checked rhythm=vf\n16s charging_started energy_j=200\n\
         22s all_clear_called",
        set(10, "pregnancy")
    ));
    assert!(task(&script, &aha(), 11, Role::Relief, "pregnancy.displacement").is_some());
    assert!(task(&script, &aha(), 23, Role::Relief, "pregnancy.displacement").is_none());
    assert!(task(&script, &aha(), 32, Role::Relief, "pregnancy.displacement").is_some());
}

/// A child: amounts by weight, an adult's volume never, and one prompt for the breaths that two rules ask for.
#[test]
fn a_child_gets_amounts_by_weight_or_in_words() {
    let child = |text: &str| crate::protocol::read(text).unwrap();
    let (aha, erc) = (
        child(include_str!("../../../protocols/aha-child.toml")),
        child(include_str!("../../../protocols/erc-child.toml")),
    );
    let opened = "0 code_opened protocol={\"id\":\"x\",\"version\":1} patient={\"age_group\":\"child\",\"weight_kg\":20} training=true\n";
    let script = Script::new(&format!("{opened}{START}\n{}{}", set(9, "local_anaesthetic"), set(9, "hyperkalaemia")));
    for protocol in [&aha, &erc] {
        let lipid = task(&script, protocol, 10, Role::Drugs, "local_anaesthetic.lipid").unwrap();
        assert_eq!(lipid.detail.volume, Some(Dose { value: 30.0, unit: "mL".into() }));
        let calcium = task(&script, protocol, 10, Role::Drugs, "hyperkalaemia.calcium").unwrap();
        assert!(calcium.detail.volume.is_none() && calcium.detail.rule.unwrap().contains("local protocol"));
    }
    let adults = crate::protocol::read(include_str!("../../../protocols/erc-adult.toml")).unwrap();
    let calcium = task(&script, &adults, 10, Role::Drugs, "hyperkalaemia.calcium").unwrap();
    assert!(calcium.detail.volume.is_none(), "a child under an adult's file: {calcium:?}");
    let drowned = Script::new(&format!("{opened}0 circumstance_set name=drowning on=true\n0 clock_started"));
    let breaths = |protocol| {
        let asked = shown(&drowned, protocol, 1, Role::Airway);
        asked.iter().filter(|prompt| prompt.action == Action::InitialBreaths).count()
    };
    assert_eq!((breaths(&erc), breaths(&aha)), (1, 1));
    // The same cold, the same children: ERC withholds, AHA does not.
    let cold = Script::new(&format!("{opened}{START}\n{}{}{ASYSTOLE}", set(1, "hypothermia"), core(2, 28.0)));
    assert!(epinephrine(&cold, &aha, 20).is_some() && epinephrine(&cold, &erc, 20).is_none());
    // A monophasic defibrillator leaves a child's energy as it is.
    let mut shock = Script::new(&format!(
        "{opened}{START}\n12s compressions_stopped reason=rhythm_check\n15s rhythm_checked rhythm=vf"
    ));
    let energy = |script: &Script| asks(script, &aha, 18, Role::Defibrillator, Action::Charge).unwrap().detail.energy_j;
    let before = energy(&shock);
    shock.extend(&set(17, "monophasic_defibrillator"));
    assert_eq!(energy(&shock), before);
}

/// Two circumstances at once: the view of each role stays within its limit, and keeps every task that shows and every
/// sentence that is graver than information. A device with every role may get a longer one: the tap that answers a task
/// never goes, for the button would then do another.
#[test]
fn any_two_circumstances_fit_on_one_screen() {
    let all: std::collections::BTreeSet<Role> = Role::ALL.iter().copied().collect();
    for protocol in [aha(), erc()] {
        let names: Vec<String> = protocol.circumstances.iter().map(|rules| rules.id.as_str().to_owned()).collect();
        let mut over = Vec::new();
        for (place, one) in names.iter().enumerate() {
            for other in &names[place..] {
                let events = format!("0 clock_started\n{}{}{ASYSTOLE}", set(1, one), set(2, other));
                let snapshot = at(&Script::new(&events), &protocol, 25);
                for roles in Role::ALL.iter().map(|role| [*role].into()).chain([all.clone()]) {
                    let whole = snapshot.view(&roles);
                    let mut fitted = whole.clone();
                    crate::fit::fit(&mut fitted, 3_600);
                    let size = serde_json::to_string(&fitted).unwrap().len();
                    if size > if roles.len() == 1 { 3_600 } else { 5_000 } {
                        over.push(format!("{one} with {other}, {} roles: {size}", roles.len()));
                    }
                    let shows = |view: &View| {
                        let showing = view.prompts.iter().filter(|prompt| prompt.show_at_ms <= 25_000);
                        let tap = |prompt: &Prompt| {
                            prompt.tap.clone().filter(|tap| !matches!(tap, crate::event::Event::TaskDone { .. }))
                        };
                        showing.map(|prompt| (prompt.key.clone(), tap(prompt))).collect::<Vec<_>>()
                    };
                    assert_eq!(shows(&fitted), shows(&whole), "{one} with {other}");
                    let grave =
                        |view: &View| view.notes.iter().filter(|note| note.kind != NoteKind::Information).count();
                    assert_eq!(grave(&fitted), grave(&whole), "{one} with {other}");
                }
            }
        }
        assert!(over.is_empty(), "{over:?}");
    }
}

/// A reading that was wrong is taken back: the drugs it withheld are asked for from then on, and are not late at once.
#[test]
fn a_reading_taken_back_sets_drugs_free_from_the_correction_on() {
    let protocol = erc();
    let cold = begun(&format!("{ASYSTOLE}\n20s {GIVEN}\n{}{}", set(30, "hypothermia"), core(40, 28.0)));
    assert!(epinephrine(&cold, &protocol, 500).is_none());
    let reading = cold.records().last().unwrap().id;
    let voided = |target, reason: &str| Event::Voided { target, reason: reason.into() };
    let mut script = cold;
    script.push(600_000, voided(reading, "probe was out"));
    let due = epinephrine(&script, &protocol, 601).unwrap();
    assert_eq!((due.due_at_ms, due.late_at_ms), (600_000, Some(660_000)));
    // The correction was the slip: withheld again; and once more, from the last correction on.
    let correction = script.records().last().unwrap().id;
    script.push(610_000, voided(correction, "it was in"));
    assert!(epinephrine(&script, &protocol, 611).is_none());
    let again = script.records().last().unwrap().id;
    script.push(700_000, voided(again, "it was out"));
    assert_eq!(epinephrine(&script, &protocol, 701).unwrap().due_at_ms, 700_000);
    // An amended value does the same.
    let mut amended = begun(&format!("{ASYSTOLE}\n20s {GIVEN}\n{}{}", set(30, "hypothermia"), core(40, 28.0)));
    let event: Event =
        serde_json::from_value(serde_json::json!({"kind": "vital_read", "temp_c": 36.5, "temp_site": "core"})).unwrap();
    let target = amended.records().last().unwrap().id;
    amended
        .push(600_000, Event::Amended { target, at_ms: None, event: Some(Box::new(event)), reason: "misread".into() });
    assert_eq!(epinephrine(&amended, &protocol, 601).unwrap().due_at_ms, 600_000);
}

/// A circumstance's own drug was withheld by the cold: set free, it is due then and not in the past.
#[test]
fn a_circumstances_own_drug_is_due_when_the_patient_is_warm_enough() {
    let protocol = erc();
    let script = begun(&format!(
        "{}{}{}{}",
        set(30, "hypothermia"),
        core(40, 28.0),
        set(50, "local_anaesthetic"),
        core(900, 31.0)
    ));
    assert!(task(&script, &protocol, 800, Role::Drugs, "local_anaesthetic.lipid").is_none());
    let lipid = task(&script, &protocol, 901, Role::Drugs, "local_anaesthetic.lipid").unwrap();
    assert_eq!((lipid.show_at_ms, lipid.due_at_ms), (900_000, 900_000));
}

/// Found by an attack: the record as corrected would have wanted a shock on a look that is long past.
#[test]
fn a_correction_that_lifts_the_limit_on_shocks_revives_no_old_look() {
    let protocol = erc();
    let mut script = Script::new(&format!(
        "0 code_opened protocol={{\"id\":\"erc-adult\",\"version\":1}} patient={{\"age_group\":\"adult\"}} training=true \
         prior_care={{\"shocks\":3}}\n{START}\n{}{}15s compressions_stopped reason=rhythm_check\n18s rhythm_checked rhythm=vf\n\
         20s compressions_started",
        set(8, "hypothermia"),
        core(9, 28.0)
    ));
    let reading = script.records().iter().find(|record| matches!(record.event, Event::VitalRead { .. })).unwrap().id;
    let check = |script: &Script, at_s: i64| at(script, &protocol, at_s).plan().next_check.unwrap().due_ms;
    let before = check(&script, 99);
    script.push(100_000, Event::Voided { target: reading, reason: "probe was out".into() });
    assert!(asks(&script, &protocol, 101, Role::Defibrillator, Action::Charge).is_none());
    assert_eq!(check(&script, 101), before);
    script.extend("140s rhythm_checked rhythm=vf");
    assert!(asks(&script, &protocol, 141, Role::Defibrillator, Action::Charge).is_some(), "the next look wants it");
}

/// All the time, until the child is born: each tick asks again, and the delivery ends it.
#[test]
fn displacement_is_asked_again_after_each_tick_and_never_after_the_delivery() {
    for protocol in [aha(), erc()] {
        let mut script = begun(&set(10, "pregnancy"));
        let ask = |script: &Script, at_s: i64| task(script, &protocol, at_s, Role::Relief, "pregnancy.displacement");
        script.push(20_000, ask(&script, 15).unwrap().tap.unwrap());
        assert!(ask(&script, 100).is_none());
        let again = ask(&script, 141).unwrap();
        assert_eq!(again.due_at_ms, 140_000);
        script.push(150_000, again.tap.unwrap());
        assert!(ask(&script, 200).is_none() && ask(&script, 271).is_some());
        script.extend("280s delivery");
        assert!([281, 400, 900].iter().all(|at_s| ask(&script, *at_s).is_none()));
    }
}

/// A local anaesthetic is not given for its own poisoning.
#[test]
fn lidocaine_is_not_offered_where_a_local_anaesthetic_is_the_cause() {
    let three = format!("{}{}{}", shocked(15), shocked(140), shocked(265));
    for protocol in [aha(), erc()] {
        let plain = begun(&three);
        let amiodarone = |script: &Script| {
            shown(script, &protocol, 275, Role::Drugs)
                .into_iter()
                .find(|prompt| prompt.action == Action::GiveDrug && prompt.detail.drug.as_deref() == Some("amiodarone"))
                .unwrap()
        };
        assert!(amiodarone(&plain).detail.or.is_some());
        let poisoned = begun(&format!(
            "{three}16s drug_given drug=lignocaine route=iv dose={{\"value\":200,\"unit\":\"mg\"}}\n{}",
            set(20, "local_anaesthetic")
        ));
        assert!(amiodarone(&poisoned).detail.or.is_none());
        let said = notes(&poisoned, &protocol, 275, Role::Drugs, NoteKind::Withheld);
        assert!(said.iter().any(|text| text.contains("lidocaine is not offered")), "{said:?}");
    }
}

/// What treats the cause goes on when circulation has returned; what belongs to the arrest does not.
#[test]
fn after_return_of_circulation_the_cause_is_still_treated() {
    let protocol = erc();
    let script = begun(&format!(
        "{}{}{}20s rhythm_checked rhythm=perfusing pulse=present\n25s rosc\n30s vital_read temp_c=28 temp_site=core\n\
         40s lab_read potassium_mmol_l=7.9",
        set(10, "hypothermia"),
        set(11, "opioid"),
        set(12, "pregnancy")
    ));
    assert!(task(&script, &protocol, 80, Role::Leader, "hypothermia.rewarm").is_some());
    assert!(task(&script, &protocol, 29, Role::Drugs, "opioid.naloxone").is_some());
    assert!(task(&script, &protocol, 80, Role::Drugs, "opioid.naloxone").is_none(), "withheld in the cold, and said");
    assert!(notes(&script, &protocol, 80, Role::Drugs, NoteKind::Withheld)[0].contains("below 30 °C"));
    assert!(task(&script, &protocol, 80, Role::Leader, "pregnancy.prepare_delivery").is_none());
    assert!(asks(&script, &protocol, 80, Role::Leader, Action::ConsiderCircumstance).is_some());
    let cold =
        view(&script, &protocol, 80, Role::Leader).aftercare.into_iter().find(|line| line.id == "temperature").unwrap();
    assert_eq!(cold.within, Some(false), "{cold:?}");
}

/// An answer holds for what it was given in.
#[test]
fn a_limit_to_treatment_is_asked_about_again_in_the_next_arrest() {
    let mut script = begun(&set(10, "treatment_limit"));
    let ask = |script: &Script, at_s: i64| asks(script, &erc(), at_s, Role::Leader, Action::ReviewLimits);
    script.push(20_000, ask(&script, 11).unwrap().tap.unwrap());
    assert!(ask(&script, 21).is_none());
    script.extend("30s rosc");
    assert!(ask(&script, 31).is_some());
    script.extend("200s arrest_again");
    assert!(ask(&script, 201).is_some());
}

/// Either salt answers the task; its one tap is the one that the volume is of.
#[test]
fn calcium_gluconate_answers_for_calcium_chloride() {
    for (protocol, asked) in [(erc(), Some("calcium_chloride")), (aha(), None)] {
        let mut script = begun(&set(10, "hyperkalaemia"));
        let calcium = |script: &Script, at_s| task(script, &protocol, at_s, Role::Drugs, "hyperkalaemia.calcium");
        assert_eq!(calcium(&script, 11).unwrap().detail.drug.as_deref(), asked);
        script.extend("20s drug_given drug=calcium_gluconate route=iv dose={\"value\":30,\"unit\":\"mL\"}");
        assert!(calcium(&script, 21).is_none());
    }
}

//! Hypothermia (S10 to S17): drugs and shocks by the core temperature, as it is read and as it is corrected.

use super::*;

#[test]
fn below_thirty_degrees_erc_withholds_drugs_and_aha_does_not() {
    let script = begun(&format!("{}{}{ASYSTOLE}", set(1, "hypothermia"), core(2, 28.0)));
    assert!(epinephrine(&script, &aha(), 20).is_some());
    let protocol = erc();
    let drug = [Action::GiveDrug, Action::DrawUp];
    assert!(!visible(&script, &protocol, 20, Role::Drugs).iter().any(|prompt| drug.contains(&prompt.action)));
    let line = &view(&script, &protocol, 20, Role::Drugs).drugs[0];
    assert!(line.withheld && line.due_at_ms.is_none() && line.latest_ms.is_none(), "{line:?}");
    for role in [Role::Leader, Role::Drugs] {
        let said = sentences(&script, &protocol, 20, role, NoteKind::Withheld);
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
        visible(script, &protocol, at_s, Role::Drugs)
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
        let asked = visible(&script, &protocol, at_s, Role::Defibrillator);
        let shock = [Action::Charge, Action::ChargeAhead, Action::CallAllClear, Action::GiveShock];
        assert!(!asked.iter().any(|prompt| shock.contains(&prompt.action)), "{asked:?}");
        assert_eq!(at(&script, &protocol, at_s).plan().hands.now, HandsOrder::Compress);
    }
    script.extend("408s compressions_started");
    assert_eq!(at(&script, &protocol, 420).plan().next_check.unwrap().due_ms, 528_000);
    let said = sentences(&script, &protocol, 420, Role::Defibrillator, NoteKind::Withheld);
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
    let said = sentences(&script, &protocol, 20, Role::Leader, NoteKind::Assumption);
    assert!(said[0].contains("no core temperature known"), "{said:?}");
    script.extend(&core(30, 27.0));
    assert!(task(&script, &protocol, 31, Role::Recorder, "hypothermia.core_temperature").is_none());
    assert!(sentences(&script, &protocol, 31, Role::Leader, NoteKind::Assumption).is_empty());
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

//! Pregnancy (S1 to S6), and a circumstance as such: switched off, corrected, late, in the next arrest.

use super::*;

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
    let said = sentences(&script, &protocol, 300, Role::Leader, NoteKind::Information);
    assert!(said.iter().any(|text| text.contains("two patients")), "{said:?}");
    let before = sentences(&script, &protocol, 200, Role::Leader, NoteKind::Information);
    assert!(!before.iter().any(|text| text.contains("two patients")), "{before:?}");
}

#[test]
fn below_twenty_weeks_displacement_and_delivery_are_not_asked_and_a_note_says_so() {
    let mut script = begun(&set(30, "pregnancy"));
    script.extend("40s patient_updated gestation_weeks=18");
    let protocol = erc();
    assert!(task(&script, &protocol, 41, Role::Leader, "pregnancy.prepare_delivery").is_none());
    assert!(task(&script, &protocol, 41, Role::Relief, "pregnancy.displacement").is_none());
    let said = sentences(&script, &protocol, 41, Role::Leader, NoteKind::Withheld);
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
        let asked = visible(&script, &protocol, 61, *role).into_iter();
        let mut asked = asked.filter(|prompt| prompt.action == Action::SpecialCare);
        assert!(asked.all(|prompt| prompt.key.ends_with(":pregnancy.displacement")));
    }
    script.extend("200s arrest_again");
    let again = task(&script, &protocol, 440, Role::Leader, "pregnancy.deliver").unwrap();
    assert_eq!(again.due_at_ms, 500_000, "five minutes from the new arrest");
    assert!(task(&script, &protocol, 201, Role::Leader, "pregnancy.prepare_delivery").is_some());
}

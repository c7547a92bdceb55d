//! Doses in doubt: two close together, too small, too large, early, of another drug, for another weight or by another protocol.

use super::*;

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
    let child = protocol::read(include_str!("../../../../protocols/aha-child.toml")).unwrap();
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
    let child = protocol::read(include_str!("../../../../protocols/erc-child.toml")).unwrap();
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
    let child = protocol::read(include_str!("../../../../protocols/aha-child.toml")).unwrap();
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

//! The other special circumstances, one by one.

use super::*;

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
    let drugs = visible(&script, &protocol, 61, Role::Drugs);
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
        visible(script, &protocol, 255, Role::Leader)
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
        assert!(!visible(&script, &protocol, 90, *role).iter().any(|prompt| prompt.action == Action::SpecialCare));
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
        let said = sentences(&script, &protocol, 401, Role::Leader, NoteKind::Information);
        assert!(said.iter().any(|text| text.contains("begun at 6:40: on to 66:40 to 96:40")), "{said:?}");
    }
}

/// One guideline names two thromboses and the other one (A70, A72): what was treated stays treated under the other's name.
#[test]
fn a_cause_treated_under_one_guidelines_word_is_known_under_the_others_after_a_change_of_protocol() {
    let after = |cause: &str, protocol: &Protocol| {
        let mut script = begun(&set(10, "pulmonary_embolism"));
        script.extend(&format!("300s cause_treated cause={cause}"));
        script.extend(&format!("310s protocol_changed protocol={{\"id\":\"{}\",\"version\":1}} reason=r", protocol.id));
        let asked = task(&script, protocol, 320, Role::Leader, "pulmonary_embolism.thrombolysis").is_some();
        let said = sentences(&script, protocol, 320, Role::Leader, NoteKind::Information);
        (asked, said.iter().any(|text| text.contains("begun at 5:00: on to 65:00 to 95:00")))
    };
    assert_eq!(after("thrombosis_pulmonary", &erc()), (false, true));
    assert_eq!(after("thrombosis", &aha()), (false, true));
    // A coronary one is another cause, under either.
    for protocol in [aha(), erc()] {
        assert_eq!(after("thrombosis_coronary", &protocol), (true, false), "{}", protocol.id);
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

/// A local anaesthetic is not given for its own poisoning.
#[test]
fn lidocaine_is_not_offered_where_a_local_anaesthetic_is_the_cause() {
    let three = format!("{}{}{}", shocked(15), shocked(140), shocked(265));
    for protocol in [aha(), erc()] {
        let plain = begun(&three);
        let amiodarone = |script: &Script| {
            visible(script, &protocol, 275, Role::Drugs)
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
        let said = sentences(&poisoned, &protocol, 275, Role::Drugs, NoteKind::Withheld);
        assert!(said.iter().any(|text| text.contains("lidocaine is not offered")), "{said:?}");
    }
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
    assert!(sentences(&script, &protocol, 80, Role::Drugs, NoteKind::Withheld)[0].contains("below 30 °C"));
    assert!(task(&script, &protocol, 80, Role::Leader, "pregnancy.prepare_delivery").is_none());
    assert!(asks(&script, &protocol, 80, Role::Leader, Action::ConsiderCircumstance).is_some());
    let cold =
        view(&script, &protocol, 80, Role::Leader).aftercare.into_iter().find(|line| line.id == "temperature").unwrap();
    assert_eq!(cold.within, Some(false), "{cold:?}");
}

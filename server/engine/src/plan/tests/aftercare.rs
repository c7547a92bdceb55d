//! Signs of circulation, its return, and the targets of care after it.

use super::*;

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

/// Found by the second planner: both at the same millisecond, the look before.
#[test]
fn a_look_from_before_the_return_of_circulation_says_nothing_of_the_next_arrest() {
    let protocol = erc();
    let script = |between: &str| {
        Script::new(&format!("0 clock_started\n0 rhythm_checked rhythm=pea\n0 rosc\n{between}50s arrest_again"))
    };
    assert!(asks(&script(""), &protocol, 51, Role::Drugs, Action::GiveDrug).is_none());
    let seen = script("40s rhythm_checked rhythm=pea\n");
    assert!(asks(&seen, &protocol, 51, Role::Drugs, Action::GiveDrug).is_some(), "a look since then holds");
}

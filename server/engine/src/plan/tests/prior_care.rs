//! Care before arrival, and what was seen or told before the clock: it enters every count, and makes nothing late by itself.

use super::*;

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

/// Of shocks before arrival that are told of late, nothing is late before the telling.
#[test]
fn prior_shocks_make_a_dose_due_when_they_are_told() {
    let script =
        opened("", &format!("3s compressions_started\n{VF_1}140s prior_care_reported prior_care={{\"shocks\":2}}"));
    for (protocol, drug) in [(aha(), "epinephrine"), (erc(), "epinephrine"), (aha(), "amiodarone")] {
        assert_eq!(of_drug(&at(&script, &protocol, 141), Action::GiveDrug, drug).unwrap().due_at_ms, 140_000, "{drug}");
    }
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

//! The conflicts and traps of the clinical sheet (docs/hazards.md, section "Traps"), one test each, by its number there.
//! A trap that no program can test stands in the hazard file with the people who must watch for it.

use std::collections::BTreeSet;

use crate::event::Role;
use crate::measure::measure;
use crate::prompt::{Action, Prompt};
use crate::protocol::{self, Protocol};
use crate::snapshot::{Knowledge, Snapshot};
use crate::testing::Script;
use crate::view::HandsOrder;

fn shipped(id: &str) -> Protocol {
    let (_, text) = protocol::shipped().iter().find(|(shipped, _)| *shipped == id).unwrap();
    protocol::read(text).unwrap()
}

fn aha() -> Protocol {
    shipped("aha-adult")
}

fn erc() -> Protocol {
    shipped("erc-adult")
}

fn look(script: &Script, protocol: &Protocol, at_s: i64) -> Snapshot {
    Snapshot::at(script.records(), protocol, at_s * 1_000, Knowledge::AsKnown)
}

fn asked(script: &Script, protocol: &Protocol, at_s: i64, role: Role, action: Action) -> Option<Prompt> {
    look(script, protocol, at_s).visible(role).into_iter().find(|prompt| prompt.action == action)
}

/// A drug that is due, not merely expected.
fn due(script: &Script, protocol: &Protocol, at_s: i64, drug: &str) -> Option<Prompt> {
    look(script, protocol, at_s).visible(Role::Drugs).into_iter().find(|prompt| {
        prompt.action == Action::GiveDrug
            && prompt.detail.drug.as_deref() == Some(drug)
            && prompt.detail.waits_for.is_none()
    })
}

fn epinephrine(script: &Script, protocol: &Protocol, at_s: i64) -> Option<Prompt> {
    due(script, protocol, at_s, "epinephrine")
}

const START: &str = "0 clock_started\n3s compressions_started\n6s pads_attached\n8s access_gained route=iv";

/// A check with a shock: look at `at_s`, shock 6 s later, compressions 2 s after that.
fn shocked(at_s: i64) -> String {
    format!(
        "{}s compressions_stopped reason=rhythm_check\n{at_s}s rhythm_checked rhythm=vf\n{}s charging_started energy_j=200\n\
         {}s all_clear_called\n{}s shock_delivered energy_j=200\n{}s compressions_started",
        at_s - 3,
        at_s + 1,
        at_s + 5,
        at_s + 6,
        at_s + 8
    )
}

/// A check with a look that no shock treats.
fn looked(at_s: i64, rhythm: &str) -> String {
    format!(
        "{}s compressions_stopped reason=rhythm_check\n{at_s}s rhythm_checked rhythm={rhythm} pulse=absent\n\
         {}s compressions_started",
        at_s - 3,
        at_s + 1
    )
}

#[test]
fn trap_01_first_epinephrine_after_the_second_shock_or_the_third() {
    let mut script = Script::new(START);
    for (place, at_s) in [20, 150, 280].into_iter().enumerate() {
        script.extend(&shocked(at_s));
        let shocks = place + 1;
        assert_eq!(epinephrine(&script, &aha(), at_s + 10).is_some(), shocks >= 2, "AHA, {shocks} shocks");
        assert_eq!(epinephrine(&script, &erc(), at_s + 10).is_some(), shocks >= 3, "ERC, {shocks} shocks");
    }
}

#[test]
fn trap_02_the_time_of_the_last_dose_and_the_number_of_cycles_are_both_kept() {
    let mut script = Script::new(START);
    script.extend(&looked(12, "asystole"));
    script.extend("20s drug_given drug=epinephrine dose={\"value\":1,\"unit\":\"mg\"} route=iv");
    // Long cycles: the second look comes at 200 s instead of 140 s.
    script.extend(&looked(200, "asystole"));
    for protocol in [aha(), erc()] {
        let view = look(&script, &protocol, 210).view(&BTreeSet::from([Role::Leader, Role::Drugs]));
        assert_eq!(view.counts.looks, 2);
        assert_eq!(view.drugs[0].last_at_ms, Some(20_000));
        assert_eq!((view.drugs[0].too_early_until_ms, view.drugs[0].latest_ms), (Some(200_000), Some(320_000)));
    }
}

#[test]
fn trap_05_amiodarone_or_lidocaine_and_never_one_after_the_other() {
    for protocol in [aha(), erc()] {
        let mut script = Script::new(START);
        for at_s in [20, 150, 280] {
            script.extend(&shocked(at_s));
        }
        script.extend("292s drug_given drug=lidocaine dose={\"value\":100,\"unit\":\"mg\"} route=iv");
        for at_s in [410, 540] {
            script.extend(&shocked(at_s));
        }
        for at_s in 293..700 {
            let prompts = look(&script, &protocol, at_s).prompts().to_vec();
            let amiodarone =
                |prompt: &Prompt| prompt.detail.drug.as_deref() == Some("amiodarone") || prompt.detail.or.is_some();
            assert!(!prompts.iter().any(amiodarone), "{} at {at_s} s", protocol.id);
        }
    }
}

#[test]
fn trap_06_each_guideline_has_its_own_list_of_causes() {
    let ids = |protocol: &Protocol| protocol.causes.list.value.iter().map(|cause| cause.id.clone()).collect::<Vec<_>>();
    let (aha, erc) = (ids(&aha()), ids(&erc()));
    let has = |list: &[String], part: &str| list.iter().filter(|id| id.contains(part)).count();
    // AHA: acidosis stands for itself, two thromboses (A69, A70). ERC: metabolic grouped, hyperthermia, one (A71, A72).
    assert_eq!((aha.len(), has(&aha, "acidosis"), has(&aha, "thrombosis"), has(&aha, "hyperthermia")), (10, 1, 2, 0));
    assert_eq!((erc.len(), has(&erc, "acidosis"), has(&erc, "thrombosis"), has(&erc, "hyperthermia")), (8, 0, 1, 1));
}

#[test]
fn trap_11_a_low_end_tidal_reading_asks_for_nothing_and_never_to_stop() {
    for protocol in [aha(), erc()] {
        let mut script = Script::new(START);
        script.extend("30s airway_placed airway=tracheal\n60s etco2_read mmhg=14");
        let keys = |script: &Script| {
            let snapshot = look(script, &protocol, 95);
            (snapshot.plan().hands.now, snapshot.prompts().iter().map(|prompt| prompt.key.clone()).collect::<Vec<_>>())
        };
        let before = keys(&script);
        script.extend("90s etco2_read mmhg=6");
        assert_eq!(keys(&script), before);
        assert_eq!(before.0, HandsOrder::Compress);
    }
}

#[test]
fn trap_12_no_pulse_is_asked_for_where_none_can_be_and_never_right_after_a_shock() {
    let pulse_asked = |script: &Script, at_s: i64| {
        let prompt = asked(script, &aha(), at_s, Role::Leader, Action::ReadRhythm);
        prompt.is_some_and(|prompt| prompt.detail.of == Some(Action::FingerOnPulse))
    };
    for (rhythm, wanted) in [("vf", false), ("asystole", false), ("perfusing", true)] {
        let mut script = Script::new(START);
        script.extend(&format!("17s compressions_stopped reason=rhythm_check\n20s rhythm_checked rhythm={rhythm}"));
        assert_eq!(pulse_asked(&script, 21), wanted, "{rhythm}");
    }
    let mut script = Script::new(START);
    script.extend(&shocked(20));
    for at_s in 27..110 {
        let snapshot = look(&script, &aha(), at_s);
        let looks = [Action::ReadRhythm, Action::FingerOnPulse, Action::ConfirmRosc, Action::PauseForCheck];
        let early =
            Role::ALL.iter().flat_map(|role| snapshot.visible(*role)).find(|prompt| looks.contains(&prompt.action));
        assert!(early.is_none(), "{early:?} at {at_s} s");
    }
}

#[test]
fn trap_13_the_two_minutes_begin_when_compressions_do() {
    for restart_s in [28, 35, 60] {
        let mut script = Script::new(START);
        script.extend(
            "17s compressions_stopped reason=rhythm_check\n20s rhythm_checked rhythm=vf\n21s charging_started\n\
             25s all_clear_called\n26s shock_delivered energy_j=200",
        );
        script.extend(&format!("{restart_s}s compressions_started"));
        let view = look(&script, &aha(), restart_s + 1).view(&BTreeSet::from([Role::Leader]));
        assert_eq!(view.next_check_ms, Some((restart_s + 120) * 1_000));
    }
}

#[test]
fn trap_14_shocks_are_counted_through_other_rhythms() {
    let mut script = Script::new(START);
    script.extend(&shocked(20));
    // Before ERC's third shock, a rhythm that no shock treats: epinephrine is due at once.
    script.extend(&looked(150, "pea"));
    assert!(epinephrine(&script, &erc(), 152).is_some());
    script.extend("155s drug_given drug=epinephrine dose={\"value\":1,\"unit\":\"mg\"} route=iv");
    script.extend(&shocked(280));
    let amiodarone = |script: &Script, at_s: i64| due(script, &erc(), at_s, "amiodarone").is_some();
    assert!(!amiodarone(&script, 290), "two shocks so far");
    script.extend(&shocked(410));
    assert!(amiodarone(&script, 420), "three shocks, with another rhythm between them");
}

#[test]
fn trap_16_a_charge_made_ahead_is_dumped_before_hands_return_and_hands_off_time_is_what_is_judged() {
    let mut script = Script::new(START);
    script.extend(&looked(12, "asystole"));
    script.extend("122s charging_started energy_j=200\n133s compressions_stopped reason=rhythm_check");
    script.extend("136s rhythm_checked rhythm=asystole");
    assert!(asked(&script, &aha(), 136, Role::Defibrillator, Action::DumpCharge).is_some());
    // The pause is in the figures whole, whatever the charge did for the time before the shock.
    script.extend("139s compressions_started");
    let figures = measure(script.records(), &aha());
    assert_eq!(figures.pauses.last().map(|pause| pause.end_ms - pause.start_ms), Some(6_000));
}

#[test]
fn trap_17_the_fraction_says_its_window_stops_at_rosc_and_counts_missing_marks() {
    let script =
        Script::new("0 clock_started\n10s compressions_started\n70s rosc\n600s code_closed outcome=survived_event");
    let figures = measure(script.records(), &aha());
    assert_eq!(figures.arrest_ms, 70_000);
    assert_eq!(figures.compression_fraction, Some(60.0 / 70.0));
    assert_eq!(figures.compression_fraction_from_first, Some(1.0));
    let script = Script::new("0 clock_started\n5s compressions_started\n20s shock_delivered energy_j=200\n60s rosc");
    assert!(!measure(script.records(), &aha()).gaps.is_empty());
}

#[test]
fn trap_18_pauses_for_breaths_are_an_estimate_beside_the_fraction() {
    // W35: 30:2 at 110 a minute with gaps of 4 s leaves 16.4 of 20.4 s, whatever the team does.
    let script = Script::new("0 clock_started\n0 compressions_started\n204s code_closed outcome=died");
    let figures = measure(script.records(), &aha());
    assert_eq!(figures.compression_fraction, Some(1.0));
    let share = figures.breath_pauses_estimate_ms as f64 / 204_000.0;
    assert!((share - 4.0 / (30.0 * 60.0 / 110.0 + 4.0)).abs() < 1e-4, "{share}");
    let tubed = Script::new(
        "0 clock_started\n0 airway_placed airway=tracheal\n0 compressions_started\n204s code_closed outcome=died",
    );
    assert_eq!(measure(tubed.records(), &aha()).breath_pauses_estimate_ms, 0);
}

#[test]
fn trap_19_a_shock_without_compressions_before_or_after_it_has_no_pause_of_zero() {
    let before = Script::new("0 clock_started\n10s shock_delivered energy_j=200\n12s compressions_started\n60s rosc");
    let after = Script::new(
        "0 clock_started\n5s compressions_started\n20s compressions_stopped reason=shock\n26s shock_delivered energy_j=200\n\
         30s rosc",
    );
    let shock = &measure(before.records(), &aha()).shocks[0];
    assert_eq!((shock.pre_shock_ms, shock.post_shock_ms, shock.peri_shock_ms), (None, None, None));
    let shock = &measure(after.records(), &aha()).shocks[0];
    assert_eq!((shock.pre_shock_ms, shock.post_shock_ms, shock.peri_shock_ms), (Some(6_000), None, None));
}

#[test]
fn trap_20_the_first_documented_rhythm_is_kept_apart_from_later_ones() {
    let mut script = Script::new(START);
    script.extend(&looked(20, "asystole"));
    script.extend(&shocked(150));
    let figures = measure(script.records(), &aha());
    assert_eq!(figures.first_rhythm, Some(crate::event::Rhythm::Asystole));
    assert_eq!(figures.first_shock_ms, Some(156_000));
}

#[test]
fn trap_21_time_zero_is_recognition_and_may_be_corrected_with_both_kept() {
    let mut script = Script::new("0 clock_started recognised_ago_ms=120000\n125s compressions_started\n300s rosc");
    let figures = measure(script.records(), &aha());
    assert_eq!((figures.first_compression_ms, figures.no_flow_ms), (Some(125_000), 125_000));
    let start = script.records()[0].clone();
    script.push(
        310_000,
        crate::event::Event::Amended {
            target: start.id,
            at_ms: Some(60_000),
            event: None,
            reason: "the bell rang a minute later".into(),
        },
    );
    assert_eq!(measure(script.records(), &aha()).first_compression_ms, Some(65_000));
    assert_eq!(script.records()[0].at_ms, 0, "what was recorded first stays on the record");
}

#[test]
fn trap_22_times_are_compared_in_milliseconds_and_never_in_whole_minutes() {
    let dose = |at_s: f64| {
        let mut script = Script::new(START);
        script.extend(&looked(12, "asystole"));
        script.extend(&format!("20s drug_given drug=epinephrine dose={{\"value\":1,\"unit\":\"mg\"}} route=iv\n{at_s}s drug_given drug=epinephrine dose={{\"value\":1,\"unit\":\"mg\"}} route=iv\n600s rosc"));
        measure(script.records(), &aha()).epinephrine_intervals_ms
    };
    assert_eq!(dose(179.999), [159_999]);
    // 2 min 59.999 s after the dose is too early; a millisecond later is not.
    let mut script = Script::new(START);
    script.extend(&looked(12, "asystole"));
    script.extend("20s drug_given drug=epinephrine dose={\"value\":1,\"unit\":\"mg\"} route=iv");
    let line = look(&script, &aha(), 100).view(&BTreeSet::from([Role::Drugs])).drugs[0].clone();
    assert_eq!(line.too_early_until_ms, Some(200_000));
}

#[test]
fn trap_25_a_dose_stands_with_its_strength_in_milligrams_and_millilitres() {
    for protocol in [aha(), erc()] {
        let mut script = Script::new(START);
        script.extend(&looked(12, "asystole"));
        let detail = epinephrine(&script, &protocol, 14).unwrap().detail;
        assert_eq!(detail.dose.map(|dose| (dose.value, dose.unit)), Some((1.0, "mg".to_owned())));
        assert_eq!(detail.volume.map(|volume| (volume.value, volume.unit)), Some((10.0, "mL".to_owned())));
        assert_eq!(detail.strength.as_deref(), Some("0.1 mg/mL"));
    }
}

#[test]
fn trap_27_the_beat_is_110_and_silent_where_nobody_compresses_by_hand() {
    for protocol in [aha(), erc()] {
        let mut script = Script::new(START);
        let beat = |script: &Script, at_s| {
            look(script, &protocol, at_s).view(&BTreeSet::from([Role::Compressor])).compressions_per_minute
        };
        assert_eq!(beat(&script, 10), Some(110.0));
        script.extend("15s compressions_started by=mechanical");
        assert_eq!(beat(&script, 16), None);
    }
}

#[test]
fn trap_33_early_epinephrine_is_asked_in_asystole_and_held_after_a_first_shock() {
    let mut asystole = Script::new(START);
    asystole.extend(&looked(12, "asystole"));
    let mut vf = Script::new(START);
    vf.extend(&shocked(12));
    for protocol in [aha(), erc()] {
        assert!(epinephrine(&asystole, &protocol, 14).is_some());
        assert!((21..120).all(|at_s| epinephrine(&vf, &protocol, at_s).is_none()));
    }
}

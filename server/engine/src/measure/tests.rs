//! Definitions of the figures, one a test, on short scripts; whole codes are checked in `tests/published`.

use super::*;
use crate::event::Event;
use crate::protocol;
use crate::testing::{Script, id};

fn adult() -> Protocol {
    protocol::read(include_str!("../../../protocols/aha-adult.toml")).unwrap()
}

fn of(script: &str) -> Figures {
    measure(Script::new(script).records(), &adult())
}

fn spans(figures: &Figures) -> Vec<(i64, i64, EndedBy)> {
    figures.pauses.iter().map(|pause| (pause.start_ms, pause.end_ms, pause.ended_by)).collect()
}

fn gaps_of(figures: &Figures) -> Vec<(i64, GapKind)> {
    figures.gaps.iter().map(|gap| (gap.at_ms, gap.what)).collect()
}

#[test]
fn nothing_measures_as_nothing() {
    let figures = of("");
    assert_eq!((figures.arrest_ms, figures.compression_fraction, figures.longest_pause_ms), (0, None, None));
    let standby = of("0 compressions_started\n5s shock_delivered energy_j=200");
    assert_eq!((standby.arrest_ms, standby.first_shock_ms, standby.shocks.len()), (0, None, 1));
}

#[test]
fn a_second_start_and_a_stop_without_a_start_change_nothing() {
    let figures = of("0 clock_started\n5s compressions_stopped reason=other\n10s compressions_started\n\
        20s compressions_started by=mechanical\n25s shock_delivered energy_j=200\n30s compressions_stopped reason=shock\n\
        35s compressions_stopped reason=airway\n40s compressions_started\n60s code_closed outcome=died");
    assert_eq!(spans(&figures), [(30_000, 40_000, EndedBy::Resumed)]);
    assert_eq!(figures.pauses[0].reason, PauseReason::Shock);
    assert_eq!((figures.no_flow_ms, figures.low_flow_ms), (10_000, 50_000));
    assert_eq!(figures.compression_fraction, Some(40.0 / 60.0));
    // Manual compressions were running, whatever the second start said: no pause holds the shock.
    assert_eq!(figures.shocks[0].pre_shock_ms, None);
}

#[test]
fn a_pause_counts_as_long_only_beyond_ten_seconds() {
    let figures = of("0 clock_started\n0 compressions_started\n10s compressions_stopped reason=other\n\
        20s compressions_started\n30s compressions_stopped reason=other\n40001 compressions_started\n60s rosc");
    assert_eq!((figures.pauses_over_10_s, figures.longest_pause_ms), (1, Some(10_001)));
}

#[test]
fn rosc_ends_compressions_and_an_open_pause() {
    let figures =
        of("0 clock_started\n0 compressions_started\n50s compressions_stopped reason=rhythm_check\n60s rosc\n\
        61s rosc\n70s compressions_started\n80s arrest_again\n85s arrest_again\n90s compressions_stopped reason=other\n\
        100s compressions_started\n110s rosc\n115s compressions_started\n120s code_closed outcome=survived_event");
    assert_eq!(spans(&figures), [(50_000, 60_000, EndedBy::Rosc), (90_000, 100_000, EndedBy::Resumed)]);
    assert_eq!((figures.arrest_ms, figures.rosc_count, figures.rosc_ms), (90_000, 2, Some(60_000)));
    assert_eq!((figures.no_flow_ms, figures.low_flow_ms), (0, 90_000));
    assert_eq!(figures.compression_fraction, Some(70.0 / 90.0));
}

#[test]
fn the_shock_belongs_to_the_later_of_two_pauses_that_touch() {
    let figures = of("0 clock_started\n0 compressions_started\n10s compressions_stopped reason=rhythm_check\n\
        20s compressions_started\n20s compressions_stopped reason=shock\n20s shock_delivered energy_j=200\n\
        24s compressions_started\n30s rosc");
    assert_eq!(figures.pauses.len(), 2);
    assert_eq!((figures.shocks[0].pre_shock_ms, figures.shocks[0].post_shock_ms), (Some(0), Some(4_000)));
}

#[test]
fn a_shock_into_rosc_has_no_post_shock_pause() {
    let figures = of("0 clock_started\n0 compressions_started\n10s compressions_stopped reason=shock\n\
        13s shock_delivered energy_j=150.5\n20s rosc");
    let shock = figures.shocks[0];
    assert_eq!((shock.pre_shock_ms, shock.post_shock_ms, shock.peri_shock_ms), (Some(3_000), None, None));
    let json = serde_json::to_value(&figures).unwrap();
    assert_eq!(json["shocks"][0]["energy_j"], serde_json::json!(150.5));
    assert_eq!(json["shocks"][0]["post_shock_ms"], serde_json::Value::Null);
    assert_eq!(json["pauses"][0]["ended_by"], "rosc");
}

#[test]
fn a_shock_under_running_mechanical_compressions_costs_no_pause() {
    let figures =
        of("0 clock_started\n0 compressions_started by=mechanical\n13s shock_delivered energy_j=200\n20s rosc");
    let shock = figures.shocks[0];
    assert_eq!((shock.pre_shock_ms, shock.post_shock_ms, shock.peri_shock_ms), (Some(0), Some(0), Some(0)));
    assert!(figures.gaps.iter().all(|gap| gap.what != GapKind::ShockWithoutPause));
}

#[test]
fn charging_counts_the_last_charge_that_nobody_cancelled() {
    let start = "0 clock_started\n0 compressions_started\n";
    let dumped = of(&format!(
        "{start}10s charging_started\n12s charge_dumped\n20s compressions_stopped reason=shock\n22s shock_delivered energy_j=200"
    ));
    assert_eq!(dumped.charging_compression_fraction, None);
    let cleared = of(&format!(
        "{start}5s charging_started\n10s charging_started\n14s all_clear_called\n14s compressions_stopped reason=shock\n\
         16s all_clear_called\n18s shock_delivered energy_j=200\n20s compressions_started"
    ));
    assert_eq!(cleared.charging_compression_fraction, Some(1.0));
    let silent = of(&format!(
        "{start}10s charging_started\n14s compressions_stopped reason=shock\n18s shock_delivered energy_j=200\n\
         19s compressions_started\n30s shock_delivered energy_j=200"
    ));
    assert_eq!(silent.charging_compression_fraction, Some(0.5));
    let other_arrest =
        of(&format!("{start}10s charging_started\n12s rosc\n13s arrest_again\n15s shock_delivered energy_j=200"));
    assert_eq!(other_arrest.charging_compression_fraction, None);
}

#[test]
fn times_count_from_the_amended_clock() {
    let mut script = Script::new("0 clock_started\n10s compressions_started\n20s access_gained route=io\n30s rosc");
    script.push(
        40_000,
        Event::Amended { target: id(1), at_ms: Some(-60_000), event: None, reason: "recognised earlier".into() },
    );
    let figures = measure(script.records(), &adult());
    assert_eq!((figures.first_compression_ms, figures.first_access_ms), (Some(70_000), Some(80_000)));
    assert_eq!((figures.rosc_ms, figures.arrest_ms, figures.no_flow_ms), (Some(90_000), 90_000, 70_000));
}

#[test]
fn epinephrine_counts_as_a_bolus_into_vein_or_bone_in_an_arrest() {
    let mut script = Script::new(
        "0 clock_started\n0 access_gained route=iv\n10s drug_given drug=epinephrine route=im\n\
         20s drug_given drug=epinephrine route=iv form=infusion\n30s drug_given drug=epinephrine route=iv\n\
         270s drug_given drug=epinephrine route=io\n300s rosc\n310s drug_given drug=epinephrine route=iv\n\
         400s arrest_again\n410s drug_given drug=epinephrine route=iv\n600s drug_given drug=epinephrine route=iv",
    );
    assert_eq!(measure(script.records(), &adult()).epinephrine_intervals_ms, [240_000, 190_000]);
    script.extend("700s prior_care_reported epinephrine_doses=2 last_epinephrine_at_ms=-90000");
    let figures = measure(script.records(), &adult());
    assert_eq!(figures.epinephrine_intervals_ms, [120_000, 240_000, 190_000]);
    assert_eq!(figures.first_epinephrine_ms, Some(30_000));
}

#[test]
fn check_intervals_run_from_check_to_check_and_start_at_the_first_compression() {
    let figures = of("0 clock_started\n10s compressions_started\n50s compressions_stopped reason=airway\n\
        55s compressions_started\n130s compressions_stopped reason=rhythm_check\n135s rhythm_checked rhythm=vf\n\
        136s compressions_started\n150s compressions_stopped reason=shock\n152s shock_delivered energy_j=200\n\
        154s compressions_started\n274s compressions_stopped reason=rhythm_check\n280s compressions_started\n300s rosc");
    assert_eq!(figures.check_intervals_ms, [120_000, 120_000]);
    assert_eq!(gaps_of(&figures), [(274_000, GapKind::CheckWithoutRhythm)]);
}

#[test]
fn spells_leave_out_what_is_empty_and_what_came_before_compressions() {
    let figures = of("0 clock_started\n5s compressor_changed\n10s compressions_started\n10s compressor_changed\n\
        130s compressor_changed\n130s compressor_changed\n200s rosc");
    assert_eq!(figures.compressor_spells_ms, [120_000, 70_000]);
}

#[test]
fn a_finger_counts_within_thirty_seconds_both_ends_included() {
    let with = |finger: &str| {
        of(&format!(
            "0 clock_started\n0 compressions_started\n{finger} pulse_finger_placed\n\
             100s compressions_stopped reason=rhythm_check\n105s compressions_started\n200s rosc"
        ))
        .finger_ready_fraction
    };
    assert_eq!([with("69999"), with("70s"), with("100s"), with("100001")], [0.0, 1.0, 1.0, 0.0].map(Some));
}

/// Common practice's ratio over a worked figure: 30:2 at 110 a minute with 4 s for the breaths is 16.36 of 20.36 s (W35).
#[test]
fn breaths_are_estimated_only_by_hand_and_without_an_advanced_airway() {
    let figures = of("0 clock_started\n0 compressions_started\n100s airway_placed airway=tracheal\n\
        200s airway_removed airway=tracheal\n220s compressions_stopped reason=other\n225s compressions_started by=mechanical\n\
        300s rosc");
    let expected: f64 = 120_000.0 * 4.0 / (30.0 * 60.0 / 110.0 + 4.0);
    assert_eq!(figures.breath_pauses_estimate_ms, expected.round() as i64);
}

#[test]
fn gaps_are_listed_in_words() {
    let mut script = Script::new(
        "0 clock_started\n31s compressions_started\n32s drug_given drug=amiodarone route=iv\n\
         40s shock_delivered energy_j=200\n221s note text=a\n222s rosc\n900s note text=b",
    );
    script.push(5_000, Event::Voided { target: id(99), reason: "undone".into() });
    let figures = measure(script.records(), &adult());
    assert_eq!(
        gaps_of(&figures),
        [
            (0, GapKind::NoCompressions),
            (5_000, GapKind::WaitingTarget),
            (32_000, GapKind::DrugWithoutAccess),
            (40_000, GapKind::ShockWithoutPause),
            (40_000, GapKind::Silence),
        ]
    );
    assert!(figures.gaps.iter().all(|gap| gap.words.ends_with('.')));
}

#[test]
fn a_code_still_open_is_measured_to_its_last_fact() {
    let mut script =
        Script::new("0 clock_started\n0 compressions_started\n10s compressions_stopped reason=other\n15s note text=a");
    script.push(60_000, Event::Voided { target: id(99), reason: "undone".into() });
    let figures = measure(script.records(), &adult());
    assert_eq!(figures.arrest_ms, 15_000);
    assert_eq!(spans(&figures), [(10_000, 15_000, EndedBy::Closed)]);
}

#[test]
fn targets_stand_only_where_they_apply() {
    let target = |rhythm: &str, name: &str| {
        let figures = of(&format!("0 clock_started\n5s rhythm_checked rhythm={rhythm}\n60s rosc"));
        figures.lines().into_iter().find(|line| line.name == name).map(|line| line.target)
    };
    assert!(target("vf", "First shock").is_some_and(|target| target.contains("2:00")));
    assert_eq!(target("asystole", "First shock"), Some(""));
    assert_eq!(target("vf", "First epinephrine"), Some(""));
    assert!(target("pea", "First epinephrine").is_some_and(|target| target.contains("5:00")));
    assert_eq!(target("unknown", "First epinephrine"), Some(""));
}

//! What holds of the figures whatever is on the record: hunted over random timelines.
//!
//! It looks at the figures and at the arrests of the walk from outside; whole values are compared in `tests/published`.

use std::sync::LazyLock;

use proptest::prelude::*;

use super::walk::{Walk, walk};
use super::*;
use crate::event::Event;
use crate::testing::{Script, id};
use crate::timeline;

/// Taps that the figures look at, in any order.
const TAPS: &[&str] = &[
    "clock_started",
    "compressions_started",
    "compressions_started",
    "compressions_started by=mechanical",
    "compressions_stopped reason=rhythm_check",
    "compressions_stopped reason=shock",
    "compressions_stopped reason=other",
    "rhythm_checked rhythm=vf",
    "charging_started energy_j=200",
    "all_clear_called",
    "shock_delivered energy_j=200",
    "charge_dumped",
    "pulse_finger_placed",
    "compressor_changed",
    "drug_given drug=epinephrine route=iv",
    "airway_placed airway=tracheal",
    "rosc",
    "arrest_again",
    "code_closed outcome=died",
];

/// Read once: reading it for each timeline would take most of the time.
static ADULT: LazyLock<Protocol> =
    LazyLock::new(|| crate::protocol::read(include_str!("../../../protocols/aha-adult.toml")).unwrap());

/// A timeline with a clock, random taps and random corrections.
fn scripts() -> impl Strategy<Value = Script> {
    let taps = prop::collection::vec((0_i64..600, 0..TAPS.len()), 0..60);
    let corrections = prop::collection::vec((1_u64..70, prop::option::of(-60_i64..700)), 0..4);
    (taps, corrections).prop_map(|(mut taps, corrections)| {
        taps.sort_unstable();
        let mut script = Script::new("0 clock_started");
        for (second, tap) in taps {
            script.extend(&format!("{second}s {}", TAPS[tap]));
        }
        for (target, at_s) in corrections {
            // Only what is there: a later record must not turn out to be the target of an earlier correction.
            let target = 1 + target % script.records().len() as u64;
            let (target, reason) = (id(target), "test".to_owned());
            script.push(
                700_000,
                match at_s {
                    Some(at_s) => Event::Amended { target, at_ms: Some(at_s * 1_000), event: None, reason },
                    None => Event::Voided { target, reason },
                },
            );
        }
        script
    })
}

fn fractions(figures: &Figures) -> [Option<f64>; 4] {
    [
        figures.compression_fraction,
        figures.compression_fraction_from_first,
        figures.charging_compression_fraction,
        figures.finger_ready_fraction,
    ]
}

/// The first thing that does not hold.
fn broken(figures: &Figures, walk: &Walk) -> Option<String> {
    if let Some(fraction) = fractions(figures).into_iter().flatten().find(|part| !(0.0..=1.0).contains(part)) {
        return Some(format!("a fraction of {fraction}"));
    }
    for pair in figures.pauses.windows(2) {
        if pair[0].end_ms > pair[1].start_ms {
            return Some(format!("{pair:?} overlap"));
        }
    }
    for pause in &figures.pauses {
        let inside = |arrest: &Arrest| {
            arrest.start_ms <= pause.start_ms && pause.start_ms < pause.end_ms && pause.end_ms <= arrest.end_ms
        };
        if !walk.arrests.iter().any(inside) {
            return Some(format!("{pause:?} lies outside the arrests"));
        }
    }
    let paused_ms: i64 = figures.pauses.iter().map(Pause::length_ms).sum();
    let compressed_ms = compressed_between(walk, i64::MIN, i64::MAX);
    if compressed_ms + paused_ms + figures.no_flow_ms != figures.arrest_ms {
        return Some(format!(
            "{compressed_ms} ms compressed, {paused_ms} paused, {} before: not {}",
            figures.no_flow_ms, figures.arrest_ms
        ));
    }
    let spells_ms: i64 = figures.compressor_spells_ms.iter().sum();
    if spells_ms != figures.low_flow_ms {
        return Some(format!("spells of {spells_ms} ms in {} ms of low flow", figures.low_flow_ms));
    }
    if figures.check_intervals_ms.iter().any(|interval_ms| *interval_ms < 0) {
        return Some("a negative interval between checks".to_owned());
    }
    (figures.breath_pauses_estimate_ms > compressed_ms).then(|| "more pauses for breaths than compressions".to_owned())
}

fn walked(script: &Script) -> Walk {
    walk(&timeline::facts(script.records()).facts)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn figures_add_up(script in scripts()) {
        let found = broken(&measure(script.records(), &ADULT), &walked(&script));
        prop_assert!(found.is_none(), "{found:?}");
    }

    #[test]
    fn the_course_and_the_pauses_cover_every_arrest(script in scripts()) {
        let figures = measure(script.records(), &ADULT);
        let mut pauses = Vec::new();
        let (mut arrest_ms, mut compressed_ms) = (0, 0);
        for arrest in course(script.records()) {
            arrest_ms += arrest.end_ms - arrest.start_ms;
            compressed_ms += arrest.compressed.iter().map(|one| one.end_ms - one.start_ms).sum::<i64>();
            let starts = arrest.compressed.iter().skip(1).map(|next| next.start_ms).chain([arrest.end_ms]);
            let gaps = arrest.compressed.iter().zip(starts).map(|(one, next_ms)| (one.end_ms, next_ms));
            pauses.extend(gaps.filter(|(start_ms, end_ms)| start_ms < end_ms));
        }
        prop_assert_eq!(arrest_ms, figures.arrest_ms);
        prop_assert_eq!(pauses, figures.pauses.iter().map(|pause| (pause.start_ms, pause.end_ms)).collect::<Vec<_>>());
        let fraction = super::fraction(compressed_ms, arrest_ms);
        prop_assert_eq!(fraction, figures.compression_fraction);
    }

    #[test]
    fn a_void_of_a_void_is_as_if_neither_were(script in scripts(), place in 1_u64..60) {
        let before = measure(script.records(), &ADULT);
        let mut voided = script;
        let place = place.min(voided.records().len() as u64);
        voided.push(800_000, Event::Voided { target: id(place), reason: "undone".into() });
        let void = voided.records().len() as u64;
        voided.push(800_000, Event::Voided { target: id(void), reason: "it was right".into() });
        prop_assert_eq!(measure(voided.records(), &ADULT), before);
    }

    #[test]
    fn the_order_of_lines_in_a_file_does_not_matter(script in scripts()) {
        let mut records = script.records().to_vec();
        records.reverse();
        prop_assert_eq!(measure(&records, &ADULT), measure(script.records(), &ADULT));
    }
}

/// The checks above can fail: figures with a planted fault are noticed.
#[test]
fn planted_faults_are_noticed() {
    let script = Script::new(
        "0 clock_started\n10s compressions_started\n50s compressions_stopped reason=rhythm_check\n\
         55s compressions_started\n90s rosc",
    );
    let good = measure(script.records(), &ADULT);
    let walk = walked(&script);
    assert_eq!(broken(&good, &walk), None);
    let faults: [fn(&mut Figures); 5] = [
        |figures| figures.compression_fraction = Some(1.01),
        |figures| figures.pauses.push(figures.pauses[0]),
        |figures| figures.pauses[0].end_ms = 95_000,
        |figures| figures.no_flow_ms = 0,
        |figures| figures.compressor_spells_ms.clear(),
    ];
    for fault in faults {
        let mut bad = good.clone();
        fault(&mut bad);
        assert!(broken(&bad, &walk).is_some(), "{bad:?}");
    }
}

use coxswain_engine::event::{AgeGroup, Outcome, Rhythm};
use coxswain_engine::measure::targets::TargetName;
use coxswain_engine::stats::Signal;
use uuid::Uuid;

use super::*;
use crate::review::summary::{CodeLine, Followed, LineFigures, Share, Standing};
use crate::review::wire::CodeFilter;

/// A finished real code of a day with a fraction.
fn line(day: &str, compression_fraction: f64) -> CodeLine {
    CodeLine {
        id: Uuid::nil(),
        opened_at: format!("{day}T09:14:28.123Z"),
        location: Some("Ward 1".to_owned()),
        protocol: "aha-adult".to_owned(),
        protocol_version: 1,
        age_group: AgeGroup::Adult,
        training: false,
        outcome: None,
        records: 9,
        head: String::new(),
        standing: Standing::Unsigned,
        version: 1,
        debriefed: false,
        figures: LineFigures { compression_fraction: Some(compression_fraction), ..LineFigures::default() },
    }
}

/// As the server does it: by way of the text that is kept.
fn tallied(lines: &[CodeLine], filter: &CodeFilter) -> Trends {
    let mut tally = Tally::of(filter);
    let texts: Vec<String> = lines.iter().map(|line| Point::of(line).to_text().unwrap()).collect();
    if !texts.is_empty() {
        tally.add_all(&texts.join(" ")).unwrap();
    }
    tally.trends()
}

/// Trends of real codes, or of drills.
fn trends(lines: &[CodeLine], training: bool) -> Trends {
    tallied(lines, &CodeFilter { training: Some(training), ..CodeFilter::default() })
}

fn with(mut line: CodeLine, change: impl FnOnce(&mut LineFigures)) -> CodeLine {
    change(&mut line.figures);
    line
}

fn value_of(trends: &Trends, name: ValueName) -> &ValueTrend {
    trends.values.iter().find(|value| value.name == name).unwrap()
}

fn target_of(trends: &Trends, name: TargetName) -> &TargetTrend {
    trends.targets.iter().find(|target| target.name == name).unwrap()
}

#[test]
fn months_without_codes_stay_on_the_axis_and_out_of_the_charts() {
    let lines = [line("2025-11-03", 0.8), line("2025-11-29", 0.9), line("2026-02-01", 0.6)];
    let trends = trends(&lines, false);
    let months: Vec<(&str, u64, bool)> =
        trends.months.iter().map(|month| (month.month.as_str(), month.codes, month.few)).collect();
    assert_eq!(months, [("2025-11", 2, true), ("2025-12", 0, true), ("2026-01", 0, true), ("2026-02", 1, true)]);
    let fraction = value_of(&trends, ValueName::CompressionFraction);
    assert_eq!(fraction.by_month.iter().map(Option::is_some).collect::<Vec<_>>(), [true, false, false, true]);
    let chart = fraction.chart.as_ref().unwrap();
    assert_eq!(chart.months, ["2025-11", "2026-02"]);
    assert!((chart.chart.points[0].value - 0.85).abs() < 1e-12);
    assert!(chart.chart.provisional);
}

#[test]
fn drills_and_real_codes_are_never_in_one_number() {
    let drill = CodeLine { training: true, ..line("2026-01-01", 0.2) };
    let running = CodeLine { standing: Standing::Running, ..line("2026-01-01", 0.3) };
    let lines = [line("2026-01-01", 0.8), drill, running];
    let real = trends(&lines, false);
    assert_eq!((real.codes, real.left_out, real.training), (1, 2, false));
    assert_eq!(value_of(&real, ValueName::CompressionFraction).overall.unwrap().median, 0.8);
    let drills = trends(&lines, true);
    assert_eq!((drills.codes, drills.left_out), (1, 2));
    assert_eq!(value_of(&drills, ValueName::CompressionFraction).overall.unwrap().median, 0.2);
}

/// Traps 20 and 33: time to the first shock only where the first rhythm was shockable, to epinephrine only where it was
/// asystole or PEA; a code that it applies to and that has no value is counted as without one.
#[test]
fn first_times_go_by_the_first_rhythm() {
    let times = |first_rhythm, shock, epinephrine| {
        with(line("2026-01-01", 0.8), |figures| {
            figures.first_rhythm = first_rhythm;
            figures.first_shock_ms = shock;
            figures.first_epinephrine_ms = epinephrine;
        })
    };
    let lines = [
        times(Some(Rhythm::Vf), Some(90_000), Some(200_000)),
        times(Some(Rhythm::PulselessVt), None, None),
        times(Some(Rhythm::Pea), Some(600_000), Some(100_000)),
        times(Some(Rhythm::Bradycardia), Some(1_000), Some(1_000)),
        times(None, Some(2_000), Some(2_000)),
    ];
    let trends = trends(&lines, false);
    let shock = value_of(&trends, ValueName::FirstShockMs);
    assert_eq!((shock.overall.unwrap().n, shock.overall.unwrap().median, shock.without), (1, 90_000.0, 1));
    let epinephrine = value_of(&trends, ValueName::FirstEpinephrineMs);
    assert_eq!(
        (epinephrine.overall.unwrap().n, epinephrine.overall.unwrap().median, epinephrine.without),
        (1, 100_000.0, 0)
    );
}

#[test]
fn targets_are_pooled_and_aims_without_a_tolerance_are_not_judged() {
    let counted = |day, of, held| {
        with(line(day, 0.8), |figures| {
            figures.targets.insert(TargetName::Pauses, Share { of, held });
            figures.targets.insert(TargetName::CheckIntervals, Share { of, held: of });
        })
    };
    let trends =
        trends(&[counted("2026-01-01", 4, 1), counted("2026-01-20", 6, 5), counted("2026-03-01", 30, 30)], false);
    let pauses = target_of(&trends, TargetName::Pauses);
    let overall = pauses.overall.unwrap();
    assert_eq!((overall.hits, overall.of, overall.few, pauses.per), (36, 40, false, Per::Moment));
    let chart = pauses.chart.as_ref().unwrap();
    assert_eq!(chart.months, ["2026-01", "2026-03"]);
    assert_eq!((chart.chart.points[0].hits, chart.chart.points[0].of), (6, 10));
    assert_eq!(chart.chart.points[0].signals, [Signal::BeyondLimit]);
    assert!(trends.targets.iter().all(|target| target.name != TargetName::CheckIntervals));
    assert_eq!(target_of(&trends, TargetName::FirstShock).overall, None);
}

#[test]
fn prompts_are_counted_over_codes() {
    let asked = |shown, done, late| {
        with(line("2026-01-01", 0.8), |figures| {
            let after_due_ms = (0..done).map(|one| 4_000 * i64::try_from(one).unwrap() - 1_000).collect();
            let followed = Followed { shown, done, late, withdrawn: shown - done, after_due_ms };
            figures.prompts.insert("give_drug".to_owned(), followed);
        })
    };
    let trends = trends(&[asked(3, 2, 1), asked(1, 1, 0)], false);
    let prompt = &trends.prompts[0];
    assert_eq!((prompt.action.as_str(), prompt.shown, prompt.withdrawn), ("give_drug", 4, 1));
    assert_eq!((prompt.done.unwrap().hits, prompt.in_time.unwrap().hits), (3, 2));
    // -1, 3 and -1 s.
    assert_eq!(prompt.after_due.map(|one| (one.n, one.median)), Some((3, -1_000.0)));
}

/// A code is no drill unless the filter asks for drills, and what was no arrest counts only where just that is asked for.
#[test]
fn what_was_no_arrest_is_left_out() {
    let lines = [line("2026-01-01", 0.8), CodeLine { outcome: Some(Outcome::NotAnArrest), ..line("2026-01-01", 0.1) }];
    let real = tallied(&lines, &CodeFilter::default());
    assert_eq!((real.codes, real.left_out, real.training), (1, 1, false));
    let filter = CodeFilter { outcome: Some(Outcome::NotAnArrest), ..CodeFilter::default() };
    assert_eq!(tallied(&lines, &filter).codes, 2);
}

#[test]
fn nothing_at_all_is_no_fault() {
    let trends = trends(&[], false);
    assert_eq!((trends.codes, trends.months.len(), trends.prompts.len()), (0, 0, 0));
    assert!(trends.values.iter().all(|value| value.overall.is_none() && value.chart.is_none()));
}

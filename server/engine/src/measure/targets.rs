//! The published targets as data: what each asks, of which codes, and which moments of a code missed it. The list of a code,
//! its review page and the trends over many codes all count by these, so that there is one definition.
//!
//! A target is judged only where it applies and only by what is on the record. It must not rank or advise: one code's
//! figures need the people who were there (docs/measures.md).

use serde::{Deserialize, Serialize};

use super::walk::{Walk, walk};
use super::{Figures, compressed_between, finger_was_ready};
use crate::event::PauseReason;
use crate::record::Record;
use crate::timeline;

/// What a target is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[expect(missing_docs, reason = "the names are those of the figures in docs/measures.md")]
pub enum TargetName {
    CompressionFraction,
    /// The higher aim for the same figure.
    CompressionFractionGoal,
    Pauses,
    PreShockPauses,
    PeriShockPauses,
    FirstShock,
    FirstEpinephrine,
    EpinephrineIntervals,
    CheckIntervals,
    CompressorSpells,
    ChargingCompressions,
    FingerReady,
}

impl TargetName {
    /// Every target, in the order in which they are shown.
    pub const ALL: &'static [Self] = &[
        Self::CompressionFraction,
        Self::CompressionFractionGoal,
        Self::Pauses,
        Self::PreShockPauses,
        Self::PeriShockPauses,
        Self::FirstShock,
        Self::FirstEpinephrine,
        Self::EpinephrineIntervals,
        Self::CheckIntervals,
        Self::CompressorSpells,
        Self::ChargingCompressions,
        Self::FingerReady,
    ];

    /// What the target asks.
    pub const fn bound(self) -> Bound {
        match self {
            Self::CompressionFraction => Bound::AtLeast { fraction: 0.6 },
            Self::CompressionFractionGoal => Bound::Above { fraction: 0.8 },
            // "Under 10 s"; what is counted as over 10 s is strictly longer, here as in `pauses_over_10_s`.
            Self::Pauses => Bound::AtMost { ms: 10_000 },
            Self::PreShockPauses => Bound::Under { ms: 10_000 },
            Self::PeriShockPauses => Bound::Under { ms: 20_000 },
            Self::FirstShock => Bound::AtMost { ms: 120_000 },
            Self::FirstEpinephrine => Bound::AtMost { ms: 300_000 },
            Self::EpinephrineIntervals => Bound::Between { low_ms: 180_000, high_ms: 300_000 },
            // No source says how far from 2 min is too far: it is shown and not judged.
            Self::CheckIntervals | Self::CompressorSpells => Bound::About { ms: 120_000 },
            Self::ChargingCompressions | Self::FingerReady => Bound::None,
        }
    }

    /// Where the target is published; the ids are rows of `docs/clinical-sources.md`.
    pub const fn source(self) -> &'static str {
        match self {
            Self::CompressionFraction => "AHA 2020 (Q20, A14)",
            Self::CompressionFractionGoal => "teaching pearl 2021 (Q21); its attribution to Meaney 2013 from memory",
            Self::Pauses => "UMEM 2021 (Q22)",
            Self::PreShockPauses => "Cheskes 2011 (Q23, Q24)",
            Self::PeriShockPauses => "Cheskes 2011 (Q25, Q26)",
            Self::FirstShock => "AHA registry (Q33), Chan 2008 (Q34)",
            Self::FirstEpinephrine => "AHA registry (Q35), Khera 2016 (Q36)",
            Self::EpinephrineIntervals => "AHA 2020, RCUK 2021 (A41)",
            Self::CheckIntervals => "AHA 2020, RCUK 2021 (A1)",
            Self::CompressorSpells => "AHA 2020 (A13): every 2 min, or sooner if tired",
            Self::ChargingCompressions => "AHA 2020 allows it (A29); no published threshold",
            Self::FingerReady => "common practice, no source (C1)",
        }
    }
}

/// What a target asks of each moment that it counts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
#[expect(missing_docs, reason = "the words say it")]
pub enum Bound {
    AtLeast {
        fraction: f64,
    },
    Above {
        fraction: f64,
    },
    AtMost {
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        ms: i64,
    },
    Under {
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        ms: i64,
    },
    Between {
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        low_ms: i64,
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        high_ms: i64,
    },
    /// An aim without a published tolerance: nothing is judged by it.
    About {
        #[cfg_attr(feature = "typescript", ts(type = "number"))]
        ms: i64,
    },
    /// No published threshold: what was done is counted beside what was not.
    None,
}

impl Bound {
    fn holds_for(self, value_ms: i64) -> bool {
        match self {
            Self::AtMost { ms } => value_ms <= ms,
            Self::Under { ms } => value_ms < ms,
            Self::Between { low_ms, high_ms } => (low_ms..=high_ms).contains(&value_ms),
            Self::AtLeast { .. } | Self::Above { .. } | Self::About { .. } | Self::None => true,
        }
    }
}

/// A moment that missed a target.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Missed {
    /// Where it begins, in code time.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub at_ms: i64,
    /// Where it ends, if it lasts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub until_ms: Option<i64>,
    /// What was measured there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub value_ms: Option<i64>,
}

/// A target beside a code.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Target {
    /// Which.
    pub name: TargetName,
    /// What it asks.
    pub bound: Bound,
    /// Where it is published.
    pub source: &'static str,
    /// How many moments of this code it counts; 0 where it does not apply, or the record says nothing.
    pub of: usize,
    /// How many of them met it. Of a target that nothing is judged by, all.
    pub held: usize,
    /// Those that missed it, in order of time. For a fraction: the time without compressions that took most of it.
    pub missed: Vec<Missed>,
}

/// Every target beside a code, in the order of [`TargetName::ALL`].
pub fn targets(records: &[Record], figures: &Figures) -> Vec<Target> {
    let settled = timeline::facts(records);
    let walk = walk(&settled.facts);
    TargetName::ALL.iter().map(|name| judge(*name, &walk, figures)).collect()
}

fn lasting(start_ms: i64, end_ms: i64) -> Missed {
    Missed { at_ms: start_ms, until_ms: Some(end_ms), value_ms: Some(end_ms - start_ms) }
}

fn judge(name: TargetName, walk: &Walk, figures: &Figures) -> Target {
    let bound = name.bound();
    let (mut of, mut missed) = (0, Vec::new());
    let mut count = |value_ms: i64, moment: Missed| {
        of += 1;
        if !bound.holds_for(value_ms) {
            missed.push(moment);
        }
    };
    match name {
        TargetName::CompressionFraction | TargetName::CompressionFractionGoal => {
            return fraction(name, walk, figures);
        }
        TargetName::Pauses => {
            figures.pauses.iter().for_each(|pause| count(pause.length_ms(), lasting(pause.start_ms, pause.end_ms)));
        }
        TargetName::PreShockPauses => {
            for (shock, value_ms) in figures.shocks.iter().filter_map(|shock| Some((shock, shock.pre_shock_ms?))) {
                count(value_ms, lasting(shock.at_ms - value_ms, shock.at_ms));
            }
        }
        TargetName::PeriShockPauses => {
            for shock in &figures.shocks {
                let (Some(pre_ms), Some(value_ms)) = (shock.pre_shock_ms, shock.peri_shock_ms) else { continue };
                count(value_ms, lasting(shock.at_ms - pre_ms, shock.at_ms - pre_ms + value_ms));
            }
        }
        // Only by the first rhythm on the record: a later one must not enter (docs/measures.md).
        TargetName::FirstShock => {
            if figures.first_rhythm.is_some_and(crate::event::Rhythm::is_shockable) {
                first(walk, figures.first_shock_ms, &mut count);
            }
        }
        TargetName::FirstEpinephrine => {
            use crate::event::Rhythm::{Asystole, Pea};
            if matches!(figures.first_rhythm, Some(Asystole | Pea)) {
                first(walk, figures.first_epinephrine_ms, &mut count);
            }
        }
        TargetName::EpinephrineIntervals => {
            for (place, arrest) in walk.arrests.iter().enumerate() {
                let before = walk.prior_epinephrine_ms.filter(|_| place == 0);
                let doses: Vec<i64> = before.into_iter().chain(arrest.epinephrine.iter().copied()).collect();
                doses.windows(2).for_each(|pair| count(pair[1] - pair[0], lasting(pair[0], pair[1])));
            }
        }
        TargetName::CheckIntervals => of = figures.check_intervals_ms.len(),
        TargetName::CompressorSpells => of = figures.compressor_spells_ms.len(),
        TargetName::ChargingCompressions => {
            for (from_ms, to_ms) in walk.shocks.iter().filter_map(|shock| shock.charging) {
                of += 1;
                let without_ms = to_ms - from_ms - compressed_between(walk, from_ms, to_ms);
                if without_ms > 0 {
                    missed.push(Missed { at_ms: from_ms, until_ms: Some(to_ms), value_ms: Some(without_ms) });
                }
            }
        }
        TargetName::FingerReady => {
            for pause in figures.pauses.iter().filter(|pause| pause.reason == PauseReason::RhythmCheck) {
                of += 1;
                if !finger_was_ready(walk, pause) {
                    missed.push(Missed { at_ms: pause.start_ms, until_ms: Some(pause.end_ms), value_ms: None });
                }
            }
        }
    }
    missed.sort_by_key(|moment| moment.at_ms);
    Target { name, bound, source: name.source(), of, held: of - missed.len(), missed }
}

/// Something that is counted from recognition, once.
fn first(walk: &Walk, value_ms: Option<i64>, count: &mut impl FnMut(i64, Missed)) {
    let (Some(clock_ms), Some(value_ms)) = (walk.clock_ms, value_ms) else { return };
    count(value_ms, lasting(clock_ms, clock_ms + value_ms));
}

/// A share of the whole code: met or missed as one. What took most of it are its starts without compressions and its pauses.
fn fraction(name: TargetName, walk: &Walk, figures: &Figures) -> Target {
    let bound = name.bound();
    let held = figures.compression_fraction.map(|value| match bound {
        Bound::AtLeast { fraction } => value >= fraction,
        Bound::Above { fraction } => value > fraction,
        Bound::AtMost { .. } | Bound::Under { .. } | Bound::Between { .. } | Bound::About { .. } | Bound::None => true,
    });
    let mut missed = Vec::new();
    if held == Some(false) {
        for arrest in &walk.arrests {
            let first_ms = super::first_compression_ms(arrest).unwrap_or(arrest.end_ms);
            if first_ms > arrest.start_ms {
                missed.push(lasting(arrest.start_ms, first_ms));
            }
        }
        missed.extend(figures.pauses.iter().map(|pause| lasting(pause.start_ms, pause.end_ms)));
        // The longest five, in order of time: a list of every pause would point nowhere.
        missed.sort_by_key(|moment| std::cmp::Reverse(moment.value_ms));
        missed.truncate(5);
        missed.sort_by_key(|moment| moment.at_ms);
    }
    Target {
        name,
        bound,
        source: name.source(),
        of: usize::from(held.is_some()),
        held: usize::from(held == Some(true)),
        missed,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::measure;
    use crate::protocol::shipped;
    use crate::testing::Script;

    fn judged(text: &str) -> Vec<Target> {
        let script = Script::new(text);
        let protocol = crate::protocol::reread(shipped()[0].1).unwrap();
        targets(script.records(), &measure(script.records(), &protocol))
    }

    fn of(targets: &[Target], name: TargetName) -> (usize, usize, Vec<i64>) {
        let target = targets.iter().find(|target| target.name == name).unwrap();
        (target.of, target.held, target.missed.iter().map(|moment| moment.at_ms).collect())
    }

    /// Worked by hand from docs/measures.md: three pauses (12 s, 10 s, 5 s), one shock 11 s into the first.
    #[test]
    fn the_moments_that_missed_are_named() {
        let targets = judged(
            "0s clock_started\n5s compressions_started\n20s rhythm_checked rhythm=vf\n21s charging_started\n30s compressions_stopped reason=shock\n\
             32s all_clear_called\n41s shock_delivered energy_j=200\n42s compressions_started\n100s pulse_finger_placed\n\
             120s compressions_stopped reason=rhythm_check\n130s compressions_started\n\
             240s compressions_stopped reason=rhythm_check\n245s compressions_started\n300s code_closed outcome=died",
        );
        assert_eq!(of(&targets, TargetName::Pauses), (3, 2, vec![30_000]));
        assert_eq!(of(&targets, TargetName::PreShockPauses), (1, 0, vec![30_000]));
        assert_eq!(of(&targets, TargetName::PeriShockPauses), (1, 1, vec![]));
        assert_eq!(of(&targets, TargetName::FirstShock), (1, 1, vec![]));
        assert_eq!(of(&targets, TargetName::FirstEpinephrine), (0, 0, vec![]));
        assert_eq!(of(&targets, TargetName::FingerReady), (2, 1, vec![240_000]));
        // Charging from 21 s to the all clear at 32 s; compressions stopped for its last 2 s.
        assert_eq!(of(&targets, TargetName::ChargingCompressions), (1, 0, vec![21_000]));
        assert_eq!(of(&targets, TargetName::CompressionFraction), (1, 1, vec![]));
    }

    #[test]
    fn time_to_epinephrine_is_asked_only_where_no_shock_was_due_first() {
        let late = "0s clock_started\n1s compressions_started\n10s rhythm_checked rhythm=RHYTHM\n20s access_gained route=iv\n\
            400s drug_given drug=epinephrine route=iv\n500s drug_given drug=epinephrine route=iv\n600s code_closed outcome=died";
        let flat = judged(&late.replace("RHYTHM", "asystole"));
        assert_eq!(of(&flat, TargetName::FirstEpinephrine), (1, 0, vec![0]));
        assert_eq!(of(&flat, TargetName::EpinephrineIntervals), (1, 0, vec![400_000]));
        assert_eq!(of(&judged(&late.replace("RHYTHM", "vf")), TargetName::FirstEpinephrine).0, 0);
        assert_eq!(of(&judged(&late.replace("RHYTHM", "unknown")), TargetName::FirstEpinephrine).0, 0);
    }
}

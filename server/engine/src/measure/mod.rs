//! Quality figures: how well a code went, by fixed definitions (docs/measures.md), from its timeline alone.
//!
//! Nothing is made up to fill a missing tap: what is not on the record is null or a gap. This module must not judge a
//! figure; the published targets stand beside it in `table`.

mod course;
mod gaps;
mod table;
pub mod targets;
mod walk;

use serde::{Deserialize, Serialize};

use crate::event::{PauseReason, Rhythm};
use crate::number;
use crate::protocol::Protocol;
use crate::record::Record;
use crate::timeline;

pub use course::{ArrestCourse, Compressed, course};
pub use gaps::{Gap, GapKind};
pub use table::Line;
use walk::{Arrest, Walk};

/// What ended a pause.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum EndedBy {
    /// Compressions went on.
    Resumed,
    /// Circulation returned.
    Rosc,
    /// The code was closed, or its record ends here.
    Closed,
}

/// A gap in compressions within an arrest, after its first compression.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Pause {
    /// When compressions stopped.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub start_ms: i64,
    /// When they went on, or the arrest ended.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub end_ms: i64,
    /// Why they stopped.
    pub reason: PauseReason,
    /// What ended it.
    pub ended_by: EndedBy,
}

impl Pause {
    /// How long it was.
    pub const fn length_ms(&self) -> i64 {
        self.end_ms - self.start_ms
    }

    const fn holds(&self, at_ms: i64) -> bool {
        self.start_ms <= at_ms && at_ms <= self.end_ms
    }
}

/// A shock with the pause around it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ShockFigures {
    /// When it was given.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub at_ms: i64,
    /// Its energy.
    #[serde(serialize_with = "number::serialize")]
    pub energy_j: f64,
    /// From the last compression to the shock.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub pre_shock_ms: Option<i64>,
    /// From the shock to the next compression.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub post_shock_ms: Option<i64>,
    /// Both together.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub peri_shock_ms: Option<i64>,
}

/// The figures of one code. The JSON names are fixed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Figures {
    /// Length of all arrests together.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub arrest_ms: i64,
    /// Share of it with compressions running, from recognition.
    pub compression_fraction: Option<f64>,
    /// Time before each arrest's first compression.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub no_flow_ms: i64,
    /// Time from each arrest's first compression to its end.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub low_flow_ms: i64,
    /// Share of low-flow time with compressions running.
    pub compression_fraction_from_first: Option<f64>,
    /// Every pause.
    pub pauses: Vec<Pause>,
    /// How many were longer than 10 s.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub pauses_over_10_s: usize,
    /// The longest.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub longest_pause_ms: Option<i64>,
    /// Every shock.
    pub shocks: Vec<ShockFigures>,
    /// Share of charging time with compressions running.
    pub charging_compression_fraction: Option<f64>,
    /// The first rhythm on the record.
    pub first_rhythm: Option<Rhythm>,
    /// From recognition to the first compression.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub first_compression_ms: Option<i64>,
    /// From recognition to the first shock.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub first_shock_ms: Option<i64>,
    /// From recognition to the first epinephrine into a vein or bone here.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub first_epinephrine_ms: Option<i64>,
    /// From recognition to the first access here.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub first_access_ms: Option<i64>,
    /// From recognition to the first advanced airway here.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub first_advanced_airway_ms: Option<i64>,
    /// Between successive doses of epinephrine.
    #[cfg_attr(feature = "typescript", ts(type = "number[]"))]
    pub epinephrine_intervals_ms: Vec<i64>,
    /// From the end of one check to the start of the next.
    #[cfg_attr(feature = "typescript", ts(type = "number[]"))]
    pub check_intervals_ms: Vec<i64>,
    /// How long each compressor worked.
    #[cfg_attr(feature = "typescript", ts(type = "number[]"))]
    pub compressor_spells_ms: Vec<i64>,
    /// Share of rhythm checks with a finger on the pulse before compressions stopped.
    pub finger_ready_fraction: Option<f64>,
    /// From recognition to the first return of circulation.
    #[cfg_attr(feature = "typescript", ts(type = "number | null"))]
    pub rosc_ms: Option<i64>,
    /// How often circulation returned.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub rosc_count: usize,
    /// What pauses for breaths, which nobody taps, would add.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub breath_pauses_estimate_ms: i64,
    /// What the record does not tell.
    pub gaps: Vec<Gap>,
}

/// Raised whenever a definition changes: figures that were stored are then made anew.
pub const VERSION: u32 = 1;
/// Pauses longer than this are counted.
const LONG_PAUSE_MS: i64 = 10_000;
/// A finger is ready if it was placed at most this long before compressions stopped.
const FINGER_AHEAD_MS: i64 = 30_000;

/// Measures a code from its records.
pub fn measure(records: &[Record], protocol: &Protocol) -> Figures {
    let settled = timeline::facts(records);
    let walk = walk::walk(&settled.facts);
    let pauses_of: Vec<Vec<Pause>> = walk.arrests.iter().map(pauses).collect();
    let all: Vec<Pause> = pauses_of.iter().flatten().copied().collect();

    let arrest_ms: i64 = walk.arrests.iter().map(|arrest| arrest.end_ms - arrest.start_ms).sum();
    let no_flow_ms: i64 = walk.arrests.iter().map(no_flow_ms).sum();
    let low_flow_ms = arrest_ms - no_flow_ms;
    let compressed_ms = compressed_between(&walk, i64::MIN, i64::MAX);
    let relative = |at_ms: Option<i64>| Some(at_ms? - walk.clock_ms?);
    let roscs = || walk.arrests.iter().filter(|arrest| arrest.ended_by == EndedBy::Rosc);

    Figures {
        arrest_ms,
        compression_fraction: fraction(compressed_ms, arrest_ms),
        no_flow_ms,
        low_flow_ms,
        compression_fraction_from_first: fraction(compressed_ms, low_flow_ms),
        pauses_over_10_s: all.iter().filter(|pause| pause.length_ms() > LONG_PAUSE_MS).count(),
        longest_pause_ms: all.iter().map(Pause::length_ms).max(),
        shocks: shocks(&walk, &all),
        charging_compression_fraction: charging_fraction(&walk),
        first_rhythm: walk.first_rhythm,
        first_compression_ms: relative(walk.arrests.iter().find_map(first_compression_ms)),
        first_shock_ms: relative(walk.shocks.first().map(|shock| shock.at_ms)),
        first_epinephrine_ms: relative(walk.arrests.iter().find_map(|arrest| arrest.epinephrine.first().copied())),
        first_access_ms: relative(walk.first_access_ms),
        first_advanced_airway_ms: relative(walk.first_advanced_airway_ms),
        epinephrine_intervals_ms: epinephrine_intervals(&walk),
        check_intervals_ms: check_intervals(&walk, &pauses_of, &all),
        compressor_spells_ms: walk.arrests.iter().flat_map(spells).collect(),
        finger_ready_fraction: finger_ready(&walk, &all),
        rosc_ms: relative(roscs().next().map(|arrest| arrest.end_ms)),
        rosc_count: roscs().count(),
        breath_pauses_estimate_ms: breath_pauses_estimate(walk.bagged_ms, protocol),
        gaps: gaps::gaps(&walk, &all, &settled.waiting),
        pauses: all,
    }
}

#[expect(clippy::cast_precision_loss, reason = "milliseconds of a code are far below 2^53")]
fn fraction(part_ms: i64, whole_ms: i64) -> Option<f64> {
    (whole_ms > 0).then(|| part_ms as f64 / whole_ms as f64)
}

fn first_compression_ms(arrest: &Arrest) -> Option<i64> {
    arrest.stretches.first().map(|stretch| stretch.start_ms)
}

fn no_flow_ms(arrest: &Arrest) -> i64 {
    first_compression_ms(arrest).unwrap_or(arrest.end_ms) - arrest.start_ms
}

fn compressed_between(walk: &Walk, from_ms: i64, to_ms: i64) -> i64 {
    let stretches = walk.arrests.iter().flat_map(|arrest| &arrest.stretches);
    stretches.map(|stretch| (stretch.end_ms.min(to_ms) - stretch.start_ms.max(from_ms)).max(0)).sum()
}

/// The gaps between an arrest's stretches, and the one that its end closes. A stop and a start in the same millisecond
/// leave no gap.
fn pauses(arrest: &Arrest) -> Vec<Pause> {
    let mut found = Vec::new();
    let mut stretches = arrest.stretches.iter().peekable();
    while let Some(stretch) = stretches.next() {
        let Some(reason) = stretch.stopped_for else { continue };
        let (end_ms, ended_by) = match stretches.peek() {
            Some(next) => (next.start_ms, EndedBy::Resumed),
            None => (arrest.end_ms, arrest.ended_by),
        };
        if end_ms > stretch.end_ms {
            found.push(Pause { start_ms: stretch.end_ms, end_ms, reason, ended_by });
        }
    }
    found
}

/// The pause that holds a moment; where two touch, the later.
fn holder(pauses: &[Pause], at_ms: i64) -> Option<&Pause> {
    pauses.iter().rev().find(|pause| pause.holds(at_ms))
}

fn shocks(walk: &Walk, pauses: &[Pause]) -> Vec<ShockFigures> {
    let figures = |shock: &walk::ShockSeen| {
        let (pre_shock_ms, post_shock_ms) = match holder(pauses, shock.at_ms) {
            _ if shock.mechanical => (Some(0), Some(0)),
            Some(pause) => {
                let resumed = pause.ended_by == EndedBy::Resumed;
                (Some(shock.at_ms - pause.start_ms), resumed.then_some(pause.end_ms - shock.at_ms))
            }
            None => (None, None),
        };
        ShockFigures {
            at_ms: shock.at_ms,
            energy_j: shock.energy_j,
            pre_shock_ms,
            post_shock_ms,
            peri_shock_ms: pre_shock_ms.zip(post_shock_ms).map(|(pre_ms, post_ms)| pre_ms + post_ms),
        }
    };
    walk.shocks.iter().map(figures).collect()
}

fn charging_fraction(walk: &Walk) -> Option<f64> {
    let charging = || walk.shocks.iter().filter_map(|shock| shock.charging);
    let compressed_ms = charging().map(|(from_ms, to_ms)| compressed_between(walk, from_ms, to_ms)).sum();
    fraction(compressed_ms, charging().map(|(from_ms, to_ms)| to_ms - from_ms).sum())
}

fn differences(times: &[i64]) -> impl Iterator<Item = i64> {
    times.windows(2).map(|pair| pair[1] - pair[0])
}

fn epinephrine_intervals(walk: &Walk) -> Vec<i64> {
    let mut found = Vec::new();
    for (place, arrest) in walk.arrests.iter().enumerate() {
        let before = walk.prior_epinephrine_ms.filter(|_| place == 0);
        let doses: Vec<i64> = before.into_iter().chain(arrest.epinephrine.iter().copied()).collect();
        found.extend(differences(&doses));
    }
    found
}

fn check_intervals(walk: &Walk, pauses_of: &[Vec<Pause>], all: &[Pause]) -> Vec<i64> {
    let held: Vec<&Pause> = walk
        .looks
        .iter()
        .copied()
        .chain(walk.shocks.iter().map(|shock| shock.at_ms))
        .filter_map(|at_ms| holder(all, at_ms))
        .collect();
    let mut found = Vec::new();
    for (arrest, pauses) in walk.arrests.iter().zip(pauses_of) {
        let Some(mut counted_from_ms) = first_compression_ms(arrest) else { continue };
        for pause in pauses {
            let is_check = pause.reason == PauseReason::RhythmCheck;
            if is_check {
                found.push(pause.start_ms - counted_from_ms);
            }
            if is_check || held.contains(&pause) {
                counted_from_ms = pause.end_ms;
            }
        }
    }
    found
}

fn spells(arrest: &Arrest) -> Vec<i64> {
    let Some(first_ms) = first_compression_ms(arrest) else { return Vec::new() };
    let mut cuts = vec![first_ms];
    cuts.extend(arrest.changes.iter().copied().filter(|at_ms| *at_ms > first_ms));
    cuts.push(arrest.end_ms);
    differences(&cuts).filter(|spell_ms| *spell_ms > 0).collect()
}

fn finger_ready(walk: &Walk, pauses: &[Pause]) -> Option<f64> {
    let checks = || pauses.iter().filter(|pause| pause.reason == PauseReason::RhythmCheck);
    let ready = checks().filter(|pause| finger_was_ready(walk, pause));
    let count = |count: usize| i64::try_from(count).unwrap_or(i64::MAX);
    fraction(count(ready.count()), count(checks().count()))
}

/// Whether a finger was on the pulse before compressions stopped.
fn finger_was_ready(walk: &Walk, pause: &Pause) -> bool {
    let window = pause.start_ms - FINGER_AHEAD_MS..=pause.start_ms;
    walk.fingers.iter().any(|at_ms| window.contains(at_ms))
}

/// Breaths at the protocol's ratio, rate and gap, over manual compressions without an advanced airway.
#[expect(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "milliseconds of a code")]
fn breath_pauses_estimate(bagged_ms: i64, protocol: &Protocol) -> i64 {
    let gap_s = protocol.cycle.breath_gap_s.value;
    let set_s =
        f64::from(protocol.airway.ratio_compressions.value) * 60.0 / protocol.cycle.compressions_per_minute.value;
    let estimate = bagged_ms as f64 * gap_s / (set_s + gap_s);
    if estimate.is_finite() { estimate.round() as i64 } else { 0 }
}

#[cfg(test)]
mod properties;
#[cfg(test)]
mod tests;

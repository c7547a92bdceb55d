//! One code in a line: what the list shows, what its filters ask for, and what trends are made of. The engine makes the
//! figures; this module only keeps the ones that are needed over many codes, small enough to read twenty thousand at once.

use std::collections::BTreeMap;

use coxswain_engine::event::{AgeGroup, Outcome, Rhythm};
use coxswain_engine::measure::targets::TargetName;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Raised whenever the shape below changes, or what it means: what was stored is then made anew.
pub const SHAPE: u32 = 4;

/// A code in the list, and one point of a trend.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(optional_fields))]
pub struct CodeLine {
    /// Its id.
    pub id: Uuid,
    /// Wall clock of its opening (RFC 3339, UTC), as aligned by a reviewer.
    pub opened_at: String,
    /// Where it was opened, as corrected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub location: Option<String>,
    /// The protocol it ran under at its end.
    pub protocol: String,
    /// That protocol's version.
    pub protocol_version: u32,
    /// For whom.
    pub age_group: AgeGroup,
    /// A drill.
    pub training: bool,
    /// How it ended; absent while it is open.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outcome: Option<Outcome>,
    /// How many records it has.
    #[cfg_attr(test, ts(type = "number"))]
    pub records: u64,
    /// Hash of its chain, hexadecimal.
    pub head: String,
    /// How its record stands.
    pub standing: Standing,
    /// The version that is open or was signed last, from 1.
    pub version: u32,
    /// Whether a debrief stands.
    pub debriefed: bool,
    /// What the engine measured.
    pub figures: LineFigures,
}

/// How a record stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
pub enum Standing {
    /// The code still runs.
    Running,
    /// Over, and never signed.
    Unsigned,
    /// Signed, and nothing came after.
    Signed,
    /// Signed, and opened again for a new version.
    Reopened,
}

/// Figures of one code by the definitions of docs/measures.md, cut to what is asked over many codes.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct LineFigures {
    /// Length of all arrests together.
    #[cfg_attr(test, ts(type = "number"))]
    pub arrest_ms: i64,
    /// Share of it with compressions running, from recognition.
    pub compression_fraction: Option<f64>,
    /// Share of low-flow time with compressions running.
    pub compression_fraction_from_first: Option<f64>,
    /// Time before each arrest's first compression.
    #[cfg_attr(test, ts(type = "number"))]
    pub no_flow_ms: i64,
    /// Length of each pause, in order of time.
    #[cfg_attr(test, ts(type = "number[]"))]
    pub pauses_ms: Vec<i64>,
    /// How many were longer than 10 s.
    #[cfg_attr(test, ts(type = "number"))]
    pub pauses_over_10_s: usize,
    /// The longest.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub longest_pause_ms: Option<i64>,
    /// How many shocks.
    #[cfg_attr(test, ts(type = "number"))]
    pub shocks: usize,
    /// Of the shocks that a pause holds.
    #[cfg_attr(test, ts(type = "number[]"))]
    pub pre_shock_ms: Vec<i64>,
    /// Of the shocks whose pause ended by resuming.
    #[cfg_attr(test, ts(type = "number[]"))]
    pub post_shock_ms: Vec<i64>,
    /// Of the shocks whose pause ended by resuming.
    #[cfg_attr(test, ts(type = "number[]"))]
    pub peri_shock_ms: Vec<i64>,
    /// Share of charging time with compressions running.
    pub charging_compression_fraction: Option<f64>,
    /// The first rhythm on the record.
    pub first_rhythm: Option<Rhythm>,
    /// From recognition to the first compression.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub first_compression_ms: Option<i64>,
    /// From recognition to the first shock.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub first_shock_ms: Option<i64>,
    /// From recognition to the first epinephrine into a vein or bone.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub first_epinephrine_ms: Option<i64>,
    /// From recognition to the first access.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub first_access_ms: Option<i64>,
    /// From recognition to the first advanced airway.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub first_advanced_airway_ms: Option<i64>,
    /// Between successive doses of epinephrine.
    #[cfg_attr(test, ts(type = "number[]"))]
    pub epinephrine_intervals_ms: Vec<i64>,
    /// From the end of one check to the start of the next.
    #[cfg_attr(test, ts(type = "number[]"))]
    pub check_intervals_ms: Vec<i64>,
    /// How long each compressor worked.
    #[cfg_attr(test, ts(type = "number[]"))]
    pub compressor_spells_ms: Vec<i64>,
    /// Share of rhythm checks with a finger on the pulse before compressions stopped.
    pub finger_ready_fraction: Option<f64>,
    /// From recognition to the first return of circulation.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub rosc_ms: Option<i64>,
    /// How often circulation returned.
    #[cfg_attr(test, ts(type = "number"))]
    pub rosc_count: usize,
    /// What pauses for breaths, which nobody taps, would add.
    #[cfg_attr(test, ts(type = "number"))]
    pub breath_pauses_estimate_ms: i64,
    /// How many gaps the record has.
    #[cfg_attr(test, ts(type = "number"))]
    pub gaps: usize,
    /// Moments that each target counts in this code, and how many of them met it; targets that count none are left out.
    #[cfg_attr(test, ts(as = "BTreeMap<TargetName, Share>"))]
    pub targets: BTreeMap<TargetName, Share>,
    /// How what was asked was followed, by the prompt's action; only actions that were asked.
    #[cfg_attr(test, ts(as = "BTreeMap<String, Followed>"))]
    pub prompts: BTreeMap<String, Followed>,
}

/// So many of so many.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Share {
    /// All that count.
    #[cfg_attr(test, ts(type = "number"))]
    pub of: usize,
    /// Those that met it.
    #[cfg_attr(test, ts(type = "number"))]
    pub held: usize,
}

/// How prompts of one action were followed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Followed {
    /// How often it was shown.
    #[cfg_attr(test, ts(type = "number"))]
    pub shown: usize,
    /// How often it was done.
    #[cfg_attr(test, ts(type = "number"))]
    pub done: usize,
    /// How often it was done after it had become late.
    #[cfg_attr(test, ts(type = "number"))]
    pub late: usize,
    /// How often it went without having been done.
    #[cfg_attr(test, ts(type = "number"))]
    pub withdrawn: usize,
    /// Of each that was done: from the moment it was due, or showed if that was later, until then; negative if before.
    #[cfg_attr(test, ts(type = "Array<number>"))]
    pub after_due_ms: Vec<i64>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every fraction of a code of whole seconds up to twenty minutes by each fiftieth second, and of odd milliseconds.
    #[test]
    fn fractions_are_read_back_as_they_were_written() {
        let seconds = (1..=1_200_u32).flat_map(|of| (1..of).step_by(50).map(move |ran| (ran, of)));
        let odd = (1..10_000_u32).map(|step| (step * 17 + 5, 348_641));
        for (ran, of) in seconds.chain(odd) {
            let figures =
                LineFigures { compression_fraction: Some(f64::from(ran) / f64::from(of)), ..LineFigures::default() };
            let text = serde_json::to_string(&figures).unwrap();
            let read: LineFigures = serde_json::from_str(&text).unwrap();
            let bits = |figures: &LineFigures| figures.compression_fraction.map(f64::to_bits);
            assert_eq!(bits(&read), bits(&figures), "{ran} of {of}: {text}");
        }
    }
}

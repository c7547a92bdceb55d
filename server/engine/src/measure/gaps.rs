//! Gaps: what the record does not tell, said plainly so that a reviewer can ask, and nobody fills it in unseen.
//!
//! A gap is a fault of the record until somebody says otherwise; this module must not guess what happened in it.

use serde::{Deserialize, Serialize};

use super::walk::{LONGEST_SILENCE_MS, Walk};
use super::{Pause, first_compression_ms, holder};
use crate::event::PauseReason;
use crate::timeline::Waiting;

/// What is missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum GapKind {
    /// A look with no rhythm.
    CheckWithoutRhythm,
    /// A drug into a vein or bone, and no access.
    DrugWithoutAccess,
    /// No compressions at the start.
    NoCompressions,
    /// A shock, and nobody stopped.
    ShockWithoutPause,
    /// Nothing on the record for long.
    Silence,
    /// A correction of a record that is not there.
    WaitingTarget,
}

/// One gap.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Gap {
    /// Where it is, or begins.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub at_ms: i64,
    /// What is missing.
    pub what: GapKind,
    /// The same in words.
    pub words: String,
}

/// An arrest this long without compressions from its start is listed.
const LONGEST_START_MS: i64 = 30_000;

/// Every gap, in order of time.
pub(super) fn gaps(walk: &Walk, pauses: &[Pause], waiting: &[Waiting]) -> Vec<Gap> {
    let mut found = Vec::new();
    let mut add = |at_ms, what, words: String| found.push(Gap { at_ms, what, words });
    for shock in walk.shocks.iter().filter(|shock| shock.in_arrest && !shock.mechanical) {
        if holder(pauses, shock.at_ms).is_none() {
            add(
                shock.at_ms,
                GapKind::ShockWithoutPause,
                "A shock is recorded, but no pause in compressions around it.".to_owned(),
            );
        }
    }
    for (at_ms, drug) in &walk.without_access {
        let words = format!("{drug} is recorded as given into a vein or bone, but no access is recorded before it.");
        add(*at_ms, GapKind::DrugWithoutAccess, words);
    }
    for pause in pauses.iter().filter(|pause| pause.reason == PauseReason::RhythmCheck) {
        let looked = walk.looks.iter().any(|at_ms| holder(pauses, *at_ms) == Some(pause));
        if !looked {
            add(
                pause.start_ms,
                GapKind::CheckWithoutRhythm,
                "Compressions stopped for a rhythm check, but no rhythm is recorded in that pause.".to_owned(),
            );
        }
    }
    for arrest in &walk.arrests {
        let first_ms = first_compression_ms(arrest);
        let waited_ms = first_ms.unwrap_or(arrest.end_ms) - arrest.start_ms;
        if waited_ms >= LONGEST_START_MS {
            let seconds = waited_ms / 1_000;
            let words = if first_ms.is_some() {
                format!("No compressions are recorded for the first {seconds} s of this arrest.")
            } else {
                format!("No compressions are recorded in this arrest of {seconds} s.")
            };
            add(arrest.start_ms, GapKind::NoCompressions, words);
        }
        for at_ms in &arrest.silences {
            let words = format!("Nothing is recorded for more than {} s after this.", LONGEST_SILENCE_MS / 1_000);
            add(*at_ms, GapKind::Silence, words);
        }
    }
    for correction in waiting {
        add(
            correction.at_ms,
            GapKind::WaitingTarget,
            "A correction names a record that is not in this timeline; it has no effect until that record arrives."
                .to_owned(),
        );
    }
    found.sort_by_key(|gap| (gap.at_ms, gap.what));
    found
}

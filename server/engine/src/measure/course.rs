//! When compressions ran, arrest by arrest: what the figures were made from, for whoever draws a code. Together with the
//! figures' `pauses[]` it covers every moment of every arrest, so that no screen cuts a timeline by rules of its own.

use serde::{Deserialize, Serialize};

use super::EndedBy;
use super::walk::walk;
use crate::event::CompressedBy;
use crate::record::Record;
use crate::timeline;

/// Compressions without a break.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Compressed {
    /// Code time at which they began.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub start_ms: i64,
    /// Code time at which they stopped, or the arrest ended.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub end_ms: i64,
    /// The means they began with.
    pub by: CompressedBy,
}

/// One arrest, from its recognition to circulation or closing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct ArrestCourse {
    /// Code time of its recognition.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub start_ms: i64,
    /// Code time of its end.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub end_ms: i64,
    /// What ended it.
    pub ended_by: EndedBy,
    /// In order of time; empty if nobody compressed.
    pub compressed: Vec<Compressed>,
}

/// The arrests of a code, in order of time, by the same walk as its figures.
pub fn course(records: &[Record]) -> Vec<ArrestCourse> {
    let facts = timeline::facts(records).facts;
    let arrests = walk(&facts).arrests.into_iter();
    arrests
        .map(|arrest| ArrestCourse {
            start_ms: arrest.start_ms,
            end_ms: arrest.end_ms,
            ended_by: arrest.ended_by,
            compressed: arrest
                .stretches
                .iter()
                .map(|stretch| Compressed { start_ms: stretch.start_ms, end_ms: stretch.end_ms, by: stretch.by })
                .collect(),
        })
        .collect()
}

//! Statistics over many codes: shares with their intervals, quartiles, control charts. Plain numbers in, plain numbers out.
//!
//! It must not know what a number means, nor judge it: whether more is better is for whoever reads the chart.

mod individuals;
mod p_chart;
mod quartiles;
mod runs;
mod share;

pub use individuals::{IndividualsChart, RangePoint};
pub use p_chart::{PChart, SharePoint};
pub use quartiles::Quartiles;
pub use runs::Signal;
pub use share::{Interval, Share};

use serde::{Deserialize, Serialize};

/// A summary of fewer codes than this says that they are few. Ours: no published rule was found; at ten, one code more or
/// less moves a share by up to ten points, which is about what people want to read off it.
pub const FEW: u64 = 10;

/// A chart with fewer points than this says that its limits are provisional (clinical sources, trap 31: about 20, from memory).
pub const SETTLED_POINTS: usize = 20;

/// Control limits stand this many standard deviations from the centre (Shewhart; NIST/SEMATECH e-Handbook 6.3.2.2, 6.3.3.2).
const SIGMAS: f64 = 3.0;

/// Between these, chance alone keeps nearly every point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Limits {
    /// Lower control limit, in the unit of the values.
    pub lower: f64,
    /// Upper control limit, in the unit of the values.
    pub upper: f64,
}

impl Limits {
    /// Whether a value lies beyond them; one that is on a limit does not.
    pub fn exclude(&self, value: f64) -> bool {
        value < self.lower || value > self.upper
    }
}

/// A whole number as a double: counts of codes are far below 2^53.
#[expect(clippy::cast_precision_loss, reason = "counts of codes and points are far below 2^53")]
const fn real(count: u64) -> f64 {
    count as f64
}

/// The mean; absent of nothing.
fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / real(values.len() as u64))
}

//! A share, and how far it can be trusted: so many of so many, with Wilson's interval.

use std::num::NonZeroU64;

use serde::{Deserialize, Serialize};

use super::{FEW, real};

/// The standard normal deviate of a two-sided interval of 95 %.
const Z_95: f64 = 1.959_963_984_540_054;

/// So many of so many: never more hits than there were, and never of nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Share {
    hits: u64,
    of: NonZeroU64,
}

/// An interval between 0 and 1.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Interval {
    /// Its lower end.
    pub lower: f64,
    /// Its upper end.
    pub upper: f64,
}

impl Share {
    /// `hits` of `of`; absent if there were none at all, or more hits than there were.
    pub const fn new(hits: u64, of: u64) -> Option<Self> {
        match NonZeroU64::new(of) {
            Some(of) if hits <= of.get() => Some(Self { hits, of }),
            Some(_) | None => None,
        }
    }

    /// Counts how many are true; absent of nothing.
    pub fn count(answers: impl IntoIterator<Item = bool>) -> Option<Self> {
        let (hits, of) = answers.into_iter().fold((0, 0), |(hits, of), yes| (hits + u64::from(yes), of + 1));
        Self::new(hits, of)
    }

    /// How many hits.
    pub const fn hits(self) -> u64 {
        self.hits
    }

    /// Of how many.
    pub const fn of(self) -> u64 {
        self.of.get()
    }

    /// The share, between 0 and 1.
    pub fn fraction(self) -> f64 {
        real(self.hits) / real(self.of.get())
    }

    /// Whether they are few.
    pub const fn is_few(self) -> bool {
        self.of.get() < FEW
    }

    /// Wilson's score interval, 95 %, without continuity correction (Wilson 1927; formula as in NIST/SEMATECH prc241 and
    /// Newcombe 1998, method 3). Exactly 0 below no hits and exactly 1 above all: rounding never shows a negative share.
    pub fn interval(self) -> Interval {
        let (n, p) = (real(self.of.get()), self.fraction());
        let z2 = Z_95 * Z_95;
        let middle = p + z2 / (2.0 * n);
        let half = Z_95 * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
        let scale = 1.0 + z2 / n;
        Interval {
            lower: if self.hits == 0 { 0.0 } else { ((middle - half) / scale).max(0.0) },
            upper: if self.hits == self.of.get() { 1.0 } else { ((middle + half) / scale).min(1.0) },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_share_of_nothing_and_never_more_than_all() {
        assert_eq!(Share::new(0, 0), None);
        assert_eq!(Share::new(3, 2), None);
        assert_eq!(Share::count([]), None);
        assert_eq!(Share::count([true, false, true]), Share::new(2, 3));
        assert!(Share::new(1, FEW - 1).unwrap().is_few() && !Share::new(1, FEW).unwrap().is_few());
    }

    /// W60 to W63: Newcombe 1998, Stat Med 17:857, table I, method 3 (from memory, recomputed).
    /// W64 to W66: Tibballs 2010, doi 10.1016/j.resuscitation.2010.01.030: read in the abstract, which rounds to 1 %.
    /// W67: the input is published (vassarstats prop1), the interval calculated. W68: calculated.
    #[test]
    fn published_intervals() {
        let cases = [
            ("W60", 81, 263, 0.2553, 0.3662, 4),
            ("W61", 15, 148, 0.0624, 0.1605, 4),
            ("W62", 0, 20, 0.0000, 0.1611, 4),
            ("W63", 1, 29, 0.0061, 0.1718, 4),
            ("W64", 119, 153, 0.706, 0.836, 3),
            ("W64 as printed", 119, 153, 0.71, 0.84, 2),
            ("W65", 42, 55, 0.637, 0.856, 3),
            ("W65 as printed", 42, 55, 0.64, 0.86, 2),
            ("W66, which the sheet cuts to 0.694", 77, 98, 0.6945, 0.8554, 4),
            ("W66 as printed", 77, 98, 0.69, 0.86, 2),
            ("W67", 23, 60, 0.2709, 0.5098, 4),
            ("W68", 10, 10, 0.7225, 1.0000, 4),
            ("W68", 0, 10, 0.0000, 0.2775, 4),
        ];
        for (row, hits, of, lower, upper, digits) in cases {
            let interval = Share::new(hits, of).unwrap().interval();
            let rounded = |value: f64| format!("{value:.digits$}");
            assert_eq!(rounded(interval.lower), rounded(lower), "{row}: {interval:?}");
            assert_eq!(rounded(interval.upper), rounded(upper), "{row}: {interval:?}");
        }
    }

    #[test]
    fn an_interval_holds_its_share_and_stays_within_0_and_1() {
        for of in 1..=60 {
            for hits in 0..=of {
                let share = Share::new(hits, of).unwrap();
                let Interval { lower, upper } = share.interval();
                assert!(0.0 <= lower && lower <= share.fraction() && share.fraction() <= upper && upper <= 1.0);
                assert!(lower.is_sign_positive());
            }
        }
    }
}

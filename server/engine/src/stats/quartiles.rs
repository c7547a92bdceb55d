//! Median and quartiles.

use serde::{Deserialize, Serialize};

use super::{FEW, real};

/// Median and quartiles of some values, in their unit.
///
/// By linear interpolation between the two neighbours of place (n - 1) p, counted from 0: type 7 of Hyndman and Fan (1996,
/// Am Stat 50:361; from memory), which numpy, pandas and R use unless told otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Quartiles {
    /// How many values.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub n: u64,
    /// A quarter of the values lies below.
    pub lower: f64,
    /// Half of them.
    pub median: f64,
    /// Three quarters.
    pub upper: f64,
    /// Whether they are few.
    pub few: bool,
}

impl Quartiles {
    /// Of values in any order; absent of nothing, and of values that are no numbers.
    pub fn of(values: impl IntoIterator<Item = f64>) -> Option<Self> {
        let mut values: Vec<f64> = values.into_iter().collect();
        if values.is_empty() || !values.iter().all(|value| value.is_finite()) {
            return None;
        }
        let n = values.len() as u64;
        let [lower, median, upper] = [0.25, 0.5, 0.75].map(|p| quantile(&mut values, p));
        Some(Self { n, lower, median, upper, few: n < FEW })
    }
}

/// The quantile at `p`, between 0 and 1; there is at least one value. Only the two neighbours of its place are looked for: there may
/// be a hundred thousand values.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place within a list")]
fn quantile(values: &mut [f64], p: f64) -> f64 {
    let last = values.len() - 1;
    let place = real(last as u64) * p;
    let below = (place.floor() as usize).min(last);
    let (_, low, above) = values.select_nth_unstable_by(below, f64::total_cmp);
    let low = *low;
    let high = above.iter().copied().min_by(f64::total_cmp).unwrap_or(low);
    low + (high - low) * (place - place.floor())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(values: &[f64]) -> (f64, f64, f64) {
        let quartiles = Quartiles::of(values.iter().copied()).unwrap();
        (quartiles.lower, quartiles.median, quartiles.upper)
    }

    /// Worked by hand from the definition; `tests/review` compares with pandas.
    #[test]
    fn quartiles_lie_between_their_neighbours() {
        assert_eq!(of(&[7.0]), (7.0, 7.0, 7.0));
        assert_eq!(of(&[2.0, 1.0]), (1.25, 1.5, 1.75));
        assert_eq!(of(&[4.0, 1.0, 3.0, 2.0]), (1.75, 2.5, 3.25));
        assert_eq!(of(&[5.0, 1.0, 4.0, 2.0, 3.0]), (2.0, 3.0, 4.0));
        assert_eq!(Quartiles::of([]), None);
        assert_eq!(Quartiles::of([1.0, f64::NAN]), None);
        assert!(Quartiles::of([1.0; 9]).unwrap().few && !Quartiles::of([1.0; 10]).unwrap().few);
    }

    /// W33: medians do not add (Cheskes 2014): the peri-shock median is of each shock's own sum.
    #[test]
    fn medians_do_not_add() {
        let (pre, post) = ([1.0, 2.0, 9.0], [5.0, 1.0, 2.0]);
        let peri: Vec<f64> = pre.iter().zip(post).map(|(pre, post)| pre + post).collect();
        assert_ne!(of(&pre).1 + of(&post).1, of(&peri).1);
    }
}

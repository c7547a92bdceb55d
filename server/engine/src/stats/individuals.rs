//! Individuals chart: one value a point, and its spread from one point to the next (X and MR).

use serde::{Deserialize, Serialize};

use super::{Limits, SETTLED_POINTS, SIGMAS, Signal, mean, runs};

/// d2 of two values: the mean moving range over it estimates the standard deviation (NIST/SEMATECH 6.3.2.2).
const D2_OF_TWO: f64 = 1.128;
/// D4 of two values: upper limit of a moving range in mean moving ranges; D3 is 0 (NIST/SEMATECH 6.3.2.2; W45).
const D4_OF_TWO: f64 = 3.267;

/// A chart of single values. There are at least two.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct IndividualsChart {
    /// The mean.
    pub centre: f64,
    /// Three standard deviations around it, the deviation from the mean moving range.
    pub limits: Limits,
    /// The mean moving range.
    pub mean_range: f64,
    /// Upper limit of a moving range; the lower one is 0.
    pub range_upper: f64,
    /// The points, in order.
    pub points: Vec<RangePoint>,
    /// Fewer points than limits need to settle.
    pub provisional: bool,
}

/// A point of an individuals chart.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct RangePoint {
    /// Its value.
    pub value: f64,
    /// How far it is from the point before; absent for the first.
    pub range: Option<f64>,
    /// What speaks against mere chance.
    pub signals: Vec<Signal>,
    /// Whether the range lies beyond its limit.
    pub range_beyond_limit: bool,
}

impl IndividualsChart {
    /// Of values in order of time; absent with fewer than two, and of values that are no numbers. `bounds` are the least and
    /// the greatest value that can be at all, such as 0 for a time: a limit beyond them is moved to them.
    pub fn of(values: &[f64], bounds: (Option<f64>, Option<f64>)) -> Option<Self> {
        if !values.iter().all(|value| value.is_finite()) {
            return None;
        }
        let ranges: Vec<f64> = values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
        let (centre, mean_range) = (mean(values)?, mean(&ranges)?);
        let spread = SIGMAS * mean_range / D2_OF_TWO;
        let limits = Limits {
            lower: bounds.0.map_or(centre - spread, |least| least.max(centre - spread)),
            upper: bounds.1.map_or(centre + spread, |most| most.min(centre + spread)),
        };
        let range_upper = D4_OF_TWO * mean_range;
        let within: Vec<(f64, Limits)> = values.iter().map(|value| (*value, limits)).collect();
        let ranges = std::iter::once(None).chain(ranges.into_iter().map(Some));
        let point = |((value, range), signals): ((&f64, Option<f64>), Vec<Signal>)| RangePoint {
            value: *value,
            range,
            signals,
            range_beyond_limit: range.is_some_and(|range| range > range_upper),
        };
        Some(Self {
            centre,
            limits,
            mean_range,
            range_upper,
            points: values.iter().zip(ranges).zip(runs::signals(&within, centre)).map(point).collect(),
            provisional: values.len() < SETTLED_POINTS,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rounded(value: f64) -> String {
        format!("{value:.4}")
    }

    /// W40 to W45: NIST/SEMATECH e-Handbook 6.3.2.2 (pmc322), flow rate batches; W45 is calculated from W42.
    #[test]
    fn the_individuals_chart_of_the_handbook() {
        let data = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
        let chart = IndividualsChart::of(&data, (None, None)).unwrap();
        assert_eq!(rounded(chart.centre), "50.8100");
        assert_eq!(rounded(chart.mean_range), "1.8778");
        assert_eq!(rounded(chart.limits.upper), "55.8041");
        assert_eq!(rounded(chart.limits.lower), "45.8159");
        assert_eq!(rounded(chart.range_upper), "6.1347");
        // "The process is in control": nothing is marked.
        assert!(chart.points.iter().all(|point| point.signals.is_empty() && !point.range_beyond_limit));
        assert!(chart.provisional);
        // W46: the rounded factor 2.66 would differ in the fourth digit.
        assert_eq!(rounded(chart.centre + 2.66 * chart.mean_range), "55.8049");
    }

    #[test]
    fn limits_keep_to_what_can_be() {
        let chart = IndividualsChart::of(&[0.0, 9.0, 1.0], (Some(0.0), Some(10.0))).unwrap();
        assert_eq!(chart.limits, Limits { lower: 0.0, upper: 10.0 });
        assert_eq!(IndividualsChart::of(&[1.0], (None, None)), None);
        assert_eq!(IndividualsChart::of(&[1.0, f64::INFINITY], (None, None)), None);
    }

    #[test]
    fn a_leap_is_marked_in_both_charts() {
        let mut values = [10.0, 11.0].repeat(10);
        values.push(40.0);
        let chart = IndividualsChart::of(&values, (None, None)).unwrap();
        let last = chart.points.last().unwrap();
        assert_eq!(last.signals, [Signal::BeyondLimit]);
        assert!(last.range_beyond_limit && !chart.provisional);
    }
}

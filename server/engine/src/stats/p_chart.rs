//! p-chart: one share a point, each with limits of its own, since no month has as many codes as another.

use serde::{Deserialize, Serialize};

use super::{Interval, Limits, SETTLED_POINTS, SIGMAS, Share, Signal, real, runs};

/// A chart of shares.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct PChart {
    /// All hits of all.
    pub centre: f64,
    /// The points, in order.
    pub points: Vec<SharePoint>,
    /// Fewer points than limits need to settle.
    pub provisional: bool,
}

/// A point of a p-chart.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct SharePoint {
    /// How many hits.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub hits: u64,
    /// Of how many.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub of: u64,
    /// The share, between 0 and 1.
    pub fraction: f64,
    /// Wilson's interval of this share alone, 95 %.
    pub interval: Interval,
    /// Control limits for so many.
    pub limits: Limits,
    /// What speaks against mere chance.
    pub signals: Vec<Signal>,
    /// Whether they are few.
    pub few: bool,
}

impl PChart {
    /// Of shares in order of time; absent of none.
    pub fn of(shares: &[Share]) -> Option<Self> {
        let total = |part: fn(Share) -> u64| shares.iter().map(|share| part(*share)).sum::<u64>();
        let centre = Share::new(total(Share::hits), total(Share::of))?.fraction();
        let limits: Vec<Limits> = shares.iter().map(|share| limits(centre, share.of())).collect();
        let within: Vec<(f64, Limits)> =
            shares.iter().zip(&limits).map(|(share, limits)| (share.fraction(), *limits)).collect();
        let point = |((share, limits), signals): ((&Share, Limits), Vec<Signal>)| SharePoint {
            hits: share.hits(),
            of: share.of(),
            fraction: share.fraction(),
            interval: share.interval(),
            limits,
            signals,
            few: share.is_few(),
        };
        Some(Self {
            centre,
            points: shares.iter().zip(limits).zip(runs::signals(&within, centre)).map(point).collect(),
            provisional: shares.len() < SETTLED_POINTS,
        })
    }
}

/// Three standard deviations around the centre (NIST/SEMATECH 6.3.3.2), never below 0 (W52) nor above 1.
fn limits(centre: f64, of: u64) -> Limits {
    let spread = SIGMAS * (centre * (1.0 - centre) / real(of)).sqrt();
    Limits { lower: (centre - spread).max(0.0), upper: (centre + spread).min(1.0) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// W48: defective cans of 50, from Montgomery; the mean is that of NIST/SEMATECH e-Handbook 6.3.3.2 (W47).
    const CANS: [u64; 30] =
        [12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6];

    fn chart(counts: &[u64]) -> PChart {
        let shares: Vec<Share> = counts.iter().map(|hits| Share::new(*hits, 50).unwrap()).collect();
        PChart::of(&shares).unwrap()
    }

    fn beyond(chart: &PChart) -> Vec<u64> {
        let marked = chart.points.iter().filter(|point| point.signals.contains(&Signal::BeyondLimit));
        marked.map(|point| point.hits).collect()
    }

    fn rounded(value: f64) -> String {
        format!("{value:.4}")
    }

    /// W47 to W51; the limits are calculated from the published mean and counts.
    #[test]
    fn the_p_chart_of_the_handbook() {
        let all = chart(&CANS);
        assert_eq!(rounded(all.centre), "0.2313");
        assert_eq!(rounded(all.points[0].limits.upper), "0.4102");
        assert_eq!(rounded(all.points[0].limits.lower), "0.0524");
        assert_eq!(beyond(&all), [22, 24]);
        assert!(!all.provisional);

        let kept: Vec<u64> = CANS.iter().copied().filter(|count| *count != 22 && *count != 24).collect();
        let refitted = chart(&kept);
        assert_eq!(rounded(refitted.centre), "0.2150");
        assert_eq!(rounded(refitted.points[0].limits.upper), "0.3893");
        assert_eq!(rounded(refitted.points[0].limits.lower), "0.0407");
        assert_eq!(beyond(&refitted), [20]);
    }

    /// W52: Montgomery, exercise 6-1: p 0.0585, n 100.
    #[test]
    fn a_negative_lower_limit_is_0() {
        let limits = limits(0.0585, 100);
        assert_eq!(rounded(limits.upper), "0.1289");
        assert_eq!(limits.lower, 0.0);
    }

    #[test]
    fn fewer_codes_have_wider_limits_and_all_or_nothing_has_none_to_leave() {
        let shares = [Share::new(3, 4).unwrap(), Share::new(20, 40).unwrap()];
        let chart = PChart::of(&shares).unwrap();
        let width = |point: &SharePoint| point.limits.upper - point.limits.lower;
        assert!(width(&chart.points[0]) > width(&chart.points[1]));
        assert!(chart.points[0].few && !chart.points[1].few && chart.provisional);
        let whole = PChart::of(&[Share::new(5, 5).unwrap(), Share::new(7, 7).unwrap()]).unwrap();
        assert!(beyond(&whole).is_empty());
        assert_eq!(whole.points[0].limits.upper, 1.0);
        assert_eq!(PChart::of(&[]), None);
    }
}

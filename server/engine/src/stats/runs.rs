//! Signals in a chart: which points speak against mere chance.
//!
//! Two of the Western Electric rules (Statistical Quality Control Handbook, 1956, from memory; both as the NIST/SEMATECH
//! e-Handbook 6.3.2 and Montgomery list them): one point beyond a control limit, and eight points in a row on one side of
//! the centre. The other rules are left out: each adds false alarms, and a department has few points.

use serde::{Deserialize, Serialize};

use super::Limits;

/// So many points in a row on one side of the centre are a signal.
const RUN: usize = 8;

/// Why a point speaks against mere chance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Signal {
    /// It lies beyond a control limit (Western Electric rule 1).
    BeyondLimit,
    /// It belongs to a run of eight or more on one side of the centre (Western Electric rule 4).
    Run,
}

/// The signals of each point, in order. A point exactly on the centre belongs to no side and ends a run: ours.
pub(super) fn signals(points: &[(f64, Limits)], centre: f64) -> Vec<Vec<Signal>> {
    let mut found: Vec<Vec<Signal>> = points
        .iter()
        .map(|(value, limits)| if limits.exclude(*value) { vec![Signal::BeyondLimit] } else { Vec::new() })
        .collect();
    let side = |place: usize| points.get(place).map(|(value, _)| value.total_cmp(&centre));
    let mut start = 0;
    for place in 0..points.len() {
        if side(place) != side(start) {
            start = place;
        }
        let ends_here = side(place + 1) != side(start);
        let on_a_side = side(start) != Some(std::cmp::Ordering::Equal);
        if ends_here && on_a_side && place + 1 - start >= RUN {
            for marked in &mut found[start..=place] {
                marked.push(Signal::Run);
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn runs(values: &[f64]) -> Vec<usize> {
        let points: Vec<(f64, Limits)> =
            values.iter().map(|value| (*value, Limits { lower: -9.0, upper: 9.0 })).collect();
        let found = signals(&points, 0.0);
        (0..values.len()).filter(|place| found[*place].contains(&Signal::Run)).collect()
    }

    #[test]
    fn eight_on_one_side_are_a_run_and_seven_are_not() {
        assert_eq!(runs(&[1.0; 7]), Vec::<usize>::new());
        assert_eq!(runs(&[1.0; 8]), (0..8).collect::<Vec<_>>());
        assert_eq!(runs(&[[-1.0].as_slice(), &[1.0; 9], &[-1.0; 3]].concat()), (1..10).collect::<Vec<_>>());
        assert_eq!(runs(&[[1.0; 4], [-1.0; 4]].concat()), Vec::<usize>::new());
    }

    #[test]
    fn a_point_on_the_centre_ends_a_run() {
        assert_eq!(runs(&[[1.0; 4].as_slice(), &[0.0], &[1.0; 4]].concat()), Vec::<usize>::new());
        assert_eq!(runs(&[0.0; 12]), Vec::<usize>::new());
    }

    #[test]
    fn a_point_on_a_limit_is_within() {
        let limits = Limits { lower: -1.0, upper: 1.0 };
        let found = signals(&[(1.0, limits), (1.1, limits), (-1.1, limits)], 0.0);
        assert_eq!(found, [vec![], vec![Signal::BeyondLimit], vec![Signal::BeyondLimit]]);
    }
}

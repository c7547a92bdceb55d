//! A code as one point of trends: what they need of its line and no more, small and quick to read, since twenty thousand of
//! them are read at once. It is made from the line whenever that is, and never changed by itself.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD_NO_PAD;
use coxswain_engine::event::Outcome;
use serde::{Deserialize, Serialize};

use crate::review::summary::{CodeLine, LineFigures, Standing};

/// Year, and month from 1.
pub(super) type Month = (i16, u8);

/// What trends need of a code.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// When it was opened, in UTC; absent if that is no time.
    pub month: Option<Month>,
    /// A drill.
    pub training: bool,
    /// It still runs.
    pub running: bool,
    /// How it ended.
    pub outcome: Option<Outcome>,
    /// What was measured.
    pub figures: LineFigures,
}

/// A text is no point of this version.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoPoint(String);

impl std::fmt::Display for NoPoint {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "a point of the trends cannot be read: {}", self.0)
    }
}

impl std::error::Error for NoPoint {}

impl Point {
    /// The point that a line is.
    pub fn of(line: &CodeLine) -> Self {
        Self {
            month: month_of(&line.opened_at),
            training: line.training,
            running: line.standing == Standing::Running,
            outcome: line.outcome,
            figures: line.figures.clone(),
        }
    }

    /// As it is kept: postcard (its wire format 1.0) in base 64.
    ///
    /// # Errors
    /// If it cannot be written so; a bug.
    pub fn to_text(&self) -> Result<String, NoPoint> {
        let bytes = postcard::to_allocvec(self).map_err(|error| NoPoint(error.to_string()))?;
        Ok(STANDARD_NO_PAD.encode(bytes))
    }

    /// As it was kept.
    ///
    /// # Errors
    /// If the text is no point of this version.
    pub fn from_text(text: &str) -> Result<Self, NoPoint> {
        let bytes = STANDARD_NO_PAD.decode(text).map_err(|error| NoPoint(error.to_string()))?;
        postcard::from_bytes(&bytes).map_err(|error| NoPoint(error.to_string()))
    }
}

/// Year and month of an RFC 3339 time.
fn month_of(at: &str) -> Option<Month> {
    let year = at.get(..4)?.parse().ok()?;
    let month = at.get(5..7)?.parse().ok()?;
    (1..=12).contains(&month).then_some((year, month))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use coxswain_engine::event::Rhythm;
    use coxswain_engine::measure::targets::TargetName;

    use super::*;
    use crate::review::summary::{Followed, SHAPE, Share};

    #[test]
    fn a_point_is_read_as_it_was_kept() {
        let followed = Followed { shown: 9, done: 7, late: 2, withdrawn: 1, after_due_ms: vec![-1_000, 0, 300_000] };
        let figures = LineFigures {
            arrest_ms: 1_234_567,
            // One of the fractions that a reader of fewer digits gets wrong.
            compression_fraction: Some(0.1 + 0.2),
            pauses_ms: vec![9_999, 10_001],
            longest_pause_ms: Some(10_001),
            first_rhythm: Some(Rhythm::Vf),
            targets: TargetName::ALL.iter().map(|name| (*name, Share { of: 3, held: 2 })).collect(),
            prompts: BTreeMap::from([("pause_for_check".to_owned(), followed)]),
            ..LineFigures::default()
        };
        for outcome in [None, Some(Outcome::Died), Some(Outcome::NotAnArrest)] {
            let figures = figures.clone();
            let point = Point { month: Some((2026, 11)), training: true, running: outcome.is_none(), outcome, figures };
            assert_eq!(Point::from_text(&point.to_text().unwrap()), Ok(point));
        }
    }

    /// What is kept names nothing: a variant or a field that comes before another one shifts what stands on disk already.
    #[test]
    fn the_form_that_is_kept_changes_with_the_shape_of_lines_only() {
        let all = |rhythm: Rhythm| {
            let targets = TargetName::ALL.iter().map(|name| (*name, Share { of: 2, held: 1 })).collect();
            let figures = LineFigures { first_rhythm: Some(rhythm), targets, ..LineFigures::default() };
            let outcome = Some(Outcome::NotAnArrest);
            Point { month: Some((2026, 11)), training: false, running: false, outcome, figures }.to_text().unwrap()
        };
        let kept = (SHAPE, all(Rhythm::Vf), all(Rhythm::Unknown));
        let first =
            "AdQfCwAAAQMAAAAAAAAAAAAAAAABAAAAAAAAAAAAAAAAAAAMAAIBAQIBAgIBAwIBBAIBBQIBBgIBBwIBCAIBCQIBCgIBCwIBAA";
        let last = "AdQfCwAAAQMAAAAAAAAAAAAAAAABBgAAAAAAAAAAAAAAAAAMAAIBAQIBAgIBAwIBBAIBBQIBBgIBBwIBCAIBCQIBCgIBCwIBAA";
        assert_eq!(
            kept,
            (4, first.to_owned(), last.to_owned()),
            "raise SHAPE (server/src/review/summary.rs) with what changed, and put the new texts here"
        );
    }

    #[test]
    fn what_is_no_point_is_refused() {
        let text =
            Point { month: None, training: false, running: false, outcome: None, figures: LineFigures::default() }
                .to_text()
                .unwrap();
        for wrong in ["", "é", &text[..text.len() - 4], "////"] {
            assert!(Point::from_text(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_month_is_read_off_the_time_of_the_opening() {
        assert_eq!(month_of("2026-11-26T09:00:00.000Z"), Some((2026, 11)));
        assert_eq!(month_of("2026-13-26T09:00:00.000Z"), None);
        assert_eq!(month_of("soon"), None);
    }
}

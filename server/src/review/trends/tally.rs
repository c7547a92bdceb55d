//! Codes added up one by one, so that no more than one of tens of thousands is looked at at once.

use std::collections::BTreeMap;

use coxswain_engine::event::Outcome;
use coxswain_engine::measure::targets::TargetName;

use super::point::{Month, NoPoint, Point};
use super::series;
use super::shapes::{Trends, ValueName};
use super::values::values;
use crate::review::summary::Followed;
use crate::review::wire::CodeFilter;

/// The values of one figure, and how many codes it applies to without having one.
#[derive(Debug, Default)]
pub(super) struct Values {
    pub(super) found: Vec<f64>,
    pub(super) without: u64,
}

/// The codes of a month.
#[derive(Debug)]
pub(super) struct Counted {
    pub(super) codes: u64,
    /// In the order of [`ValueName::ALL`].
    pub(super) values: Vec<Values>,
    /// How many moments held, of how many; in the order of [`TargetName::ALL`].
    pub(super) targets: Vec<(u64, u64)>,
}

impl Default for Counted {
    fn default() -> Self {
        Self {
            codes: 0,
            values: ValueName::ALL.iter().map(|_| Values::default()).collect(),
            targets: vec![(0, 0); TargetName::ALL.len()],
        }
    }
}

/// The codes that a filter let through, as far as they were added.
#[derive(Debug)]
pub struct Tally {
    pub(super) training: bool,
    no_arrests: bool,
    pub(super) codes: u64,
    pub(super) left_out: u64,
    pub(super) months: BTreeMap<Month, Counted>,
    pub(super) prompts: BTreeMap<String, Followed>,
}

impl Tally {
    /// Nothing yet. Real codes are counted, or drills if the filter asks for drills. Running codes are left out, and so is what turned
    /// out to be no arrest, unless the filter asks for just that.
    pub fn of(filter: &CodeFilter) -> Self {
        Self {
            training: filter.training.unwrap_or(false),
            no_arrests: filter.outcome == Some(Outcome::NotAnArrest),
            codes: 0,
            left_out: 0,
            months: BTreeMap::new(),
            prompts: BTreeMap::new(),
        }
    }

    /// Adds a code.
    pub fn add(&mut self, point: &Point) {
        let arrest = point.outcome != Some(Outcome::NotAnArrest) || self.no_arrests;
        if point.training != self.training || point.running || !arrest {
            self.left_out += 1;
            return;
        }
        self.codes += 1;
        for (action, one) in &point.figures.prompts {
            let of = match self.prompts.get_mut(action) {
                Some(of) => of,
                None => self.prompts.entry(action.clone()).or_default(),
            };
            of.shown += one.shown;
            of.done += one.done;
            of.late += one.late;
            of.withdrawn += one.withdrawn;
            of.after_due_ms.extend_from_slice(&one.after_due_ms);
        }
        let Some(month) = point.month else { return };
        let counted = self.months.entry(month).or_default();
        counted.codes += 1;
        for (name, of) in ValueName::ALL.iter().zip(&mut counted.values) {
            let (.., found) = values(*name, &point.figures);
            of.without += u64::from(found.add_to(&mut of.found) == Some(0));
        }
        for (name, (held, of)) in TargetName::ALL.iter().zip(&mut counted.targets) {
            if let Some(share) = point.figures.targets.get(name) {
                *held += share.held as u64;
                *of += share.of as u64;
            }
        }
    }

    /// Adds the codes of a text: points as they are kept, a space between them.
    ///
    /// # Errors
    /// If one is no point of this version; what stands before it was added.
    pub fn add_all(&mut self, points: &str) -> Result<(), NoPoint> {
        points.split(' ').try_for_each(|text| {
            self.add(&Point::from_text(text)?);
            Ok(())
        })
    }

    /// The trends of all that was added.
    pub fn trends(self) -> Trends {
        series::trends(self)
    }
}

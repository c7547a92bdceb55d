//! Trends over many codes: month by month, and two periods or places side by side. Made of the lines of the list alone, by the
//! definitions of docs/measures.md; drills and real codes are never in one number, and nobody is ranked.

mod series;
mod shapes;

use std::collections::BTreeMap;

use coxswain_engine::event::Outcome;
use coxswain_engine::measure::targets::TargetName;

use super::summary::{CodeLine, Standing};
use super::wire::CodeFilter;
use series::{Months, prompt, target, value};

pub use shapes::{
    MonthCount, Per, PromptTrend, ShareFigure, SharesChart, TargetTrend, TrendSide, Trends, TrendsAnswer, Unit,
    ValueName, ValueTrend, ValuesChart,
};

/// The trends of the codes that a filter let through: real ones, or drills if it asks for drills. Running codes are left out,
/// and so is what turned out to be no arrest, unless the filter asks for just that.
pub fn trends<'a>(lines: impl IntoIterator<Item = &'a CodeLine>, filter: &CodeFilter) -> Trends {
    let training = filter.training.unwrap_or(false);
    let (mut left_out, mut counted) = (0, Vec::new());
    for line in lines {
        let arrest = line.outcome != Some(Outcome::NotAnArrest) || filter.outcome == Some(Outcome::NotAnArrest);
        if line.training == training && line.standing != Standing::Running && arrest {
            counted.push(line);
        } else {
            left_out += 1;
        }
    }
    let months = Months::of(&counted);
    let actions: BTreeMap<&str, ()> =
        counted.iter().flat_map(|line| line.figures.prompts.keys()).map(|action| (action.as_str(), ())).collect();
    Trends {
        training,
        codes: counted.len() as u64,
        left_out,
        months: months.counts(),
        values: ValueName::ALL.iter().map(|name| value(*name, &months)).collect(),
        targets: TargetName::ALL.iter().filter_map(|name| target(*name, &months)).collect(),
        prompts: actions.keys().map(|action| prompt(action, &counted)).collect(),
    }
}

#[cfg(test)]
mod tests;

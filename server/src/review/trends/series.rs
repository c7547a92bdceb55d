//! From what was added up to series: values by month, and the charts over them.

use coxswain_engine::measure::targets::{Bound, TargetName};
use coxswain_engine::stats::{FEW, IndividualsChart, PChart, Quartiles, Share};

use super::shapes::{
    MonthCount, Per, PromptTrend, SharesChart, TargetTrend, Trends, Unit, ValueName, ValueTrend, ValuesChart,
};
use super::tally::{Counted, Tally};
use super::values::values;
use crate::review::summary::{Followed, LineFigures};

/// A month with its codes, which may be none.
struct Month {
    name: String,
    counted: Counted,
}

/// Every month from the first to the last.
fn months(tally: &mut Tally) -> Vec<Month> {
    let mut months = Vec::new();
    if let (Some((first, _)), Some((last, _))) = (tally.months.first_key_value(), tally.months.last_key_value()) {
        let (mut month, last) = (*first, *last);
        while month <= last {
            let name = format!("{:04}-{:02}", month.0, month.1);
            months.push(Month { name, counted: tally.months.remove(&month).unwrap_or_default() });
            month = if month.1 == 12 { (month.0 + 1, 1) } else { (month.0, month.1 + 1) };
        }
    }
    months
}

/// The trends of what was added up.
pub(super) fn trends(mut tally: Tally) -> Trends {
    let months = months(&mut tally);
    let count = |month: &Month| {
        let codes = month.counted.codes;
        MonthCount { month: month.name.clone(), codes, few: codes < FEW }
    };
    let (values, targets) = (ValueName::ALL.iter().enumerate(), TargetName::ALL.iter().enumerate());
    Trends {
        training: tally.training,
        codes: tally.codes,
        left_out: tally.left_out,
        months: months.iter().map(count).collect(),
        values: values.map(|(place, name)| value(place, *name, &months)).collect(),
        targets: targets.filter_map(|(place, name)| target(place, *name, &months)).collect(),
        prompts: tally.prompts.iter().map(|(action, followed)| prompt(action, followed)).collect(),
    }
}

/// A figure over the months.
fn value(place: usize, name: ValueName, months: &[Month]) -> ValueTrend {
    let nothing = LineFigures::default();
    let (unit, per, _) = values(name, &nothing);
    let of_month = || months.iter().filter_map(|month| month.counted.values.get(place));
    let by_month: Vec<Option<Quartiles>> =
        of_month().map(|of_month| Quartiles::of(of_month.found.iter().copied())).collect();
    let with_values = || months.iter().zip(&by_month).filter_map(|(month, found)| Some((&month.name, (*found)?)));
    let medians: Vec<f64> = with_values().map(|(_, found)| found.median).collect();
    let bounds = match unit {
        Unit::Fraction => (Some(0.0), Some(1.0)),
        Unit::Count => (Some(0.0), None),
        // An interval can be negative where a reported time contradicts the record: no bound is taken for granted.
        Unit::Ms => (None, None),
    };
    let chart = IndividualsChart::of(&medians, bounds);
    ValueTrend {
        name,
        unit,
        per,
        overall: Quartiles::of(of_month().flat_map(|of_month| of_month.found.iter().copied())),
        without: of_month().map(|of_month| of_month.without).sum(),
        chart: chart
            .map(|chart| ValuesChart { months: with_values().map(|(month, _)| month.clone()).collect(), chart }),
        by_month,
    }
}

/// A published target over the months; none for an aim that nothing is judged by.
fn target(place: usize, name: TargetName, months: &[Month]) -> Option<TargetTrend> {
    let bound = name.bound();
    if matches!(bound, Bound::About { .. }) {
        return None;
    }
    let per = match name {
        TargetName::CompressionFraction
        | TargetName::CompressionFractionGoal
        | TargetName::FirstShock
        | TargetName::FirstEpinephrine => Per::Code,
        TargetName::Pauses
        | TargetName::PreShockPauses
        | TargetName::PeriShockPauses
        | TargetName::EpinephrineIntervals
        | TargetName::CheckIntervals
        | TargetName::CompressorSpells
        | TargetName::ChargingCompressions
        | TargetName::FingerReady => Per::Moment,
    };
    let moments = || months.iter().filter_map(|month| Some((month, *month.counted.targets.get(place)?)));
    let applying = moments().filter_map(|(month, (held, of))| Some((month.name.clone(), Share::new(held, of)?)));
    let (names, shares): (Vec<String>, Vec<Share>) = applying.unzip();
    let (held, of) = moments().fold((0, 0), |(held, of), (_, more)| (held + more.0, of + more.1));
    Some(TargetTrend {
        name,
        bound,
        source: name.source(),
        per,
        overall: Share::new(held, of).map(Into::into),
        chart: PChart::of(&shares).map(|chart| SharesChart { months: names, chart }),
    })
}

/// How prompts of one action were followed, over all codes.
#[expect(clippy::cast_precision_loss, reason = "milliseconds of a code are far below 2^53")]
fn prompt(action: &str, of: &Followed) -> PromptTrend {
    let (shown, done, late) = (of.shown as u64, of.done as u64, of.late as u64);
    PromptTrend {
        action: action.to_owned(),
        shown,
        in_time: Share::new(done.saturating_sub(late), shown).map(Into::into),
        done: Share::new(done, shown).map(Into::into),
        withdrawn: of.withdrawn as u64,
        after_due: Quartiles::of(of.after_due_ms.iter().map(|ms| *ms as f64)),
    }
}

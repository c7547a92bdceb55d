//! From lines to series: which codes a figure applies to, its values by month, and the charts over them.

use std::collections::BTreeMap;

use coxswain_engine::event::Rhythm;
use coxswain_engine::measure::targets::{Bound, TargetName};
use coxswain_engine::stats::{FEW, IndividualsChart, PChart, Quartiles, Share};

use super::shapes::{MonthCount, Per, PromptTrend, SharesChart, TargetTrend, Unit, ValueName, ValueTrend, ValuesChart};
use crate::review::summary::{CodeLine, LineFigures};

/// Codes by month, from the first month to the last.
pub(super) struct Months<'a> {
    months: Vec<(String, Vec<&'a CodeLine>)>,
}

impl<'a> Months<'a> {
    /// Sorts codes into the months they were opened in.
    pub(super) fn of(lines: &[&'a CodeLine]) -> Self {
        let mut by_month: BTreeMap<(i32, u32), Vec<&CodeLine>> = BTreeMap::new();
        for line in lines {
            if let Some(month) = month_of(&line.opened_at) {
                by_month.entry(month).or_default().push(line);
            }
        }
        let mut months = Vec::new();
        if let (Some((first, _)), Some((last, _))) = (by_month.first_key_value(), by_month.last_key_value()) {
            let (mut month, last) = (*first, *last);
            while month <= last {
                let name = format!("{:04}-{:02}", month.0, month.1);
                months.push((name, by_month.remove(&month).unwrap_or_default()));
                month = if month.1 == 12 { (month.0 + 1, 1) } else { (month.0, month.1 + 1) };
            }
        }
        Self { months }
    }

    /// How many codes each has.
    pub(super) fn counts(&self) -> Vec<MonthCount> {
        let count = |(month, lines): &(String, Vec<&CodeLine>)| {
            let codes = lines.len() as u64;
            MonthCount { month: month.clone(), codes, few: codes < FEW }
        };
        self.months.iter().map(count).collect()
    }

    fn lines(&self) -> impl Iterator<Item = &'a CodeLine> {
        self.months.iter().flat_map(|(_, lines)| lines.iter().copied())
    }
}

/// Year and month of an RFC 3339 time.
fn month_of(at: &str) -> Option<(i32, u32)> {
    let year = at.get(..4)?.parse().ok()?;
    let month = at.get(5..7)?.parse().ok()?;
    (1..=12).contains(&month).then_some((year, month))
}

/// A figure's values in one code; none at all where it does not apply.
struct Values {
    unit: Unit,
    per: Per,
    found: Option<Vec<f64>>,
}

#[expect(clippy::cast_precision_loss, reason = "milliseconds of a code are far below 2^53")]
fn values(name: ValueName, figures: &LineFigures) -> Values {
    let shockable = figures.first_rhythm.is_some_and(Rhythm::is_shockable);
    let flat_or_pea = matches!(figures.first_rhythm, Some(Rhythm::Asystole | Rhythm::Pea));
    let one = |unit, value: Option<f64>| Values { unit, per: Per::Code, found: Some(value.into_iter().collect()) };
    let ms = |value: Option<i64>| one(Unit::Ms, value.map(|value| value as f64));
    let only_if = |applies: bool, values: Values| Values { found: values.found.filter(|_| applies), ..values };
    let many = |list: &[i64]| Values {
        unit: Unit::Ms,
        per: Per::Moment,
        found: Some(list.iter().map(|value| *value as f64).collect()),
    };
    match name {
        ValueName::CompressionFraction => one(Unit::Fraction, figures.compression_fraction),
        ValueName::CompressionFractionFromFirst => one(Unit::Fraction, figures.compression_fraction_from_first),
        ValueName::PausesMs => many(&figures.pauses_ms),
        ValueName::PausesOver10S => {
            let compressed = figures.compression_fraction_from_first.is_some();
            only_if(compressed, one(Unit::Count, Some(figures.pauses_over_10_s as f64)))
        }
        ValueName::LongestPauseMs => ms(figures.longest_pause_ms),
        ValueName::PreShockMs => many(&figures.pre_shock_ms),
        ValueName::PostShockMs => many(&figures.post_shock_ms),
        ValueName::PeriShockMs => many(&figures.peri_shock_ms),
        ValueName::FirstShockMs => only_if(shockable, ms(figures.first_shock_ms)),
        ValueName::FirstEpinephrineMs => only_if(flat_or_pea, ms(figures.first_epinephrine_ms)),
        ValueName::FirstCompressionMs => ms(figures.first_compression_ms),
        ValueName::FirstAccessMs => ms(figures.first_access_ms),
        ValueName::FirstAdvancedAirwayMs => ms(figures.first_advanced_airway_ms),
        ValueName::EpinephrineIntervalsMs => many(&figures.epinephrine_intervals_ms),
        ValueName::CheckIntervalsMs => many(&figures.check_intervals_ms),
        ValueName::CompressorSpellsMs => many(&figures.compressor_spells_ms),
        ValueName::ChargingCompressionFraction => one(Unit::Fraction, figures.charging_compression_fraction),
        ValueName::FingerReadyFraction => one(Unit::Fraction, figures.finger_ready_fraction),
        ValueName::RoscMs => ms(figures.rosc_ms),
    }
}

/// A figure over the months.
pub(super) fn value(name: ValueName, months: &Months<'_>) -> ValueTrend {
    let Values { unit, per, .. } = values(name, &LineFigures::default());
    let (mut all, mut without, mut by_month) = (Vec::new(), 0, Vec::new());
    for (_, lines) in &months.months {
        let mut of_month = Vec::new();
        for found in lines.iter().filter_map(|line| values(name, &line.figures).found) {
            without += u64::from(found.is_empty());
            of_month.extend(found);
        }
        all.extend_from_slice(&of_month);
        by_month.push(Quartiles::of(of_month));
    }
    let with_values = || months.months.iter().zip(&by_month).filter_map(|((month, _), found)| Some((month, (*found)?)));
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
        overall: Quartiles::of(all),
        without,
        chart: chart
            .map(|chart| ValuesChart { months: with_values().map(|(month, _)| month.clone()).collect(), chart }),
        by_month,
    }
}

fn moments(name: TargetName, lines: &[&CodeLine]) -> Option<Share> {
    let counted = lines.iter().filter_map(|line| line.figures.targets.get(&name));
    let (held, of) = counted.fold((0, 0), |(held, of), share| (held + share.held as u64, of + share.of as u64));
    Share::new(held, of)
}

/// A published target over the months; none for an aim that nothing is judged by.
pub(super) fn target(name: TargetName, months: &Months<'_>) -> Option<TargetTrend> {
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
    let all: Vec<&CodeLine> = months.lines().collect();
    let applying = months.months.iter().filter_map(|(month, lines)| Some((month.clone(), moments(name, lines)?)));
    let (names, shares): (Vec<String>, Vec<Share>) = applying.unzip();
    Some(TargetTrend {
        name,
        bound,
        source: name.source(),
        per,
        overall: moments(name, &all).map(Into::into),
        chart: PChart::of(&shares).map(|chart| SharesChart { months: names, chart }),
    })
}

/// How prompts of one action were followed, over all codes.
pub(super) fn prompt(action: &str, lines: &[&CodeLine]) -> PromptTrend {
    let followed = || lines.iter().filter_map(|line| line.figures.prompts.get(action));
    let total =
        |part: fn(&crate::review::summary::Followed) -> usize| followed().map(|one| part(one) as u64).sum::<u64>();
    let (shown, done, late) = (total(|one| one.shown), total(|one| one.done), total(|one| one.late));
    PromptTrend {
        action: action.to_owned(),
        shown,
        in_time: Share::new(done.saturating_sub(late), shown).map(Into::into),
        done: Share::new(done, shown).map(Into::into),
        withdrawn: total(|one| one.withdrawn),
        after_due: Quartiles::of(followed().flat_map(|one| one.after_due_ms.iter().map(|ms| *ms as f64))),
    }
}

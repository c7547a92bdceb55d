//! What trends are told in (docs/wire.md).

use coxswain_engine::measure::targets::{Bound, TargetName};
use coxswain_engine::stats::{IndividualsChart, Interval, PChart, Quartiles, Share};
use serde::{Deserialize, Serialize};

use crate::review::wire::CodeFilter;

/// Answer of `GET /api/review/trends`: one side, or two side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct TrendsAnswer {
    /// The sides, in the order in which they were asked for.
    pub sides: Vec<TrendSide>,
    /// What is made of fewer says that it is few.
    #[cfg_attr(test, ts(type = "number"))]
    pub few_below: u64,
    /// A chart of fewer points is provisional.
    #[cfg_attr(test, ts(type = "number"))]
    pub settled_points: usize,
    /// Codes whose line is still being made, after an upgrade: they are missing here, or counted as they were.
    #[cfg_attr(test, ts(type = "number"))]
    pub unfinished: u64,
}

/// One side: which codes, and how they went.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct TrendSide {
    /// What was asked for.
    pub filter: CodeFilter,
    /// The trends.
    pub trends: Trends,
}

/// Trends of one side: some codes, all of them drills or all of them real.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Trends {
    /// Whether these are drills.
    pub training: bool,
    /// How many codes.
    #[cfg_attr(test, ts(type = "number"))]
    pub codes: u64,
    /// How many the filter let through that do not count here: still running, no arrest, or drills
    /// among real ones and the reverse.
    #[cfg_attr(test, ts(type = "number"))]
    pub left_out: u64,
    /// Every month from the first code to the last, also those without any.
    pub months: Vec<MonthCount>,
    /// Figures that are values.
    pub values: Vec<ValueTrend>,
    /// Published targets, and how many moments met them.
    pub targets: Vec<TargetTrend>,
    /// How what was asked was followed.
    pub prompts: Vec<PromptTrend>,
}

/// A month and its codes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct MonthCount {
    /// Such as `2026-11`, by the clock of UTC.
    pub month: String,
    /// How many codes were opened in it.
    #[cfg_attr(test, ts(type = "number"))]
    pub codes: u64,
    /// Whether they are few.
    pub few: bool,
}

/// A figure that has a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
#[expect(missing_docs, reason = "the names are those of the figures in docs/measures.md")]
pub enum ValueName {
    CompressionFraction,
    CompressionFractionFromFirst,
    /// Length of every pause.
    PausesMs,
    #[serde(rename = "pauses_over_10_s")]
    PausesOver10S,
    LongestPauseMs,
    PreShockMs,
    PostShockMs,
    PeriShockMs,
    /// Only of codes whose first rhythm was VF or pulseless VT (trap 20).
    FirstShockMs,
    /// Only of codes whose first rhythm was asystole or PEA (traps 20 and 33).
    FirstEpinephrineMs,
    FirstCompressionMs,
    FirstAccessMs,
    FirstAdvancedAirwayMs,
    EpinephrineIntervalsMs,
    CheckIntervalsMs,
    CompressorSpellsMs,
    ChargingCompressionFraction,
    FingerReadyFraction,
    RoscMs,
}

impl ValueName {
    /// Every figure, in the order in which they are shown.
    pub const ALL: &'static [Self] = &[
        Self::CompressionFraction,
        Self::CompressionFractionFromFirst,
        Self::PausesMs,
        Self::PausesOver10S,
        Self::LongestPauseMs,
        Self::PreShockMs,
        Self::PostShockMs,
        Self::PeriShockMs,
        Self::FirstShockMs,
        Self::FirstEpinephrineMs,
        Self::FirstCompressionMs,
        Self::FirstAccessMs,
        Self::FirstAdvancedAirwayMs,
        Self::EpinephrineIntervalsMs,
        Self::CheckIntervalsMs,
        Self::CompressorSpellsMs,
        Self::ChargingCompressionFraction,
        Self::FingerReadyFraction,
        Self::RoscMs,
    ];
}

/// What a value is measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
pub enum Unit {
    /// Between 0 and 1.
    Fraction,
    /// Milliseconds.
    Ms,
    /// How many.
    Count,
}

/// How often a figure occurs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(test, derive(ts_rs::TS))]
pub enum Per {
    /// One value a code.
    Code,
    /// Several a code: those of one code are alike, so that they say less than as many codes would.
    Moment,
}

/// A figure over the months.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ValueTrend {
    /// Which.
    pub name: ValueName,
    /// In what.
    pub unit: Unit,
    /// How often.
    pub per: Per,
    /// Of all codes; null if none has it.
    pub overall: Option<Quartiles>,
    /// Codes that it applies to and whose record has no value for it.
    #[cfg_attr(test, ts(type = "number"))]
    pub without: u64,
    /// Of each month, in the order of `months`; null where no code has it.
    pub by_month: Vec<Option<Quartiles>>,
    /// Individuals chart of the months' medians; null with fewer than two months.
    pub chart: Option<ValuesChart>,
}

/// An individuals chart over months.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ValuesChart {
    /// The month of each point.
    pub months: Vec<String>,
    /// The chart.
    pub chart: IndividualsChart,
}

/// A share with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ShareFigure {
    /// How many met it.
    #[cfg_attr(test, ts(type = "number"))]
    pub hits: u64,
    /// Of how many.
    #[cfg_attr(test, ts(type = "number"))]
    pub of: u64,
    /// The share, between 0 and 1.
    pub fraction: f64,
    /// Wilson's interval, 95 %.
    pub interval: Interval,
    /// Whether they are few.
    pub few: bool,
}

impl From<Share> for ShareFigure {
    fn from(share: Share) -> Self {
        Self {
            hits: share.hits(),
            of: share.of(),
            fraction: share.fraction(),
            interval: share.interval(),
            few: share.is_few(),
        }
    }
}

/// A published target over the months.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct TargetTrend {
    /// Which.
    pub name: TargetName,
    /// What it asks.
    pub bound: Bound,
    /// Where it is published.
    pub source: &'static str,
    /// Whether it counts one moment a code or several; of several the interval and the limits are narrower than they should be.
    pub per: Per,
    /// Of all codes; null if it applies to none.
    pub overall: Option<ShareFigure>,
    /// p-chart of the months in which it applies.
    pub chart: Option<SharesChart>,
}

/// A p-chart over months.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SharesChart {
    /// The month of each point.
    pub months: Vec<String>,
    /// The chart.
    pub chart: PChart,
}

/// How prompts of one action were followed.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct PromptTrend {
    /// What was asked.
    pub action: String,
    /// How often it was shown.
    #[cfg_attr(test, ts(type = "number"))]
    pub shown: u64,
    /// Done before it was late, of all that were shown.
    pub in_time: Option<ShareFigure>,
    /// Done at all, of all that were shown.
    pub done: Option<ShareFigure>,
    /// From due to done, milliseconds, of all that were done.
    pub after_due: Option<Quartiles>,
    /// How often it went without having been done.
    #[cfg_attr(test, ts(type = "number"))]
    pub withdrawn: u64,
}

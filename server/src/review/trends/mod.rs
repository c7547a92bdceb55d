//! Trends over many codes: month by month, and two periods or places side by side. Made of one small point a code, by the
//! definitions of docs/measures.md; drills and real codes are never in one number, and nobody is ranked.

mod point;
mod series;
mod shapes;
mod tally;
mod values;

pub use point::{NoPoint, Point};
pub use shapes::{
    MonthCount, Per, PromptTrend, ShareFigure, SharesChart, TargetTrend, TrendSide, Trends, TrendsAnswer, Unit,
    ValueName, ValueTrend, ValuesChart,
};
pub use tally::Tally;

#[cfg(test)]
mod tests;

//! The figures of one code that trends are made of, and which codes each applies to.

use coxswain_engine::event::Rhythm;

use super::shapes::{Per, Unit, ValueName};
use crate::review::summary::LineFigures;

/// A figure in one code. Nothing is copied: there are tens of thousands of codes, and each is asked for each figure.
#[derive(Clone, Copy)]
pub(super) enum Found<'a> {
    /// It does not apply to this code.
    Elsewhere,
    One(Option<f64>),
    Many(&'a [i64]),
}

impl Found<'_> {
    /// Adds the values to those of other codes; how many there were, where the figure applies.
    #[expect(clippy::cast_precision_loss, reason = "milliseconds of a code are far below 2^53")]
    pub(super) fn add_to(self, values: &mut Vec<f64>) -> Option<usize> {
        let before = values.len();
        match self {
            Self::Elsewhere => return None,
            Self::One(value) => values.extend(value),
            Self::Many(list) => values.extend(list.iter().map(|value| *value as f64)),
        }
        Some(values.len() - before)
    }
}

/// The unit of a figure, what it counts once for, and its values in one code.
#[expect(clippy::cast_precision_loss, reason = "milliseconds of a code are far below 2^53")]
pub(super) fn values(name: ValueName, figures: &LineFigures) -> (Unit, Per, Found<'_>) {
    let shockable = figures.first_rhythm.is_some_and(Rhythm::is_shockable);
    let flat_or_pea = matches!(figures.first_rhythm, Some(Rhythm::Asystole | Rhythm::Pea));
    let fraction = |value: Option<f64>| (Unit::Fraction, Per::Code, Found::One(value));
    let ms = |value: Option<i64>| (Unit::Ms, Per::Code, Found::One(value.map(|value| value as f64)));
    let many = |list| (Unit::Ms, Per::Moment, Found::Many(list));
    let only_if = |applies: bool, (unit, per, found)| (unit, per, if applies { found } else { Found::Elsewhere });
    match name {
        ValueName::CompressionFraction => fraction(figures.compression_fraction),
        ValueName::CompressionFractionFromFirst => fraction(figures.compression_fraction_from_first),
        ValueName::PausesMs => many(&figures.pauses_ms),
        ValueName::PausesOver10S => {
            let count = Found::One(Some(figures.pauses_over_10_s as f64));
            only_if(figures.compression_fraction_from_first.is_some(), (Unit::Count, Per::Code, count))
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
        ValueName::ChargingCompressionFraction => fraction(figures.charging_compression_fraction),
        ValueName::FingerReadyFraction => fraction(figures.finger_ready_fraction),
        ValueName::RoscMs => ms(figures.rosc_ms),
    }
}

//! What is known of the patient: each report changes only what it names, and of several weights the best one counts.

use super::{Mark, State};
use crate::event::{Patient, WeightBasis};
use crate::protocol::Protocol;

/// A weight that was reported and does not count, because a better one stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outranked {
    /// Kilograms.
    pub weight_kg: f64,
    /// Where it comes from.
    pub basis: Option<WeightBasis>,
}

/// The weight that counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighed {
    /// The record that told it.
    pub mark: Mark,
    /// A later report that it stands above.
    pub outranked: Option<Outranked>,
}

/// Measured before length before told before the formula by age (clinical sources, P45). A weight without a basis was told.
const fn rank(basis: Option<WeightBasis>) -> u8 {
    match basis {
        Some(WeightBasis::Measured) => 3,
        Some(WeightBasis::Length) => 2,
        Some(WeightBasis::Told) | None => 1,
        Some(WeightBasis::Age) => 0,
    }
}

impl State {
    pub(super) fn tell(&mut self, told: &Patient, mark: Mark, protocol: &Protocol) {
        let Patient { age_group, weight_kg, weight_basis, age_months, gestation_weeks, core_temp_c, sex } = told;
        if age_group.is_some() || age_months.is_some() {
            self.fitted = Some(mark);
        }
        // A doubt is settled for the weight and the age that it was about.
        let sized_anew = weight_kg.is_some() || (age_months.is_some() && *age_months != self.patient.age_months);
        let known = &mut self.patient;
        known.age_group = age_group.or(known.age_group);
        known.age_months = age_months.or(known.age_months);
        known.gestation_weeks = gestation_weeks.or(known.gestation_weeks);
        known.core_temp_c = core_temp_c.or(known.core_temp_c);
        known.sex = sex.or(known.sex);
        match (weight_kg, weight_basis) {
            (Some(weight_kg), basis) => self.weigh(*weight_kg, *basis, mark, protocol),
            // Only where the weight comes from.
            (None, Some(basis)) if self.patient.weight_kg.is_some() => self.patient.weight_basis = Some(*basis),
            (None, _) => {}
        }
        if sized_anew {
            self.sized = Some(mark);
        }
    }

    /// The latest weight counts, unless a better one stands that nobody has reason to doubt. One that names no basis
    /// corrects the one that stands.
    fn weigh(&mut self, weight_kg: f64, basis: Option<WeightBasis>, mark: Mark, protocol: &Protocol) {
        let basis = basis.or(self.patient.weight_basis.filter(|basis| *basis != WeightBasis::Age));
        let sure = self.weight_doubt(protocol).is_none();
        if let Some(weighed) = &mut self.weighed
            && rank(basis) < rank(self.patient.weight_basis)
            && sure
        {
            weighed.outranked = Some(Outranked { weight_kg, basis });
            return;
        }
        self.patient.weight_kg = Some(weight_kg);
        self.patient.weight_basis = basis;
        self.weighed = Some(Weighed { mark, outranked: None });
    }
}

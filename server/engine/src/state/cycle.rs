//! The cycle: from which moment the two minutes to the next check are counted.
//!
//! A cycle begins when compressions resume after a check or a shock. For the plan alone, and marked so, a moment is
//! assumed where a tap is missing: nothing here reaches the figures.

use crate::event::{AgeGroup, CompressedBy, Event, PauseReason};
use crate::protocol::Protocol;
use crate::timeline::Fact;

use super::{Chest, Mark, Meaning, Rhythms};

/// A beginning of a cycle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Start {
    /// When: for an assumed one this may lie ahead.
    pub at_ms: i64,
    /// The record it hangs on.
    pub anchor: Mark,
    /// Whether a tap is missing.
    pub assumed: bool,
}

/// The cycle as far as it is recorded.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Cycle {
    firm: Option<Start>,
    tentative: Option<Start>,
    /// With nothing tapped at all a check is still planned, from the beginning of the arrest as it was told.
    untapped: Option<Start>,
    /// The beginning that held when the latest check stopped compressions: the check that runs belongs to it.
    pub checked: Option<Start>,
    /// The latest stop for a check that no look has answered.
    pub unread_stop: Option<Mark>,
    /// Whether a check or shock is going on whose cycle has not begun.
    open: bool,
    /// How many checks this arrest has had.
    pub checks: u32,
    /// The first moment of this arrest that was a check: a stop for it, a look or a shock.
    pub first_check_ms: Option<i64>,
    /// The first beginning of a cycle in this arrest.
    pub first_start_ms: Option<i64>,
}

impl Cycle {
    /// The beginning that holds: the latest one.
    pub fn start(&self) -> Option<Start> {
        match (self.firm, self.tentative) {
            (Some(firm), Some(tentative)) if tentative.at_ms >= firm.at_ms => Some(tentative),
            (Some(firm), _) => Some(firm),
            (None, tentative) => tentative.or(self.untapped),
        }
    }

    pub(super) fn begin_arrest(&mut self, mark: Mark, compressing: bool, wanted: Option<Mark>, protocol: &Protocol) {
        *self = Self::default();
        // A shockable look just before the clock is this arrest's first check.
        if wanted.is_some() {
            self.check(mark);
            self.expect(mark, protocol.cycle.assume_restart_after_look_s.ms());
        }
        let start = Start { at_ms: mark.at_ms, anchor: mark, assumed: !compressing };
        *(if compressing { &mut self.firm } else { &mut self.untapped }) = Some(start);
        self.first_start_ms = compressing.then_some(mark.at_ms);
    }

    fn begin(&mut self, mark: Mark, assumed: bool) {
        self.firm = Some(Start { at_ms: mark.at_ms, anchor: mark, assumed });
        self.tentative = None;
        self.open = false;
    }

    fn expect(&mut self, anchor: Mark, after_ms: i64) {
        self.tentative = Some(Start { at_ms: anchor.at_ms + after_ms, anchor, assumed: true });
    }

    fn check(&mut self, mark: Mark) {
        // A cycle that was only assumed has begun all the same if its time is over.
        let passed = self.tentative.is_some_and(|start| start.at_ms < mark.at_ms);
        if !self.open || passed {
            self.checks += 1;
        }
        self.open = true;
        self.first_check_ms.get_or_insert(mark.at_ms);
    }

    /// The shock that was wanted will not come: the next cycle begins with the compressions.
    pub(super) fn go_on_without_shock(&mut self, mark: Mark, in_pause: bool, protocol: &Protocol) {
        if in_pause {
            self.expect(mark, protocol.cycle.pause_limit_s.ms());
        } else {
            self.begin(mark, false);
        }
    }

    /// Takes a fact, with the chest and the rhythm as they were before it.
    pub(super) fn apply(
        &mut self,
        fact: &Fact<'_>,
        chest: &Chest,
        rhythms: &Rhythms,
        age_group: AgeGroup,
        protocol: &Protocol,
    ) {
        let mark = Mark::of(fact);
        let limit_ms = protocol.cycle.pause_limit_s.ms();
        match fact.event {
            Event::CompressionsStarted { .. } => {
                let first = !chest.started_in_arrest;
                let after_check = chest.pause.is_some_and(|pause| {
                    pause.opened_as == PauseReason::RhythmCheck || pause.check.is_some() || pause.held_look_or_shock
                });
                // After a shockable look the cycle begins only after the shock, or after its end.
                if first {
                    self.first_start_ms.get_or_insert(mark.at_ms);
                }
                // Compressions within a quick stack end it.
                let waits_for_shock = rhythms.shock_wanted.is_some() && !rhythms.stack_alone_wants();
                if !waits_for_shock && (first || after_check) {
                    self.begin(mark, false);
                }
            }
            Event::CompressionsStopped { reason: PauseReason::RhythmCheck }
                if chest.opens_pause(fact.at_ms, PauseReason::RhythmCheck, protocol)
                    || chest.pause.is_some_and(|pause| pause.check.is_none()) =>
            {
                self.checked = self.start();
                self.unread_stop = Some(mark);
                self.check(mark);
                self.expect(mark, limit_ms);
            }
            Event::PauseReason { reason: PauseReason::RhythmCheck }
                if chest.pause.is_some_and(|pause| pause.check.is_none()) =>
            {
                self.unread_stop = chest.pause.map(|pause| pause.stop);
            }
            Event::RhythmChecked { rhythm, pulse } => {
                // The look belongs to the stop that was made for it, however late it is told.
                if self.unread_stop.take().is_none() {
                    self.check(mark);
                }
                if Meaning::of(*rhythm, *pulse, age_group) == Meaning::Shockable && !rhythms.limited {
                    self.expect(mark, protocol.cycle.assume_restart_after_look_s.ms());
                } else if chest.pause.is_some() {
                    self.expect(mark, 0);
                } else {
                    self.begin(mark, true);
                }
            }
            Event::ShockDelivered { .. } => {
                self.check(mark);
                if chest.pause.is_some() {
                    self.expect(mark, protocol.cycle.assume_restart_after_shock_s.ms());
                } else {
                    // A device compresses on through the shock: nothing has to be assumed.
                    let went_on = chest.compressing.is_some_and(|running| running.by == CompressedBy::Mechanical);
                    self.begin(mark, !went_on);
                }
            }
            Event::ShockAborted { .. } | Event::ChargeDumped { .. } if rhythms.shock_wanted.is_some() => {
                self.go_on_without_shock(mark, chest.pause.is_some(), protocol);
            }
            _ => {}
        }
    }
}

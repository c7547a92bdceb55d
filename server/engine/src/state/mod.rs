//! Where the code stands: the facts up to a moment, folded.
//!
//! The state holds what was recorded and nothing else. What time does to it (limits that pass, tasks that fall due) is
//! the plan's to say, and so is every assumption for a tap that is missing.

mod care;
mod chest;
mod circumstance;
mod cycle;
mod heard;
#[cfg(test)]
mod heard_tests;
mod moved;
mod patient;
mod rhythm;
mod team;
mod ticks;

use std::collections::BTreeSet;

use uuid::Uuid;

use crate::dose;
use crate::event::{AgeGroup, Event, Patient, international_name};
use crate::prompt::Action;
use crate::protocol::Protocol;
use crate::record::Record;
use crate::timeline::{self, Fact, Facts, Knowledge};
use crate::view::Phase;
use crate::weight;

use care::Dosing;
pub use care::{Access, Care, DrugFact, Medication, Prepared, PriorDose, PriorTime, Reading};
pub use chest::{Chest, Pause};
pub use circumstance::{Measured, Regime, RegimeChanges, Special};
pub use cycle::{Cycle, Start};
use heard::Heard;
pub use moved::Move;
pub use patient::{Outranked, Weighed};
pub use rhythm::{Charge, ClearCall, ClearCause, Look, Meaning, Rhythms, Shock};
pub use team::Team;
pub use ticks::Ticks;

/// A moment on the record, with the record that made it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark {
    /// Code time.
    pub at_ms: i64,
    /// The record.
    pub id: Uuid,
}

impl Mark {
    fn of(fact: &Fact<'_>) -> Self {
        Self { at_ms: fact.at_ms, id: fact.id }
    }
}

/// The drug that every protocol has.
pub(crate) const EPINEPHRINE: &str = "epinephrine";

/// A stretch of cardiac arrest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Arrest {
    /// Its beginning: clock_started or arrest_again.
    pub start: Mark,
    /// When that was told, in code time: after a late start of the clock, later than its beginning. What was known before
    /// counts from here.
    pub told_ms: i64,
    /// 1 for the first one.
    pub number: u32,
}

/// Everything the plan looks at.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Standby, arrest, ROSC or closed.
    pub phase: Phase,
    /// Since when.
    pub phase_since_ms: i64,
    /// When and by which record the code was opened.
    pub opened: Option<Mark>,
    /// A drill.
    pub training: bool,
    /// What is known of the patient, with the weight that counts.
    pub patient: Patient,
    /// Where that weight comes from, and what it stands above.
    pub weighed: Option<Weighed>,
    /// The record that last said how old or how heavy the patient is.
    pub sized: Option<Mark>,
    /// The record that last said for whom the plan is: the patient's age group or the protocol.
    pub fitted: Option<Mark>,
    /// The arrest that runs, or ran last.
    pub arrest: Option<Arrest>,
    /// The latest return of circulation, while it lasts.
    pub rosc: Option<Mark>,
    /// How often circulation returned.
    pub roscs: u32,
    /// The chest.
    pub chest: Chest,
    /// Looks, shocks, charges.
    pub rhythms: Rhythms,
    /// The cycle.
    pub cycle: Cycle,
    /// Pads, access, airway, drugs, readings.
    pub care: Care,
    /// Special circumstances.
    pub special: Special,
    /// Who holds what.
    pub team: Team,
    /// Prompts that somebody ticked.
    pub ticked: Ticks,
    /// Whether somebody saw the arrest happen, if that was said.
    pub witnessed: Option<bool>,
    /// Whether a monitor showed it happen, if that was said.
    pub monitored: Option<bool>,
    /// Where the patient is, as far as that was said.
    pub location: Option<String>,
    /// The latest move, until somebody saw to the roles at the new place.
    pub moved: Option<Move>,
    /// Extracorporeal circulation was started in the arrest that runs.
    pub ecmo: Option<Mark>,
    /// Death was declared; the code goes on until it is closed.
    pub death_declared: Option<Mark>,
    /// The protocol was changed: what that makes due is due since then.
    pub protocol_changed: Option<Mark>,
    /// Looks that a limit on shocks held back when they were made, whatever the record says of the limit now.
    held_back: BTreeSet<Uuid>,
}

impl State {
    fn new() -> Self {
        Self {
            phase: Phase::Standby,
            phase_since_ms: 0,
            opened: None,
            training: false,
            patient: Patient::default(),
            weighed: None,
            sized: None,
            fitted: None,
            arrest: None,
            rosc: None,
            roscs: 0,
            chest: Chest::default(),
            rhythms: Rhythms::default(),
            cycle: Cycle::default(),
            care: Care::default(),
            special: Special::default(),
            team: Team::default(),
            ticked: Ticks::default(),
            witnessed: None,
            monitored: None,
            location: None,
            moved: None,
            ecmo: None,
            death_declared: None,
            protocol_changed: None,
            held_back: BTreeSet::new(),
        }
    }

    /// Folds what counts, in order of (`at_ms`, `seq`).
    pub fn fold(settled: &Facts<'_>, protocol: &Protocol) -> Self {
        Self::fold_with(settled, BTreeSet::new(), protocol)
    }

    /// The code as it was known at a moment, what was corrected or entered late at the time it was heard.
    pub(crate) fn known<'a>(records: &'a [Record], protocol: &Protocol, at_ms: i64) -> (Self, Facts<'a>) {
        let settled = timeline::facts_at(records, at_ms, Knowledge::AsKnown);
        let heard = Heard::by(records, protocol, at_ms);
        let mut state = Self::fold_with(&settled, heard.held_back(protocol), protocol);
        state.special.changes = heard.regime_changes(protocol);
        (state, settled)
    }

    fn fold_with(settled: &Facts<'_>, held_back: BTreeSet<Uuid>, protocol: &Protocol) -> Self {
        let mut state = Self { held_back, ..Self::new() };
        let mut taken_back = settled.shocks_taken_back.iter().peekable();
        for fact in &settled.facts {
            while taken_back.next_if(|shock| (shock.at_ms, shock.seq) < (fact.at_ms, fact.seq)).is_some() {
                state.disarm();
            }
            state.apply(fact, protocol);
        }
        taken_back.for_each(|_| state.disarm());
        state.rhythms.withdraw_after_correction();
        state
    }

    /// A shock that was taken back never arms again: back to charging, hands on the chest.
    fn disarm(&mut self) {
        self.rhythms.disarm();
        self.chest.give_back();
    }

    /// For whom the plan is made: as told, else as the protocol says; an age that leaves no doubt stands above both.
    pub fn age_group(&self, protocol: &Protocol) -> AgeGroup {
        let told = self.patient.age_group.unwrap_or(protocol.age_group);
        weight::group_by_age(self.patient.age_months, told, protocol.ages.as_ref())
    }

    /// Why the weight does not fit the age, unless somebody has said that it is right.
    pub fn weight_doubt(&self, protocol: &Protocol) -> Option<String> {
        let sized = self.sized?;
        let key = format!("{}@{}", Action::EnterWeight.as_str(), sized.id);
        if self.ticked.contains(&key) { None } else { weight::doubt(&self.patient, protocol) }
    }

    /// Whether the patient is in arrest now.
    pub fn in_arrest(&self) -> bool {
        self.phase == Phase::Arrest
    }

    fn begin_arrest(&mut self, fact: &Fact<'_>, protocol: &Protocol) {
        let number = self.arrest.map_or(1, |arrest| arrest.number + 1);
        let ago_ms = match fact.event {
            Event::ClockStarted { recognised_ago_ms } => recognised_ago_ms.unwrap_or(0),
            _ => 0,
        };
        let told_ms = fact.at_ms + ago_ms;
        self.arrest = Some(Arrest { start: Mark::of(fact), told_ms, number });
        if number == 1 {
            self.care.start_clock(told_ms);
        }
        self.rosc = None;
        self.enter(Phase::Arrest, fact.at_ms);
        self.rhythms.begin_arrest();
        self.chest.begin_arrest(fact.at_ms);
        self.care.begin_arrest();
        self.ecmo = None;
        self.death_declared = None;
        let told = Mark { at_ms: told_ms, id: fact.id };
        self.cycle.begin_arrest(told, self.chest.compressing.is_some(), self.rhythms.shock_wanted, protocol);
    }

    fn enter(&mut self, phase: Phase, at_ms: i64) {
        self.phase = phase;
        self.phase_since_ms = at_ms;
    }

    fn apply(&mut self, fact: &Fact<'_>, protocol: &Protocol) {
        self.team.apply(fact);
        let dosing = Dosing {
            interval_factor: self.special.regime.drugs.interval_factor(),
            is_small: self.is_small_dose(fact.event, protocol),
        };
        self.care.apply(fact, dosing, protocol);
        self.special.apply(fact, protocol);
        self.rhythms.prior_shocks = self.care.prior.shocks.unwrap_or(0);
        self.limit_shocks(fact, protocol);
        self.apply_to_arrest(fact, protocol);
        self.limit_shocks(fact, protocol);
    }

    /// Whether this cannot stand for a dose of the arrest: nothing at all, or a push of epinephrine to an adult, as against
    /// low pressure. A child's dose always counts, since what is small for it hangs on a weight that may be corrected
    /// later; and so does what has no amount, or one without a mass.
    fn is_small_dose(&self, event: &Event, protocol: &Protocol) -> bool {
        let Event::DrugGiven { drug, dose: Some(given), .. } = event else { return false };
        if given.value == 0.0 {
            return true;
        }
        let told_adult = self.patient.age_group == Some(AgeGroup::Adult) && self.age_group(protocol) == AgeGroup::Adult;
        match (dose::most_of_a_push_mg(&protocol.epinephrine), dose::in_mg(given)) {
            (Some(most_mg), Some(mg)) if told_adult && international_name(drug) == EPINEPHRINE => mg <= most_mg,
            _ => false,
        }
    }

    /// Where a circumstance allows no further shock, none is wanted, and a charge that is held is not either.
    fn limit_shocks(&mut self, fact: &Fact<'_>, protocol: &Protocol) {
        let most = self.special.regime.max_shocks;
        self.rhythms.limited =
            most.is_some_and(|most| self.rhythms.shock_count() >= most) || self.held_back.contains(&fact.id);
        let ended = self.rhythms.limited && self.rhythms.want_no_shock(Mark::of(fact));
        // A shock begins its own cycle.
        if ended && !matches!(fact.event, Event::ShockDelivered { .. }) {
            self.cycle.go_on_without_shock(Mark::of(fact), self.chest.pause.is_some(), protocol);
        }
    }

    fn apply_to_arrest(&mut self, fact: &Fact<'_>, protocol: &Protocol) {
        match fact.event {
            Event::CodeOpened { patient, training, location, witnessed, monitored, .. } => {
                self.opened = Some(Mark::of(fact));
                self.training = *training;
                self.location.clone_from(location);
                (self.witnessed, self.monitored) = (*witnessed, *monitored);
                self.fitted = Some(Mark::of(fact));
                self.tell(patient, Mark::of(fact), protocol);
            }
            Event::PatientUpdated { patient } => self.tell(patient, Mark::of(fact), protocol),
            Event::ProtocolChanged { .. } => {
                self.fitted = Some(Mark::of(fact));
                self.protocol_changed = Some(Mark::of(fact));
            }
            Event::ClockStarted { .. } if self.phase == Phase::Standby => self.begin_arrest(fact, protocol),
            Event::ArrestAgain {} if self.phase == Phase::Rosc => self.begin_arrest(fact, protocol),
            Event::Rosc {} if self.phase == Phase::Arrest => {
                self.rosc = Some(Mark::of(fact));
                self.roscs += 1;
                self.enter(Phase::Rosc, fact.at_ms);
                self.chest.end();
                self.rhythms.rosc(Mark::of(fact));
            }
            Event::CodeClosed { .. } => {
                self.enter(Phase::Closed, fact.at_ms);
                self.chest.end();
            }
            Event::TaskDone { prompt } => self.ticked.insert(prompt, Mark::of(fact)),
            Event::Moved { location } => {
                self.location = Some(location.clone());
                self.moved = Some(Move::begin(Mark::of(fact), &self.team));
            }
            Event::RoleAssigned { .. } | Event::RoleReleased { .. } => {
                if self.moved.as_mut().is_some_and(|moved| moved.is_answered(fact, &self.team)) {
                    self.moved = None;
                }
            }
            Event::EcmoStarted { .. } if self.phase == Phase::Arrest => self.ecmo = Some(Mark::of(fact)),
            Event::DeathDeclared { .. } => self.death_declared = Some(Mark::of(fact)),
            // Order matters: the cycle looks at the chest and the rhythm as they were before this fact.
            _ => {
                let age_group = self.age_group(protocol);
                self.cycle.apply(fact, &self.chest, &self.rhythms, age_group, protocol);
                self.chest.apply(fact, &self.rhythms, protocol);
                self.rhythms.apply(fact, &self.chest, age_group, protocol);
            }
        }
    }
}

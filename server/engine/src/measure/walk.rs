//! One walk over the facts: cuts them into arrests and compressions, and notes what the figures need of each fact.
//!
//! It decides what is inside an arrest, by the order of the facts and not by their times alone, so that a fact of the
//! same millisecond as the end of an arrest falls on the side where it was recorded. It must not compute any figure.

use std::collections::BTreeSet;

use crate::event::{
    AccessRoute, AirwayKind, CompressedBy, DrugForm, Event, PauseReason, PriorCare, Rhythm, Route, international_name,
};
use crate::measure::EndedBy;
use crate::timeline::Fact;

/// Compressions without a break, cut to their arrest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stretch {
    pub(super) start_ms: i64,
    pub(super) end_ms: i64,
    /// The means they began with.
    pub(super) by: CompressedBy,
    /// Why they stopped; absent if the arrest ended under them.
    pub(super) stopped_for: Option<PauseReason>,
}

/// One arrest: from its recognition to circulation or closing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Arrest {
    pub(super) start_ms: i64,
    pub(super) end_ms: i64,
    pub(super) ended_by: EndedBy,
    pub(super) stretches: Vec<Stretch>,
    /// When the compressor changed.
    pub(super) changes: Vec<i64>,
    /// Epinephrine boluses into a vein or bone.
    pub(super) epinephrine: Vec<i64>,
    /// From one fact to the next, longer than the limit: when the earlier one was.
    pub(super) silences: Vec<i64>,
}

/// A shock and what stood around it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ShockSeen {
    pub(super) at_ms: i64,
    pub(super) energy_j: f64,
    pub(super) in_arrest: bool,
    /// Mechanical compressions were running.
    pub(super) mechanical: bool,
    /// From the start of charging to "all clear", or to the shock.
    pub(super) charging: Option<(i64, i64)>,
}

/// All that the figures need.
#[derive(Debug, Default)]
pub(super) struct Walk {
    /// When the first clock_started was.
    pub(super) clock_ms: Option<i64>,
    pub(super) arrests: Vec<Arrest>,
    pub(super) shocks: Vec<ShockSeen>,
    pub(super) looks: Vec<i64>,
    pub(super) fingers: Vec<i64>,
    pub(super) first_rhythm: Option<Rhythm>,
    pub(super) first_access_ms: Option<i64>,
    pub(super) first_advanced_airway_ms: Option<i64>,
    pub(super) prior_epinephrine_ms: Option<i64>,
    /// Manual compressions with no advanced airway in.
    pub(super) bagged_ms: i64,
    /// Drugs into a vein or bone with no access on the record.
    pub(super) without_access: Vec<(i64, String)>,
}

/// Longest time between two facts in an arrest that is no gap.
pub(super) const LONGEST_SILENCE_MS: i64 = 180_000;

/// What is running at the present fact.
#[derive(Default)]
struct Running {
    compressions: Option<(i64, CompressedBy)>,
    arrest: Option<Arrest>,
    charging: Option<(i64, Option<i64>)>,
    advanced_airways: BTreeSet<AirwayKind>,
    access: BTreeSet<AccessRoute>,
    prior_doses: Option<u32>,
    last_ms: i64,
}

/// Walks over facts in their order.
pub(super) fn walk(facts: &[Fact<'_>]) -> Walk {
    let mut walk = Walk::default();
    let mut now = Running::default();
    for fact in facts {
        walk.pass_time(&mut now, fact.at_ms);
        walk.fact(&mut now, fact.at_ms, fact.event);
    }
    // A code still open is measured up to its last fact.
    let last_ms = now.last_ms;
    walk.end_arrest(&mut now, last_ms, EndedBy::Closed);
    if now.prior_doses == Some(0) {
        walk.prior_epinephrine_ms = None;
    }
    walk
}

impl Walk {
    fn pass_time(&mut self, now: &mut Running, at_ms: i64) {
        if let Some(arrest) = &mut now.arrest {
            if at_ms - now.last_ms > LONGEST_SILENCE_MS {
                arrest.silences.push(now.last_ms);
            }
            let manual = matches!(now.compressions, Some((_, CompressedBy::Manual)));
            if manual && now.advanced_airways.is_empty() {
                self.bagged_ms += at_ms - now.last_ms;
            }
        }
        now.last_ms = at_ms;
    }

    fn fact(&mut self, now: &mut Running, at_ms: i64, event: &Event) {
        match event {
            Event::ClockStarted { .. } => {
                if self.clock_ms.is_none() {
                    self.clock_ms = Some(at_ms);
                    begin_arrest(now, at_ms);
                }
            }
            Event::ArrestAgain {} => begin_arrest(now, at_ms),
            Event::Rosc {} => self.end_arrest(now, at_ms, EndedBy::Rosc),
            Event::CodeClosed { .. } => self.end_arrest(now, at_ms, EndedBy::Closed),
            Event::CompressionsStarted { by } => {
                now.compressions.get_or_insert((at_ms, *by));
            }
            Event::CompressionsStopped { reason } => stop(now, at_ms, Some(*reason)),
            Event::CompressorChanged { .. } => {
                if let Some(arrest) = &mut now.arrest {
                    arrest.changes.push(at_ms);
                }
            }
            Event::PulseFingerPlaced { .. } => self.fingers.push(at_ms),
            Event::RhythmChecked { rhythm, .. } => {
                self.first_rhythm.get_or_insert(*rhythm);
                self.looks.push(at_ms);
            }
            Event::ChargingStarted { .. } => now.charging = Some((at_ms, None)),
            Event::AllClearCalled {} => {
                if let Some((_, clear_ms)) = &mut now.charging {
                    clear_ms.get_or_insert(at_ms);
                }
            }
            Event::ChargeDumped { .. } | Event::ShockAborted { .. } => now.charging = None,
            Event::ShockDelivered { energy_j, .. } => self.shock(now, at_ms, *energy_j),
            Event::DrugGiven { drug, route: Route::Iv | Route::Io, form, .. } => {
                if now.access.is_empty() {
                    self.without_access.push((at_ms, drug.clone()));
                }
                if let Some(arrest) = &mut now.arrest
                    && international_name(drug) == "epinephrine"
                    && *form == DrugForm::Bolus
                {
                    arrest.epinephrine.push(at_ms);
                }
            }
            Event::AccessGained { route, .. } => {
                self.first_access_ms.get_or_insert(at_ms);
                now.access.insert(*route);
            }
            Event::AccessLost { route, .. } => {
                now.access.remove(route);
            }
            Event::AirwayPlaced { airway, .. } => {
                if airway.is_advanced() {
                    self.first_advanced_airway_ms.get_or_insert(at_ms);
                    now.advanced_airways.insert(*airway);
                }
            }
            Event::AirwayRemoved { airway } => {
                now.advanced_airways.remove(airway);
            }
            Event::CodeOpened { prior_care: Some(care), .. } | Event::PriorCareReported { prior_care: care } => {
                self.prior_care(now, care);
            }
            Event::CodeOpened { prior_care: None, .. }
            | Event::PatientUpdated { .. }
            | Event::CircumstanceSet { .. }
            | Event::ProtocolChanged { .. }
            | Event::RoleAssigned { .. }
            | Event::RoleReleased { .. }
            | Event::DeviceLeft {}
            | Event::PulseDutyGiven { .. }
            | Event::PauseReason { .. }
            | Event::PadsAttached { .. }
            | Event::PadsRemoved {}
            | Event::ChargeReady { .. }
            | Event::DrugPrepared { .. }
            | Event::DrugGiven { route: Route::Im | Route::Tracheal | Route::Intranasal | Route::Other, .. }
            | Event::AccessFailed { .. }
            | Event::AirwayAttempted { .. }
            | Event::BreathsGiven { .. }
            | Event::Etco2Read { .. }
            | Event::VitalRead { .. }
            | Event::LabRead { .. }
            | Event::CauseConsidered { .. }
            | Event::CauseTreated { .. }
            | Event::TaskDone { .. }
            | Event::TeamCalled { .. }
            | Event::TeamArrived { .. }
            | Event::UltrasoundDone { .. }
            | Event::Delivery { .. }
            | Event::EcmoStarted { .. }
            | Event::Thoracotomy { .. }
            | Event::DeathDeclared { .. }
            | Event::Moved { .. }
            | Event::Note { .. }
            // Corrections have taken effect before the walk; neither they nor what a reviewer did are among the facts.
            | Event::Amended { .. }
            | Event::Voided { .. }
            | Event::Reviewed { .. }
            | Event::ClockCorrected { .. } => {}
        }
    }

    /// rosc and code_closed end an arrest, and compressions with it; outside an arrest they change nothing.
    fn end_arrest(&mut self, now: &mut Running, at_ms: i64, ended_by: EndedBy) {
        if now.arrest.is_none() {
            return;
        }
        stop(now, at_ms, None);
        if let Some(mut arrest) = now.arrest.take() {
            arrest.end_ms = at_ms;
            arrest.ended_by = ended_by;
            self.arrests.push(arrest);
        }
        now.charging = None;
    }

    fn shock(&mut self, now: &mut Running, at_ms: i64, energy_j: f64) {
        let in_arrest = now.arrest.is_some();
        let charging = now.charging.take().filter(|_| in_arrest);
        self.shocks.push(ShockSeen {
            at_ms,
            energy_j,
            in_arrest,
            mechanical: matches!(now.compressions, Some((_, CompressedBy::Mechanical))),
            charging: charging.map(|(from_ms, clear_ms)| (from_ms, clear_ms.unwrap_or(at_ms))),
        });
    }

    fn prior_care(&mut self, now: &mut Running, care: &PriorCare) {
        self.prior_epinephrine_ms = care.last_epinephrine_at_ms.or(self.prior_epinephrine_ms);
        now.prior_doses = care.epinephrine_doses.or(now.prior_doses);
        now.advanced_airways.extend(care.airway.filter(|airway| airway.is_advanced()));
        now.access.extend(care.access);
    }
}

fn begin_arrest(now: &mut Running, at_ms: i64) {
    if now.arrest.is_some() {
        return;
    }
    // Compressions already running count from here.
    if let Some((since_ms, _)) = &mut now.compressions {
        *since_ms = at_ms;
    }
    now.charging = None;
    now.arrest = Some(Arrest {
        start_ms: at_ms,
        end_ms: at_ms,
        ended_by: EndedBy::Closed,
        stretches: Vec::new(),
        changes: Vec::new(),
        epinephrine: Vec::new(),
        silences: Vec::new(),
    });
}

fn stop(now: &mut Running, at_ms: i64, stopped_for: Option<PauseReason>) {
    if let Some((start_ms, by)) = now.compressions.take()
        && let Some(arrest) = &mut now.arrest
    {
        arrest.stretches.push(Stretch { start_ms, end_ms: at_ms, by, stopped_for });
    }
}

//! Everything done to the patient beside the chest and the shock: pads, access, airway, drugs, readings, causes.

use std::collections::{BTreeMap, BTreeSet};

use crate::dose;
use crate::event::{AccessRoute, AirwayKind, Dose, DrugForm, Event, PadPosition, PriorCare, Route, international_name};
use crate::protocol::Protocol;
use crate::timeline::Fact;

use super::Mark;

/// Lines that are in.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Access {
    /// Routes that work.
    pub routes: BTreeSet<AccessRoute>,
    /// The latest loss, while nothing replaced it.
    pub lost: Option<Mark>,
}

/// What the rest of the state makes of a dose at the moment it is given.
#[derive(Debug, Clone, Copy)]
pub(super) struct Dosing {
    /// By how much the intervals between doses are stretched.
    pub(super) interval_factor: i64,
    /// Too small to stand for the protocol's dose.
    pub(super) is_small: bool,
}

/// A dose that was given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrugFact {
    /// When, and by which record.
    pub mark: Mark,
    /// By how much the intervals between doses were stretched when it was given.
    pub interval_factor: i64,
    /// How much, in milligrams, where that was said.
    pub mg: Option<f64>,
}

/// A drug that was drawn up.
#[derive(Debug, Clone, PartialEq)]
pub struct Prepared {
    /// When, and by which record.
    pub mark: Mark,
    /// How much, as far as that was said.
    pub dose: Option<Dose>,
}

/// One drug's doses here.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Medication {
    /// Boluses into a vein or a bone.
    pub given: Vec<DrugFact>,
    /// The latest bolus too small to stand for the protocol's dose, since the latest one that does. It counts for nothing.
    pub small: Option<Mark>,
    /// Drawn up, and not given since.
    pub prepared: Option<Prepared>,
}

/// What the time of a dose before arrival rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PriorTime {
    /// It was told.
    Told,
    /// Nobody knows: taken as given when the code was opened.
    Unknown,
    /// The time told lies after the telling: taken as given when it was told.
    Ahead,
}

/// The last dose before arrival.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PriorDose {
    /// When it was given, or is taken to have been.
    pub mark: Mark,
    /// What that rests on.
    pub time: PriorTime,
    /// When it was told of: nothing could be asked before.
    pub told_ms: i64,
}

/// A vital or laboratory reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// When, and by which record.
    pub mark: Mark,
    /// In the unit that its field's name ends with.
    pub value: f64,
}

/// Which record told of each thing done before arrival, last.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct PriorMarks {
    /// Of epinephrine.
    pub epinephrine: Option<Mark>,
    /// Of shocks.
    pub shocks: Option<Mark>,
    /// Of an antiarrhythmic.
    pub antiarrhythmic: Option<Mark>,
}

/// An end-tidal reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Etco2 {
    /// When, and by which record.
    pub mark: Mark,
    /// In millimetres of mercury.
    pub mmhg: f64,
}

/// Care as recorded.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Care {
    /// Pads on, since when.
    pub pads: Option<Mark>,
    /// Where the pads on the chest are, as far as that was said.
    pub pad_position: Option<PadPosition>,
    /// Pads off again, while nothing replaced them.
    pub pads_removed: Option<Mark>,
    /// A look or a charge shows that pads or leads are on.
    pub pads_implied: bool,
    /// Access.
    pub access: Access,
    /// The airway in use, and since when.
    pub airway: Option<(AirwayKind, Mark)>,
    /// Drugs here, by id.
    pub drugs: BTreeMap<String, Medication>,
    /// What was done before arrival.
    pub prior: PriorCare,
    /// Which records told of it last.
    pub prior_marks: PriorMarks,
    opened: Option<Mark>,
    /// When the clock was started, by code time: after a late start the code was opened, and told of, about then.
    clock_tapped_ms: Option<i64>,
    /// Airway and lines that were placed or lost here: what is told later of the time before does not undo that.
    airway_here: bool,
    access_here: BTreeSet<AccessRoute>,
    /// The latest finger on the pulse.
    pub finger: Option<Mark>,
    /// The latest breaths that somebody recorded.
    pub breaths: Option<Mark>,
    /// The latest end-tidal reading.
    pub etco2: Option<Etco2>,
    /// A reading that jumped as the protocol describes it, until the next look.
    pub etco2_rise: Option<Mark>,
    /// The latest cause considered or treated.
    pub cause: Option<Mark>,
    /// Fields of vital and laboratory readings, each with its latest value.
    pub readings: BTreeMap<&'static str, Reading>,
}

impl Care {
    /// Doses of epinephrine, prior care included.
    pub fn epinephrine_doses(&self) -> u32 {
        let here = self.drugs.get("epinephrine").map_or(0, |drug| drug.given.len());
        self.prior_epinephrine_doses().saturating_add(u32::try_from(here).unwrap_or(u32::MAX))
    }

    /// Doses before arrival; a time without a number tells of one.
    fn prior_epinephrine_doses(&self) -> u32 {
        let told_of = u32::from(self.prior.last_epinephrine_at_ms.is_some());
        self.prior.epinephrine_doses.unwrap_or(told_of)
    }

    /// Not before the clock was started.
    fn after_the_tap(&self, at_ms: i64) -> i64 {
        self.clock_tapped_ms.map_or(at_ms, |tapped_ms| at_ms.max(tapped_ms))
    }

    /// The last dose of epinephrine before arrival.
    pub fn prior_epinephrine(&self) -> Option<PriorDose> {
        if self.prior_epinephrine_doses() == 0 {
            return None;
        }
        let told = self.prior_marks.epinephrine.or(self.opened)?;
        let told_ms = self.after_the_tap(told.at_ms);
        let (at_ms, time) = match self.prior.last_epinephrine_at_ms {
            Some(at_ms) if at_ms > told_ms => (told_ms, PriorTime::Ahead),
            Some(at_ms) => (at_ms, PriorTime::Told),
            None => {
                let opened_ms = self.opened.map_or(told_ms, |opened| self.after_the_tap(opened.at_ms));
                (opened_ms, PriorTime::Unknown)
            }
        };
        Some(PriorDose { mark: Mark { at_ms, id: told.id }, time, told_ms })
    }

    /// Whether an advanced airway is in.
    pub fn has_advanced_airway(&self) -> bool {
        self.airway.is_some_and(|(kind, _)| kind.is_advanced())
    }

    fn merge_prior(&mut self, told: &PriorCare, mark: Mark) {
        let PriorCare {
            epinephrine_doses,
            last_epinephrine_at_ms,
            shocks,
            amiodarone_mg,
            lidocaine_mg,
            airway,
            access,
        } = told;
        self.prior.epinephrine_doses = epinephrine_doses.or(self.prior.epinephrine_doses);
        self.prior.last_epinephrine_at_ms = last_epinephrine_at_ms.or(self.prior.last_epinephrine_at_ms);
        self.prior.shocks = shocks.or(self.prior.shocks);
        self.prior.amiodarone_mg = amiodarone_mg.or(self.prior.amiodarone_mg);
        self.prior.lidocaine_mg = lidocaine_mg.or(self.prior.lidocaine_mg);
        let marks = &mut self.prior_marks;
        let tells = |told: bool, before: Option<Mark>| if told { Some(mark) } else { before };
        marks.epinephrine = tells(epinephrine_doses.is_some() || last_epinephrine_at_ms.is_some(), marks.epinephrine);
        marks.shocks = tells(shocks.is_some(), marks.shocks);
        marks.antiarrhythmic = tells(amiodarone_mg.is_some() || lidocaine_mg.is_some(), marks.antiarrhythmic);
        if let Some(kind) = airway.filter(|_| !self.airway_here) {
            self.airway = Some((kind, mark));
        }
        if let Some(route) = access.filter(|route| !self.access_here.contains(route)) {
            self.access.routes.insert(route);
        }
    }

    /// The clock was started, at this code time.
    pub(super) fn start_clock(&mut self, tapped_ms: i64) {
        self.clock_tapped_ms = Some(tapped_ms);
    }

    pub(super) fn begin_arrest(&mut self) {
        self.etco2_rise = None;
    }

    pub(super) fn apply(&mut self, fact: &Fact<'_>, dosing: Dosing, protocol: &Protocol) {
        let mark = Mark::of(fact);
        match fact.event {
            Event::CodeOpened { prior_care, .. } => {
                self.opened = Some(mark);
                if let Some(told) = prior_care {
                    self.merge_prior(told, mark);
                }
            }
            Event::PriorCareReported { prior_care } => self.merge_prior(prior_care, mark),
            Event::PadsAttached { position } => {
                self.pads = Some(mark);
                self.pad_position = Some(*position);
                self.pads_removed = None;
            }
            Event::PadsRemoved {} => {
                self.pads = None;
                self.pad_position = None;
                self.pads_removed = Some(mark);
                self.pads_implied = false;
            }
            Event::RhythmChecked { .. } => {
                self.pads_implied = true;
                self.etco2_rise = None;
            }
            Event::ChargingStarted { .. } | Event::ChargeReady { .. } => self.pads_implied = true,
            Event::AccessGained { route, .. } => {
                self.access_here.insert(*route);
                self.access.routes.insert(*route);
                self.access.lost = None;
            }
            Event::AccessLost { route, .. } => {
                self.access_here.insert(*route);
                self.access.routes.remove(route);
                self.access.lost = Some(mark);
            }
            Event::AirwayPlaced { airway, .. } => {
                self.airway_here = true;
                self.airway = Some((*airway, mark));
            }
            Event::AirwayRemoved { airway } if self.airway.is_some_and(|(kind, _)| kind == *airway) => {
                self.airway_here = true;
                self.airway = Some((AirwayKind::BagMask, mark));
            }
            Event::DrugPrepared { drug, dose } => {
                let prepared = Prepared { mark, dose: dose.clone() };
                self.drugs.entry(international_name(drug).to_owned()).or_default().prepared = Some(prepared);
            }
            Event::DrugGiven { drug, dose, route: Route::Iv | Route::Io, form: DrugForm::Bolus } => {
                let medication = self.drugs.entry(international_name(drug).to_owned()).or_default();
                if dosing.is_small {
                    medication.small = Some(mark);
                } else {
                    let mg = dose.as_ref().and_then(dose::in_mg);
                    medication.given.push(DrugFact { mark, interval_factor: dosing.interval_factor, mg });
                    medication.small = None;
                    medication.prepared = None;
                }
            }
            Event::PulseFingerPlaced { .. } => self.finger = Some(mark),
            Event::BreathsGiven { .. } => self.breaths = Some(mark),
            Event::Etco2Read { mmhg } => {
                let rise_mmhg = self.etco2.map_or(0.0, |before| mmhg - before.mmhg);
                let airway = &protocol.airway;
                if rise_mmhg >= airway.rosc_rise_mmhg.value && *mmhg >= airway.rosc_level_mmhg.value {
                    self.etco2_rise = Some(mark);
                }
                self.etco2 = Some(Etco2 { mark, mmhg: *mmhg });
            }
            Event::CauseConsidered { .. } | Event::CauseTreated { .. } => self.cause = Some(mark),
            Event::VitalRead { spo2_pct, systolic_mmhg, diastolic_mmhg, temp_c, glucose_mmol_l, .. } => {
                let mean_mmhg = systolic_mmhg.zip(*diastolic_mmhg).map(|(high, low)| mean_pressure_mmhg(high, low));
                self.read(
                    mark,
                    [
                        ("spo2_pct", spo2_pct),
                        ("systolic_mmhg", systolic_mmhg),
                        ("diastolic_mmhg", diastolic_mmhg),
                        ("mean_mmhg", &mean_mmhg),
                        ("temp_c", temp_c),
                        ("glucose_mmol_l", glucose_mmol_l),
                    ],
                );
            }
            Event::LabRead { potassium_mmol_l, lactate_mmol_l, ph, paco2_mmhg } => {
                self.read(
                    mark,
                    [
                        ("potassium_mmol_l", potassium_mmol_l),
                        ("lactate_mmol_l", lactate_mmol_l),
                        ("ph", ph),
                        ("paco2_mmhg", paco2_mmhg),
                    ],
                );
            }
            _ => {}
        }
    }

    fn read<const N: usize>(&mut self, mark: Mark, fields: [(&'static str, &Option<f64>); N]) {
        for (name, value) in fields {
            if let Some(value) = *value {
                self.readings.insert(name, Reading { mark, value });
            }
        }
    }
}

/// The mean of a blood pressure from its two values: (systolic + 2 x diastolic) / 3, the common formula (from memory).
fn mean_pressure_mmhg(systolic_mmhg: f64, diastolic_mmhg: f64) -> f64 {
    (systolic_mmhg + 2.0 * diastolic_mmhg) / 3.0
}

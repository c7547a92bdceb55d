//! Special circumstances as recorded: which are set, the readings they look at, and what was done for them. What the
//! protocol makes of the core temperature is folded here too, because the time at which a threshold was crossed counts.

use std::collections::BTreeMap;

use crate::event::{Circumstance, Event, TemperatureSite, international_name};
use crate::protocol::{CareTask, CircumstanceRules, Deed, DrugPlan, Protocol, Reading, TemperatureBand};
use crate::timeline::Fact;

use super::Mark;

/// A value that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// When, and by which record.
    pub mark: Mark,
    /// In the unit of its reading.
    pub value: f64,
}

/// What the circumstances that are set make of drugs and shocks.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Regime {
    /// How drugs are timed.
    pub drugs: DrugPlan,
    /// The most shocks, all of the code counted.
    pub max_shocks: Option<u32>,
}

/// What moved the drugs' plan: a reading, or a circumstance set or switched off.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct RegimeChanges {
    /// What changed it last.
    pub changed: Option<Mark>,
    /// What ended the latest withholding.
    pub released: Option<Mark>,
}

impl RegimeChanges {
    /// Takes the drugs' plan before and after a record.
    pub(super) fn note(&mut self, before: DrugPlan, after: DrugPlan, mark: Mark) {
        if before == after {
            return;
        }
        self.changed = Some(mark);
        if before == DrugPlan::Withheld {
            self.released = Some(mark);
        }
    }
}

/// Special circumstances as recorded.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Special {
    /// Those that are set, and since when.
    set: BTreeMap<Circumstance, Mark>,
    /// When each was last switched off.
    off: BTreeMap<Circumstance, i64>,
    readings: BTreeMap<Reading, Measured>,
    deeds: BTreeMap<Deed, Mark>,
    /// The latest giving of each drug, by any route.
    drugs: BTreeMap<String, Mark>,
    /// Drugs and shocks as they are to be now.
    pub regime: Regime,
    /// Since when, for the drugs.
    pub changes: RegimeChanges,
}

impl Special {
    /// Those that are set.
    pub fn names(&self) -> impl Iterator<Item = &Circumstance> {
        self.set.keys()
    }

    /// Those that are set and since when, with what the protocol says of each.
    pub fn set<'a>(&self, protocol: &'a Protocol) -> impl Iterator<Item = (&'a CircumstanceRules, Mark)> {
        protocol.circumstances.iter().filter_map(|rules| self.set.get(&rules.id).map(|mark| (rules, *mark)))
    }

    /// Since when a circumstance is set.
    pub fn since(&self, id: &Circumstance) -> Option<Mark> {
        self.set.get(id).copied()
    }

    /// When a circumstance was last switched off.
    pub fn switched_off_ms(&self, id: &Circumstance) -> Option<i64> {
        self.off.get(id).copied()
    }

    /// The latest value of a reading.
    pub fn reading(&self, reading: Reading) -> Option<Measured> {
        self.readings.get(&reading).copied()
    }

    /// When something was last done.
    pub fn deed(&self, deed: &Deed) -> Option<Mark> {
        self.deeds.get(deed).copied()
    }

    /// When the latest of these drugs was given.
    pub fn given(&self, drugs: &[String]) -> Option<Mark> {
        drugs.iter().filter_map(|drug| self.drugs.get(drug)).copied().max_by_key(|mark| mark.at_ms)
    }

    /// When a task was last done by what was recorded.
    pub fn done(&self, task: &CareTask) -> Option<Mark> {
        let deeds = task.done_by.iter().filter_map(|deed| self.deed(deed));
        deeds.chain(self.given(&task.drugs)).max_by_key(|mark| mark.at_ms)
    }

    /// The range of core temperature that holds, for each circumstance that is set and has ranges.
    pub fn bands<'a>(&self, protocol: &'a Protocol) -> Vec<(&'a CircumstanceRules, &'a TemperatureBand)> {
        let Some(core) = self.reading(Reading::CoreTempC) else { return Vec::new() };
        let band = |rules: &'a CircumstanceRules| rules.temperature_bands.iter().find(|band| band.holds(core.value));
        self.set(protocol).filter_map(|(rules, _)| band(rules).map(|band| (rules, band))).collect()
    }

    fn read(&mut self, mark: Mark, reading: Reading, value: Option<f64>) {
        if let Some(value) = value {
            self.readings.insert(reading, Measured { mark, value });
            if reading == Reading::CoreTempC {
                self.deeds.insert(Deed::CoreTemperature, mark);
            }
        }
    }

    pub(super) fn apply(&mut self, fact: &Fact<'_>, protocol: &Protocol) {
        let mark = Mark::of(fact);
        match fact.event {
            Event::CircumstanceSet { name, on: true } => {
                // Set twice is set once: its times count from the first.
                self.set.entry(name.clone()).or_insert(mark);
            }
            Event::CircumstanceSet { name, on: false } => {
                self.set.remove(name);
                self.off.insert(name.clone(), mark.at_ms);
            }
            Event::CodeOpened { patient, .. } | Event::PatientUpdated { patient } => {
                self.read(mark, Reading::CoreTempC, patient.core_temp_c);
            }
            Event::VitalRead { temp_c, temp_site, glucose_mmol_l, .. } => {
                // The skin or the ear says nothing of the heart.
                let core_temp_c = temp_c.filter(|_| *temp_site == Some(TemperatureSite::Core));
                self.read(mark, Reading::CoreTempC, core_temp_c);
                self.read(mark, Reading::GlucoseMmolL, *glucose_mmol_l);
            }
            Event::LabRead { potassium_mmol_l, .. } => self.read(mark, Reading::PotassiumMmolL, *potassium_mmol_l),
            Event::DrugGiven { drug, .. } => {
                self.drugs.insert(international_name(drug).to_owned(), mark);
            }
            Event::Delivery { .. } => self.did(Deed::Delivery, mark),
            Event::Thoracotomy { .. } => self.did(Deed::Thoracotomy, mark),
            Event::BreathsGiven { .. } => self.did(Deed::BreathsGiven, mark),
            Event::AirwayPlaced { airway, .. } if airway.is_advanced() => self.did(Deed::AdvancedAirway, mark),
            Event::CauseTreated { cause, .. } => self.did(Deed::CauseTreated(cause.clone()), mark),
            _ => {}
        }
        self.settle(mark, protocol);
    }

    fn did(&mut self, deed: Deed, mark: Mark) {
        self.deeds.insert(deed, mark);
    }

    /// The gravest of the ranges that hold decides.
    fn settle(&mut self, mark: Mark, protocol: &Protocol) {
        let bands = self.bands(protocol);
        let drugs = bands.iter().map(|(_, band)| band.drugs.value).max().unwrap_or_default();
        self.changes.note(self.regime.drugs, drugs, mark);
        let max_shocks = bands.iter().filter_map(|(_, band)| band.max_shocks.as_ref()).map(|most| most.value).min();
        self.regime = Regime { drugs, max_shocks };
    }
}

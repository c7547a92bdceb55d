//! A code without what could name somebody: no ids but ones made for the file, no names, no words that somebody typed, no
//! place, no date. Code time stays, and with it every figure.
//!
//! What is kept is named here and everything else goes: a new event does not compile until somebody has decided. What can
//! still be known from what is left stands in docs/exports.md.

use std::collections::{BTreeMap, BTreeSet};

use coxswain_engine::event::{Circumstance, Dose, Event, Patient, PriorCare, ProtocolRef, international_name};
use coxswain_engine::prompt::Action;
use coxswain_engine::protocol::{DRUGS, shipped};
use coxswain_engine::record::{Author, Record};
use uuid::{Builder, Uuid};

use super::code::{Code, Zero};

/// In place of a word that is not one of a known list.
const OTHER: &str = "other";
/// Units of doses (UCUM): any other word on the record may be anything.
pub(super) const UNITS: &[&str] =
    &["mg", "ug", "g", "mL", "L", "mmol", "[iU]", "mg/kg", "ug/kg", "g/kg", "mL/kg", "mmol/kg"];
/// Ages from here on are one group: 90 years.
const OLDEST_MONTHS: u32 = 90 * 12;
/// Weights from here on are one group; so are those below 3 kg.
const WEIGHTS_KG: (f64, f64) = (3.0, 150.0);

/// A code as the `number`-th of a de-identified file.
pub(super) fn code(code: &Code, number: u64) -> Code {
    let mut hidden =
        Hiding { number, records: BTreeMap::new(), devices: BTreeMap::new(), stacks: BTreeMap::new(), code };
    let id = made(number, Kind::Code, 0);
    // Ids in order of the chain first, so that a correction that came before its target names the same one.
    for record in &code.records {
        hidden.record(record.id);
    }
    let left_out = left_out(&code.records);
    let reviewed = |record: &Record| matches!(record.event, Event::Reviewed { .. });
    let kept = code.records.iter().filter(|record| !reviewed(record) && !left_out.contains(&record.id));
    let records: Vec<Record> = (1..).zip(kept).map(|(seq, record)| hidden.whole(id, seq, record)).collect();
    Code {
        id,
        records,
        texts: None,
        protocol: std::sync::Arc::clone(&code.protocol),
        protocol_name: protocol_name(&code.protocol.id),
        head: None,
        zero: Zero::Hidden,
    }
}

/// What a reviewer did with the record as a whole, and every correction that leads to it, through however many others: such
/// a correction changes no fact, and without its target it would stand in the file as one that waits, a gap that the record
/// does not have.
fn left_out(records: &[Record]) -> BTreeSet<Uuid> {
    // The first copy of a repeated record is the one that stands.
    let (mut known, mut gone) = (BTreeSet::new(), BTreeSet::new());
    let mut against: BTreeMap<Uuid, Vec<Uuid>> = BTreeMap::new();
    let mut leading = Vec::new();
    for record in records.iter().filter(|record| known.insert(record.id)) {
        match &record.event {
            Event::Reviewed { .. } => leading.push(record.id),
            Event::Amended { target, .. } | Event::Voided { target, .. } => {
                against.entry(*target).or_default().push(record.id);
            }
            _ => {}
        }
    }
    while let Some(id) = leading.pop() {
        if gone.insert(id) {
            leading.extend(against.get(&id).into_iter().flatten());
        }
    }
    gone
}

/// What an id made for a file stands for.
#[derive(Clone, Copy)]
enum Kind {
    Code = 1,
    Record = 2,
    Device = 3,
}

/// An id made for a file (a UUID of version 8): the code's number in the file, a kind, and a count within the code.
fn made(number: u64, kind: Kind, count: u64) -> Uuid {
    let bits = (u128::from(number) << 80) | (u128::from(kind as u8) << 56) | u128::from(count);
    Builder::from_custom_bytes(bits.to_be_bytes()).into_uuid()
}

/// A department's own protocol could name the department.
fn protocol_name(id: &str) -> String {
    let known = shipped().iter().any(|(name, _)| *name == id);
    if known { id.to_owned() } else { OTHER.to_owned() }
}

/// Ids of one code, and those that stand for them.
struct Hiding<'a> {
    number: u64,
    records: BTreeMap<Uuid, Uuid>,
    devices: BTreeMap<Uuid, Uuid>,
    stacks: BTreeMap<String, usize>,
    code: &'a Code,
}

fn stand_in(known: &mut BTreeMap<Uuid, Uuid>, id: Uuid, number: u64, kind: Kind) -> Uuid {
    let count = known.len() as u64 + 1;
    *known.entry(id).or_insert_with(|| made(number, kind, count))
}

impl Hiding<'_> {
    fn record(&mut self, id: Uuid) -> Uuid {
        stand_in(&mut self.records, id, self.number, Kind::Record)
    }

    fn device(&mut self, id: Uuid) -> Uuid {
        stand_in(&mut self.devices, id, self.number, Kind::Device)
    }

    fn whole(&mut self, code: Uuid, seq: u64, record: &Record) -> Record {
        Record {
            seq,
            id: self.record(record.id),
            code,
            at_ms: record.at_ms,
            received_ms: record.received_ms,
            recorded_at: String::new(),
            by: Author { device: self.device(record.by.device), name: String::new(), roles: record.by.roles.clone() },
            source: record.source,
            event: self.event(&record.event),
        }
    }

    fn cause(&self, word: &str) -> String {
        let list = &self.code.protocol.causes.list.value;
        let known = list.iter().any(|cause| cause.id == word || cause.also.iter().any(|also| also == word));
        if known { word.to_owned() } else { OTHER.to_owned() }
    }

    fn stack(&mut self, word: &str) -> String {
        let next = self.stacks.len() + 1;
        self.stacks.entry(word.to_owned()).or_insert(next).to_string()
    }

    fn event(&mut self, event: &Event) -> Event {
        match event {
            Event::CodeOpened { protocol, patient: who, location: _, training, witnessed, monitored, prior_care } => {
                Event::CodeOpened {
                    protocol: named(protocol),
                    patient: patient(who),
                    location: None,
                    training: *training,
                    witnessed: *witnessed,
                    monitored: *monitored,
                    prior_care: prior_care.as_ref().map(care),
                }
            }
            Event::PatientUpdated { patient: who } => Event::PatientUpdated { patient: patient(who) },
            Event::PriorCareReported { prior_care } => Event::PriorCareReported { prior_care: care(prior_care) },
            Event::CircumstanceSet { name, on } => Event::CircumstanceSet { name: circumstance(name), on: *on },
            Event::ProtocolChanged { protocol, reason: _ } => {
                Event::ProtocolChanged { protocol: named(protocol), reason: String::new() }
            }
            Event::RoleAssigned { role, device, person: _ } => {
                Event::RoleAssigned { role: *role, device: self.device(*device), person: None }
            }
            Event::RoleReleased { role, device } => Event::RoleReleased { role: *role, device: self.device(*device) },
            Event::CompressorChanged { person: _ } => Event::CompressorChanged { person: None },
            Event::ShockDelivered { energy_j, stack_id, double } => Event::ShockDelivered {
                energy_j: *energy_j,
                stack_id: stack_id.as_ref().map(|word| self.stack(word)),
                double: *double,
            },
            Event::ShockAborted { reason: _ } => Event::ShockAborted { reason: None },
            Event::DrugPrepared { drug: word, dose: amount } => {
                Event::DrugPrepared { drug: drug(word), dose: dose(amount.as_ref()) }
            }
            Event::DrugGiven { drug: word, dose: amount, route, form } => {
                Event::DrugGiven { drug: drug(word), dose: dose(amount.as_ref()), route: *route, form: *form }
            }
            Event::AccessGained { route, site: _ } => Event::AccessGained { route: *route, site: None },
            Event::AccessFailed { route, site: _ } => Event::AccessFailed { route: *route, site: None },
            Event::AccessLost { route, site: _ } => Event::AccessLost { route: *route, site: None },
            Event::CauseConsidered { cause, note: _ } => {
                Event::CauseConsidered { cause: self.cause(cause), note: None }
            }
            Event::CauseTreated { cause, note: _ } => Event::CauseTreated { cause: self.cause(cause), note: None },
            Event::TaskDone { prompt } => Event::TaskDone { prompt: action(prompt) },
            Event::TeamCalled { note: _ } => Event::TeamCalled { note: None },
            Event::TeamArrived { note: _ } => Event::TeamArrived { note: None },
            Event::UltrasoundDone { note: _ } => Event::UltrasoundDone { note: None },
            Event::Delivery { note: _ } => Event::Delivery { note: None },
            Event::EcmoStarted { note: _ } => Event::EcmoStarted { note: None },
            Event::Thoracotomy { note: _ } => Event::Thoracotomy { note: None },
            Event::DeathDeclared { note: _ } => Event::DeathDeclared { note: None },
            Event::Moved { location: _ } => Event::Moved { location: OTHER.to_owned() },
            Event::Note { text: _ } => Event::Note { text: String::new() },
            Event::Amended { target, at_ms, event, reason: _ } => Event::Amended {
                target: self.record(*target),
                at_ms: *at_ms,
                event: event.as_ref().map(|inner| Box::new(self.event(inner))),
                reason: String::new(),
            },
            Event::Voided { target, reason: _ } => {
                Event::Voided { target: self.record(*target), reason: String::new() }
            }
            Event::ClockCorrected { from_ms, to_ms, basis: _ } => {
                Event::ClockCorrected { from_ms: *from_ms, to_ms: *to_ms, basis: String::new() }
            }
            // Left out before; nothing of it could be kept.
            Event::Reviewed { .. } => Event::Note { text: String::new() },
            // Nothing but times, numbers and words of closed lists.
            Event::ClockStarted { .. }
            | Event::DeviceLeft {}
            | Event::PulseDutyGiven { .. }
            | Event::CompressionsStarted { .. }
            | Event::CompressionsStopped { .. }
            | Event::PauseReason { .. }
            | Event::PadsAttached { .. }
            | Event::PadsRemoved {}
            | Event::PulseFingerPlaced { .. }
            | Event::RhythmChecked { .. }
            | Event::ChargingStarted { .. }
            | Event::ChargeReady { .. }
            | Event::ChargeDumped { .. }
            | Event::AllClearCalled {}
            | Event::AirwayPlaced { .. }
            | Event::AirwayAttempted { .. }
            | Event::AirwayRemoved { .. }
            | Event::BreathsGiven { .. }
            | Event::Etco2Read { .. }
            | Event::VitalRead { .. }
            | Event::LabRead { .. }
            | Event::Rosc {}
            | Event::ArrestAgain {}
            | Event::CodeClosed { .. } => event.clone(),
        }
    }
}

/// The hash of a department's own text would name the department.
fn named(protocol: &ProtocolRef) -> ProtocolRef {
    ProtocolRef { id: protocol_name(&protocol.id), version: protocol.version, sha256: None }
}

/// Age in years from two years on, and as one group from 90; weight in whole kilograms, the ends of the scale as one.
fn patient(patient: &Patient) -> Patient {
    let years = |months: u32| if months < 24 { months } else { months.min(OLDEST_MONTHS) / 12 * 12 };
    let whole = |kg: f64| kg.clamp(WEIGHTS_KG.0, WEIGHTS_KG.1).round();
    Patient {
        age_group: patient.age_group,
        weight_kg: patient.weight_kg.map(whole),
        weight_basis: patient.weight_basis,
        age_months: patient.age_months.map(years),
        gestation_weeks: None,
        core_temp_c: patient.core_temp_c,
        sex: patient.sex,
    }
}

/// Only numbers and words of closed lists: named one by one, so that a new field is decided about.
fn care(told: &PriorCare) -> PriorCare {
    let PriorCare { epinephrine_doses, last_epinephrine_at_ms, shocks, amiodarone_mg, lidocaine_mg, airway, access } =
        told;
    PriorCare {
        epinephrine_doses: *epinephrine_doses,
        last_epinephrine_at_ms: *last_epinephrine_at_ms,
        shocks: *shocks,
        amiodarone_mg: *amiodarone_mg,
        lidocaine_mg: *lidocaine_mg,
        airway: *airway,
        access: *access,
    }
}

fn circumstance(name: &Circumstance) -> Circumstance {
    match name {
        Circumstance::Other(_) => Circumstance::Other(OTHER.to_owned()),
        Circumstance::Pregnancy
        | Circumstance::Hypothermia
        | Circumstance::Opioid
        | Circumstance::Hyperkalaemia
        | Circumstance::Drowning
        | Circumstance::Anaphylaxis
        | Circumstance::Trauma
        | Circumstance::PulmonaryEmbolism
        | Circumstance::LocalAnaesthetic
        | Circumstance::TreatmentLimit
        | Circumstance::MonophasicDefibrillator => name.clone(),
    }
}

/// A known drug by the one of its names that was used: the words of a gap have it.
fn drug(word: &str) -> String {
    if DRUGS.contains(&international_name(word)) { word.to_ascii_lowercase() } else { OTHER.to_owned() }
}

/// An amount in a unit that is none is left out.
fn dose(amount: Option<&Dose>) -> Option<Dose> {
    amount.filter(|dose| UNITS.contains(&dose.unit.as_str())).cloned()
}

/// What was done, without the record that it answered.
fn action(prompt: &str) -> String {
    let word = prompt.split('@').next().unwrap_or_default();
    let known = serde_json::from_value::<Action>(word.into());
    known.map_or_else(|_| OTHER.to_owned(), |action| action.as_str().to_owned())
}

//! Codes of terms. Only those of clinical sources, section 8; each with where it was read. What has no code there has its
//! words, and where a program may want to find it again, a code of our own system.

use coxswain_engine::event::{Rhythm, international_name};
use serde_json::{Value, json};

use super::super::deidentify::UNITS;

/// Our own terms: names of figures and kinds of events, as in docs/measures.md and docs/wire.md. A URI made for them.
const OURS: &str = "urn:uuid:6f1d3c1e-7a52-8c0e-9b61-2f0a4f5e8d10";
const SNOMED: &str = "http://snomed.info/sct";
const LOINC: &str = "http://loinc.org";
const RXNORM: &str = "http://www.nlm.nih.gov/research/umls/rxnorm";
const UCUM: &str = "http://unitsofmeasure.org";

fn coding(system: &str, code: &str, display: &str) -> Value {
    json!({"system": system, "code": code, "display": display})
}

fn concept(coding: &Value, text: &str) -> Value {
    json!({"coding": [coding], "text": text})
}

/// A term of our own.
pub(super) fn ours(code: &str, text: &str) -> Value {
    concept(&coding(OURS, code, text), text)
}

/// What every resource of a drill is tagged with.
pub(super) fn training() -> Value {
    coding(OURS, "training", "Training: a drill, no patient")
}

/// Class of a drill's encounter.
pub(super) fn training_class() -> Value {
    training()
}

/// Class of an encounter (E7, from memory).
pub(super) fn emergency_class() -> Value {
    coding("http://terminology.hl7.org/CodeSystem/v3-ActCode", "EMER", "emergency")
}

/// Cardiopulmonary resuscitation (E24, read).
pub(super) fn resuscitation() -> Value {
    concept(&coding(SNOMED, "89666000", "Cardiopulmonary resuscitation"), "Cardiopulmonary resuscitation")
}

/// Defibrillation (E25, from memory; read since in public code lists of emergency services).
pub(super) fn defibrillation() -> Value {
    concept(&coding(SNOMED, "426220008", "External ventricular defibrillation"), "Defibrillation")
}

/// Tracheal intubation (E25, from memory; read since in public code lists).
pub(super) fn intubation() -> Value {
    concept(&coding(SNOMED, "112798008", "Insertion of endotracheal tube"), "Tracheal tube placed")
}

/// Heart rhythm (E18, from memory; read since in a public value set).
pub(super) fn rhythm_question() -> Value {
    concept(&coding(LOINC, "8884-9", "Heart rate rhythm"), "Rhythm")
}

/// A rhythm (E19 to E22, read); the others have words only.
pub(super) fn rhythm(rhythm: Rhythm) -> Value {
    let (code, text) = match rhythm {
        Rhythm::Vf => (Some("71908006"), "Ventricular fibrillation"),
        Rhythm::PulselessVt => (Some("405806007"), "Pulseless ventricular tachycardia"),
        Rhythm::Pea => (Some("426975008"), "Pulseless electrical activity"),
        Rhythm::Asystole => (Some("397829000"), "Asystole"),
        Rhythm::Bradycardia => (None, "Bradycardia"),
        Rhythm::Perfusing => (None, "Perfusing rhythm"),
        Rhythm::Unknown => (None, "Unknown rhythm"),
    };
    code.map_or_else(|| json!({"text": text}), |code| concept(&coding(SNOMED, code, text), text))
}

/// A drug, as it is on the record (E26, E27 read; E28 from memory, read since in public code lists: 704 is another drug).
pub(super) fn drug(drug: &str) -> Value {
    let code = match international_name(drug) {
        "epinephrine" => Some(("3992", "epinephrine")),
        "lidocaine" => Some(("6387", "lidocaine")),
        "amiodarone" => Some(("703", "amiodarone")),
        _ => None,
    };
    code.map_or_else(|| json!({"text": drug}), |(code, display)| concept(&coding(RXNORM, code, display), drug))
}

/// What a reading is of, and its unit.
pub(super) struct Reading {
    /// The question.
    pub(super) code: Value,
    /// UCUM (E31 read, E32 from memory).
    pub(super) unit: &'static str,
}

/// A reading by the name of its field (E12, E14 to E16, read); those without a code in the sources have one of ours.
pub(super) fn reading(field: &str) -> Reading {
    let known = |code, display, unit| Reading { code: concept(&coding(LOINC, code, display), display), unit };
    let own = |text, unit| Reading { code: ours(field, text), unit };
    match field {
        "etco2_mmhg" => {
            known("19889-5", "Carbon dioxide [Partial pressure] in Exhaled gas --at end expiration", "mm[Hg]")
        }
        "spo2_pct" => known("59408-5", "Oxygen saturation in Arterial blood by Pulse oximetry", "%"),
        "systolic_mmhg" => known("8480-6", "Systolic blood pressure", "mm[Hg]"),
        "diastolic_mmhg" => known("8462-4", "Diastolic blood pressure", "mm[Hg]"),
        "temp_c" => known("8310-5", "Body temperature", "Cel"),
        "weight_kg" => known("29463-7", "Body weight", "kg"),
        "glucose_mmol_l" => own("Glucose", "mmol/L"),
        "potassium_mmol_l" => own("Potassium", "mmol/L"),
        "lactate_mmol_l" => own("Lactate", "mmol/L"),
        "ph" => own("pH", "1"),
        "paco2_mmhg" => own("Arterial partial pressure of carbon dioxide", "mm[Hg]"),
        _ => own("Reading", "1"),
    }
}

/// An amount in a UCUM unit.
pub(super) fn quantity(value: &Value, unit: &str) -> Value {
    json!({"value": value, "unit": unit, "system": UCUM, "code": unit})
}

/// A dose: its unit is a word on the record, and has a code only if it is one of UCUM.
pub(super) fn dose(value: f64, unit: &str) -> Value {
    let value = number(value);
    if UNITS.contains(&unit) { quantity(&value, unit) } else { json!({"value": value, "unit": unit}) }
}

/// A number, whole ones without a fraction.
#[expect(clippy::cast_possible_truncation, reason = "whole and small, tested")]
pub(super) fn number(value: f64) -> Value {
    if value.fract() == 0.0 && value.abs() < 1e15 { json!(value as i64) } else { json!(value) }
}

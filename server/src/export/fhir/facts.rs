//! What was done, given and seen, and the figures. A fact that was voided is there as `entered-in-error`, so that whoever took
//! it in before learns of it; what came after the closing, and what only steers the screens, is in the JSON Lines alone.

use std::collections::BTreeMap;

use coxswain_engine::event::{AirwayKind, Dose, DrugForm, Event, Outcome, Patient, Pulse, Route, WeightBasis};
use coxswain_engine::measure::{Figures, ShockFigures};
use coxswain_engine::timeline;
use serde_json::{Value, json};
use uuid::Uuid;

use super::super::code::closing;
use super::super::table::{code_time, word};
use super::frame::Frame;
use super::{Building, terms};

/// References to the resources that a record became, by the record's id.
pub(super) type Made = BTreeMap<Uuid, Vec<Value>>;

/// How a fact stands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Standing {
    AsRecorded,
    Amended,
    Voided,
}

/// A fact, with what a resource of it needs.
struct Told<'a> {
    id: Uuid,
    at_ms: i64,
    event: &'a Event,
    standing: Standing,
    shock: Option<ShockFigures>,
}

/// Adds a resource for each fact that has one, and the figures.
pub(super) fn facts(bundle: &mut Building<'_>, frame: &Frame) -> Made {
    let code = bundle.code;
    let counting = code.facts();
    let figures = code.figures();
    let mut shocks = figures.shocks.iter();
    let mut told: Vec<Told<'_>> = Vec::new();
    for fact in &counting {
        let original = code.records.iter().find(|record| record.id == fact.id);
        let moved = original.is_some_and(|record| record.at_ms != fact.at_ms);
        let standing = if moved || fact.event != fact.recorded { Standing::Amended } else { Standing::AsRecorded };
        let shock = matches!(fact.event, Event::ShockDelivered { .. }).then(|| shocks.next().copied()).flatten();
        told.push(Told { id: fact.id, at_ms: fact.at_ms, event: fact.event, standing, shock });
    }
    let voided = timeline::voided(&code.records);
    for record in code.records.iter().filter(|record| voided.contains(&record.id) && !record.event.is_correction()) {
        let (at_ms, event) = (record.at_ms, &record.event);
        told.push(Told { id: record.id, at_ms, event, standing: Standing::Voided, shock: None });
    }
    let mut made = Made::new();
    for fact in &told {
        let references = one(bundle, frame, fact);
        if !references.is_empty() {
            made.entry(fact.id).or_default().extend(references);
        }
    }
    if frame.closed || counting.iter().any(|fact| matches!(fact.event, Event::ClockStarted { .. })) {
        add_figures(bundle, frame, &figures, closing(&counting).or(counting.last()).map_or(0, |fact| fact.at_ms));
    }
    made
}

impl Told<'_> {
    /// Status of something done or given.
    const fn deed(&self) -> &'static str {
        match self.standing {
            Standing::AsRecorded | Standing::Amended => "completed",
            Standing::Voided => "entered-in-error",
        }
    }

    /// Status of something seen.
    const fn seen(&self) -> &'static str {
        match self.standing {
            Standing::AsRecorded => "final",
            Standing::Amended => "corrected",
            Standing::Voided => "entered-in-error",
        }
    }
}

fn one(bundle: &mut Building<'_>, frame: &Frame, fact: &Told<'_>) -> Vec<Value> {
    let procedure = |code: Value| deed(bundle, frame, fact, &code);
    let resource = match fact.event {
        Event::ShockDelivered { energy_j, .. } => return shock(bundle, frame, fact, *energy_j),
        Event::DrugGiven { drug, dose, route, form } => given(bundle, frame, fact, drug, dose.as_ref(), *route, *form),
        Event::RhythmChecked { rhythm, pulse } => {
            let mut resource = seen(bundle, frame, fact, &terms::rhythm_question());
            resource["valueCodeableConcept"] = terms::rhythm(*rhythm);
            let felt = match pulse {
                Pulse::Present => Some("Pulse felt"),
                Pulse::Absent => Some("No pulse felt"),
                Pulse::NotChecked => None,
            };
            if let Some(text) = felt {
                resource["component"] =
                    json!([{"code": terms::ours("pulse", "Pulse"), "valueCodeableConcept": {"text": text}}]);
            }
            resource
        }
        Event::AirwayPlaced { airway, .. } => procedure(match airway {
            AirwayKind::Tracheal => terms::intubation(),
            AirwayKind::BagMask => terms::ours("airway_placed", "Bag and mask"),
            AirwayKind::Supraglottic => terms::ours("airway_placed", "Supraglottic airway placed"),
            AirwayKind::FrontOfNeck => terms::ours("airway_placed", "Front-of-neck airway placed"),
        }),
        Event::AccessGained { route, .. } => {
            procedure(terms::ours("access_gained", &format!("Access gained, {}", word(*route))))
        }
        Event::EcmoStarted { .. } => procedure(terms::ours("ecmo_started", "Extracorporeal circulation started")),
        Event::Thoracotomy { .. } => procedure(terms::ours("thoracotomy", "Thoracotomy")),
        Event::Delivery { .. } => procedure(terms::ours("delivery", "Delivery")),
        Event::UltrasoundDone { .. } => procedure(terms::ours("ultrasound_done", "Ultrasound")),
        Event::Rosc {} => happened(bundle, frame, fact, "rosc", "Return of spontaneous circulation"),
        Event::ArrestAgain {} => happened(bundle, frame, fact, "arrest_again", "Arrest again"),
        Event::DeathDeclared { .. } => happened(bundle, frame, fact, "death_declared", "Death declared"),
        Event::CodeClosed { outcome, .. } => {
            let mut resource = seen(bundle, frame, fact, &terms::ours("outcome", "How the code ended"));
            let text = match outcome {
                Outcome::SurvivedEvent => "Survived the event",
                Outcome::Died => "Died",
                Outcome::Transferred => "Transferred",
                Outcome::NotAnArrest => "Was not an arrest",
                Outcome::TreatmentLimit => "Treatment limit",
                Outcome::Ecmo => "Extracorporeal circulation",
            };
            resource["valueCodeableConcept"] = json!({"text": text});
            resource
        }
        Event::Etco2Read { mmhg } => return readings(bundle, frame, fact, &[("etco2_mmhg", Some(*mmhg))]),
        Event::VitalRead { spo2_pct, systolic_mmhg, diastolic_mmhg, temp_c, glucose_mmol_l, .. } => {
            let all = [
                ("spo2_pct", *spo2_pct),
                ("systolic_mmhg", *systolic_mmhg),
                ("diastolic_mmhg", *diastolic_mmhg),
                ("temp_c", *temp_c),
                ("glucose_mmol_l", *glucose_mmol_l),
            ];
            return readings(bundle, frame, fact, &all);
        }
        Event::LabRead { potassium_mmol_l, lactate_mmol_l, ph, paco2_mmhg } => {
            let all = [
                ("potassium_mmol_l", *potassium_mmol_l),
                ("lactate_mmol_l", *lactate_mmol_l),
                ("ph", *ph),
                ("paco2_mmhg", *paco2_mmhg),
            ];
            return readings(bundle, frame, fact, &all);
        }
        Event::CodeOpened { patient, .. } | Event::PatientUpdated { patient } => {
            return weight(bundle, frame, fact, patient);
        }
        _ => return Vec::new(),
    };
    vec![bundle.add(resource_id(bundle, fact.id), resource)]
}

/// The code itself is the encounter: a record never has its id, but nothing forbids it in a file.
fn resource_id(bundle: &Building<'_>, record: Uuid) -> Uuid {
    bundle.named(&format!("record {record}"))
}

fn deed(bundle: &Building<'_>, frame: &Frame, fact: &Told<'_>, code: &Value) -> Value {
    let mut resource = json!({
        "resourceType": "Procedure", "status": fact.deed(), "code": code, "subject": frame.subject,
        "encounter": frame.encounter, "performedDateTime": bundle.time(fact.at_ms),
    });
    if let Some(resuscitation) = &frame.resuscitation {
        resource["partOf"] = json!([resuscitation]);
    }
    resource
}

fn seen(bundle: &Building<'_>, frame: &Frame, fact: &Told<'_>, code: &Value) -> Value {
    json!({
        "resourceType": "Observation", "status": fact.seen(), "code": code, "subject": frame.subject,
        "encounter": frame.encounter, "effectiveDateTime": bundle.time(fact.at_ms),
    })
}

fn happened(bundle: &Building<'_>, frame: &Frame, fact: &Told<'_>, code: &str, text: &str) -> Value {
    let mut resource = seen(bundle, frame, fact, &terms::ours(code, text));
    resource["valueBoolean"] = true.into();
    resource
}

/// The shock as a procedure, and beside it its energy and the pauses around it.
fn shock(bundle: &mut Building<'_>, frame: &Frame, fact: &Told<'_>, energy_j: f64) -> Vec<Value> {
    let mut procedure = deed(bundle, frame, fact, &terms::defibrillation());
    if let Some(defibrillator) = &frame.defibrillator {
        procedure["usedReference"] = json!([defibrillator]);
    }
    let procedure = bundle.add(resource_id(bundle, fact.id), procedure);
    let mut parts = vec![json!({
        "code": terms::ours("energy_j", "Energy"), "valueQuantity": terms::quantity(&terms::number(energy_j), "J"),
    })];
    if let Some(figures) = fact.shock {
        let pauses = [
            ("pre_shock_ms", "Pre-shock pause", figures.pre_shock_ms),
            ("post_shock_ms", "Post-shock pause", figures.post_shock_ms),
            ("peri_shock_ms", "Peri-shock pause", figures.peri_shock_ms),
        ];
        for (code, text, ms) in pauses {
            if let Some(ms) = ms {
                parts
                    .push(json!({"code": terms::ours(code, text), "valueQuantity": terms::quantity(&ms.into(), "ms")}));
            }
        }
    }
    let mut about = seen(bundle, frame, fact, &terms::ours("shock_delivered", "Shock: energy and pauses"));
    about["partOf"] = json!([procedure]);
    about["component"] = parts.into();
    if let Some(defibrillator) = &frame.defibrillator {
        about["device"] = defibrillator.clone();
    }
    let about = bundle.add(bundle.named(&format!("record {} parts", fact.id)), about);
    vec![procedure, about]
}

fn given(
    bundle: &Building<'_>,
    frame: &Frame,
    fact: &Told<'_>,
    drug: &str,
    dose: Option<&Dose>,
    route: Route,
    form: DrugForm,
) -> Value {
    let route = match route {
        Route::Iv => "Intravenous",
        Route::Io => "Intraosseous",
        Route::Im => "Intramuscular",
        Route::Tracheal => "Tracheal",
        Route::Intranasal => "Intranasal",
        Route::Other => "Other route",
    };
    let form = match form {
        DrugForm::Bolus => "bolus",
        DrugForm::Infusion => "infusion started",
    };
    let mut resource = json!({
        "resourceType": "MedicationAdministration", "status": fact.deed(), "medicationCodeableConcept": terms::drug(drug),
        "subject": frame.subject, "context": frame.encounter, "effectiveDateTime": bundle.time(fact.at_ms),
    });
    if let Some(resuscitation) = &frame.resuscitation {
        resource["partOf"] = json!([resuscitation]);
    }
    // R4 takes a dosage only with a dose (invariant mad-1): without one the route stands in a note.
    match dose {
        Some(dose) => {
            resource["dosage"] =
                json!({"text": form, "route": {"text": route}, "dose": terms::dose(dose.value, &dose.unit)});
        }
        None => resource["note"] = json!([{"text": format!("{route}, {form}; nobody recorded the dose.")}]),
    }
    resource
}

fn readings(bundle: &mut Building<'_>, frame: &Frame, fact: &Told<'_>, all: &[(&str, Option<f64>)]) -> Vec<Value> {
    let mut references = Vec::new();
    for (field, value) in all {
        let Some(value) = value else { continue };
        let reading = terms::reading(field);
        let mut resource = seen(bundle, frame, fact, &reading.code);
        resource["valueQuantity"] = terms::quantity(&terms::number(*value), reading.unit);
        references.push(bundle.add(bundle.named(&format!("record {} {field}", fact.id)), resource));
    }
    references
}

/// A weight that was told. One that was worked out from the age says so.
fn weight(bundle: &mut Building<'_>, frame: &Frame, fact: &Told<'_>, patient: &Patient) -> Vec<Value> {
    let Some(weight_kg) = patient.weight_kg else { return Vec::new() };
    let reading = terms::reading("weight_kg");
    let mut resource = seen(bundle, frame, fact, &reading.code);
    resource["valueQuantity"] = terms::quantity(&terms::number(weight_kg), reading.unit);
    let method = patient.weight_basis.map(|basis| match basis {
        WeightBasis::Measured => "Measured",
        WeightBasis::Length => "Estimated from length",
        WeightBasis::Age => "Estimated from age",
        WeightBasis::Told => "Told",
    });
    if let Some(method) = method {
        resource["method"] = json!({"text": method});
    }
    vec![bundle.add(resource_id(bundle, fact.id), resource)]
}

/// Figures that are one number each; those of shocks stand beside the shocks, and all of them in the CSV.
fn add_figures(bundle: &mut Building<'_>, frame: &Frame, figures: &Figures, end_ms: i64) {
    let count = |count: usize| Some(json!(count));
    let fraction = |value: Option<f64>| value.map(|value| json!(value));
    let ms = |value: Option<i64>| value.map(|value| json!(value));
    let all = [
        ("arrest_ms", "Length of the arrests", "ms", ms(Some(figures.arrest_ms))),
        ("compression_fraction", "Compression fraction, from recognition", "1", fraction(figures.compression_fraction)),
        (
            "compression_fraction_from_first",
            "Compression fraction, from the first compression",
            "1",
            fraction(figures.compression_fraction_from_first),
        ),
        ("no_flow_ms", "No-flow time", "ms", ms(Some(figures.no_flow_ms))),
        ("low_flow_ms", "Low-flow time", "ms", ms(Some(figures.low_flow_ms))),
        ("pauses_over_10_s", "Pauses over 10 s", "1", count(figures.pauses_over_10_s)),
        ("longest_pause_ms", "Longest pause", "ms", ms(figures.longest_pause_ms)),
        (
            "charging_compression_fraction",
            "Compressions while charging",
            "1",
            fraction(figures.charging_compression_fraction),
        ),
        ("first_compression_ms", "First compression", "ms", ms(figures.first_compression_ms)),
        ("first_shock_ms", "First shock", "ms", ms(figures.first_shock_ms)),
        ("first_epinephrine_ms", "First epinephrine", "ms", ms(figures.first_epinephrine_ms)),
        ("first_access_ms", "First access", "ms", ms(figures.first_access_ms)),
        ("first_advanced_airway_ms", "First advanced airway", "ms", ms(figures.first_advanced_airway_ms)),
        ("finger_ready_fraction", "Finger ready before a check", "1", fraction(figures.finger_ready_fraction)),
        ("rosc_ms", "Return of circulation", "ms", ms(figures.rosc_ms)),
        ("rosc_count", "How often circulation returned", "1", count(figures.rosc_count)),
    ];
    for (name, text, unit, value) in all {
        let Some(value) = value else { continue };
        let resource = json!({
            "resourceType": "Observation", "status": if frame.closed { "final" } else { "preliminary" },
            "code": terms::ours(name, text), "subject": frame.subject, "encounter": frame.encounter,
            "effectiveDateTime": bundle.time(end_ms), "valueQuantity": terms::quantity(&value, unit),
            "device": frame.program,
            "method": {"text": format!("By the definitions of docs/measures.md, at the end, {} of code time", code_time(end_ms))},
        });
        bundle.add_named(&format!("figure {name}"), resource);
    }
}

//! Form of events: what can be refused at the door because no patient, drug or device could produce it.
//!
//! Ranges here are of possibility, far wider than of sense: whether a dose is wise is the team's to say, and what a
//! team did is recorded even if it was wrong. This module must not look at the state of a code.

use crate::event::{Dose, Event, FieldError, Patient, PriorCare, ProtocolRef, ReviewDeed};

/// Longest free text on the record, in characters.
pub const MAX_TEXT_CHARS: usize = 2_000;
/// Longest name, word or reason code on the record, in characters.
pub const MAX_NAME_CHARS: usize = 200;

/// Farthest code time from the arrest, in milliseconds: a leap year. Sums and differences of such times cannot overflow.
pub const FARTHEST_MS: i64 = 366 * 86_400_000;

type Checked = Result<(), FieldError>;

fn within(field: &str, value: Option<f64>, low: f64, high: f64, unit: &str) -> Checked {
    match value {
        Some(value) if !(low..=high).contains(&value) => Err(FieldError::new(
            format!("event.{field}"),
            format!("must be between {low} and {high} {unit}, not {value}"),
        )),
        Some(_) | None => Ok(()),
    }
}

/// Checks that a code time is one: no code lasts longer than a year, and no prior care was earlier.
///
/// # Errors
/// Names the field.
pub fn time(field: &str, at_ms: i64) -> Checked {
    if (-FARTHEST_MS..=FARTHEST_MS).contains(&at_ms) {
        return Ok(());
    }
    Err(FieldError::new(
        field,
        format!("must be within a year of the arrest, in milliseconds of code time, not {at_ms}"),
    ))
}

fn text(field: &str, value: &str, max: usize) -> Checked {
    let length = value.chars().count();
    if length > max {
        return Err(FieldError::new(
            format!("event.{field}"),
            format!("must have at most {max} characters, not {length}"),
        ));
    }
    Ok(())
}

fn name(field: &str, value: &str) -> Checked {
    if value.trim().is_empty() {
        return Err(FieldError::new(format!("event.{field}"), "must not be empty"));
    }
    text(field, value, MAX_NAME_CHARS)
}

fn note(field: &str, value: Option<&String>) -> Checked {
    value.map_or(Ok(()), |value| text(field, value, MAX_TEXT_CHARS))
}

fn dose(value: Option<&Dose>) -> Checked {
    let Some(dose) = value else { return Ok(()) };
    within("dose.value", Some(dose.value), 0.0, 1_000_000.0, &dose.unit)?;
    name("dose.unit", &dose.unit)
}

fn patient(patient: &Patient) -> Checked {
    within("patient.weight_kg", patient.weight_kg, 0.2, 650.0, "kg")?;
    within("patient.age_months", patient.age_months.map(f64::from), 0.0, 1_560.0, "months")?;
    within("patient.gestation_weeks", patient.gestation_weeks, 1.0, 45.0, "weeks")?;
    within("patient.core_temp_c", patient.core_temp_c, 5.0, 47.0, "degrees Celsius")
}

fn protocol(protocol: &ProtocolRef) -> Checked {
    name("protocol.id", &protocol.id)?;
    let hex = |text: &String| text.len() == 64 && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'));
    if protocol.sha256.as_ref().is_none_or(hex) {
        return Ok(());
    }
    Err(FieldError::new("event.protocol.sha256", "must be 64 hexadecimal digits in small letters"))
}

fn prior_care(care: &PriorCare) -> Checked {
    care.last_epinephrine_at_ms.map_or(Ok(()), |at_ms| time("event.prior_care.last_epinephrine_at_ms", at_ms))?;
    within("prior_care.epinephrine_doses", care.epinephrine_doses.map(f64::from), 0.0, 100.0, "doses")?;
    within("prior_care.shocks", care.shocks.map(f64::from), 0.0, 100.0, "shocks")?;
    within("prior_care.amiodarone_mg", care.amiodarone_mg, 0.0, 5_000.0, "mg")?;
    within("prior_care.lidocaine_mg", care.lidocaine_mg, 0.0, 5_000.0, "mg")
}

/// Most entries in a list within one record.
pub const MAX_ENTRIES: usize = 2_000;

fn entries(field: &str, count: usize, max: usize) -> Checked {
    if count > max {
        return Err(FieldError::new(
            format!("event.deed.{field}"),
            format!("must have at most {max} entries, not {count}"),
        ));
    }
    Ok(())
}

fn reviewed(deed: &ReviewDeed) -> Checked {
    match deed {
        ReviewDeed::Debriefed { went_well, to_change, follow_ups } => {
            text("deed.went_well", went_well, MAX_TEXT_CHARS)?;
            text("deed.to_change", to_change, MAX_TEXT_CHARS)?;
            entries("follow_ups", follow_ups.len(), 20)?;
            follow_ups.iter().enumerate().try_for_each(|(place, follow_up)| {
                name(&format!("deed.follow_ups[{place}].who"), &follow_up.who)?;
                name(&format!("deed.follow_ups[{place}].what"), &follow_up.what)?;
                follow_up
                    .by_when
                    .as_deref()
                    .map_or(Ok(()), |day| date(&format!("deed.follow_ups[{place}].by_when"), day))
            })
        }
        ReviewDeed::Signed { head, .. } => text("deed.head", head, 64),
        ReviewDeed::VersionOpened { reason, .. } | ReviewDeed::Added { reason, .. } => {
            text("deed.reason", reason, MAX_TEXT_CHARS)
        }
        ReviewDeed::SourceChosen { from_ms, to_ms, reason, records, .. } => {
            time("event.deed.from_ms", *from_ms)?;
            time("event.deed.to_ms", *to_ms)?;
            text("deed.reason", reason, MAX_TEXT_CHARS)?;
            entries("records", records.len(), 4 * MAX_ENTRIES)
        }
        ReviewDeed::MonitorImported { name: called, offset_ms, reason, stretches } => {
            name("deed.name", called)?;
            text("deed.reason", reason, MAX_TEXT_CHARS)?;
            time("event.deed.offset_ms", *offset_ms)?;
            entries("stretches", stretches.len(), MAX_ENTRIES)?;
            stretches.iter().enumerate().try_for_each(|(place, stretch)| {
                time(&format!("event.deed.stretches[{place}].start_ms"), stretch.start_ms)?;
                time(&format!("event.deed.stretches[{place}].stop_ms"), stretch.stop_ms)
            })
        }
    }
}

/// A day as `2026-12-01`. Only the form: whether the month has that day is seen to where a reviewer's debrief is taken.
fn date(field: &str, day: &str) -> Checked {
    let parts: Vec<&str> = day.split('-').collect();
    let number = |place: usize, digits: usize, low: u32, high: u32| {
        let part = parts.get(place).copied().unwrap_or_default();
        part.len() == digits && part.parse().is_ok_and(|value: u32| (low..=high).contains(&value))
    };
    if parts.len() == 3 && number(0, 4, 1_900, 9_999) && number(1, 2, 1, 12) && number(2, 2, 1, 31) {
        return Ok(());
    }
    Err(FieldError::new(format!("event.{field}"), "must be a day, written as 2026-12-01"))
}

/// Checks the form of an event.
///
/// # Errors
/// Names the field and the range or length that it breaks.
pub fn event(event: &Event) -> Checked {
    match event {
        Event::CodeOpened { protocol: of_code, patient: of_patient, location, prior_care: care, .. } => {
            protocol(of_code)?;
            patient(of_patient)?;
            note("location", location.as_ref())?;
            care.as_ref().map_or(Ok(()), prior_care)
        }
        Event::PatientUpdated { patient: of_patient } => patient(of_patient),
        Event::PriorCareReported { prior_care: care } => prior_care(care),
        Event::ProtocolChanged { protocol: to, reason } => {
            protocol(to)?;
            text("reason", reason, MAX_TEXT_CHARS)
        }
        Event::CircumstanceSet { name: crate::event::Circumstance::Other(word), .. } => name("name", word),
        Event::ClockStarted { recognised_ago_ms: Some(ago_ms) } => {
            if (0..=86_400_000).contains(ago_ms) {
                Ok(())
            } else {
                Err(FieldError::new(
                    "event.recognised_ago_ms",
                    format!("must be between 0 and 86400000 ms, not {ago_ms}"),
                ))
            }
        }
        Event::RoleAssigned { person, .. } | Event::CompressorChanged { person } => note("person", person.as_ref()),
        Event::ChargingStarted { energy_j } | Event::ChargeReady { energy_j } | Event::ChargeDumped { energy_j } => {
            within("energy_j", *energy_j, 1.0, 1_000.0, "J")
        }
        Event::ShockDelivered { energy_j, stack_id, .. } => {
            within("energy_j", Some(*energy_j), 1.0, 1_000.0, "J")?;
            note("stack_id", stack_id.as_ref())
        }
        Event::ShockAborted { reason } => note("reason", reason.as_ref()),
        Event::DrugPrepared { drug, dose: amount } | Event::DrugGiven { drug, dose: amount, .. } => {
            name("drug", drug)?;
            dose(amount.as_ref())
        }
        Event::AccessGained { site, .. } | Event::AccessFailed { site, .. } | Event::AccessLost { site, .. } => {
            note("site", site.as_ref())
        }
        Event::BreathsGiven { count } => within("count", Some(f64::from(*count)), 1.0, 100.0, "breaths"),
        Event::Etco2Read { mmhg } => within("mmhg", Some(*mmhg), 0.0, 300.0, "mmHg"),
        Event::VitalRead { spo2_pct, systolic_mmhg, diastolic_mmhg, temp_c, glucose_mmol_l, .. } => {
            within("spo2_pct", *spo2_pct, 0.0, 100.0, "%")?;
            within("systolic_mmhg", *systolic_mmhg, 0.0, 400.0, "mmHg")?;
            within("diastolic_mmhg", *diastolic_mmhg, 0.0, 400.0, "mmHg")?;
            within("temp_c", *temp_c, 5.0, 47.0, "degrees Celsius")?;
            within("glucose_mmol_l", *glucose_mmol_l, 0.0, 200.0, "mmol/L")
        }
        Event::LabRead { potassium_mmol_l, lactate_mmol_l, ph, paco2_mmhg } => {
            within("potassium_mmol_l", *potassium_mmol_l, 0.0, 30.0, "mmol/L")?;
            within("lactate_mmol_l", *lactate_mmol_l, 0.0, 60.0, "mmol/L")?;
            within("ph", *ph, 6.0, 8.5, "")?;
            within("paco2_mmhg", *paco2_mmhg, 0.0, 300.0, "mmHg")
        }
        Event::CauseConsidered { cause, note: words } | Event::CauseTreated { cause, note: words } => {
            name("cause", cause)?;
            note("note", words.as_ref())
        }
        Event::TaskDone { prompt } => name("prompt", prompt),
        Event::TeamCalled { note: words }
        | Event::TeamArrived { note: words }
        | Event::UltrasoundDone { note: words }
        | Event::Delivery { note: words }
        | Event::EcmoStarted { note: words }
        | Event::Thoracotomy { note: words }
        | Event::DeathDeclared { note: words } => note("note", words.as_ref()),
        Event::Moved { location } => name("location", location),
        Event::Note { text: words } => text("text", words, MAX_TEXT_CHARS),
        Event::Amended { at_ms, event: replacement, reason, .. } => {
            text("reason", reason, MAX_TEXT_CHARS)?;
            at_ms.map_or(Ok(()), |at_ms| time("event.at_ms", at_ms))?;
            match replacement.as_deref() {
                None if at_ms.is_none() => {
                    Err(FieldError::new("event", "an amendment names a new `at_ms`, a new `event`, or both"))
                }
                None => Ok(()),
                Some(inner) if inner.is_correction() || matches!(inner, Event::Reviewed { .. }) => {
                    Err(FieldError::new(
                        "event.event",
                        "an amendment puts a fact in place of a fact, not another correction",
                    ))
                }
                Some(inner) => self::event(inner),
            }
        }
        Event::Voided { reason, .. } => text("reason", reason, MAX_TEXT_CHARS),
        Event::ClockCorrected { from_ms, to_ms, basis } => {
            time("event.from_ms", *from_ms)?;
            time("event.to_ms", *to_ms)?;
            text("basis", basis, MAX_TEXT_CHARS)
        }
        Event::Reviewed { deed } => reviewed(deed),
        Event::CircumstanceSet { .. }
        | Event::ClockStarted { recognised_ago_ms: None }
        | Event::RoleReleased { .. }
        | Event::DeviceLeft {}
        | Event::PulseDutyGiven { .. }
        | Event::CompressionsStarted { .. }
        | Event::CompressionsStopped { .. }
        | Event::PauseReason { .. }
        | Event::PadsAttached { .. }
        | Event::PadsRemoved {}
        | Event::PulseFingerPlaced { .. }
        | Event::RhythmChecked { .. }
        | Event::AllClearCalled {}
        | Event::AirwayPlaced { .. }
        | Event::AirwayAttempted { .. }
        | Event::AirwayRemoved { .. }
        | Event::Rosc {}
        | Event::ArrestAgain {}
        | Event::CodeClosed { .. } => Ok(()),
    }
}

//! What the other resources hang on: the patient or the drill's manikin, the encounter, the resuscitation, the devices.

use std::collections::BTreeMap;

use coxswain_engine::event::{Event, Sex};
use coxswain_engine::record::Source;
use serde_json::{Value, json};
use uuid::Uuid;

use super::super::code::{Zero, closing, patient};
use super::{Building, terms};

/// References to what stands around the facts.
pub(super) struct Frame {
    /// Whom it was done to.
    pub(super) subject: Value,
    /// The encounter.
    pub(super) encounter: Value,
    /// The resuscitation; absent if nobody compressed.
    pub(super) resuscitation: Option<Value>,
    /// The defibrillator; absent if nothing was charged or given.
    pub(super) defibrillator: Option<Value>,
    /// This program.
    pub(super) program: Value,
    /// Who recorded, by the ids on the record: devices, and people who reviewed.
    pub(super) authors: BTreeMap<Uuid, Value>,
    /// Whether the code is over.
    pub(super) closed: bool,
}

/// Adds them.
pub(super) fn frame(bundle: &mut Building<'_>) -> Frame {
    let code = bundle.code;
    let facts = code.facts();
    let closed = closing(&facts).is_some();
    let end_ms = facts.last().map_or(0, |fact| fact.at_ms);
    let subject = subject(bundle, patient(&facts).sex);

    let start_ms =
        facts.iter().find(|fact| matches!(fact.event, Event::ClockStarted { .. })).map_or(0, |fact| fact.at_ms);
    let mut period = json!({"start": bundle.time(start_ms.min(end_ms))});
    if closed {
        period["end"] = bundle.time(end_ms).into();
    }
    let mut encounter = json!({
        "resourceType": "Encounter",
        "status": if closed { "finished" } else { "in-progress" },
        "class": if bundle.training { terms::training_class() } else { terms::emergency_class() },
        "subject": subject,
        "period": period,
    });
    if code.zero != Zero::Hidden {
        encounter["identifier"] = json!([{"system": "urn:ietf:rfc:3986", "value": format!("urn:uuid:{}", code.id)}]);
    }
    if let Some(location) = code.opening().location.filter(|name| !name.trim().is_empty()) {
        encounter["location"] = json!([{"location": {"display": location}}]);
    }
    let encounter = bundle.add(code.id, encounter);

    let compressed = facts.iter().find(|fact| matches!(fact.event, Event::CompressionsStarted { .. }));
    let resuscitation = compressed.map(|first| {
        let mut period = json!({"start": bundle.time(first.at_ms)});
        if closed {
            period["end"] = bundle.time(end_ms).into();
        }
        let resource = json!({
            "resourceType": "Procedure", "status": if closed { "completed" } else { "in-progress" },
            "code": terms::resuscitation(), "subject": subject, "encounter": encounter, "performedPeriod": period,
        });
        bundle.add_named("resuscitation", resource)
    });
    let shocked = code.records.iter().any(|record| {
        matches!(record.event, Event::ShockDelivered { .. } | Event::ChargingStarted { .. } | Event::ChargeReady { .. })
    });
    let defibrillator = shocked.then(|| {
        bundle.add_named("defibrillator", json!({"resourceType": "Device", "type": {"text": "Defibrillator"}}))
    });
    let program = json!({
        "resourceType": "Device",
        "deviceName": [{"name": "Coxswain", "type": "user-friendly-name"}],
        "type": {"text": "Software that recorded the code and worked out its figures"},
        "version": [{"value": env!("CARGO_PKG_VERSION")}],
    });
    let program = bundle.add_named("program", program);
    let authors = authors(bundle);
    Frame { subject, encounter, resuscitation, defibrillator, program, authors, closed }
}

/// A patient, of whom the record knows no name and no number; for a drill a thing and no person.
fn subject(bundle: &mut Building<'_>, sex: Option<Sex>) -> Value {
    if bundle.training {
        let manikin = json!({
            "resourceType": "Group", "type": "device", "actual": true, "quantity": 1,
            "name": "TRAINING: a drill with a simulated patient, no person",
        });
        return bundle.add_named("subject", manikin);
    }
    let mut patient = json!({"resourceType": "Patient", "active": true});
    if let Some(sex) = sex {
        patient["gender"] = match sex {
            Sex::Female => "female",
            Sex::Male => "male",
            Sex::Unknown => "unknown",
        }
        .into();
    }
    bundle.add_named("subject", patient)
}

/// Whoever made a record: a tablet by the name it had, or a person who reviewed.
fn authors(bundle: &mut Building<'_>) -> BTreeMap<Uuid, Value> {
    let mut found: BTreeMap<Uuid, Value> = BTreeMap::new();
    for record in &bundle.code.records {
        let author = &record.by;
        if found.contains_key(&author.device) {
            continue;
        }
        let reviewer = record.source == Source::Review;
        let mut resource = if reviewer {
            json!({"resourceType": "Practitioner"})
        } else {
            json!({"resourceType": "Device", "type": {"text": "Tablet or program at which people recorded"}})
        };
        if !author.name.is_empty() {
            if reviewer {
                resource["name"] = json!([{"text": author.name}]);
            } else {
                resource["deviceName"] = json!([{"name": author.name, "type": "user-friendly-name"}]);
            }
        } else if reviewer {
            resource["active"] = true.into();
        }
        let reference = bundle.add_named(&format!("author {}", author.device), resource);
        found.insert(author.device, reference);
    }
    found
}

//! Who recorded what, and who corrected it and why.

use std::collections::BTreeMap;

use coxswain_engine::event::{Event, ReviewDeed};
use coxswain_engine::record::{Record, Source};
use coxswain_engine::timeline;
use serde_json::{Value, json};
use uuid::Uuid;

use super::super::code::Code;
use super::super::table::code_time;
use super::Building;
use super::facts::Made;
use super::frame::Frame;

/// Adds one for each author and way of recording, one for each correction that stands, and one for each signature.
pub(super) fn provenance(bundle: &mut Building<'_>, frame: &Frame, made: &Made) {
    let code = bundle.code;
    let mut recorded: BTreeMap<(Source, Uuid), (Vec<Value>, &Record)> = BTreeMap::new();
    for record in &code.records {
        let Some(references) = made.get(&record.id) else { continue };
        let entry = recorded.entry((record.source, record.by.device)).or_insert((Vec::new(), record));
        entry.0.extend(references.iter().cloned());
        entry.1 = record;
    }
    for ((source, author), (targets, last)) in recorded {
        let activity = match source {
            Source::Live => "Recorded as it happened",
            Source::Late => "Recorded afterwards, with an earlier time",
            Source::Review => "Added by a reviewer",
        };
        let name = format!("provenance {activity} {author}");
        add(bundle, frame, &name, &targets, last, About { activity, ..About::default() });
    }
    let voided = timeline::voided(&code.records);
    for record in code.records.iter().filter(|record| !voided.contains(&record.id)) {
        let (target, activity, reason) = match &record.event {
            Event::Amended { target, reason, .. } => (Some(*target), "Amended", reason.as_str()),
            Event::Voided { target, reason } => (Some(*target), "Voided", reason.as_str()),
            Event::Reviewed { deed: ReviewDeed::Added { target, reason } } => {
                (Some(*target), "Reason for an addition", reason.as_str())
            }
            Event::Reviewed { deed: ReviewDeed::SourceChosen { import, reason, renews, .. } } => {
                let activity = match (import, renews) {
                    (None, _) => "Chose the team's taps of compressions in a stretch",
                    (Some(_), None) => "Chose a monitor's compressions in a stretch",
                    // Nobody chose again: something was corrected beneath or beside.
                    (Some(_), Some(_)) => "Made a choice of a monitor's compressions anew",
                };
                (None, activity, reason.as_str())
            }
            Event::ClockCorrected { basis, .. } if record.source == Source::Review => {
                (None, "Moved every wall-clock time of the record", basis.as_str())
            }
            Event::Reviewed { deed: ReviewDeed::Signed { .. } } => (None, "Signed", ""),
            Event::Reviewed { deed: ReviewDeed::VersionOpened { reason, .. } } => {
                (None, "Opened again for a new version", reason.as_str())
            }
            _ => continue,
        };
        let of_code = || vec![frame.encounter.clone()];
        let targets = target.map_or_else(of_code, |id| made.get(&id).cloned().unwrap_or_else(of_code));
        let first = target
            .filter(|_| record.event.is_correction())
            .and_then(|id| code.records.iter().find(|other| other.id == id));
        let first = first.map(|first| {
            format!("As it was recorded: {} at {} of code time", first.event.kind(), code_time(first.at_ms))
        });
        let about = About { activity, reason, first, for_whom: renewed(code, record) };
        add(bundle, frame, &format!("provenance {}", record.id), &targets, record, about);
    }
}

/// Who made the choice that a record makes anew.
fn renewed(code: &Code, record: &Record) -> Option<Uuid> {
    let Event::Reviewed { deed: ReviewDeed::SourceChosen { renews: Some(first), .. } } = &record.event else {
        return None;
    };
    code.records.iter().find(|other| other.id == *first).map(|other| other.by.device)
}

/// What a resource says beside what it is about.
#[derive(Default)]
struct About<'a> {
    activity: &'a str,
    reason: &'a str,
    /// As it was before.
    first: Option<String>,
    /// Whose deed it carries on.
    for_whom: Option<Uuid>,
}

fn add(bundle: &mut Building<'_>, frame: &Frame, name: &str, targets: &[Value], record: &Record, about: About<'_>) {
    let author = |device: &Uuid| frame.authors.get(device);
    let mut agent = json!({"who": author(&record.by.device).unwrap_or(&frame.program)});
    if let Some(other) = about.for_whom.as_ref().and_then(author) {
        agent["onBehalfOf"] = other.clone();
    }
    let mut resource = json!({
        "resourceType": "Provenance", "target": targets, "recorded": recorded(bundle, record),
        "activity": {"text": about.activity}, "agent": [agent],
    });
    if !about.reason.trim().is_empty() {
        resource["reason"] = json!([{"text": about.reason}]);
    }
    if let Some(first) = about.first {
        resource["entity"] = json!([{"role": "revision", "what": {"display": first}}]);
    }
    bundle.add_named(name, resource);
}

/// When a record was made: by code time, which an alignment of the wall clock moves; what a reviewer did, by its own.
fn recorded(bundle: &Building<'_>, record: &Record) -> String {
    let own: Option<jiff::Timestamp> =
        (record.source == Source::Review).then(|| record.recorded_at.parse().ok()).flatten();
    own.map_or_else(|| bundle.time(record.known_ms()), |at| format!("{at:.3}"))
}

//! A record: an event with its place in the code, who made it and when. One record is one line of the interchange
//! format and one row of the ledger.

use serde::{Deserialize, Serialize};
use serde_json::Value;
use uuid::Uuid;

use crate::check;
use crate::event::{Event, FieldError, Role};

/// How a record came to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub enum Source {
    /// Tapped as it happened.
    Live,
    /// Entered or delivered afterwards, with an earlier time.
    Late,
    /// Corrected by a reviewer.
    Review,
}

/// Who made a record: the device, its name and its roles at that moment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS))]
pub struct Author {
    /// The device's id.
    pub device: Uuid,
    /// The device's name as people call it.
    pub name: String,
    /// The roles it held.
    pub roles: Vec<Role>,
}

/// One line of a code's timeline.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "typescript", derive(ts_rs::TS), ts(optional_fields))]
pub struct Record {
    /// Place in the code's chain, dense from 1; provisional until committed.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub seq: u64,
    /// Made by the sender, so that sending again is harmless.
    pub id: Uuid,
    /// The code it belongs to.
    pub code: Uuid,
    /// Code time of the fact: milliseconds since the arrest was recognised.
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub at_ms: i64,
    /// Code time at which the server took it; absent in a file, `at_ms` stands for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "typescript", ts(type = "number"))]
    pub received_ms: Option<i64>,
    /// Wall clock, RFC 3339, for people; nothing is computed from it.
    pub recorded_at: String,
    /// Who made it.
    pub by: Author,
    /// How it came to be.
    pub source: Source,
    /// What happened.
    pub event: Event,
}

impl Record {
    /// When the server knew of it, in code time.
    pub fn known_ms(&self) -> i64 {
        self.received_ms.unwrap_or(self.at_ms)
    }

    /// Reads one record and checks its form.
    ///
    /// # Errors
    /// Names the field that is missing, of the wrong type or out of its possible range.
    pub fn from_json(text: &str) -> Result<Self, FieldError> {
        let value: Value =
            serde_json::from_str(text).map_err(|error| FieldError::new("record", format!("is not JSON: {error}")))?;
        let Value::Object(mut fields) = value else {
            return Err(FieldError::new("record", "must be a JSON object"));
        };
        let event = fields.remove("event").ok_or_else(|| FieldError::new("event", "is missing"))?;
        let event = Event::from_value(event)?;
        check::event(&event)?;
        // The event is read on its own, for the sake of its field names; a note keeps the place meanwhile.
        fields.insert("event".to_owned(), serde_json::json!({"kind": "note", "text": ""}));
        let mut record: Self = serde_path_to_error::deserialize(Value::Object(fields)).map_err(|error| {
            let problem = error.inner().to_string();
            let path = error.path().to_string();
            let missing = problem.strip_prefix("missing field `").and_then(|rest| rest.strip_suffix('`'));
            match missing {
                Some(name) if path == "." => FieldError::new(name, "is missing"),
                Some(name) => FieldError::new(format!("{path}.{name}"), "is missing"),
                None => FieldError::new(path, problem),
            }
        })?;
        check::time("at_ms", record.at_ms)?;
        record.received_ms.map_or(Ok(()), |received_ms| check::time("received_ms", received_ms))?;
        record.event = event;
        Ok(record)
    }

    /// The canonical text of the record: JSON with keys in alphabetical order, no white space, whole numbers without a
    /// fraction. The hash chain runs over exactly these bytes.
    ///
    /// # Errors
    /// Only if a number in the record is not finite, which the checks at the door rule out.
    pub fn canonical_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_value(self)?.serialize_text()
    }
}

trait SerializeText {
    fn serialize_text(&self) -> Result<String, serde_json::Error>;
}

impl SerializeText for Value {
    /// `serde_json`'s own map is sorted by key, so the text of a value is canonical.
    fn serialize_text(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(event: &str) -> String {
        format!(
            r#"{{"seq":1,"id":"01980000-0000-7000-8000-000000000001","code":"01980000-0000-7000-8000-000000000002","at_ms":5,
            "recorded_at":"2026-11-25T09:14:28.123Z","by":{{"device":"01980000-0000-7000-8000-000000000003","name":"Bay 1","roles":["drugs"]}},
            "source":"live","event":{event}}}"#
        )
    }

    #[test]
    fn a_record_survives_a_round_trip_in_canonical_form() {
        let text = line(r#"{"kind":"shock_delivered","energy_j":200.0,"colour":"kept for a newer version"}"#);
        let record = Record::from_json(&text).unwrap();
        let canonical = record.canonical_json().unwrap();
        assert!(canonical.contains(r#""event":{"energy_j":200,"kind":"shock_delivered"}"#), "{canonical}");
        assert_eq!(Record::from_json(&canonical).unwrap(), record);
    }

    #[test]
    fn errors_name_the_field() {
        let cases = [
            (r#"{"kind":"shock_delivered"}"#, "event", "missing field `energy_j`"),
            (r#"{"kind":"shock_delivered","energy_j":"much"}"#, "event.energy_j", "invalid type"),
            (r#"{"kind":"shock_delivered","energy_j":-5}"#, "event.energy_j", "must be between"),
            (r#"{"kind":"rhythm_checked","rhythm":"jazz"}"#, "event.rhythm", "unknown variant `jazz`"),
            (r#"{"kind":"moonwalk"}"#, "event.kind", "`moonwalk` is no known event"),
            (r#"{"energy_j":5}"#, "event.kind", "is missing"),
            (r#"[]"#, "event", "must be an object"),
            (
                r#"{"kind":"drug_given","drug":"epinephrine","dose":{"value":"1","unit":"mg"},"route":"iv"}"#,
                "event.dose.value",
                "invalid type",
            ),
        ];
        for (event, field, problem) in cases {
            let error = Record::from_json(&line(event)).unwrap_err();
            assert_eq!(error.field, field, "{event}: {error}");
            assert!(error.problem.contains(problem), "{event}: {error}");
        }
    }

    #[test]
    fn errors_name_fields_of_the_record_itself() {
        let text = line(r#"{"kind":"rosc"}"#);
        let error = Record::from_json(&text.replace("\"at_ms\":5,", "")).unwrap_err();
        assert_eq!((error.field.as_str(), error.problem.as_str()), ("at_ms", "is missing"));
        let error = Record::from_json(&text.replace("\"at_ms\":5,", "\"at_ms\":\"5\",")).unwrap_err();
        assert_eq!(error.field, "at_ms");
        let error = Record::from_json(&text.replace("\"at_ms\":5,", "\"at_ms\":9223372036854775807,")).unwrap_err();
        assert_eq!(error.field, "at_ms");
        assert!(error.problem.contains("within a year"), "{error}");
        let far = line(r#"{"kind":"prior_care_reported","last_epinephrine_at_ms":-9223372036854775808}"#);
        assert_eq!(Record::from_json(&far).unwrap_err().field, "event.prior_care.last_epinephrine_at_ms");
        let error = Record::from_json("{").unwrap_err();
        assert_eq!(error.field, "record");
    }
}

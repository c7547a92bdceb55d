//! Reading what a tablet sends: a frame becomes a message, or a refusal that names what is wrong and with which field.

use coxswain_engine::check;
use coxswain_engine::event::{Event, FieldError};
use serde_json::Value;
use uuid::Uuid;

use crate::live::Refusal;
use crate::wire::{Battery, ClientMessage, MAX_FRAME_BYTES, RefusalReason};

/// A refusal, with the id of the record if one could be read.
pub(super) type Unread = (Option<Uuid>, Refusal);

fn refuse(id: Option<Uuid>, reason: RefusalReason, message: impl Into<String>) -> Unread {
    (id, Refusal::new(reason, message))
}

fn malformed(id: Option<Uuid>, field: &str, problem: &str) -> Unread {
    refuse(id, RefusalReason::Malformed, format!("{field}: {problem}."))
}

/// Reads a text frame.
///
/// # Errors
/// The refusal to send back.
pub(super) fn read(text: &str) -> Result<ClientMessage, Unread> {
    if text.len() > MAX_FRAME_BYTES {
        let message = format!("The message has {} bytes; at most {MAX_FRAME_BYTES} are taken.", text.len());
        return Err(refuse(None, RefusalReason::TooLarge, message));
    }
    let value: Value = serde_json::from_str(text)
        .map_err(|error| refuse(None, RefusalReason::Malformed, format!("The message is not JSON: {error}.")))?;
    let Value::Object(mut fields) = value else {
        return Err(refuse(None, RefusalReason::Malformed, "The message must be a JSON object."));
    };
    let id = fields.get("id").and_then(Value::as_str).and_then(|id| Uuid::parse_str(id).ok());
    let kind = match fields.get("type") {
        Some(Value::String(kind)) => kind.clone(),
        Some(_) => return Err(malformed(id, "type", "must be a word")),
        None => return Err(malformed(id, "type", "is missing")),
    };
    let mut take = |name: &str| fields.remove(name).filter(|value| !value.is_null());
    match kind.as_str() {
        "ping" => match take("sent_ms").as_ref().and_then(Value::as_f64) {
            Some(sent_ms) => Ok(ClientMessage::Ping { sent_ms }),
            None => Err(malformed(id, "sent_ms", "must be a number")),
        },
        "battery" => {
            let percent =
                take("percent").as_ref().and_then(Value::as_u64).and_then(|percent| u8::try_from(percent).ok());
            let percent = percent
                .filter(|percent| *percent <= 100)
                .ok_or_else(|| malformed(id, "percent", "must be a whole number from 0 to 100"))?;
            let charging = take("charging")
                .as_ref()
                .and_then(Value::as_bool)
                .ok_or_else(|| malformed(id, "charging", "must be true or false"))?;
            Ok(ClientMessage::Battery(Battery { percent, charging }))
        }
        "record" => {
            let uuid = |name: &str, value: Option<Value>| match value {
                Some(Value::String(text)) => Uuid::parse_str(&text).map_err(|_| malformed(id, name, "must be a uuid")),
                Some(_) => Err(malformed(id, name, "must be a uuid")),
                None => Err(malformed(id, name, "is missing")),
            };
            let id = uuid("id", take("id"))?;
            let code = uuid("code", take("code"))?;
            let at_ms = match take("at_ms") {
                None => None,
                Some(value) => Some(
                    value
                        .as_i64()
                        .ok_or_else(|| malformed(Some(id), "at_ms", "must be a whole number of milliseconds"))?,
                ),
            };
            let clock_error_ms = match take("clock_error_ms") {
                None => None,
                Some(value) => {
                    Some(value.as_f64().ok_or_else(|| malformed(Some(id), "clock_error_ms", "must be a number"))?)
                }
            };
            let event = take("event").ok_or_else(|| malformed(Some(id), "event", "is missing"))?;
            let event = event_of(event)
                .map_err(|(reason, error)| refuse(Some(id), reason, format!("{}: {}.", error.field, error.problem)))?;
            Ok(ClientMessage::Record { id, code, at_ms, clock_error_ms, event })
        }
        other => {
            let shown: String = other.chars().take(40).collect();
            Err(refuse(id, RefusalReason::UnknownMessage, format!("type: `{shown}` is no known message.")))
        }
    }
}

fn event_of(value: Value) -> Result<Event, (RefusalReason, FieldError)> {
    let event = Event::from_value(value).map_err(|error| {
        let unknown = Event::is_unknown_kind(&error);
        (if unknown { RefusalReason::UnknownEvent } else { RefusalReason::Malformed }, error)
    })?;
    check::event(&event).map_err(|error| (RefusalReason::Malformed, error))?;
    if matches!(event, Event::CodeOpened { .. }) {
        let problem = "a code is opened with POST /api/codes, once";
        return Err((RefusalReason::Malformed, FieldError::new("event.kind", problem)));
    }
    Ok(event)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ID: &str = "01980000-0000-7000-8000-000000000001";

    #[test]
    fn refusals_name_reason_and_field_and_keep_the_id() {
        let record = |rest: &str| format!(r#"{{"type":"record","id":"{ID}","code":"{ID}",{rest}}}"#);
        let cases = [
            ("nonsense".to_owned(), RefusalReason::Malformed, "not JSON", false),
            ("[]".to_owned(), RefusalReason::Malformed, "object", false),
            ("{}".to_owned(), RefusalReason::Malformed, "type: is missing", false),
            (r#"{"type":"dance"}"#.to_owned(), RefusalReason::UnknownMessage, "`dance`", false),
            (r#"{"type":"ping"}"#.to_owned(), RefusalReason::Malformed, "sent_ms", false),
            (r#"{"type":"record","id":7}"#.to_owned(), RefusalReason::Malformed, "id: must be a uuid", false),
            (format!(r#"{{"type":"record","id":"{ID}"}}"#), RefusalReason::Malformed, "code: is missing", true),
            (
                r#"{"type":"battery","percent":101,"charging":true}"#.to_owned(),
                RefusalReason::Malformed,
                "percent",
                false,
            ),
            (
                r#"{"type":"battery","percent":-1,"charging":true}"#.to_owned(),
                RefusalReason::Malformed,
                "percent",
                false,
            ),
            (
                r#"{"type":"battery","percent":0.5,"charging":true}"#.to_owned(),
                RefusalReason::Malformed,
                "percent",
                false,
            ),
            (r#"{"type":"battery","percent":50}"#.to_owned(), RefusalReason::Malformed, "charging", false),
            (record(r#""x":1"#), RefusalReason::Malformed, "event: is missing", true),
            (record(r#""at_ms":1.5,"event":{"kind":"rosc"}"#), RefusalReason::Malformed, "at_ms", true),
            (record(r#""event":{"kind":"moonwalk"}"#), RefusalReason::UnknownEvent, "moonwalk", true),
            (
                record(r#""event":{"kind":"shock_delivered","energy_j":"x"}"#),
                RefusalReason::Malformed,
                "event.energy_j",
                true,
            ),
            (
                record(r#""event":{"kind":"shock_delivered","energy_j":99999}"#),
                RefusalReason::Malformed,
                "event.energy_j",
                true,
            ),
            ("x".repeat(70_000), RefusalReason::TooLarge, "65536", false),
        ];
        for (text, reason, words, has_id) in cases {
            let (id, refusal) = read(&text).unwrap_err();
            assert_eq!(refusal.reason, reason, "{text:.80}: {}", refusal.message);
            assert!(refusal.message.contains(words), "{}", refusal.message);
            assert_eq!(id.is_some(), has_id, "{text:.80}");
        }
        assert!(read(&record(r#""at_ms":5,"event":{"kind":"rosc"},"new_field":1"#)).is_ok());
    }
}

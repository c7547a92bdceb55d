//! Opening a code, and reading codes back.

use axum::Json;
use axum::extract::{Path, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use coxswain_engine::check;
use coxswain_engine::event::{Event, FieldError};
use coxswain_engine::measure::measure;
use coxswain_engine::protocol::CircumstanceRules;
use coxswain_engine::snapshot::{Knowledge, protocol_ref};
use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::App;
use super::answer::No;
use super::auth::Asking;
use super::devices::Fields;
use crate::export;
use crate::ledger::{DeviceRow, StoredCode, chain};
use crate::live::{Opening, Refused};
use crate::shelf::{self, Entry};

/// Codes in a list.
const LISTED: i64 = 500;

/// `GET /api/protocols`
pub(super) async fn protocols(State(app): State<App>) -> Json<Value> {
    let circumstance = |rules: &CircumstanceRules| json!({"name": rules.id, "title": rules.title});
    let line = |entry: &Entry| {
        let protocol = &entry.protocol;
        json!({
            "id": protocol.id, "title": protocol.title, "edition": protocol.edition, "version": protocol.version,
            "age_group": protocol.age_group, "approved": protocol.is_approved(), "local": entry.file.is_some(),
            "causes": protocol.causes.list.value, "other_ages": protocol.other_ages,
            "circumstances": protocol.circumstances.iter().map(circumstance).collect::<Vec<_>>(),
        })
    };
    Json(json!({"protocols": app.hub.shelf.entries().map(line).collect::<Vec<_>>()}))
}

/// `POST /api/codes`
pub(super) async fn open(State(app): State<App>, Asking(starter): Asking, mut fields: Fields) -> Result<Response, No> {
    let id: Uuid = fields.take("id")?.unwrap_or_else(Uuid::now_v7);
    let another: bool = fields.take("another")?.unwrap_or(false);
    let location = fields.name("location")?.or_else(|| starter.location.clone());
    let (event, protocol) = code_opened(&app, fields.0, location.as_deref())?;
    if app.hub.room(id).await.map_err(|error| No::fault(&error))?.is_some() {
        return again(&app, id, &event).await;
    }
    let opening = Opening { id, event, location, protocol, another };
    let saved = match app.hub.open(&opening, &starter) {
        Ok((_, saved)) => saved,
        Err(Refused::Running { id, message }) => {
            return Err(No::new(StatusCode::CONFLICT, "code_running", message).about(id));
        }
        Err(Refused::Fault) => return Err(No::fault(&"a code could not be planned")),
    };
    let Some(saved) = saved else { return Ok((StatusCode::OK, Json(json!({"id": id}))).into_response()) };
    // Prompts never wait for the disk: the code runs already. Only this answer waits, and not for ever.
    let saved = tokio::time::timeout(app.saved_within, saved).await.is_ok();
    let status = if saved { StatusCode::CREATED } else { StatusCode::ACCEPTED };
    Ok((status, Json(json!({"id": id, "saved": saved}))).into_response())
}

/// The same code opened again is harmless; another one under its id is refused.
async fn again(app: &App, id: Uuid, event: &Event) -> Result<Response, No> {
    let stored = app.hub.reader.code(id).await.map_err(|error| No::fault(&error))?;
    let opened = stored.as_ref().and_then(|stored| stored.records.first());
    let opened = opened.and_then(|line| coxswain_engine::record::Record::from_json(&line.text).ok());
    if opened.is_some_and(|record| !record.event.says_the_same_as(&bare(event))) {
        let message = "id: this id was used before, for a code with other content.";
        return Err(No::new(StatusCode::CONFLICT, "id_reused", message).about(id));
    }
    Ok((StatusCode::OK, Json(json!({"id": id}))).into_response())
}

/// The event as the client knows it: without the hash of the protocol's text, which the server fills in.
fn bare(event: &Event) -> Event {
    let mut bare = event.clone();
    if let Some(protocol) = bare.protocol_mut() {
        protocol.sha256 = None;
    }
    bare
}

/// The event that the fields of the request make, and the protocol it names.
fn code_opened(app: &App, mut fields: Map<String, Value>, location: Option<&str>) -> Result<(Event, Entry), No> {
    let named = fields.get("protocol").cloned().unwrap_or(Value::Null);
    let protocol_id = match &named {
        Value::String(id) => Some(id.as_str()),
        other => other.get("id").and_then(Value::as_str),
    };
    let protocol_id = protocol_id.ok_or_else(|| No::field("malformed", "protocol.id", "protocol.id: is missing."))?;
    let known: Vec<&str> = app.hub.shelf.entries().map(|entry| entry.protocol.id.as_str()).collect();
    let unknown = || {
        let message = format!("protocol.id: no protocol `{protocol_id}` is at hand; there are {}.", known.join(", "));
        No::field("unknown_protocol", "protocol.id", message)
    };
    let entry = app.hub.shelf.get(protocol_id).ok_or_else(unknown)?.clone();
    let version = named.get("version").cloned().unwrap_or_else(|| entry.protocol.version.into());
    if version != json!(entry.protocol.version) {
        let message = format!(
            "protocol.version: version {} of `{protocol_id}` is at hand, not {version}.",
            entry.protocol.version
        );
        return Err(No::field("unknown_protocol", "protocol.version", message));
    }
    fields.insert("kind".to_owned(), "code_opened".into());
    let sha256 = chain::of_text(&entry.text);
    if named.get("sha256").is_some_and(|told| *told != json!(sha256)) {
        let message = format!("protocol.sha256: `{protocol_id}` has another text here.");
        return Err(No::field("unknown_protocol", "protocol.sha256", message));
    }
    fields.insert("protocol".to_owned(), json!({"id": protocol_id, "version": version, "sha256": sha256}));
    if let Some(location) = location {
        fields.insert("location".to_owned(), location.into());
    }
    fields.entry("training").or_insert(false.into());
    let patient = fields.entry("patient").or_insert_with(|| json!({}));
    if let Value::Object(patient) = patient {
        patient.entry("age_group").or_insert(json!(entry.protocol.age_group));
    }
    let wrong = |error: FieldError| {
        let field = error.field.strip_prefix("event.").unwrap_or(&error.field).to_owned();
        let message = format!("{field}: {}.", error.problem);
        No::field("malformed", field, message)
    };
    let event = Event::from_value(Value::Object(fields)).map_err(wrong)?;
    check::event(&event).map_err(wrong)?;
    Ok((event, entry))
}

/// `GET /api/codes`
pub(super) async fn list(State(app): State<App>, Asking(device): Asking) -> Result<Json<Value>, No> {
    let rows = app.hub.reader.codes_of(device.id, LISTED).await.map_err(|error| No::fault(&error))?;
    let line = |row: crate::ledger::CodeRow| {
        json!({
            "id": row.id, "location": row.location, "opened_at": row.opened_at, "closed": row.closed, "records": row.records,
        })
    };
    let stored: Vec<Value> = rows.into_iter().map(line).collect();
    Ok(Json(json!({"running": app.hub.codes_for(device.id), "codes": stored})))
}

/// A code as it is stored, for a device that is or was in it: whoever has a tablet in the hand reads the codes that it was
/// at, and no other. One that never was in a code is told as little as of a code that there never was.
async fn stored(app: &App, id: &str, asking: &DeviceRow) -> Result<StoredCode, No> {
    let unknown =
        || No::new(StatusCode::NOT_FOUND, "unknown_code", "There is no such code, or this device was never in it.");
    let id = Uuid::parse_str(id).map_err(|_| unknown())?;
    let is_in_it = app.hub.code_of(asking.id) == Some(id);
    if !is_in_it && !app.hub.reader.is_member(id, asking.id).await.map_err(|error| No::fault(&error))? {
        return Err(unknown());
    }
    let stored = app.hub.reader.code(id).await.map_err(|error| No::fault(&error))?;
    stored.ok_or_else(unknown)
}

/// `GET /api/codes/{id}/timeline`
pub(super) async fn timeline(
    State(app): State<App>,
    Asking(device): Asking,
    Path(id): Path<String>,
) -> Result<Response, No> {
    let stored = stored(&app, &id, &device).await?;
    let kind = HeaderValue::from_static("application/jsonl; charset=utf-8");
    Ok(([(header::CONTENT_TYPE, kind)], export::jsonl(&stored)).into_response())
}

/// `GET /api/codes/{id}/figures`
pub(super) async fn figures(
    State(app): State<App>,
    Asking(device): Asking,
    Path(id): Path<String>,
) -> Result<Response, No> {
    let stored = stored(&app, &id, &device).await?;
    let records = export::records(&stored).map_err(|error| No::fault(&error))?;
    let named = protocol_ref(&records, i64::MAX, Knowledge::Hindsight);
    let text = named.and_then(|named| {
        stored.protocols.iter().find(|(id, version, _)| *id == named.id && *version == named.version)
    });
    let Some((_, _, text)) = text else { return Err(No::fault(&"a code without the text of its protocol")) };
    let protocol = shelf::stored(text).map_err(|error| No::fault(&error))?.protocol;
    Ok(Json(measure(&records, &protocol)).into_response())
}

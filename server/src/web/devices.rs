//! Pairing a tablet, and what it may say of itself.

use axum::Json;
use axum::extract::{FromRequest, Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use coxswain_engine::check::MAX_NAME_CHARS;
use coxswain_engine::event::Role;
use qrcode::QrCode;
use qrcode::render::svg;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use tokio::sync::oneshot;
use uuid::Uuid;

use super::App;
use super::answer::No;
use super::auth::{Asking, cookie_name, same_origin};
use super::body::bytes_of;
use crate::clock;
use crate::ledger::{DeviceRow, Job};
use crate::secret::{self, Try};
use crate::wire::DeviceInfo;

/// A cookie lives this long; removing the device ends it earlier.
const COOKIE_SECONDS: u64 = 400 * 86_400;

/// The body of a request as a JSON object; says in our own words what is wrong with it.
pub(super) struct Fields(pub(super) serde_json::Map<String, Value>);

impl FromRequest<App> for Fields {
    type Rejection = No;

    async fn from_request(request: Request, _app: &App) -> Result<Self, No> {
        let bytes = bytes_of(request).await?;
        match serde_json::from_slice(&bytes) {
            Ok(Value::Object(fields)) => Ok(Self(fields)),
            Ok(_) => Err(No::field("malformed", "", "The body must be a JSON object.")),
            Err(error) => Err(No::field("malformed", "", format!("The body is not JSON: {error}."))),
        }
    }
}

impl Fields {
    /// A field that may be absent.
    pub(super) fn take<T: DeserializeOwned>(&mut self, name: &str) -> Result<Option<T>, No> {
        match self.0.remove(name) {
            None | Some(Value::Null) => Ok(None),
            Some(value) => serde_json::from_value(value)
                .map(Some)
                .map_err(|error| No::field("malformed", name, format!("{name}: {error}."))),
        }
    }

    /// A field that must be there.
    pub(super) fn need<T: DeserializeOwned>(&mut self, name: &str) -> Result<T, No> {
        self.take(name)?.ok_or_else(|| No::field("malformed", name, format!("{name}: is missing.")))
    }

    /// A short text, trimmed; an empty one counts as absent.
    pub(super) fn name(&mut self, name: &str) -> Result<Option<String>, No> {
        let Some(text) = self.take::<String>(name)? else { return Ok(None) };
        let text = text.trim();
        if text.chars().count() > MAX_NAME_CHARS {
            return Err(No::field(
                "malformed",
                name,
                format!("{name}: must have at most {MAX_NAME_CHARS} characters."),
            ));
        }
        Ok((!text.is_empty()).then(|| text.to_owned()))
    }
}

fn info(device: &DeviceRow) -> DeviceInfo {
    DeviceInfo {
        id: device.id,
        name: device.name.clone(),
        location: device.location.clone(),
        home_role: device.home_role,
    }
}

/// `POST /api/pair`
pub(super) async fn pair(State(app): State<App>, headers: HeaderMap, mut fields: Fields) -> Result<Response, No> {
    same_origin(&headers, app.reach.is_secure())?;
    let join_code: Value = fields.need("join_code")?;
    let join_code = match join_code {
        Value::String(text) => text,
        other => other.to_string(),
    };
    let name = fields.name("name")?.ok_or_else(|| No::field("malformed", "name", "name: is missing."))?;
    let location = fields.name("location")?;
    let home_role: Option<Role> = fields.take("home_role")?;
    match app.join_codes.check(join_code.trim()) {
        Try::Right => {}
        Try::Wrong => {
            return Err(No::new(StatusCode::FORBIDDEN, "wrong_join_code", "join_code: is not the code of the moment."));
        }
        Try::TooMany => {
            let message = "There were too many wrong join codes; try again in a minute.";
            return Err(No::new(StatusCode::TOO_MANY_REQUESTS, "too_many_tries", message));
        }
    }
    let device = DeviceRow { id: Uuid::now_v7(), name, location, home_role };
    let token = secret::token().map_err(|error| No::fault(&error))?;
    let (done, saved) = oneshot::channel();
    app.hub.writer.write(Job::AddDevice {
        device: device.clone(),
        token_hash: secret::token_hash(&token),
        paired_at: clock::wall_text(),
        done,
    });
    saved.await.map_err(|error| No::fault(&error))?;
    app.hub.know(&device);
    let (name, secure) = (cookie_name(app.reach.is_secure()), if app.reach.is_secure() { "; Secure" } else { "" });
    let cookie = format!("{name}={token}; Path=/; HttpOnly; SameSite=Strict; Max-Age={COOKIE_SECONDS}{secure}");
    let cookie = HeaderValue::from_str(&cookie).map_err(|error| No::fault(&error))?;
    let answer = json!({"device": info(&device), "token": token});
    Ok((StatusCode::CREATED, [(header::SET_COOKIE, cookie)], Json(answer)).into_response())
}

/// `GET /api/me`
pub(super) async fn me(State(app): State<App>, Asking(device): Asking) -> Json<Value> {
    Json(json!({"device": info(&device), "code": app.hub.code_of(device.id)}))
}

/// `PATCH /api/device`
pub(super) async fn change(
    State(app): State<App>,
    Asking(mut device): Asking,
    mut fields: Fields,
) -> Result<Json<Value>, No> {
    if fields.0.contains_key("name") {
        let name = fields.name("name")?;
        device.name = name.ok_or_else(|| No::field("malformed", "name", "name: must not be empty."))?;
    }
    // Null or an empty text takes a location or a home role away; an absent field leaves it.
    if fields.0.contains_key("location") {
        device.location = fields.name("location")?;
    }
    if fields.0.contains_key("home_role") {
        device.home_role = fields.take("home_role")?;
    }
    let (done, saved) = oneshot::channel();
    app.hub.writer.write(Job::ChangeDevice { device: device.clone(), done });
    saved.await.map_err(|error| No::fault(&error))?;
    app.hub.know(&device);
    Ok(Json(json!({"device": info(&device)})))
}

/// `GET /api/join-code`
pub(super) async fn join_code(State(app): State<App>, _asking: Asking, headers: HeaderMap) -> Result<Json<Value>, No> {
    let (join_code, left) = app.join_codes.current();
    let host = headers.get(header::HOST).and_then(|value| value.to_str().ok()).unwrap_or_default();
    let url = app.reach.pairing(host, &join_code);
    let picture = QrCode::new(url.as_bytes()).map_err(|error| No::fault(&error))?;
    let picture = picture.render::<svg::Color<'_>>().min_dimensions(240, 240).build();
    Ok(Json(json!({"join_code": join_code, "valid_s": left.as_secs(), "url": url, "qr_svg": picture})))
}

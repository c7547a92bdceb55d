//! Signing in and out. A wrong name and a wrong password get the same answer, after the same time.

use std::time::Instant;

use axum::Json;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use jiff::{SignedDuration, Timestamp};
use serde_json::json;

use super::asking::{Body, Reviewing, cookie_name, log, token_hash, written};
use crate::ledger::ReviewWrite;
use crate::review::password;
use crate::review::session::{IDLE_MS, WHOLE_MS};
use crate::review::wire::{Account, Deed, SessionState, SignIn};
use crate::review::words;
use crate::secret;
use crate::web::App;
use crate::web::answer::No;
use crate::web::auth::same_origin;
use crate::web::peer::From;

fn state_of(app: &App, account: Account, began_ms: i64) -> SessionState {
    let left_ms = began_ms + WHOLE_MS - app.hub.clock.now_ms();
    let ends_at = Timestamp::now().checked_add(SignedDuration::from_millis(left_ms)).unwrap_or(Timestamp::MAX);
    let idle_s = u64::try_from(IDLE_MS / 1_000).unwrap_or_default();
    SessionState { account, ends_at: format!("{ends_at:.3}"), idle_s }
}

/// `GET /api/review/session`
pub(super) async fn state(State(app): State<App>, who: Reviewing) -> Json<SessionState> {
    Json(state_of(&app, who.account, who.began_ms))
}

/// `POST /api/review/session`
pub(super) async fn sign_in(
    State(app): State<App>,
    From(from): From,
    headers: HeaderMap,
    Body(asked): Body<SignIn>,
) -> Result<Response, No> {
    same_origin(&headers, app.reach.is_secure())?;
    let name = words::composed(asked.name.trim());
    let name = name.as_str();
    if let Some(wait) = app.throttle.wait(from, name, Instant::now()) {
        let seconds = wait.as_secs() + 1;
        let message = format!("There were too many wrong passwords for this name; try again in {seconds} s.");
        let no = No::new(StatusCode::TOO_MANY_REQUESTS, "too_many_tries", message);
        return Err(no.beside("retry_after_s", json!(seconds)));
    }
    let Some(_place) = app.throttle.place(from) else {
        let message = "Too many passwords are being tried from this address; try again in a moment.";
        return Err(No::new(StatusCode::TOO_MANY_REQUESTS, "too_many_tries", message).beside("retry_after_s", json!(1)));
    };
    let found = app.hub.reader.account_by_name(name).await.map_err(|error| No::fault(&error))?;
    // It counts as wrong until it is right: whoever sends many at once gets no free tries.
    app.throttle.wrong(from, name, Instant::now());
    let hash = found.as_ref().map(|row| row.password_hash.clone());
    let fits = password::fits(asked.password, hash).await;
    let account = found.map(|row| row.account);
    let Some(account) = account.clone().filter(|_| fits) else {
        log(&app, account.as_ref(), Deed::SignInFailed, None, None, from).await?;
        return Err(No::new(StatusCode::FORBIDDEN, "wrong_password", "The name or the password is wrong."));
    };
    app.throttle.right(from, name);
    let now_ms = app.hub.clock.now_ms();
    let token = secret::token().map_err(|error| No::fault(&error))?;
    log(&app, Some(&account), Deed::SignedIn, None, None, from).await?;
    let old = ReviewWrite::EndOldSessions { seen_before_ms: now_ms - IDLE_MS, began_before_ms: now_ms - WHOLE_MS };
    written(&app, old).await?;
    // Somebody signs in where somebody was signed in: that session ends.
    if let Some(token_hash) = token_hash(&headers, app.reach.is_secure()) {
        written(&app, ReviewWrite::EndSession { token_hash }).await?;
    }
    let token_hash = secret::token_hash(&token);
    written(&app, ReviewWrite::AddSession { token_hash, account: account.id, now_ms }).await?;
    let cookie = cookie(&app, &token, WHOLE_MS / 1_000)?;
    Ok((StatusCode::CREATED, [(header::SET_COOKIE, cookie)], Json(state_of(&app, account, now_ms))).into_response())
}

/// `DELETE /api/review/session`
pub(super) async fn sign_out(State(app): State<App>, who: Reviewing) -> Result<Response, No> {
    who.log(&app, Deed::SignedOut, None, None).await?;
    written(&app, ReviewWrite::EndSession { token_hash: who.token_hash }).await?;
    Ok((StatusCode::NO_CONTENT, [(header::SET_COOKIE, cookie(&app, "", 0)?)]).into_response())
}

fn cookie(app: &App, token: &str, seconds: i64) -> Result<HeaderValue, No> {
    let (name, secure) = (cookie_name(app.reach.is_secure()), if app.reach.is_secure() { "; Secure" } else { "" });
    let text = format!("{name}={token}; Path=/; HttpOnly; SameSite=Strict; Max-Age={seconds}{secure}");
    HeaderValue::from_str(&text).map_err(|error| No::fault(&error))
}

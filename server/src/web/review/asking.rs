//! Who reviews: a person, by the session in the cookie. A device's token opens nothing here.

use std::net::IpAddr;

use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::request::Parts;
use axum::http::{HeaderMap, StatusCode};
use coxswain_engine::record::Author;
use serde::de::DeserializeOwned;
use serde_json::Value;
use tokio::sync::oneshot;
use uuid::Uuid;

use crate::clock;
use crate::ledger::chain::Hash;
use crate::ledger::{Job, ReviewWrite};
use crate::review::session;
use crate::review::wire::{AccessEntry, Account, Deed};
use crate::secret;
use crate::web::App;
use crate::web::answer::No;
use crate::web::auth::{cookie, same_origin};
use crate::web::body::bytes_of;
use crate::web::peer::From;

/// Name of the session's cookie; with the prefix of RFC 6265bis under TLS.
pub(super) const fn cookie_name(secure: bool) -> &'static str {
    if secure { "__Host-coxswain_review" } else { "coxswain_review" }
}

/// Names the account that the page shows: another tab of the browser may have signed somebody else in since.
const SHOWN_ACCOUNT: &str = "coxswain-account";

/// The person who asks.
pub(in crate::web) struct Reviewing {
    /// Who.
    pub(in crate::web) account: Account,
    /// SHA-256 of the session's token.
    pub(super) token_hash: Hash,
    /// Server time of signing in.
    pub(super) began_ms: i64,
    from: Option<IpAddr>,
}

/// The hash of the token that a request brings.
pub(super) fn token_hash(headers: &HeaderMap, secure: bool) -> Option<Hash> {
    cookie(headers, cookie_name(secure)).map(secret::token_hash)
}

impl FromRequestParts<App> for Reviewing {
    type Rejection = No;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, No> {
        let secure = app.reach.is_secure();
        same_origin(&parts.headers, secure)?;
        let not = || No::new(StatusCode::UNAUTHORIZED, "not_signed_in", "Sign in with your name and password.");
        let token_hash = token_hash(&parts.headers, secure).ok_or_else(not)?;
        let found = app.hub.reader.session(&token_hash).await.map_err(|error| No::fault(&error))?;
        let now_ms = app.hub.clock.now_ms();
        let found = found.filter(|found| session::stands(found, now_ms)).ok_or_else(not)?;
        let shown = parts.headers.get(SHOWN_ACCOUNT);
        if shown.is_some_and(|shown| shown.as_bytes() != found.account.id.to_string().as_bytes()) {
            let message = format!("{} has signed in in this browser since. Sign in again.", found.account.name);
            return Err(No::new(StatusCode::UNAUTHORIZED, "other_account", message));
        }
        if session::is_to_be_touched(&found, now_ms) {
            written(app, ReviewWrite::TouchSession { token_hash, now_ms }).await?;
        }
        let From(from) = From::from_request_parts(parts, app).await.unwrap_or(From(None));
        Ok(Self { account: found.account, token_hash, began_ms: found.began_ms, from })
    }
}

impl Reviewing {
    /// The account as the author of a record.
    pub(super) fn author(&self) -> Author {
        Author { device: self.account.id, name: self.account.name.clone(), roles: Vec::new() }
    }

    /// Writes into the access log, and waits until it is on disk: only then may the answer go out.
    ///
    /// # Errors
    /// If it could not be written.
    pub(in crate::web) async fn log(
        &self,
        app: &App,
        deed: Deed,
        code: Option<Uuid>,
        detail: Option<String>,
    ) -> Result<(), No> {
        log(app, Some(&self.account), deed, code, detail, self.from).await
    }
}

/// Writes into the access log; who is not known has no name there, since a password may have been typed for it.
///
/// # Errors
/// If it could not be written.
pub(super) async fn log(
    app: &App,
    account: Option<&Account>,
    deed: Deed,
    code: Option<Uuid>,
    detail: Option<String>,
    from: Option<IpAddr>,
) -> Result<(), No> {
    let entry = AccessEntry {
        place: 0,
        at: clock::wall_text(),
        account: account.map(|account| account.id),
        name: account.map_or_else(|| "-".to_owned(), |account| account.name.clone()),
        deed,
        code,
        detail,
        from: from.map(|from| from.to_string()),
    };
    written(app, ReviewWrite::Access(entry)).await
}

/// Hands something to the writer and waits until it is on disk.
///
/// # Errors
/// If it could not be written.
pub(super) async fn written(app: &App, write: ReviewWrite) -> Result<(), No> {
    let (done, kept) = oneshot::channel();
    app.hub.writer.write(Job::Review { write, done });
    on_disk(app, kept).await?.map_err(|_| No::fault(&"what review keeps could not be written"))
}

/// Waits for the disk, but not for ever: a full one must not leave a reviewer without an answer. What was handed to the writer
/// stays with it, and may be written still.
///
/// # Errors
/// If it is not on disk by then.
pub(super) async fn on_disk<T>(app: &App, written: impl Future<Output = T>) -> Result<T, No> {
    let message = "The server cannot write to its disk now. What you did may be saved later: load the page again, and look before you do it anew.";
    let late = |_| No::new(StatusCode::SERVICE_UNAVAILABLE, "not_saved", message);
    tokio::time::timeout(app.saved_within, written).await.map_err(late)
}

/// The body of a request; says in our own words what is wrong with it, and with which field.
pub(super) struct Body<T>(pub(super) T);

impl<T: DeserializeOwned> FromRequest<App> for Body<T> {
    type Rejection = No;

    async fn from_request(request: Request, _app: &App) -> Result<Self, No> {
        let bytes = bytes_of(request).await?;
        let value: Value = serde_json::from_slice(&bytes)
            .map_err(|error| No::field("malformed", "", format!("The body is not JSON: {error}.")))?;
        serde_path_to_error::deserialize(value).map(Self).map_err(|error| {
            let path = error.path().to_string();
            let field = if path == "." || path == "?" { String::new() } else { path };
            let place = if field.is_empty() { "The body".to_owned() } else { field.clone() };
            No::field("malformed", field, format!("{place}: {}.", error.inner()))
        })
    }
}

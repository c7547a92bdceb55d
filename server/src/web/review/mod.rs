//! Review over HTTP: for people with accounts, never for devices. Handlers read the request, ask `review` or the ledger, and
//! write the answer; each writes the access log first.

mod asking;
mod codes;
mod exports;
mod parameters;
mod session;
mod trends;

use axum::Router;
use axum::routing::{get, post};

use super::App;

/// Every route of review.
pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/api/review/session", get(session::state).post(session::sign_in).delete(session::sign_out))
        .route("/api/review/codes", get(codes::list))
        .route("/api/review/codes/{id}", get(codes::one))
        .route("/api/review/codes/{id}/changes", post(codes::change))
        .route("/api/review/codes/{id}/debrief", post(codes::debrief))
        .route("/api/review/codes/{id}/signature", post(codes::sign))
        .route("/api/review/codes/{id}/export", get(exports::one))
        .route("/api/review/export", get(exports::many))
        .route("/api/review/trends", get(trends::show))
        .route("/api/review/access_log", get(codes::access_log))
}

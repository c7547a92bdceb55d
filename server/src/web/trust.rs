//! What the port answers to plain HTTP where the server has TLS: a page that helps a tablet to trust the department's own
//! authority, and the way to the real address. No record, no code and no token is taken here.

use std::sync::Arc;

use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use qrcode::QrCode;
use qrcode::render::svg;

use super::answer::No;
use super::{Hosts, hosts};
use crate::tls::Authority;

mod words;

const PAGE: &str = include_str!("trust/page.html");
const SCRIPT: &str = include_str!("trust/page.js");
/// The page has a script of its own, and asks only whether the same host answers by TLS.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'self'; img-src 'self' data:; \
    connect-src https:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// What tablets are given to trust.
#[derive(Debug)]
pub(super) struct Trust {
    certificate: Vec<u8>,
    fingerprint: String,
}

impl Trust {
    pub(super) fn of(authority: &Authority) -> Self {
        Self { certificate: authority.certificate().to_vec(), fingerprint: authority.fingerprint() }
    }
}

/// Every route. Without an authority of our own there is nothing to trust: all goes to the real address.
pub(super) fn router(trust: Option<Trust>, hosts: Hosts) -> Router {
    let routes = match trust {
        None => Router::new(),
        Some(trust) => Router::new()
            .route("/", get(page))
            .route("/pair", get(page))
            .route("/trust.js", get(script))
            .route("/authority.crt", get(certificate))
            .with_state(Arc::new(trust)),
    };
    // Whoever watches the server need not trust it for that.
    routes
        .route("/healthz", get(|| async { "ok" }))
        .fallback(elsewhere)
        .method_not_allowed_fallback(elsewhere)
        .layer(axum::middleware::from_fn_with_state(hosts, hosts::ours_only))
        .layer(axum::middleware::map_response(with_headers))
}

async fn with_headers(mut response: Response) -> Response {
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(POLICY));
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    response
}

fn host(headers: &HeaderMap) -> &str {
    // The layer around every route lets only hosts of ours through.
    headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or_default()
}

async fn page(State(trust): State<Arc<Trust>>, uri: Uri, headers: HeaderMap) -> Result<Response, No> {
    let host = host(&headers);
    let accept = headers.get(header::ACCEPT_LANGUAGE).and_then(|accept| accept.to_str().ok());
    let language = words::language(uri.query(), accept);
    let picture = QrCode::new(format!("http://{host}/").as_bytes()).map_err(|error| No::fault(&error))?;
    let picture = picture.render::<svg::Color<'_>>().min_dimensions(200, 200).build();
    let picture = picture.split_once("?>").map_or(picture.as_str(), |(_, svg)| svg);
    let text = PAGE
        .replace("{{words}}", language.words)
        .replace("{{language}}", language.tag)
        .replace("{{languages}}", &words::choice(language))
        .replace("{{host}}", host)
        .replace("{{fingerprint}}", &trust.fingerprint)
        .replace("{{picture}}", picture);
    Ok(typed("text/html; charset=utf-8", text))
}

async fn script() -> Response {
    typed("text/javascript; charset=utf-8", SCRIPT)
}

async fn certificate(State(trust): State<Arc<Trust>>) -> Response {
    // The type by which tablets know what to do with it (RFC 2585 names another, which they offer to save as a file).
    typed("application/x-x509-ca-cert", trust.certificate.clone())
}

fn typed(kind: &'static str, body: impl IntoResponse) -> Response {
    let mut response = body.into_response();
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    response
}

/// A page is at the real address; anything else is not taken, and is told why.
async fn elsewhere(method: Method, uri: Uri, headers: HeaderMap) -> Response {
    let real = format!("https://{}{}", host(&headers), uri.path_and_query().map_or("/", |path| path.as_str()));
    let is_page = method == Method::GET && !uri.path().starts_with("/api/") && uri.path() != "/ws";
    match HeaderValue::from_str(&real) {
        Ok(location) if is_page => (StatusCode::PERMANENT_REDIRECT, [(header::LOCATION, location)]).into_response(),
        Ok(_) | Err(_) => {
            let message =
                "This server takes this by TLS only: ask again at https. What was sent here went unencrypted.";
            No::new(StatusCode::FORBIDDEN, "tls_needed", message).into_response()
        }
    }
}

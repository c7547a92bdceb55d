//! Everything that speaks HTTP: the socket of the tablets, pairing, codes, and the screens' files. Handlers hold no
//! rules: they read a request, ask the live part or the ledger, and write the answer.

mod answer;
mod assets;
mod auth;
mod body;
mod codes;
mod devices;
mod hosts;
mod message;
mod peer;
mod reach;
mod review;
mod socket;
mod trust;

use std::future::Future;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::extract::State;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{any, get, patch, post};
use axum::serve::ListenerExt;
use tokio::net::TcpListener;
use tokio::sync::watch;

pub use assets::has_screens;
pub use hosts::Hosts;
use peer::Peer;
pub use reach::Reach;

use crate::live::Hub;
use crate::review::throttle::Throttle;
use crate::secret::JoinCodes;
use crate::tls::{self, Tls};

/// For so long an answer waits for the disk.
pub const SAVED_WITHIN: Duration = Duration::from_secs(5);

/// What every handler works with.
#[derive(Clone)]
pub struct App {
    /// The live part.
    pub hub: Arc<Hub>,
    /// Join codes.
    pub join_codes: Arc<JoinCodes>,
    /// How tablets reach this server.
    pub reach: Reach,
    /// Wrong tries to sign in.
    pub throttle: Arc<Throttle>,
    /// For so long an answer waits for the disk.
    pub saved_within: Duration,
    /// Becomes true when the server stops.
    pub stopping: watch::Receiver<bool>,
}

/// Every route.
fn router(app: App, hosts: Hosts) -> Router {
    Router::new()
        .route("/ws", any(socket::open))
        .route("/healthz", get(|| async { "ok" }))
        .route("/readyz", get(ready))
        .route("/metrics", get(metrics))
        .route("/api/pair", post(devices::pair))
        .route("/api/join-code", get(devices::join_code))
        .route("/api/me", get(devices::me))
        .route("/api/device", patch(devices::change))
        .route("/api/protocols", get(codes::protocols))
        .route("/api/codes", get(codes::list).post(codes::open))
        .route("/api/codes/{id}/timeline", get(codes::timeline))
        .route("/api/codes/{id}/figures", get(codes::figures))
        .merge(review::routes())
        .route("/api/{*rest}", any(answer::no_such_address))
        .fallback(assets::serve)
        .method_not_allowed_fallback(answer::no_such_method)
        .layer(axum::middleware::from_fn(body::taken_whole))
        .layer(axum::middleware::from_fn_with_state(hosts, hosts::ours_only))
        .layer(axum::middleware::map_response(with_security_headers))
        .with_state(app)
}

/// Where tablets come in.
#[derive(Debug)]
pub struct Entrance {
    /// The port.
    pub listener: TcpListener,
    /// The names that are answered to.
    pub hosts: Hosts,
    /// TLS, if it is spoken; the port then helps whoever comes without it.
    pub tls: Option<Tls>,
    /// For so long an answer waits for the disk: [`SAVED_WITHIN`], but for tests.
    pub saved_within: Duration,
}

/// Serves until `shutdown` resolves.
///
/// # Errors
/// If the listener fails.
pub async fn serve(
    entrance: Entrance,
    hub: Arc<Hub>,
    join_codes: Arc<JoinCodes>,
    shutdown: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    let Entrance { listener, hosts, tls, saved_within } = entrance;
    let (stop, stopping) = watch::channel(false);
    let stopped = wait_for(stopping.clone());
    let reach = Reach::by(tls.as_ref());
    let app = App { hub, join_codes, reach, throttle: Arc::default(), saved_within, stopping };
    let router = router(app, hosts.clone());
    let until = async move {
        shutdown.await;
        stop.send_replace(true);
    };
    if let Some(tls) = tls {
        let (secure, plain) = tls::sort(listener, tls.acceptor())?;
        let trust = tls.authority().map(trust::Trust::of);
        let help = axum::serve(plain, trust::router(trust, hosts)).with_graceful_shutdown(stopped);
        let fresh = tokio::spawn(tls.keep_fresh());
        let router = router.into_make_service_with_connect_info::<Peer>();
        let served = tokio::try_join!(axum::serve(secure, router).with_graceful_shutdown(until), help);
        fresh.abort();
        return served.map(|_| ());
    }
    // A record is a small message that somebody waits for: it must not wait for another to travel with.
    let listener = listener.tap_io(|stream| {
        let _ = stream.set_nodelay(true);
    });
    axum::serve(listener, router.into_make_service_with_connect_info::<std::net::SocketAddr>())
        .with_graceful_shutdown(until)
        .await
}

async fn wait_for(mut stopping: watch::Receiver<bool>) {
    // An error means that whoever could say "stop" is gone, which is a reason to stop as well.
    let _ = stopping.wait_for(|stopped| *stopped).await;
}

async fn with_security_headers(mut response: Response) -> Response {
    const POLICY: &str = "default-src 'self'; img-src 'self' data:; style-src 'self' 'unsafe-inline'; connect-src 'self'; \
        object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(POLICY));
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(HeaderName::from_static("cross-origin-opener-policy"), HeaderValue::from_static("same-origin"));
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

/// Ready means that the disk takes records.
async fn ready(State(app): State<App>) -> Response {
    let trouble = app.hub.writer.trouble().borrow().clone();
    let saved = tokio::time::timeout(Duration::from_secs(2), app.hub.writer.flush()).await;
    match (trouble, saved) {
        (None, Ok(())) => "ok".into_response(),
        (Some(words), _) => (StatusCode::SERVICE_UNAVAILABLE, words).into_response(),
        (None, Err(_)) => (StatusCode::SERVICE_UNAVAILABLE, "The disk does not take records.").into_response(),
    }
}

async fn metrics(State(app): State<App>) -> Response {
    let (codes, connections) = app.hub.counts();
    let kind = HeaderValue::from_static("text/plain; version=0.0.4");
    ([(header::CONTENT_TYPE, kind)], app.hub.metrics.text(codes, connections)).into_response()
}

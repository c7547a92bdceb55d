//! A device's side of the wire, for programs: pairing, the socket, and the estimate of the server's clock. It knows the
//! messages and nothing of what a code is.

use std::net::SocketAddr;
use std::time::Instant;

use coxswain_engine::event::Role;
use futures_util::{SinkExt, StreamExt};
use serde_json::{Value, json};
use tokio::net::TcpStream;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::tungstenite::client::IntoClientRequest;
use tokio_tungstenite::tungstenite::http::HeaderValue;
use uuid::Uuid;

use super::http::post;
use super::play::TeamError;
use crate::wire::ClientMessage;

/// A paired device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pairing {
    /// Its id.
    pub device: Uuid,
    /// Its token.
    pub token: String,
}

/// Pairs a device by join code.
///
/// # Errors
/// If the server is not there or refuses; the words are the server's.
pub async fn pair(
    address: SocketAddr,
    join_code: &str,
    name: &str,
    location: Option<&str>,
    home_role: Option<Role>,
) -> Result<Pairing, TeamError> {
    let mut body = json!({"join_code": join_code, "name": name});
    if let Some(location) = location {
        body["location"] = json!(location);
    }
    if let Some(role) = home_role {
        body["home_role"] = json!(role.as_str());
    }
    let answer = post(address, "/api/pair", None, &body).await?;
    let said = answer.json();
    let device = said["device"]["id"].as_str().or_else(|| said["device"].as_str()).and_then(|id| id.parse().ok());
    match (answer.status, device, said["token"].as_str()) {
        (200..=299, Some(device), Some(token)) => Ok(Pairing { device, token: token.to_owned() }),
        _ => Err(TeamError::Server(format!("pairing {name}: {} {}", answer.status, answer.text))),
    }
}

/// Opens a code.
///
/// # Errors
/// If the server is not there or refuses; the words are the server's.
pub async fn open_code(address: SocketAddr, token: &str, body: &Value) -> Result<Uuid, TeamError> {
    let answer = post(address, "/api/codes", Some(token), body).await?;
    match (answer.status, answer.json()["id"].as_str().and_then(|id| id.parse().ok())) {
        (200..=299, Some(id)) => Ok(id),
        _ => Err(TeamError::Server(format!("opening a code: {} {}", answer.status, answer.text))),
    }
}

/// An open socket of a paired device.
#[derive(Debug)]
pub struct Socket {
    stream: WebSocketStream<TcpStream>,
}

impl Socket {
    /// Connects with a token.
    ///
    /// # Errors
    /// If the server is not there or does not know the token.
    pub async fn connect(address: SocketAddr, token: &str) -> Result<Self, TeamError> {
        let socket = TcpStream::connect(address).await?;
        socket.set_nodelay(true)?;
        let mut request = format!("ws://{address}/ws").into_client_request()?;
        let bearer = HeaderValue::from_str(&format!("Bearer {token}"))
            .map_err(|_| TeamError::Server("the token is no header value".to_owned()))?;
        request.headers_mut().insert("authorization", bearer);
        let (stream, _) = tokio_tungstenite::client_async(request, socket).await?;
        Ok(Self { stream })
    }

    /// The next text frame; none when the connection is over. May be dropped half way without losing a frame.
    pub async fn next_text(&mut self) -> Option<String> {
        while let Some(Ok(message)) = self.stream.next().await {
            if let Message::Text(text) = message {
                return Some(text.as_str().to_owned());
            }
        }
        None
    }

    /// Sends a message.
    ///
    /// # Errors
    /// If the connection is over.
    pub async fn send(&mut self, message: &ClientMessage) -> Result<(), TeamError> {
        let text = serde_json::to_string(message).map_err(|error| TeamError::Server(error.to_string()))?;
        self.send_text(text).await
    }

    /// Sends any text, well formed or not.
    ///
    /// # Errors
    /// If the connection is over.
    pub async fn send_text(&mut self, text: String) -> Result<(), TeamError> {
        Ok(self.stream.send(Message::text(text)).await?)
    }
}

/// An estimate of the server's clock from four-timestamp exchanges: of the last few, the one with the shortest way
/// there and back counts (RFC 5905, clock filter).
#[derive(Debug)]
pub struct ServerClock {
    began: Instant,
    rate: f64,
    /// (delay, offset), newest last.
    samples: Vec<(f64, f64)>,
}

/// How many exchanges the filter looks back on.
const FILTER_DEPTH: usize = 8;

impl ServerClock {
    /// A clock that knows nothing yet. `rate` is how many server milliseconds pass in a real one.
    pub fn new(rate: f64) -> Self {
        Self { began: Instant::now(), rate, samples: Vec::new() }
    }

    /// The device's own clock, on the server's scale.
    pub fn local_ms(&self) -> f64 {
        self.began.elapsed().as_secs_f64() * 1_000.0 * self.rate
    }

    /// Takes a server time that came without an exchange, such as the greeting's, until something better is known.
    pub fn take_hint(&mut self, server_ms: f64) {
        if self.samples.is_empty() {
            self.samples.push((f64::INFINITY, server_ms - self.local_ms()));
        }
    }

    /// Takes an exchange.
    #[expect(clippy::cast_precision_loss, reason = "milliseconds since boot lie far below 2^52")]
    pub fn take_exchange(&mut self, sent_ms: f64, received_ms: i64, replied_ms: i64) {
        let (received_ms, replied_ms) = (received_ms as f64, replied_ms as f64);
        let now = self.local_ms();
        let delay = (now - sent_ms) - (replied_ms - received_ms);
        let offset = ((received_ms - sent_ms) + (replied_ms - now)) / 2.0;
        if self.samples.len() == FILTER_DEPTH {
            self.samples.remove(0);
        }
        self.samples.push((delay, offset));
    }

    fn best(&self) -> Option<(f64, f64)> {
        self.samples.iter().copied().min_by(|one, other| one.0.total_cmp(&other.0))
    }

    /// The server's time now, if anything is known of it.
    pub fn server_ms(&self) -> Option<f64> {
        self.best().map(|(_, offset)| self.local_ms() + offset)
    }

    /// How far the estimate may be off: half the way there and back.
    pub fn error_ms(&self) -> f64 {
        self.best().map_or(0.0, |(delay, _)| if delay.is_finite() { delay.max(0.0) / 2.0 } else { 0.0 })
    }
}

//! A device that keeps every frame it gets, as text, and finds what a test waits for among them.

use std::net::SocketAddr;
use std::time::Duration;

use coxswain::team::link::{Pairing, Socket, pair};
use coxswain_engine::event::Role;
use serde_json::{Value, json};
use tokio::time::{Instant, timeout_at};
use uuid::Uuid;

use crate::Error;
use crate::server::Server;

/// How long a test waits for something that must come.
pub const PATIENCE: Duration = Duration::from_secs(10);

/// A paired device and its socket.
#[derive(Debug)]
pub struct Device {
    /// Who it is.
    pub pairing: Pairing,
    /// Its home role.
    pub role: Option<Role>,
    /// Every text frame so far, in order.
    pub frames: Vec<String>,
    address: SocketAddr,
    socket: Socket,
}

impl Device {
    /// Pairs a device and connects it.
    ///
    /// # Errors
    /// If the server refuses.
    pub async fn join(server: &Server, name: &str, location: &str, role: Option<Role>) -> Result<Self, Error> {
        let pairing = pair(server.address, &server.join_code, name, Some(location), role).await?;
        Self::connect(server.address, pairing, role).await
    }

    /// Connects a device that is paired already.
    ///
    /// # Errors
    /// If the server refuses.
    pub async fn connect(address: SocketAddr, pairing: Pairing, role: Option<Role>) -> Result<Self, Error> {
        let socket = Socket::connect(address, &pairing.token).await?;
        Ok(Self { pairing, role, frames: Vec::new(), address, socket })
    }

    /// Hangs up and connects anew; the frames so far are kept.
    ///
    /// # Errors
    /// If the server refuses.
    pub async fn reconnect(mut self) -> Result<Self, Error> {
        self.socket = Socket::connect(self.address, &self.pairing.token).await?;
        Ok(self)
    }

    /// Connects anew to a server that was restarted, trying until it answers.
    ///
    /// # Errors
    /// If it does not answer in time.
    pub async fn find_again(mut self) -> Result<Self, Error> {
        let deadline = Instant::now() + PATIENCE;
        loop {
            match Socket::connect(self.address, &self.pairing.token).await {
                Ok(socket) => {
                    self.socket = socket;
                    return Ok(self);
                }
                Err(error) if Instant::now() > deadline => return Err(error.into()),
                Err(_) => tokio::task::yield_now().await,
            }
        }
    }

    /// Sends any text.
    ///
    /// # Errors
    /// If the connection is over.
    pub async fn send_text(&mut self, text: impl Into<String>) -> Result<(), Error> {
        Ok(self.socket.send_text(text.into()).await?)
    }

    /// Sends a record with the server's time, and gives its id.
    ///
    /// # Errors
    /// If the connection is over.
    pub async fn record(&mut self, code: Uuid, event: Value) -> Result<Uuid, Error> {
        let id = Uuid::now_v7();
        self.record_as(id, code, None, event).await?;
        Ok(id)
    }

    /// Sends a record in full.
    ///
    /// # Errors
    /// If the connection is over.
    pub async fn record_as(&mut self, id: Uuid, code: Uuid, at_ms: Option<i64>, event: Value) -> Result<(), Error> {
        let mut message = json!({"type": "record", "id": id, "code": code, "event": event});
        if let Some(at_ms) = at_ms {
            message["at_ms"] = json!(at_ms);
            message["clock_error_ms"] = json!(1);
        }
        self.send_text(message.to_string()).await
    }

    /// Sends a record and waits until it is on disk.
    ///
    /// # Errors
    /// If the connection is over or the answer is another one.
    pub async fn recorded(&mut self, code: Uuid, event: Value) -> Result<Value, Error> {
        let id = self.record(code, event).await?;
        let answer = self.answer_to(id).await?;
        if answer["type"] != "recorded" {
            return Err(format!("not recorded: {answer}").into());
        }
        Ok(answer)
    }

    /// The answer to a record: recorded or refused.
    ///
    /// # Errors
    /// If none comes in time.
    pub async fn answer_to(&mut self, id: Uuid) -> Result<Value, Error> {
        let id = id.to_string();
        self.wait("an answer", |frame| {
            (frame["type"] == "recorded" || frame["type"] == "refused") && frame["id"] == id.as_str()
        })
        .await
    }

    /// Waits for a frame that comes from now on.
    ///
    /// # Errors
    /// If none comes in time; what came instead is in the error.
    pub async fn wait(&mut self, what: &str, wanted: impl Fn(&Value) -> bool) -> Result<Value, Error> {
        let deadline = Instant::now() + PATIENCE;
        let first = self.frames.len();
        loop {
            match timeout_at(deadline, self.socket.next_text()).await {
                Ok(Some(text)) => {
                    let frame: Value = serde_json::from_str(&text)?;
                    self.frames.push(text);
                    if wanted(&frame) {
                        return Ok(frame);
                    }
                }
                Ok(None) => return Err(format!("the connection ended while waiting for {what}").into()),
                Err(_) => {
                    let came = self.frames[first..].join("\n");
                    return Err(format!("{what} did not come; what came:\n{came}").into());
                }
            }
        }
    }

    /// Reads what is there already, until a ping sent now is answered.
    ///
    /// # Errors
    /// If the answer does not come in time.
    pub async fn drain(&mut self) -> Result<(), Error> {
        let mark = Instant::now().elapsed().as_secs_f64() + self.frames.len() as f64;
        self.send_text(json!({"type": "ping", "sent_ms": mark}).to_string()).await?;
        self.wait("a pong", |frame| frame["type"] == "pong" && frame["sent_ms"].as_f64() == Some(mark)).await?;
        Ok(())
    }

    /// Waits for a view of a code that fits.
    ///
    /// # Errors
    /// If none comes in time.
    pub async fn view(&mut self, what: &str, wanted: impl Fn(&Value) -> bool) -> Result<Value, Error> {
        self.wait(what, |frame| frame["type"] == "view" && wanted(frame)).await
    }
}

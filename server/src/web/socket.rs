//! The socket of one tablet. It lives on after whatever it is sent; it ends when nobody is there, when the tablet cannot
//! keep up, or when the server stops.

use std::time::Duration;

use axum::extract::State;
use axum::extract::ws::{CloseFrame, Message, Utf8Bytes, WebSocket, WebSocketUpgrade};
use axum::response::Response;
use futures_util::{SinkExt, StreamExt};
use tokio::time::Instant;
use uuid::Uuid;

use super::App;
use super::answer::No;
use super::auth::Asking;
use super::message;
use crate::ledger::DeviceRow;
use crate::live::outbox::{Outbox, frame, outbox};
use crate::live::{Command, Refusal};
use crate::wire::{ClientMessage, DeviceInfo, RefusalReason, ServerMessage};

/// A larger frame closes the connection; one between the wire's limit and this is refused by name.
const MAX_SOCKET_BYTES: usize = 1024 * 1024;
const BUFFER_BYTES: usize = 4 * 1024;
/// The server's own pings, for programs that send none.
const PING_EVERY: Duration = Duration::from_secs(2);
/// Silence of a tablet that pings each second.
const DEAD_AFTER: Duration = Duration::from_secs(4);
/// Silence of a program that only answers pings.
const DEAD_AFTER_NO_PINGS: Duration = Duration::from_secs(10);
/// A battery is slow: what a tablet says of it more often than this is passed over.
const BATTERY_EVERY: Duration = Duration::from_secs(1);
/// A tablet that takes this long to read one frame is gone.
const SENT_WITHIN: Duration = Duration::from_secs(5);

/// `GET /ws`
pub(super) async fn open(
    State(app): State<App>,
    Asking(device): Asking,
    upgrade: Result<WebSocketUpgrade, axum::extract::ws::rejection::WebSocketUpgradeRejection>,
) -> Result<Response, No> {
    let upgrade = upgrade.map_err(|rejection| {
        No::new(rejection.status(), "malformed", "This address takes WebSocket connections only.")
    })?;
    Ok(upgrade
        .read_buffer_size(BUFFER_BYTES)
        .write_buffer_size(BUFFER_BYTES)
        .max_message_size(MAX_SOCKET_BYTES)
        .max_frame_size(MAX_SOCKET_BYTES)
        .on_upgrade(move |socket| talk(socket, app, device)))
}

struct Link {
    app: App,
    device: DeviceRow,
    outbox: Outbox,
    pings: bool,
    heard: Instant,
    battery_at: Option<Instant>,
}

async fn send(socket: &mut (impl SinkExt<Message> + Unpin), text: Utf8Bytes) -> bool {
    matches!(tokio::time::timeout(SENT_WITHIN, socket.send(Message::Text(text))).await, Ok(Ok(())))
}

async fn talk(socket: WebSocket, app: App, device: DeviceRow) {
    let (outbox, mut inbox) = outbox();
    let (mut sink, mut stream) = socket.split();
    let mut list = app.hub.list_changes();
    list.mark_unchanged();
    let connection = app.hub.connect(&device, outbox.clone());
    let welcome = frame(&ServerMessage::Welcome {
        device: DeviceInfo {
            id: device.id,
            name: device.name.clone(),
            location: device.location.clone(),
            home_role: device.home_role,
        },
        server_ms: app.hub.clock.now_ms(),
        clock_rate: Some(app.hub.clock.rate()).filter(|rate| *rate > 1.0),
        codes: app.hub.codes_for(device.id),
    });
    let mut stopping = app.stopping.clone();
    let mut link = Link { app, device, outbox, pings: false, heard: Instant::now(), battery_at: None };
    let mut beat = tokio::time::interval(PING_EVERY);
    let mut alive = send(&mut sink, welcome).await && send(&mut sink, link.codes()).await;
    let mut goodbye = None;
    while alive {
        tokio::select! {
            biased;
            Ok(()) = inbox.view.changed() => {
                let view = inbox.view.borrow_and_update().clone();
                if let Some(view) = view {
                    alive = send(&mut sink, view).await;
                }
            }
            Some(message) = inbox.queue.recv() => alive = send(&mut sink, message).await,
            received = stream.next() => match received {
                Some(Ok(message)) => alive = link.hear(message, &mut sink).await,
                Some(Err(_)) | None => alive = false,
            },
            Ok(()) = list.changed() => {
                list.mark_unchanged();
                alive = send(&mut sink, link.codes()).await;
            }
            () = inbox.overflowed.notified() => {
                link.app.hub.metrics.overflows.add(1);
                goodbye = Some((axum::extract::ws::close_code::AGAIN, "could not keep up"));
                alive = false;
            }
            _ = beat.tick() => {
                if link.app.hub.device(link.device.id).is_none() {
                    goodbye = Some((axum::extract::ws::close_code::POLICY, "this device is no longer paired here"));
                    break;
                }
                let limit = if link.pings { DEAD_AFTER } else { DEAD_AFTER_NO_PINGS };
                let ping = Message::Ping(Vec::new().into());
                alive = link.heard.elapsed() < limit
                    && matches!(tokio::time::timeout(SENT_WITHIN, sink.send(ping)).await, Ok(Ok(())));
            }
            _ = stopping.changed() => {
                goodbye = Some((axum::extract::ws::close_code::RESTART, "the server stops"));
                alive = false;
            }
        }
    }
    link.app.hub.disconnect(connection);
    if let Some((code, reason)) = goodbye {
        let close = Message::Close(Some(CloseFrame { code, reason: reason.into() }));
        let _ = tokio::time::timeout(Duration::from_secs(1), sink.send(close)).await;
    }
}

impl Link {
    fn codes(&self) -> Utf8Bytes {
        self.app.hub.codes_message(self.device.id)
    }

    /// Takes what the tablet sent; false when the connection is over.
    async fn hear(&mut self, message: Message, sink: &mut (impl SinkExt<Message> + Unpin)) -> bool {
        let received_ms = self.app.hub.clock.now_ms();
        self.heard = Instant::now();
        match message {
            Message::Text(text) => match message::read(&text) {
                Ok(ClientMessage::Ping { sent_ms }) => {
                    self.pings = true;
                    return send(sink, self.pong(sent_ms, received_ms)).await;
                }
                Ok(ClientMessage::Record { id, code, at_ms, event, .. }) => self.record(id, code, at_ms, event).await,
                Ok(ClientMessage::Battery(battery)) => {
                    if self.battery_at.is_none_or(|at| at.elapsed() >= BATTERY_EVERY) {
                        self.battery_at = Some(Instant::now());
                        self.app.hub.battery(self.device.id, battery);
                    }
                }
                Err((id, refusal)) => self.refuse(id, &refusal),
            },
            Message::Binary(_) => {
                let refusal = Refusal::new(RefusalReason::Malformed, "Messages are text frames with JSON, not binary.");
                self.refuse(None, &refusal);
            }
            Message::Ping(_) | Message::Pong(_) => {}
            Message::Close(_) => return false,
        }
        true
    }

    fn pong(&self, sent_ms: f64, received_ms: i64) -> Utf8Bytes {
        frame(&ServerMessage::Pong { sent_ms, received_ms, replied_ms: self.app.hub.clock.now_ms() })
    }

    async fn record(&self, id: Uuid, code: Uuid, at_ms: Option<i64>, event: coxswain_engine::event::Event) {
        // A name or a place may have been changed since the connection was made.
        let Some(device) = self.app.hub.device(self.device.id) else {
            let refusal = Refusal::new(RefusalReason::NotInCode, "This device is no longer paired here.");
            return self.refuse(Some(id), &refusal);
        };
        let mut command = Command { device, reply: self.outbox.clone(), id, at_ms, event };
        // A room that just left memory is read again.
        for _ in 0..3 {
            match self.app.hub.room(code).await {
                Ok(Some(room)) => match room.commands.send(command).await {
                    Ok(()) => return,
                    Err(returned) => command = returned.0,
                },
                Ok(None) => {
                    return self
                        .refuse(Some(id), &Refusal::new(RefusalReason::UnknownCode, "code: there is no such code."));
                }
                Err(error) => {
                    tracing::error!(%error, "a code could not be read");
                    break;
                }
            }
        }
        self.refuse(
            Some(id),
            &Refusal::new(RefusalReason::Fault, "The server met a fault of its own; the record is not counted."),
        );
    }

    fn refuse(&self, id: Option<Uuid>, refusal: &Refusal) {
        self.app.hub.metrics.refusals.add(1);
        self.outbox.push(frame(&ServerMessage::Refused {
            id,
            reason: refusal.reason,
            message: refusal.message.clone(),
        }));
    }
}

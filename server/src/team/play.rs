//! Plays a scenario at a server: pairs seven devices, opens a code, and runs each player's socket until the code closes.
//! The players share no screen; only the count of askings and the list of deeds are common, and neither is shown to
//! them.

use std::collections::VecDeque;
use std::fmt;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use coxswain_engine::event::{Event, Role};
use coxswain_engine::prompt::Action;
use coxswain_engine::view::Phase;
use serde::{Deserialize, Serialize};
use serde_json::json;
use tokio::sync::{mpsc, watch};
use tokio::time::Instant;
use uuid::Uuid;

use super::coach::{self, Seat};
use super::http;
use super::link::{ServerClock, Socket, open_code, pair};
use super::player::{Askings, Player, Tap};
use super::scenario::{Look, Scenario};
use crate::wire::{ClientMessage, RosterEntry, ServerMessage, ViewMessage};

/// Why a team cannot play.
#[derive(Debug)]
pub enum TeamError {
    /// The server was not there.
    Io(std::io::Error),
    /// The socket failed.
    Socket(Box<tokio_tungstenite::tungstenite::Error>),
    /// The server said something else than expected.
    Server(String),
}

impl fmt::Display for TeamError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Io(error) => write!(f, "the server cannot be reached: {error}"),
            Self::Socket(error) => write!(f, "the socket failed: {error}"),
            Self::Server(words) => write!(f, "the server answered {words}"),
        }
    }
}

impl std::error::Error for TeamError {}

impl From<std::io::Error> for TeamError {
    fn from(error: std::io::Error) -> Self {
        Self::Io(error)
    }
}

impl From<tokio_tungstenite::tungstenite::Error> for TeamError {
    fn from(error: tokio_tungstenite::tungstenite::Error) -> Self {
        Self::Socket(Box::new(error))
    }
}

/// Something a player did, as the player believes it to be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Deed {
    /// Code time by the player's own clock.
    pub at_ms: i64,
    /// How far that clock may be off.
    pub clock_error_ms: f64,
    /// In which role.
    pub role: Role,
    /// The task it answers, if it was asked for.
    pub task: Option<Action>,
    /// The record's id.
    pub id: Uuid,
    /// What was tapped.
    pub event: Event,
    /// A tap by mistake, undone afterwards.
    pub mistaken: bool,
    /// The server said that it is on disk.
    pub durable: bool,
    /// The server refused it, with these words.
    pub refused: Option<String>,
}

/// What a bystander hears while the team plays.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    /// Somebody did something.
    Deed(Box<Deed>),
    /// A check begins, and this is what monitor and finger give.
    Monitor {
        /// Code time.
        at_ms: i64,
        /// What the look will be.
        look: Look,
    },
}

/// What comes out of a played scenario.
#[derive(Debug, Clone)]
pub struct Played {
    /// The code.
    pub code: Uuid,
    /// All deeds in order of code time.
    pub deeds: Vec<Deed>,
    /// Tasks that were asked and forgotten.
    pub forgotten: Vec<Action>,
}

/// Pairs the seven devices of a team, or finds them a seat: one for each role, at the scenario's location.
///
/// # Errors
/// If the server is not there or refuses.
pub async fn take_seats(address: SocketAddr, join_code: &str, location: &str) -> Result<Vec<Seat>, TeamError> {
    let mut seats = Vec::new();
    for &role in Role::ALL {
        let name = format!("{location} {} (simulated)", role.as_str());
        let pairing = pair(address, join_code, &name, Some(location), Some(role)).await?;
        seats.push(Seat { role, device: pairing.device, token: pairing.token });
    }
    Ok(seats)
}

/// Opens the scenario's code from the leader's device, as a drill.
///
/// # Errors
/// If the server is not there or refuses.
pub async fn open(address: SocketAddr, seats: &[Seat], scenario: &Scenario) -> Result<Uuid, TeamError> {
    let leader = seats.iter().find(|seat| seat.role == Role::Leader);
    let leader = leader.ok_or_else(|| TeamError::Server("a team needs a leader".to_owned()))?;
    let body = json!({
        "id": Uuid::now_v7(),
        "protocol": {"id": scenario.protocol, "version": 1},
        "patient": {"age_group": scenario.patient.age_group},
        "location": scenario.location,
        "training": true,
        "witnessed": true,
    });
    open_code(address, &leader.token, &body).await
}

/// Plays a code that is open, until it is closed or `stop` turns true. What happens is also sent to `told` as it happens.
///
/// # Errors
/// If a player's device is turned away by the server.
pub async fn play(
    address: SocketAddr,
    seats: &[Seat],
    code: Uuid,
    scenario: &Scenario,
    told: Option<mpsc::UnboundedSender<Told>>,
    stop: watch::Receiver<bool>,
) -> Result<Played, TeamError> {
    let scenario = Arc::new(scenario.clone());
    let askings = Arc::new(Askings::default());
    let seats: Arc<[Seat]> = seats.into();
    let mut players = tokio::task::JoinSet::new();
    for seat in seats.iter() {
        let device = Device {
            address,
            seat: seat.clone(),
            seats: Arc::clone(&seats),
            code,
            scenario: Arc::clone(&scenario),
            player: Player::new(Arc::clone(&scenario), Arc::clone(&askings)),
            told: told.clone(),
            clock: ServerClock::new(1.0),
            rate: 1.0,
            view: None,
            roster: None,
            outbox: VecDeque::new(),
            slips: Vec::new(),
            deeds: Vec::new(),
        };
        players.spawn(device.run(stop.clone()));
    }
    let mut played = Played { code, deeds: Vec::new(), forgotten: Vec::new() };
    while let Some(finished) = players.join_next().await {
        let deeds = finished.map_err(|error| TeamError::Server(format!("a player broke: {error}")))??;
        played.deeds.extend(deeds);
    }
    played.forgotten = askings.forgotten();
    played.deeds.sort_by_key(|deed| deed.at_ms);
    Ok(played)
}

/// How often a device asks for the time; the first few exchanges come faster.
const PING_EVERY: Duration = Duration::from_secs(1);
const FIRST_PINGS_EVERY: Duration = Duration::from_millis(40);
/// How often a device without a server looks for it.
const LOOK_FOR_SERVER_EVERY: Duration = Duration::from_millis(100);
/// How long an empty role stays empty before a simulated player fills it again.
const EMPTY_FOR: Duration = Duration::from_secs(8);
/// From a tap to the second one made by mistake, and from there to its undoing, in code time.
const SECOND_TAP_MS: i64 = 200;
const UNDO_AFTER_MS: i64 = 2_500;

/// What a mistaken tap still has to do.
enum SlipStep {
    Again(Box<Tap>),
    Undo(Uuid, Role),
}

struct Device {
    address: SocketAddr,
    seat: Seat,
    seats: Arc<[Seat]>,
    code: Uuid,
    scenario: Arc<Scenario>,
    player: Player,
    told: Option<mpsc::UnboundedSender<Told>>,
    clock: ServerClock,
    rate: f64,
    view: Option<ViewMessage>,
    roster: Option<(Vec<RosterEntry>, Instant)>,
    /// Records that the server has not acknowledged; sent again after a reconnect.
    outbox: VecDeque<ClientMessage>,
    slips: Vec<(i64, SlipStep)>,
    deeds: Vec<Deed>,
}

type Finished = Result<Vec<Deed>, TeamError>;

impl Device {
    async fn run(mut self, mut stop: watch::Receiver<bool>) -> Finished {
        loop {
            if *stop.borrow() || self.over() {
                return Ok(self.deeds);
            }
            match Socket::connect(self.address, &self.seat.token).await {
                Ok(socket) => self.while_connected(socket, &mut stop).await,
                Err(TeamError::Socket(error)) if matches!(*error, tokio_tungstenite::tungstenite::Error::Http(_)) => {
                    return Err(TeamError::Socket(error));
                }
                Err(_) => self.wait_for_server().await,
            }
        }
    }

    async fn wait_for_server(&self) {
        tokio::time::sleep(LOOK_FOR_SERVER_EVERY).await;
        // The answer itself does not matter: a refused connection only means to look again.
        drop(http::get(self.address, "/healthz", None).await);
    }

    /// Whether the code is closed and everything of this device is acknowledged.
    fn over(&self) -> bool {
        let closed = self.view.as_ref().is_some_and(|view| view.view.phase == Phase::Closed);
        closed && self.outbox.is_empty()
    }

    async fn while_connected(&mut self, mut socket: Socket, stop: &mut watch::Receiver<bool>) {
        let waiting: Vec<_> = self.outbox.iter().cloned().collect();
        for message in &waiting {
            if socket.send(message).await.is_err() {
                return;
            }
        }
        let mut pings = 0_u32;
        let mut next_ping = Instant::now();
        let mut wake = self.step(&mut socket).await;
        while !self.over() {
            let at = wake.map_or(next_ping, |wake| wake.min(next_ping));
            tokio::select! {
                frame = socket.next_text() => {
                    let Some(text) = frame else { return };
                    self.take(&text);
                    if pings == 0 {
                        next_ping = Instant::now();
                    }
                }
                () = tokio::time::sleep_until(at) => {}
                changed = stop.changed() => if changed.is_err() || *stop.borrow() { return },
            }
            if Instant::now() >= next_ping && self.view_or_greeting() {
                pings += 1;
                next_ping = Instant::now() + if pings < 5 { FIRST_PINGS_EVERY } else { PING_EVERY };
                let ping = ClientMessage::Ping { sent_ms: self.clock.local_ms() };
                if socket.send(&ping).await.is_err() {
                    return;
                }
            }
            wake = self.step(&mut socket).await;
        }
    }

    /// Before the greeting the rate of the server's clock is not known, and no exchange would mean anything.
    fn view_or_greeting(&self) -> bool {
        self.clock.server_ms().is_some()
    }

    fn take(&mut self, text: &str) {
        let Ok(message) = serde_json::from_str::<ServerMessage>(text) else { return };
        match message {
            ServerMessage::Welcome { server_ms, clock_rate, .. } => {
                self.rate = clock_rate.unwrap_or(1.0);
                self.clock = ServerClock::new(self.rate);
                self.clock.take_hint(server_ms as f64);
            }
            ServerMessage::Pong { sent_ms, received_ms, replied_ms } => {
                self.clock.take_exchange(sent_ms, received_ms, replied_ms);
            }
            ServerMessage::Recorded { id, .. } => self.acknowledged(id, None),
            ServerMessage::Refused { id: Some(id), reason, message } => {
                self.acknowledged(id, Some(format!("{reason:?}: {message}")));
            }
            ServerMessage::View(view) if view.code == self.code => {
                let newer = self.view.as_ref().is_none_or(|old| (view.run, view.rev) >= (old.run, old.rev));
                if newer {
                    self.view = Some(*view);
                }
            }
            ServerMessage::Roster { code, devices } if code == self.code => {
                self.roster = Some((devices, Instant::now()));
            }
            ServerMessage::Refused { id: None, .. }
            | ServerMessage::View(_)
            | ServerMessage::Roster { .. }
            | ServerMessage::Codes { .. }
            | ServerMessage::Timeline { .. } => {}
        }
    }

    fn acknowledged(&mut self, of: Uuid, refused: Option<String>) {
        self.outbox.retain(|message| !matches!(message, ClientMessage::Record { id, .. } if *id == of));
        if let Some(deed) = self.deeds.iter_mut().find(|deed| deed.id == of) {
            deed.durable = refused.is_none();
            deed.refused = refused;
        }
    }

    fn code_ms(&self) -> Option<i64> {
        let epoch_ms = self.view.as_ref()?.epoch_ms?;
        Some((self.clock.server_ms()? - epoch_ms as f64).round() as i64)
    }

    /// Does what is to be done now; says when to look again.
    async fn step(&mut self, socket: &mut Socket) -> Option<Instant> {
        let Some(now_ms) = self.code_ms() else {
            self.start_the_clock(socket).await;
            return None;
        };
        let (taps, mut wake_ms) = match &self.view {
            Some(view) => self.player.look(view, now_ms),
            None => return None,
        };
        if let Some(told) = &self.told
            && let Some(look) = self.view.as_ref().and_then(|view| self.player.first_to_see_a_check(view))
        {
            drop(told.send(Told::Monitor { at_ms: now_ms, look }));
        }
        for tap in taps {
            if tap.doubled {
                self.slips
                    .push((now_ms + SECOND_TAP_MS, SlipStep::Again(Box::new(Tap { doubled: false, ..tap.clone() }))));
            }
            self.record(socket, tap.role, tap.task, tap.event, false).await;
        }
        self.take_slips(socket, now_ms).await;
        for (at_ms, _) in &self.slips {
            wake_ms = Some(wake_ms.map_or(*at_ms, |wake_ms| wake_ms.min(*at_ms)));
        }
        let coach_again = self.coach(socket).await;
        let wake = wake_ms.map(|at_ms| {
            let real_ms = ((at_ms - now_ms).max(0) as f64 / self.rate).ceil().min(600_000.0);
            Instant::now() + Duration::from_millis(real_ms as u64)
        });
        [wake, coach_again].into_iter().flatten().min()
    }

    async fn start_the_clock(&mut self, socket: &mut Socket) {
        let standby = self.view.as_ref().is_some_and(|view| view.view.phase == Phase::Standby);
        if self.seat.role != Role::Leader || !standby || !self.outbox.is_empty() {
            return;
        }
        let ago_ms = (self.scenario.work.recognised_ago_s * 1_000.0) as i64;
        let recognised_ago_ms = Some(ago_ms).filter(|&ago_ms| ago_ms > 0);
        self.record(socket, Role::Leader, None, Event::ClockStarted { recognised_ago_ms }, false).await;
    }

    async fn take_slips(&mut self, socket: &mut Socket, now_ms: i64) {
        let (due, later) = std::mem::take(&mut self.slips).into_iter().partition(|(at_ms, _)| *at_ms <= now_ms);
        self.slips = later;
        let due: Vec<(i64, SlipStep)> = due;
        for (_, step) in due {
            match step {
                SlipStep::Again(tap) => {
                    let id = self.record(socket, tap.role, tap.task, tap.event, true).await;
                    self.slips.push((now_ms + UNDO_AFTER_MS, SlipStep::Undo(id, tap.role)));
                }
                SlipStep::Undo(target, role) => {
                    let event = Event::Voided { target, reason: "tapped twice".to_owned() };
                    self.record(socket, role, None, event, false).await;
                }
            }
        }
    }

    /// Steps back for people, and fills roles that they left.
    async fn coach(&mut self, socket: &mut Socket) -> Option<Instant> {
        let (roster, since) = self.roster.clone()?;
        let fill_at = since + EMPTY_FOR;
        let fill_in = Instant::now() >= fill_at;
        for event in coach::changes(&roster, &self.seats, self.seat.device, fill_in) {
            self.record(socket, self.seat.role, None, event, false).await;
            // What was just changed comes back as a new roster; until then there is nothing more to do.
            self.roster = None;
        }
        (!fill_in && self.roster.is_some()).then_some(fill_at)
    }

    async fn record(
        &mut self,
        socket: &mut Socket,
        role: Role,
        task: Option<Action>,
        event: Event,
        mistaken: bool,
    ) -> Uuid {
        let id = Uuid::now_v7();
        let at_ms = self.code_ms();
        let clock_error_ms = self.clock.error_ms();
        let message = ClientMessage::Record {
            id,
            code: self.code,
            at_ms,
            clock_error_ms: Some(clock_error_ms),
            event: event.clone(),
        };
        let deed = Deed {
            at_ms: at_ms.unwrap_or(0),
            clock_error_ms,
            role,
            task,
            id,
            event,
            mistaken,
            durable: false,
            refused: None,
        };
        if let Some(told) = &self.told {
            // Nobody listening any more is no reason to stop the team.
            drop(told.send(Told::Deed(Box::new(deed.clone()))));
        }
        self.deeds.push(deed);
        self.outbox.push_back(message.clone());
        // A send that fails is noticed by the next read; the record stays in the outbox and is sent again.
        drop(socket.send(&message).await);
        id
    }
}

//! A server in this process, on loopback and a port of its own, and devices at its sockets. It knows the wire only.

use std::net::SocketAddr;
use std::path::Path;
use std::time::{Duration, Instant};

use coxswain::ledger::Store;
use coxswain::server::{self, ServerError};
use coxswain::team::http::{HttpAnswer, post};
use coxswain::team::link::{Socket, pair};
use coxswain::tls::Tls;
use coxswain::web::{Entrance, Hosts, SAVED_WITHIN};
use serde_json::{Value, json};
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use uuid::Uuid;

/// Nothing in these tests takes longer than this, unless it is broken.
pub(crate) const PATIENCE: Duration = Duration::from_secs(20);

pub(crate) struct Running {
    pub(crate) address: SocketAddr,
    pub(crate) join_code: String,
    stop: oneshot::Sender<()>,
    task: JoinHandle<Result<(), ServerError>>,
}

pub(crate) async fn serve(folder: &Path) -> Running {
    serve_by(folder, None).await
}

pub(crate) async fn serve_by(folder: &Path, tls: Option<Tls>) -> Running {
    serve_waiting(folder, tls, SAVED_WITHIN).await
}

/// A server that waits for its disk for so long before it says that nothing is saved yet.
pub(crate) async fn serve_waiting(folder: &Path, tls: Option<Tls>, saved_within: Duration) -> Running {
    let deadline = Instant::now() + PATIENCE;
    let store = loop {
        // After a stop the folder is given back a moment later.
        match Store::serve(folder).await {
            Ok(store) => break store,
            Err(error) => assert!(Instant::now() < deadline, "{error}"),
        }
        tokio::task::yield_now().await;
    };
    let clock = store.clock().await.unwrap();
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = oneshot::channel();
    let (tell, told) = oneshot::channel();
    let task = tokio::spawn(server::run(
        Entrance { listener, hosts: Hosts::of_this_machine(&[]), tls, saved_within },
        store,
        clock,
        |ready| drop(tell.send(ready.join_code.clone())),
        async {
            drop(stopped.await);
        },
    ));
    Running { address, join_code: told.await.unwrap(), stop, task }
}

impl Running {
    pub(crate) async fn stop(self) {
        self.stop.send(()).unwrap();
        tokio::time::timeout(PATIENCE, self.task).await.unwrap().unwrap().unwrap();
    }

    pub(crate) async fn device(&self, name: &str, location: Option<&str>, home_role: Option<&str>) -> Device {
        let role = home_role.map(|role| role.parse().unwrap());
        let pairing = pair(self.address, &self.join_code, name, location, role).await.unwrap();
        self.connect(pairing.device, &pairing.token).await
    }

    pub(crate) async fn connect(&self, id: Uuid, token: &str) -> Device {
        let socket = Socket::connect(self.address, token).await.unwrap();
        let mut device = Device {
            id,
            token: token.to_owned(),
            socket,
            address: self.address,
            view: Value::Null,
            codes: Value::Null,
        };
        device.until("welcome", |_| true).await;
        device
    }
}

pub(crate) struct Device {
    pub(crate) id: Uuid,
    pub(crate) token: String,
    pub(crate) socket: Socket,
    address: SocketAddr,
    /// The latest view: a state, so one that has passed already still counts.
    view: Value,
    /// The latest list of running codes.
    codes: Value,
}

impl Device {
    pub(crate) async fn post(&self, path: &str, body: &Value) -> HttpAnswer {
        post(self.address, path, Some(&self.token), body).await.unwrap()
    }

    pub(crate) async fn open_code(&self, more: &Value) -> String {
        let mut body = json!({"protocol": {"id": "aha-adult", "version": 1}, "training": true});
        for (name, value) in more.as_object().unwrap() {
            body[name] = value.clone();
        }
        let answer = self.post("/api/codes", &body).await;
        assert!(answer.status == 201, "{} {}", answer.status, answer.text);
        answer.json()["id"].as_str().unwrap().to_owned()
    }

    /// The next message of a type for which `wanted` holds, or the latest view or list of codes if it does already: both say how
    /// things stand, and nobody promises which comes first. Other messages are passed over.
    pub(crate) async fn until(&mut self, kind: &str, wanted: impl Fn(&Value) -> bool) -> Value {
        for (name, standing) in [("view", &self.view), ("codes", &self.codes)] {
            if kind == name && *standing != Value::Null && wanted(standing) {
                return standing.clone();
            }
        }
        let deadline = Instant::now() + PATIENCE;
        let mut last = Value::Null;
        loop {
            let left = deadline.saturating_duration_since(Instant::now());
            let Ok(text) = tokio::time::timeout(left, self.socket.next_text()).await else {
                panic!("no {kind} came that was wanted; the last of its kind was {last}");
            };
            let text = text.expect("the connection ended");
            let message: Value = serde_json::from_str(&text).unwrap();
            if message["type"] == "view" {
                assert!(text.len() <= 4096, "a view of {} bytes", text.len());
                self.view = message.clone();
            }
            if message["type"] == "codes" {
                self.codes = message.clone();
            }
            if message["type"] == kind {
                if wanted(&message) {
                    return message;
                }
                last = message;
            }
        }
    }

    /// Reads on until the server ends the connection.
    pub(crate) async fn until_closed(&mut self) {
        let deadline = Instant::now() + PATIENCE;
        loop {
            let left = deadline.saturating_duration_since(Instant::now());
            match tokio::time::timeout(left, self.socket.next_text()).await {
                Ok(Some(_)) => {}
                Ok(None) => return,
                Err(_) => panic!("the connection is still open"),
            }
        }
    }

    pub(crate) async fn send(&mut self, message: &Value) {
        self.socket.send_text(message.to_string()).await.unwrap();
    }

    /// Sends a record and waits until it is on disk.
    pub(crate) async fn record(&mut self, code: &str, event: &Value) -> Value {
        let id = Uuid::now_v7().to_string();
        self.send(&json!({"type": "record", "id": id, "code": code, "event": event})).await;
        self.until("recorded", |message| message["id"] == id.as_str()).await
    }

    /// Sends a record and waits for its refusal.
    pub(crate) async fn refused(&mut self, message: &Value) -> Value {
        self.send(message).await;
        self.until("refused", |refused| refused["id"] == message["id"]).await
    }
}

/// Puts a timeline into a folder that nobody serves yet, as if the code had run there and ended an hour ago.
pub(crate) async fn put_code(folder: &Path, timeline: &str) -> Uuid {
    use coxswain::ledger::{Append, Job, Writer};
    use coxswain_engine::event::Event;
    use coxswain_engine::record::Record;
    use std::sync::Arc;

    let records: Vec<Record> = timeline.lines().map(|line| Record::from_json(line).unwrap()).collect();
    let store = Arc::new(Store::serve(folder).await.unwrap());
    let clock = Arc::new(store.clock().await.unwrap());
    store.raise_run(&clock).await.unwrap();
    let place = store.reader().last_code().await.unwrap() + 1;
    let (id, opened_at) = (records[0].code, records[0].recorded_at.clone());
    let last_ms = records.iter().map(|record| record.at_ms).max().unwrap();
    let epoch_ms = Some(clock.now_ms() - last_ms - 3_600_000);
    let closed = records.iter().any(|record| matches!(record.event, Event::CodeClosed { .. }));
    let named = records[0].event.protocol().unwrap().clone();
    let text = Arc::clone(&coxswain::shelf::Shelf::shipped().find(&named).unwrap().text);
    let (writer, _) = Writer::start(Arc::clone(&store), clock, Arc::default()).await.unwrap();
    let (durable, _) = tokio::sync::mpsc::unbounded_channel();
    writer.write(Job::Open { code: place, id, location: None, opened_at });
    writer.write(Job::Protocol { code: place, id: named.id, version: named.version, text });
    writer.write(Job::Append(Box::new(Append { code: place, records, epoch_ms, closed, durable })));
    writer.flush().await;
    id
}

/// A published case as a code of that folder.
pub(crate) async fn put_case(folder: &Path, name: &str) -> Uuid {
    let path = format!("{}/../tests/published/cases/{name}.jsonl", env!("CARGO_MANIFEST_DIR"));
    put_code(folder, &std::fs::read_to_string(path).unwrap()).await
}

pub(crate) const PASSWORD: &str = "a long enough password";

/// Gives a person an account, beside whoever serves.
pub(crate) async fn add_account(folder: &Path, name: &str, role: &str) -> Uuid {
    use coxswain::ledger::AccountRow;
    use coxswain::review::password;
    use coxswain::review::wire::Account;
    let account = Account { id: Uuid::now_v7(), name: name.to_owned(), role: role.parse().unwrap() };
    let row = AccountRow { account, password_hash: password::hash(PASSWORD).unwrap() };
    let store = Store::beside(folder).await.unwrap();
    store.add_account(&row, &coxswain::clock::wall_text()).await.unwrap().unwrap();
    row.account.id
}

/// A person at the review pages.
pub(crate) struct Reviewer {
    address: SocketAddr,
    pub(crate) cookie: String,
}

impl Reviewer {
    pub(crate) async fn sign_in(server: &Running, name: &str) -> Self {
        let answer =
            post(server.address, "/api/review/session", None, &json!({"name": name, "password": PASSWORD})).await;
        let answer = answer.unwrap();
        assert_eq!(answer.status, 201, "{}", answer.text);
        let (_, cookie) = answer.headers.iter().find(|(name, _)| name == "set-cookie").unwrap();
        Self { address: server.address, cookie: cookie.split(';').next().unwrap().to_owned() }
    }

    pub(crate) async fn ask(&self, method: &str, path: &str, body: &Value) -> HttpAnswer {
        let body = if body.is_null() { String::new() } else { body.to_string() };
        let headers = format!("Cookie: {}\r\n", self.cookie);
        coxswain::team::http::ask(self.address, method, path, &headers, &body).await.unwrap()
    }

    pub(crate) async fn get(&self, path: &str) -> Value {
        let answer = self.ask("GET", path, &Value::Null).await;
        assert_eq!(answer.status, 200, "{path}: {}", answer.text);
        answer.json()
    }

    pub(crate) async fn code(&self, id: Uuid) -> Value {
        self.get(&format!("/api/review/codes/{id}")).await
    }

    /// Asks for a change of a code as it was seen.
    pub(crate) async fn change(&self, seen: &Value, reason: &str, change: Value) -> HttpAnswer {
        let id = seen["line"]["id"].as_str().unwrap();
        let body = json!({"head": seen["head"], "reason": reason, "change": change});
        self.ask("POST", &format!("/api/review/codes/{id}/changes"), &body).await
    }

    /// Changes a code, which must be taken; how it stands then.
    pub(crate) async fn changed(&self, seen: &Value, change: Value) -> Value {
        let answer = self.change(seen, "as the monitor has it", change).await;
        assert_eq!(answer.status, 201, "{}", answer.text);
        answer.json()
    }
}

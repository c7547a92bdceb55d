//! How long review takes to answer over many codes, printed: never a pass or a fail. A folder of generated codes (20,000, or
//! COXSWAIN_CODES), one of them whole, the others with their opening alone and a line as the engine makes it; then each
//! request over loopback, as often as it takes to see a middle and a worst.
#![expect(clippy::unwrap_used, clippy::print_stdout, reason = "a benchmark ends at what it did not expect, and prints")]

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use coxswain::ledger::{AccountRow, Append, Job, LineRow, ReviewWrite, Store, Writer, chain};
use coxswain::review::line::{made_by, measured};
use coxswain::review::password;
use coxswain::review::reading::Reading;
use coxswain::review::summary::{CodeLine, Followed, Standing};
use coxswain::review::wire::{Account, AccountRole};
use coxswain::server;
use coxswain::shelf::Shelf;
use coxswain::team::http::{ask, post};
use coxswain::web::{Entrance, Hosts, SAVED_WITHIN};
use coxswain_engine::event::{Event, Outcome};
use coxswain_engine::record::Record;
use jiff::{SignedDuration, Timestamp};
use serde_json::json;
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use uuid::Uuid;

/// Asked so often each.
const TIMES: usize = 25;
const PASSWORD: &str = "a long enough password";

fn cases() -> Vec<Vec<Record>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/published/cases");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|file| file.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|end| end == "jsonl"));
    files.sort();
    let read = |file: &std::path::PathBuf| {
        std::fs::read_to_string(file).unwrap().lines().map(|line| Record::from_json(line).unwrap()).collect()
    };
    files.iter().map(read).collect()
}

/// Writes one whole code; the line that the engine makes of it.
async fn whole(store: &Store, writer: &Writer, place: i64, records: Vec<Record>) -> CodeLine {
    let id = records[0].code;
    let named = records[0].event.protocol().unwrap().clone();
    let text = Arc::clone(&Shelf::shipped().find(&named).unwrap().text);
    let (durable, _) = tokio::sync::mpsc::unbounded_channel();
    writer.write(Job::Open { code: place, id, location: None, opened_at: records[0].recorded_at.clone() });
    writer.write(Job::Protocol { code: place, id: named.id, version: named.version, text });
    writer.write(Job::Append(Box::new(Append { code: place, records, epoch_ms: Some(0), closed: true, durable })));
    writer.flush().await;
    let stored = store.reader().code(id).await.unwrap().unwrap();
    measured(&Reading::of(stored, None).unwrap(), &[]).line
}

/// How what was asked was followed, as much of it as a code of twenty minutes has.
fn asked(moved: i64) -> BTreeMap<String, Followed> {
    const ACTIONS: usize = 18;
    const TIMES_EACH: usize = 6;
    let after_due_ms = (0..TIMES_EACH).map(|time| moved * 3 - 1_000 + 137 * time as i64).collect();
    let followed = Followed { shown: TIMES_EACH + 2, done: TIMES_EACH, late: 1, withdrawn: 1, after_due_ms };
    (0..ACTIONS).map(|action| (format!("some_action_{action:02}"), followed.clone())).collect()
}

/// Makes the folder; the id of a whole code.
async fn generate(folder: &Path, count: usize) -> Uuid {
    let store = Arc::new(Store::serve(folder).await.unwrap());
    let clock = Arc::new(store.clock().await.unwrap());
    store.raise_run(&clock).await.unwrap();
    let (writer, _) = Writer::start(Arc::clone(&store), clock, Arc::default()).await.unwrap();
    let cases = cases();
    let mut lines = Vec::new();
    for (index, records) in cases.iter().enumerate() {
        lines.push(whole(&store, &writer, i64::try_from(index).unwrap() + 1, records.clone()).await);
    }
    let outcomes = [Outcome::Died, Outcome::SurvivedEvent, Outcome::Transferred, Outcome::NotAnArrest];
    let first: Timestamp = "2021-01-01T00:00:00Z".parse().unwrap();
    for number in cases.len()..count {
        let place = i64::try_from(number).unwrap() + 1;
        let mut line = lines[number % lines.len()].clone();
        let opened = first.checked_add(SignedDuration::from_secs(i64::try_from(number).unwrap() * 7_919)).unwrap();
        let (id, opened_at) = (Uuid::now_v7(), format!("{opened:.3}"));
        let mut record = cases[number % cases.len()][0].clone();
        (record.id, record.code, record.recorded_at) = (Uuid::now_v7(), id, opened_at.clone());
        record.seq = 1;
        let hash = chain::link(&chain::START, &record.canonical_json().unwrap());
        (line.id, line.opened_at, line.records, line.head) = (id, opened_at.clone(), 1, chain::hex(&hash));
        line.location = Some(format!("Bay {}", number % 40));
        line.training = number % 3 == 0;
        line.outcome = Some(outcomes[number % outcomes.len()]);
        line.standing = if number % 5 == 0 { Standing::Signed } else { Standing::Unsigned };
        let moved = i64::try_from(number % 997).unwrap();
        line.figures.first_compression_ms = line.figures.first_compression_ms.map(|ms| ms + moved);
        line.figures.pauses_ms.iter_mut().for_each(|ms| *ms += moved);
        line.figures.prompts = asked(moved);
        if let Event::CodeOpened { location, training, .. } = &mut record.event {
            (*location, *training) = (line.location.clone(), line.training);
        }
        let (durable, _) = tokio::sync::mpsc::unbounded_channel();
        let (done, _) = oneshot::channel();
        writer.write(Job::Open { code: place, id, location: line.location.clone(), opened_at });
        let append = Append { code: place, records: vec![record], epoch_ms: Some(0), closed: true, durable };
        writer.write(Job::Append(Box::new(append)));
        let row = LineRow { code: place, made_by: made_by(), line };
        writer.write(Job::Review { write: ReviewWrite::Line(Box::new(row)), done });
    }
    writer.flush().await;
    let account = Account { id: Uuid::now_v7(), name: "Ann".to_owned(), role: AccountRole::Administrator };
    let row = AccountRow { account, password_hash: password::hash(PASSWORD).unwrap() };
    store.add_account(&row, "2021-01-01T00:00:00Z").await.unwrap().unwrap();
    cases[0][0].code
}

async fn timed(address: SocketAddr, cookie: &str, path: &str) -> (Vec<Duration>, u16, usize) {
    let mut took = Vec::new();
    let (mut status, mut bytes) = (0, 0);
    for _ in 0..TIMES {
        let start = Instant::now();
        let answer = ask(address, "GET", path, cookie, "").await.unwrap();
        took.push(start.elapsed());
        (status, bytes) = (answer.status, answer.text.len());
    }
    took.sort();
    (took, status, bytes)
}

#[tokio::main]
async fn main() {
    let count = std::env::var("COXSWAIN_CODES").ok().and_then(|text| text.parse().ok()).unwrap_or(20_000);
    let folder = tempfile::tempdir().unwrap();
    let start = Instant::now();
    let one = generate(folder.path(), count).await;
    println!("{count} codes generated in {:.1} s", start.elapsed().as_secs_f64());
    let store = loop {
        match Store::serve(folder.path()).await {
            Ok(store) => break store,
            Err(_) => tokio::task::yield_now().await,
        }
    };
    let clock = store.clock().await.unwrap();
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = oneshot::channel::<()>();
    let entrance = Entrance { listener, hosts: Hosts::of_this_machine(&[]), tls: None, saved_within: SAVED_WITHIN };
    let serving = tokio::spawn(server::run(entrance, store, clock, |_| {}, async {
        drop(stopped.await);
    }));
    let signed_in = loop {
        match post(address, "/api/review/session", None, &json!({"name": "Ann", "password": PASSWORD})).await {
            Ok(answer) if answer.status == 201 => break answer,
            Ok(_) | Err(_) => tokio::task::yield_now().await,
        }
    };
    let (_, cookie) = signed_in.headers.iter().find(|(name, _)| name == "set-cookie").unwrap();
    let cookie = format!("Cookie: {}\r\n", cookie.split(';').next().unwrap());
    let last = count / 50;
    println!("{:56} {:>9} {:>9} {:>9}", "request", "middle", "worst", "bytes");
    for path in [
        "/api/review/codes".to_owned(),
        format!("/api/review/codes?page={last}"),
        "/api/review/codes?from=2023-01-01&to=2023-04-01".to_owned(),
        "/api/review/codes?location=Bay%207&training=false&outcome=died&signed=false".to_owned(),
        format!("/api/review/codes/{one}"),
        "/api/review/access_log".to_owned(),
        "/api/review/trends".to_owned(),
        "/api/review/trends?from=2023-01-01&to=2024-01-01&training=false".to_owned(),
    ] {
        let (took, status, bytes) = timed(address, &cookie, &path).await;
        let ms = |at: usize| took[at].as_secs_f64() * 1_000.0;
        let shown = path.replace(&one.to_string(), "ID");
        let told = if status == 200 { String::new() } else { format!("  (answered {status})") };
        println!("{shown:56} {:>6.1} ms {:>6.1} ms {bytes:>9}{told}", ms(TIMES / 2), ms(TIMES - 1));
    }
    drop(stop);
    serving.await.unwrap().unwrap();
}

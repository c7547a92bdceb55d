//! The ledger against real files: every statement, the chain, order over rooms, and a disk that does not take records.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use coxswain_engine::event::Event;
use coxswain_engine::record::{Author, Record, Source};
use sqlx::{Connection, Executor, SqliteConnection};
use tokio::sync::mpsc;
use uuid::Uuid;

use super::*;
use crate::metrics::Metrics;

fn record(code: Uuid, text: &str) -> Record {
    Record {
        seq: 0,
        id: Uuid::now_v7(),
        code,
        at_ms: 0,
        received_ms: Some(0),
        recorded_at: crate::clock::wall_text(),
        by: Author { device: Uuid::now_v7(), name: "Bay 1".to_owned(), roles: Vec::new() },
        source: Source::Live,
        event: Event::Note { text: text.to_owned() },
    }
}

async fn writer(folder: &Path) -> (Arc<Store>, Writer) {
    let store = Arc::new(Store::serve(folder).await.unwrap());
    let clock = Arc::new(store.clock().await.unwrap());
    store.raise_run(&clock).await.unwrap();
    let (writer, _) = Writer::start(Arc::clone(&store), clock, Arc::new(Metrics::default())).await.unwrap();
    (store, writer)
}

fn open(writer: &Writer, place: i64) -> Uuid {
    let id = Uuid::now_v7();
    writer.write(Job::Open { code: place, id, location: None, opened_at: crate::clock::wall_text() });
    id
}

fn append(writer: &Writer, place: i64, code: Uuid, text: &str, durable: &mpsc::UnboundedSender<Durable>) -> Uuid {
    let record = record(code, text);
    let id = record.id;
    let durable = durable.clone();
    writer.write(Job::Append(Box::new(Append {
        code: place,
        records: vec![record],
        epoch_ms: None,
        closed: false,
        durable,
    })));
    id
}

/// Alters a stored file as somebody with access to it could.
async fn tamper(folder: &Path, statements: &'static [&'static str]) {
    let mut connection = SqliteConnection::connect_with(&write_options(&folder.join(FILE_NAME))).await.unwrap();
    for statement in statements {
        sqlx::query(*statement).execute(&mut connection).await.unwrap();
    }
    connection.close().await.unwrap();
}

#[tokio::test]
async fn every_statement_fits_the_migrated_file() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::serve(folder.path()).await.unwrap();
    let mut connection = store.writing().await.unwrap();
    for (name, statement) in sql::ALL {
        let prepared = (&mut connection).prepare(sqlx::SqlStr::from_static(statement)).await;
        assert!(prepared.is_ok(), "{name}: {:?}", prepared.err());
    }
}

#[tokio::test]
async fn a_second_server_cannot_have_the_same_folder_but_the_shell_can_write_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    let first = Store::serve(folder.path()).await.unwrap();
    assert!(matches!(Store::serve(folder.path()).await, Err(LedgerError::InUse(_))));
    let beside = Store::beside(folder.path()).await.unwrap();
    let device = DeviceRow { id: Uuid::now_v7(), name: "Bay 1".to_owned(), location: None, home_role: None };
    beside.add_device(&device, &[7; 32], "now").await.unwrap();
    assert_eq!(first.reader().device_by_token(&[7; 32]).await.unwrap(), Some(device));
    assert_eq!(beside.remove_device("Bay 1", "now").await.unwrap(), 1);
    assert_eq!(first.reader().device_by_token(&[7; 32]).await.unwrap(), None);
    drop(first);
    assert!(Store::serve(folder.path()).await.is_ok());
}

#[tokio::test]
async fn records_of_many_rooms_keep_their_order_and_every_chain_holds() {
    let folder = tempfile::tempdir().unwrap();
    let (store, writer) = writer(folder.path()).await;
    let (durable, mut committed) = mpsc::unbounded_channel();
    let codes: Vec<Uuid> = (1..=5).map(|place| open(&writer, place)).collect();
    let mut sent: Vec<Vec<Uuid>> = vec![Vec::new(); codes.len()];
    for round in 0..40 {
        for (index, code) in codes.iter().enumerate() {
            let place = i64::try_from(index).unwrap() + 1;
            sent[index].push(append(&writer, place, *code, &format!("{round}"), &durable));
        }
    }
    writer.flush().await;
    let mut told = Vec::new();
    while let Ok(one) = committed.try_recv() {
        told.push(one.id);
    }
    assert_eq!(told.len(), 200);
    for (index, code) in codes.iter().enumerate() {
        let stored = store.reader().code(*code).await.unwrap().unwrap();
        let ids: Vec<Uuid> = stored.records.iter().map(|line| Record::from_json(&line.text).unwrap().id).collect();
        assert_eq!(ids, sent[index]);
        let own: Vec<Uuid> = told.iter().copied().filter(|id| sent[index].contains(id)).collect();
        assert_eq!(own, sent[index], "acknowledged in the order of the chain");
        stored.verify().unwrap();
    }
}

#[tokio::test]
async fn a_chain_goes_on_after_a_restart_and_the_run_is_raised() {
    let folder = tempfile::tempdir().unwrap();
    let (durable, _committed) = mpsc::unbounded_channel();
    let code = {
        let (_store, writer) = writer(folder.path()).await;
        let code = open(&writer, 1);
        append(&writer, 1, code, "before", &durable);
        writer.flush().await;
        code
    };
    // The folder is free once the first writer's task has let go of it.
    let deadline = Instant::now() + Duration::from_secs(10);
    let (store, writer) = loop {
        if Store::serve(folder.path()).await.is_ok() {
            break writer(folder.path()).await;
        }
        assert!(Instant::now() < deadline, "the lock was never given back");
        tokio::task::yield_now().await;
    };
    append(&writer, 1, code, "after", &durable);
    writer.flush().await;
    let stored = store.reader().code(code).await.unwrap().unwrap();
    assert_eq!(stored.records.iter().map(|record| record.seq).collect::<Vec<_>>(), [1, 2]);
    stored.verify().unwrap();
    assert_eq!(store.raise_run(&store.clock().await.unwrap()).await.unwrap(), 3);
}

#[tokio::test]
async fn tampering_shows() {
    const ALTER: &[&str] =
        &["DROP TRIGGER record_is_never_edited", "UPDATE record SET text = replace(text, 'two', 'TWO') WHERE seq = 2"];
    const CUT_OUT: &[&str] = &["DROP TRIGGER record_is_never_deleted", "DELETE FROM record WHERE seq = 2"];
    const SWAP: &[&str] = &[
        "DROP TRIGGER record_is_never_edited",
        "UPDATE record SET seq = 9 WHERE seq = 2",
        "UPDATE record SET seq = 2 WHERE seq = 3",
        "UPDATE record SET seq = 3 WHERE seq = 9",
    ];
    for (attack, at) in [(ALTER, 2), (CUT_OUT, 2), (SWAP, 2)] {
        let folder = tempfile::tempdir().unwrap();
        let (store, writer) = writer(folder.path()).await;
        let (durable, _committed) = mpsc::unbounded_channel();
        let code = open(&writer, 1);
        for text in ["one", "two", "three"] {
            append(&writer, 1, code, text, &durable);
        }
        writer.flush().await;
        store.reader().code(code).await.unwrap().unwrap().verify().unwrap();
        tamper(folder.path(), attack).await;
        let broken = store.reader().code(code).await.unwrap().unwrap().verify().unwrap_err();
        assert_eq!(broken.seq, at, "{attack:?}: {broken}");
    }
}

#[tokio::test]
async fn records_cannot_be_edited_or_deleted_through_the_file_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let (store, writer) = writer(folder.path()).await;
    let (durable, _committed) = mpsc::unbounded_channel();
    let code = open(&writer, 1);
    append(&writer, 1, code, "one", &durable);
    writer.flush().await;
    let mut connection = store.writing().await.unwrap();
    assert!(sqlx::query("UPDATE record SET text = ''").execute(&mut connection).await.is_err());
    assert!(sqlx::query("DELETE FROM record").execute(&mut connection).await.is_err());
}

#[tokio::test]
async fn while_the_disk_does_not_take_records_it_is_said_and_nothing_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    let (store, writer) = writer(folder.path()).await;
    let (durable, mut committed) = mpsc::unbounded_channel();
    let code = open(&writer, 1);
    writer.flush().await;
    // Another process keeps the file to itself: to the writer that is a disk that does not take records.
    let mut other = store.writing().await.unwrap();
    sqlx::query("BEGIN IMMEDIATE").execute(&mut other).await.unwrap();
    let first = append(&writer, 1, code, "one", &durable);
    let mut trouble = writer.trouble();
    tokio::time::timeout(Duration::from_secs(20), trouble.wait_for(Option::is_some)).await.unwrap().unwrap();
    let second = append(&writer, 1, code, "two", &durable);
    assert!(committed.try_recv().is_err(), "nothing is acknowledged before it is on disk");
    sqlx::query("ROLLBACK").execute(&mut other).await.unwrap();
    for (id, seq) in [(first, 1), (second, 2)] {
        let durable = tokio::time::timeout(Duration::from_secs(20), committed.recv()).await.unwrap().unwrap();
        assert_eq!((durable.id, durable.seq), (id, seq));
    }
    tokio::time::timeout(Duration::from_secs(20), trouble.wait_for(Option::is_none)).await.unwrap().unwrap();
    store.reader().code(code).await.unwrap().unwrap().verify().unwrap();
}

#[tokio::test]
async fn a_job_that_breaks_a_rule_of_the_file_costs_itself_only() {
    let folder = tempfile::tempdir().unwrap();
    let (store, writer) = writer(folder.path()).await;
    let (durable, mut committed) = mpsc::unbounded_channel();
    let code = open(&writer, 1);
    // No code has this key: the foreign key refuses it, together with whatever shares its transaction.
    append(&writer, 99, code, "nowhere", &durable);
    let good = append(&writer, 1, code, "one", &durable);
    writer.flush().await;
    assert_eq!(committed.recv().await.map(|durable| durable.id), Some(good));
    let stored = store.reader().code(code).await.unwrap().unwrap();
    assert_eq!(stored.records.len(), 1);
    stored.verify().unwrap();
}

/// A line that was made while the chain moved on must not pass for one of the chain as it is.
#[tokio::test]
async fn a_line_is_stale_until_it_is_made_from_the_whole_chain_by_the_definitions_of_today() {
    use crate::review::line::measured;
    use crate::review::reading::Reading;
    use coxswain_engine::event::{Outcome, Patient};

    let folder = tempfile::tempdir().unwrap();
    let (store, writer) = writer(folder.path()).await;
    let (durable, _committed) = mpsc::unbounded_channel();
    let code = open(&writer, 1);
    let shelf = crate::shelf::Shelf::shipped();
    let entry = shelf.get("aha-adult").unwrap();
    let (id, version, text) = (entry.protocol.id.clone(), entry.protocol.version, Arc::clone(&entry.text));
    let protocol = coxswain_engine::event::ProtocolRef { id: id.clone(), version, sha256: None };
    writer.write(Job::Protocol { code: 1, id, version, text });
    let opened = Event::CodeOpened {
        protocol,
        patient: Patient::default(),
        location: None,
        training: true,
        witnessed: None,
        monitored: None,
        prior_care: None,
    };
    let closed = Event::CodeClosed { outcome: Outcome::NotAnArrest, cpr_ongoing: None };
    let records = [opened, closed].map(|event| Record { event, ..record(code, "") }).to_vec();
    let durable_of = durable.clone();
    let append_all = Append { code: 1, records, epoch_ms: None, closed: true, durable: durable_of };
    writer.write(Job::Append(Box::new(append_all)));
    writer.flush().await;
    let stored = store.reader().code(code).await.unwrap().unwrap();
    let line = measured(&Reading::of(stored, None).unwrap(), &[]).line;
    let keep = async |line: &crate::review::summary::CodeLine| {
        let (done, kept) = tokio::sync::oneshot::channel();
        let row = LineRow { code: 1, made_by: "today".to_owned(), line: line.clone() };
        writer.write(Job::Review { write: ReviewWrite::Line(Box::new(row)), done });
        kept.await.unwrap();
        store.reader().stale_lines(true, 10).await.unwrap()
    };
    let mut early = line.clone();
    early.records = 1;
    assert_eq!(keep(&early).await, [code]);
    assert_eq!(keep(&line).await, Vec::<Uuid>::new());
    let filter = crate::review::wire::CodeFilter::default();
    assert_eq!(store.reader().lines(&filter, 10, 0).await.unwrap().first(), Some(&line));
    store.age_lines("today").await.unwrap();
    assert_eq!(store.reader().stale_lines(true, 10).await.unwrap(), Vec::<Uuid>::new());
    store.age_lines("tomorrow").await.unwrap();
    assert_eq!(store.reader().stale_lines(true, 10).await.unwrap(), [code]);
    // What another definition made may have another shape: nobody reads it.
    assert_eq!(store.reader().lines(&filter, 10, 0).await.unwrap(), []);
    assert_eq!(store.reader().count_stale_lines().await.unwrap(), 1);
    assert_eq!(keep(&line).await, Vec::<Uuid>::new());
    append(&writer, 1, code, "one more", &durable);
    writer.flush().await;
    // `append` says that the code is open: its line is asked for with those of running codes.
    assert_eq!(store.reader().stale_lines(false, 10).await.unwrap(), [code]);
}

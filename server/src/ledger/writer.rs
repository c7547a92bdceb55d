//! The one task that writes. It takes what is waiting, commits it in one transaction over all rooms, and only then says
//! so. On a fault it keeps the order, opens the file anew and tries again; nothing taken is ever dropped for a full disk.

use std::collections::HashMap;
use std::pin::pin;
use std::sync::Arc;
use std::time::{Duration, Instant};

use coxswain_engine::event::Role;
use coxswain_engine::record::Record;
use sqlx::{Connection, Row, SqliteConnection};
use tokio::sync::{mpsc, oneshot, watch};
use tokio::task::JoinHandle;
use uuid::Uuid;

use super::chain::{self, Hash};
use super::review::{self, ReviewWrite};
use super::{DeviceRow, LedgerError, Store, sql};
use crate::clock::Clock;
use crate::metrics::Metrics;

/// Most jobs in one transaction.
const BATCH: usize = 512;
/// The longest wait between two tries.
const LONGEST_BACKOFF: Duration = Duration::from_secs(2);
/// A commit that takes longer than this is told to the screens.
const SLOW: Duration = Duration::from_secs(2);
/// The clock is stored at least this often.
const MARK_EVERY: Duration = Duration::from_secs(10);

/// A record is on disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Durable {
    /// Which.
    pub id: Uuid,
    /// Its final place.
    pub seq: u64,
    /// The chain's hash after it.
    pub head: Hash,
}

/// Records to be committed, and what the code's row says from then on.
#[derive(Debug)]
pub struct Append {
    /// The code's short key.
    pub code: i64,
    /// The records, written together or not at all; the writer gives each its final place. Mostly it is one.
    pub records: Vec<Record>,
    /// Server time of code time 0.
    pub epoch_ms: Option<i64>,
    /// Whether the code is over.
    pub closed: bool,
    /// Told after the commit.
    pub durable: mpsc::UnboundedSender<Durable>,
}

/// What became of a prompt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Became {
    /// It became visible.
    Shown,
    /// A record did it.
    Done,
    /// It went without having been done.
    Withdrawn,
}

impl Became {
    const fn as_str(self) -> &'static str {
        match self {
            Self::Shown => "shown",
            Self::Done => "done",
            Self::Withdrawn => "withdrawn",
        }
    }
}

/// Something to be written.
#[derive(Debug)]
pub enum Job {
    /// A code opens; its first record follows.
    Open {
        /// Its short key.
        code: i64,
        /// Its id.
        id: Uuid,
        /// Where.
        location: Option<String>,
        /// Wall clock.
        opened_at: String,
    },
    /// The text of a protocol that a code runs under.
    Protocol {
        /// The code's short key.
        code: i64,
        /// The protocol's id.
        id: String,
        /// Its version.
        version: u32,
        /// Its exact text.
        text: Arc<str>,
    },
    /// One record, or several that belong together.
    Append(Box<Append>),
    /// A device is bound to a code.
    Member {
        /// The code's short key.
        code: i64,
        /// The device.
        device: Uuid,
    },
    /// A line of the prompt log.
    Prompt {
        /// The code's short key.
        code: i64,
        /// The prompt's key.
        key: String,
        /// What became of it.
        became: Became,
        /// When, in code time.
        at_ms: i64,
        /// The devices it shows on.
        devices: Vec<Uuid>,
        /// The roles it asks.
        roles: Vec<Role>,
        /// When it is due, in code time.
        due_at_ms: i64,
        /// When it is late, in code time.
        late_at_ms: Option<i64>,
        /// The record that did it, if one did.
        record: Option<Uuid>,
    },
    /// What review keeps beside the chains.
    Review {
        /// What.
        write: ReviewWrite,
        /// Told after the commit.
        done: oneshot::Sender<()>,
    },
    /// A device is paired.
    AddDevice {
        /// Who.
        device: DeviceRow,
        /// SHA-256 of its token.
        token_hash: Hash,
        /// Wall clock.
        paired_at: String,
        /// Told after the commit.
        done: oneshot::Sender<()>,
    },
    /// A device's name, location or home role changed.
    ChangeDevice {
        /// As it is now.
        device: DeviceRow,
        /// Told after the commit.
        done: oneshot::Sender<()>,
    },
    /// Everything before this is on disk.
    Flush(oneshot::Sender<()>),
}

/// Where jobs are handed in.
#[derive(Debug, Clone)]
pub struct Writer {
    jobs: mpsc::UnboundedSender<Job>,
    trouble: watch::Receiver<Option<String>>,
}

impl Writer {
    /// Starts the task.
    ///
    /// # Errors
    /// If the file cannot be opened.
    pub async fn start(
        store: Arc<Store>,
        clock: Arc<Clock>,
        metrics: Arc<Metrics>,
    ) -> Result<(Self, JoinHandle<()>), LedgerError> {
        let connection = store.writing().await?;
        let (jobs, waiting) = mpsc::unbounded_channel();
        let (tell, trouble) = watch::channel(None);
        let task = Task { store, clock, metrics, connection: Some(connection), ends: HashMap::new(), trouble: tell };
        Ok((Self { jobs, trouble }, tokio::spawn(task.run(waiting))))
    }

    /// Hands in a job. What is handed in is written in this order.
    pub fn write(&self, job: Job) {
        // The task ends only after every handle is gone, so this cannot fail while the server runs.
        let _ = self.jobs.send(job);
    }

    /// What is not being saved, in words, while the disk does not take records.
    pub fn trouble(&self) -> watch::Receiver<Option<String>> {
        self.trouble.clone()
    }

    /// Waits until everything handed in so far is on disk.
    pub async fn flush(&self) {
        let (done, wait) = oneshot::channel();
        self.write(Job::Flush(done));
        let _ = wait.await;
    }
}

/// The last link of a code's chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct End {
    seq: u64,
    head: Hash,
}

/// The texts and ends that a batch will make: computed before anything is written, and the same at each try.
#[derive(Debug, Default)]
struct Links {
    /// By index in the batch: one for each record of that job.
    texts: HashMap<usize, Vec<(String, End)>>,
    ends: HashMap<i64, End>,
}

struct Task {
    store: Arc<Store>,
    clock: Arc<Clock>,
    metrics: Arc<Metrics>,
    connection: Option<SqliteConnection>,
    ends: HashMap<i64, End>,
    trouble: watch::Sender<Option<String>>,
}

impl Task {
    async fn run(mut self, mut waiting: mpsc::UnboundedReceiver<Job>) {
        let mut batch = Vec::with_capacity(BATCH);
        loop {
            batch.clear();
            // With nothing to write for a while the clock alone is stored.
            if let Ok(0) = tokio::time::timeout(MARK_EVERY, waiting.recv_many(&mut batch, BATCH)).await {
                break;
            }
            self.commit(&mut batch).await;
        }
        if let Some(mut connection) = self.connection.take() {
            let _ = sqlx::query(sql::CHECKPOINT).execute(&mut connection).await;
            let _ = connection.close().await;
        }
    }

    /// Commits a batch, however often that has to be tried.
    async fn commit(&mut self, batch: &mut Vec<Job>) {
        let started = Instant::now();
        let mut backoff = Duration::from_millis(50);
        let mut links = None;
        loop {
            let trouble = self.trouble.clone();
            let outcome = {
                let mut work = pin!(self.attempt(batch, &mut links));
                tokio::select! {
                    outcome = &mut work => outcome,
                    () = tokio::time::sleep(SLOW) => {
                        trouble.send_replace(Some("The disk is slow: what was just entered is not saved yet.".to_owned()));
                        work.await
                    }
                }
            };
            match outcome {
                Ok(()) => break,
                Err(error) if is_constraint(&error) && batch.len() > 1 => {
                    // One bad job must not hold up the others: each gets a transaction of its own.
                    tracing::error!(%error, "a batch broke a rule of the data file; writing its jobs one by one");
                    self.ends.clear();
                    for job in std::mem::take(batch) {
                        Box::pin(self.commit(&mut vec![job])).await;
                    }
                    return;
                }
                Err(error) if is_constraint(&error) => {
                    tracing::error!(%error, "a job broke a rule of the data file and was left out");
                    self.ends.clear();
                    batch.clear();
                    return;
                }
                Err(error) => {
                    tracing::error!(%error, "the data file cannot be written; trying again");
                    self.metrics.commit_failures.add(1);
                    trouble.send_replace(Some(
                        "The disk does not take records: what was just entered is not saved yet.".to_owned(),
                    ));
                    self.connection = None;
                    tokio::time::sleep(backoff).await;
                    backoff = (backoff * 2).min(LONGEST_BACKOFF);
                }
            }
        }
        self.metrics.commits.add(1);
        self.metrics.commit_us.add(u64::try_from(started.elapsed().as_micros()).unwrap_or(u64::MAX));
        self.trouble.send_if_modified(|trouble| trouble.take().is_some());
        let links = links.unwrap_or_default();
        self.ends.extend(links.ends);
        for (index, job) in batch.drain(..).enumerate() {
            match job {
                Job::Append(append) => {
                    let ends = links.texts.get(&index).into_iter().flatten();
                    for (record, (_, end)) in append.records.iter().zip(ends) {
                        let _ = append.durable.send(Durable { id: record.id, seq: end.seq, head: end.head });
                    }
                }
                Job::AddDevice { done, .. }
                | Job::ChangeDevice { done, .. }
                | Job::Review { done, .. }
                | Job::Flush(done) => {
                    let _ = done.send(());
                }
                Job::Open { .. } | Job::Protocol { .. } | Job::Member { .. } | Job::Prompt { .. } => {}
            }
        }
    }

    async fn attempt(&mut self, batch: &[Job], links: &mut Option<Links>) -> Result<(), sqlx::Error> {
        let mut connection = match self.connection.take() {
            Some(connection) => connection,
            None => self.store.writing().await.map_err(|error| match error {
                LedgerError::Sql(error) => error,
                other => sqlx::Error::Protocol(other.to_string()),
            })?,
        };
        let first_try = links.is_none();
        if links.is_none() {
            *links = Some(self.link(batch, &mut connection).await?);
        }
        let Some(links) = links.as_ref() else { return Ok(()) };
        // A commit that failed may have reached the disk all the same: the end of any chain tells.
        if first_try || !reached(links, &mut connection).await? {
            write(batch, links, &self.clock, &mut connection).await?;
        }
        self.connection = Some(connection);
        Ok(())
    }

    async fn link(&self, batch: &[Job], connection: &mut SqliteConnection) -> Result<Links, sqlx::Error> {
        let mut links = Links::default();
        for (index, job) in batch.iter().enumerate() {
            let Job::Append(append) = job else { continue };
            let known = links.ends.get(&append.code).or_else(|| self.ends.get(&append.code)).copied();
            let mut end = match known {
                Some(end) => end,
                None => stored_end(append.code, connection).await?,
            };
            let mut texts = Vec::with_capacity(append.records.len());
            for record in &append.records {
                let mut record = record.clone();
                record.seq = end.seq + 1;
                let text = record.canonical_json().map_err(|error| sqlx::Error::Encode(Box::new(error)))?;
                end = End { seq: record.seq, head: chain::link(&end.head, &text) };
                texts.push((text, end));
            }
            links.texts.insert(index, texts);
            links.ends.insert(append.code, end);
        }
        Ok(links)
    }
}

fn is_constraint(error: &sqlx::Error) -> bool {
    match error {
        sqlx::Error::Database(error) => {
            error.is_unique_violation() || error.is_foreign_key_violation() || error.is_check_violation()
        }
        sqlx::Error::Encode(_) => true,
        _ => false,
    }
}

async fn stored_end(code: i64, connection: &mut SqliteConnection) -> Result<End, sqlx::Error> {
    let Some(row) = sqlx::query(sql::LAST_RECORD).bind(code).fetch_optional(connection).await? else {
        return Ok(End { seq: 0, head: chain::START });
    };
    let seq: i64 = row.try_get(0)?;
    let head: Vec<u8> = row.try_get(1)?;
    let head = Hash::try_from(head).map_err(|_| sqlx::Error::Protocol("a stored hash has not 32 bytes".to_owned()))?;
    Ok(End { seq: u64::try_from(seq).unwrap_or_default(), head })
}

async fn reached(links: &Links, connection: &mut SqliteConnection) -> Result<bool, sqlx::Error> {
    match links.ends.iter().next() {
        Some((code, end)) => Ok(stored_end(*code, connection).await?.seq >= end.seq),
        None => Ok(false),
    }
}

async fn write(
    batch: &[Job],
    links: &Links,
    clock: &Clock,
    connection: &mut SqliteConnection,
) -> Result<(), sqlx::Error> {
    sqlx::query(sql::BEGIN).execute(&mut *connection).await?;
    let outcome = write_all(batch, links, clock, connection).await;
    if outcome.is_err() {
        let _ = sqlx::query(sql::ROLLBACK).execute(&mut *connection).await;
    }
    outcome
}

async fn write_all(
    batch: &[Job],
    links: &Links,
    clock: &Clock,
    connection: &mut SqliteConnection,
) -> Result<(), sqlx::Error> {
    let mut rows: HashMap<i64, (Option<i64>, bool)> = HashMap::new();
    for (index, job) in batch.iter().enumerate() {
        match job {
            Job::Open { code, id, location, opened_at } => {
                let query = sqlx::query(sql::OPEN_CODE).bind(code).bind(id.to_string());
                query.bind(location).bind(opened_at).execute(&mut *connection).await?;
            }
            Job::Protocol { code, id, version, text } => {
                let query = sqlx::query(sql::ADD_PROTOCOL).bind(code).bind(id).bind(version);
                query.bind(text.as_ref()).execute(&mut *connection).await?;
            }
            Job::Append(append) => {
                for (text, end) in links.texts.get(&index).into_iter().flatten() {
                    let seq = i64::try_from(end.seq).unwrap_or(i64::MAX);
                    let query = sqlx::query(sql::ADD_RECORD).bind(append.code).bind(seq).bind(text.as_str());
                    query.bind(end.head.to_vec()).execute(&mut *connection).await?;
                }
                rows.insert(append.code, (append.epoch_ms, append.closed));
            }
            Job::Member { code, device } => {
                sqlx::query(sql::ADD_MEMBER).bind(code).bind(device.to_string()).execute(&mut *connection).await?;
            }
            Job::Prompt { code, key, became, at_ms, devices, roles, due_at_ms, late_at_ms, record } => {
                let list = |text: Result<String, serde_json::Error>| {
                    text.map_err(|error| sqlx::Error::Encode(Box::new(error)))
                };
                let (devices, roles) = (list(serde_json::to_string(devices))?, list(serde_json::to_string(roles))?);
                let query = sqlx::query(sql::ADD_PROMPT).bind(code).bind(key).bind(became.as_str()).bind(at_ms);
                let query = query.bind(devices).bind(roles).bind(due_at_ms).bind(late_at_ms);
                let query = query.bind(record.map(|record| record.to_string()));
                query.execute(&mut *connection).await?;
            }
            Job::Review { write, .. } => review::write(write, connection).await?,
            Job::AddDevice { device, token_hash, paired_at, .. } => {
                add_device(device, token_hash, paired_at, connection).await?;
            }
            Job::ChangeDevice { device, .. } => {
                let query = sqlx::query(sql::CHANGE_DEVICE).bind(device.id.to_string()).bind(&device.name);
                let query = query.bind(&device.location).bind(device.home_role.map(|role| role.as_str()));
                query.execute(&mut *connection).await?;
            }
            Job::Flush(_) => {}
        }
    }
    for (code, (epoch_ms, closed)) in rows {
        sqlx::query(sql::SET_CODE).bind(code).bind(epoch_ms).bind(closed).execute(&mut *connection).await?;
    }
    let mark = clock.mark();
    let query = sqlx::query(sql::WRITE_MARK).bind(mark.boot_id).bind(mark.boot_ms);
    query.bind(mark.server_ms).bind(mark.wall_ms).execute(&mut *connection).await?;
    sqlx::query(sql::COMMIT).execute(&mut *connection).await?;
    Ok(())
}

async fn add_device(
    device: &DeviceRow,
    token_hash: &Hash,
    paired_at: &str,
    connection: &mut SqliteConnection,
) -> Result<(), sqlx::Error> {
    let query = sqlx::query(sql::ADD_DEVICE).bind(device.id.to_string()).bind(&device.name).bind(&device.location);
    let query = query.bind(device.home_role.map(|role| role.as_str())).bind(token_hash.to_vec()).bind(paired_at);
    query.execute(connection).await?;
    Ok(())
}

impl Store {
    /// Pairs a device from the shell, beside whoever serves.
    ///
    /// # Errors
    /// If the file cannot be written.
    pub async fn add_device(&self, device: &DeviceRow, token_hash: &Hash, paired_at: &str) -> Result<(), LedgerError> {
        let mut connection = self.writing().await?;
        add_device(device, token_hash, paired_at, &mut connection).await?;
        connection.close().await?;
        Ok(())
    }

    /// Ends the pairing of every device of that name or id; says of how many.
    ///
    /// # Errors
    /// If the file cannot be written.
    pub async fn remove_device(&self, name_or_id: &str, removed_at: &str) -> Result<u64, LedgerError> {
        let mut connection = self.writing().await?;
        let outcome =
            sqlx::query(sql::REMOVE_DEVICE).bind(name_or_id).bind(removed_at).execute(&mut connection).await?;
        connection.close().await?;
        Ok(outcome.rows_affected())
    }
}

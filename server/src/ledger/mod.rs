//! The ledger: one SQLite file in the data folder. One writer task commits; readers have their own read-only pool.
//! It must not know what a record means, beyond keeping it exactly and in order.

pub mod chain;
mod read;
mod review;
mod sql;
#[cfg(test)]
mod tests;
mod writer;

use std::fmt;
use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};
use std::time::Duration;

use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{Connection, Row, SqliteConnection};

use crate::clock::{Clock, Mark};

pub use read::{Broken, CodeRow, CodeTime, DeviceRow, PromptRow, Reader, StoredCode, StoredRecord};
pub use review::{AccountRow, LineRow, ReviewWrite, SessionRow};
pub use writer::{Append, Became, Durable, Job, Writer};

/// The file within the data folder.
pub const FILE_NAME: &str = "coxswain.sqlite";
/// How long the writer waits for another process that writes, such as `coxswain device add`.
const BUSY_TIMEOUT: Duration = Duration::from_millis(1_000);
/// Connections that read at the same time.
const READERS: u32 = 4;

static MIGRATIONS: sqlx::migrate::Migrator = sqlx::migrate!("../migrations");

/// Why the ledger could not be opened, read or written.
#[derive(Debug)]
pub enum LedgerError {
    /// Another server holds the folder.
    InUse(PathBuf),
    /// There is no ledger there.
    Missing(PathBuf),
    /// The folder or file could not be used.
    Io(PathBuf, std::io::Error),
    /// SQLite refused.
    Sql(sqlx::Error),
    /// The file's shape could not be brought up to date.
    Migrate(sqlx::migrate::MigrateError),
}

impl fmt::Display for LedgerError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::InUse(folder) => {
                write!(
                    f,
                    "another coxswain serves the data folder {} already; stop it, or give this one another --data",
                    folder.display()
                )
            }
            Self::Missing(folder) => {
                write!(f, "there is no coxswain data in {}; give the folder with --data", folder.display())
            }
            Self::Io(path, error) => write!(f, "{} cannot be used: {error}", path.display()),
            Self::Sql(error) => write!(f, "the data file cannot be used: {error}"),
            Self::Migrate(error) => write!(f, "the data file cannot be brought up to date: {error}"),
        }
    }
}

impl std::error::Error for LedgerError {}

impl From<sqlx::Error> for LedgerError {
    fn from(error: sqlx::Error) -> Self {
        Self::Sql(error)
    }
}

impl From<sqlx::migrate::MigrateError> for LedgerError {
    fn from(error: sqlx::migrate::MigrateError) -> Self {
        Self::Migrate(error)
    }
}

/// An opened data folder.
#[derive(Debug)]
pub struct Store {
    folder: PathBuf,
    reader: Reader,
    /// Held for as long as the server lives.
    _lock: Option<File>,
}

fn write_options(file: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(file)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(BUSY_TIMEOUT)
}

fn read_options(file: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new().filename(file).read_only(true).foreign_keys(true).busy_timeout(BUSY_TIMEOUT)
}

impl Store {
    /// Opens a folder to serve from it, making it if it is not there. Nobody else can then serve from it.
    ///
    /// # Errors
    /// If another server holds it, or it cannot be used.
    pub async fn serve(folder: &Path) -> Result<Self, LedgerError> {
        std::fs::create_dir_all(folder).map_err(|error| LedgerError::Io(folder.to_owned(), error))?;
        let path = folder.join("lock");
        let lock = OpenOptions::new().create(true).truncate(false).write(true).open(&path);
        let lock = lock.map_err(|error| LedgerError::Io(path.clone(), error))?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(LedgerError::InUse(folder.to_owned())),
            Err(TryLockError::Error(error)) => return Err(LedgerError::Io(path, error)),
        }
        Self::migrated(folder, Some(lock)).await
    }

    /// Opens a folder beside whoever serves from it, to write as the shell does.
    ///
    /// # Errors
    /// If it cannot be used.
    pub async fn beside(folder: &Path) -> Result<Self, LedgerError> {
        std::fs::create_dir_all(folder).map_err(|error| LedgerError::Io(folder.to_owned(), error))?;
        Self::migrated(folder, None).await
    }

    /// Opens a folder to read only.
    ///
    /// # Errors
    /// If there is none, or it cannot be used.
    pub async fn read_only(folder: &Path) -> Result<Self, LedgerError> {
        let file = folder.join(FILE_NAME);
        if !file.exists() {
            return Err(LedgerError::Missing(folder.to_owned()));
        }
        Ok(Self { folder: folder.to_owned(), reader: Self::reading(&file), _lock: None })
    }

    async fn migrated(folder: &Path, lock: Option<File>) -> Result<Self, LedgerError> {
        let file = folder.join(FILE_NAME);
        let mut connection = SqliteConnection::connect_with(&write_options(&file)).await?;
        MIGRATIONS.run(&mut connection).await?;
        connection.close().await?;
        Ok(Self { folder: folder.to_owned(), reader: Self::reading(&file), _lock: lock })
    }

    fn reading(file: &Path) -> Reader {
        let pool: SqlitePool = SqlitePoolOptions::new().max_connections(READERS).connect_lazy_with(read_options(file));
        Reader::new(pool)
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Reads.
    pub fn reader(&self) -> &Reader {
        &self.reader
    }

    /// A connection that writes.
    ///
    /// # Errors
    /// If the file cannot be opened.
    pub async fn writing(&self) -> Result<SqliteConnection, LedgerError> {
        Ok(SqliteConnection::connect_with(&write_options(&self.folder.join(FILE_NAME))).await?)
    }

    /// The clock as it goes on from what was stored.
    ///
    /// # Errors
    /// If the file cannot be read.
    pub async fn clock(&self) -> Result<Clock, LedgerError> {
        let mut connection = self.writing().await?;
        let row = sqlx::query(sql::READ_MARK).fetch_optional(&mut connection).await?;
        let mark = match row {
            Some(row) => Some(Mark {
                boot_id: row.try_get(0)?,
                boot_ms: row.try_get(1)?,
                server_ms: row.try_get(2)?,
                wall_ms: row.try_get(3)?,
            }),
            None => None,
        };
        connection.close().await?;
        Ok(Clock::resume(mark.as_ref()))
    }

    /// Raises the run durably: every start has its own, before anybody can connect.
    ///
    /// # Errors
    /// If the file cannot be written.
    pub async fn raise_run(&self, clock: &Clock) -> Result<u64, LedgerError> {
        let mut connection = self.writing().await?;
        let mark = clock.mark();
        let run: i64 = sqlx::query_scalar(sql::RAISE_RUN)
            .bind(mark.boot_id)
            .bind(mark.boot_ms)
            .bind(mark.server_ms)
            .bind(mark.wall_ms)
            .fetch_one(&mut connection)
            .await?;
        connection.close().await?;
        Ok(u64::try_from(run).unwrap_or_default())
    }
}

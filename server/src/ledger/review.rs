//! What review keeps beside the chains: accounts, sessions, the access log, and the lines of the list. All of it is written
//! by the one writer, except what the server's own shell does beside it.

use std::str::FromStr;

use serde::Serialize;
use serde::de::DeserializeOwned;
use sqlx::sqlite::SqliteRow;
use sqlx::{Connection, Row, SqliteConnection};
use uuid::Uuid;

use super::chain::Hash;
use super::read::{Read, Reader, uuid};
use super::{LedgerError, Store, sql};
use crate::review::summary::{CodeLine, Standing};
use crate::review::trends::Point;
use crate::review::wire::{AccessEntry, Account, AccountRole, CodeFilter, Deed};
use crate::review::words;

/// A person who may review, with what is kept of the password.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AccountRow {
    /// Who.
    pub account: Account,
    /// Argon2, as a PHC string.
    pub password_hash: String,
}

/// Who is signed in, and since when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SessionRow {
    /// Who.
    pub account: Account,
    /// Server time of signing in.
    pub began_ms: i64,
    /// Server time of the last request, to the minute.
    pub seen_ms: i64,
}

/// A code's line, with what it was made from.
#[derive(Debug, Clone, PartialEq)]
pub struct LineRow {
    /// The code's short key.
    pub code: i64,
    /// Which definitions made it.
    pub made_by: String,
    /// The line; `records` is the length of the chain it was made from.
    pub line: CodeLine,
}

/// Something to be written for review.
#[derive(Debug)]
pub enum ReviewWrite {
    /// Somebody signed in.
    AddSession {
        /// SHA-256 of the token.
        token_hash: Hash,
        /// Who.
        account: Uuid,
        /// Server time.
        now_ms: i64,
    },
    /// A session was used.
    TouchSession {
        /// SHA-256 of the token.
        token_hash: Hash,
        /// Server time.
        now_ms: i64,
    },
    /// Somebody signed out.
    EndSession {
        /// SHA-256 of the token.
        token_hash: Hash,
    },
    /// Sessions that nobody can use any more.
    EndOldSessions {
        /// Last seen before this.
        seen_before_ms: i64,
        /// Begun before this.
        began_before_ms: i64,
    },
    /// An entry of the access log; its place is the writer's to give.
    Access(AccessEntry),
    /// A code's line.
    Line(Box<LineRow>),
    /// A code that cannot be read: it has no line until its chain moves or another version of the server reads it.
    NoLine {
        /// The code's short key.
        code: i64,
        /// Which definitions could not make it.
        made_by: String,
    },
}

/// The word that a value of a closed set is in JSON.
fn word<T: Serialize>(value: &T) -> Option<String> {
    serde_json::to_value(value).ok().and_then(|value| value.as_str().map(str::to_owned))
}

fn from_word<T: DeserializeOwned>(word: String) -> Read<T> {
    serde_json::from_value(serde_json::Value::String(word)).map_err(|error| sqlx::Error::Decode(Box::new(error)))
}

impl FromStr for AccountRole {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        Self::ALL.iter().copied().find(|role| role.as_str() == text).ok_or_else(|| {
            let known: Vec<_> = Self::ALL.iter().map(|role| role.as_str()).collect();
            format!("`{text}` is no role of an account; the roles are {}", known.join(", "))
        })
    }
}

pub(super) async fn write(write: &ReviewWrite, connection: &mut SqliteConnection) -> Read<()> {
    let query = match write {
        ReviewWrite::AddSession { token_hash, account, now_ms } => {
            sqlx::query(sql::ADD_SESSION).bind(token_hash.to_vec()).bind(account.to_string()).bind(now_ms)
        }
        ReviewWrite::TouchSession { token_hash, now_ms } => {
            sqlx::query(sql::TOUCH_SESSION).bind(token_hash.to_vec()).bind(now_ms)
        }
        ReviewWrite::EndSession { token_hash } => sqlx::query(sql::END_SESSION).bind(token_hash.to_vec()),
        ReviewWrite::EndOldSessions { seen_before_ms, began_before_ms } => {
            sqlx::query(sql::END_OLD_SESSIONS).bind(seen_before_ms).bind(began_before_ms)
        }
        ReviewWrite::NoLine { code, made_by } => sqlx::query(sql::NO_LINE).bind(code).bind(made_by),
        ReviewWrite::Access(entry) => return log_access(entry, connection).await,
        ReviewWrite::Line(row) => {
            let line = &row.line;
            let text = serde_json::to_string(line).map_err(|error| sqlx::Error::Encode(Box::new(error)))?;
            let query =
                sqlx::query(sql::KEEP_LINE).bind(row.code).bind(i64::try_from(line.records).unwrap_or(i64::MAX));
            let query = query.bind(&row.made_by).bind(&line.opened_at).bind(&line.location).bind(&line.protocol);
            let query = query.bind(line.training).bind(line.outcome.as_ref().and_then(word));
            let point = Point::of(line).to_text().map_err(|error| sqlx::Error::Encode(Box::new(error)))?;
            query.bind(line.standing == Standing::Signed).bind(text).bind(point)
        }
    };
    query.execute(connection).await?;
    Ok(())
}

async fn log_access(entry: &AccessEntry, connection: &mut SqliteConnection) -> Read<()> {
    let query = sqlx::query(sql::LOG_ACCESS).bind(&entry.at).bind(entry.account.map(|id| id.to_string()));
    let query = query.bind(&entry.name).bind(word(&entry.deed)).bind(entry.code.map(|id| id.to_string()));
    query.bind(&entry.detail).bind(&entry.from).execute(connection).await?;
    Ok(())
}

fn account(row: &SqliteRow) -> Read<Account> {
    Ok(Account { id: uuid(row.try_get(0)?)?, name: row.try_get(1)?, role: from_word(row.try_get(2)?)? })
}

fn account_row(row: &SqliteRow) -> Read<AccountRow> {
    Ok(AccountRow { account: account(row)?, password_hash: row.try_get(3)? })
}

fn access(row: &SqliteRow) -> Read<AccessEntry> {
    let id = |text: Option<String>| text.map(|text| uuid(&text)).transpose();
    Ok(AccessEntry {
        place: row.try_get(0)?,
        at: row.try_get(1)?,
        account: id(row.try_get(2)?)?,
        name: row.try_get(3)?,
        deed: from_word::<Deed>(row.try_get(4)?)?,
        code: id(row.try_get(5)?)?,
        detail: row.try_get(6)?,
        from: row.try_get(7)?,
    })
}

impl Reader {
    /// Everybody who may review.
    pub async fn accounts(&self) -> Read<Vec<Account>> {
        sqlx::query(sql::ACCOUNTS).fetch_all(&self.pool).await?.iter().map(account).collect()
    }

    /// The account of a name, in capital letters or small ones.
    pub async fn account_by_name(&self, name: &str) -> Read<Option<AccountRow>> {
        let row = sqlx::query(sql::ACCOUNT_BY_NAME).bind(name).fetch_optional(&self.pool).await?;
        row.as_ref().map(account_row).transpose()
    }

    /// The session that a token's hash belongs to, whether it has expired or not.
    pub async fn session(&self, token_hash: &Hash) -> Read<Option<SessionRow>> {
        let row = sqlx::query(sql::SESSION).bind(token_hash.to_vec()).fetch_optional(&self.pool).await?;
        let read = |row: &SqliteRow| {
            Ok(SessionRow { account: account(row)?, began_ms: row.try_get(3)?, seen_ms: row.try_get(4)? })
        };
        row.as_ref().map(read).transpose()
    }

    /// Entries of the access log, the latest first: of one code, or all. With how many there are.
    pub async fn accesses(&self, code: Option<Uuid>, limit: u64, offset: u64) -> Read<(Vec<AccessEntry>, u64)> {
        let code = code.map(|id| id.to_string());
        let number = |number: u64| i64::try_from(number).unwrap_or(i64::MAX);
        let query = sqlx::query(sql::ACCESSES).bind(&code).bind(number(limit)).bind(number(offset));
        let entries = query.fetch_all(&self.pool).await?.iter().map(access).collect::<Read<_>>()?;
        let count: i64 = sqlx::query_scalar(sql::COUNT_ACCESSES).bind(&code).fetch_one(&self.pool).await?;
        Ok((entries, u64::try_from(count).unwrap_or_default()))
    }

    /// Codes whose line has to be made: those that are over, or those that run; the latest first.
    pub async fn stale_lines(&self, over: bool, limit: i64) -> Read<Vec<Uuid>> {
        let statement = if over { sql::STALE_OVER } else { sql::STALE_RUNNING };
        let ids: Vec<String> = sqlx::query_scalar(statement).bind(limit).fetch_all(&self.pool).await?;
        ids.iter().map(|id| uuid(id)).collect()
    }

    /// How many lines are missing, or are not as their code is; those of running codes aside.
    pub async fn count_stale_lines(&self) -> Read<u64> {
        let count: i64 = sqlx::query_scalar(sql::COUNT_STALE).fetch_one(&self.pool).await?;
        Ok(u64::try_from(count).unwrap_or_default())
    }

    /// How many codes cannot be read, and have no line for that.
    pub async fn count_unreadable(&self) -> Read<u64> {
        let count: i64 = sqlx::query_scalar(sql::COUNT_UNREADABLE).fetch_one(&self.pool).await?;
        Ok(u64::try_from(count).unwrap_or_default())
    }

    /// Lines that a filter lets through, the latest first. The filter's moments are UTC text, as [`CodeLine`] has them.
    pub async fn lines(&self, filter: &CodeFilter, limit: u64, offset: u64) -> Read<Vec<CodeLine>> {
        let number = |number: u64| i64::try_from(number).unwrap_or(i64::MAX);
        let query = sqlx::query_scalar(sql::LINES).bind(&filter.from).bind(&filter.to).bind(&filter.location);
        let query = query.bind(&filter.protocol).bind(filter.training).bind(filter.outcome.as_ref().and_then(word));
        let texts: Vec<String> =
            query.bind(filter.signed).bind(number(limit)).bind(number(offset)).fetch_all(&self.pool).await?;
        let line = |text: &String| serde_json::from_str(text).map_err(|error| sqlx::Error::Decode(Box::new(error)));
        texts.iter().map(line).collect()
    }

    /// The points of some codes that a filter lets through, those after a place, with a space between them; and the place of the
    /// last one. None if there are no more.
    pub async fn points(&self, filter: &CodeFilter, after: i64) -> Read<Option<(i64, String)>> {
        let query = sqlx::query(sql::POINTS).bind(&filter.from).bind(&filter.to).bind(&filter.location);
        let query = query.bind(&filter.protocol).bind(filter.training).bind(filter.outcome.as_ref().and_then(word));
        let row = query.bind(filter.signed).bind(after).fetch_one(&self.pool).await?;
        let (last, points): (Option<i64>, Option<String>) = (row.try_get(0)?, row.try_get(1)?);
        Ok(last.zip(points))
    }

    /// How many lines a filter lets through.
    pub async fn count_lines(&self, filter: &CodeFilter) -> Read<u64> {
        let query = sqlx::query_scalar(sql::COUNT_LINES).bind(&filter.from).bind(&filter.to).bind(&filter.location);
        let query = query.bind(&filter.protocol).bind(filter.training).bind(filter.outcome.as_ref().and_then(word));
        let count: i64 = query.bind(filter.signed).fetch_one(&self.pool).await?;
        Ok(u64::try_from(count).unwrap_or_default())
    }

    /// Every location and every protocol that a line names.
    pub async fn line_choices(&self) -> Read<(Vec<String>, Vec<String>)> {
        let locations = sqlx::query_scalar(sql::LINE_LOCATIONS).fetch_all(&self.pool).await?;
        let protocols = sqlx::query_scalar(sql::LINE_PROTOCOLS).fetch_all(&self.pool).await?;
        Ok((locations, protocols))
    }
}

impl Store {
    /// Adds a person from the shell, beside whoever serves. The account that stands in the way, if its name is the same or
    /// looks the same: what somebody signed must not be taken for another's.
    ///
    /// # Errors
    /// If the file cannot be written.
    pub async fn add_account(&self, row: &AccountRow, at: &str) -> Result<Result<(), Account>, LedgerError> {
        let mut connection = self.writing().await?;
        let account = &row.account;
        let mut both = connection.begin_with(sql::BEGIN).await?;
        for row in sqlx::query(sql::ACCOUNTS).fetch_all(&mut *both).await? {
            let other = self::account(&row)?;
            if words::looks_like(&other.name, &account.name) {
                return Ok(Err(other));
            }
        }
        let query = sqlx::query(sql::ADD_ACCOUNT).bind(account.id.to_string()).bind(&account.name);
        let query = query.bind(account.role.as_str()).bind(&row.password_hash).bind(at);
        query.execute(&mut *both).await?;
        log_access(&by_shell(account, Deed::AccountAdded, at), &mut both).await?;
        both.commit().await?;
        Ok(Ok(()))
    }

    /// Removes a person from the shell; every session of theirs ends. `None` if nobody has that name.
    ///
    /// # Errors
    /// If the file cannot be written.
    pub async fn remove_account(&self, name: &str, at: &str) -> Result<Option<Account>, LedgerError> {
        let mut connection = self.writing().await?;
        let mut both = connection.begin_with(sql::BEGIN).await?;
        let row = sqlx::query(sql::ACCOUNT_BY_NAME).bind(name).fetch_optional(&mut *both).await?;
        let Some(account) = row.as_ref().map(account).transpose()? else { return Ok(None) };
        let id = account.id.to_string();
        sqlx::query(sql::REMOVE_ACCOUNT).bind(&id).bind(at).execute(&mut *both).await?;
        sqlx::query(sql::END_SESSIONS_OF).bind(&id).execute(&mut *both).await?;
        log_access(&by_shell(&account, Deed::AccountRemoved, at), &mut both).await?;
        both.commit().await?;
        Ok(Some(account))
    }

    /// Has every line made anew that other definitions made; until then there is none, since its shape may be another.
    ///
    /// # Errors
    /// If the file cannot be written.
    pub async fn age_lines(&self, made_by: &str) -> Result<(), LedgerError> {
        let mut connection = self.writing().await?;
        sqlx::query(sql::AGE_LINES).bind(made_by).execute(&mut connection).await?;
        connection.close().await?;
        Ok(())
    }
}

/// What was done from the server's own shell.
fn by_shell(account: &Account, deed: Deed, at: &str) -> AccessEntry {
    AccessEntry {
        place: 0,
        at: at.to_owned(),
        account: Some(account.id),
        name: "shell".to_owned(),
        deed,
        code: None,
        detail: Some(format!("{}, {}", account.name, account.role.as_str())),
        from: None,
    }
}

//! What is read from the ledger, through a read-only pool. Nothing here writes.

use std::fmt;

use coxswain_engine::event::{Event, Role};
use sqlx::Row;
use sqlx::sqlite::{SqlitePool, SqliteRow};
use uuid::Uuid;

use super::chain::{self, Hash};
use super::sql;

pub(super) type Read<T> = Result<T, sqlx::Error>;

/// A pool of read-only connections.
#[derive(Debug, Clone)]
pub struct Reader {
    pub(super) pool: SqlitePool,
}

/// A paired device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeviceRow {
    /// Its id.
    pub id: Uuid,
    /// Its name as people call it.
    pub name: String,
    /// Where it stands.
    pub location: Option<String>,
    /// The role it wakes into.
    pub home_role: Option<Role>,
}

/// A code in a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CodeRow {
    /// Its id.
    pub id: Uuid,
    /// Where.
    pub location: Option<String>,
    /// Wall clock of its opening.
    pub opened_at: String,
    /// Whether it is over.
    pub closed: bool,
    /// How many records it has.
    pub records: i64,
}

/// When a code was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CodeTime {
    /// Its id.
    pub id: Uuid,
    /// The hash of its chain.
    pub head: Vec<u8>,
    /// Wall clock of its opening, as it was written then.
    pub written_at: String,
    /// The same as its line has it, with the alignments that stand; absent where the line is missing or not as its code is.
    pub aligned_at: Option<String>,
}

/// A record as it is stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredRecord {
    /// Its place in the chain.
    pub seq: u64,
    /// Its exact text.
    pub text: String,
    /// The chain's hash after it.
    pub hash: Vec<u8>,
}

/// A whole code as it is stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredCode {
    /// Its short key.
    pub place: i64,
    /// Its id.
    pub id: Uuid,
    /// Where.
    pub location: Option<String>,
    /// Server time of code time 0.
    pub epoch_ms: Option<i64>,
    /// Whether it is over.
    pub closed: bool,
    /// Texts of the protocols it ran under, by id and version.
    pub protocols: Vec<(String, u32, String)>,
    /// The chain.
    pub records: Vec<StoredRecord>,
    /// The devices bound to it.
    pub members: Vec<Uuid>,
}

/// A line of the prompt log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PromptRow {
    /// The prompt's key.
    pub key: String,
    /// `shown`, `done` or `withdrawn`.
    pub became: String,
    /// When, in code time.
    pub at_ms: i64,
    /// The devices it showed on, a JSON list.
    pub devices: String,
    /// The roles that were asked, a JSON list; absent in lines from before this was kept.
    pub roles: Option<String>,
    /// When it was due, in code time.
    pub due_at_ms: Option<i64>,
    /// When it was late, in code time.
    pub late_at_ms: Option<i64>,
    /// The id of the record that did it; absent where none did, and in lines from before this was kept.
    pub record: Option<String>,
}

/// Where a chain is broken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// The record at which it shows.
    pub seq: u64,
    /// What is wrong.
    pub problem: String,
}

impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "record {}: {}", self.seq, self.problem)
    }
}

impl StoredCode {
    /// Follows the chain from its start.
    ///
    /// # Errors
    /// Names the first record that does not fit.
    pub fn verify(&self) -> Result<Hash, Broken> {
        let mut head = chain::START;
        for (index, record) in self.records.iter().enumerate() {
            let place = index as u64 + 1;
            let broken = |problem: &str| Broken { seq: place, problem: problem.to_owned() };
            if record.seq != place {
                return Err(broken(&format!("is missing; the next one stored is {}", record.seq)));
            }
            head = chain::link(&head, &record.text);
            if record.hash != head {
                return Err(broken("its text does not fit its hash: it, or one before it, was altered"));
            }
            let read = coxswain_engine::record::Record::from_json(&record.text);
            match read {
                Ok(read) if read.seq == place && read.code == self.id => {
                    if let Some(problem) = self.unlike_its_protocol(&read.event) {
                        return Err(broken(&problem));
                    }
                }
                Ok(_) => return Err(broken("its text names another place or another code")),
                Err(error) => return Err(broken(&format!("its text cannot be read: {error}"))),
            }
        }
        Ok(head)
    }

    /// What does not fit between the hash that a record has of its protocol's text and the text that is stored.
    fn unlike_its_protocol(&self, event: &Event) -> Option<String> {
        let named = event.protocol()?;
        let hash = named.sha256.as_ref()?;
        let stored = self.protocols.iter().find(|(id, version, _)| *id == named.id && *version == named.version);
        match stored {
            None => Some(format!("the text of its protocol `{}`, version {}, is not stored", named.id, named.version)),
            Some((_, _, text)) if chain::of_text(text) != *hash => {
                Some(format!("the stored text of its protocol `{}` is not the one it names: it was altered", named.id))
            }
            Some(_) => None,
        }
    }
}

pub(super) fn uuid(text: &str) -> Read<Uuid> {
    Uuid::parse_str(text).map_err(|error| sqlx::Error::Decode(Box::new(error)))
}

fn code_row(row: &SqliteRow) -> Read<CodeRow> {
    Ok(CodeRow {
        id: uuid(row.try_get(0)?)?,
        location: row.try_get(1)?,
        opened_at: row.try_get(2)?,
        closed: row.try_get::<i64, _>(3)? != 0,
        records: row.try_get(4)?,
    })
}

fn device(row: &SqliteRow) -> Read<DeviceRow> {
    let home_role: Option<String> = row.try_get(3)?;
    Ok(DeviceRow {
        id: uuid(row.try_get(0)?)?,
        name: row.try_get(1)?,
        location: row.try_get(2)?,
        home_role: home_role.and_then(|role| role.parse().ok()),
    })
}

impl Reader {
    pub(super) fn new(pool: SqlitePool) -> Self {
        Self { pool }
    }

    /// The device that a token's hash belongs to.
    pub async fn device_by_token(&self, hash: &Hash) -> Read<Option<DeviceRow>> {
        let row = sqlx::query(sql::DEVICE_BY_TOKEN).bind(hash.to_vec()).fetch_optional(&self.pool).await?;
        row.as_ref().map(device).transpose()
    }

    /// Every paired device.
    pub async fn devices(&self) -> Read<Vec<DeviceRow>> {
        sqlx::query(sql::DEVICES).fetch_all(&self.pool).await?.iter().map(device).collect()
    }

    /// The short key of the code opened last; 0 before the first.
    pub async fn last_code(&self) -> Read<i64> {
        sqlx::query_scalar(sql::LAST_CODE).fetch_one(&self.pool).await
    }

    /// The codes that are not over.
    pub async fn open_codes(&self) -> Read<Vec<Uuid>> {
        let ids: Vec<String> = sqlx::query_scalar(sql::OPEN_CODES).fetch_all(&self.pool).await?;
        ids.iter().map(|id| uuid(id)).collect()
    }

    /// Every code's id, in order of opening.
    pub async fn code_ids(&self) -> Read<Vec<Uuid>> {
        let rows = sqlx::query(sql::CODE_IDS).fetch_all(&self.pool).await?;
        rows.iter().map(|row| uuid(row.try_get(0)?)).collect()
    }

    /// Every code with the hash of its chain and when it was opened, in order of opening. `made_by` names the definitions by
    /// which a line is read.
    pub async fn code_times(&self, made_by: &str) -> Read<Vec<CodeTime>> {
        // A file that an earlier version wrote, read where nothing may be written, has no lines.
        let has_lines: i64 = sqlx::query_scalar(sql::HAS_LINES).fetch_one(&self.pool).await?;
        let query = if has_lines > 0 { sql::CODE_TIMES } else { sql::CODE_TIMES_BEFORE_LINES };
        let rows = sqlx::query(query).bind(made_by).fetch_all(&self.pool).await?;
        let read = |row: &SqliteRow| {
            let head: Option<Vec<u8>> = row.try_get(1)?;
            Ok(CodeTime {
                id: uuid(row.try_get(0)?)?,
                head: head.unwrap_or_default(),
                written_at: row.try_get(2)?,
                aligned_at: row.try_get(3)?,
            })
        };
        rows.iter().map(read).collect()
    }

    /// The latest codes.
    pub async fn codes(&self, limit: i64) -> Read<Vec<CodeRow>> {
        let rows = sqlx::query(sql::CODES).bind(limit).fetch_all(&self.pool).await?;
        rows.iter().map(code_row).collect()
    }

    /// The latest codes that a device was in.
    pub async fn codes_of(&self, device: Uuid, limit: i64) -> Read<Vec<CodeRow>> {
        let rows = sqlx::query(sql::CODES_OF).bind(limit).bind(device.to_string()).fetch_all(&self.pool).await?;
        rows.iter().map(code_row).collect()
    }

    /// Whether a device is or was in a code.
    pub async fn is_member(&self, code: Uuid, device: Uuid) -> Read<bool> {
        let query = sqlx::query_scalar(sql::IS_MEMBER).bind(code.to_string()).bind(device.to_string());
        let found: i64 = query.fetch_one(&self.pool).await?;
        Ok(found != 0)
    }

    /// The names of all devices that are or were paired.
    pub async fn device_names(&self) -> Read<Vec<(Uuid, String)>> {
        let rows = sqlx::query(sql::EVERY_DEVICE).fetch_all(&self.pool).await?;
        rows.iter().map(|row| Ok((uuid(row.try_get(0)?)?, row.try_get(1)?))).collect()
    }

    /// A whole code.
    pub async fn code(&self, id: Uuid) -> Read<Option<StoredCode>> {
        let Some(row) = sqlx::query(sql::CODE).bind(id.to_string()).fetch_optional(&self.pool).await? else {
            return Ok(None);
        };
        let place: i64 = row.try_get(0)?;
        let protocols = sqlx::query(sql::PROTOCOLS).bind(place).fetch_all(&self.pool).await?;
        let records = sqlx::query(sql::RECORDS).bind(place).fetch_all(&self.pool).await?;
        let members: Vec<String> = sqlx::query_scalar(sql::MEMBERS).bind(place).fetch_all(&self.pool).await?;
        let protocol = |row: &SqliteRow| Ok((row.try_get(0)?, row.try_get(1)?, row.try_get(2)?));
        let record = |row: &SqliteRow| {
            let seq: i64 = row.try_get(0)?;
            Ok(StoredRecord {
                seq: u64::try_from(seq).unwrap_or_default(),
                text: row.try_get(1)?,
                hash: row.try_get(2)?,
            })
        };
        Ok(Some(StoredCode {
            place,
            id,
            location: row.try_get(1)?,
            epoch_ms: row.try_get(2)?,
            closed: row.try_get::<i64, _>(3)? != 0,
            protocols: protocols.iter().map(protocol).collect::<Read<_>>()?,
            records: records.iter().map(record).collect::<Read<_>>()?,
            members: members.iter().map(|member| uuid(member)).collect::<Read<_>>()?,
        }))
    }

    /// What was asked in a code, and what became of it.
    pub async fn prompts(&self, place: i64) -> Read<Vec<PromptRow>> {
        let rows = sqlx::query(sql::PROMPTS).bind(place).fetch_all(&self.pool).await?;
        let read = |row: &SqliteRow| {
            Ok(PromptRow {
                key: row.try_get(0)?,
                became: row.try_get(1)?,
                at_ms: row.try_get(2)?,
                devices: row.try_get(3)?,
                roles: row.try_get(4)?,
                due_at_ms: row.try_get(5)?,
                late_at_ms: row.try_get(6)?,
                record: row.try_get(7)?,
            })
        };
        rows.iter().map(read).collect()
    }
}

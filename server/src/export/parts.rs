//! The parts of a file in turn, read from the ledger one code at a time: tens of thousands of codes never stand in memory.

use std::collections::VecDeque;
use std::fmt;

use uuid::Uuid;

use super::{Export, Format, Unexportable};
use crate::ledger::{CodeTime, Reader, StoredCode};
use crate::review::line::made_by;
use crate::review::reading;
use crate::review::signed::{self, NoVersion};

/// Why a file could not be made.
#[derive(Debug)]
pub enum Failed {
    /// What is stored of a code cannot be read.
    Code(Unexportable),
    /// The version that was asked for cannot be had.
    Version(NoVersion),
    /// The ledger cannot be read.
    Ledger(sqlx::Error),
}

impl fmt::Display for Failed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Code(error) => error.fmt(f),
            Self::Version(error) => error.fmt(f),
            Self::Ledger(error) => write!(f, "the data file cannot be read: {error}"),
        }
    }
}

impl std::error::Error for Failed {}

/// When a code was opened, as the list has it. Where no line tells, its record does; where that cannot be read, what was
/// written at the opening: the export then says which code it is.
async fn opened_at(reader: &Reader, code: &CodeTime) -> Result<String, sqlx::Error> {
    if let Some(aligned_at) = &code.aligned_at {
        return Ok(aligned_at.clone());
    }
    let Some(stored) = reader.code(code.id).await? else { return Ok(code.written_at.clone()) };
    Ok(super::records(&stored).map_or_else(|_| code.written_at.clone(), |records| reading::opened_at(&records)))
}

/// A file that is being made. Its parts, joined, are the file.
#[derive(Debug)]
pub struct Parts {
    reader: Reader,
    export: Export,
    /// The signed version that is asked for, in place of the codes as they are now.
    version: Option<u32>,
    waiting: VecDeque<Uuid>,
    stage: Stage,
    records: usize,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    Begin,
    Codes,
    Done,
}

impl Parts {
    /// A file of one code: as it is now, or exactly as it was when a version was signed.
    pub fn of_code(reader: Reader, id: Uuid, version: Option<u32>, format: Format, deidentified: bool) -> Self {
        Self { version, ..Self::new(reader, VecDeque::from([id]), Export::new(format, deidentified)) }
    }

    /// A file of every code that was opened on the day `since` or later, by the clock of UTC (`2026-11-01`) and with its
    /// alignment, as in the list; of all without it.
    ///
    /// # Errors
    /// If the ledger cannot be read.
    pub async fn of_all(
        reader: Reader,
        since: Option<&str>,
        format: Format,
        deidentified: bool,
    ) -> Result<Self, sqlx::Error> {
        let mut codes = Vec::new();
        for code in reader.code_times(&made_by()).await? {
            let is_meant = match since {
                None => true,
                Some(day) => opened_at(&reader, &code).await?.as_str() >= day,
            };
            if is_meant {
                codes.push((code.id, code.head));
            }
        }
        let export = Export::new(format, deidentified);
        export.in_order(&mut codes, |(_, head)| head.clone());
        Ok(Self::new(reader, codes.into_iter().map(|(id, _)| id).collect(), export))
    }

    const fn new(reader: Reader, waiting: VecDeque<Uuid>, export: Export) -> Self {
        Self { reader, export, version: None, waiting, stage: Stage::Begin, records: 0 }
    }

    /// The next part; none after the last. After a failure there is no more to come, and what came is no file.
    pub async fn next(&mut self) -> Option<Result<String, Failed>> {
        match self.stage {
            Stage::Begin => {
                self.stage = Stage::Codes;
                Some(Ok(self.export.begin()))
            }
            Stage::Codes => {
                while let Some(id) = self.waiting.pop_front() {
                    let part = match self.reader.code(id).await {
                        Ok(Some(stored)) => self.part(stored),
                        // A code whose first record is not committed yet is not there yet.
                        Ok(None) => continue,
                        Err(error) => Err(Failed::Ledger(error)),
                    };
                    if part.is_err() {
                        self.stage = Stage::Done;
                    }
                    return Some(part);
                }
                self.stage = Stage::Done;
                Some(Ok(self.export.end()))
            }
            Stage::Done => None,
        }
    }

    /// The codes that are to come.
    pub fn codes(&self) -> impl Iterator<Item = Uuid> {
        self.waiting.iter().copied()
    }

    fn part(&mut self, stored: StoredCode) -> Result<String, Failed> {
        let stored = match self.version {
            Some(number) => signed::version(stored, number).map_err(Failed::Version)?,
            None => stored,
        };
        self.records += stored.records.len();
        self.export.code(&stored).map_err(Failed::Code)
    }

    /// How many codes and records have been written.
    pub const fn counts(&self) -> (u64, usize) {
        (self.export.codes, self.records)
    }
}

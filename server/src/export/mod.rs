//! Codes as files that other programs read (docs/exports.md): JSON Lines, CSV with one row an event or one row a code, and a
//! FHIR R4 Bundle; as recorded, or de-identified. The command line and the review pages write through here, code by code, so
//! that both give the same bytes. Figures are the engine's; nothing is measured here.

mod code;
mod codes;
mod deidentify;
mod events;
mod fhir;
mod file;
mod parts;
mod table;

use std::fmt;

use clap::ValueEnum;
use coxswain_engine::event::FieldError;
use coxswain_engine::record::Record;
use uuid::Uuid;

use crate::ledger::StoredCode;

pub use code::{Code, Protocols};
pub use file::Replacing;
pub use parts::{Failed, Parts};

/// Format of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// JSON Lines, one record a line: what `replay` and `measure` read.
    Jsonl,
    /// A table, one row an event.
    #[value(alias = "csv-events")]
    Csv,
    /// A table, one row a code, with its figures.
    CsvCodes,
    /// A FHIR R4 Bundle.
    Fhir,
}

impl Format {
    /// The format of a name as the command line has it.
    pub fn named(name: &str) -> Option<Self> {
        Self::from_str(name, false).ok()
    }

    /// The name as the command line has it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Jsonl => "jsonl",
            Self::Csv => "csv",
            Self::CsvCodes => "csv-codes",
            Self::Fhir => "fhir",
        }
    }

    /// The end of a file's name: two tables of the same codes have names of their own.
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Jsonl => ".jsonl",
            Self::Csv => "-events.csv",
            Self::CsvCodes => "-figures.csv",
            Self::Fhir => ".json",
        }
    }

    /// The media type.
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Jsonl => "application/jsonl; charset=utf-8",
            Self::Csv | Self::CsvCodes => "text/csv; charset=utf-8; header=present",
            Self::Fhir => "application/fhir+json; fhirVersion=4.0; charset=utf-8",
        }
    }
}

/// Why a code could not be exported.
#[derive(Debug)]
pub struct Unexportable {
    /// Which code.
    pub code: Uuid,
    /// What is wrong, and where.
    pub problem: String,
}

impl fmt::Display for Unexportable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "code {} cannot be exported: {}", self.code, self.problem)
    }
}

impl std::error::Error for Unexportable {}

/// A file that grows code by code: `begin`, then each code, then `end`, joined, are the file.
#[derive(Debug)]
pub struct Export {
    format: Format,
    deidentified: bool,
    codes: u64,
    protocols: Protocols,
}

impl Export {
    /// A file of a format, as recorded or de-identified.
    pub const fn new(format: Format, deidentified: bool) -> Self {
        Self { format, deidentified, codes: 0, protocols: Protocols::new() }
    }

    /// What stands before the first code.
    pub fn begin(&self) -> String {
        match self.format {
            Format::Jsonl => String::new(),
            Format::Csv => events::header(),
            Format::CsvCodes => codes::header(),
            Format::Fhir => fhir::BEGIN.to_owned(),
        }
    }

    /// The next code's part of the file.
    ///
    /// # Errors
    /// If what is stored cannot be read.
    pub fn code(&mut self, stored: &StoredCode) -> Result<String, Unexportable> {
        self.codes += 1;
        let code = Code::of(stored, &mut self.protocols)?;
        let code = if self.deidentified { deidentify::code(&code, self.codes) } else { code };
        match self.format {
            Format::Jsonl => code.jsonl(),
            Format::Csv => Ok(events::rows(&code)),
            Format::CsvCodes => Ok(codes::row_of(&code)),
            Format::Fhir => fhir::entries(&code, self.codes == 1),
        }
    }

    /// What stands behind the last code.
    pub fn end(&self) -> String {
        match self.format {
            Format::Jsonl | Format::Csv | Format::CsvCodes => String::new(),
            Format::Fhir => fhir::end(self.codes > 0),
        }
    }

    /// Codes in the order in which the file has them: as they were opened; de-identified by their heads, so that the order
    /// does not tell which came first. `head` gives a code's last hash.
    fn in_order<T>(&self, codes: &mut [T], head: impl Fn(&T) -> Vec<u8>) {
        if self.deidentified {
            codes.sort_by_key(head);
        }
    }
}

/// JSON Lines: one record a line, the exact stored text.
pub fn jsonl(stored: &StoredCode) -> String {
    stored.records.iter().fold(String::new(), |mut text, record| {
        text.push_str(&record.text);
        text.push('\n');
        text
    })
}

/// The records, read.
///
/// # Errors
/// Names the field of the first one that cannot be read.
pub fn records(stored: &StoredCode) -> Result<Vec<Record>, FieldError> {
    stored.records.iter().map(|record| Record::from_json(&record.text)).collect()
}

#[cfg(test)]
mod kept_figures;
#[cfg(test)]
mod tests;

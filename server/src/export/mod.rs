//! A code as files that other programs read. Exactly what is stored; nothing is computed here.

mod csv;

use coxswain_engine::event::FieldError;
use coxswain_engine::record::Record;

use crate::ledger::StoredCode;

pub use csv::csv;

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

//! `export`: codes from a data folder as a file, read beside whoever serves from it.

use std::path::PathBuf;

use clap::Args;
use uuid::Uuid;

use super::{Failure, Outcome, data_folder, print};
use crate::export::{Format, Parts, Replacing};
use crate::ledger::{Reader, Store, StoredCode, chain};
use crate::review::signed::{self, NoVersion};

/// Arguments of `export`.
#[derive(Debug, Args)]
pub(super) struct Export {
    /// The code's id.
    #[arg(required_unless_present = "all")]
    code: Option<Uuid>,
    /// Every code.
    #[arg(long, conflicts_with = "code")]
    all: bool,
    /// Only codes opened on this day or later (UTC), such as 2026-11-01.
    #[arg(long, value_name = "DATE", requires = "all", value_parser = day)]
    since: Option<String>,
    /// Exactly as it was when this version was signed: the last hash of its chain is the one on the report.
    #[arg(long, value_name = "N", requires = "code", conflicts_with = "all")]
    version: Option<u32>,
    /// Format of the file.
    #[arg(long, value_enum)]
    format: Format,
    /// Without names, ids, places, free text and dates; times relative to the arrest (docs/exports.md says what remains).
    #[arg(long)]
    deidentified: bool,
    /// Where to write it; stdout if left out.
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// The data folder.
    #[arg(long, default_value_os_t = data_folder())]
    data: PathBuf,
}

fn day(text: &str) -> Result<String, String> {
    let day: jiff::civil::Date = text.parse().map_err(|_| "a day is written as 2026-11-01".to_owned())?;
    Ok(day.to_string())
}

/// The code as it is asked for.
async fn read(reader: &Reader, id: Uuid, arguments: &Export) -> Result<StoredCode, Failure> {
    let missing = || Failure::Unreadable(format!("there is no code {id} in {}", arguments.data.display()));
    let stored = reader.code(id).await?.ok_or_else(missing)?;
    let Some(number) = arguments.version else { return Ok(stored) };
    signed::version(stored, number).map_err(|error| match &error {
        NoVersion::NotSigned(_) => Failure::Unreadable(format!("--version {number}: {error}")),
        NoVersion::Altered(_) => Failure::Failed(format!("code {id}: {error}")),
    })
}

pub(super) async fn export(arguments: Export) -> Outcome {
    let store = Store::read_only(&arguments.data).await?;
    let reader = store.reader();
    let mut parts = match arguments.code {
        Some(id) => {
            read(reader, id, &arguments).await?;
            Parts::of_code(reader.clone(), id, arguments.version, arguments.format, arguments.deidentified)
        }
        None => {
            let since = arguments.since.as_deref();
            Parts::of_all(reader.clone(), since, arguments.format, arguments.deidentified).await?
        }
    };
    match &arguments.output {
        None => {
            while let Some(part) = parts.next().await {
                print(&part.map_err(|error| Failure::Failed(error.to_string()))?)?;
            }
        }
        Some(file) => {
            let unwritten = |error| Failure::Failed(format!("{} cannot be written: {error}", file.display()));
            let mut writing = Replacing::begin(file).map_err(unwritten)?;
            while let Some(part) = parts.next().await {
                let part =
                    part.map_err(|error| Failure::Failed(format!("{error}; {} was left as it was", file.display())))?;
                writing.write(&part).map_err(unwritten)?;
            }
            writing.finish().map_err(unwritten)?;
        }
    }
    let (codes, records) = parts.counts();
    let Some(id) = arguments.code else {
        eprintln!("{codes} codes, {records} records");
        return Ok(());
    };
    // A chain alone does not show a cut tail: whoever keeps the file can keep its head beside it.
    let head = read(reader, id, &arguments).await?.records.last().map(|record| record.hash.clone());
    eprintln!("{records} records, head {}", chain::hex(&head.unwrap_or_else(|| chain::START.to_vec())));
    Ok(())
}

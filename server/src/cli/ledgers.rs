//! `export` and `verify`: what a data folder holds, read beside whoever serves from it.

use std::path::PathBuf;

use clap::Args;
use uuid::Uuid;

use super::{Failure, Format, Outcome, data_folder, print};
use crate::export;
use crate::ledger::Store;
use crate::ledger::chain;

/// Arguments of `export`.
#[derive(Debug, Args)]
pub(super) struct Export {
    /// The code's id.
    code: Uuid,
    /// Format of the file.
    #[arg(long, value_enum)]
    format: Format,
    /// Where to write it; stdout if left out.
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// The data folder.
    #[arg(long, default_value_os_t = data_folder())]
    data: PathBuf,
}

/// Arguments of `verify`.
#[derive(Debug, Args)]
pub(super) struct Verify {
    /// The data folder.
    #[arg(long, default_value_os_t = data_folder())]
    data: PathBuf,
}

pub(super) async fn export(arguments: Export) -> Outcome {
    let store = Store::read_only(&arguments.data).await?;
    let Some(stored) = store.reader().code(arguments.code).await? else {
        let sentence = format!("there is no code {} in {}", arguments.code, arguments.data.display());
        return Err(Failure::Unreadable(sentence));
    };
    let text = match arguments.format {
        Format::Jsonl => export::jsonl(&stored),
        Format::Csv => {
            export::csv(&stored).map_err(|error| Failure::Failed(format!("a stored record cannot be read: {error}")))?
        }
    };
    match &arguments.output {
        None => print(&text)?,
        Some(file) => {
            std::fs::write(file, text)
                .map_err(|error| Failure::Failed(format!("{} cannot be written: {error}", file.display())))?;
        }
    }
    // A chain alone does not show a cut tail: whoever keeps the file can keep its head beside it.
    let head = stored.records.last().map_or_else(|| chain::START.to_vec(), |record| record.hash.clone());
    eprintln!("{} records, head {}", stored.records.len(), chain::hex(&head));
    Ok(())
}

pub(super) async fn verify(arguments: &Verify) -> Outcome {
    let store = Store::read_only(&arguments.data).await?;
    let mut broken = Vec::new();
    let ids = store.reader().code_ids().await?;
    for id in &ids {
        let Some(stored) = store.reader().code(*id).await? else { continue };
        match stored.verify() {
            Ok(head) => print(&format!("{id} ok, {} records, head {}\n", stored.records.len(), chain::hex(&head)))?,
            Err(fault) => {
                print(&format!("{id} BROKEN, {fault}\n"))?;
                broken.push(format!("code {id}, {fault}"));
            }
        }
    }
    match broken.first() {
        None => print(&format!("{} codes, every chain holds.\n", ids.len())),
        Some(first) => Err(Failure::Failed(format!("{} of {} chains are broken: {first}", broken.len(), ids.len()))),
    }
}

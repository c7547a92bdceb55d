//! `verify`: whether what a data folder holds is what was recorded, read beside whoever serves from it.

use std::path::PathBuf;

use clap::Args;

use super::{Failure, Outcome, data_folder, print};
use crate::ledger::Store;
use crate::ledger::chain;
use crate::review::signed::signatures;

/// Arguments of `verify`.
#[derive(Debug, Args)]
pub(super) struct Verify {
    /// The data folder.
    #[arg(long, default_value_os_t = data_folder())]
    data: PathBuf,
}

pub(super) async fn verify(arguments: &Verify) -> Outcome {
    let store = Store::read_only(&arguments.data).await?;
    let (mut broken, mut unheld) = (Vec::new(), Vec::new());
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
        for signed in signatures(&stored) {
            print(&format!("  {signed}\n"))?;
            if !signed.holds {
                unheld.push(format!("code {id}, {signed}"));
            }
        }
    }
    match (broken.first(), unheld.first()) {
        (None, None) => print(&format!("{} codes, every chain holds.\n", ids.len())),
        (Some(first), _) => {
            Err(Failure::Failed(format!("{} of {} chains are broken: {first}", broken.len(), ids.len())))
        }
        (None, Some(first)) => Err(Failure::Failed(format!("{} signatures do not hold: {first}", unheld.len()))),
    }
}

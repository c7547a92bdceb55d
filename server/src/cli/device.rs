//! `coxswain device`: pairing from the shell, for provisioning. It works beside a running server.

use clap::{Args, Subcommand};
use coxswain_engine::check::MAX_NAME_CHARS;
use coxswain_engine::event::Role;
use uuid::Uuid;

use super::{Failure, Folder, Outcome, print, role};
use crate::clock;
use crate::ledger::{DeviceRow, Store};
use crate::secret;

/// Subcommands of `device`.
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Pair a tablet or a program; prints its token, once.
    Add(Add),
    /// The paired devices.
    List(Folder),
    /// End the pairing of every device of this name or id.
    Remove(Remove),
}

#[derive(Debug, Args)]
pub(super) struct Add {
    /// What people call it.
    #[arg(long)]
    name: String,
    /// The role it wakes into.
    #[arg(long, value_parser = role)]
    home_role: Option<Role>,
    /// Where it stands.
    #[arg(long)]
    location: Option<String>,
    #[command(flatten)]
    folder: Folder,
}

#[derive(Debug, Args)]
pub(super) struct Remove {
    /// Its name or id.
    #[arg(long)]
    name: String,
    #[command(flatten)]
    folder: Folder,
}

pub(super) async fn run(command: Command) -> Outcome {
    match command {
        Command::Add(arguments) => add(arguments).await,
        Command::List(folder) => list(&folder).await,
        Command::Remove(arguments) => remove(&arguments).await,
    }
}

async fn add(arguments: Add) -> Outcome {
    let name = arguments.name.trim().to_owned();
    if name.is_empty() || name.chars().count() > MAX_NAME_CHARS {
        return Err(Failure::Unreadable(format!("--name: must have between 1 and {MAX_NAME_CHARS} characters")));
    }
    let store = Store::beside(&arguments.folder.data).await?;
    let token =
        secret::token().map_err(|error| Failure::Failed(format!("the system has no randomness to give: {error}")))?;
    let device = DeviceRow { id: Uuid::now_v7(), name, location: arguments.location, home_role: arguments.home_role };
    store.add_device(&device, &secret::token_hash(&token), &clock::wall_text()).await?;
    eprintln!("paired as {}; the token is shown this once:", device.id);
    print(&format!("{token}\n"))
}

async fn list(folder: &Folder) -> Outcome {
    let store = Store::read_only(&folder.data).await?;
    for device in store.reader().devices().await? {
        let role = device.home_role.map_or("-", Role::as_str);
        print(&format!("{}\t{}\t{}\t{}\n", device.id, device.name, role, device.location.as_deref().unwrap_or("-")))?;
    }
    Ok(())
}

async fn remove(arguments: &Remove) -> Outcome {
    let store = Store::beside(&arguments.folder.data).await?;
    let removed = store.remove_device(&arguments.name, &clock::wall_text()).await?;
    if removed == 0 {
        return Err(Failure::Failed(format!("no device is called {}", arguments.name)));
    }
    print(&format!("{removed} removed\n"))
}

//! `coxswain account`: who may review. It works beside a running server. A password is typed or piped in, never an argument:
//! arguments stand in the list of processes and in the shell's history.

use std::io::{BufRead, IsTerminal, Write};
use std::path::PathBuf;

use clap::{Args, Subcommand};
use coxswain_engine::check::MAX_NAME_CHARS;
use rustix::termios::{LocalModes, OptionalActions, tcgetattr, tcsetattr};
use uuid::Uuid;

use super::{Failure, Outcome, data_folder, print};
use crate::clock;
use crate::ledger::{AccountRow, Store};
use crate::review::password;
use crate::review::wire::{Account, AccountRole};

/// Subcommands of `account`.
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Add a person who may review; asks for the password, or reads it from stdin.
    Add(Add),
    /// Who may review.
    List(Folder),
    /// Remove a person; who is signed in under that name is signed out.
    Remove(Remove),
}

#[derive(Debug, Args)]
pub(super) struct Folder {
    /// The data folder.
    #[arg(long, default_value_os_t = data_folder())]
    data: PathBuf,
}

#[derive(Debug, Args)]
pub(super) struct Add {
    /// The person's name, by which they sign in and which stands on what they correct and sign.
    #[arg(long)]
    name: String,
    /// `reviewer`, or `administrator`, who also reads the whole access log.
    #[arg(long, default_value = "reviewer")]
    role: AccountRole,
    #[command(flatten)]
    folder: Folder,
}

#[derive(Debug, Args)]
pub(super) struct Remove {
    /// The person's name.
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
    let password = password_of(&name)?;
    if let Some(problem) = password::unfit(&password) {
        return Err(Failure::Unreadable(problem));
    }
    let password_hash = password::hash(&password)
        .map_err(|error| Failure::Failed(format!("the password cannot be hashed: {error}")))?;
    let account = Account { id: Uuid::now_v7(), name, role: arguments.role };
    let store = Store::beside(&arguments.folder.data).await?;
    let row = AccountRow { account, password_hash };
    if !store.add_account(&row, &clock::wall_text()).await? {
        return Err(Failure::Failed(format!("there is an account of the name {} already", row.account.name)));
    }
    print(&format!("{}\t{}\t{}\n", row.account.id, row.account.name, row.account.role.as_str()))
}

async fn list(folder: &Folder) -> Outcome {
    let store = Store::read_only(&folder.data).await?;
    for account in store.reader().accounts().await? {
        print(&format!("{}\t{}\t{}\n", account.id, account.name, account.role.as_str()))?;
    }
    Ok(())
}

async fn remove(arguments: &Remove) -> Outcome {
    let store = Store::beside(&arguments.folder.data).await?;
    match store.remove_account(arguments.name.trim(), &clock::wall_text()).await? {
        Some(account) => print(&format!("{} removed\n", account.name)),
        None => Err(Failure::Failed(format!("there is no account of the name {}", arguments.name))),
    }
}

/// The password: typed twice at a terminal, where it does not show; else the first line of stdin.
fn password_of(name: &str) -> Result<String, Failure> {
    let stdin = std::io::stdin();
    if !stdin.is_terminal() {
        return line();
    }
    let quiet =
        Quiet::begin().map_err(|error| Failure::Failed(format!("the terminal cannot be made quiet: {error}")))?;
    let first = asked(&format!("Password for {name}: "))?;
    let second = asked("The same again: ")?;
    drop(quiet);
    if first == second { Ok(first) } else { Err(Failure::Unreadable("the two passwords are not the same".to_owned())) }
}

fn asked(prompt: &str) -> Result<String, Failure> {
    eprint!("{prompt}");
    let _ = std::io::stderr().flush();
    let typed = line();
    eprintln!();
    typed
}

fn line() -> Result<String, Failure> {
    let mut text = String::new();
    let read = std::io::stdin().lock().read_line(&mut text);
    read.map_err(|error| Failure::Unreadable(format!("the password cannot be read: {error}")))?;
    Ok(text.trim_end_matches(['\n', '\r']).to_owned())
}

/// A terminal that does not show what is typed, until this is dropped.
struct Quiet(rustix::termios::Termios);

impl Quiet {
    fn begin() -> rustix::io::Result<Self> {
        let stdin = std::io::stdin();
        let before = tcgetattr(&stdin)?;
        let mut quiet = before.clone();
        quiet.local_modes.remove(LocalModes::ECHO);
        tcsetattr(&stdin, OptionalActions::Flush, &quiet)?;
        Ok(Self(before))
    }
}

impl Drop for Quiet {
    fn drop(&mut self) {
        let _ = tcsetattr(std::io::stdin(), OptionalActions::Flush, &self.0);
    }
}

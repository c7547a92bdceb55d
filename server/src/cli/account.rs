//! `coxswain account`: who may review. It works beside a running server. A password is typed or piped in, never an argument:
//! arguments stand in the list of processes and in the shell's history.

use std::io::{BufRead, IsTerminal, Write};

use clap::{Args, Subcommand};
use rustix::termios::{LocalModes, OptionalActions, tcgetattr, tcsetattr};
use uuid::Uuid;

use super::{Failure, Folder, Outcome, print};
use crate::clock;
use crate::ledger::{AccountRow, Store};
use crate::review::password;
use crate::review::wire::{Account, AccountRole};
use crate::review::words;

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
    let name = words::name(&arguments.name).map_err(|problem| Failure::Unreadable(format!("--name: {problem}")))?;
    let password = password_of(&name)?;
    if let Some(problem) = password::unfit(&password) {
        return Err(Failure::Unreadable(problem));
    }
    let password_hash = password::hash(&password)
        .map_err(|error| Failure::Failed(format!("the password cannot be hashed: {error}")))?;
    let account = Account { id: Uuid::now_v7(), name, role: arguments.role };
    let store = Store::beside(&arguments.folder.data).await?;
    let row = AccountRow { account, password_hash };
    if let Err(other) = store.add_account(&row, &clock::wall_text()).await? {
        let (name, other) = (&row.account.name, &other.name);
        return Err(Failure::Failed(if name.to_lowercase() == other.to_lowercase() {
            format!("there is an account of the name {other} already")
        } else {
            format!("the name {name} looks like that of the account {other}: give one that nobody takes for it")
        }));
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
    match store.remove_account(&words::composed(arguments.name.trim()), &clock::wall_text()).await? {
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

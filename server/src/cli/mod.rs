//! The command line. Exit codes: 0 done, 1 the work failed, 2 wrong usage or unreadable input; with one plain sentence on
//! stderr. It must not do the work itself: each subcommand has its module.

mod account;
mod demo;
mod device;
mod export;
mod files;
mod ledgers;
mod protocols;
mod serve;
mod sheet;

use std::fmt;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, Parser, Subcommand};
use coxswain_engine::event::Role;
use tracing_subscriber::EnvFilter;

use crate::ledger::LedgerError;

/// Coordinates a cardiac arrest team: one clock, and each role's next task on its own screen.
///
/// Prompts follow the protocol this department approved; the team leader decides; follow local policy and licensed
/// practice.
#[derive(Debug, Parser)]
#[command(name = "coxswain", version)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve tablets on the department's network.
    Serve(serve::Arguments),
    /// Show a simulated team at work, on throw-away data.
    Demo(demo::Arguments),
    /// What a role's screen showed at a moment of a code.
    Replay(files::Replay),
    /// Quality figures of a code.
    Measure(files::Measure),
    /// Write one code or many from a data folder as a file.
    Export(export::Export),
    /// Check the hash chain of every code.
    Verify(ledgers::Verify),
    /// Pair tablets from the shell.
    Device {
        #[command(subcommand)]
        command: device::Command,
    },
    /// People who may review.
    Account {
        #[command(subcommand)]
        command: account::Command,
    },
    /// Shipped and local protocols.
    Protocol {
        #[command(subcommand)]
        command: protocols::Command,
    },
}

/// Why a command did not do its work.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The work failed: exit code 1.
    Failed(String),
    /// Wrong usage or unreadable input: exit code 2.
    Unreadable(String),
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Failed(sentence) | Self::Unreadable(sentence) => f.write_str(sentence),
        }
    }
}

impl From<LedgerError> for Failure {
    fn from(error: LedgerError) -> Self {
        match error {
            LedgerError::Missing(_) => Self::Unreadable(error.to_string()),
            LedgerError::InUse(_) | LedgerError::Io(..) | LedgerError::Sql(_) | LedgerError::Migrate(_) => {
                Self::Failed(error.to_string())
            }
        }
    }
}

impl From<sqlx::Error> for Failure {
    fn from(error: sqlx::Error) -> Self {
        LedgerError::from(error).into()
    }
}

type Outcome = Result<(), Failure>;

fn role(text: &str) -> Result<Role, String> {
    text.parse().map_err(|error: coxswain_engine::event::FieldError| error.problem)
}

/// The default data folder.
fn data_folder() -> PathBuf {
    PathBuf::from("./data")
}

/// Which data folder, for commands that work beside a running server.
#[derive(Debug, Args)]
struct Folder {
    /// The data folder.
    #[arg(long, default_value_os_t = data_folder())]
    data: PathBuf,
}

/// Writes to stdout; a reader that went away, such as `head`, is no failure.
fn print(text: &str) -> Outcome {
    use std::io::Write;
    let mut stdout = std::io::stdout().lock();
    match stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        Err(error) => Err(Failure::Failed(format!("the output cannot be written: {error}"))),
    }
}

/// What is wrong with the arguments, in one line.
fn usage_sentence(error: &clap::Error) -> String {
    if error.kind() == clap::error::ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand {
        return "a command is missing; see --help".to_owned();
    }
    let text = error.to_string();
    let said: Vec<&str> = text
        .lines()
        .map(str::trim)
        .take_while(|line| !line.starts_with("Usage:"))
        .filter(|line| !line.is_empty())
        .collect();
    let said = said.join(" ");
    format!("{}; see --help", said.strip_prefix("error: ").unwrap_or(&said))
}

/// Runs the program.
pub fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) if error.use_stderr() => {
            eprintln!("coxswain: {}", usage_sentence(&error));
            return ExitCode::from(2);
        }
        Err(help) => {
            let _ = help.print();
            return ExitCode::SUCCESS;
        }
    };
    let filter = EnvFilter::try_from_env("COXSWAIN_LOG").unwrap_or_else(|_| EnvFilter::new("info,sqlx=warn"));
    tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).with_target(false).init();
    let runtime = match tokio::runtime::Builder::new_multi_thread().enable_all().build() {
        Ok(runtime) => runtime,
        Err(error) => {
            eprintln!("coxswain: the system gives no threads: {error}");
            return ExitCode::from(1);
        }
    };
    match runtime.block_on(run(arguments.command)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("coxswain: {failure}");
            ExitCode::from(match failure {
                Failure::Failed(_) => 1,
                Failure::Unreadable(_) => 2,
            })
        }
    }
}

async fn run(command: Command) -> Outcome {
    match command {
        Command::Serve(arguments) => serve::run(arguments).await,
        Command::Demo(arguments) => demo::run(arguments).await,
        Command::Replay(arguments) => files::replay(&arguments),
        Command::Measure(arguments) => files::measure(&arguments),
        Command::Export(arguments) => export::export(arguments).await,
        Command::Verify(arguments) => ledgers::verify(&arguments).await,
        Command::Device { command } => device::run(command).await,
        Command::Account { command } => account::run(command).await,
        Command::Protocol { command } => protocols::run(command),
    }
}

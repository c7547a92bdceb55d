//! `coxswain protocol`: what is at hand, what is in it and where it comes from, and whether a file can be used.

use std::fmt::Write;
use std::path::PathBuf;

use clap::{Args, Subcommand};
use coxswain_engine::protocol::{self as engine, Extent, Rejected, page};

use super::{Failure, Outcome, data_folder, print, sheet};
use crate::shelf::Shelf;

/// Subcommands of `protocol`.
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// The protocols at hand.
    List(Folder),
    /// A protocol as a reviewer reads it: every number, choice and rule that the plan follows, with its source, on one sheet.
    Show(Show),
    /// Whether a file can be used; names line and field of what is wrong.
    Check(Check),
}

#[derive(Debug, Args)]
pub(super) struct Folder {
    /// The data folder, with the department's own in `protocols`.
    #[arg(long, default_value_os_t = data_folder())]
    data: PathBuf,
}

#[derive(Debug, Args)]
pub(super) struct Check {
    /// The file.
    file: PathBuf,
    #[command(flatten)]
    folder: Folder,
}

#[derive(Debug, Args)]
pub(super) struct Show {
    /// The protocol's id.
    id: String,
    /// The rest as well: the sentences for the screens, the remarks on sources, the known changes in newer editions.
    #[arg(long)]
    long: bool,
    /// The file's text as it is, to copy and change.
    #[arg(long, conflicts_with = "long")]
    text: bool,
    #[command(flatten)]
    folder: Folder,
}

pub(super) fn run(command: Command) -> Outcome {
    match command {
        Command::List(folder) => list(&folder),
        Command::Show(arguments) => show(&arguments),
        Command::Check(arguments) => check(&arguments),
    }
}

fn list(folder: &Folder) -> Outcome {
    let shelf = Shelf::with_local(&folder.data);
    let mut text = String::new();
    for entry in shelf.entries() {
        let protocol = &entry.protocol;
        let origin = entry.file.as_ref().map_or_else(|| "shipped".to_owned(), |file| file.display().to_string());
        let approved = if protocol.is_approved() { "approved here" } else { "not yet approved here" };
        let _ =
            writeln!(text, "{}\tversion {}\t{}\t{approved}\t{origin}", protocol.id, protocol.version, protocol.title);
    }
    for file in shelf.unusable() {
        let _ = writeln!(text, "{} cannot be used: {}", file.file.display(), file.problem);
    }
    print(&text)
}

fn show(arguments: &Show) -> Outcome {
    let shelf = Shelf::with_local(&arguments.folder.data);
    let Some(entry) = shelf.get(&arguments.id) else {
        return Err(Failure::Unreadable(format!("no protocol `{}` is at hand", arguments.id)));
    };
    if arguments.text {
        return print(&entry.text);
    }
    let extent = if arguments.long { Extent::Whole } else { Extent::Plan };
    print(&sheet::text(&page(&entry.text, extent).map_err(|error| Failure::Failed(error.to_string()))?))
}

fn check(arguments: &Check) -> Outcome {
    let name = arguments.file.display();
    let text = std::fs::read_to_string(&arguments.file)
        .map_err(|error| Failure::Unreadable(format!("{name} cannot be read: {error}")))?;
    let refused = |faults: Vec<Rejected>| {
        let lines: Vec<String> = faults.iter().map(|fault| format!("{name}: {fault}")).collect();
        Failure::Unreadable(lines.join("\n"))
    };
    let protocol = engine::check(&text).map_err(refused)?;
    let shelf = Shelf::with_local(&arguments.folder.data);
    if let Some(fault) = shelf.other_ages_fault(&protocol, &text) {
        return Err(refused(vec![fault]));
    }
    print(&format!("{name}: {} version {} can be used.\n", protocol.id, protocol.version))
}

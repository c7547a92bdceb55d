//! `replay` and `measure`: a timeline from a file, read with the same engine that runs live.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::io::Read;
use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;
use coxswain_engine::event::Role;
use coxswain_engine::measure as figures;
use coxswain_engine::protocol::Protocol;
use coxswain_engine::record::Record;
use coxswain_engine::snapshot::{Knowledge, Snapshot, protocol_ref};
use serde_json::json;

use super::{Failure, Outcome, data_folder, print, role};
use crate::ledger::chain;
use crate::shelf::Shelf;

/// Arguments of `replay`.
#[derive(Debug, Args)]
pub(super) struct Replay {
    /// A timeline in JSON Lines, or `-` for stdin.
    file: PathBuf,
    /// The moment, in milliseconds of code time; may be given several times, and each is answered in turn.
    #[arg(long, value_name = "MS", required = true, allow_hyphen_values = true)]
    at: Vec<i64>,
    /// Whose screen; may be given several times, and each moment is answered for each.
    #[arg(long, required = true, value_parser = role)]
    role: Vec<Role>,
    /// By the whole record, with what was entered or corrected later, instead of by what was known then.
    #[arg(long)]
    hindsight: bool,
    /// As JSON.
    #[arg(long)]
    json: bool,
    /// Where the department's own protocols are.
    #[arg(long, default_value_os_t = data_folder())]
    data: PathBuf,
}

/// Arguments of `measure`.
#[derive(Debug, Args)]
pub(super) struct Measure {
    /// A timeline in JSON Lines, or `-` for stdin.
    file: PathBuf,
    /// As JSON.
    #[arg(long)]
    json: bool,
    /// Where the department's own protocols are.
    #[arg(long, default_value_os_t = data_folder())]
    data: PathBuf,
}

fn unreadable(sentence: impl Into<String>) -> Failure {
    Failure::Unreadable(sentence.into())
}

/// Reads a whole timeline; names line and field of the first fault.
pub(super) fn timeline(text: &str) -> Result<Vec<Record>, String> {
    let mut records: Vec<Record> = Vec::new();
    for (index, line) in text.lines().enumerate() {
        if line.trim().is_empty() {
            continue;
        }
        let line_number = index + 1;
        let record = Record::from_json(line).map_err(|error| format!("line {line_number}: {error}"))?;
        if let Some(first) = records.first()
            && first.code != record.code
        {
            return Err(format!(
                "line {line_number}: code: is another than in the first record; a file holds one code"
            ));
        }
        records.push(record);
    }
    if records.is_empty() { Err("it has no records".to_owned()) } else { Ok(records) }
}

fn load(file: &PathBuf) -> Result<Vec<Record>, Failure> {
    let name = file.display();
    let mut bytes = Vec::new();
    let read = if file.as_os_str() == "-" {
        std::io::stdin().lock().read_to_end(&mut bytes).map(|_| ())
    } else {
        std::fs::read(file).map(|content| bytes = content)
    };
    read.map_err(|error| unreadable(format!("{name} cannot be read: {error}")))?;
    let text = String::from_utf8(bytes).map_err(|error| {
        let upto = error.utf8_error().valid_up_to();
        let line = error.as_bytes().iter().take(upto).filter(|byte| **byte == b'\n').count() + 1;
        unreadable(format!("{name}: line {line}: is not UTF-8 text"))
    })?;
    timeline(text.strip_prefix('\u{feff}').unwrap_or(&text)).map_err(|problem| unreadable(format!("{name}: {problem}")))
}

/// The protocol that the record names at a moment.
fn protocol(
    records: &[Record],
    at_ms: i64,
    knowledge: Knowledge,
    shelf: &Shelf,
    warned: &mut BTreeSet<String>,
) -> Result<Arc<Protocol>, Failure> {
    let named =
        protocol_ref(records, at_ms, knowledge).or_else(|| protocol_ref(records, i64::MAX, Knowledge::Hindsight));
    let named = named.ok_or_else(|| unreadable("the timeline has no code_opened, so no protocol is known"))?;
    let Some(entry) = shelf.get(&named.id) else {
        let known: Vec<&str> = shelf.entries().map(|entry| entry.protocol.id.as_str()).collect();
        return Err(unreadable(format!(
            "event.protocol.id: no protocol `{}` is at hand; there are {}",
            named.id,
            known.join(", ")
        )));
    };
    let other_text = named.sha256.as_ref().is_some_and(|told| *told != chain::of_text(&entry.text));
    let warning = if entry.protocol.version != named.version {
        Some(format!(
            "coxswain: the code ran under version {} of `{}`; this uses version {}, the one at hand",
            named.version, named.id, entry.protocol.version
        ))
    } else {
        other_text.then(|| {
            format!(
                "coxswain: the code ran under another text of `{}` version {}; this uses the one at hand",
                named.id, named.version
            )
        })
    };
    // Of many moments that are asked about in turn, each warning once.
    if let Some(warning) = warning
        && warned.insert(warning.clone())
    {
        eprintln!("{warning}");
    }
    Ok(Arc::clone(&entry.protocol))
}

pub(super) fn replay(arguments: &Replay) -> Outcome {
    let records = load(&arguments.file)?;
    let knowledge = if arguments.hindsight { Knowledge::Hindsight } else { Knowledge::AsKnown };
    let shelf = Shelf::with_local(&arguments.data);
    let (mut text, mut warned) = (String::new(), BTreeSet::new());
    for &at_ms in &arguments.at {
        let protocol = protocol(&records, at_ms, knowledge, &shelf, &mut warned)?;
        let snapshot = Snapshot::at(&records, &protocol, at_ms, knowledge);
        for &role in &arguments.role {
            text.push_str(&shown(&snapshot, at_ms, role, arguments.json));
        }
    }
    print(&text)
}

/// One role's screen: a line of JSON, or a few lines for a person.
fn shown(snapshot: &Snapshot, at_ms: i64, role: Role, as_json: bool) -> String {
    let (phase, hands, prompts) = (snapshot.phase(), &snapshot.plan().hands, snapshot.visible(role));
    let view = snapshot.view(&BTreeSet::from([role]));
    let shown = json!({
        "at_ms": at_ms, "role": role, "phase": phase, "hands": hands, "prompts": prompts, "notes": view.notes,
        "drugs": view.drugs, "circumstances": view.circumstances, "aftercare": view.aftercare, "patient": view.patient,
        "counts": view.counts,
    });
    if as_json {
        return format!("{shown}\n");
    }
    let mut text =
        format!("{at_ms} ms, {}: hands {}\n", role.as_str(), shown["hands"]["now"].as_str().unwrap_or_default());
    for prompt in &prompts {
        let late = prompt.late_at_ms.is_some_and(|late_ms| at_ms > late_ms);
        let _ = writeln!(
            text,
            "  {} due {} ms{}: {}",
            prompt.action.as_str(),
            prompt.due_at_ms,
            if late { " (late)" } else { "" },
            prompt.why
        );
    }
    text
}

pub(super) fn measure(arguments: &Measure) -> Outcome {
    let records = load(&arguments.file)?;
    let shelf = Shelf::with_local(&arguments.data);
    let protocol = protocol(&records, i64::MAX, Knowledge::Hindsight, &shelf, &mut BTreeSet::new())?;
    let figures = figures::measure(&records, &protocol);
    if !arguments.json {
        return print(&figures.table());
    }
    let text = serde_json::to_string(&figures)
        .map_err(|error| Failure::Failed(format!("the figures cannot be written: {error}")))?;
    print(&format!("{text}\n"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_broken_line_is_named_with_its_field() {
        let good = r#"{"seq":1,"id":"01980000-0000-7000-8000-000000000001","code":"01980000-0000-7000-8000-000000000002","at_ms":0,"recorded_at":"2026-11-25T09:14:28.123Z","by":{"device":"01980000-0000-7000-8000-000000000003","name":"Bay 1","roles":[]},"source":"live","event":{"kind":"rosc"}}"#;
        assert_eq!(timeline(&format!("{good}\n\n{good}\n")).unwrap().len(), 2);
        let broken = good.replace("\"at_ms\":0", "\"at_ms\":\"soon\"");
        let problem = timeline(&format!("{good}\n{broken}\n")).unwrap_err();
        assert!(problem.starts_with("line 2: at_ms:"), "{problem}");
        let other = good.replace("000000000002\"", "000000000009\"");
        assert!(timeline(&format!("{good}\n{other}\n")).unwrap_err().starts_with("line 2: code:"));
        assert!(timeline("").is_err());
    }
}

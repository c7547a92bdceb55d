//! A protocol as one page of text: every value with its source, for the people who approve it.

use std::fmt::Write;

use super::{Basis, Rejected, read, rows};

/// The page of a protocol.
///
/// # Errors
/// As [`read`]: what would be refused at the bedside is not shown as if it could be followed.
pub fn page(text: &str) -> Result<String, Rejected> {
    let protocol = read(text)?;
    let rows = rows(text)?;
    let mut page = String::new();
    let mut put = |line: &str| {
        let _ = writeln!(page, "{}", line.trim_end());
    };
    put(&format!("{} ({}, version {})", protocol.title, protocol.id, protocol.version));
    put(&format!("Edition: {}", protocol.edition));
    put(&match (&protocol.approved_by, &protocol.approved_on) {
        (Some(by), Some(on)) => format!("Approved by {by} on {on}."),
        _ => "This protocol is not approved here: a department copies it, checks it, and signs it.".to_owned(),
    });
    put("");
    let width = |texts: &mut dyn Iterator<Item = usize>| texts.filter(|length| *length <= 40).max().unwrap_or(0);
    let fields = width(&mut rows.iter().map(|row| row.field.chars().count()));
    let values = width(&mut rows.iter().map(|row| row.value.chars().count()));
    put(&format!("{:fields$}  {:values$}  {:8}  {}", "Value", "", "Basis", "Source"));
    for row in &rows {
        put(&format!("{:fields$}  {:values$}  {:8}  {}", row.field, row.value, basis_word(row.basis), row.source));
        if let Some(reason) = &row.unusual {
            put(&format!("{:fields$}  outside the published range because: {reason}", ""));
        }
    }
    if !protocol.known_changes.is_empty() {
        put("");
        put("Known changes in newer editions:");
        for change in &protocol.known_changes {
            put(&format!("- {}: {}. {}.", change.edition, change.what, capital(&change.state)));
        }
    }
    put("");
    put("Basis: read = in the source or a digest of it; memory = to be checked before approval; practice = no source.");
    put("Prompts follow the protocol this department approved; the team leader decides.");
    Ok(page)
}

const fn basis_word(basis: Basis) -> &'static str {
    match basis {
        Basis::Read => "read",
        Basis::Memory => "memory",
        Basis::Practice => "practice",
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

//! A protocol as one page, for the people who approve it: grouped as a reviewer reads, every value once in words with its unit,
//! the published range, the key of its source and how it was obtained; the sources at the foot. It says what the file says
//! and must not judge it. How the page is laid out is not said here: its cells are handed over as they are.

mod amount;
mod care;
mod ordinary;
mod sources;
mod special;
mod values;

use super::{Protocol, Rejected, read, rows};
use values::Values;

pub use amount::JOINED;
pub use sources::Source;

/// How much of a protocol a page holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// What the plan follows: every number, choice and rule with its key, and the documents behind the keys.
    Plan,
    /// That, and every sentence for the screens, every remark on a source and every known change.
    Whole,
}

/// What a page of the plan does without.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeftOut {
    /// Sentences that only screens show.
    pub sentences: usize,
    /// Known changes in newer editions.
    pub changes: usize,
}

/// A page in parts, to be laid out. [`JOINED`] stands where a line must not break.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// What it is, for whom, and whether it is approved: a line each.
    pub head: Vec<String>,
    /// Tables, in the order in which a reviewer reads them.
    pub sections: Vec<Section>,
    /// The sources, each once.
    pub sources: Vec<Source>,
    /// What the page does without; nothing where it is whole.
    pub left_out: Option<LeftOut>,
    /// What to bear in mind.
    pub cautions: &'static str,
}

/// A table of the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// Its title; empty where it goes on with the section before it.
    pub title: String,
    /// The heads of its columns but for the first, which has the title; empty where they need none.
    pub columns: Vec<&'static str>,
    /// Its cells, row by row.
    pub rows: Vec<Vec<String>>,
}

/// The title of what stands on the page for a field that has no words of its own. No shipped protocol has such a field.
const FURTHER: &str = "Further";

/// The page of a protocol, as far as `extent`.
///
/// # Errors
/// As [`read`]: what would be refused at the bedside is not shown as if it could be followed.
pub fn page(text: &str, extent: Extent) -> Result<Page, Rejected> {
    let protocol = read(text)?;
    let values = &mut Values::new(rows(text)?, protocol.age_group, extent);
    let mut sections = vec![ordinary::cycle(&protocol, values)];
    sections.extend(ordinary::drugs(&protocol, values));
    sections.push(ordinary::shocks(values));
    sections.push(ordinary::weight(&protocol, values));
    sections.push(care::aftercare(&protocol, values));
    sections.push(special::circumstances(&protocol, values));
    sections.push(care::ending(&protocol, values));
    if extent == Extent::Whole {
        sections.push(care::newer(&protocol));
    }
    sections.push(section(FURTHER, values.rest()));
    sections.retain(|section| !section.rows.is_empty());
    let left_out = LeftOut { sentences: values.left_out, changes: protocol.known_changes.len() };
    Ok(Page {
        head: head(&protocol),
        sections,
        sources: values.sources.foot(),
        left_out: (extent == Extent::Plan).then_some(left_out),
        cautions: CAUTIONS,
    })
}

fn head(protocol: &Protocol) -> Vec<String> {
    let other =
        protocol.other_ages.as_ref().map_or(String::new(), |other| format!("; for the other age group: {other}"));
    vec![
        format!("{} ({}, version {}{other})", protocol.title, protocol.id, protocol.version),
        format!("Edition: {}", protocol.edition),
        match (&protocol.approved_by, &protocol.approved_on) {
            (Some(by), Some(on)) => format!("Approved by {by} on {on}."),
            _ => "NOT APPROVED HERE: a department copies this protocol, checks every value, and signs it.".to_owned(),
        },
        "[key] source of what stands before it, back to the key before; m: from memory, check before approval; p: common \
         practice or ours, no source; neither: read in the source or a digest of it. (3 to 5): published range."
            .to_owned(),
    ]
}

/// Beside every page, whatever the file says.
const CAUTIONS: &str = "Check your ampoules, syringes and defibrillator against every strength, volume, energy and charging \
    time. Prompts follow the protocol this department approved; the team leader decides; follow local policy and licensed \
    practice.";

fn section(title: &str, rows: Vec<Vec<String>>) -> Section {
    Section { title: title.to_owned(), columns: Vec::new(), rows }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
#[path = "page_tests.rs"]
mod tests;

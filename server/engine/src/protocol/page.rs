//! A protocol as one page of text, for the people who approve it: grouped by topic, every value in words with its unit, the
//! published range, its source and how it was obtained. It shows what the file says and must not judge it.

use std::fmt::Write;

use super::{AgeGroup, Basis, Protocol, Rejected, Row, limits, read, rows};

/// Topics in the order of the page: title, and the first words of the fields that belong there.
const TOPICS: &[(&str, &[&str])] = &[
    ("Cycle", &["cycle", "pulse_duty"]),
    ("Shocks", &["shock"]),
    ("Drugs", &["epinephrine", "antiarrhythmic", "drugs"]),
    ("Airway", &["airway"]),
    ("Weight", &["ages", "weight"]),
    ("Causes", &["causes"]),
    ("Aftercare", &["aftercare"]),
    ("Circumstances", &["circumstances"]),
    ("Ending", &["ending"]),
];

/// The page of a protocol.
///
/// # Errors
/// As [`read`]: what would be refused at the bedside is not shown as if it could be followed.
pub fn page(text: &str) -> Result<String, Rejected> {
    let protocol = read(text)?;
    let mut rows = rows(text)?;
    let mut page = String::new();
    let mut put = |line: &str| {
        for line in wrapped(line.trim_end()) {
            let _ = writeln!(page, "{line}");
        }
    };
    put(&format!("{} ({}, version {})", protocol.title, protocol.id, protocol.version));
    put(&format!("Edition: {}", protocol.edition));
    put(&match (&protocol.approved_by, &protocol.approved_on) {
        (Some(by), Some(on)) => format!("Approved by {by} on {on}."),
        _ => "This protocol is not approved here: a department copies it, checks it, and signs it.".to_owned(),
    });
    if let Some(other) = &protocol.other_ages {
        put(&format!("For the other age group: {other}."));
    }
    for (title, fields) in TOPICS {
        let place = |row: &Row| fields.iter().position(|field| *field == first_word(&row.field));
        let (mut own, others): (Vec<Row>, Vec<Row>) = rows.into_iter().partition(|row| place(row).is_some());
        rows = others;
        own.sort_by_key(place);
        topic(title, &own, protocol.age_group, &mut put);
    }
    topic("Further", &rows, protocol.age_group, &mut put);
    shown_words(&protocol, &mut put);
    if !protocol.known_changes.is_empty() {
        put("");
        put("Known changes in newer editions");
        for change in &protocol.known_changes {
            put(&format!("- {}: {}. {}.", change.edition, change.what, capital(&change.state)));
        }
    }
    put("");
    put(
        "[read] in the source or a digest of it; [memory] from memory, to be checked before approval; [practice] no source.",
    );
    put("In brackets after a value: the published range. Letters and numbers: rows of docs/clinical-sources.md.");
    put(
        "Prompts follow the protocol this department approved; the team leader decides; follow local policy and licensed",
    );
    put("practice.");
    Ok(page)
}

/// Widest line of the page, in characters, and how far what goes on in the next line is set in: an entry begins with less.
const WIDTH: usize = 120;
const GOES_ON: &str = "      ";

/// A line in as many as it takes.
fn wrapped(line: &str) -> Vec<String> {
    let mut lines = Vec::new();
    let mut rest = line.to_owned();
    while rest.chars().count() > WIDTH {
        let most = rest.char_indices().nth(WIDTH + 1).map_or(rest.len(), |(end, _)| end);
        let begins = rest.len() - rest.trim_start().len();
        let Some(end) = rest[..most].rfind(' ').filter(|end| *end > begins) else { break };
        lines.push(rest[..end].trim_end().to_owned());
        rest = format!("{GOES_ON}{}", rest[end..].trim_start());
    }
    lines.push(rest);
    lines
}

fn first_word(field: &str) -> &str {
    field.split('.').next().unwrap_or(field)
}

/// What the screens make of the numbers, for the reviewer to read as the team will.
fn shown_words(protocol: &Protocol, put: &mut impl FnMut(&str)) {
    put("");
    put("As the screens say it");
    put(&format!("  energy: {}", protocol.shock.energy_rule.value));
    if let Some(rule) = &protocol.airway.breath_rule {
        put(&format!("  breaths with an advanced airway: {}", rule.value));
    }
    for item in &protocol.aftercare {
        let by_age = item.ranges.values().any(|range| !range.low_by_age.is_empty());
        let age = if by_age { " (at 1 year)" } else { "" };
        put(&format!("  {}{age}: {}", item.title, item.target_words(12)));
    }
}

/// A topic: a line for each value with its source, one entry for all that is said of one thing (a task of a circumstance,
/// a target of aftercare, a drug), and single values that are common practice alone gathered at its end.
fn topic(title: &str, rows: &[Row], group: AgeGroup, put: &mut impl FnMut(&str)) {
    if rows.is_empty() {
        return;
    }
    put("");
    put(title);
    let single = |row: &Row| subject(&row.field).is_none();
    let (plain, sourced): (Vec<&Row>, Vec<&Row>) = rows.iter().partition(|row| single(row) && is_plain_practice(row));
    // Long words would push every source off the page: they do not set the width.
    let width = |length: &dyn Fn(&Row) -> usize, most: usize| {
        let lengths = sourced.iter().filter(|row| single(row)).map(|row| length(row));
        lengths.filter(|length| *length <= most).max().unwrap_or(0)
    };
    let labels = width(&|row| label(&row.field).chars().count(), 44);
    let values = width(&|row| value(row, group).chars().count(), 30);
    for of_one in sourced.chunk_by(|one, next| !single(one) && subject(&one.field) == subject(&next.field)) {
        match of_one {
            [row] if single(row) => {
                let (label, value) = (label(&row.field), value(row, group));
                put(&format!("  {label:labels$}  {value:values$}  {}", source(row)));
            }
            rows => put(&entry(rows, group)),
        }
        for reason in of_one.iter().filter_map(|row| Some((label(&row.field), row.unusual.as_ref()?))) {
            put(&format!("      {}, outside the published range because: {}", reason.0, reason.1));
        }
    }
    let practice: Vec<String> =
        plain.iter().map(|row| format!("{} {}", label(&row.field), value(row, group))).collect();
    if !practice.is_empty() {
        put(&format!("  Common practice, no source: {}.", practice.join("; ")));
    }
}

/// What several values are said of: the path of the thing; nothing for a value that stands alone.
fn subject(field: &str) -> Option<String> {
    let words: Vec<&str> = field.split('.').collect();
    let depth = match words.as_slice() {
        ["circumstances", _, "tasks" | "temperature_bands" | "suggested_by", _, _, ..] => 4,
        ["circumstances", _, "go_on" | "initial_breaths", _, ..]
        | ["weight", "formulas", _, _, ..]
        | ["airway", "by_age", _, _, ..]
        | ["antiarrhythmic", "drugs", _, _, ..] => 3,
        ["aftercare", _, _, ..] => 2,
        _ => return None,
    };
    Some(words[..depth].join("."))
}

/// What of its subject a value says, in words: nothing for the aim itself.
fn aspect(row: &Row, subject: &str) -> String {
    let whole = label(&row.field);
    let rest = whole.strip_prefix(&label(subject)).unwrap_or(&whole).trim_start_matches([',', ' ']);
    rest.strip_prefix("target").unwrap_or(rest).trim().to_owned()
}

/// All that is said of one thing: the values, then each source once.
fn entry(rows: &[&Row], group: AgeGroup) -> String {
    let subject = rows.first().and_then(|row| subject(&row.field)).unwrap_or_default();
    let values: Vec<String> =
        rows.iter().map(|row| format!("{} {}", aspect(row, &subject), value(row, group)).trim().to_owned()).collect();
    let mut sources: Vec<String> = Vec::new();
    for row in rows {
        let source = source(row);
        if !sources.contains(&source) {
            sources.push(source);
        }
    }
    format!("  {}: {}  {}", label(&subject), values.join("; "), sources.join("; "))
}

fn source(row: &Row) -> String {
    format!("[{}] {}", basis_word(row.basis), row.source)
}

fn is_plain_practice(row: &Row) -> bool {
    row.basis == Basis::Practice && row.source == "common practice, no source" && row.unusual.is_none()
}

/// A field in words, without its topic and its unit: `antiarrhythmic.drugs.amiodarone.doses.0.per_kg.max_mg` is
/// "amiodarone, dose 1, max".
pub(super) fn label(field: &str) -> String {
    let mut words: Vec<String> = Vec::new();
    let mut of_list = "";
    for (place, word) in field.split('.').enumerate() {
        match (place, word) {
            (0, "epinephrine" | "pulse_duty") => words.push(word.replace('_', " ")),
            // Which drug a dose is of is said; which shocks they wait for would not be.
            (0, "antiarrhythmic") if field == "antiarrhythmic.after_shocks" => words.push(word.to_owned()),
            (0, _) | (_, "per_kg" | "preparation" | "drugs" | "tasks" | "notes" | "ranges" | "text" | "words") => {}
            (_, "doses" | "formulas" | "by_age") => of_list = word.trim_end_matches('s'),
            (_, number) if number.parse::<usize>().is_ok() => {
                let place: usize = number.parse().unwrap_or_default();
                let list = if of_list.is_empty() { "no." } else { of_list };
                words.push(format!("{} {}", list.replace('_', " "), place + 1));
            }
            // Beside the plain maximum there is one for each kilogram.
            (_, "max_j_per_kg") => words.push("max per kg".to_owned()),
            (_, word) => words.push(without_unit(word).replace('_', " ")),
        }
    }
    words.retain(|word| !word.is_empty());
    if words.is_empty() { field.replace(['.', '_'], " ") } else { words.join(", ") }
}

/// Units that a field's name ends with, the longest first, and how they are written.
const UNITS: &[(&str, &str)] = &[
    ("mg_per_ml", "mg/mL"),
    ("mg_per_kg", "mg/kg"),
    ("ml_per_kg", "mL/kg"),
    ("j_per_kg", "J/kg"),
    ("per_minute", "a minute"),
    ("mmol_l", "mmol/L"),
    ("mmhg", "mmHg"),
    ("months", "months"),
    ("mg", "mg"),
    ("ml", "mL"),
    ("kg", "kg"),
    ("pct", "%"),
    ("s", "s"),
    ("j", "J"),
    ("c", "°C"),
];

fn unit_of(name: &str) -> Option<(&'static str, &'static str)> {
    UNITS.iter().copied().find(|(suffix, _)| name == *suffix || name.ends_with(&format!("_{suffix}")))
}

fn without_unit(name: &str) -> &str {
    unit_of(name).map_or(name, |(suffix, _)| name.strip_suffix(suffix).unwrap_or(name).trim_end_matches('_'))
}

/// A value with its unit in words, and the published range where there is one.
pub(super) fn value(row: &Row, group: AgeGroup) -> String {
    let name = row.field.rsplit('.').next().unwrap_or_default();
    let numbers: Option<Vec<f64>> = row.value.split(", ").map(|number| number.parse().ok()).collect();
    let Some(numbers) = numbers else { return row.value.clone() };
    // A bound has the unit of the reading it bounds.
    let of_reading = || row.field.split('.').rev().skip(1).find_map(unit_of);
    let bounds = ["low", "above", "high", "per_year"].contains(&name);
    let unit = unit_of(name).or_else(|| if bounds { of_reading() } else { None }).map_or("", |(_, unit)| unit);
    let amount = amounts(&numbers, unit);
    match limits::limit_of(&row.field, group).filter(|limit| limit.low < limit.high && limit.is_published()) {
        Some(limit) => format!("{amount} ({} to {})", bare(limit.low, limit.high, unit), amounts(&[limit.high], unit)),
        None => amount,
    }
}

/// The lower end of a range, without the unit where the upper end has the same.
fn bare(low: f64, high: f64, unit: &str) -> String {
    let both_minutes = unit == "s" && in_minutes(low) && in_minutes(high);
    if both_minutes {
        (low / 60.0).to_string()
    } else if unit == "s" {
        amounts(&[low], unit)
    } else {
        low.to_string()
    }
}

fn in_minutes(seconds: f64) -> bool {
    seconds >= 120.0 && seconds % 60.0 == 0.0
}

fn amounts(numbers: &[f64], unit: &str) -> String {
    let words = |numbers: &[f64]| numbers.iter().map(f64::to_string).collect::<Vec<_>>().join(", ");
    if unit == "s" && numbers.iter().all(|seconds| in_minutes(*seconds)) {
        let minutes: Vec<f64> = numbers.iter().map(|seconds| seconds / 60.0).collect();
        return format!("{} min", words(&minutes));
    }
    format!("{} {unit}", words(numbers)).trim_end().to_owned()
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::protocol::shipped;

    fn text_of(id: &str) -> &'static str {
        shipped().iter().find(|(name, _)| *name == id).unwrap().1
    }

    /// The entries of a page, each in one line with single spaces.
    fn entries(page: &str) -> Vec<String> {
        let whole = page.replace(&format!("\n{GOES_ON}"), " ");
        whole.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect()
    }

    #[test]
    fn every_value_stands_on_the_page_once_in_words_with_its_source() {
        for (id, text) in shipped() {
            let page = page(text).unwrap();
            assert!(page.lines().all(|line| line.chars().count() <= WIDTH), "{id}: a line is too long\n{page}");
            let group = read(text).unwrap().age_group;
            let entries = entries(&page);
            assert!(page.contains(id) && page.contains("not approved here"), "{page}");
            for row in rows(text).unwrap() {
                let (value, source) = (value(&row, group), row.source.to_lowercase());
                let (thing, said) = match subject(&row.field) {
                    Some(subject) => (format!("{}: ", label(&subject)), aspect(&row, &subject)),
                    None => (label(&row.field), String::new()),
                };
                let said = format!("{said} {value}");
                let line = entries.iter().find(|line| {
                    line.contains(&thing) && line.contains(said.trim()) && line.to_lowercase().contains(&source)
                });
                let line = line.unwrap_or_else(|| panic!("{id}: {row:?}: no `{thing}` `{said}` in\n{page}"));
                if is_plain_practice(&row) && subject(&row.field).is_none() {
                    assert!(line.contains("Common practice, no source"), "{line}");
                }
            }
        }
    }

    #[test]
    fn a_clinician_reads_minutes_ranges_and_numbered_doses() {
        let child = page(text_of("aha-child")).unwrap();
        for words in [
            "epinephrine, interval",
            "4 min (3 to 5 min)",
            "dose 3, max",
            "2, 4, 4 J/kg (2 to 10 J/kg)",
            "formula 2",
            "antiarrhythmic, after shocks",
            "next setting up.",
        ] {
            assert!(child.contains(words), "{words}:\n{child}");
        }
        // No topic is empty, none is lost, and they come in the order in which an arrest meets them.
        let places: Vec<_> =
            ["\nCycle\n", "\nShocks\n", "\nDrugs\n", "\nAirway\n", "\nWeight\n", "\nCauses\n", "\nAftercare\n"]
                .iter()
                .map(|title| child.find(title).unwrap_or_else(|| panic!("{title}")))
                .collect();
        assert!(places.is_sorted(), "{places:?}");
        assert!(!child.contains("\nFurther\n"), "a field belongs to no topic:\n{child}");
        // What is said of one thing stands together: far fewer entries than values.
        let (lines, values) = (entries(&child).len(), rows(text_of("aha-child")).unwrap().len());
        assert!(lines < values * 4 / 5, "{lines} entries for {values} values");
        // Epinephrine stands before what belongs to every drug, and a bound has the unit of its reading.
        assert!(child.find("epinephrine, dose") < child.find("draw up ahead"), "{child}");
        assert!(child.contains("37.5 \u{b0}C") && child.contains("94 %"), "{child}");
    }

    #[test]
    fn an_approval_stands_in_place_of_the_notice() {
        let approved = text_of("erc-child").replacen(
            "version = 1",
            "version = 2\napproved_by = \"A. Lead\"\napproved_on = \"2026-11-25\"",
            1,
        );
        let page = page(&approved).unwrap();
        assert!(page.contains("version 2") && page.contains("Approved by A. Lead on 2026-11-25."), "{page}");
        assert!(!page.contains("not approved"));
        assert!(super::page("id = 1").is_err());
    }
}

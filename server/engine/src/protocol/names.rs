//! What ids, titles, editions and dates of a protocol file must look like: an id is written into records and keys, a title
//! onto a screen, and a date vouches for an approval. It judges form only, never what a name stands for.

use std::collections::BTreeSet;

use toml::Value;

use super::orders::Fault;
use super::read::{Rejected, below};
use super::{Protocol, place};
use crate::event::Circumstance;

/// Longest id, title and sentence, in characters: what fits a key, a line and a card of the screen.
const MAX_ID: usize = 40;
const MAX_TITLE: usize = 80;
const MAX_WORDS: usize = 240;
/// Highest version of a file: beyond it stands a date or a slip.
const MAX_VERSION: i64 = 9_999;

/// Lists whose members have ids of their own; `*` stands for each circumstance.
const LISTS: &[&str] = &[
    "antiarrhythmic.drugs",
    "causes.list.value",
    "aftercare",
    "ending",
    "circumstances",
    "circumstances.*.tasks",
    "circumstances.*.notes",
    "circumstances.*.temperature_bands",
];

/// The circumstances that a record can set.
const CIRCUMSTANCES: &[Circumstance] = &[
    Circumstance::Pregnancy,
    Circumstance::Hypothermia,
    Circumstance::Opioid,
    Circumstance::Hyperkalaemia,
    Circumstance::Drowning,
    Circumstance::Anaphylaxis,
    Circumstance::Trauma,
    Circumstance::PulmonaryEmbolism,
    Circumstance::LocalAnaesthetic,
    Circumstance::TreatmentLimit,
    Circumstance::MonophasicDefibrillator,
];

/// The drugs that a task may wait for, by the word on the record: one that is spelt otherwise would never be seen given.
pub const DRUGS: &[&str] = &[
    "epinephrine",
    "amiodarone",
    "lidocaine",
    "calcium_chloride",
    "calcium_gluconate",
    "sodium_bicarbonate",
    "magnesium_sulfate",
    "atropine",
    "naloxone",
    "glucose",
    "glucose_10",
    "insulin",
    "lipid_emulsion",
    "alteplase",
    "tenecteplase",
    "streptokinase",
    "norepinephrine",
    "vasopressin",
    "fluid",
    "blood",
];

/// Everything that is wrong with names and dates.
pub(super) fn faults(file: &Value) -> Vec<Fault> {
    let mut faults = Vec::new();
    head(file, &mut faults);
    approval(file, &mut faults);
    for list in LISTS {
        members(file, list, &mut faults);
    }
    strings(file, "", &mut faults);
    faults
}

fn text<'a>(table: &'a Value, name: &str) -> Option<&'a str> {
    table.get(name).and_then(Value::as_str)
}

fn head(file: &Value, faults: &mut Vec<Fault>) {
    let mut fault = |field: &str, problem: String| faults.push((field.to_owned(), problem));
    for field in ["id", "other_ages"] {
        if let Some(problem) = text(file, field).and_then(|id| unlike_an_id(id, '-')) {
            fault(field, problem);
        }
    }
    if text(file, "other_ages").is_some_and(|other| text(file, "id") == Some(other)) {
        fault("other_ages", "names the protocol for the other age group, not this one".to_owned());
    }
    if text(file, "edition").is_some_and(|edition| !names_a_year(edition)) {
        fault("edition", "names no year; write which guideline and which edition, such as ERC 2021".to_owned());
    }
    match file.get("version").and_then(Value::as_integer) {
        Some(version) if version < 1 => fault("version", "counts from 1".to_owned()),
        Some(version) if version > MAX_VERSION => {
            fault("version", format!("{version} is above {MAX_VERSION}: versions of a file count 1, 2, 3"));
        }
        Some(_) | None => {}
    }
    for (place, change) in file.get("known_changes").and_then(Value::as_array).into_iter().flatten().enumerate() {
        if text(change, "edition").is_some_and(|edition| !names_a_year(edition)) {
            fault(&format!("known_changes.{place}.edition"), "names no year; write the edition's".to_owned());
        }
    }
}

fn approval(file: &Value, faults: &mut Vec<Fault>) {
    let mut fault = |field: &str, problem: String| faults.push((field.to_owned(), problem));
    let (by, on) = (text(file, "approved_by"), text(file, "approved_on"));
    if by.is_some_and(|by| by.trim().is_empty()) {
        fault("approved_by", "must name who approved".to_owned());
    }
    if let Some(on) = on.filter(|on| !is_day(on)) {
        fault("approved_on", format!("`{on}` is no date of the calendar; write one such as 2026-11-25"));
    }
    if file.get("approved_on").is_some_and(|on| !on.is_str()) {
        fault("approved_on", "stands without quotes; write the date such as \"2026-11-25\"".to_owned());
    }
    match (by, file.get("approved_on")) {
        (Some(_), None) => fault("approved_by", "stands without approved_on; an approval has both".to_owned()),
        (None, Some(_)) => fault("approved_on", "stands without approved_by; an approval has both".to_owned()),
        (Some(_), Some(_)) | (None, None) => {}
    }
}

/// Whether a text is a day of the calendar as year-month-day, in this century.
fn is_day(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts.as_slice() else { return false };
    let number = |part: &str, digits: usize| {
        (part.len() == digits && part.bytes().all(|byte| byte.is_ascii_digit()))
            .then(|| part.parse::<u32>().ok())
            .flatten()
    };
    let (Some(year), Some(month), Some(day)) = (number(year, 4), number(month, 2), number(day, 2)) else {
        return false;
    };
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 => 28 + u32::from(leap),
        _ => 0,
    };
    (2000..2100).contains(&year) && (1..=days).contains(&day)
}

/// Whether an edition names a year, and no number of four digits or more that is none.
fn names_a_year(edition: &str) -> bool {
    let mut years = edition
        .split(|letter: char| !letter.is_ascii_digit())
        .filter(|number| number.len() >= 4)
        .map(|number| number.len() == 4 && (number.starts_with("19") || number.starts_with("20")))
        .peekable();
    years.peek().is_some() && years.all(|year| year)
}

/// What keeps a word from being an id: small letters and digits, parted by one mark.
fn unlike_an_id(id: &str, mark: char) -> Option<String> {
    let sound = |letter: char| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == mark;
    if id.is_empty() {
        return Some("must not be empty".to_owned());
    }
    if id.chars().count() > MAX_ID {
        return Some(format!("is longer than {MAX_ID} characters; shorten it"));
    }
    let edge = |at: Option<char>| at.is_none_or(|letter| letter == mark);
    let good = id.chars().all(sound)
        && id.starts_with(|letter: char| letter.is_ascii_lowercase())
        && !edge(id.chars().next_back())
        && !id.contains(&format!("{mark}{mark}"));
    (!good).then(|| format!("`{id}` is no id; write small letters and digits, parted by `{mark}`, a letter first"))
}

/// The members of a list: each with a sound id that stands once, and with a title that says something.
fn members(file: &Value, list: &str, faults: &mut Vec<Fault>) {
    for (path, items) in lists(file, list) {
        let mut known = BTreeSet::new();
        for (place, item) in items.iter().enumerate() {
            let Some(id) = text(item, "id") else { continue };
            let field = below(&below(&path, id), "id");
            let field = if id.is_empty() { below(&path, &place.to_string()) } else { field };
            if let Some(problem) = unlike_an_id(id, '_') {
                faults.push((field.clone(), problem));
            } else if !known.insert(id) {
                faults.push((field.clone(), format!("`{id}` stands twice; each has an id of its own")));
            }
            if list == "circumstances" && !CIRCUMSTANCES.iter().any(|known| known.as_str() == id) {
                let words: Vec<&str> = CIRCUMSTANCES.iter().map(Circumstance::as_str).collect();
                faults.push((field, format!("`{id}` is no circumstance that can be set: {}", words.join(", "))));
            }
            drugs(item, &below(&path, id), faults);
            other_words(item, &below(&path, id), faults);
        }
    }
}

fn other_words(item: &Value, path: &str, faults: &mut Vec<Fault>) {
    let words = item.get("also").and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str);
    faults.extend(words.filter_map(|word| Some((below(path, "also"), unlike_an_id(word, '_')?))));
}

fn drugs(item: &Value, path: &str, faults: &mut Vec<Fault>) {
    let own = (item.get("drugs"), format!("{path}.drugs"));
    let going_on = (item.get("go_on").and_then(|go_on| go_on.get("drugs")), format!("{path}.go_on.drugs"));
    let avoided = (item.get("avoid_drugs").and_then(|avoid| avoid.get("value")), format!("{path}.avoid_drugs"));
    for (list, field) in [own, going_on, avoided] {
        let Some(list) = list.and_then(Value::as_array) else { continue };
        let mut known = BTreeSet::new();
        for drug in list.iter().filter_map(Value::as_str) {
            if !DRUGS.contains(&drug) {
                faults.push((field.clone(), format!("`{drug}` is no drug of the record: {}", DRUGS.join(", "))));
            } else if !known.insert(drug) {
                faults.push((field.clone(), format!("`{drug}` stands twice")));
            }
        }
        if list.is_empty() && field.ends_with("go_on.drugs") {
            faults.push((field, "must not be empty: name the drugs that begin it".to_owned()));
        }
    }
}

/// The lists that a path of [`LISTS`] names, each with its own dotted path.
fn lists<'a>(file: &'a Value, list: &str) -> Vec<(String, &'a Vec<Value>)> {
    let mut here = vec![(String::new(), file)];
    for word in list.split('.') {
        here = here
            .into_iter()
            .flat_map(|(path, value)| match (word, value) {
                ("*", Value::Array(items)) => items
                    .iter()
                    .map(|item| (below(&path, text(item, "id").unwrap_or_default()), item))
                    .collect::<Vec<_>>(),
                _ => value.get(word).map(|value| (below(&path, word), value)).into_iter().collect(),
            })
            .collect();
    }
    let named =
        |(path, value): (String, &'a Value)| Some((path.trim_end_matches(".value").to_owned(), value.as_array()?));
    here.into_iter().filter_map(named).collect()
}

/// Every title and sentence: something to read, in one line, of a length that a screen can show.
fn strings(value: &Value, path: &str, faults: &mut Vec<Fault>) {
    match value {
        Value::Table(table) => table.iter().for_each(|(name, value)| strings(value, &below(path, name), faults)),
        Value::Array(items) => {
            for (place, item) in items.iter().enumerate() {
                let name = text(item, "id").map_or_else(|| place.to_string(), str::to_owned);
                strings(item, &below(path, &name), faults);
            }
        }
        Value::String(words) => {
            let (field, name) = path.rsplit_once('.').unwrap_or(("", path));
            if name == "title" && words.trim().is_empty() {
                faults.push((path.to_owned(), "must not be empty".to_owned()));
            }
            let longest = match name {
                "title" => MAX_TITLE,
                "value" => MAX_WORDS,
                _ => usize::MAX,
            };
            let field = if name == "value" { field } else { path };
            if words.chars().count() > longest {
                faults
                    .push((field.to_owned(), format!("is longer than {longest} characters; a screen cannot show it")));
            }
            if words.chars().any(hidden) {
                faults.push((
                    field.to_owned(),
                    "has a line break or a hidden character; write it in one line".to_owned(),
                ));
            }
        }
        Value::Integer(_) | Value::Float(_) | Value::Boolean(_) | Value::Datetime(_) => {}
    }
}

/// Characters that nobody sees: controls, and those of no width or of a direction.
fn hidden(letter: char) -> bool {
    letter.is_control()
        || matches!(letter, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

/// Whether the protocol for the other age group can be changed to: it is at hand, for the other age, and draws the line
/// between the ages where this one does: else each could ask to change to the other. `at_hand` gives a protocol by its id.
///
/// # Errors
/// None: absent means that nothing is wrong.
pub fn other_ages_fault<'a>(
    text: &str,
    protocol: &Protocol,
    at_hand: impl Fn(&str) -> Option<&'a Protocol>,
) -> Option<Rejected> {
    let other = protocol.other_ages.as_ref()?;
    let problem = match at_hand(other) {
        None => {
            format!("no protocol `{other}` is at hand: name one of `coxswain protocol list`, or leave the line out")
        }
        Some(named) if named.is_for(protocol.age_group) => {
            format!("`{other}` is for the same age group; name the protocol for the other one")
        }
        Some(named) => return other_bounds(text, protocol, named),
    };
    Some(at(text, "other_ages", problem))
}

fn other_bounds(text: &str, protocol: &Protocol, named: &Protocol) -> Option<Rejected> {
    let bounds = |protocol: &Protocol| {
        let ages = protocol.ages.as_ref()?;
        Some((ages.no_adult_before_months.value, ages.no_child_from_months.value))
    };
    let (own, other) = (bounds(protocol)?, bounds(named)?);
    (own != other).then(|| {
        let problem = format!(
            "{} and {} months, and in `{}` {} and {}: write the same in both, or a code could be asked to change to and fro",
            own.0, own.1, named.id, other.0, other.1
        );
        at(text, "ages", problem)
    })
}

fn at(text: &str, field: &str, problem: String) -> Rejected {
    let line = place::lines(text).ok().and_then(|lines| place::line_near(&lines, field));
    Rejected { line, field: field.to_owned(), problem }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_days_of_the_calendar_are_dates() {
        for day in ["2026-11-25", "2024-02-29", "2000-02-29", "2026-12-31"] {
            assert!(is_day(day), "{day}");
        }
        for no_day in
            ["2026-02-29", "2026-02-31", "2100-02-28", "2026-13-01", "2026-00-10", "2026-04-31", "2026-1-2", "soon", ""]
        {
            assert!(!is_day(no_day), "{no_day}");
        }
    }

    #[test]
    fn the_protocol_for_the_other_ages_draws_the_line_where_this_one_does() {
        let text = |id: &str| super::super::shipped().iter().find(|(name, _)| *name == id).unwrap().1;
        let read = |text: &str| super::super::read(text).unwrap();
        let adult = read(text("aha-adult"));
        let fault = |child: &str| {
            let protocol = read(child);
            other_ages_fault(child, &protocol, |id| (id == adult.id).then_some(&adult))
        };
        assert_eq!(fault(text("aha-child")), None);
        let other = text("aha-child").replacen(
            "no_adult_before_months = { value = 144",
            "no_adult_before_months = { value = 168",
            1,
        );
        let refused = fault(&other).unwrap();
        let line = other.lines().position(|line| line == "[ages]").map(|line| line + 1);
        assert_eq!((refused.field.as_str(), refused.line), ("ages", line));
        assert!(
            refused.problem.starts_with("168 and 216 months, and in `aha-adult` 144 and 216"),
            "{}",
            refused.problem
        );
        assert_eq!(other_ages_fault(&other, &read(&other), |_| None).unwrap().field, "other_ages");
    }

    #[test]
    fn an_edition_names_a_year() {
        assert!(names_a_year("AHA 2020 with the 2023 update (N2)"));
        for edition in ["ERC", "ERC 20205", "AHA 3020", ""] {
            assert!(!names_a_year(edition), "{edition}");
        }
    }
}

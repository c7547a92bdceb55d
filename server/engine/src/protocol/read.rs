//! Reading a protocol file: its text becomes a [`Protocol`], or an error that names field and line.
//!
//! A file that does not pass is refused whole: there is no reading around a doubtful number. Ranges are in `limits`, what
//! must hold between values in `orders`, what ids and dates look like in `names`, what words may say in `words`.

use std::collections::BTreeMap;

use serde_path_to_error::Segment;
use toml::Value;

use super::orders::Fault;
use super::place::{line_near, line_of, lines};
use super::value::{Found, no_amount, sourced, unsafe_value};
use super::{Protocol, compose, names, orders, words};
use crate::event::AgeGroup;

/// Why a protocol file was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rejected {
    /// Line in the file, from 1; absent where the fault has no place, such as a missing table.
    pub line: Option<usize>,
    /// Dotted path of the field.
    pub field: String,
    /// What is wrong, and what to do.
    pub problem: String,
}

impl std::fmt::Display for Rejected {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if let Some(line) = self.line {
            write!(f, "line {line}: ")?;
        }
        if !self.field.is_empty() {
            write!(f, "{}: ", self.field)?;
        }
        f.write_str(&self.problem)
    }
}

impl std::error::Error for Rejected {}

/// Longest protocol file, in bytes: far beyond any real one.
const MAX_BYTES: usize = 1 << 20;

/// Reads a protocol from its text.
///
/// # Errors
/// Names line and field of the first value that is missing, mistyped or unsafe.
pub fn read(text: &str) -> Result<Protocol, Rejected> {
    check(text).map_err(|faults| faults.into_iter().next().unwrap_or_else(|| whole("cannot be read".to_owned())))
}

/// Reads a protocol from its text, and names everything that stands against it.
///
/// # Errors
/// Every fault with its line and field, in the order of the file. What must hold between values is judged once each value
/// by itself is sound: a slip of the pen is not reported twice.
pub fn check(text: &str) -> Result<Protocol, Vec<Rejected>> {
    let file = File::parse(text).map_err(|rejected| vec![rejected])?;
    let unsound = file.unsound();
    let read = file.protocol();
    // Words are held against numbers, and numbers against each other, once every one of them is a sound number.
    let sound = unsound.is_empty() && read.is_ok();
    let mut faults = unsound;
    faults.extend(names::faults(&file.value));
    faults.extend(words::faults(&file.value, &file.found, sound));
    if let (Ok(protocol), true) = (&read, sound) {
        faults.extend(orders::faults(protocol));
    }
    let mut faults: Vec<Rejected> = faults.into_iter().map(|fault| file.rejected(fault)).collect();
    match read {
        Ok(protocol) if faults.is_empty() => return Ok(protocol),
        Ok(_) => {}
        Err(rejected) => faults.push(rejected),
    }
    faults.sort_by_key(|fault| fault.line);
    faults.dedup();
    Err(faults)
}

/// Reads the text that a code already ran under. It was checked when the code began: a check that has become stricter since
/// must not take the plan from a code that is on record. What the engine could not compute with is refused all the same.
///
/// # Errors
/// Names line and field.
pub fn reread(text: &str) -> Result<Protocol, Rejected> {
    let file = File::parse(text)?;
    let broken = file.found.iter().find_map(|found| Some((found.field.clone(), no_amount(found)?)));
    broken.map_or_else(|| file.protocol(), |fault| Err(file.rejected(fault)))
}

/// A protocol file taken apart.
struct File<'a> {
    text: &'a str,
    value: Value,
    lines: BTreeMap<String, usize>,
    found: Vec<Found>,
}

impl<'a> File<'a> {
    fn parse(text: &'a str) -> Result<Self, Rejected> {
        if text.len() > MAX_BYTES {
            return Err(whole(format!("is longer than {MAX_BYTES} bytes: this is no protocol file")));
        }
        let value = toml::from_str(text).map_err(|error| bad_toml(text, &error))?;
        let lines = lines(text)?;
        Ok(Self { text, found: sourced(&value, &lines), lines, value })
    }

    /// The values that are unsafe by themselves.
    fn unsound(&self) -> Vec<Fault> {
        let group = self.age_group();
        let fault = |found: &Found| Some((found.field.clone(), unsafe_value(found, group)?));
        self.found.iter().filter_map(fault).collect()
    }

    /// For whom it says to be: ranges are held against it even where the rest cannot be read.
    fn age_group(&self) -> AgeGroup {
        match self.value.get("age_group").and_then(Value::as_str) {
            Some("child") => AgeGroup::Child,
            Some("infant") => AgeGroup::Infant,
            Some(_) | None => AgeGroup::Adult,
        }
    }

    fn protocol(&self) -> Result<Protocol, Rejected> {
        let deserializer = toml::Deserializer::parse(self.text).map_err(|error| bad_toml(self.text, &error))?;
        let read = serde_path_to_error::deserialize(deserializer).map_err(|error| {
            let field = self.name(error.path());
            let message = error.inner().message();
            let problem = match message.strip_prefix("missing field ") {
                Some(missing) => format!("{missing} is missing; the shipped files show how it is written"),
                None => message.to_owned(),
            };
            let field = field.strip_suffix(".value").map_or(field.clone(), str::to_owned);
            let line = error.inner().span().map(|span| line_of(self.text, span.start));
            // The whole file is no place: where a table of its own is missing, no line can be named.
            Rejected { line: if field.is_empty() { None } else { line }, field, problem }
        })?;
        Ok(compose::composed(read))
    }

    /// The dotted name of a place, members of lists by their id.
    fn name(&self, path: &serde_path_to_error::Path) -> String {
        let mut here = Some(&self.value);
        let mut name = String::new();
        for segment in path {
            let word = match segment {
                Segment::Map { key } => {
                    here = here.and_then(|value| value.get(key));
                    key.clone()
                }
                Segment::Seq { index } => {
                    here = here.and_then(|value| value.get(*index));
                    let id = here.and_then(|value| value.get("id")).and_then(Value::as_str);
                    id.map_or_else(|| index.to_string(), str::to_owned)
                }
                Segment::Enum { variant } => variant.clone(),
                Segment::Unknown => continue,
            };
            name = below(&name, &word);
        }
        name
    }

    fn rejected(&self, (field, problem): Fault) -> Rejected {
        Rejected { line: line_near(&self.lines, &field), field, problem }
    }
}

fn whole(problem: String) -> Rejected {
    Rejected { line: None, field: String::new(), problem }
}

pub(super) fn bad_toml(text: &str, error: &toml::de::Error) -> Rejected {
    Rejected {
        line: error.span().map(|span| line_of(text, span.start)),
        field: String::new(),
        problem: format!("is no TOML here: {}", error.message()),
    }
}

pub(super) fn below(path: &str, name: &str) -> String {
    if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") }
}

#[cfg(test)]
#[path = "broken_tests.rs"]
mod broken_tests;
#[cfg(test)]
#[path = "tenfold_tests.rs"]
mod tenfold_tests;
#[cfg(test)]
#[path = "read_tests.rs"]
mod tests;

//! Sources by short keys: a value carries the key, the foot of the page says what it stands for, each once.
//!
//! A source in a file is a sentence of clauses, such as `ERC 2021, alternate cycles (A42); ERC 2025 (N15)`. The key of a clause
//! is what it calls the rows of docs/clinical-sources.md by; a clause that names none is numbered. How the value was obtained
//! belongs to the value and stands behind its keys: nothing for read, `m` for memory, `p` for practice.

use std::collections::{BTreeMap, BTreeSet};

use super::super::{Basis, Row};
use super::Extent;
use super::amount::JOINED;

/// A source at the foot of the page, and the keys that stand for it, each with what is said of that place alone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// The document, or the words of a clause that names none.
    pub name: String,
    /// Key, and a remark; the remark may be empty.
    pub keys: Vec<(String, String)>,
}

/// What the mark `p` says by itself: such a clause needs no key.
const PRACTICE: &[&str] = &["common practice, no source", "ours"];

/// What stands before rows whose clauses name no document.
const FURTHER_ROWS: &str = "further rows";

/// Rows that a clause names, in their order; `true` where a row ends a span that begins with the one before it.
type Named = Vec<(char, usize, bool)>;

/// Every clause so far.
pub(super) struct Sources {
    extent: Extent,
    /// By document, then by what the clause names.
    documents: BTreeMap<String, BTreeSet<(Named, String)>>,
    /// Clauses that name no row, in the order of their numbers.
    numbered: Vec<String>,
}

impl Sources {
    pub(super) fn new(extent: Extent) -> Self {
        Self { extent, documents: BTreeMap::new(), numbered: Vec::new() }
    }

    /// The key of a value's source, in brackets.
    pub(super) fn key(&mut self, row: &Row) -> String {
        let practice = row.basis == Basis::Practice;
        let is_row = |clause: &str| !named(clause).is_empty();
        // A page of the plan does without remarks, but no value stands there with nothing.
        let bare = row.basis == Basis::Read && !clauses(&row.source).any(is_row);
        let whole = self.extent == Extent::Whole || bare;
        let said = clauses(&row.source).filter(|clause| !practice || !PRACTICE.contains(clause));
        let mut keys: Vec<String> = Vec::new();
        for clause in said.filter(|clause| whole || is_row(clause)) {
            let key = self.keep(clause);
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        let mark = match row.basis {
            Basis::Read => "",
            Basis::Memory => "m",
            Basis::Practice => "p",
        };
        let between = if keys.is_empty() || mark.is_empty() { String::new() } else { JOINED.to_string() };
        format!("[{}{between}{mark}]", keys.join(","))
    }

    fn keep(&mut self, clause: &str) -> String {
        let named = named(clause);
        if named.is_empty() {
            let known = self.numbered.iter().position(|known| known == clause);
            let place = known.unwrap_or_else(|| {
                self.numbered.push(clause.to_owned());
                self.numbered.len() - 1
            });
            return (place + 1).to_string();
        }
        let (document, mut remark) = parts(&without_rows(clause, &named));
        if self.extent == Extent::Plan {
            remark.clear();
        }
        let said = self.documents.entry(document).or_default();
        // Where nothing is said of these rows together, each stands for itself.
        let apart = remark.is_empty() && named.iter().all(|(_, _, span)| !span);
        if apart {
            said.extend(named.iter().map(|row| (vec![*row], String::new())));
        } else {
            said.insert((named.clone(), remark));
        }
        key(&named)
    }

    /// Every source with its keys: documents by name, then rows without one, then what is numbered.
    pub(super) fn foot(&self) -> Vec<Source> {
        let whole = self.extent == Extent::Whole;
        let (told, remarks): (Vec<_>, Vec<_>) = self.documents.iter().partition(|(name, _)| whole || is_document(name));
        // A page of the plan has the keys of remarks without their words, where no document has them.
        let known: BTreeSet<&Named> = told.iter().flat_map(|(_, said)| said.iter()).map(|(named, _)| named).collect();
        let further: BTreeSet<&Named> =
            remarks.iter().flat_map(|(_, said)| said.iter()).map(|(named, _)| named).collect();
        let further: Vec<(String, String)> =
            further.difference(&known).map(|named| (key(named), String::new())).collect();
        let further = Some(Source { name: FURTHER_ROWS.to_owned(), keys: further });
        let documents = told.into_iter().map(|(name, said)| {
            // A place that has a remark needs no second mention without one.
            let needed = |named: &Named, remark: &str| {
                !remark.is_empty() || !said.iter().any(|(other, said)| other == named && !said.is_empty())
            };
            let said = said.iter().filter(|(named, remark)| needed(named, remark));
            Source { name: name.clone(), keys: said.map(|(named, remark)| (key(named), remark.clone())).collect() }
        });
        let numbered = self.numbered.iter().enumerate();
        let numbered = numbered
            .map(|(place, name)| Source { name: name.clone(), keys: vec![((place + 1).to_string(), String::new())] });
        documents.chain(further.filter(|source| !source.keys.is_empty())).chain(numbered).collect()
    }
}

fn clauses(source: &str) -> impl Iterator<Item = &str> {
    source.split("; ").map(str::trim).filter(|clause| !clause.is_empty())
}

/// A row of docs/clinical-sources.md: a capital and up to three digits.
fn row(word: &str) -> Option<(char, usize)> {
    let word = word.trim_matches(|sign: char| !sign.is_ascii_alphanumeric());
    let mut letters = word.chars();
    let letter = letters.next().filter(char::is_ascii_uppercase)?;
    let digits = letters.as_str();
    let short = (1..=3).contains(&digits.len()) && digits.bytes().all(|digit| digit.is_ascii_digit());
    short.then(|| digits.parse().ok()).flatten().map(|number| (letter, number))
}

fn named(clause: &str) -> Named {
    let words: Vec<&str> = clause.split_whitespace().collect();
    let span = |place: usize| place >= 2 && words[place - 1] == "to" && row(words[place - 2]).is_some();
    let rows = words.iter().enumerate().filter_map(|(place, word)| Some((place, row(word)?)));
    rows.map(|(place, (letter, number))| (letter, number, span(place))).collect()
}

/// Such as `A41`, `A41,A42`, `P40-P42`.
fn key(named: &Named) -> String {
    let mut key = String::new();
    for (letter, number, span) in named {
        let between = if key.is_empty() {
            ""
        } else if *span {
            "-"
        } else {
            ","
        };
        key.push_str(&format!("{between}{letter}{number}"));
    }
    key
}

/// A clause without the rows in brackets that its key says already.
fn without_rows(clause: &str, named: &Named) -> String {
    let bracket = format!("({})", key(named).replace(',', ", ").replace('-', " to "));
    clause.replacen(&bracket, "", 1).split_whitespace().collect::<Vec<_>>().join(" ").replace(" ,", ",")
}

/// A document's name begins with a capital; what does not is a remark.
fn is_document(name: &str) -> bool {
    name.starts_with(|letter: char| letter.is_ascii_uppercase())
}

/// The document and what is said of the place in it.
fn parts(text: &str) -> (String, String) {
    match text.split_once(", ") {
        Some((document, remark)) if is_document(document) => (document.to_owned(), remark.to_owned()),
        Some(_) | None => (text.to_owned(), String::new()),
    }
}

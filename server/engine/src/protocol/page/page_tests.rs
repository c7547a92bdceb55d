//! What a page must hold, for every shipped protocol. The layout is tested where it is made, in the shell.

use std::collections::BTreeMap;

use super::*;
use crate::protocol::{Basis, Row, shipped};

fn text_of(id: &str) -> &'static str {
    shipped().iter().find(|(name, _)| *name == id).unwrap().1
}

fn cells(page: &Page) -> Vec<&str> {
    page.sections.iter().flat_map(|section| &section.rows).flatten().map(String::as_str).collect()
}

/// The bracket that a value's source should have on this page, worked out from the foot alone.
fn bracket(page: &Page, row: &Row) -> String {
    let mark = match row.basis {
        Basis::Read => "",
        Basis::Memory => "m",
        Basis::Practice => "p",
    };
    let mut keys: Vec<String> = Vec::new();
    for clause in row.source.split("; ") {
        if row.basis == Basis::Practice && ["common practice, no source", "ours"].contains(&clause) {
            continue;
        }
        let numbered = page.sources.iter().find(|source| source.name == clause && source.keys[0].1.is_empty());
        let key = match (clause.rsplit_once('('), numbered) {
            (_, Some(source)) => source.keys[0].0.clone(),
            (Some((_, rows)), None) => {
                rows.split(')').next().unwrap_or_default().replace(", ", ",").replace(" to ", "-")
            }
            (None, None) => panic!("`{clause}` stands nowhere at the foot"),
        };
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    let between = if keys.is_empty() || mark.is_empty() { String::new() } else { JOINED.to_string() };
    format!("[{}{between}{mark}]", keys.join(","))
}

/// How often words stand on the page with this bracket as the first one behind them.
fn count(page: &Page, words: &str, bracket: &str) -> usize {
    let behind =
        |cell: &str, end: usize| cell[end..].find('[').is_some_and(|open| cell[end + open..].starts_with(bracket));
    let inside = |cell: &str| cell.match_indices(words).filter(|(at, _)| behind(cell, at + words.len())).count();
    cells(page).into_iter().map(|cell| inside(&cell.to_lowercase().replace('_', " "))).sum()
}

#[test]
fn every_value_stands_on_the_page_with_the_key_of_its_source() {
    for (id, text) in shipped() {
        let page = page(text).unwrap();
        let mut wanted: BTreeMap<(String, String), usize> = BTreeMap::new();
        for row in rows(text).unwrap() {
            // Yes, no and nothing are said in words of their own.
            let said = !amount::is_nothing(&row) && row.value != "yes";
            let words = if said { amount::words(&row, None) } else { String::new() };
            let key = (words.to_lowercase().replace('_', " "), bracket(&page, &row).to_lowercase());
            *wanted.entry(key).or_default() += 1;
        }
        assert!(wanted.len() > 100, "{id}");
        for ((words, bracket), times) in wanted.iter().filter(|((words, _), _)| !words.is_empty()) {
            let found = count(&page, words, bracket);
            assert!(found >= *times, "{id}: `{words}` {bracket} stands {found} times, not {times}\n{page:#?}");
        }
    }
}

#[test]
fn every_field_has_words_and_every_source_is_at_the_foot_in_full() {
    for (id, text) in shipped() {
        let page = page(text).unwrap();
        let further = page.sections.iter().find(|section| section.title == FURTHER);
        assert_eq!(further, None, "{id}: give these fields words in the modules of the page");
        let foot: Vec<String> = page
            .sources
            .iter()
            .flat_map(|source| source.keys.iter().map(|(key, remark)| format!("{} {remark} {key}", source.name)))
            .collect();
        for row in rows(text).unwrap().iter().filter(|row| row.source.contains('(')) {
            // Every word of a clause stands in one entry or another of the foot.
            let words = row.source.split([' ', ',', ';', '(', ')']).filter(|word| word.len() > 3);
            for word in words {
                let inside = foot.iter().any(|entry| entry.contains(word)) || row.basis == Basis::Practice;
                assert!(inside, "{id}: `{word}` of {row:?}");
            }
        }
        let mut keys: Vec<&(String, String)> = page.sources.iter().flat_map(|source| &source.keys).collect();
        assert!(keys.iter().all(|(key, _)| !key.is_empty()), "{id}");
        let names: Vec<&str> = page.sources.iter().map(|source| source.name.as_str()).collect();
        assert!(names.iter().all(|name| names.iter().filter(|other| other == &name).count() == 1), "{id}: {names:?}");
        // No key is printed that the foot does not explain.
        keys.sort();
        for cell in cells(&page) {
            for bracket in cell.split('[').skip(1).filter_map(|rest| rest.split(']').next()) {
                let names = bracket.split([',', '-', JOINED]).filter(|name| !["", "m", "p"].contains(name));
                for name in names {
                    let explained = keys.iter().any(|(key, _)| key.split([',', '-']).any(|one| one == name));
                    assert!(explained, "{id}: [{bracket}] in `{cell}`: {name} is not at the foot");
                }
            }
        }
    }
}

#[test]
fn a_clinician_reads_doses_times_and_what_departs_from_the_published() {
    let said = |text: &str| cells(&page(text).unwrap()).join("\n").replace(JOINED, " ");
    let adult = said(text_of("erc-adult"));
    for words in ["1 mg = 10 mL [A40]", "every 4 min (3 to 5)", "at once", "by 4 min", "20 mL/kg [S62]", "= 4.5 kPa"] {
        assert!(adult.contains(words), "{words}:\n{adult}");
    }
    assert!(!adult.contains(" 0 s"), "{adult}");
    let child = said(text_of("erc-child"));
    for words in ["0.01 mg/kg = 0.1 mL/kg [P5]", "at most 1 mg = 10 mL [P6 m]", "from 12 months to 71 months"] {
        let bare = |text: &str| text.replace(" [P41]", "");
        assert!(bare(&child).contains(words), "{words}:\n{child}");
    }
    let ours = text_of("erc-adult").replacen(
        "interval_s = { value = 240,",
        "interval_s = { value = 360, unusual = \"our own trial\",",
        1,
    );
    let ours = ours.replacen(
        "max_interval_s = { value = 300,",
        "max_interval_s = { value = 420, unusual = \"our own trial\",",
        1,
    );
    let ours = said(&ours);
    assert!(ours.contains("every 6 min (3 to 5) UNUSUAL, because: our own trial"), "{ours}");
    assert!(ours.contains("by 7 min (3 to 5) UNUSUAL"), "{ours}");
}

#[test]
fn an_approval_stands_in_place_of_the_notice() {
    let signed = "version = 2\napproved_by = \"A. Lead\"\napproved_on = \"2026-11-25\"";
    let head = |text: &str| page(text).unwrap().head.join("\n");
    let approved = head(&text_of("erc-child").replacen("version = 1", signed, 1));
    assert!(approved.contains("version 2") && approved.contains("Approved by A. Lead on 2026-11-25."), "{approved}");
    assert!(!approved.contains("NOT APPROVED") && head(text_of("erc-child")).contains("NOT APPROVED HERE"));
    assert!(page("id = 1").is_err());
}

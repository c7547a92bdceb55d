//! What a page must hold, for every shipped protocol. The layout is tested where it is made, in the shell.

use std::collections::BTreeMap;

use super::*;
use crate::protocol::{Basis, Row, shipped};

fn text_of(id: &str) -> &'static str {
    shipped().iter().find(|(name, _)| *name == id).unwrap().1
}

fn whole(text: &str) -> Page {
    page(text, Extent::Whole).unwrap()
}

/// Whether only screens show it: nothing that the plan follows. An aim with a number is no such sentence, unless it repeats the
/// reading that its task is asked for.
fn is_sentence(row: &Row) -> bool {
    let (field, number) = (row.field.as_str(), row.value.contains(|sign: char| sign.is_ascii_digit()));
    let aim = field.contains(".tasks.") && field.ends_with(".target");
    ["shock.energy_rule", "shock.refractory.words"].contains(&field)
        || (field.starts_with("ending.") && field.ends_with(".words"))
        || field.contains(".notes.")
        || field.contains(".conflicts.")
        || (aim && (!number || row.value == "glucose below 7.0 mmol/L"))
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
    let remarks_only = row.basis == Basis::Read && !row.source.contains('(');
    for clause in row.source.split("; ") {
        if page.left_out.is_some() && !clause.contains('(') && !remarks_only {
            continue;
        }
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

/// Every one of these values stands on the page with its key, as often as the file has it.
fn assert_stands(id: &str, page: &Page, values: &[Row]) {
    let mut wanted: BTreeMap<(String, String), usize> = BTreeMap::new();
    for row in values {
        // Yes, no and nothing are said in words of their own.
        let said = !amount::is_nothing(row) && row.value != "yes";
        let words = if said { amount::words(row, None) } else { String::new() };
        let key = (words.to_lowercase().replace('_', " "), bracket(page, row).to_lowercase());
        *wanted.entry(key).or_default() += 1;
    }
    assert!(wanted.len() > 100, "{id}");
    for ((words, bracket), times) in wanted.iter().filter(|((words, _), _)| !words.is_empty()) {
        let found = count(page, words, bracket);
        assert!(found >= *times, "{id}: `{words}` {bracket} stands {found} times, not {times}\n{page:#?}");
    }
}

#[test]
fn every_value_stands_on_the_whole_page_with_the_key_of_its_source() {
    for (id, text) in shipped() {
        let page = whole(text);
        assert_stands(id, &page, &rows(text).unwrap());
        assert_eq!(page.left_out, None, "{id}");
        let changes = crate::protocol::read(text).unwrap().known_changes;
        assert!(!changes.is_empty(), "{id}");
        for change in changes {
            assert!(
                cells(&page).iter().any(|cell| cell.contains(&change.what) && cell.contains(&change.state)),
                "{id}"
            );
        }
    }
}

#[test]
fn a_page_of_the_plan_does_without_sentences_alone_and_counts_them() {
    for (id, text) in shipped() {
        let page = page(text, Extent::Plan).unwrap();
        let (sentences, followed): (Vec<Row>, Vec<Row>) = rows(text).unwrap().into_iter().partition(is_sentence);
        assert!(sentences.iter().all(|row| amount::numbers(&row.value).is_none()), "{id}: {sentences:?}");
        assert_stands(id, &page, &followed);
        let changes = crate::protocol::read(text).unwrap().known_changes.len();
        assert_eq!(page.left_out, Some(LeftOut { sentences: sentences.len(), changes }), "{id}");
        // Every circumstance can be found, and no long sentence stands here after all.
        let cells = cells(&page);
        for rules in crate::protocol::read(text).unwrap().circumstances {
            assert!(cells.iter().any(|cell| cell.contains(&rules.title)), "{id}: {}", rules.title);
        }
        for row in sentences.iter().filter(|row| row.value.len() > 40) {
            assert!(!cells.iter().any(|cell| cell.contains(&row.value)), "{id}: {row:?}");
        }
    }
}

#[test]
fn every_field_has_words_and_every_source_is_at_the_foot_in_full() {
    for (id, text) in shipped() {
        let page = whole(text);
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
        for page in [page, super::page(text, Extent::Plan).unwrap()] {
            assert_keys_are_explained(id, &page);
        }
    }
}

/// No key is printed that the foot does not explain, and the foot says nothing twice.
fn assert_keys_are_explained(id: &str, page: &Page) {
    let keys: Vec<&str> = page.sources.iter().flat_map(|source| &source.keys).map(|(key, _)| key.as_str()).collect();
    assert!(keys.iter().all(|key| !key.is_empty()), "{id}");
    let names: Vec<&str> = page.sources.iter().map(|source| source.name.as_str()).collect();
    assert!(names.iter().all(|name| names.iter().filter(|other| other == &name).count() == 1), "{id}: {names:?}");
    for cell in cells(page) {
        for bracket in cell.split('[').skip(1).filter_map(|rest| rest.split(']').next()) {
            assert!(!bracket.is_empty(), "{id}: a value without a source in `{cell}`");
            let names = bracket.split([',', '-', JOINED]).filter(|name| !["", "m", "p"].contains(name));
            for name in names {
                let explained = keys.iter().any(|key| key.split([',', '-']).any(|one| one == name));
                assert!(explained, "{id}: [{bracket}] in `{cell}`: {name} is not at the foot");
            }
        }
    }
}

#[test]
fn a_clinician_reads_doses_times_and_what_departs_from_the_published() {
    let said = |text: &str| cells(&whole(text)).join("\n").replace(JOINED, " ");
    let adult = said(text_of("erc-adult"));
    for words in ["1 mg = 10 mL [A40]", "every 4 min (3 to 5)", "at once", "by 4 min", "20 mL/kg [S62]", "= 4.5 kPa"] {
        assert!(adult.contains(words), "{words}:\n{adult}");
    }
    assert!(!adult.contains(" 0 s"), "{adult}");
    let child = said(text_of("erc-child"));
    for words in ["0.01 mg/kg = 0.1 mL/kg [P5]", "at most 1 mg = 10 mL [P6 m]", "from 12 months to 5 years 11 months"] {
        let bare = |text: &str| text.replace(" [P41]", "");
        assert!(bare(&child).contains(words), "{words}:\n{child}");
    }
    for words in ["up to a tenth of the dose", "before 12 years", "by a tenth of the dose", "Epinephrine, when"] {
        assert!(adult.contains(words), "{words}:\n{adult}");
    }
    assert!(child.contains("down to half of it") && child.contains("from 8 years each 4 s"), "{child}");
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
    let head = |text: &str| whole(text).head.join("\n");
    let approved = head(&text_of("erc-child").replacen("version = 1", signed, 1));
    assert!(approved.contains("version 2") && approved.contains("Approved by A. Lead on 2026-11-25."), "{approved}");
    assert!(!approved.contains("NOT APPROVED") && head(text_of("erc-child")).contains("NOT APPROVED HERE"));
    assert!(page("id = 1", Extent::Plan).is_err());
}

#[test]
fn long_months_are_years_and_common_parts_have_names() {
    let said = |numbers: &[f64], unit: &str| amount::amount(numbers, unit).replace(JOINED, " ");
    for (months, words) in [
        (1.0, "1 month"),
        (23.0, "23 months"),
        (24.0, "2 years"),
        (71.0, "5 years 11 months"),
        (73.0, "6 years 1 month"),
        (144.0, "12 years"),
    ] {
        assert_eq!(said(&[months], "months"), words);
    }
    for (part, words) in [(0.5, "half"), (0.25, "a quarter"), (0.2, "a fifth"), (0.1, "a tenth"), (0.15, "0.15")] {
        assert_eq!(said(&[part], amount::PART), words);
    }
}

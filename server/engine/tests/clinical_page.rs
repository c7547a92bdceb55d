//! Writes docs/clinical.md from the shipped protocols, and fails while the committed page is stale: every number on one
//! page, each guideline in its own column, with its source. `COXSWAIN_WRITE_CLINICAL=1` (when compiled) rewrites it.
#![expect(clippy::unwrap_used, reason = "a test")]

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::{Path, PathBuf};

use coxswain_engine::protocol::{self, Basis, LIMITS, Row};

const HEAD: &str = "# Every clinical number

Written from `server/protocols/*.toml` by `COXSWAIN_WRITE_CLINICAL=1 cargo test -p coxswain-engine --test clinical_page`; a test fails while this
page is stale. **Not medical advice: a department compares each value with the full text of its own guideline, its own
defibrillator and its own ampoules, and signs the file (`approved_by`, `approved_on`) before a patient depends on it.**

Letters and numbers in brackets are rows of [clinical-sources.md](clinical-sources.md), which says where each was read. After a source:
**m** = from memory, to be checked before approval; **p** = common practice, no published source; nothing = read in the source or in a
digest of it. Targets of the quality figures and their sources are in [measures.md](measures.md).
";

fn page_path() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/clinical.md")
}

fn topic(field: &str) -> &str {
    field.split_once('.').map_or("general", |(topic, _)| topic)
}

fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('\n', " ")
}

fn sources(rows: &[Option<&Row>]) -> String {
    let mut said: Vec<String> = Vec::new();
    for row in rows.iter().flatten() {
        let mark = match row.basis {
            Basis::Read => "",
            Basis::Memory => " **m**",
            Basis::Practice => " **p**",
        };
        let unusual = row.unusual.as_ref().map_or(String::new(), |reason| format!(" (unusual: {reason})"));
        let source = format!("{}{mark}{unusual}", row.source);
        if !said.contains(&source) {
            said.push(source);
        }
    }
    cell(&said.join("; "))
}

fn page() -> String {
    let shipped = protocol::shipped();
    let mut fields: Vec<String> = Vec::new();
    let mut found: Vec<BTreeMap<String, Row>> = Vec::new();
    for (_, text) in shipped {
        let rows = protocol::rows(text).unwrap();
        // In the order of the files: a field that only a later file has goes behind the field it stands after there.
        let mut after = None;
        for row in &rows {
            match fields.iter().position(|field| *field == row.field) {
                Some(place) => after = Some(place),
                None => {
                    let place = after.map_or(fields.len(), |place| place + 1);
                    fields.insert(place, row.field.clone());
                    after = Some(place);
                }
            }
        }
        found.push(rows.into_iter().map(|row| (row.field.clone(), row)).collect());
    }
    let mut topics: Vec<&str> = Vec::new();
    for field in &fields {
        if !topics.contains(&topic(field)) {
            topics.push(topic(field));
        }
    }
    let mut page = HEAD.to_owned();
    for name in topics {
        let ids: Vec<&str> = shipped.iter().map(|(id, _)| *id).collect();
        let _ = write!(
            page,
            "\n## {name}\n\n| value | {} | source |\n|{}\n",
            ids.join(" | "),
            " --- |".repeat(ids.len() + 2)
        );
        for field in fields.iter().filter(|field| topic(field) == name) {
            let rows: Vec<Option<&Row>> = found.iter().map(|rows| rows.get(field)).collect();
            let values: Vec<String> =
                rows.iter().map(|row| row.map_or("–".to_owned(), |row| cell(&row.value))).collect();
            let short = field.split_once('.').map_or(field.as_str(), |(_, rest)| rest);
            let _ = writeln!(page, "| `{short}` | {} | {} |", values.join(" | "), sources(&rows));
        }
    }
    page.push_str(
        "\n## What a department's own file may say\n\nA value outside is refused by field and line, unless `unusual = \"reason\"` stands beside it.\n\n\
         | field | for | from | to | unit | published in |\n| --- | --- | --- | --- | --- | --- |\n",
    );
    for limit in LIMITS {
        let ages = format!("{:?}", limit.ages).to_lowercase();
        let _ = writeln!(
            page,
            "| `{}` | {ages} | {}{} | {} | {} | {} |",
            limit.field,
            if limit.or_zero { "0, or " } else { "" },
            limit.low,
            limit.high,
            limit.unit,
            cell(limit.source)
        );
    }
    page
}

#[test]
fn the_page_of_every_clinical_number_is_fresh() {
    let page = page();
    if option_env!("COXSWAIN_WRITE_CLINICAL") == Some("1") {
        std::fs::write(page_path(), &page).unwrap();
    }
    let committed = std::fs::read_to_string(page_path()).unwrap_or_default();
    assert!(
        committed == page,
        "docs/clinical.md is stale: COXSWAIN_WRITE_CLINICAL=1 cargo test -p coxswain-engine --test clinical_page"
    );
}

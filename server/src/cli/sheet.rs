//! A protocol's page as text: aligned tables of a fixed width, for a terminal and for a sheet of paper. It must not change a
//! word of the page.

use comfy_table::{ColumnConstraint, ContentArrangement, Table, TableStyle, Width};
use coxswain_engine::protocol::{JOINED, LeftOut, Page, Section, Source};

/// Widest line, in characters: a portrait sheet in small print.
const WIDTH: u16 = 120;
/// The first column, the same in every table.
const FIRST: u16 = 15;

/// The page as text.
pub(super) fn text(page: &Page) -> String {
    let mut lines: Vec<String> = page.head.iter().flat_map(|line| flowed(line)).collect();
    for section in &page.sections {
        lines.extend(table(section));
    }
    let remarks = if page.left_out.is_some() { "" } else { ", and numbered remarks" };
    lines.push(rule(&format!("Sources: rows of docs/clinical-sources.md{remarks}")));
    lines.extend(flowed(&sources(&page.sources)));
    lines.push(rule(""));
    lines.extend(page.left_out.iter().flat_map(|left_out| flowed(&behind_long(*left_out))));
    lines.extend(flowed(page.cautions));
    lines.iter().map(|line| format!("{}\n", line.replace(JOINED, " ").trim_end())).collect()
}

/// A line across the page that begins a table.
fn rule(title: &str) -> String {
    let title = if title.is_empty() { String::new() } else { format!("{} ", title.to_uppercase()) };
    format!("{title}{}", "\u{2500}".repeat(usize::from(WIDTH).saturating_sub(title.chars().count())))
}

fn table(section: &Section) -> Vec<String> {
    let mut table = blank();
    let mut lines = Vec::new();
    if !section.columns.is_empty() {
        let heads = std::iter::once(section.title.to_uppercase());
        table.set_header(heads.chain(section.columns.iter().map(|head| (*head).to_owned())));
    } else if !section.title.is_empty() {
        lines.push(rule(&section.title));
    }
    table.add_rows(section.rows.iter().map(|row| broken(row)));
    if let Some(column) = table.column_mut(0) {
        column.set_constraint(ColumnConstraint::Absolute(Width::Fixed(FIRST)));
    }
    lines.extend(laid_out(&mut table));
    lines
}

/// A row whose label may break behind the hyphen of a word that is wider than its column.
fn broken(row: &[String]) -> Vec<String> {
    let fits = |word: &str| word.chars().count() < usize::from(FIRST);
    let mut row = row.to_vec();
    if let Some(label) = row.first_mut().filter(|label| !label.split(' ').all(fits)) {
        *label = label.replace('-', "- ");
    }
    row
}

/// `ERC 2021: A3, A26 (a remark), …`; what is numbered, with its number first.
fn sources(sources: &[Source]) -> String {
    let words = sources.iter().map(|source| match source.keys.as_slice() {
        [(number, _)] if number.bytes().all(|digit| digit.is_ascii_digit()) => {
            format!("{number}{JOINED}{}", source.name)
        }
        keys => {
            let keys = keys.iter().map(|(key, remark)| match remark.as_str() {
                "" => key.clone(),
                remark => format!("{key}{JOINED}({remark})"),
            });
            format!("{}: {}", source.name, keys.collect::<Vec<_>>().join(", "))
        }
    });
    words.collect::<Vec<_>>().join(" \u{b7} ")
}

/// What `--long` adds.
fn behind_long(LeftOut { sentences, changes }: LeftOut) -> String {
    let of = |count: usize, one: &str| if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") };
    format!(
        "With --long also: {} for the screens, the remarks on sources, {} in newer editions.",
        of(sentences, "sentence"),
        of(changes, "known change")
    )
}

fn flowed(text: &str) -> Vec<String> {
    let mut table = blank();
    table.add_row([text]);
    laid_out(&mut table)
}

fn blank() -> Table {
    let mut table = Table::new();
    table.load_style(TableStyle::new()).set_content_arrangement(ContentArrangement::Dynamic).set_width(WIDTH);
    table
}

fn laid_out(table: &mut Table) -> Vec<String> {
    for column in table.column_iter_mut() {
        column.set_padding((0, 1));
    }
    table.lines().collect()
}

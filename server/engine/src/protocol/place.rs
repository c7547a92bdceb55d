//! Where each field of a protocol file stands, so that a fault can name its line. Members of a list go by their `id`, else
//! by their number from 0. This module must not judge what it finds.

use std::collections::BTreeMap;

use toml::de::{DeTable, DeValue};

use super::read::{Rejected, bad_toml, below};

/// The line of an offset into a text, from 1.
pub(super) fn line_of(text: &str, offset: usize) -> usize {
    text.bytes().take(offset).filter(|byte| *byte == b'\n').count() + 1
}

/// Where each field stands, by the same names.
pub(super) fn lines(text: &str) -> Result<BTreeMap<String, usize>, Rejected> {
    let document = DeTable::parse(text).map_err(|error| bad_toml(text, &error))?;
    let mut places = Places { starts: vec![0], found: BTreeMap::new() };
    places.starts.extend(text.match_indices('\n').map(|(offset, _)| offset + 1));
    places.table(document.get_ref(), "");
    Ok(places.found)
}

/// Collects the line of each field.
struct Places {
    /// Where each line begins.
    starts: Vec<usize>,
    found: BTreeMap<String, usize>,
}

impl Places {
    fn table(&mut self, table: &DeTable<'_>, path: &str) {
        for (name, value) in table {
            let field = below(path, name.get_ref());
            self.note(&field, name.span().start);
            self.value(value.get_ref(), &field);
        }
    }

    fn value(&mut self, value: &DeValue<'_>, path: &str) {
        match value {
            DeValue::Table(table) => self.table(table, path),
            DeValue::Array(items) => {
                for (index, item) in items.iter().enumerate() {
                    let id = match item.get_ref() {
                        DeValue::Table(table) => table.iter().find_map(|(name, value)| match value.get_ref() {
                            DeValue::String(id) if name.get_ref() == "id" => Some(id.clone().into_owned()),
                            _ => None,
                        }),
                        _ => None,
                    };
                    let field = below(path, &id.unwrap_or_else(|| index.to_string()));
                    self.note(&field, item.span().start);
                    self.value(item.get_ref(), &field);
                }
            }
            DeValue::String(_)
            | DeValue::Integer(_)
            | DeValue::Float(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_) => {}
        }
    }

    fn note(&mut self, field: &str, offset: usize) {
        self.found.insert(field.to_owned(), self.starts.partition_point(|start| *start <= offset));
    }
}

/// The line of a value, or of the nearest table above it that has one.
pub(super) fn line_near(lines: &BTreeMap<String, usize>, field: &str) -> Option<usize> {
    let mut field = field;
    // A table's header may stand far above the value itself.
    if let Some(line) = lines.get(&format!("{field}.value")) {
        return Some(*line);
    }
    loop {
        if let Some(line) = lines.get(field) {
            return Some(*line);
        }
        field = field.rsplit_once('.')?.0;
    }
}

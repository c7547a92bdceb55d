//! A timeline as a table (RFC 4180): one record a row, for people with a spreadsheet.

use coxswain_engine::event::FieldError;
use coxswain_engine::record::Record;
use serde_json::Value;

use super::StoredCode;

const HEADER: &str = "seq,id,at_ms,code_time,recorded_at,source,device,name,roles,kind,details\r\n";

/// The whole table.
///
/// # Errors
/// Names the field of the first record that cannot be read.
pub fn csv(stored: &StoredCode) -> Result<String, FieldError> {
    let mut table = HEADER.to_owned();
    for record in super::records(stored)? {
        row(&record, &mut table);
    }
    Ok(table)
}

fn row(record: &Record, table: &mut String) {
    let event = serde_json::to_value(&record.event).unwrap_or(Value::Null);
    let mut details = event.as_object().cloned().unwrap_or_default();
    let kind = details.remove("kind");
    let roles: Vec<&str> = record.by.roles.iter().map(|role| role.as_str()).collect();
    let source = serde_json::to_value(record.source).unwrap_or(Value::Null);
    let details = if details.is_empty() { String::new() } else { Value::Object(details).to_string() };
    let cells = [
        record.seq.to_string(),
        record.id.to_string(),
        record.at_ms.to_string(),
        code_time(record.at_ms),
        record.recorded_at.clone(),
        source.as_str().unwrap_or_default().to_owned(),
        record.by.device.to_string(),
        text(&record.by.name),
        roles.join(" "),
        kind.as_ref().and_then(Value::as_str).unwrap_or_default().to_owned(),
        details,
    ];
    let cells: Vec<String> = cells.iter().map(|cell| quoted(cell)).collect();
    table.push_str(&cells.join(","));
    table.push_str("\r\n");
}

/// Minutes and seconds of code time, as people say it.
fn code_time(at_ms: i64) -> String {
    let seconds = at_ms.abs() / 1_000;
    format!("{}{:02}:{:02}", if at_ms < 0 { "-" } else { "" }, seconds / 60, seconds % 60)
}

/// Free text that a spreadsheet would take for a formula is made plain.
fn text(value: &str) -> String {
    if value.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{value}") } else { value.to_owned() }
}

fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_quoted_and_formulas_disarmed() {
        assert_eq!(quoted("a,\"b\""), "\"a,\"\"b\"\"\"");
        assert_eq!(text("=1+1"), "'=1+1");
        assert_eq!(code_time(-61_500), "-01:01");
        assert_eq!(code_time(3_661_000), "61:01");
    }
}

//! Cells and rows of a CSV (RFC 4180), for people with a spreadsheet.

use serde_json::Value;

/// A cell of free text. What a spreadsheet would take for a formula is made plain. Numbers and code times that this program
/// made are no free text: they keep their sign, so that whoever computes with the file reads them as they are.
pub(super) fn text(value: &str) -> String {
    if value.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) { format!("'{value}") } else { value.to_owned() }
}

/// A cell of a value from JSON: nothing for null, a word as it is, lists and objects as JSON.
pub(super) fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(word) => text(word),
        Value::Bool(_) | Value::Number(_) | Value::Array(_) | Value::Object(_) => value.to_string(),
    }
}

/// The word of a value that is one in JSON.
pub(super) fn word(value: impl serde::Serialize) -> String {
    serde_json::to_value(value).map_or_else(|_| String::new(), |value| cell(&value))
}

/// One row, with its end.
pub(super) fn row<T: AsRef<str>>(cells: impl IntoIterator<Item = T>) -> String {
    let cells: Vec<String> = cells.into_iter().map(|cell| quoted(cell.as_ref())).collect();
    cells.join(",") + "\r\n"
}

fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_owned() }
}

/// Minutes and seconds of code time, as people say it.
pub(super) fn code_time(at_ms: i64) -> String {
    let seconds = at_ms.abs() / 1_000;
    format!("{}{:02}:{:02}", if at_ms < 0 { "-" } else { "" }, seconds / 60, seconds % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_quoted_and_formulas_disarmed() {
        assert_eq!(row(["a,\"b\"", "c", "d\ne"]), "\"a,\"\"b\"\"\",c,\"d\ne\"\r\n");
        for begin in ["=", "+", "-", "@", "\t", "\r", "\n"] {
            let formula = format!("{begin}1+1");
            assert_eq!(text(&formula), format!("'{formula}"));
            assert_eq!(cell(&serde_json::json!(formula)), format!("'{formula}"));
        }
        assert_eq!((text("1-1"), cell(&serde_json::json!(-5))), ("1-1".to_owned(), "-5".to_owned()));
        assert_eq!(code_time(-61_500), "-01:01");
        assert_eq!(code_time(3_661_000), "61:01");
        assert_eq!(cell(&serde_json::json!([1, null])), "[1,null]");
    }
}

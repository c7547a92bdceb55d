//! A tenfold error never passes: each number of each shipped file, ten times larger and ten times smaller, is refused.
//! None is excepted: where a value may vary that much, its range is told apart from 0 or by its item.

use toml::Value;

use super::*;
use crate::protocol::shipped;

/// A place in a file: keys and indices from the root.
#[derive(Debug, Clone)]
enum Step {
    Key(String),
    Index(usize),
}

fn leaves(value: &Value, path: &[Step], found: &mut Vec<Vec<Step>>) {
    let deeper = |step: Step| path.iter().cloned().chain([step]).collect::<Vec<_>>();
    match value {
        Value::Table(table) => {
            table.iter().for_each(|(key, value)| leaves(value, &deeper(Step::Key(key.clone())), found));
        }
        Value::Array(items) => {
            items.iter().enumerate().for_each(|(index, value)| leaves(value, &deeper(Step::Index(index)), found));
        }
        Value::Integer(_) | Value::Float(_) => found.push(path.to_vec()),
        Value::String(_) | Value::Boolean(_) | Value::Datetime(_) => {}
    }
}

fn at<'a>(file: &'a mut Value, path: &[Step]) -> &'a mut Value {
    path.iter().fold(file, |value, step| match step {
        Step::Key(key) => value.get_mut(key).unwrap(),
        Step::Index(index) => value.get_mut(*index).unwrap(),
    })
}

/// The place as a fault names it.
fn name(file: &Value, path: &[Step]) -> String {
    let mut here = file;
    let mut words = Vec::new();
    for step in path {
        match step {
            Step::Key(key) => {
                here = here.get(key).unwrap();
                words.push(key.clone());
            }
            Step::Index(index) => {
                here = here.get(*index).unwrap();
                let id = here.get("id").and_then(Value::as_str);
                words.push(id.map_or_else(|| index.to_string(), str::to_owned));
            }
        }
    }
    words.join(".")
}

/// A number times a factor, whole where it stays whole.
#[expect(clippy::cast_possible_truncation, reason = "numbers of a protocol are small")]
fn times(value: &Value, factor: f64) -> Value {
    let product = crate::protocol::value::number(value).unwrap() * factor;
    let rounded = (product * 1e9).round() / 1e9;
    if rounded.fract() == 0.0 { Value::Integer(rounded as i64) } else { Value::Float(rounded) }
}

/// What refuses a changed file: by the value alone if that is enough, which spares reading the text again.
fn refusals(file: &mut File<'_>, changed: Value) -> Vec<Rejected> {
    file.found = sourced(&changed, &file.lines);
    file.value = changed;
    let unsound = file.unsound();
    if unsound.is_empty() {
        return check(&toml::to_string(&file.value).unwrap()).err().unwrap_or_default();
    }
    unsound.into_iter().map(|fault| file.rejected(fault)).collect()
}

#[test]
fn a_tenfold_error_never_passes() {
    let mut passed = Vec::new();
    let mut tried = 0;
    for (id, text) in shipped() {
        let mut file = File::parse(text).unwrap();
        let whole = file.value.clone();
        let mut paths = Vec::new();
        leaves(&whole, &[], &mut paths);
        // The version of the file is the only number at its root.
        for (path, factor) in paths.iter().filter(|path| path.len() > 1).flat_map(|path| [(path, 10.0), (path, 0.1)]) {
            let mut changed = whole.clone();
            let value = at(&mut changed, path);
            let new = times(value, factor);
            if new == *value {
                continue;
            }
            *value = new.clone();
            tried += 1;
            let field = name(&whole, path);
            let faults = refusals(&mut file, changed);
            assert!(faults.iter().all(|fault| fault.line.is_some()), "{id}: {field} = {new}: {faults:?}");
            if faults.is_empty() {
                passed.push(format!("{id}: {field} = {new}"));
            }
        }
    }
    assert!(tried > 900, "{tried}");
    assert!(passed.is_empty(), "{} of {tried} pass:\n{}", passed.len(), passed.join("\n"));
}

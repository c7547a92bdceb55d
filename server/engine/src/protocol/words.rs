//! What the words of a protocol file may say: no number that the file's own numbers do not have, and no order to end a
//! resuscitation. `unusual` beside a sentence lets it pass; a title has no such place and says neither.

use toml::Value;

use super::orders::Fault;
use super::quantity::{Quantity, quantities, ratio};
use super::read::below;
use super::value::{Found, number};
use super::{advice, limits};

/// A text that reaches a screen.
struct Said<'a> {
    field: String,
    text: &'a str,
    /// Whether a reason stands beside it.
    excused: bool,
}

/// Everything that is wrong with the words of a file. They are held against its numbers only where those are `sound`.
pub(super) fn faults(file: &Value, found: &[Found], sound: bool) -> Vec<Fault> {
    let mut said: Vec<Said<'_>> = found
        .iter()
        .filter_map(|one| {
            Some(Said { field: one.field.clone(), text: one.value.as_str()?, excused: one.unusual.is_some() })
        })
        .collect();
    titles(file, "", &mut said);
    said.iter()
        .filter(|one| !one.excused)
        .filter_map(|one| {
            let problem = ends(one).or_else(|| sound.then(|| contradicts(one, found)).flatten())?;
            Some((one.field.clone(), problem))
        })
        .collect()
}

/// Every title, but for the file's own: it names a guideline.
fn titles<'a>(value: &'a Value, path: &str, said: &mut Vec<Said<'a>>) {
    match value {
        Value::Table(table) => {
            for (name, inner) in table {
                let field = below(path, name);
                match inner.as_str() {
                    Some(text) if name == "title" && !path.is_empty() => {
                        said.push(Said { field, text, excused: false });
                    }
                    Some(_) => {}
                    None => titles(inner, &field, said),
                }
            }
        }
        Value::Array(items) => {
            for (place, item) in items.iter().enumerate() {
                let id = item.get("id").and_then(Value::as_str);
                titles(item, &below(path, &id.map_or_else(|| place.to_string(), str::to_owned)), said);
            }
        }
        Value::String(_) | Value::Integer(_) | Value::Float(_) | Value::Boolean(_) | Value::Datetime(_) => {}
    }
}

fn ends(said: &Said<'_>) -> Option<String> {
    if said.field.starts_with("ending.") {
        let advice = advice::advice_about_ending(said.text)?;
        return Some(format!(
            "`{advice}` is advice about ending; say what the guideline says, as information: the team decides"
        ));
    }
    let order = advice::order_to_end(said.text)?;
    Some(format!(
        "`{order}` would order the end of a resuscitation: a protocol never does. Take it out; what the guideline says of \
         ending belongs into [[ending]], as information."
    ))
}

/// The first amount in a text that neither the numbers beside it nor a published text have.
fn contradicts(said: &Said<'_>, found: &[Found]) -> Option<String> {
    let own = numbers_beside(&said.field, found);
    let stranger = quantities(said.text).into_iter().find(|quantity| {
        let known = |kind: &str, value: f64| {
            (kind.is_empty() || quantity.kind.is_empty() || kind == quantity.kind) && alike(quantity.value, value)
        };
        !own.iter().any(|(kind, value)| known(kind, *value))
            && !limits::said_of(&said.field).any(|published| {
                quantities(published)
                    .iter()
                    .any(|other| other.kind == quantity.kind && alike(other.value, quantity.value))
            })
    })?;
    Some(not_in_numbers(&stranger, &own))
}

fn not_in_numbers(stranger: &Quantity, own: &[(&'static str, f64)]) -> String {
    let beside: Vec<String> = own
        .iter()
        .filter(|(kind, _)| *kind == stranger.kind)
        .map(|(kind, value)| {
            if *kind == "ratio" {
                format!("{}:{}", (value / 1_000.0).trunc(), value % 1_000.0)
            } else {
                format!("{value} {kind}")
            }
        })
        .collect();
    let beside = if beside.is_empty() {
        "no such number stands".to_owned()
    } else {
        format!("here stands {}", beside.join(", "))
    };
    format!(
        "says {}, and among the numbers beside it {beside}: correct one of the two, or leave the number out of the words. \
         If it is meant, write unusual = \"reason\" beside it.",
        stranger.words
    )
}

/// As a screen rounds: 4.7 kPa are 35 mmHg.
fn alike(left: f64, right: f64) -> bool {
    (left - right).abs() <= 0.01 * left.abs().max(right.abs())
}

/// The numbers of the item that a text belongs to: what stands under the same table.
fn numbers_beside(field: &str, found: &[Found]) -> Vec<(&'static str, f64)> {
    let table = field.rsplit_once('.').map_or("", |(table, _)| table);
    // A dose in words and breaths at the beginning belong to what is around them.
    let table = table.strip_suffix(".amount").unwrap_or(table);
    let inside = |one: &&Found| one.field.strip_prefix(table).is_some_and(|rest| rest.starts_with('.'));
    let mut own: Vec<(&'static str, f64)> = found.iter().filter(inside).flat_map(of_kind).collect();
    let single = |name: &str| found.iter().find(|one| one.field == name).and_then(|one| number(&one.value));
    if let (Some(compressions), Some(breaths)) = (single("airway.ratio_compressions"), single("airway.ratio_breaths")) {
        own.push(("ratio", ratio(compressions, breaths)));
    }
    own
}

/// The numbers of a value, with the kind of amount that the name of its field says.
fn of_kind(one: &Found) -> Vec<(&'static str, f64)> {
    let kind = one.field.rsplit('.').find_map(|name| {
        KINDS.iter().find(|(end, _)| name == *end || name.ends_with(&format!("_{end}"))).map(|(_, kind)| *kind)
    });
    let numbers = match &one.value {
        Value::Array(items) => items.iter().filter_map(number).collect(),
        other => number(other).into_iter().collect::<Vec<_>>(),
    };
    let mut own: Vec<(&'static str, f64)> = numbers.iter().map(|value| (kind.unwrap_or_default(), *value)).collect();
    if one.field.ends_with("breath_each_s") {
        own.extend(numbers.iter().map(|seconds| ("/min", 60.0 / seconds)));
    }
    own
}

/// How fields' names end, and what kind of amount they hold; the longest first. `low` and `high` have the kind of the
/// reading they belong to.
const KINDS: &[(&str, &str)] = &[
    ("mg_per_ml", "mg/ml"),
    ("mg_per_kg", "mg/kg"),
    ("ml_per_kg", "ml/kg"),
    ("j_per_kg", "j/kg"),
    ("per_minute", "/min"),
    ("mmol_l", "mmol/l"),
    ("after_shocks", "shocks"),
    ("max_shocks", "shocks"),
    ("initial_breaths", "breaths"),
    ("mmhg", "mmhg"),
    ("months", "months"),
    ("weeks", "weeks"),
    ("count", "breaths"),
    ("pct", "%"),
    ("mg", "mg"),
    ("ml", "ml"),
    ("kg", "kg"),
    ("s", "s"),
    ("j", "j"),
    ("c", "c"),
];

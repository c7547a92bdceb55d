//! Special circumstances: for each what it asks of whom and when, what it withholds, and what it says. A circumstance that
//! only says something has its name on a page without sentences.

use super::super::{Begun, CareTask, CircumstanceRules, CountsFrom, Protocol, Reading};
use super::amount::JOINED;
use super::values::{Said, Values, gathered};
use super::{Section, capital, section};

/// Marks what goes on after return of circulation.
const GOES_ON: &str = "\u{2020}";

pub(super) fn circumstances(protocol: &Protocol, values: &mut Values) -> Section {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut silent: Vec<&str> = Vec::new();
    for rules in &protocol.circumstances {
        match one(rules, values) {
            said if said.is_empty() => silent.push(&rules.title),
            said => rows.push(vec![rules.title.clone(), said]),
        }
    }
    if !silent.is_empty() {
        rows.push(vec!["Words only".to_owned(), silent.join(", ")]);
    }
    section("Special circumstances (within: from when it is set; by: from recognition; \u{2020} also after ROSC)", rows)
}

fn one(rules: &CircumstanceRules, values: &mut Values) -> String {
    let field = format!("circumstances.{}", rules.id.as_str());
    let at = |name: &str| format!("{field}.{name}");
    let mut parts: Vec<String> = Vec::new();
    for (place, rule) in rules.suggested_by.iter().enumerate() {
        let at = at(&format!("suggested_by.{place}"));
        parts.push(format!("Suggested by {}", reading(values, &at, rule.reading)));
    }
    for band in &rules.temperature_bands {
        let at = |name: &str| at(&format!("temperature_bands.{}.{name}", band.id));
        let mut said: Vec<Said> = Vec::new();
        said.extend(values.say(&at("from_c"), "from {#}"));
        said.extend(values.say(&at("below_c"), if said.is_empty() { "below {#}" } else { "+to below {#}" }));
        let lead = if said.is_empty() { "at any temperature " } else { "" };
        said.extend(values.say(&at("drugs"), &format!("{lead}drugs: {{}}")));
        said.extend(values.say(&at("max_shocks"), "at most {#} shocks"));
        parts.push(gathered(said).replace('_', " "));
    }
    parts.push(
        values.cell(&[(
            &at("causes_first"),
            "its tasks come before epinephrine|its tasks do not come before epinephrine",
        )]),
    );
    parts.push(values.cell(&[(&at("epinephrine_at_once"), "epinephrine at once|epinephrine not earlier than always")]));
    parts.push(values.cell(&[(&at("avoid_drugs"), "withholds {}")]));
    parts.push(values.cell(&[(&at("access_note"), "access {}")]));
    parts.push(values.cell(&[(&at("fixed_j"), "shocks of {}")]));
    parts.push(
        values.cell(&[(&at("initial_breaths.count"), "{} breaths first"), (&at("initial_breaths.target"), "{}")]),
    );
    parts.push(values.cell(&[(&at("review_limits"), "the leader is asked: \u{201c}{}\u{201d}")]));
    for task in &rules.tasks {
        parts.push(asked(values, &at(&format!("tasks.{}", task.id)), task));
    }
    if let Some(go_on) = &rules.go_on {
        let said = values.cell(&[(&at("go_on.from_s"), "{}"), (&at("go_on.to_s"), "+to {}")]);
        parts.push(format!("{}: {said}", go_on.title));
    }
    for note in &rules.notes {
        let mark = if note.after_rosc { GOES_ON } else { "" };
        parts.push(values.cell(&[(&at(&format!("notes.{}.text", note.id)), &format!("~\u{201c}{{}}\u{201d}{mark}"))]));
    }
    for (place, pair) in rules.conflicts.iter().enumerate() {
        let words = format!("~with {}: \u{201c}{{}}\u{201d}", pair.with.as_str().replace('_', " "));
        parts.push(values.cell(&[(&at(&format!("conflicts.{place}.words")), &words)]));
    }
    let parts = parts.into_iter().filter(|part| !part.is_empty()).map(|part| capital(&part));
    parts.collect::<Vec<_>>().join(" \u{b7} ")
}

/// One task: who, its aim, how much, when.
fn asked(values: &mut Values, field: &str, task: &CareTask) -> String {
    let at = |name: &str| format!("{field}.{name}");
    let mut who = vec![task.role.as_str().to_owned()];
    if !task.needs.is_empty() {
        let begun = task.needs.iter().map(|begun| match begun {
            Begun::Compressions => "compressions",
            Begun::Breaths => "breaths",
        });
        who.push(format!("once {} have begun", begun.collect::<Vec<_>>().join(" and ")));
    }
    if task.drugs.len() > 1 {
        who.push(listed(&task.drugs));
    }
    let mark = if task.after_rosc { GOES_ON } else { "" };
    let [ask, due] = match task.from {
        CountsFrom::Set => ["asked from {}|asked at once", "within {}|at once"],
        CountsFrom::Recognition => ["asked from {} on|asked at recognition", "by {}|at recognition"],
    };
    let mut said: Vec<Said> = Vec::new();
    // A number in an aim is kept on every page, unless it only repeats the reading that the task is asked for.
    let numbered = values.has_number(&at("target")) && task.when.is_none();
    said.extend(values.say(&at("target"), if numbered { "{}" } else { "~{}" }));
    if let Some(when) = &task.when {
        let words = reading(values, &at("when"), when.reading);
        said.push(Said { words: format!("while {words}"), key: String::new() });
    }
    for (name, phrase) in [
        ("amount.volume_ml", "{}"),
        ("amount.per_kg.ml_per_kg", "{}"),
        ("amount.per_kg.max_ml", "at most {}"),
        ("amount.words", "{}"),
        ("from_gestation_weeks", "from {}"),
        ("ask_after_s", ask),
        ("due_after_s", due),
        ("late_after_s", "late {} after|late from then"),
        ("repeat_s", "again each {}"),
    ] {
        said.extend(values.say(&at(name), phrase));
    }
    format!("{}{mark} ({}): {}", task.title, who.join(", "), gathered(said))
}

/// A bound that a reading is held against, with its source.
fn reading(values: &mut Values, field: &str, reading: Reading) -> String {
    let (name, unit) = reading.words();
    let at = |bound: &str| format!("{field}.{bound}");
    values.cell(&[
        (&at("below"), &format!("{name} below {{}}{JOINED}{unit}")),
        (&at("at_least"), &format!("{name} at least {{}}{JOINED}{unit}")),
    ])
}

fn listed(drugs: &[String]) -> String {
    drugs.iter().map(|drug| drug.replace('_', " ")).collect::<Vec<_>>().join(" or ")
}

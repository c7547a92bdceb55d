//! What is not the ordinary cycle's: causes, targets after return of circulation, and what is said when an arrest lasts.

use super::super::{MMHG_PER_KPA, Protocol, Range, name_and_unit};
use super::amount::JOINED;
use super::values::{Said, Values, cell, gathered};
use super::{Section, capital, section};

pub(super) fn aftercare(protocol: &Protocol, values: &mut Values) -> Section {
    let mut rows = Vec::new();
    for item in &protocol.aftercare {
        let mut said = Vec::new();
        // The reading that the item asks for comes first.
        let mut ranges: Vec<_> = item.ranges.iter().collect();
        ranges.sort_by_key(|(reading, _)| item.reading.as_ref() != Some(*reading));
        for (reading, range) in ranges {
            let field = format!("aftercare.{}.ranges.{reading}", item.id);
            // What the title says already needs no second naming.
            let name = name_and_unit(reading).0;
            let name = if item.title.eq_ignore_ascii_case(name) { "" } else { name };
            said.extend(bounds(values, &field, reading, name, range));
        }
        let at = |name: &str| format!("aftercare.{}.{name}", item.id);
        said.extend(values.say(&at("target"), "{}"));
        let [within, again] = ["due_s", "repeat_s"].map(|name| values.cell(&[(&at(name), "{}|at once")]));
        rows.push(vec![item.title.clone(), cell(&said), item.role.as_str().to_owned(), within, again]);
    }
    Section { title: "After ROSC".to_owned(), columns: vec!["aim", "asked of", "within", "again each"], rows }
}

fn bounds(values: &mut Values, field: &str, reading: &str, name: &str, range: &Range) -> Vec<Said> {
    let at = |name: &str| format!("{field}.{name}");
    let lead = |words: &str| if name.is_empty() { words.to_owned() } else { format!("{name} {words}") };
    let kpa = |values: &Values, bound: &str| match values.number(&at(bound)) {
        Some(mmhg) if reading == "paco2_mmhg" => format!(" = {:.1}{JOINED}kPa", mmhg / MMHG_PER_KPA),
        Some(_) | None => String::new(),
    };
    let mut said = Vec::new();
    for (bound, words) in [("low", lead("at least {}")), ("above", lead("above {}"))] {
        let kpa = kpa(values, bound);
        said.extend(values.say(&at(bound), &format!("{words}{kpa}")));
    }
    for place in 0..range.low_by_age.len() {
        let at = |name: &str| format!("{field}.low_by_age.{place}.{name}");
        let of = |words: &str| if place == 0 { lead(words) } else { words.to_owned() };
        said.extend(values.say(&at("from_months"), &format!("{}|{}", of("from {#}"), of("from birth"))));
        said.extend(values.say(&at("low"), "+at least {}"));
        said.extend(values.say(&at("per_year"), "+plus {} a year"));
    }
    let words = if said.is_empty() { lead("at most {}") } else { "at most {}".to_owned() };
    let kpa = kpa(values, "high");
    said.extend(values.say(&at("high"), &format!("{words}{kpa}")));
    said
}

pub(super) fn ending(protocol: &Protocol, values: &mut Values) -> Section {
    let mut rows = Vec::new();
    for ending in &protocol.ending {
        let at = |name: &str| format!("ending.{}.{name}", ending.id);
        let said = [
            values.say(&at("after_s"), "from {}|from the beginning"),
            values.say(&at("words"), "~+: \u{201c}{}\u{201d}"),
        ];
        rows.push(vec![
            capital(&ending.id.replace('_', " ")).replace("Etco2", "ETCO2"),
            gathered(said.into_iter().flatten().collect()),
        ]);
    }
    section("When an arrest lasts: information for the leader, never advice", rows)
}

pub(super) fn newer(protocol: &Protocol) -> Section {
    let mut rows: Vec<Vec<String>> = Vec::new();
    for change in &protocol.known_changes {
        let words = format!("{}: {}", change.what, change.state);
        match rows.iter_mut().find(|row| row[0] == change.edition) {
            Some(row) => row[1] = format!("{} \u{b7} {words}", row[1]),
            None => rows.push(vec![change.edition.clone(), words]),
        }
    }
    section("Known changes in newer editions, and how far they are confirmed", rows)
}

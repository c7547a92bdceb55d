//! The ordinary code, in the order in which an arrest meets it: checks, breaths, shocks, drugs, weight.

use super::super::{AntiarrhythmicDrug, DoseRule, Protocol};
use super::amount::{JOINED, amount};
use super::values::{Said, Values, cell};
use super::{Section, section};

pub(super) fn cycle(protocol: &Protocol, values: &mut Values) -> Section {
    let mut rows = values.rows(&[
        (
            "Check",
            &[
                ("cycle.length_s", "every {}"),
                ("cycle.first_check_after_pads_s", "the first {} after pads are on|the first when pads are on"),
                ("cycle.check_late_s", "late after {}|late from when it is due"),
            ],
        ),
        (
            "Before it",
            &[
                ("cycle.announce_check_ahead_s", "announced {} ahead"),
                ("airway.etco2_ahead_s", "ETCO2 read {} ahead"),
                ("cycle.relief_ready_ahead_s", "relief ready {} ahead|relief ready at the check"),
                ("pulse_duty", "the pulse is for: {}"),
                ("cycle.finger_ask_ahead_s", "finger asked for {} ahead"),
                ("cycle.finger_on_ahead_s", "on the pulse {} ahead|on the pulse at the check"),
            ],
        ),
        (
            "Pause",
            &[
                ("cycle.pause_limit_s", "at most {}"),
                ("cycle.read_rhythm_s", "rhythm read within {}"),
                ("cycle.clear_limit_s", "hands clear for a shock at most {}"),
                ("cycle.resume_late_s", "compressions late after {}|compressions late at once"),
                (
                    "cycle.confirm_rosc_after_s",
                    "a stop for ROSC: confirmed within {}|a stop for ROSC: confirmed at once",
                ),
            ],
        ),
        (
            "Not recorded",
            &[
                ("cycle.assume_restart_after_shock_s", "the next cycle is taken to begin {} after a shock"),
                ("cycle.assume_restart_after_look_s", "+or {} after a shockable look"),
            ],
        ),
    ]);
    rows.extend(breaths(protocol, values));
    rows.extend(values.rows(&[(
        "Causes",
        &[
            ("causes.list", "{}"),
            ("causes.every_cycles", "asked in one of {} cycles|asked in each cycle"),
            ("causes.ask_after_s", "from {} into it|from its beginning"),
            ("causes.due_after_s", "due at {}|due at once"),
            ("causes.clear_of_check_s", "never in the last {} before a check"),
        ],
    )]));
    section("Cycle, checks, breaths, causes", rows)
}

fn breaths(protocol: &Protocol, values: &mut Values) -> Vec<Vec<String>> {
    let mut rows = values.rows(&[(
        "Compressions",
        &[
            ("cycle.compressions_per_minute", "{}"),
            ("airway.initial_breaths", "{} breaths before the first compression"),
            ("airway.ratio_compressions", "without an airway {} compressions"),
            ("airway.ratio_breaths", "+to {} breaths"),
            ("cycle.breath_gap_s", "{} for these in the figures"),
        ],
    )]);
    let mut said = Vec::new();
    for (field, words) in
        [("airway.one_breath_each_s", "a breath each {}"), ("airway.fastest_breath_each_s", "at the fastest each {}")]
    {
        said.extend(with_rate(values, field, words));
    }
    said.extend(values.say("airway.breath_rule", "{}"));
    for place in 0..protocol.airway.by_age.len() {
        let at = |name: &str| format!("airway.by_age.{place}.{name}");
        said.extend(values.say(&at("from_months"), "from {#}|from birth"));
        said.extend(with_rate(values, &at("one_breath_each_s"), "+each {#}"));
    }
    for (field, phrase) in
        [("airway.rosc_rise_mmhg", "ETCO2 up by {}"), ("airway.rosc_level_mmhg", "+to at least {} suggests ROSC")]
    {
        said.extend(values.say(field, phrase));
    }
    rows.push(vec!["With an airway".to_owned(), cell(&said)]);
    rows
}

/// Seconds from breath to breath, and how many breaths a minute they make.
fn with_rate(values: &mut Values, field: &str, phrase: &str) -> Option<Said> {
    let rate = values.number(field).map(|seconds| format!(", {:.0}{JOINED}a{JOINED}minute", 60.0 / seconds));
    values.say(field, &format!("{phrase}{}", rate.unwrap_or_default()))
}

pub(super) fn shocks(values: &mut Values) -> Section {
    let rows = values.rows(&[
        (
            "Energy",
            &[
                ("shock.energy.fixed_j", "in turn {}"),
                ("shock.energy.per_kg.j_per_kg", "in turn {}"),
                ("shock.energy.per_kg.max_j_per_kg", "never above {}"),
                ("shock.energy.per_kg.max_j", "never above {}"),
                ("shock.energy.per_kg.least_setting_part", "a lower setting stands for it down to {} of it"),
                ("shock.first_j.low", "first shock at least {}"),
                ("shock.first_j.above", "first shock above {}"),
                ("shock.first_j.high", "+to {}"),
                ("shock.energy_rule", "~{}"),
                ("shock.settings_j", "defibrillator's settings {}"),
                ("shock.check_to_part", "charged with {} of it or less: asked to check"),
                ("shock.check_from_times", "charged with {} times it or more: asked to check"),
            ],
        ),
        (
            "Charging",
            &[
                ("shock.precharge", "ahead of each check, compressions going on|only once the rhythm is read"),
                ("shock.charge_ask_ahead_s", "asked {} ahead"),
                ("shock.charge_ahead_s", "due {} ahead|due at the check"),
                ("shock.charge_s", "takes {}"),
                ("shock.charge_hold_s", "dumped after {}"),
            ],
        ),
        (
            "Refractory",
            &[
                ("shock.refractory.after_shocks", "after {} shocks"),
                ("shock.refractory.pads", "pads {}"),
                ("shock.refractory.words", "~\u{201c}{}\u{201d}"),
            ],
        ),
        ("Stacked", &[("shock.stack.max", "up to {}, witnessed and monitored, before any epinephrine")]),
    ]);
    section("Shocks", rows)
}

pub(super) fn drugs(protocol: &Protocol, values: &mut Values) -> [Section; 2] {
    let epinephrine = &protocol.epinephrine;
    let strength = epinephrine.preparation.strength_mg_per_ml.value;
    let dose = dose(values, "epinephrine.dose", "", &epinephrine.dose, strength);
    let mut rows = vec![drug(values, "Epinephrine", dose, "epinephrine")];
    for one in &protocol.antiarrhythmic.drugs {
        let field = format!("antiarrhythmic.drugs.{}", one.id);
        let doses = doses(values, &field, one);
        rows.push(drug(values, &super::capital(&one.id.replace('_', " ")), doses, &field));
    }
    let columns = vec!["dose and volume", "strength", "flush", "route"];
    let table = Section { title: "Drugs".to_owned(), columns, rows };
    let times = values.rows(&[
        (
            "Epinephrine, when",
            &[
                ("epinephrine.after_shocks", "shockable: from shock {}"),
                ("epinephrine.interval_s", "then every {}"),
                ("epinephrine.min_interval_s", "never before {#}"),
                ("epinephrine.max_interval_s", "by {#} at the latest"),
                ("epinephrine.push_part", "up to {} of the dose is a push, no dose of the arrest"),
                ("epinephrine.check_above_times", "above {} times the dose: asked to check"),
                ("epinephrine.align_to_checks", "moved to a check in that time|not moved to a check"),
            ],
        ),
        ("Antiarrhythmic", &[("antiarrhythmic.after_shocks", "either drug, never both in a row; after shocks {#}")]),
        (
            "Every drug",
            &[
                ("drugs.access_due_s", "access within {}|access at once"),
                ("drugs.give_ask_ahead_s", "asked for {} ahead|asked for when due"),
                ("drugs.draw_up_ahead_s", "drawn up {} ahead"),
                ("drugs.syringe_tolerance_part", "a syringe may differ by {} of the dose"),
                ("drugs.late_s", "late {} after it was due|late from when it is due"),
            ],
        ),
    ]);
    [table, section("", times)]
}

fn drug(values: &mut Values, title: &str, dose: String, field: &str) -> Vec<String> {
    let at = |name: &str| format!("{field}.preparation.{name}");
    let parts = ["strength_mg_per_ml", "flush_ml", "route"].map(|name| values.cell(&[(&at(name), "{}")]));
    [title.to_owned(), dose].into_iter().chain(parts).collect()
}

fn doses(values: &mut Values, field: &str, drug: &AntiarrhythmicDrug) -> String {
    let numbered = drug.doses.len() > 1;
    let cells: Vec<String> = drug
        .doses
        .iter()
        .enumerate()
        .map(|(place, rule)| {
            let number = if numbered { format!("{}: ", place + 1) } else { String::new() };
            let at = format!("{field}.doses.{place}");
            dose(values, &at, &number, rule, drug.preparation.strength_mg_per_ml.value)
        })
        .collect();
    cells.join("; ")
}

/// A dose in milligrams, and in millilitres of the strength beside it.
fn dose(values: &mut Values, field: &str, number: &str, rule: &DoseRule, mg_per_ml: f64) -> String {
    // A thousandth of a millilitre is finer than any syringe.
    let ml = |mg: f64, unit: &str| amount(&[(mg / mg_per_ml * 1_000.0).round() / 1_000.0], unit);
    let (fixed, per_kg, max) =
        (format!("{field}.fixed_mg"), format!("{field}.per_kg.mg_per_kg"), format!("{field}.per_kg.max_mg"));
    match rule {
        DoseRule::FixedMg(mg) => values.cell(&[(&fixed, &format!("{number}{{}} = {}", ml(mg.value, "mL")))]),
        DoseRule::PerKg { mg_per_kg, max_mg } => values.cell(&[
            (&per_kg, &format!("{number}{{}} = {}", ml(mg_per_kg.value, "mL/kg"))),
            (&max, &format!("at most {{#}} = {}", ml(max_mg.value, "mL"))),
        ]),
    }
}

/// Ages that overrule what was told, and weight where nobody has measured it.
pub(super) fn weight(protocol: &Protocol, values: &mut Values) -> Section {
    let mut said: Vec<Said> = values.say("weight.name", "by {}").into_iter().collect();
    for place in 0..protocol.weight.as_ref().map_or(0, |weight| weight.formulas.len()) {
        let at = |name: &str| format!("weight.formulas.{place}.{name}");
        said.extend(values.say(&at("from_months"), "from {#}|from birth"));
        said.extend(values.say(&at("through_months"), "+to {#}"));
        said.extend(values.say(&at("kg_per_step"), "+: {#}"));
        said.extend(values.say(&at("step_months"), "+for every {#}"));
        said.extend(values.say(&at("plus_kg"), "+plus {#}"));
    }
    let mut rows = values.rows(&[(
        "Ages",
        &[
            ("ages.no_adult_before_months", "nobody is an adult before {#}|anybody may be an adult"),
            ("ages.no_child_from_months", "nobody a child from {#} on"),
        ],
    )]);
    if !said.is_empty() {
        rows.push(vec!["Estimate".to_owned(), cell(&said)]);
    }
    rows.extend(values.rows(&[(
        "Doubted",
        &[("weight.plausible_low", "below {}"), ("weight.plausible_high", "+or above {} times the estimate")],
    )]));
    section("Ages, and weight where nobody has measured it", rows)
}

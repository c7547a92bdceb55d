//! A shipped protocol passes; every slip that could reach a bedside is refused with its line and field.

use super::*;
use crate::protocol::{Basis, rows, shipped};

const ADULT: &str = include_str!("../../../protocols/aha-adult.toml");

/// The protocol with one piece of text changed, which must be there.
fn with(old: &str, new: &str) -> String {
    assert!(ADULT.contains(old), "{old}");
    ADULT.replacen(old, new, 1)
}

fn refusal(text: &str) -> Rejected {
    read(text).expect_err("this file must be refused")
}

#[test]
fn every_shipped_protocol_reads_and_every_value_has_its_source() {
    for (id, text) in shipped() {
        let protocol = read(text).unwrap_or_else(|error| panic!("{id}: {error}"));
        assert_eq!((protocol.id.as_str(), protocol.cycle.length_s.ms()), (*id, 120_000));
        assert!(!protocol.is_approved(), "{id}: a department approves, not we");
        let rows = rows(text).unwrap();
        assert!(rows.len() > 60, "{id}: {}", rows.len());
        assert!(rows.iter().all(|row| !row.source.trim().is_empty() && row.unusual.is_none()), "{id}");
        for row in rows.iter().filter(|row| row.basis == Basis::Practice) {
            assert!(says_practice(&row.source), "{id}: {row:?}");
        }
    }
}

/// A value without a published source says so in words, not only by its mark.
fn says_practice(source: &str) -> bool {
    ["common practice", "ours", "the time of the last dose leads"].iter().any(|words| source.contains(words))
}

#[test]
fn the_two_adult_protocols_have_the_same_fields() {
    let fields = |text: &str| -> std::collections::BTreeSet<String> {
        rows(text)
            .unwrap()
            .into_iter()
            .map(|row| row.field)
            // The dose of lidocaine is by weight in one and fixed in the other.
            .filter(|field| !field.contains("lidocaine.doses"))
            // Only one of them knows stacked shocks and moves pads; a target begins with or above its bound.
            .filter(|field| {
                !["shock.stack.max", "shock.refractory.pads", "shock.first_j.high"].contains(&field.as_str())
            })
            // A circumstance changes what its guideline says.
            .filter(|field| !field.starts_with("circumstances."))
            .filter(|field| !field.contains(".ranges.") && !field.starts_with("ending."))
            .collect()
    };
    let all: Vec<_> = shipped().iter().map(|(_, text)| fields(text)).collect();
    assert_eq!(all[0], all[1]);
}

#[test]
fn both_describe_every_circumstance_that_has_a_word() {
    for (id, text) in shipped() {
        let protocol = read(text).unwrap();
        let known: Vec<&str> = protocol.circumstances.iter().map(|rules| rules.id.as_str()).collect();
        let words = [
            "pregnancy",
            "hypothermia",
            "opioid",
            "hyperkalaemia",
            "drowning",
            "anaphylaxis",
            "trauma",
            "pulmonary_embolism",
            "local_anaesthetic",
            "treatment_limit",
            "monophasic_defibrillator",
        ];
        assert_eq!(known, words, "{id}");
        for rules in &protocol.circumstances {
            let spelt = serde_json::to_value(&rules.id).unwrap();
            assert_eq!(spelt, rules.id.as_str(), "{id}");
            assert!(!matches!(rules.id, crate::event::Circumstance::Other(_)), "{id}: {spelt}");
        }
    }
}

#[test]
fn unsafe_circumstances_are_refused_with_line_and_field() {
    let erc = |old: &str, new: &str| {
        let file = include_str!("../../../protocols/erc-adult.toml");
        assert!(file.contains(old), "{old}");
        file.replacen(old, new, 1)
    };
    let band = "circumstances.hypothermia.temperature_bands";
    let cases = [
        (
            "role = \"relief\"",
            "role = \"porter\"".to_owned(),
            "circumstances.pregnancy.tasks.displacement.role",
            "unknown variant",
        ),
        (
            "source = \"a maternal arrest card (S6); ERC not read\"",
            "source = \"\"".to_owned(),
            "circumstances.pregnancy.access_note",
            "source is empty",
        ),
        (
            "due_after_s = { value = 300",
            "due_after_s = { value = 300000".to_owned(),
            "circumstances.pregnancy.tasks.deliver.due_after_s",
            "millisecond",
        ),
        (
            "due_after_s = { value = 300",
            "due_after_s = { value = 5".to_owned(),
            "circumstances.pregnancy.tasks.deliver.due_after_s",
            "minutes",
        ),
        (
            "max_shocks = { value = 3",
            "max_shocks = { value = 30".to_owned(),
            "circumstances.hypothermia.temperature_bands.below_30.max_shocks",
            "ten times",
        ),
        (
            "drugs = { value = \"withheld\"",
            "drugs = { value = \"halved\"".to_owned(),
            "circumstances.hypothermia.temperature_bands.below_30.drugs",
            "unknown variant",
        ),
        (
            "\nbelow_c = { value = 30,",
            "\nbelow_c = { value = 32,".to_owned(),
            &format!("{band}.from_30_to_35"),
            "overlaps",
        ),
        ("\nfrom_c = { value = 35,", "\nfrom_c = { value = 34,".to_owned(), &format!("{band}.from_35"), "overlaps"),
        (
            "\nid = \"from_35\"",
            "\nid = \"from_35\"\nbelow_c = { value = 35, source = \"x\", basis = \"read\" }".to_owned(),
            &format!("{band}.from_35"),
            "no temperature",
        ),
        ("drugs = { value = \"withheld\"", "drugs = { value = \"standard\"".to_owned(), "", ""),
        (
            "cause = \"thrombosis\"",
            "cause = \"clot\"".to_owned(),
            "circumstances.pulmonary_embolism.go_on.cause",
            "no cause",
        ),
        (
            "with = \"pregnancy\"",
            "with = \"lightning\"".to_owned(),
            "circumstances.pulmonary_embolism.conflicts",
            "no other circumstance",
        ),
        (
            "tap = \"delivery\"",
            "tap = \"thoracotomy\"".to_owned(),
            "circumstances.pregnancy.tasks.deliver.tap",
            "done_by",
        ),
        (
            "volume_ml = { value = 10,",
            "volume_ml = { value = 100,".to_owned(),
            "circumstances.hyperkalaemia.tasks.calcium.amount.volume_ml",
            "ten times too large",
        ),
        (
            "ml_per_kg = { value = 1.5",
            "ml_per_kg = { value = 15".to_owned(),
            "circumstances.local_anaesthetic.tasks.lipid.amount.per_kg.ml_per_kg",
            "ten times too large",
        ),
        ("id = \"opioid\"", "id = \"treatment_limit\"".to_owned(), "circumstances.treatment_limit.id", "stands twice"),
    ];
    for (old, new, field, words) in cases {
        if field.is_empty() {
            // Three shocks are enough for the first dose after three: drugs need not be withheld.
            assert!(read(&erc(old, &new)).is_ok());
            continue;
        }
        let error = refusal(&erc(old, &new));
        assert_eq!(error.field, field, "{new}: {error}");
        assert!(error.to_string().contains(words), "{new}: {error}");
        assert!(error.line.is_some(), "{new}: {error} names no line");
    }
    let fewer = erc("drugs = { value = \"withheld\"", "drugs = { value = \"standard\"").replacen(
        "max_shocks = { value = 3",
        "max_shocks = { value = 2",
        1,
    );
    assert!(refusal(&fewer).problem.contains("would never come"), "{}", refusal(&fewer));
}

#[test]
fn a_fault_names_line_and_field() {
    let error = refusal(&with("length_s = { value = 120", "length_s = { value = \"two minutes\""));
    assert_eq!(error.field, "cycle.length_s");
    assert!(error.line.is_some(), "{error}");
    let error = refusal(&with("source = \"AHA 2020 (S80)\", ", ""));
    assert!(error.problem.contains("source"), "{error}");
    let error = refusal("id = \"x\"\nid = \"y\"");
    assert_eq!(error.line, Some(2), "{error}");
}

#[test]
fn unsafe_values_are_refused_with_line_and_field() {
    let cases = [
        ("\ninterval_s = { value = 240", "\ninterval_s = { value = 240000", "epinephrine.interval_s", "millisecond"),
        ("\ninterval_s = { value = 240", "\ninterval_s = { value = 4", "epinephrine.interval_s", "minutes"),
        ("\nmin_interval_s = { value = 180", "\nmin_interval_s = { value = 290", "epinephrine.interval_s", "minimum"),
        (
            "\nmax_interval_s = { value = 300",
            "\nmax_interval_s = { value = 190",
            "epinephrine.max_interval_s",
            "window",
        ),
        ("fixed_mg = { value = 1,", "fixed_mg = { value = 1000,", "epinephrine.dose.fixed_mg", "thousandths"),
        ("fixed_mg = { value = 1,", "fixed_mg = { value = 10,", "epinephrine.dose.fixed_mg", "ten times too large"),
        ("fixed_mg = { value = 1,", "fixed_mg = { value = -1,", "epinephrine.dose.fixed_mg", "no amount"),
        (
            "strength_mg_per_ml = { value = 0.1",
            "strength_mg_per_ml = { value = 1",
            "epinephrine.preparation.strength_mg_per_ml",
            "ten times too large",
        ),
        (
            "strength_mg_per_ml = { value = 0.1",
            "strength_mg_per_ml = { value = 0",
            "epinephrine.preparation.strength_mg_per_ml",
            "more than 0",
        ),
        (
            "fixed_mg = { value = 300",
            "fixed_mg = { value = 3000",
            "antiarrhythmic.drugs.amiodarone.doses.0.fixed_mg",
            "ten times too large",
        ),
        ("fixed_j = { value = [200, 200, 200]", "fixed_j = { value = [200, 2000]", "shock.energy.fixed_j", "ten times"),
        (
            "fixed_j = { value = [200, 200, 200]",
            "fixed_j = { value = [200, 150]",
            "shock.energy.fixed_j",
            "less energy",
        ),
        ("fixed_j = { value = [200, 200, 200]", "fixed_j = { value = []", "shock.energy.fixed_j", "empty"),
        ("charge_hold_s = { value = 60", "charge_hold_s = { value = 12", "shock.charge_hold_s", "before the check"),
        ("charge_s = { value = 7", "charge_s = { value = nan", "shock.charge_s", "no amount"),
        ("pause_limit_s = { value = 10,", "pause_limit_s = { value = 60,", "cycle.pause_limit_s", "published range"),
        ("value = [3, 5]", "value = [5, 3]", "antiarrhythmic.after_shocks", "rise"),
        ("value = [3, 5]", "value = [3]", "antiarrhythmic.drugs.amiodarone", "2 doses for 1"),
        ("source = \"AHA 2020 (S80)\"", "source = \" \"", "aftercare.oxygen.ranges.spo2_pct.low", "source is empty"),
        ("reading = \"spo2_pct\"", "reading = \"spo2\"", "aftercare.oxygen.reading", "no reading"),
        ("version = 1", "version = 1\napproved_by = \"A. Person\"", "approved_by", "approved_on"),
        ("version = 1", "version = 1\napproved_by = \"A. Person\"\napproved_on = \"soon\"", "approved_on", "no date"),
        ("id = \"aha-adult\"", "id = \"\"", "id", "empty"),
        ("basis = \"practice\" }", "basis = \"practice\", unusual = \"\" }", "pulse_duty", "no reason"),
    ];
    for (old, new, field, words) in cases {
        let text = with(old, new);
        let error = refusal(&text);
        assert_eq!(error.field, field, "{new}: {error}");
        assert!(error.to_string().contains(words), "{new}: {error}");
        let line = error.line.unwrap_or_else(|| panic!("{new}: {error} names no line"));
        let key = field.rsplit('.').next().unwrap();
        let on_it = text.lines().nth(line - 1).unwrap();
        assert!(on_it.contains(key) || on_it.contains("[[") || on_it.contains("id ="), "{new}: {error}: {on_it}");
    }
}

#[test]
fn a_reason_beside_a_value_lets_it_pass_but_not_against_sense() {
    let unusual = |value: &str| {
        with(
            "length_s = { value = 120,",
            &format!("length_s = {{ value = {value}, unusual = \"one-minute cycles in this study\","),
        )
    };
    assert_eq!(read(&unusual("60")).unwrap().cycle.length_s.ms(), 60_000);
    assert!(read(&unusual("-60")).is_err());
    assert!(read(&unusual("120000")).is_err());
    assert!(read(&unusual("20")).is_err(), "the check would be announced before the cycle begins");
    let row = rows(&unusual("60")).unwrap().into_iter().find(|row| row.field == "cycle.length_s").unwrap();
    assert_eq!(row.unusual.as_deref(), Some("one-minute cycles in this study"));
}

#[test]
fn a_drug_nobody_published_for_this_needs_a_reason() {
    let text = with("id = \"lidocaine\"", "id = \"procainamide\"");
    assert!(refusal(&text).problem.contains("no published range"), "{}", refusal(&text));
}

/// Each number may be a published one, and the whole still nobody's rule.
#[test]
fn rules_that_no_guideline_gives_are_refused_as_a_whole() {
    let child = include_str!("../../../protocols/aha-child.toml");
    let adult = include_str!("../../../protocols/aha-adult.toml");
    let years = "step_months = { value = 12, source = \"APLS (P41); completed years are ours\"";
    let settings = "[shock.settings_j]\nvalue = [10, 20, 30, 50, 70]\nsource = \"ours\"\nbasis = \"practice\"\n\n[shock.energy.per_kg]";
    let per_kg = "[epinephrine.dose.per_kg]\nmg_per_kg = { value = 0.01, source = \"x\", basis = \"memory\" }\nmax_mg = { value = 1, source = \"x\", basis = \"memory\" }";
    let fixed = adult.split("[epinephrine.dose]").nth(1).and_then(|rest| rest.split("\n\n").next()).unwrap();
    for (file, old, new, field) in [
        (child, years, years.replacen("12", "1", 1), "weight.formulas"),
        (child, "kg_per_step = { value = 0.5", "kg_per_step = { value = 3".to_owned(), "weight.formulas"),
        (
            child,
            "j_per_kg = { value = [2, 4, 4]",
            "j_per_kg = { value = [10, 10, 10]".to_owned(),
            "shock.energy.per_kg.j_per_kg",
        ),
        (
            child,
            "j_per_kg = { value = [2, 4, 4]",
            "j_per_kg = { value = [2]".to_owned(),
            "shock.energy.per_kg.j_per_kg",
        ),
        (child, "[shock.energy.per_kg]", settings.to_owned(), "shock.settings_j"),
        (adult, &format!("[epinephrine.dose]{fixed}"), per_kg.to_owned(), "epinephrine.dose.per_kg.mg_per_kg"),
        (
            adult,
            "fixed_mg = { value = 300",
            "fixed_mg = { value = 150".to_owned(),
            "antiarrhythmic.drugs.amiodarone.doses.0.fixed_mg",
        ),
    ] {
        assert!(file.contains(old), "{old}");
        let rejected = refusal(&file.replacen(old, &new, 1));
        assert_eq!(rejected.field, field, "{rejected}");
        assert!(rejected.line.is_some(), "{rejected}");
    }
}

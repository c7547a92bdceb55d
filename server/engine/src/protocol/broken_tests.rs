//! Broken files, each with one slip that could reach a bedside, and the words by which it is refused: a table of shipped
//! file, what is changed in it, the field that is named, and words of the sentence.

use super::*;
use crate::protocol::shipped;

fn file(id: &str) -> &'static str {
    shipped().iter().find(|(name, _)| *name == id).unwrap().1
}

/// File, text that stands in it, text put in its place, field named, words said.
const BROKEN: &[(&str, &str, &str, &str, &str)] = &[
    // Units: milligrams for micrograms, tenfold, seconds for minutes and milliseconds, percent, kilopascals.
    (
        "aha-child",
        "mg_per_kg = { value = 0.01",
        "mg_per_kg = { value = 10",
        "epinephrine.dose.per_kg.mg_per_kg",
        "thousandths",
    ),
    (
        "erc-child",
        "mg_per_kg = { value = 0.01",
        "mg_per_kg = { value = 0.1",
        "epinephrine.dose.per_kg.mg_per_kg",
        "ten times too large",
    ),
    ("erc-adult", "fixed_mg = { value = 1,", "fixed_mg = { value = 1000,", "epinephrine.dose.fixed_mg", "thousandths"),
    (
        "erc-adult",
        "fixed_mg = { value = 1,",
        "fixed_mg = { value = 0.1,",
        "epinephrine.dose.fixed_mg",
        "ten times too small",
    ),
    (
        "erc-adult",
        "strength_mg_per_ml = { value = 0.1",
        "strength_mg_per_ml = { value = 1",
        "epinephrine.preparation.strength_mg_per_ml",
        "ten times too large",
    ),
    (
        "aha-adult",
        "strength_mg_per_ml = { value = 50",
        "strength_mg_per_ml = { value = 5",
        "antiarrhythmic.drugs.amiodarone.preparation.strength_mg_per_ml",
        "ten times too small",
    ),
    ("aha-adult", "\ninterval_s = { value = 240", "\ninterval_s = { value = 4", "epinephrine.interval_s", "in minutes"),
    ("aha-adult", "length_s = { value = 120", "length_s = { value = 120000", "cycle.length_s", "milliseconds"),
    ("aha-adult", "due_s = { value = 300", "due_s = { value = 5", "aftercare.ecg_12_lead.due_s", "in minutes"),
    ("aha-adult", "low = { value = 92", "low = { value = 0.92", "aftercare.oxygen.ranges.spo2_pct.low", "outside"),
    (
        "erc-adult",
        "low = { value = 33.75",
        "low = { value = 4.5",
        "aftercare.carbon_dioxide.ranges.paco2_mmhg.low",
        "outside",
    ),
    (
        "erc-adult",
        "temp_c = { high = { value = 37.7",
        "temp_c = { high = { value = 99.9",
        "aftercare.temperature.ranges.temp_c.high",
        "outside",
    ),
    (
        "erc-adult",
        "volume_ml = { value = 10,",
        "volume_ml = { value = 1,",
        "circumstances.hyperkalaemia.tasks.calcium.amount.volume_ml",
        "ten times too small",
    ),
    (
        "aha-child",
        "one_breath_each_s = { value = 3",
        "one_breath_each_s = { value = 20",
        "airway.one_breath_each_s",
        "outside",
    ),
    // No amount at all.
    ("aha-adult", "charge_s = { value = 7", "charge_s = { value = nan", "shock.charge_s", "no amount"),
    ("aha-adult", "charge_s = { value = 7", "charge_s = { value = inf", "shock.charge_s", "no amount"),
    ("aha-adult", "charge_s = { value = 7", "charge_s = { value = -7", "shock.charge_s", "no amount"),
    ("aha-adult", "charge_s = { value = 7", "charge_s = { value = 1e300", "shock.charge_s", "longer than a day"),
    ("aha-adult", "fixed_mg = { value = 1,", "fixed_mg = { value = 99999999999999999999,", "", "no TOML"),
    (
        "aha-adult",
        "after_shocks = { value = 2,",
        "after_shocks = { value = -2,",
        "epinephrine.after_shocks",
        "no amount",
    ),
    (
        "aha-adult",
        "after_shocks = { value = 2,",
        "after_shocks = { value = 2.5,",
        "epinephrine.after_shocks",
        "expected u32",
    ),
    ("aha-adult", "length_s = { value = 120", "length_s = { value = 0", "cycle.length_s", "more than 0"),
    ("aha-adult", "value = [3, 5]", "value = []", "antiarrhythmic.after_shocks", "must not be empty"),
    ("aha-adult", "version = 1", "version = 0", "version", "counts from 1"),
    ("aha-adult", "version = 1", "version = 20260101", "version", "versions of a file count"),
    // Form: sources, types, fields, tables.
    (
        "aha-adult",
        "source = \"AHA 2020 (A48); AHA 2025 (N5)\"",
        "source = \"\"",
        "antiarrhythmic.drugs.amiodarone.doses.1.fixed_mg",
        "source is empty",
    ),
    (
        "aha-adult",
        "source = \"AHA 2020 (A48); AHA 2025 (N5)\"",
        "source = \"TBD\"",
        "antiarrhythmic.drugs.amiodarone.doses.1.fixed_mg",
        "no source",
    ),
    (
        "aha-adult",
        ", source = \"AHA 2020 (A48); AHA 2025 (N5)\"",
        "",
        "antiarrhythmic.drugs.amiodarone.doses.1.fixed_mg",
        "`source` is missing",
    ),
    (
        "aha-adult",
        "common practice, no source\", basis = \"practice\"",
        "common practice, no source\", basis = \"read\"",
        "pulse_duty",
        "read nowhere",
    ),
    ("aha-adult", "basis = \"practice\" }", "basis = \"hearsay\" }", "pulse_duty.basis", "unknown variant"),
    ("aha-adult", "length_s = { value = 120", "length_s = { value = \"two minutes\"", "cycle.length_s", "invalid type"),
    ("aha-adult", "precharge = { value = true", "precharge = { value = 1", "shock.precharge", "no published range"),
    ("aha-adult", "[drugs]\n", "[drugs]\nlate = 3\n", "drugs.late", "unknown field"),
    (
        "aha-adult",
        "charge_s = { value = 7, source = \"device practice, no edition: check your defibrillator\", basis = \"memory\" }\n",
        "",
        "shock",
        "`charge_s` is missing",
    ),
    ("aha-adult", "id = \"aha-adult\"", "id = \"aha-adult\"\nid = \"x\"", "", "duplicate key"),
    ("aha-adult", "basis = \"practice\" }", "basis = \"practice\", unusual = \"?\" }", "pulse_duty", "gives no reason"),
    // What must hold between values.
    (
        "aha-adult",
        "\nmin_interval_s = { value = 180",
        "\nmin_interval_s = { value = 290",
        "epinephrine.interval_s",
        "too early by its own minimum",
    ),
    (
        "aha-adult",
        "\nmax_interval_s = { value = 300",
        "\nmax_interval_s = { value = 190",
        "epinephrine.max_interval_s",
        "outside its own window",
    ),
    (
        "aha-adult",
        "charge_hold_s = { value = 60",
        "charge_hold_s = { value = 12",
        "shock.charge_hold_s",
        "dumped before the check",
    ),
    ("aha-adult", "value = [3, 5]", "value = [5, 3]", "antiarrhythmic.after_shocks", "must rise"),
    ("aha-adult", "value = [3, 5]", "value = [3, 3]", "antiarrhythmic.after_shocks", "must rise"),
    ("aha-adult", "value = [3, 5]", "value = [3]", "antiarrhythmic.drugs.amiodarone", "2 doses for 1"),
    ("erc-adult", "value = [3, 5]", "value = [3, 4, 5]", "antiarrhythmic.after_shocks", "no drug has more than 2"),
    (
        "aha-adult",
        "high = { value = 98",
        "high = { value = 90, unusual = \"a trial\"",
        "aftercare.oxygen.ranges.spo2_pct",
        "holds no value",
    ),
    (
        "aha-child",
        "max_mg = { value = 300",
        "max_mg = { value = 3, unusual = \"a trial\"",
        "antiarrhythmic.drugs.amiodarone.doses.0.per_kg.max_mg",
        "would hold for everybody",
    ),
    (
        "aha-child",
        "max_j_per_kg = { value = 10",
        "max_j_per_kg = { value = 3, unusual = \"a trial\"",
        "shock.energy.per_kg.max_j_per_kg",
        "asks for",
    ),
    (
        "aha-child",
        "max_ml = { value = 150",
        "max_ml = { value = 1.5, unusual = \"a trial\"",
        "circumstances.local_anaesthetic.tasks.lipid.amount.per_kg.max_ml",
        "would hold for everybody",
    ),
    (
        "aha-child",
        "fastest_breath_each_s = { value = 2,",
        "fastest_breath_each_s = { value = 4, unusual = \"a trial\",",
        "airway.one_breath_each_s",
        "slower",
    ),
    (
        "aha-child",
        "from_months = { value = 120, source = \"PALS",
        "from_months = { value = 12, source = \"PALS",
        "aftercare.blood_pressure.ranges.systolic_mmhg",
        "must rise",
    ),
    (
        "aha-child",
        "low = { value = 90, source = \"PALS",
        "low = { value = 70, source = \"PALS",
        "aftercare.blood_pressure.ranges.systolic_mmhg",
        "falls from",
    ),
    (
        "erc-child",
        "through_months = { value = 71",
        "through_months = { value = 60",
        "weight.formulas",
        "no age may be left out",
    ),
    ("erc-child", "from_months = { value = 96", "from_months = { value = 12", "airway.by_age", "ages must rise"),
    (
        "erc-adult",
        "\nbelow_c = { value = 30,",
        "\nbelow_c = { value = 32,",
        "circumstances.hypothermia.temperature_bands.from_30_to_35",
        "gap or overlaps",
    ),
    (
        "erc-adult",
        "\nfrom_c = { value = 35,",
        "\nfrom_c = { value = 34,",
        "circumstances.hypothermia.temperature_bands.from_35",
        "gap or overlaps",
    ),
    (
        "erc-adult",
        "cause = \"thrombosis\"",
        "cause = \"clot\"",
        "circumstances.pulmonary_embolism.go_on.cause",
        "no cause",
    ),
    // Energies: below what the file's own guideline gives, beyond any device, by weight too much and too little.
    (
        "erc-adult",
        "fixed_j = { value = [150, 200, 200]",
        "fixed_j = { value = [120, 200, 200]",
        "shock.energy.fixed_j",
        "at least 150 J",
    ),
    (
        "aha-adult",
        "fixed_j = { value = [200, 200, 200]",
        "fixed_j = { value = [300, 300]",
        "shock.energy.fixed_j",
        "120 to 200 J",
    ),
    (
        "aha-adult",
        "fixed_j = { value = [200, 200, 200]",
        "fixed_j = { value = [100, 200]",
        "shock.energy.fixed_j",
        "120 to 360 J",
    ),
    (
        "erc-adult",
        "fixed_j = { value = [150, 200, 200]",
        "fixed_j = { value = [150, 400]",
        "shock.energy.fixed_j",
        "120 to 360 J",
    ),
    (
        "erc-adult",
        "fixed_j = { value = [150, 200, 200]",
        "fixed_j = { value = [200, 150]",
        "shock.energy.fixed_j",
        "less energy",
    ),
    (
        "erc-adult",
        "fixed_j = { value = [360]",
        "fixed_j = { value = [200]",
        "circumstances.monophasic_defibrillator.fixed_j",
        "360 J",
    ),
    ("erc-adult", "low = { value = 150,", "low = { value = 15,", "shock.first_j.low", "ten times too small"),
    ("aha-child", "value = [2, 4, 4]", "value = [4, 2]", "shock.energy.per_kg.j_per_kg", "at least 4 J/kg"),
    ("aha-child", "value = [2, 4, 4]", "value = [20, 40]", "shock.energy.per_kg.j_per_kg", "ten times too large"),
    ("erc-child", "max_j = { value = 360", "max_j = { value = 36", "shock.energy.per_kg.max_j", "ten times too small"),
    // Ids, titles, dates, editions.
    ("aha-adult", "id = \"aha-adult\"", "id = \"AHA adult\"", "id", "no id"),
    ("aha-adult", "id = \"aha-adult\"", "id = \"\"", "id", "must not be empty"),
    (
        "aha-adult",
        "id = \"aha-adult\"",
        "id = \"a-protocol-of-a-department-with-a-very-long-name\"",
        "id",
        "longer than 40",
    ),
    ("aha-adult", "id = \"aha-adult\"", "id = \"../aha\"", "id", "no id"),
    ("aha-adult", "other_ages = \"aha-child\"", "other_ages = \"aha-adult\"", "other_ages", "not this one"),
    ("aha-adult", "other_ages = \"aha-child\"", "other_ages = \"aha child\"", "other_ages", "no id"),
    ("aha-adult", "id = \"lidocaine\"", "id = \"amiodarone\"", "antiarrhythmic.drugs.amiodarone.id", "stands twice"),
    ("aha-adult", "id = \"oxygen\"", "id = \"Oxygen \"", "aftercare.Oxygen .id", "no id"),
    ("aha-adult", "id = \"oxygen\"", "id = \"glucose\"", "aftercare.glucose.id", "stands twice"),
    ("aha-adult", "{ id = \"hypoxia\"", "{ id = \"hypovolaemia\"", "causes.list.hypovolaemia.id", "stands twice"),
    (
        "aha-adult",
        "also = [\"thrombosis\"]",
        "also = [\"Thrombosis\"]",
        "causes.list.thrombosis_pulmonary.also",
        "is no id",
    ),
    (
        "aha-adult",
        "also = [\"thrombosis\"]",
        "also = [\"toxins\"]",
        "causes.list.thrombosis_pulmonary.also",
        "two of them",
    ),
    ("aha-adult", "id = \"opioid\"", "id = \"trauma\"", "circumstances.trauma.id", "stands twice"),
    (
        "erc-adult",
        "id = \"hypothermia\"\ntitle",
        "id = \"hypotermia\"\ntitle",
        "circumstances.hypotermia.id",
        "no circumstance that can be set",
    ),
    (
        "aha-adult",
        "id = \"decide_delivery\"",
        "id = \"deliver\"",
        "circumstances.pregnancy.tasks.deliver.id",
        "stands twice",
    ),
    ("aha-adult", "title = \"12-lead ECG\"", "title = \" \"", "aftercare.ecg_12_lead.title", "must not be empty"),
    (
        "aha-adult",
        "title = \"12-lead ECG\"",
        "title = \"12-lead\\u200bECG\"",
        "aftercare.ecg_12_lead.title",
        "hidden character",
    ),
    (
        "aha-adult",
        "drugs = [\"naloxone\"]",
        "drugs = [\"naloxon\"]",
        "circumstances.opioid.tasks.naloxone.drugs",
        "no drug of the record",
    ),
    (
        "aha-adult",
        "drugs = [\"alteplase\", \"tenecteplase\", \"streptokinase\"]",
        "drugs = [\"alteplase\", \"alteplase\"]",
        "circumstances.pulmonary_embolism.go_on.drugs",
        "stands twice",
    ),
    (
        "aha-adult",
        "version = 1",
        "version = 1\napproved_by = \"A. Lead\"\napproved_on = \"2026-02-31\"",
        "approved_on",
        "no date of the calendar",
    ),
    (
        "aha-adult",
        "version = 1",
        "version = 1\napproved_by = \"A. Lead\"\napproved_on = \"2026-13-01\"",
        "approved_on",
        "no date of the calendar",
    ),
    (
        "aha-adult",
        "version = 1",
        "version = 1\napproved_by = \"A. Lead\"\napproved_on = 2026-11-25",
        "approved_on",
        "quotes",
    ),
    ("aha-adult", "version = 1", "version = 1\napproved_on = \"2026-11-25\"", "approved_on", "without approved_by"),
    ("aha-adult", "version = 1", "version = 1\napproved_by = \"A. Lead\"", "approved_by", "without approved_on"),
    (
        "aha-adult",
        "version = 1",
        "version = 1\napproved_by = \" \"\napproved_on = \"2026-11-25\"",
        "approved_by",
        "must name who",
    ),
    ("aha-adult", "\nedition = \"AHA 2025 where", "\nedition = \"AHA 20255 where", "edition", "names no year"),
    (
        "aha-adult",
        "edition = \"AHA 2025\"\nwhat",
        "edition = \"the newest\"\nwhat",
        "known_changes.0.edition",
        "names no year",
    ),
    // Words against the file's own numbers.
    (
        "aha-adult",
        "\"constant, for at least 24 h\"",
        "\"constant, 33 to 36 degrees Celsius\"",
        "aftercare.temperature.target",
        "says 33 degrees celsius",
    ),
    (
        "aha-adult",
        "reading = \"spo2_pct\"\n",
        "reading = \"spo2_pct\"\ntarget = { value = \"SpO2 88 to 92 %\", source = \"our ward\", basis = \"practice\" }\n",
        "aftercare.oxygen.target",
        "says 88 %",
    ),
    (
        "aha-adult",
        "reading = \"systolic_mmhg\"\n",
        "reading = \"systolic_mmhg\"\ntarget = { value = \"mean above eighty mmHg\", source = \"our ward\", basis = \"practice\" }\n",
        "aftercare.blood_pressure.target",
        "says eighty mmhg",
    ),
    (
        "aha-adult",
        "within 5 min of the arrest",
        "within 50 min of the arrest",
        "circumstances.pregnancy.tasks.deliver.target",
        "says 50 min",
    ),
    (
        "aha-adult",
        "no circulation at 4 min",
        "no circulation at 10 min",
        "circumstances.pregnancy.tasks.decide_delivery.target",
        "says 10 min",
    ),
    (
        "erc-adult",
        "glucose below 7.0 mmol/L",
        "glucose below 70 mmol/L",
        "circumstances.hyperkalaemia.tasks.glucose.target",
        "says 70 mmol/l",
    ),
    (
        "erc-adult",
        "10 units with glucose 25 g",
        "100 units with glucose 25 g",
        "circumstances.hyperkalaemia.tasks.insulin.amount.words",
        "says 100 units",
    ),
    (
        "erc-adult",
        "Calcium chloride 10 %",
        "Calcium chloride 1 %",
        "circumstances.hyperkalaemia.tasks.calcium.title",
        "says 1 %",
    ),
    (
        "erc-adult",
        "\"IV, with standard care\"",
        "\"IV, 100 mL\"",
        "circumstances.hyperkalaemia.tasks.calcium.target",
        "says 100 ml",
    ),
    (
        "aha-child",
        "\"bolus, with standard care\"",
        "\"bolus of 15 mL/kg\"",
        "circumstances.local_anaesthetic.tasks.lipid.target",
        "says 15 ml/kg",
    ),
    (
        "aha-adult",
        "Lipid emulsion 20 %",
        "Lipid emulsion 2 %",
        "circumstances.local_anaesthetic.tasks.lipid.title",
        "says 2 %",
    ),
    (
        "erc-adult",
        "then 30:2; compressions",
        "then 15:2; compressions",
        "circumstances.drowning.initial_breaths.target",
        "says 15:2",
    ),
    (
        "aha-adult",
        "route = { value = \"IV or IO\"",
        "route = { value = \"10 mg IV or IO\"",
        "epinephrine.preparation.route",
        "says 10 mg",
    ),
    ("aha-adult", "the maker's dose; unknown", "the maker's dose, 50 J; unknown", "shock.energy_rule", "says 50 j"),
    ("aha-child", "later shocks may be higher", "later shocks 40 J/kg", "shock.energy_rule", "says 40 j/kg"),
    ("erc-adult", "Three shocks given", "Five shocks given", "shock.refractory.words", "says five shocks"),
    (
        "aha-adult",
        "potassium above 12 mmol/L",
        "potassium above 1.2 mmol/L",
        "circumstances.hypothermia.notes.potassium.text",
        "says 1.2 mmol/l",
    ),
    ("aha-adult", "After 20 min an ETCO2", "After 2 min an ETCO2", "ending.etco2.words", "says 2 min"),
    // The end of a resuscitation, ordered or advised.
    (
        "aha-adult",
        "\"Not dead until warm",
        "\"Stop CPR. Not dead until warm",
        "circumstances.hypothermia.notes.warm.text",
        "stop cpr",
    ),
    (
        "aha-adult",
        "\"beside CPR, by local means\"",
        "\"cease resuscitation at 30 degrees\"",
        "circumstances.hypothermia.tasks.rewarm.target",
        "end of a resuscitation",
    ),
    (
        "aha-adult",
        "title = \"Rewarm\"",
        "title = \"Terminate\"",
        "circumstances.hypothermia.tasks.rewarm.title",
        "terminate",
    ),
    ("aha-adult", "\"measure; treat by local policy\"", "\"futile; give up\"", "aftercare.glucose.target", "futile"),
    (
        "aha-adult",
        "\"as soon as feasible\"",
        "\"then withdraw ventilation\"",
        "aftercare.ecg_12_lead.target",
        "end of a resuscitation",
    ),
    (
        "aha-adult",
        "The plan asks for both; the leader decides.",
        "Call it.",
        "circumstances.anaphylaxis.conflicts.0.words",
        "end of a resuscitation",
    ),
    (
        "aha-adult",
        "an order that limits treatment was found: what does it mean now?",
        "an order was found: no further compressions",
        "circumstances.treatment_limit.review_limits",
        "end of a resuscitation",
    ),
    (
        "aha-adult",
        "use of moving the pads",
        "team should stop resuscitation; use of moving the pads",
        "shock.refractory.words",
        "end of a resuscitation",
    ),
    (
        "aha-adult",
        "No validated rule says",
        "The team should think of ending: no validated rule says",
        "ending.in_hospital.words",
        "is advice",
    ),
    ("erc-adult", "is one prognostic sign among several", "means to discontinue", "ending.asystole.words", "is advice"),
];

#[test]
fn every_broken_file_is_refused_by_field_and_line_with_what_to_do() {
    let mut tried = 0;
    for (id, old, new, field, words) in BROKEN {
        let text = file(id);
        assert!(text.contains(old), "{id}: {old}");
        let faults = check(&text.replacen(old, new, 1)).err().unwrap_or_default();
        let said: Vec<String> = faults.iter().map(ToString::to_string).collect();
        let told = faults.iter().find(|fault| fault.field == *field && fault.problem.contains(words));
        let told = told.unwrap_or_else(|| panic!("{id}: {new}: wanted {field}: {words}\n{said:#?}"));
        assert!(told.line.is_some(), "{id}: {new}: {told}");
        // A wrong id leaves all that stands below it without a range.
        assert!(field.ends_with("id") || faults.len() <= 3, "{id}: {new}: one slip, many words\n{said:#?}");
        tried += 1;
    }
    assert!(tried > 100, "{tried}");
}

#[test]
fn all_faults_of_a_file_are_named_at_once_in_its_order() {
    let text = file("erc-adult")
        .replacen("id = \"erc-adult\"", "id = \"ERC\"", 1)
        .replacen("fixed_mg = { value = 1,", "fixed_mg = { value = 10,", 1)
        .replacen("charge_s = { value = 7", "charge_s = { value = 0.007", 1)
        .replacen("\"IV, with standard care\"", "\"then stop CPR\"", 1)
        .replacen("role = \"relief\"", "role = \"porter\"", 1);
    let faults = check(&text).unwrap_err();
    let fields: Vec<&str> = faults.iter().map(|fault| fault.field.as_str()).collect();
    let wanted = [
        "id",
        "shock.charge_s",
        "epinephrine.dose.fixed_mg",
        "circumstances.pregnancy.tasks.displacement.role",
        "circumstances.hyperkalaemia.tasks.calcium.target",
    ];
    assert_eq!(fields, wanted);
    assert!(faults.is_sorted_by_key(|fault| fault.line));
}

/// A reason beside a sentence lets it pass, as it does beside a number; a title has no such place.
#[test]
fn a_reason_beside_words_lets_them_pass() {
    let say = |words: &str| {
        file("aha-adult").replacen(
            "target = { value = \"beside CPR, by local means\",",
            &format!("target = {{ value = \"{words}\", unusual = \"decided by our board\","),
            1,
        )
    };
    for words in ["33 to 36 degrees Celsius", "stop CPR when the board says so"] {
        assert!(check(&say(words)).is_ok(), "{words}: {:?}", check(&say(words)).err());
    }
}

/// A check that became stricter must not take the plan from a code on record; what cannot be computed with, must.
#[test]
fn a_code_on_record_keeps_its_text_under_a_stricter_check() {
    let changed = |old: &str, new: &str| file("aha-adult").replacen(old, new, 1);
    let tenfold = changed("fixed_mg = { value = 1,", "fixed_mg = { value = 10,");
    assert!(read(&tenfold).is_err() && reread(&tenfold).is_ok());
    for broken in ["-1", "0", "nan", "\"x\""] {
        let text = changed("fixed_mg = { value = 1,", &format!("fixed_mg = {{ value = {broken},"));
        assert!(reread(&text).is_err(), "{broken}");
    }
    assert!(reread("not a file").is_err());
}

/// Values that came into the files later: a file to be used has them, a code on record goes on without.
#[test]
fn a_code_on_record_goes_without_what_came_in_later_and_a_file_does_not() {
    let later = [
        "no_adult_before_months",
        "no_child_from_months",
        "[ages]",
        "least_setting_part",
        "check_to_part",
        "check_from_times",
        "syringe_tolerance_part",
        "push_part",
        "check_above_times",
        "every_cycles",
    ];
    let wanted = |id: &str| {
        let of_this = if id.ends_with("adult") {
            ["epinephrine.push_part", "shock.check_to_part"]
        } else {
            ["shock.energy.per_kg.least_setting_part", "shock.check_from_times"]
        };
        let of_all = ["ages", "drugs.syringe_tolerance_part", "epinephrine.check_above_times", "causes.every_cycles"];
        of_all.into_iter().chain(of_this).map(str::to_owned).collect::<std::collections::BTreeSet<_>>()
    };
    for (id, text) in shipped() {
        let before = text.lines().filter(|line| !later.iter().any(|name| line.starts_with(name)));
        let before = before.collect::<Vec<_>>().join("\n");
        let faults = check(&before).unwrap_err();
        assert!(faults.iter().all(|fault| fault.problem.starts_with("is missing: write ")), "{id}: {faults:?}");
        assert_eq!(faults.into_iter().map(|fault| fault.field).collect::<std::collections::BTreeSet<_>>(), wanted(id));
        assert!(reread(&before).is_ok(), "{id}");
    }
    let idle = file("aha-child").replacen(
        "[epinephrine]",
        "[epinephrine]\npush_part = { value = 0.1, source = \"ours\", basis = \"practice\", unusual = \"tried\" }",
        1,
    );
    let faults = check(&idle).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert!(faults[0].field == "epinephrine.push_part" && faults[0].problem.contains("every bolus is a dose"));
}

/// Whatever is cut out of a file or put into it: an answer, never a panic.
#[test]
fn no_mutilated_file_makes_the_check_panic() {
    let text = file("erc-child");
    let lines: Vec<&str> = text.lines().collect();
    for place in (0..lines.len()).step_by(7) {
        let without: Vec<&str> = [&lines[..place], &lines[place + 1..]].concat();
        let _ = check(&without.join("\n"));
        let _ = check(&lines[..place].join("\n"));
    }
    for odd in
        ["", "\u{feff}", "id = 1", "[[aftercare]]", "circumstances = 3", "[causes.list]\nvalue = 3\nsource = \"x\""]
    {
        assert!(check(odd).is_err(), "{odd}");
    }
}

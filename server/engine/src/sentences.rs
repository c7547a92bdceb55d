//! Every sentence that a view can show, gathered from codes of all kinds, with numbers taken out. The screens show them in
//! other languages by `client-web/src/text/sentences`; a test there demands a translation for each line of
//! `server/engine/sentences.txt`, and the test here demands that each sentence stands in that file. So a sentence that is
//! new or worded anew cannot reach a screen in English alone without a test that says so.
//!
//! `COXSWAIN_WRITE_SENTENCES=1 cargo test -p coxswain-engine sentences` writes the file anew.

use std::collections::{BTreeMap, BTreeSet};

use crate::event::Role;
use crate::prompt::{Action, Prompt};
use crate::protocol::{self, Protocol};
use crate::snapshot::{Knowledge, Snapshot};
use crate::testing::Script;
use crate::view::View;

const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/sentences.txt");

/// Codes that meet what is rarely met: a line's first word names the protocols, each further line is one event.
const CODES: &[&str] = &[
    // A shockable rhythm, drugs and an airway, to return of circulation with readings outside their targets.
    "10s pads_attached
     20s rhythm_checked rhythm=vf
     25s charging_started energy_j=120
     40s all_clear_called
     45s shock_delivered energy_j=120
     47s compressions_started
     60s access_gained route=io
     160s compressions_stopped reason=rhythm_check
     163s rhythm_checked rhythm=vf
     170s shock_delivered energy_j=360
     172s compressions_started
     180s drug_given drug=epinephrine dose={\"value\":0.05,\"unit\":\"mg\"} route=iv
     290s rhythm_checked rhythm=vf
     300s shock_delivered energy_j=50
     302s compressions_started
     310s drug_given drug=epinephrine dose={\"value\":10,\"unit\":\"mg\"} route=iv
     320s airway_placed airway=tracheal
     330s drug_prepared drug=amiodarone dose={\"value\":7,\"unit\":\"mg\"}
     500s rosc
     510s vital_read spo2_pct=80
     511s lab_read paco2_mmhg=70
     512s vital_read systolic_mmhg=60 diastolic_mmhg=30
     513s vital_read temp_c=39.5
     514s vital_read glucose_mmol_l=14
     515s lab_read potassium_mmol_l=8 lactate_mmol_l=9 ph=7
     520s vital_read spo2_pct=100
     521s lab_read paco2_mmhg=20
     522s vital_read glucose_mmol_l=2
     523s vital_read systolic_mmhg=120 diastolic_mmhg=80
     524s vital_read temp_c=36",
    // Readings just within, and a mean that is computed.
    "10s rhythm_checked rhythm=pea\n     20s compressions_started\n     30s rosc\n     40s vital_read temp_c=34\n     50s lab_read paco2_mmhg=40\n     60s vital_read spo2_pct=96 systolic_mmhg=200 diastolic_mmhg=20",
    // A long asystole, death declared.
    "10s rhythm_checked rhythm=asystole
     200s drug_given drug=lidocaine dose={\"value\":20,\"unit\":\"mg\"} route=io
     210s drug_given drug=amiodarone dose={\"value\":20,\"unit\":\"mg\"} route=io
     1500s rhythm_checked rhythm=asystole
     1600s death_declared
     1700s ecmo_started",
    // Care before arrival.
    "0 prior_care_reported epinephrine_doses=1 shocks=1 amiodarone_mg=150
     30s rhythm_checked rhythm=vf",
    "0 prior_care_reported epinephrine_doses=2 last_epinephrine_at_ms=300000 shocks=3 amiodarone_mg=450
     30s rhythm_checked rhythm=vf",
    // Witnessed and monitored: a stack, and a charge without a weight.
    "5s pads_attached
     6s rhythm_checked rhythm=vf
     7s charging_started energy_j=300
     12s all_clear_called
     13s shock_delivered energy_j=300 stack_id=a
     16s rhythm_checked rhythm=vf",
    // A reading that suggests a circumstance.
    "10s compressions_started
     20s vital_read temp_c=27 temp_site=core
     30s lab_read potassium_mmol_l=8.1",
];

const CIRCUMSTANCES: &[&str] = &[
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

/// What is known of the patient when a code is opened.
const PATIENTS: &[&str] = &[
    "{\"age_group\":\"adult\"}",
    "{\"age_group\":\"child\"}",
    "{\"age_group\":\"infant\"}",
    "{\"age_group\":\"child\",\"age_months\":40}",
    "{\"age_group\":\"infant\",\"age_months\":5}",
    "{\"age_group\":\"child\",\"age_months\":160}",
    "{\"age_group\":\"child\",\"age_months\":40,\"weight_kg\":14,\"weight_basis\":\"age\"}",
    "{\"age_group\":\"child\",\"age_months\":50,\"weight_kg\":14,\"weight_basis\":\"age\"}",
    "{\"age_group\":\"child\",\"age_months\":160,\"weight_kg\":14,\"weight_basis\":\"age\"}",
    "{\"age_group\":\"child\",\"age_months\":40,\"weight_kg\":31,\"weight_basis\":\"told\"}",
    "{\"age_group\":\"infant\",\"weight_kg\":22,\"weight_basis\":\"measured\"}",
    "{\"age_group\":\"infant\",\"age_months\":1,\"weight_kg\":1.1,\"weight_basis\":\"length\"}",
    "{\"age_group\":\"child\",\"age_months\":40,\"weight_kg\":15,\"weight_basis\":\"length\"}",
    "{\"age_group\":\"child\",\"age_months\":100,\"weight_kg\":30,\"weight_basis\":\"measured\"}",
    "{\"age_group\":\"adult\",\"core_temp_c\":27}",
    "{\"age_group\":\"adult\",\"core_temp_c\":32}",
    "{\"age_group\":\"adult\",\"gestation_weeks\":12}",
    "{\"age_group\":\"adult\",\"gestation_weeks\":30}",
];

fn protocols() -> Vec<Protocol> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../protocols");
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths.iter().map(|path| protocol::read(&std::fs::read_to_string(path).unwrap()).unwrap()).collect()
}

/// A sentence with its numbers taken out, so that one line stands for all of a kind.
fn shape(text: &str) -> String {
    let mut shape = String::new();
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        if !letter.is_ascii_digit() {
            shape.push(letter);
            continue;
        }
        shape.push('#');
        loop {
            let mut ahead = letters.clone();
            match (ahead.next(), ahead.next()) {
                (Some(next), _) if next.is_ascii_digit() => letters.next(),
                (Some('.'), Some(after)) if after.is_ascii_digit() => letters.next(),
                _ => break,
            };
        }
    }
    shape
}

/// The sentences of a view, by their shape, each with one example.
fn gather(view: &View, found: &mut BTreeMap<String, String>) {
    let mut say = |text: Option<&String>| {
        if let Some(text) = text.filter(|text| !text.is_empty()) {
            found.entry(shape(text)).or_insert_with(|| text.clone());
        }
    };
    let of = |prompt: &Prompt, say: &mut dyn FnMut(Option<&String>)| {
        let detail = &prompt.detail;
        [&detail.rule, &detail.energy_rule, &detail.doubt, &detail.strength]
            .into_iter()
            .for_each(|text| say(text.as_ref()));
        say(detail.or.as_ref().and_then(|or| or.rule.as_ref()));
        say(detail.estimate.as_ref().map(|estimate| &estimate.formula));
        // Of these the item is another protocol's id, and the target a word of the screens' own.
        if prompt.action != Action::ChangeProtocol {
            say(detail.item.as_ref());
        }
        if prompt.action != Action::ChangePads {
            say(detail.target.as_ref());
        }
        if prompt.action == Action::ConsiderCircumstance {
            say(Some(&prompt.why));
        }
    };
    for prompt in &view.prompts {
        of(prompt, &mut say);
    }
    for line in view.team.iter().flatten() {
        say(line.item.as_ref());
    }
    for note in &view.notes {
        say(Some(&note.text));
    }
    for line in &view.aftercare {
        say(Some(&line.title));
        say(Some(&line.target));
        say(line.reading.as_ref());
    }
    say(view.patient.weight_doubt.as_ref());
    say(view.patient.estimate.as_ref().map(|estimate| &estimate.formula));
    say(Some(&view.protocol.title));
}

fn play(script: &Script, protocol: &Protocol, found: &mut BTreeMap<String, String>) {
    let roles = [BTreeSet::from([Role::Leader]), Role::ALL.iter().copied().collect()];
    let end_ms = script.records().iter().map(|record| record.at_ms).max().unwrap_or(0);
    let mut moments: BTreeSet<i64> = script.records().iter().map(|record| record.at_ms.max(0)).collect();
    moments.extend([end_ms + 61_000, end_ms + 600_000, end_ms + 4_000_000]);
    for at_ms in moments {
        let snapshot = Snapshot::at(script.records(), protocol, at_ms, Knowledge::AsKnown);
        for roles in &roles {
            gather(&snapshot.view(roles), found);
        }
    }
}

fn opened(patient: &str) -> String {
    format!(
        "0 code_opened protocol={{\"id\":\"x\",\"version\":1}} patient={patient} training=true witnessed=true monitored=true\n0 clock_started\n"
    )
}

fn everything() -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    for protocol in protocols() {
        for patient in PATIENTS {
            for code in CODES {
                play(&Script::new(&format!("{}{code}", opened(patient))), &protocol, &mut found);
            }
            // Each circumstance, by itself and beside each other one, with what ends its tasks.
            for (place, one) in CIRCUMSTANCES.iter().enumerate() {
                let set = |name: &str| format!("0 circumstance_set name={name} on=true\n");
                let mut code = format!("{}{}", opened(patient), set(one));
                code.push_str("10s rhythm_checked rhythm=vf\n20s compressions_started\n130s delivery\n140s cause_treated cause=thrombosis\n141s cause_treated cause=thrombosis_pulmonary\n150s drug_given drug=alteplase dose={\"value\":50,\"unit\":\"mg\"} route=iv\n160s shock_delivered energy_j=200\n170s shock_delivered energy_j=200\n180s shock_delivered energy_j=200\n185s rhythm_checked rhythm=vf\n400s rosc");
                play(&Script::new(&code), &protocol, &mut found);
                if patient.contains("core_temp") || patient.contains("gestation") || patient.len() < 25 {
                    for other in &CIRCUMSTANCES[place + 1..] {
                        let code = format!("{}{}{}10s compressions_started", opened(patient), set(one), set(other));
                        play(&Script::new(&code), &protocol, &mut found);
                    }
                }
            }
            // A weight that counts for nothing beside a better one.
            for (first, then) in [("measured", "told"), ("told", "age"), ("length", "told"), ("measured", "length")] {
                let code = format!(
                    "{}10s patient_updated weight_kg=14 weight_basis={first}\n20s patient_updated weight_kg=19 weight_basis={then}",
                    opened(patient)
                );
                play(&Script::new(&code), &protocol, &mut found);
            }
        }
    }
    for (protocol, script) in scenarios() {
        play(&script, &protocol, &mut found);
    }
    found
}

/// The scenario tables' codes.
fn scenarios() -> Vec<(Protocol, Script)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    let paths = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let scripts = paths.filter(|path| path.extension().is_some_and(|end| end == "script"));
    let mut codes: Vec<_> = scripts.map(|path| std::fs::read_to_string(path).unwrap()).collect();
    codes.sort();
    codes
        .iter()
        .map(|text| {
            let id = text.lines().next().and_then(|line| line.strip_prefix("# protocol: ")).unwrap();
            let protocol = protocols().into_iter().find(|protocol| protocol.id == id).unwrap();
            (protocol, Script::new(text))
        })
        .collect()
}

#[test]
fn every_sentence_of_a_view_stands_in_the_list_that_the_screens_translate() {
    let found = everything();
    assert!(found.len() > 150, "{}", found.len());
    if option_env!("COXSWAIN_WRITE_SENTENCES").is_some() {
        let lines: Vec<&str> = found.values().map(String::as_str).collect();
        std::fs::write(FILE, format!("{}\n", lines.join("\n"))).unwrap();
    }
    let listed: BTreeSet<String> = std::fs::read_to_string(FILE).unwrap().lines().map(shape).collect();
    let new: Vec<&String> = found.iter().filter(|(shape, _)| !listed.contains(*shape)).map(|(_, text)| text).collect();
    assert!(
        new.is_empty(),
        "write {FILE} anew (COXSWAIN_WRITE_SENTENCES=1) and translate in client-web/src/text/sentences: {new:#?}"
    );
}

#[test]
fn a_shape_has_no_numbers_and_keeps_the_rest() {
    assert_eq!(shape("2.5 mg/kg for 14 kg (by 3 x years + 8). At 4:05"), "# mg/kg for # kg (by # x years + #). At #:#");
}

//! What the screens show in the protocol's own words: another role's task, a target's title, and sentences without the keys
//! of our sources, which stand beside them.

use std::collections::BTreeSet;

use crate::event::{Event, Role};
use crate::fit::fit;
use crate::prompt::Action;
use crate::protocol::{self, Protocol};
use crate::snapshot::{Knowledge, Snapshot};
use crate::testing::{Script, device};
use crate::view::{Phase, View};

const ERC: &str = include_str!("../../../../protocols/erc-adult.toml");
const OPENED: &str = "0 code_opened protocol={\"id\":\"x\",\"version\":1} patient={\"age_group\":\"adult\"} training=true\n0 clock_started\n";

fn shipped() -> [Protocol; 4] {
    [
        include_str!("../../../../protocols/aha-adult.toml"),
        ERC,
        include_str!("../../../../protocols/aha-child.toml"),
        include_str!("../../../../protocols/erc-child.toml"),
    ]
    .map(|text| protocol::read(text).unwrap())
}

fn leaders_view(script: &Script, protocol: &Protocol, at_s: i64) -> View {
    let snapshot = Snapshot::at(script.records(), protocol, at_s * 1_000, Knowledge::AsKnown);
    snapshot.view(&BTreeSet::from([Role::Leader]))
}

fn item_of(view: &View, role: Role) -> Option<String> {
    let line = view.team.as_ref()?.iter().find(|line| line.role == role)?;
    line.item.clone()
}

#[test]
fn the_leader_reads_what_another_role_is_asked_and_not_only_under_which_circumstance() {
    let script = Script::new(&format!("{OPENED}3s compressions_started\n5s circumstance_set name=pregnancy on=true"));
    let erc = protocol::read(ERC).unwrap();
    let view = leaders_view(&script, &erc, 10);
    let asked = Snapshot::at(script.records(), &erc, 10_000, Knowledge::AsKnown).visible(Role::Relief);
    let task = asked.iter().find(|prompt| prompt.action == Action::SpecialCare).unwrap();
    assert_eq!(item_of(&view, Role::Relief), task.detail.item);
    assert!(task.detail.item.as_deref().is_some_and(|item| item != "Pregnancy"));
    // What its action names already needs no word of the protocol's.
    assert_eq!(item_of(&view, Role::Compressor), None);
}

#[test]
fn a_target_of_aftercare_has_the_title_that_its_file_gives_it() {
    let script = Script::new(&format!("{OPENED}3s compressions_started\n100s rosc"));
    for protocol in shipped() {
        let view = leaders_view(&script, &protocol, 110);
        assert_eq!(view.phase, Phase::Rosc);
        let titles: Vec<&str> = view.aftercare.iter().map(|line| line.title.as_str()).collect();
        let wanted: Vec<&str> = protocol.aftercare.iter().map(|item| item.title.as_str()).collect();
        assert!(!titles.is_empty() && titles == wanted, "{}: {titles:?}", protocol.id);
        let airway = item_of(&view, Role::Airway).unwrap();
        assert!(wanted.contains(&airway.as_str()), "{airway}");
    }
}

/// Whether a text holds one of our own keys for a row of the fact sheet, such as `S10`: a capital letter and a number.
fn has_key(text: &str) -> bool {
    text.split(|letter: char| !letter.is_alphanumeric()).any(|word| {
        let mut letters = word.chars();
        letters.next().is_some_and(|first| "ACEHKNPQSUW".contains(first))
            && letters.as_str().len() <= 2
            && !letters.as_str().is_empty()
            && letters.all(|letter| letter.is_ascii_digit())
    })
}

#[test]
fn no_sentence_on_a_screen_holds_a_key_of_our_sources_and_what_rests_on_a_value_names_it_beside() {
    assert!(has_key("no drugs (as taught, S10)") && !has_key("H+ of 7.1, 12-lead, T4a at 5 min"));
    let mut sourced = BTreeSet::new();
    for protocol in shipped() {
        let names: Vec<&str> = protocol.circumstances.iter().map(|rules| rules.id.as_str()).collect();
        // Each by itself, and each two together: sentences of conflict come of pairs.
        for one in &names {
            for other in &names {
                let mut script = Script::new(&format!(
                    "{OPENED}3s compressions_started\n5s circumstance_set name={one} on=true\n5s circumstance_set name={other} on=true\n\
                     6s vital_read temp_c=28 temp_site=core\n7s patient_updated gestation_weeks=12"
                ));
                script.extend("10s compressions_stopped reason=rhythm_check\n12s rhythm_checked rhythm=asystole\n13s compressions_started");
                script.push(
                    20_000,
                    Event::DrugGiven {
                        drug: "alteplase".into(),
                        dose: None,
                        route: crate::event::Route::Iv,
                        form: crate::event::DrugForm::Bolus,
                    },
                );
                for at_s in [30, 1_500] {
                    for note in leaders_view(&script, &protocol, at_s).notes {
                        assert!(!has_key(&note.text), "{}: {}", protocol.id, note.text);
                        sourced.extend(note.source.map(|_| note.text));
                    }
                }
            }
        }
    }
    for words in ["no drugs", "asks for", "begun at", "No validated rule"] {
        assert!(sourced.iter().any(|text| text.contains(words)), "{words}: {sourced:?}");
    }
}

#[test]
fn a_view_that_is_too_long_gives_up_its_sources_first_and_the_sentences_stay() {
    let script = Script::new(&format!(
        "{OPENED}3s compressions_started\n5s circumstance_set name=hypothermia on=true\n6s vital_read temp_c=28 temp_site=core"
    ));
    let whole = leaders_view(&script, &protocol::read(ERC).unwrap(), 30);
    let mut view = whole.clone();
    fit(&mut view, serde_json::to_string(&whole).unwrap().len() - 1);
    assert_eq!(view.prompts, whole.prompts);
    assert_eq!(view.notes.len(), whole.notes.len());
    assert!(
        view.notes.iter().filter(|note| note.source.is_some()).count()
            < whole.notes.iter().filter(|note| note.source.is_some()).count()
    );
}

#[test]
fn a_device_that_leaves_gives_up_every_role_and_gets_them_back_when_that_is_taken_back() {
    let mut script = Script::new(OPENED);
    for role in [Role::Drugs, Role::Recorder] {
        script.push_by(device(2), 1_000, Event::RoleAssigned { role, device: device(2), person: None });
    }
    script.push_by(device(1), 1_000, Event::RoleAssigned { role: Role::Leader, device: device(1), person: None });
    script.push_by(device(2), 5_000, Event::DeviceLeft {});
    let left = script.records().last().unwrap().id;
    let erc = protocol::read(ERC).unwrap();
    let held = |script: &Script, at_s: i64| {
        let view = leaders_view(script, &erc, at_s);
        let line = view.team.unwrap().into_iter().find(|line| line.role == Role::Drugs).unwrap();
        (line.held, line.action)
    };
    assert!(held(&script, 2).0);
    let (is_held, action) = held(&script, 6);
    assert!(!is_held && action.is_some(), "open, and what it would be asked still stands there");
    // Its tasks fall to the leader.
    let own = leaders_view(&script, &erc, 6).prompts;
    assert!(own.iter().any(|prompt| prompt.action == Action::GainAccess));
    let mut back = Script::new("");
    for record in script.records() {
        back.push_by(record.by.device, record.at_ms, record.event.clone());
    }
    back.push(7_000, Event::Voided { target: left, reason: "slip".into() });
    assert!(held(&back, 8).0);
}

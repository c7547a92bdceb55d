//! Several circumstances at once, and beside everything else that a screen shows.

use super::*;

#[test]
fn what_is_withheld_wins_over_what_is_asked_and_the_leader_is_told() {
    let protocol = erc();
    let script = begun(&format!(
        "{}{}{}{}",
        set(10, "anaphylaxis"),
        set(11, "hypothermia"),
        core(12, 28.0),
        set(13, "local_anaesthetic")
    ));
    assert!(epinephrine(&script, &protocol, 20).is_none());
    assert!(task(&script, &protocol, 20, Role::Drugs, "local_anaesthetic.lipid").is_none());
    assert!(task(&script, &protocol, 20, Role::Drugs, "local_anaesthetic.stop").is_some(), "stopping is no drug");
    assert!(task(&script, &protocol, 20, Role::Leader, "hypothermia.rewarm").is_some());
    let said = sentences(&script, &protocol, 20, Role::Leader, NoteKind::Conflict);
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].contains("Anaphylaxis asks for: epinephrine at once"), "{said:?}");
    assert!(said[1].contains("Lipid emulsion 20 %"), "{said:?}");
    assert!(said.iter().all(|text| text.contains("the team leader decides")), "{said:?}");
    // Under AHA nothing is withheld: both are asked, and nothing conflicts.
    assert!(epinephrine(&script, &aha(), 20).is_some());
    assert!(sentences(&script, &aha(), 20, Role::Leader, NoteKind::Conflict).is_empty());
}

#[test]
fn pairs_that_the_file_names_are_told_whichever_came_first() {
    for order in [["trauma", "pulmonary_embolism"], ["pulmonary_embolism", "trauma"]] {
        let script = begun(&format!("{}{}", set(10, order[0]), set(11, order[1])));
        let said = sentences(&script, &aha(), 20, Role::Leader, NoteKind::Conflict);
        assert!(said.len() == 1 && said[0].contains("bleeding in trauma"), "{said:?}");
        assert!(task(&script, &aha(), 20, Role::Leader, "pulmonary_embolism.thrombolysis").is_some());
        assert!(task(&script, &aha(), 20, Role::Leader, "trauma.chest").is_some());
    }
}

#[test]
fn a_circumstance_of_the_departments_own_is_named_as_unknown_to_the_protocol() {
    let script = begun(&set(10, "lightning"));
    let said = sentences(&script, &aha(), 20, Role::Leader, NoteKind::Assumption);
    assert!(said[0].contains("says nothing of lightning"), "{said:?}");
}

#[test]
fn what_touches_the_patient_waits_while_hands_are_clear() {
    let script = begun(&format!(
        "{}12s compressions_stopped reason=rhythm_check\n15s rhythm_checked rhythm=vf\n16s charging_started energy_j=200\n\
         22s all_clear_called",
        set(10, "pregnancy")
    ));
    assert!(task(&script, &aha(), 11, Role::Relief, "pregnancy.displacement").is_some());
    assert!(task(&script, &aha(), 23, Role::Relief, "pregnancy.displacement").is_none());
    assert!(task(&script, &aha(), 32, Role::Relief, "pregnancy.displacement").is_some());
}

/// A child: amounts by weight, an adult's volume never, and one prompt for the breaths that two rules ask for.
#[test]
fn a_child_gets_amounts_by_weight_or_in_words() {
    let child = |text: &str| crate::protocol::read(text).unwrap();
    let (aha, erc) = (
        child(include_str!("../../../../protocols/aha-child.toml")),
        child(include_str!("../../../../protocols/erc-child.toml")),
    );
    let opened = "0 code_opened protocol={\"id\":\"x\",\"version\":1} patient={\"age_group\":\"child\",\"weight_kg\":20} training=true\n";
    let script = Script::new(&format!("{opened}{START}\n{}{}", set(9, "local_anaesthetic"), set(9, "hyperkalaemia")));
    for protocol in [&aha, &erc] {
        let lipid = task(&script, protocol, 10, Role::Drugs, "local_anaesthetic.lipid").unwrap();
        assert_eq!(lipid.detail.volume, Some(Dose { value: 30.0, unit: "mL".into() }));
        let calcium = task(&script, protocol, 10, Role::Drugs, "hyperkalaemia.calcium").unwrap();
        assert!(calcium.detail.volume.is_none() && calcium.detail.rule.unwrap().contains("local protocol"));
    }
    let adults = crate::protocol::read(include_str!("../../../../protocols/erc-adult.toml")).unwrap();
    let calcium = task(&script, &adults, 10, Role::Drugs, "hyperkalaemia.calcium").unwrap();
    assert!(calcium.detail.volume.is_none(), "a child under an adult's file: {calcium:?}");
    let drowned = Script::new(&format!("{opened}0 circumstance_set name=drowning on=true\n0 clock_started"));
    let breaths = |protocol| {
        let asked = visible(&drowned, protocol, 1, Role::Airway);
        asked.iter().filter(|prompt| prompt.action == Action::InitialBreaths).count()
    };
    assert_eq!((breaths(&erc), breaths(&aha)), (1, 1));
    // The same cold, the same children: ERC withholds, AHA does not.
    let cold = Script::new(&format!("{opened}{START}\n{}{}{ASYSTOLE}", set(1, "hypothermia"), core(2, 28.0)));
    assert!(epinephrine(&cold, &aha, 20).is_some() && epinephrine(&cold, &erc, 20).is_none());
    // A monophasic defibrillator leaves a child's energy as it is.
    let mut shock = Script::new(&format!(
        "{opened}{START}\n12s compressions_stopped reason=rhythm_check\n15s rhythm_checked rhythm=vf"
    ));
    let energy = |script: &Script| asks(script, &aha, 18, Role::Defibrillator, Action::Charge).unwrap().detail.energy_j;
    let before = energy(&shock);
    shock.extend(&set(17, "monophasic_defibrillator"));
    assert_eq!(energy(&shock), before);
}

/// Two circumstances at once: the view of each role stays within its limit, and keeps every task that shows and every
/// sentence that is graver than information. A device with every role may get a longer one: the tap that answers a task
/// never goes, for the button would then do another.
#[test]
fn any_two_circumstances_fit_on_one_screen() {
    let all: std::collections::BTreeSet<Role> = Role::ALL.iter().copied().collect();
    for protocol in [aha(), erc()] {
        let names: Vec<String> = protocol.circumstances.iter().map(|rules| rules.id.as_str().to_owned()).collect();
        let mut over = Vec::new();
        for (place, one) in names.iter().enumerate() {
            for other in &names[place..] {
                let events = format!("0 clock_started\n{}{}{ASYSTOLE}", set(1, one), set(2, other));
                let snapshot = at(&Script::new(&events), &protocol, 25);
                for roles in Role::ALL.iter().map(|role| [*role].into()).chain([all.clone()]) {
                    let whole = snapshot.view(&roles);
                    let mut fitted = whole.clone();
                    crate::fit::fit(&mut fitted, 3_600);
                    let size = serde_json::to_string(&fitted).unwrap().len();
                    if size > if roles.len() == 1 { 3_600 } else { 5_000 } {
                        over.push(format!("{one} with {other}, {} roles: {size}", roles.len()));
                    }
                    let shows = |view: &View| {
                        let showing = view.prompts.iter().filter(|prompt| prompt.show_at_ms <= 25_000);
                        let tap = |prompt: &Prompt| {
                            prompt.tap.clone().filter(|tap| !matches!(tap, crate::event::Event::TaskDone { .. }))
                        };
                        showing.map(|prompt| (prompt.key.clone(), tap(prompt))).collect::<Vec<_>>()
                    };
                    assert_eq!(shows(&fitted), shows(&whole), "{one} with {other}");
                    let grave =
                        |view: &View| view.notes.iter().filter(|note| note.kind != NoteKind::Information).count();
                    assert_eq!(grave(&fitted), grave(&whole), "{one} with {other}");
                }
            }
        }
        assert!(over.is_empty(), "{over:?}");
    }
}

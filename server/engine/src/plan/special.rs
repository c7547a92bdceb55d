//! Special circumstances: the tasks that the protocol gives for each, and the sentences beside them. What a circumstance
//! changes in the duties themselves (drugs withheld, no further shock, another energy) those duties ask of the state.

use crate::dose::{self, VolumeFor};
use crate::event::{Dose, DrugForm, Event, PriorCare, Role};
use crate::prompt::{Action, Detail};
use crate::protocol::{
    Begun, CareAmount, CareTask, CircumstanceRules, CountsFrom, Deed, DrugPlan, Protocol, Reading, ReadingRule,
    Seconds, Sourced, TemperatureBand,
};
use crate::state::{Mark, State};
use crate::view::NoteKind;

use super::clock::clock;
use super::{Asked, Planner, airway, asked, drugs};

const LEADER: &[Role] = &[Role::Leader];

pub(super) fn plan(planner: &mut Planner<'_>) {
    let state = planner.state;
    let protocol = planner.protocol;
    conflicts(planner);
    temperature(planner);
    for id in state.special.names().filter(|id| protocol.circumstance(id).is_none()) {
        let text = format!("This protocol says nothing of {}: the plan is the standard one.", id.as_str());
        planner.note(LEADER, NoteKind::Assumption, &text);
    }
    for (rules, set) in state.special.set(protocol) {
        tasks(planner, rules, set);
        notes(planner, rules);
        initial_breaths(planner, rules, set);
        go_on(planner, rules, set);
    }
    limits(planner);
    suggestions(planner);
}

/// After return of circulation: what treats the cause goes on, and a reading may still suggest one.
pub(super) fn after_rosc(planner: &mut Planner<'_>) {
    temperature(planner);
    for (rules, set) in planner.state.special.set(planner.protocol) {
        for task in rules.tasks.iter().filter(|task| task.after_rosc) {
            if let Some(prompt) = open(planner, rules, task, set) {
                prompt.put(planner);
            }
        }
        for note in rules.notes.iter().filter(|note| note.after_rosc) {
            planner.note_from(LEADER, NoteKind::Information, &note.text.value, &note.text.source);
        }
    }
    limits(planner);
    suggestions(planner);
}

/// A limit to treatment is asked about when it is found, and once more at each return of circulation and each new arrest:
/// an answer holds for what it was given in.
fn limits(planner: &mut Planner<'_>) {
    let Some(arrest) = planner.state.arrest else { return };
    let begun = planner.state.rosc.map_or(arrest.start, |rosc| later(rosc, arrest.start));
    for (rules, set) in planner.state.special.set(planner.protocol) {
        let Some(words) = &rules.review_limits else { continue };
        let from = later(set, begun);
        asked(Action::ReviewLimits, LEADER, from, from.at_ms, from.at_ms)
            .keyed(rules.id.as_str())
            .why("everything else goes on until the leader decides")
            .detail(of(rules, &rules.title, &words.value))
            .ticked_by_tap()
            .put(planner);
    }
}

fn of(rules: &CircumstanceRules, item: &str, target: &str) -> Detail {
    Detail {
        item: Some(item.to_owned()),
        target: Some(target.to_owned()),
        circumstance: Some(rules.id.clone()),
        ..Detail::default()
    }
}

/// The later of two marks: what began last.
fn later(one: Mark, other: Mark) -> Mark {
    if other.at_ms > one.at_ms { other } else { one }
}

/// Whether a task is asked of this patient at all, whatever was done of it and whatever is withheld.
fn concerns(planner: &Planner<'_>, task: &CareTask) -> bool {
    let special = &planner.state.special;
    let holds = |rule: &ReadingRule| special.reading(rule.reading).is_some_and(|read| rule.holds(read.value));
    !too_early_in_pregnancy(planner, task) && task.when.as_ref().is_none_or(holds)
}

fn too_early_in_pregnancy(planner: &Planner<'_>, task: &CareTask) -> bool {
    let (Some(from), Some(weeks)) = (&task.from_gestation_weeks, planner.state.patient.gestation_weeks) else {
        return false;
    };
    weeks < from.value
}

fn has_begun(planner: &Planner<'_>, begun: Begun) -> bool {
    let state = planner.state;
    match begun {
        Begun::Compressions => state.chest.started_in_arrest,
        Begun::Breaths => {
            state.care.airway.is_some()
                || state.special.deed(&Deed::BreathsGiven).is_some()
                || state.cycle.first_check_ms.is_some()
        }
    }
}

/// When something was last done; of a cause, under this protocol's word for it or another's.
fn deed(planner: &Planner<'_>, deed: &Deed) -> Option<Mark> {
    let special = &planner.state.special;
    let Deed::CauseTreated(cause) = deed else { return special.deed(deed) };
    let others = planner.protocol.other_words_for(cause).iter();
    let others = others.filter_map(|word| special.deed(&Deed::CauseTreated(word.clone())));
    special.deed(deed).into_iter().chain(others).max_by_key(|mark| mark.at_ms)
}

/// When a task was last done by what was recorded.
fn done(planner: &Planner<'_>, task: &CareTask) -> Option<Mark> {
    let deeds = task.done_by.iter().filter_map(|wanted| deed(planner, wanted));
    planner.state.special.done(task).into_iter().chain(deeds).max_by_key(|mark| mark.at_ms)
}

/// A task that is asked for, or nothing where it is done or does not concern this patient.
fn open(planner: &Planner<'_>, rules: &CircumstanceRules, task: &CareTask, set: Mark) -> Option<Asked> {
    let arrest = planner.state.arrest?.start;
    let special = &planner.state.special;
    let withheld = !task.drugs.is_empty() && special.regime.drugs == DrugPlan::Withheld;
    if withheld || !concerns(planner, task) {
        return None;
    }
    let begun = later(set, arrest);
    let base = match task.from {
        CountsFrom::Set => begun,
        CountsFrom::Recognition => arrest,
    };
    let ask_after_ms = task.ask_after_s.as_ref().map_or(0, Seconds::ms);
    let ends = |wanted: &Deed| wanted.is_lasting() && deed(planner, wanted).is_some();
    if task.done_by.iter().any(ends) {
        return None;
    }
    let key = format!("{}.{}", rules.id.as_str(), task.id);
    let done = done(planner, task);
    let first = done.map_or(base, |done| later(done, arrest));
    let ticked =
        planner.state.ticked.last_of(first.id, |anchor| format!("{}@{anchor}:{key}", Action::SpecialCare.as_str()));
    let (anchor, show_ms, due_ms) = match (ticked.or(done.map(|_| first)), &task.repeat_s) {
        (Some(_), None) => return None,
        (Some(answer), Some(repeat)) => {
            let from_ms = ticked.or(done).map_or(answer.at_ms, |mark| mark.at_ms);
            (answer, from_ms + repeat.ms(), from_ms + repeat.ms())
        }
        (None, _) => (base, base.at_ms + ask_after_ms, base.at_ms + task.due_after_s.ms()),
    };
    // A drug that was withheld is not asked for, nor late, since before it was set free.
    let released = special.changes.released.filter(|_| !task.drugs.is_empty());
    let free_ms = released.map_or(i64::MIN, |released| released.at_ms);
    let (show_ms, due_ms) = (show_ms.max(begun.at_ms).max(free_ms), due_ms.max(free_ms));
    let mut prompt = asked(Action::SpecialCare, &[task.role], anchor, show_ms, due_ms)
        .keyed(&key)
        .why(&rules.title)
        .detail(detail(planner, rules, task));
    for kind in task.done_by.iter().flat_map(|deed| deed.kinds()) {
        prompt = prompt.also_done_by(kind);
    }
    if let Some(after) = &task.late_after_s {
        prompt = prompt.late(due_ms + after.ms());
    }
    // A screen without its server takes any drug for a prompt's own, unless the prompt names one.
    if task.asked_drug().is_some() {
        prompt = prompt.also_done_by("drug_given");
    }
    Some(with_tap(planner, task, prompt))
}

fn tasks(planner: &mut Planner<'_>, rules: &CircumstanceRules, set: Mark) {
    let first = rules.causes_first.as_ref().is_some_and(|first| first.value);
    for task in &rules.tasks {
        let Some(prompt) = open(planner, rules, task, set) else { continue };
        if !task.needs.iter().all(|begun| has_begun(planner, *begun)) {
            continue;
        }
        if first {
            let due_ms = prompt.due_ms();
            planner.before_epinephrine_ms = planner.before_epinephrine_ms.max(Some(due_ms));
        }
        prompt.put(planner);
    }
}

/// One tap records what does the task, or ticks it. Where that needs a value or a choice there is none: the screen asks.
fn with_tap(planner: &Planner<'_>, task: &CareTask, prompt: Asked) -> Asked {
    if let Some(drug) = task.asked_drug() {
        let has_access = !planner.state.care.access.routes.is_empty();
        let dose = prompt.volume();
        let route = drugs::route(planner.state);
        let given = Event::DrugGiven { drug: drug.to_owned(), dose, route, form: DrugForm::Bolus };
        // Without a line nobody knows by which route it went in.
        return if has_access { prompt.tap(given) } else { prompt };
    }
    match &task.tap {
        None => prompt.ticked_by_tap(),
        Some(Deed::Delivery) => prompt.tap(Event::Delivery { note: None }),
        Some(Deed::Thoracotomy) => prompt.tap(Event::Thoracotomy { note: None }),
        Some(Deed::CauseTreated(cause)) => prompt.tap(Event::CauseTreated { cause: cause.clone(), note: None }),
        Some(Deed::CoreTemperature | Deed::BreathsGiven | Deed::AdvancedAirway) => prompt,
    }
}

fn detail(planner: &Planner<'_>, rules: &CircumstanceRules, task: &CareTask) -> Detail {
    let (volume, rule) = match &task.amount {
        None => (None, None),
        // An adult's amount is none for a child, whatever the weight.
        Some(_) if planner.made_for_others().is_some() => (None, planner.made_for_others()),
        Some(CareAmount::Words(words)) => (None, Some(words.value.clone())),
        Some(CareAmount::VolumeMl(volume)) => (Some(Dose { value: volume.value, unit: "mL".to_owned() }), None),
        Some(CareAmount::PerKg(rule)) => match dose::volume_dose(rule, planner.state.patient.weight_kg) {
            VolumeFor::Known(volume) => (Some(volume), None),
            VolumeFor::ByRule(words) => (None, Some(words)),
        },
    };
    let drug = task.asked_drug().map(str::to_owned);
    Detail { drug, volume, rule, ..of(rules, &task.title, &task.target.value) }
}

fn notes(planner: &mut Planner<'_>, rules: &CircumstanceRules) {
    let said = |after: &Option<Deed>| after.as_ref().is_none_or(|after| deed(planner, after).is_some());
    let texts: Vec<&Sourced<String>> =
        rules.notes.iter().filter(|note| said(&note.after)).map(|note| &note.text).collect();
    for text in texts {
        planner.note_from(LEADER, NoteKind::Information, &text.value, &text.source);
    }
    let early: Vec<&CareTask> = rules.tasks.iter().filter(|task| too_early_in_pregnancy(planner, task)).collect();
    if let (Some(from), Some(weeks)) =
        (early.first().and_then(|task| task.from_gestation_weeks.as_ref()), planner.state.patient.gestation_weeks)
    {
        let titles: Vec<&str> = early.iter().map(|task| task.title.as_str()).collect();
        let text =
            format!("{}, {weeks} weeks: not asked below {} weeks: {}.", rules.title, from.value, titles.join(", "));
        planner.note(LEADER, NoteKind::Withheld, &text);
    }
}

/// Until breaths, an advanced airway or the first check. Compressions do not wait for them.
fn initial_breaths(planner: &mut Planner<'_>, rules: &CircumstanceRules, set: Mark) {
    let (Some(breaths), Some(arrest)) = (&rules.initial_breaths, planner.state.arrest) else { return };
    let start = arrest.start;
    // A child's protocol may ask for them by itself, before the first compression.
    if airway::initial_breaths_wanted(planner).is_some() {
        return;
    }
    let given = planner.state.special.deed(&Deed::BreathsGiven).is_some_and(|mark| mark.at_ms >= start.at_ms);
    // Somebody has resuscitated this patient before: breaths have been given.
    let cared_for = planner.state.care.prior != PriorCare::default() || arrest.number > 1;
    if given || cared_for || planner.state.care.has_advanced_airway() || planner.state.cycle.first_check_ms.is_some() {
        return;
    }
    let show_ms = later(set, start).at_ms;
    let until_ms = start.at_ms + planner.protocol.cycle.length_s.ms();
    planner.wake(until_ms);
    if planner.now_ms >= until_ms {
        return;
    }
    let count = breaths.count.as_ref().map(|count| count.value);
    let prompt = asked(Action::InitialBreaths, &[Role::Airway], start, show_ms, start.at_ms)
        .keyed(rules.id.as_str())
        .why(&rules.title)
        .detail(Detail { breaths: count, ..of(rules, &rules.title, &breaths.target.value) });
    match count {
        Some(count) => prompt.tap(Event::BreathsGiven { count }),
        None => prompt.ticked_by_tap(),
    }
    .put(planner);
}

/// After a treatment that needs time: how long resuscitation goes on, counted from it.
fn go_on(planner: &mut Planner<'_>, rules: &CircumstanceRules, set: Mark) {
    let Some(go_on) = &rules.go_on else { return };
    let special = &planner.state.special;
    let treated = deed(planner, &Deed::CauseTreated(go_on.cause.clone()));
    let Some(begun) = special.given(&go_on.drugs).or(treated) else { return };
    let (from_ms, to_ms) = (begun.at_ms + go_on.from_s.ms(), begun.at_ms + go_on.to_s.ms());
    let text =
        format!("{}, begun at {}: on to {} to {}.", go_on.title, clock(begun.at_ms), clock(from_ms), clock(to_ms));
    planner.note_from(LEADER, NoteKind::Information, &text, &go_on.from_s.source);
    let target = format!("to {} to {}", clock(from_ms), clock(to_ms));
    // Until then the sentence is enough: an hour's countdown would stand before what is to be done now.
    asked(Action::SpecialCare, LEADER, begun, from_ms.max(set.at_ms), to_ms)
        .keyed(&format!("{}.go_on", rules.id.as_str()))
        .why(&rules.title)
        .detail(of(rules, &go_on.title, &target))
        .ticked_by_tap()
        .put(planner);
}

/// What the core temperature does to drugs and shocks.
fn temperature(planner: &mut Planner<'_>) {
    let state = planner.state;
    let Some(core) = state.special.reading(Reading::CoreTempC) else {
        for (rules, _) in state.special.set(planner.protocol) {
            if rules.temperature_bands.iter().any(|band| !band.is_standard()) {
                let text =
                    format!("{}, no core temperature known: drugs and shocks by the standard plan.", rules.title);
                planner.note(&[Role::Leader, Role::Drugs], NoteKind::Assumption, &text);
            }
        }
        return;
    };
    for (_, band) in state.special.bands(planner.protocol) {
        let value = core.value;
        match band.drugs.value {
            DrugPlan::Standard => {}
            DrugPlan::DoubledInterval => {
                let text = format!("Core temperature {value} °C, {}: intervals between doses doubled.", band.words());
                planner.note_from(&[Role::Leader, Role::Drugs], NoteKind::Information, &text, &band.drugs.source);
            }
            DrugPlan::Withheld => {
                let text = format!("Core temperature {value} °C, {}: no drugs.", band.words());
                planner.note_from(&[Role::Leader, Role::Drugs], NoteKind::Withheld, &text, &band.drugs.source);
            }
        }
        if let Some(most) = band.max_shocks.as_ref().filter(|most| state.rhythms.shock_count() >= most.value) {
            let text = format!(
                "{} shocks given; at most {} {}: none is asked for until the patient is warmer.",
                state.rhythms.shock_count(),
                most.value,
                band.words()
            );
            planner.note_from(&[Role::Leader, Role::Defibrillator], NoteKind::Withheld, &text, &most.source);
        }
    }
}

/// Two circumstances that cannot both be followed. Withholding wins; the leader is told.
fn conflicts(planner: &mut Planner<'_>) {
    let special = &planner.state.special;
    let set: Vec<(&CircumstanceRules, Mark)> = special.set(planner.protocol).collect();
    let mut texts = Vec::new();
    // "The plan asks for both" is untrue while it withholds what one of them asks for: the sentences below say that.
    let withheld = special.regime.drugs == DrugPlan::Withheld;
    for (rules, _) in set.iter().filter(|_| !withheld) {
        for pair in rules.conflicts.iter().filter(|pair| special.since(&pair.with).is_some()) {
            texts.push((pair.words.value.clone(), pair.words.source.as_str()));
        }
    }
    let withholds =
        special.bands(planner.protocol).into_iter().filter(|(_, band)| band.drugs.value == DrugPlan::Withheld);
    for (cold, band) in withholds {
        for (rules, _) in set.iter().filter(|(rules, _)| rules.id != cold.id) {
            let told = wanted(planner, rules).map(|wanted| against(cold, band, rules, &wanted));
            texts.extend(told.map(|text| (text, band.drugs.source.as_str())));
        }
    }
    for (text, source) in texts {
        planner.note_from(LEADER, NoteKind::Conflict, &text, source);
    }
}

/// What a circumstance asks for that withholding drugs leaves out.
fn wanted(planner: &Planner<'_>, rules: &CircumstanceRules) -> Option<String> {
    if rules.epinephrine_at_once.as_ref().is_some_and(|at_once| at_once.value) {
        return Some("epinephrine at once".to_owned());
    }
    let titles: Vec<&str> = rules
        .tasks
        .iter()
        .filter(|task| !task.drugs.is_empty() && done(planner, task).is_none() && concerns(planner, task))
        .map(|task| task.title.as_str())
        .collect();
    (!titles.is_empty()).then(|| titles.join(", "))
}

fn against(cold: &CircumstanceRules, band: &TemperatureBand, rules: &CircumstanceRules, wanted: &str) -> String {
    format!(
        "{} {} withholds drugs; {} asks for: {wanted}. The plan withholds it; the team leader decides.",
        cold.title,
        band.words(),
        rules.title
    )
}

/// A reading that suggests a circumstance which nobody has set, unless it was switched off since.
fn suggestions(planner: &mut Planner<'_>) {
    let protocol = planner.protocol;
    for rules in protocol.circumstances.iter().filter(|rules| planner.state.special.since(&rules.id).is_none()) {
        let special = &planner.state.special;
        let found = rules.suggested_by.iter().find_map(|rule| {
            let read = special.reading(rule.reading).filter(|read| rule.holds(read.value))?;
            Some((rule.reading, read))
        });
        let Some((reading, read)) = found else { continue };
        if special.switched_off_ms(&rules.id).is_some_and(|off_ms| off_ms >= read.mark.at_ms) {
            continue;
        }
        let (name, unit) = reading.words();
        consider(planner, rules, read.mark, &format!("{name} {} {unit}", read.value));
    }
}

fn consider(planner: &mut Planner<'_>, rules: &CircumstanceRules, read: Mark, reading: &str) {
    let Some(arrest) = planner.state.arrest else { return };
    let from_ms = later(read, arrest.start).at_ms;
    asked(Action::ConsiderCircumstance, LEADER, read, from_ms, from_ms)
        .keyed(rules.id.as_str())
        .why(reading)
        .detail(Detail { item: Some(rules.title.clone()), circumstance: Some(rules.id.clone()), ..Detail::default() })
        .tap(Event::CircumstanceSet { name: rules.id.clone(), on: true })
        .put(planner);
}

/// The circumstance that is set and under which a drug is not offered, in words.
pub(super) fn avoided_by<'a>(state: &State, protocol: &'a Protocol, drug: &str) -> Option<&'a str> {
    let avoids = |rules: &CircumstanceRules| {
        rules.avoid_drugs.as_ref().is_some_and(|drugs| drugs.value.iter().any(|avoided| avoided == drug))
    };
    state.special.set(protocol).find(|(rules, _)| avoids(rules)).map(|(rules, _)| rules.title.as_str())
}

pub(super) fn avoided(state: &State, protocol: &Protocol, drug: &str) -> bool {
    avoided_by(state, protocol, drug).is_some()
}

/// What a circumstance that is set says of where access goes.
pub(super) fn access_note(planner: &Planner<'_>) -> Option<String> {
    let mut set = planner.state.special.set(planner.protocol);
    set.find_map(|(rules, _)| rules.access_note.as_ref().map(|note| note.value.clone()))
}

/// The energy of a shock, in joules, where a circumstance that is set changes it.
pub(super) fn energy_j(planner: &Planner<'_>, shock_number: u32) -> Option<f64> {
    let mut set = planner.state.special.set(planner.protocol);
    let energies = set.find_map(|(rules, _)| rules.fixed_j.as_ref())?;
    let place = usize::try_from(shock_number.saturating_sub(1)).unwrap_or(usize::MAX);
    energies.value.get(place).or_else(|| energies.value.last()).copied()
}

/// Since when the first dose of epinephrine waits for nothing.
pub(super) fn epinephrine_at_once(planner: &Planner<'_>) -> Option<Mark> {
    let arrest = planner.state.arrest?.start;
    let set = planner.state.special.set(planner.protocol);
    set.filter(|(rules, _)| rules.epinephrine_at_once.as_ref().is_some_and(|at_once| at_once.value))
        .map(|(_, mark)| later(mark, arrest))
        .min_by_key(|mark| mark.at_ms)
}

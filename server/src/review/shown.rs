//! One code as a reviewer sees it: every record with what became of it, the figures beside their targets, prompts with
//! their deeds, versions, debrief, and what was read from monitors.

use std::collections::{BTreeMap, BTreeSet};

use coxswain_engine::event::{Event, ReviewDeed};
use coxswain_engine::measure::course;
use coxswain_engine::protocol::Protocol;
use coxswain_engine::record::Record;
use coxswain_engine::timeline;
use uuid::Uuid;

use super::choose;
use super::line::measured;
use super::prompts::deeds;
use super::reading::Reading;
use super::summary::Standing;
use super::wire::{
    Counting, DebriefShown, ImportShown, ProtocolRules, RecordShown, ReviewedCode, StretchShown, TableLine,
};
use crate::ledger::PromptRow;
use crate::ledger::chain;

/// Everything that a reviewer sees of a code. `latest` says whether the whole chain was read.
pub fn shown(reading: &Reading, log: &[PromptRow], devices: &[(Uuid, String)], latest: bool) -> ReviewedCode {
    let prompts = deeds(log, &reading.records);
    let measured = measured(reading, &prompts);
    let broken = reading.broken().map(|broken| broken.to_string());
    let takes = matches!(measured.line.standing, Standing::Unsigned | Standing::Reopened);
    let mut names: BTreeMap<Uuid, String> = devices.iter().cloned().collect();
    // As the record has it: a device may have another name today.
    names.extend(reading.records.iter().map(|record| (record.by.device, record.by.name.clone())));
    let asked: BTreeSet<Uuid> = prompts.iter().flat_map(|prompt| prompt.devices.iter().copied()).collect();
    let made: BTreeSet<Uuid> = reading.records.iter().map(|record| record.by.device).collect();
    names.retain(|id, _| asked.contains(id) || made.contains(id));
    let table = measured.figures.lines().into_iter();
    ReviewedCode {
        head: measured.line.head.clone(),
        open_for_changes: latest && takes && broken.is_none(),
        broken,
        wall_offset_ms: reading.wall_offset_ms(),
        zero_at: reading.zero_at(),
        records: records(&reading.records),
        table: table.map(|line| TableLine { name: line.name, value: line.value, target: line.target }).collect(),
        rules: rules(reading),
        prompts,
        names,
        debrief: debrief(&reading.records),
        course: course(&reading.records),
        versions: reading.versions.clone(),
        imports: imports(&reading.records),
        figures: measured.figures,
        targets: measured.targets,
        line: measured.line,
    }
}

/// The version that is open, or that was signed last.
pub fn version_of(records: &[Record]) -> u32 {
    let opened = records.iter().rev().find_map(|record| match &record.event {
        Event::Reviewed { deed: ReviewDeed::VersionOpened { version, .. } } => Some(*version),
        _ => None,
    });
    opened.unwrap_or(1)
}

fn records(all: &[Record]) -> Vec<RecordShown> {
    let voided = timeline::voided(all);
    let settled = timeline::facts(all);
    let facts: BTreeMap<Uuid, &timeline::Fact<'_>> = settled.facts.iter().map(|fact| (fact.id, fact)).collect();
    let mut corrected_by: BTreeMap<Uuid, Vec<Uuid>> = BTreeMap::new();
    for record in all {
        if let Event::Amended { target, .. } | Event::Voided { target, .. } = &record.event {
            corrected_by.entry(*target).or_default().push(record.id);
        }
    }
    let by_choice = choose::done_to(all);
    let beneath = choose::beneath(all);
    let beneath = timeline::facts(&beneath).facts;
    let set_aside: BTreeMap<Uuid, &timeline::Fact<'_>> = beneath.iter().map(|fact| (fact.id, fact)).collect();
    let show = |record: &Record| {
        let counting = facts.get(&record.id);
        let fact = counting.or_else(|| set_aside.get(&record.id));
        let counts = if timeline::is_fact(record) { counting.is_some() } else { !voided.contains(&record.id) };
        RecordShown {
            counts,
            corrected_by: corrected_by.remove(&record.id).unwrap_or_default(),
            now_at_ms: fact.map(|fact| fact.at_ms).filter(|at_ms| *at_ms != record.at_ms),
            now_event: fact.map(|fact| fact.event).filter(|event| **event != record.event).cloned(),
            by_choice: by_choice.get(&record.id).copied(),
            record: record.clone(),
        }
    };
    all.iter().map(show).collect()
}

#[expect(clippy::cast_possible_truncation, reason = "seconds of a protocol, whose files are checked")]
fn rules(reading: &Reading) -> ProtocolRules {
    let protocol = &reading.protocol;
    let ms = |seconds: f64| (seconds * 1_000.0).round() as i64;
    let epinephrine = &protocol.epinephrine;
    ProtocolRules {
        id: protocol.id.clone(),
        title: protocol.title.clone(),
        version: protocol.version,
        cycle_ms: ms(protocol.cycle.length_s.value),
        pause_limit_ms: ms(protocol.cycle.pause_limit_s.value),
        epinephrine_from_ms: ms(epinephrine.min_interval_s.value),
        epinephrine_due_ms: ms(epinephrine.interval_s.value),
        epinephrine_until_ms: ms(epinephrine.max_interval_s.value),
        tasks: tasks(protocol),
    }
}

fn tasks(protocol: &Protocol) -> BTreeMap<String, String> {
    let aftercare = protocol.aftercare.iter().map(|item| (item.id.clone(), item.title.clone()));
    let special = protocol.circumstances.iter().flat_map(|rules| {
        rules.tasks.iter().map(|task| (format!("{}.{}", rules.id.as_str(), task.id), task.title.clone()))
    });
    aftercare.chain(special).collect()
}

/// The debrief that stands: the latest that nobody took back.
pub fn debrief(records: &[Record]) -> Option<DebriefShown> {
    let voided = timeline::voided(records);
    records.iter().rev().filter(|record| !voided.contains(&record.id)).find_map(|record| match &record.event {
        Event::Reviewed { deed: ReviewDeed::Debriefed { went_well, to_change, follow_ups } } => Some(DebriefShown {
            id: record.id,
            by: record.by.name.clone(),
            at: record.recorded_at.clone(),
            went_well: went_well.clone(),
            to_change: to_change.clone(),
            follow_ups: follow_ups.clone(),
        }),
        _ => None,
    })
}

fn imports(records: &[Record]) -> Vec<ImportShown> {
    let voided = timeline::voided(records);
    let chosen = choose::chosen(records);
    let show = |record: &Record| match &record.event {
        Event::Reviewed { deed: ReviewDeed::MonitorImported { name, offset_ms, stretches, .. } } => {
            let counting = |from_ms: i64, to_ms: i64| {
                let mine = chosen.iter().filter(|one| one.import == record.id);
                let within_ms: i64 = mine.map(|one| one.within_ms(from_ms, to_ms)).sum();
                match within_ms {
                    0 => Counting::Taps,
                    _ if within_ms < to_ms - from_ms => Counting::Part,
                    _ => Counting::Monitor,
                }
            };
            let stretches = stretches.iter().map(|stretch| StretchShown {
                start_ms: stretch.start_ms,
                stop_ms: stretch.stop_ms,
                counts: counting(stretch.start_ms, stretch.stop_ms),
            });
            Some(ImportShown {
                id: record.id,
                name: name.clone(),
                offset_ms: *offset_ms,
                stretches: stretches.collect(),
            })
        }
        _ => None,
    };
    records.iter().filter(|record| !voided.contains(&record.id)).filter_map(show).collect()
}

/// The head that a request names.
pub fn head_of(text: &str) -> Option<chain::Hash> {
    let bytes: Option<Vec<u8>> = (0..text.len())
        .step_by(2)
        .map(|place| text.get(place..place + 2).and_then(|pair| u8::from_str_radix(pair, 16).ok()))
        .collect();
    chain::Hash::try_from(bytes?).ok()
}

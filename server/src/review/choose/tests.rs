use coxswain_engine::event::{CompressedBy, Outcome, PauseReason};
use coxswain_engine::measure::{ArrestCourse, course};
use coxswain_engine::record::{Author, Source};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::*;

fn records(facts: &[(i64, Event)]) -> Vec<Record> {
    let author = Author { device: Uuid::nil(), name: "Bay 1".to_owned(), roles: Vec::new() };
    let record = |(place, (at_ms, event)): (usize, &(i64, Event))| Record {
        seq: place as u64 + 1,
        id: Uuid::from_u128(place as u128 + 1),
        code: Uuid::nil(),
        at_ms: *at_ms,
        received_ms: None,
        recorded_at: String::new(),
        by: author.clone(),
        source: Source::Live,
        event: event.clone(),
    };
    facts.iter().enumerate().map(record).collect()
}

fn started() -> Event {
    Event::CompressionsStarted { by: CompressedBy::Mechanical }
}

fn stopped(reason: PauseReason) -> Event {
    Event::CompressionsStopped { reason }
}

/// Compressions by the facts that count: on from, off at, with the reason of the stop.
fn counted(records: &[Record]) -> Vec<(i64, i64, Option<PauseReason>)> {
    let (mut found, mut open) = (Vec::new(), None);
    for fact in timeline::facts(records).facts {
        match fact.event {
            Event::CompressionsStarted { .. } => {
                open.get_or_insert(fact.at_ms);
            }
            Event::CompressionsStopped { reason } => {
                found.extend(open.take().map(|from_ms| (from_ms, fact.at_ms, Some(*reason))));
            }
            Event::CodeClosed { .. } => found.extend(open.take().map(|from_ms| (from_ms, fact.at_ms, None))),
            _ => {}
        }
    }
    found
}

fn taps() -> Vec<Record> {
    records(&[
        (0, Event::ClockStarted { recognised_ago_ms: None }),
        (5_000, started()),
        (120_000, stopped(PauseReason::RhythmCheck)),
        (140_000, started()),
        (260_000, stopped(PauseReason::Shock)),
        (270_000, started()),
        (300_000, Event::CodeClosed { outcome: Outcome::Died, cpr_ongoing: None }),
    ])
}

const MONITOR: &[CompressionStretch] = &[
    CompressionStretch { start_ms: 8_000, stop_ms: 60_000 },
    CompressionStretch { start_ms: 64_000, stop_ms: 121_000 },
    CompressionStretch { start_ms: 130_000, stop_ms: 258_000 },
];

/// Puts what a monitor recorded on the record.
fn read(desk: &mut Desk, stretches: &[CompressionStretch]) -> Uuid {
    let (name, reason) = ("bay1.csv".to_owned(), "read".to_owned());
    desk.deed(ReviewDeed::MonitorImported { name, offset_ms: 0, reason, stretches: stretches.to_vec() })
}

/// A desk with a code on it, and the monitor's file.
fn desk_of(records: &[Record]) -> (Desk, Uuid) {
    let mut desk = Desk::of(records);
    let import = read(&mut desk, MONITOR);
    (desk, import)
}

fn chose(desk: &mut Desk, import: Uuid, from_ms: i64, to_ms: i64, source: CompressionSource) {
    choose(desk, import, (from_ms, to_ms), source, "the monitor is exact");
}

/// Changes something else than a choice, as a reviewer does.
fn corrected(desk: &mut Desk, change: impl FnOnce(&mut Desk)) {
    let wanted = Wanted::by(desk.records());
    change(desk);
    renew(desk, &wanted, "corrected");
}

/// Worked by hand: within the window the monitor's times, outside of it the taps', the reason of each pause from the tapped
/// pause that lies over most of it.
#[test]
fn within_the_stretch_the_monitor_counts_and_outside_of_it_the_taps() {
    let (mut desk, import) = desk_of(&taps());
    chose(&mut desk, import, 0, 200_000, CompressionSource::Monitor);
    assert_eq!(
        counted(desk.records()),
        [
            (8_000, 60_000, Some(PauseReason::Other)),
            (64_000, 121_000, Some(PauseReason::RhythmCheck)),
            (130_000, 260_000, Some(PauseReason::Shock)),
            (270_000, 300_000, None),
        ]
    );
    let by_device = |record: &Record| record.event == started();
    assert_eq!(
        desk.records().iter().filter(|record| by_device(record)).count(),
        6,
        "what moves the chest stays as tapped"
    );
}

#[test]
fn where_the_two_disagree_at_an_edge_a_start_or_a_stop_stands_there() {
    // At 62 s the taps say compressing, the monitor not; at 125 s the taps say stopped, and so does the monitor.
    let (mut desk, import) = desk_of(&taps());
    chose(&mut desk, import, 62_000, 125_000, CompressionSource::Monitor);
    assert_eq!(
        counted(desk.records())[..3],
        [
            (5_000, 62_000, Some(PauseReason::Other)),
            (64_000, 121_000, Some(PauseReason::RhythmCheck)),
            (140_000, 260_000, Some(PauseReason::Shock)),
        ]
    );
    // At 132 s the monitor compresses and the taps do not: from there on the taps count, a stop stands.
    let (mut desk, import) = desk_of(&taps());
    chose(&mut desk, import, 100_000, 132_000, CompressionSource::Monitor);
    assert_eq!(
        counted(desk.records())[..3],
        [
            (5_000, 121_000, Some(PauseReason::RhythmCheck)),
            (130_000, 132_000, Some(PauseReason::Other)),
            (140_000, 260_000, Some(PauseReason::Shock)),
        ]
    );
}

#[test]
fn every_choice_can_be_taken_back_in_whole_and_in_part() {
    let before = counted(&taps());
    let (mut desk, import) = desk_of(&taps());
    chose(&mut desk, import, 0, 100_000, CompressionSource::Monitor);
    chose(&mut desk, import, 90_000, 290_000, CompressionSource::Monitor);
    // Each is still somebody's, with a reason of its own.
    let spans: Vec<_> = chosen(desk.records()).iter().map(|one| (one.from_ms, one.to_ms)).collect();
    assert_eq!(spans, [(0, 90_000), (90_000, 290_000)]);
    let whole = counted(desk.records());
    let (mut in_one, import) = desk_of(&taps());
    chose(&mut in_one, import, 0, 290_000, CompressionSource::Monitor);
    assert_eq!(whole, counted(in_one.records()), "two choices that meet count as one");
    // The taps again in the middle, then everywhere.
    chose(&mut desk, import, 110_000, 150_000, CompressionSource::Taps);
    let spans: Vec<_> = chosen(desk.records()).iter().map(|one| (one.from_ms, one.to_ms)).collect();
    assert_eq!(spans, [(0, 90_000), (90_000, 110_000), (150_000, 290_000)]);
    assert!(counted(desk.records()).contains(&(64_000, 120_000, Some(PauseReason::RhythmCheck))));
    chose(&mut desk, import, 0, 300_000, CompressionSource::Taps);
    assert_eq!(counted(desk.records()), before);
    assert_eq!(chosen(desk.records()), []);
    assert_eq!(desk.records()[..taps().len()], taps()[..], "what was recorded stands as it was");
}

/// Facts that count, whatever records they stand in by now.
fn facts_of(records: &[Record]) -> Vec<(Uuid, i64, Event)> {
    timeline::facts(records).facts.iter().map(|fact| (fact.id, fact.at_ms, fact.event.clone())).collect()
}

/// What a tester found: two imports whose choices overlap, both taken back.
#[test]
fn where_two_imports_overlap_the_later_choice_counts_and_both_can_be_taken_back() {
    let stretch = |start_ms, stop_ms| CompressionStretch { start_ms, stop_ms };
    let first = [stretch(5_000, 60_000), stretch(70_000, 120_000)];
    let second = [stretch(8_000, 100_000)];
    let mut desk = Desk::of(&taps());
    let imports = [&first[..], &second[..]].map(|stretches| read(&mut desk, stretches));
    let mut chose = |number: usize, span, source| {
        choose(&mut desk, imports[number], span, source, "why");
        (chosen(desk.records()), counted(desk.records()), facts_of(desk.records()))
    };
    chose(0, (0, 100_000), CompressionSource::Monitor);
    let (both, stretches, _) = chose(1, (50_000, 110_000), CompressionSource::Monitor);
    let both: Vec<_> = both.iter().map(|one| (one.import, one.from_ms, one.to_ms)).collect();
    assert_eq!(both, [(imports[0], 0, 50_000), (imports[1], 50_000, 110_000)]);
    // Both compress at 50 s: nothing is added there. At 100 s the second stops; from 110 s on the taps count again.
    assert_eq!(
        stretches[..2],
        [(5_000, 100_000, Some(PauseReason::Other)), (110_000, 120_000, Some(PauseReason::RhythmCheck))]
    );
    // Whichever import the taps are asked for in place of, they are in place of both.
    let (left, _, facts) = chose(0, (0, 200_000), CompressionSource::Taps);
    assert_eq!((left, facts), (Vec::new(), facts_of(&taps())));
}

/// What an earlier version of this server left: the second choice laid over the first, the first taken back without what
/// the second had voided of it.
#[test]
fn what_is_left_of_a_choice_that_was_taken_back_goes_with_the_next_one() {
    let (mut desk, import) = desk_of(&taps());
    let lay = |desk: &mut Desk, at_ms, over: &[Uuid]| {
        let mut made: Vec<Uuid> = over.iter().map(|id| desk.void(*id, "")).collect();
        made.push(desk.put(Some(at_ms), stopped(PauseReason::Other)));
        made.push(desk.put(Some(at_ms + 4_000), started()));
        let records = made.clone();
        let (from_ms, to_ms, reason) = (at_ms - 10_000, at_ms + 10_000, String::new());
        let import = Some(import);
        let id = desk.deed(ReviewDeed::SourceChosen { import, from_ms, to_ms, reason, records, renews: None });
        (id, made)
    };
    let (first, of_first) = lay(&mut desk, 60_000, &[]);
    lay(&mut desk, 65_000, &of_first);
    desk.void(first, "");
    let shown: Vec<_> = chosen(desk.records()).iter().map(|one| (one.from_ms, one.to_ms)).collect();
    assert_eq!(shown, [(55_000, 75_000)]);
    chose(&mut desk, import, 0, 200_000, CompressionSource::Taps);
    assert_eq!((chosen(desk.records()), facts_of(desk.records())), (Vec::new(), facts_of(&taps())));
}

/// The choices that stand: their records, and whose choice each of them makes anew.
fn standing(desk: &Desk) -> Vec<(Uuid, Option<Uuid>)> {
    let voided = timeline::voided(desk.records());
    let deeds = desk.records().iter().filter(|record| !voided.contains(&record.id));
    let deeds = deeds.filter_map(|record| match record.event {
        Event::Reviewed { deed: ReviewDeed::SourceChosen { import: Some(_), renews, .. } } => Some((record.id, renews)),
        _ => None,
    });
    deeds.collect()
}

/// A tap that is added where a monitor counts says why compressions paused there, and nothing else.
#[test]
fn a_tap_added_beneath_a_choice_gives_its_pause_a_reason_and_moves_nothing() {
    let (mut desk, import) = desk_of(&taps());
    chose(&mut desk, import, 0, 100_000, CompressionSource::Monitor);
    chose(&mut desk, import, 200_000, 290_000, CompressionSource::Monitor);
    let first = standing(&desk);
    assert_eq!(counted(desk.records())[0], (8_000, 60_000, Some(PauseReason::Other)));
    corrected(&mut desk, |desk| {
        desk.put(Some(61_000), stopped(PauseReason::Airway));
    });
    corrected(&mut desk, |desk| {
        desk.put(Some(63_000), started());
    });
    assert!(are_current(desk.records()));
    let before = desk.records().len();
    corrected(&mut desk, |desk| {
        desk.put(Some(63_500), started());
    });
    assert_eq!(
        counted(desk.records())[..2],
        [(8_000, 60_000, Some(PauseReason::Airway)), (64_000, 120_000, Some(PauseReason::RhythmCheck))]
    );
    // The start, its void, the choice as it was and as it is: what stands is not written again.
    assert_eq!(desk.records().len() - before, 4);
    // It is still the choice of who made it, for that reason; the other one stands as it was.
    let now = standing(&desk);
    assert_eq!(now.iter().map(|(_, renews)| *renews).collect::<Vec<_>>(), [None, Some(first[0].0)]);
    assert_eq!(now[0], first[1]);
    corrected(&mut desk, |desk| {
        desk.put(Some(62_000), Event::Note { text: "the tube".to_owned() });
    });
    assert_eq!(standing(&desk), now, "nothing is made anew that stands as it would");
    chose(&mut desk, import, 20_000, 30_000, CompressionSource::Taps);
    let roots: Vec<_> = standing(&desk).iter().filter_map(|(_, renews)| *renews).collect();
    assert_eq!(roots, [first[0].0, first[0].0], "both halves are that choice");
}

/// What is corrected outside of a stretch can decide how things stand at its edge.
#[test]
fn a_correction_beside_a_choice_moves_its_edge() {
    let (mut desk, import) = desk_of(&taps());
    chose(&mut desk, import, 62_000, 126_000, CompressionSource::Monitor);
    assert_eq!(
        counted(desk.records())[..3],
        [
            (5_000, 62_000, Some(PauseReason::Other)),
            (64_000, 121_000, Some(PauseReason::RhythmCheck)),
            (140_000, 260_000, Some(PauseReason::Shock)),
        ]
    );
    // The stop at 120 s was a slip: at 126 s, where the monitor is in a pause, compressions were running as tapped.
    corrected(&mut desk, |desk| {
        desk.void(Uuid::from_u128(3), "a slip");
    });
    assert_eq!(
        counted(desk.records())[..3],
        [
            (5_000, 62_000, Some(PauseReason::Other)),
            (64_000, 121_000, Some(PauseReason::Other)),
            (126_000, 260_000, Some(PauseReason::Shock)),
        ]
    );
}

/// A code that was closed by mistake runs again, whatever was chosen of it; its choices are seen to where somebody chooses again.
#[test]
fn where_a_code_ran_again_a_choice_is_not_current_until_somebody_chooses() {
    let (mut desk, import) = desk_of(&taps());
    chose(&mut desk, import, 0, 100_000, CompressionSource::Monitor);
    desk.put(Some(30_000), stopped(PauseReason::Airway));
    assert!(!are_current(desk.records()), "a device put it there");
    let before = desk.records().len();
    corrected(&mut desk, |desk| {
        desk.put(None, Event::ClockCorrected { from_ms: 0, to_ms: 1_000, basis: "slow".to_owned() });
    });
    assert_eq!(desk.records().len(), before + 1, "what has nothing to do with it changes nothing of it");
    chose(&mut desk, import, 0, 100_000, CompressionSource::Monitor);
    assert!(are_current(desk.records()));
    assert_eq!(counted(desk.records())[0], (8_000, 60_000, Some(PauseReason::Airway)));
}

/// The monitor goes on after the closing, and the last pause is ended by it: neither matters, and nothing is brought there.
#[test]
fn a_choice_ends_with_the_code() {
    let mut facts = taps();
    facts.truncate(5);
    facts.extend(
        records(&[(290_000, Event::CodeClosed { outcome: Outcome::Died, cpr_ongoing: None })])
            .into_iter()
            .map(|closed| Record { seq: 6, id: Uuid::from_u128(6), ..closed }),
    );
    let mut desk = Desk::of(&facts);
    let stretch = |start_ms, stop_ms| CompressionStretch { start_ms, stop_ms };
    let import = read(&mut desk, &[stretch(5_000, 255_000), stretch(280_000, 400_000)]);
    chose(&mut desk, import, 0, 500_000, CompressionSource::Monitor);
    let brought = |desk: &Desk| -> Vec<i64> {
        let done = done_to(desk.records());
        let records = desk.records().iter().filter(|record| done.get(&record.id) == Some(&ByChoice::Brought));
        records.map(|record| record.at_ms).collect()
    };
    assert_eq!(brought(&desk), [5_000, 255_000, 280_000]);
    let counting = counted(desk.records());
    assert_eq!(counting, [(5_000, 255_000, Some(PauseReason::Shock)), (280_000, 290_000, None)]);
    // Where the code runs on, what is tapped after the closing that was counts, whatever is corrected before it.
    let wanted = Wanted::by(desk.records());
    desk.void(Uuid::from_u128(6), "by mistake");
    desk.put(Some(300_000), stopped(PauseReason::Moving));
    desk.put(Some(310_000), started());
    desk.put(Some(330_000), Event::CodeClosed { outcome: Outcome::Died, cpr_ongoing: None });
    desk.put(Some(257_000), stopped(PauseReason::Airway));
    renew(&mut desk, &wanted, "why");
    let spans: Vec<_> = chosen(desk.records()).iter().map(|one| (one.from_ms, one.to_ms)).collect();
    assert_eq!(spans, [(0, 290_000)]);
    assert_eq!(counted(desk.records()).last(), Some(&(310_000, 330_000, None)));
}

#[test]
fn who_chose_the_taps_is_on_the_record() {
    let (mut desk, import) = desk_of(&taps());
    assert!(!choose(&mut desk, import, (0, 9_000), CompressionSource::Taps, "why"), "they count there already");
    chose(&mut desk, import, 0, 100_000, CompressionSource::Monitor);
    assert!(choose(&mut desk, import, (50_000, 60_000), CompressionSource::Taps, "the pads came off"));
    let told = desk.records().iter().rev().find_map(|record| match &record.event {
        Event::Reviewed { deed: ReviewDeed::SourceChosen { import: None, from_ms, to_ms, reason, .. } } => {
            Some((*from_ms, *to_ms, reason.as_str()))
        }
        _ => None,
    });
    assert_eq!(told, Some((50_000, 60_000, "the pads came off")));
    let spans: Vec<_> = chosen(desk.records()).iter().map(|one| (one.from_ms, one.to_ms)).collect();
    assert_eq!(spans, [(0, 50_000), (60_000, 100_000)]);
    // It is said for as long as nobody chooses there again.
    chose(&mut desk, import, 55_000, 70_000, CompressionSource::Monitor);
    let voided = timeline::voided(desk.records());
    let told =
        desk.records().iter().filter(|record| !voided.contains(&record.id)).filter_map(|record| match &record.event {
            Event::Reviewed { deed: ReviewDeed::SourceChosen { import: None, from_ms, to_ms, reason, renews, .. } } => {
                Some((*from_ms, *to_ms, reason.as_str(), renews.is_some()))
            }
            _ => None,
        });
    assert_eq!(told.collect::<Vec<_>>(), [(50_000, 55_000, "the pads came off", true)]);
}

#[test]
fn what_choices_did_to_a_fact_is_told() {
    let (mut desk, import) = desk_of(&taps());
    chose(&mut desk, import, 0, 100_000, CompressionSource::Monitor);
    let told = |desk: &Desk| {
        let done = done_to(desk.records());
        let by = |what| {
            desk.records()
                .iter()
                .filter(|record| done.get(&record.id) == Some(&what))
                .map(|record| record.at_ms)
                .collect::<Vec<_>>()
        };
        (by(ByChoice::SetAside), by(ByChoice::Brought), by(ByChoice::TakenBack))
    };
    // At 100 s both compress: nothing is brought there.
    assert_eq!(told(&desk), (vec![5_000], vec![8_000, 60_000, 64_000], vec![]));
    chose(&mut desk, import, 0, 100_000, CompressionSource::Taps);
    assert_eq!(told(&desk), (vec![], vec![], vec![8_000, 60_000, 64_000]));
}

/// Seconds of a small code.
const LENGTH_S: i64 = 24;

/// Stretches from the seconds in which there are compressions.
fn stretches(seconds: &[bool]) -> Vec<CompressionStretch> {
    let mut found: Vec<CompressionStretch> = Vec::new();
    for (second, _) in (0..).zip(seconds).filter(|(_, is)| **is) {
        let (start_ms, stop_ms) = (second * 1_000, (second + 1) * 1_000);
        match found.last_mut() {
            Some(last) if last.stop_ms == start_ms => last.stop_ms = stop_ms,
            _ => found.push(CompressionStretch { start_ms, stop_ms }),
        }
    }
    found
}

/// A code whose taps say in which seconds there were compressions.
fn tapped(seconds: &[bool]) -> Vec<Record> {
    let mut taps = vec![(0, Event::ClockStarted { recognised_ago_ms: None })];
    for stretch in stretches(seconds) {
        taps.push((stretch.start_ms, started()));
        taps.push((stretch.stop_ms, stopped(PauseReason::Shock)));
    }
    taps.push((LENGTH_S * 1_000, Event::CodeClosed { outcome: Outcome::Died, cpr_ongoing: None }));
    records(&taps)
}

fn seconds() -> impl Strategy<Value = Vec<bool>> {
    proptest::collection::vec(any::<bool>(), usize::try_from(LENGTH_S).unwrap())
}

/// What a reviewer does. Times in seconds.
#[derive(Debug, Clone)]
enum Step {
    /// Which import, from when to when; without one, the taps.
    Choose(Option<usize>, i64, i64),
    Add(i64, Event),
    /// Which of the facts.
    Strike(usize),
    Move(usize, i64),
}

fn step() -> impl Strategy<Value = Step> {
    let choice = (proptest::option::weighted(0.7, 0..3_usize), 0..LENGTH_S, 1..10_i64)
        .prop_map(|(number, from_s, length_s)| Step::Choose(number, from_s, (from_s + length_s).min(LENGTH_S)));
    let event = prop_oneof![
        3 => Just(started()),
        3 => Just(stopped(PauseReason::Airway)),
        1 => Just(Event::Rosc {}),
        1 => Just(Event::ArrestAgain {}),
    ];
    prop_oneof![
        4 => choice,
        2 => (1..LENGTH_S, event).prop_map(|(at_s, event)| Step::Add(at_s, event)),
        1 => (0..40_usize).prop_map(Step::Strike),
        1 => (0..40_usize, 1..LENGTH_S).prop_map(|(number, at_s)| Step::Move(number, at_s)),
    ]
}

/// In which seconds there were compressions, and in which there was an arrest.
fn by_second(course: &[ArrestCourse]) -> Vec<(bool, bool)> {
    let second = |second: i64| {
        let (from_ms, to_ms) = (second * 1_000, second * 1_000 + 1_000);
        let within = |start_ms: i64, end_ms: i64| start_ms <= from_ms && to_ms <= end_ms;
        let compressed = course.iter().flat_map(|arrest| &arrest.compressed);
        (
            compressed.clone().any(|one| within(one.start_ms, one.end_ms)),
            course.iter().any(|arrest| within(arrest.start_ms, arrest.end_ms)),
        )
    };
    (0..LENGTH_S).map(second).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, rng_seed: RngSeed::Fixed(1), failure_persistence: None, ..ProptestConfig::default() })]

    /// The model: each second has one owner, the taps or an import, and the last choice of it decides; the taps are a record
    /// of their own, which no choice ever sees.
    #[test]
    fn each_moment_has_one_source_whatever_is_chosen_and_corrected_and_the_taps_come_back_whole(
        team in seconds(),
        monitors in proptest::collection::vec(seconds(), 3),
        steps in proptest::collection::vec(step(), 1..12),
    ) {
        let mut model = tapped(&team);
        let recorded = model.clone();
        let mut desk = Desk::of(&model);
        let imports: Vec<Uuid> = monitors.iter().map(|seconds| read(&mut desk, &stretches(seconds))).collect();
        let mut owners: Vec<Option<usize>> = vec![None; team.len()];
        for step in steps {
            // The start of the clock and the closing stay where they are.
            let facts: Vec<Uuid> = model.iter().filter(|record| timeline::is_fact(record)).map(|record| record.id).collect();
            let fact = |number: usize| facts[1 + number % (facts.len() - 1)];
            let closing = recorded[recorded.len() - 1].id;
            let correction = match step {
                Step::Choose(number, from_s, to_s) => {
                    let source = if number.is_some() { CompressionSource::Monitor } else { CompressionSource::Taps };
                    choose(&mut desk, imports[number.unwrap_or(0)], (from_s * 1_000, to_s * 1_000), source, "why");
                    let closed_ms = closed_ms(&model).unwrap();
                    for second in (from_s..to_s).filter(|second| number.is_none() || second * 1_000 < closed_ms) {
                        owners[second as usize] = number;
                    }
                    prop_assert!(are_current(desk.records()));
                    None
                }
                Step::Add(at_s, event) => Some((at_s * 1_000, event)),
                Step::Strike(number) => Some((0, Event::Voided { target: fact(number), reason: String::new() })),
                Step::Move(number, at_s) => {
                    let (target, at_ms) = (fact(number), Some(at_s * 1_000));
                    Some((0, Event::Amended { target, at_ms, event: None, reason: String::new() }))
                }
            };
            if let Some((at_ms, event)) = correction {
                // A code that runs again is another story.
                if matches!(event, Event::Voided { target, .. } if target == closing) {
                    continue;
                }
                let wanted = Wanted::by(desk.records());
                let id = desk.put(Some(at_ms), event.clone());
                let seq = model.len() as u64 + 1;
                model.push(Record { seq, id, at_ms, event, ..model[0].clone() });
                renew(&mut desk, &wanted, "why");
                prop_assert!(are_current(desk.records()));
            }
            let shown = chosen(desk.records());
            let (tapped, counting) = (by_second(&course(&model)), by_second(&course(desk.records())));
            for (second, owner) in owners.iter().enumerate() {
                let (from_ms, to_ms) = (second as i64 * 1_000, second as i64 * 1_000 + 1_000);
                let of_shown: Vec<Uuid> =
                    shown.iter().filter(|one| one.overlaps(from_ms, to_ms)).map(|one| one.import).collect();
                prop_assert_eq!(of_shown, owner.iter().map(|number| imports[*number]).collect::<Vec<_>>());
                let (by_taps, in_arrest) = tapped[second];
                let is = owner.map_or(by_taps, |number| in_arrest && monitors[number][second]);
                prop_assert_eq!(counting[second], (is, in_arrest), "second {}", second);
            }
        }
        choose(&mut desk, imports[0], (-1_000, LENGTH_S * 1_000 + 1_000), CompressionSource::Taps, "why");
        prop_assert_eq!(chosen(desk.records()), vec![]);
        prop_assert_eq!(facts_of(desk.records()), facts_of(&model));
        prop_assert_eq!(course(desk.records()), course(&model));
        prop_assert_eq!(&desk.records()[..recorded.len()], &recorded[..]);
    }
}

//! What must never be: the design's list, hunted for over random timelines with forgotten, doubled and corrected taps.
//!
//! The checks look at facts and prompts from outside; they share no code with the plan. `planted_bugs_are_found` breaks
//! what the plan says in three ways and demands that the checks notice.

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed, TestCaseError, TestRunner};
use uuid::Uuid;

use crate::event::{AgeGroup, Dose, Event, Role};
use crate::plan::HORIZON_MS;
use crate::prompt::{Action, Prompt};
use crate::protocol::{self, DoseRule, Protocol};
use crate::record::Record;
use crate::snapshot::{Knowledge, Snapshot};
use crate::testing::{Script, device, id};
use crate::timeline;
use crate::view::{Hands, HandsOrder, Phase};

const ADULT: &str = include_str!("../../protocols/aha-adult.toml");
const ERC: &str = include_str!("../../protocols/erc-adult.toml");

/// Taps as a team may make them, in any order.
const TAPS: &[&str] = &[
    "compressions_started",
    "compressions_started",
    "compressions_started by=mechanical",
    "compressions_stopped reason=rhythm_check",
    "compressions_stopped reason=rhythm_check",
    "compressions_stopped reason=shock",
    "compressions_stopped reason=airway",
    "compressions_stopped reason=rosc",
    "pause_reason reason=airway",
    "pause_reason reason=rhythm_check",
    "pause_reason reason=shock",
    "compressor_changed",
    "pads_attached",
    "pads_removed",
    "pulse_finger_placed site=carotid",
    "rhythm_checked rhythm=vf pulse=not_checked",
    "rhythm_checked rhythm=vf pulse=absent",
    "rhythm_checked rhythm=vf pulse=present",
    "rhythm_checked rhythm=pulseless_vt pulse=absent",
    "rhythm_checked rhythm=pea pulse=absent",
    "rhythm_checked rhythm=asystole pulse=not_checked",
    "rhythm_checked rhythm=perfusing pulse=present",
    "rhythm_checked rhythm=perfusing pulse=not_checked",
    "rhythm_checked rhythm=bradycardia pulse=absent",
    "rhythm_checked rhythm=unknown",
    "charging_started energy_j=200",
    "charging_started",
    "charge_ready energy_j=200",
    "charge_dumped",
    "all_clear_called",
    "all_clear_called",
    "shock_delivered energy_j=200",
    "shock_delivered energy_j=200",
    "shock_delivered energy_j=200 stack_id=a",
    "shock_aborted reason=touched",
    "drug_prepared drug=epinephrine",
    "drug_given drug=epinephrine dose={\"value\":1,\"unit\":\"mg\"} route=iv",
    "drug_given drug=epinephrine dose={\"value\":1,\"unit\":\"mg\"} route=im",
    "drug_prepared drug=amiodarone",
    "drug_given drug=amiodarone dose={\"value\":300,\"unit\":\"mg\"} route=io",
    "drug_given drug=lidocaine dose={\"value\":100,\"unit\":\"mg\"} route=iv",
    "access_gained route=iv",
    "access_lost route=iv",
    "airway_placed airway=supraglottic",
    "airway_removed airway=supraglottic",
    "etco2_read mmhg=12",
    "etco2_read mmhg=44",
    "cause_considered cause=hypoxia",
    "prior_care_reported epinephrine_doses=1 shocks=2",
    "prior_care_reported amiodarone_mg=300 last_epinephrine_at_ms=-30000 airway=supraglottic access=io",
    "pads_attached position=anteroposterior",
    "vital_read spo2_pct=99",
    "vital_read systolic_mmhg=80 diastolic_mmhg=50",
    "lab_read paco2_mmhg=40",
    "moved location=elsewhere",
    "ecmo_started",
    "death_declared",
    "circumstance_set name=hypothermia on=true",
    "circumstance_set name=hypothermia on=true",
    "circumstance_set name=hypothermia on=false",
    "circumstance_set name=pregnancy on=true",
    "circumstance_set name=trauma on=true",
    "circumstance_set name=anaphylaxis on=true",
    "circumstance_set name=drowning on=true",
    "circumstance_set name=local_anaesthetic on=true",
    "circumstance_set name=anaphylaxis on=false",
    "patient_updated core_temp_c=28",
    "patient_updated core_temp_c=32",
    "vital_read temp_c=27 temp_site=core",
    "vital_read temp_c=36 temp_site=core",
    "vital_read temp_c=27 temp_site=other",
    "delivery",
    "breaths_given count=5",
    "rosc",
    "arrest_again",
    "arrest_again",
    "code_closed outcome=died",
];

/// What may be said of a child, right or wrong, in any order.
const TOLD: &[&str] = &[
    "patient_updated weight_kg=14 weight_basis=age",
    "patient_updated weight_kg=14.2 weight_basis=told",
    "patient_updated weight_kg=31 weight_basis=told",
    "patient_updated weight_kg=3.1 weight_basis=measured",
    "patient_updated weight_kg=13 weight_basis=length",
    "patient_updated weight_kg=120",
    "patient_updated age_months=2",
    "patient_updated age_months=40",
    "patient_updated age_months=150",
    "patient_updated age_group=infant",
    "patient_updated age_group=child",
    "patient_updated age_group=child",
    "patient_updated age_group=adult",
];

/// One step: how long after the last, what, and at whom a correction aims.
#[derive(Debug, Clone)]
enum Step {
    Tap(usize),
    /// The tap before, again.
    Double,
    Void(usize),
    MoveBy(usize, i64),
    Replace(usize, usize),
    /// Something is said of the patient.
    Tell(usize),
}

fn steps() -> impl Strategy<Value = Vec<(i64, Step)>> {
    prop::collection::vec((wait(), step()), 1..45)
}

/// As a code of a child may go: weight, age and age group are told and corrected all along.
fn childrens_steps() -> impl Strategy<Value = Vec<(i64, Step)>> {
    let step = prop_oneof![4 => step(), 1 => (0..TOLD.len()).prop_map(Step::Tell)];
    prop::collection::vec((wait(), step), 1..45)
}

fn wait() -> impl Strategy<Value = i64> {
    prop_oneof![4 => 0_i64..6_000, 3 => 6_000_i64..40_000, 1 => 40_000_i64..140_000]
}

fn step() -> impl Strategy<Value = Step> {
    // Closing ends everything: it stays rare.
    prop_oneof![
        30 => (0..TAPS.len() - 1).prop_map(Step::Tap),
        2 => Just(Step::Double),
        2 => (0_usize..60).prop_map(Step::Void),
        1 => ((0_usize..60), -60_000_i64..1).prop_map(|(target, by)| Step::MoveBy(target, by)),
        1 => ((0_usize..60), 0..TAPS.len() - 1).prop_map(|(target, tap)| Step::Replace(target, tap)),
        1 => Just(Step::Tap(TAPS.len() - 1)).prop_filter("rare", |_| true),
    ]
}

const COLD: &str = "0 code_opened protocol={\"id\":\"erc-adult\",\"version\":1} patient={\"age_group\":\"adult\",\"core_temp_c\":28} training=true\n\
                    0 circumstance_set name=hypothermia on=true\n0 clock_started\n0 prior_care_reported shocks=2";

fn build(steps: &[(i64, Step)]) -> Vec<Record> {
    build_for("adult", steps)
}

fn build_for(age_group: &str, steps: &[(i64, Step)]) -> Vec<Record> {
    let mut script = Script::new(&format!(
        "0 code_opened protocol={{\"id\":\"x\",\"version\":1}} patient={{\"age_group\":\"{age_group}\"}} training=true witnessed=true monitored=true\n0 clock_started"
    ));
    build_on(&mut script, steps);
    script.records().to_vec()
}

fn build_on(script: &mut Script, steps: &[(i64, Step)]) {
    let mut at_ms = 0;
    let mut last = 0;
    for (wait_ms, step) in steps {
        at_ms += wait_ms;
        let count = script.records().len();
        let target = |place: usize| id((place % count) as u64 + 1);
        match step {
            Step::Tap(tap) => {
                last = *tap;
                script.extend(&format!("{at_ms} {}", TAPS[*tap]));
            }
            Step::Tell(told) => script.extend(&format!("{at_ms} {}", TOLD[*told])),
            Step::Double => script.extend(&format!("{at_ms} {}", TAPS[last])),
            Step::Void(place) => script.push(at_ms, Event::Voided { target: target(*place), reason: "r".into() }),
            Step::MoveBy(place, by_ms) => {
                let moved_ms = (script.records()[place % count].at_ms + by_ms).max(0);
                let target = target(*place);
                script.push(at_ms, Event::Amended { target, at_ms: Some(moved_ms), event: None, reason: "r".into() });
            }
            Step::Replace(place, tap) => {
                let replacement = Script::new(&format!("0 {}", TAPS[*tap])).records()[0].event.clone();
                let target = target(*place);
                script.push(
                    at_ms,
                    Event::Amended { target, at_ms: None, event: Some(Box::new(replacement)), reason: "r".into() },
                );
            }
        }
    }
}

/// What a moment shows, as the checks see it.
#[derive(Debug, Clone)]
struct Seen {
    at_ms: i64,
    phase: Phase,
    hands: Hands,
    visible: Vec<Prompt>,
    planned: Vec<Prompt>,
}

fn look(records: &[Record], protocol: &Protocol, at_ms: i64) -> Seen {
    let snapshot = Snapshot::at(records, protocol, at_ms, Knowledge::AsKnown);
    Seen {
        at_ms,
        phase: snapshot.phase(),
        hands: snapshot.plan().hands.clone(),
        visible: snapshot.prompts().iter().filter(|prompt| prompt.show_at_ms <= at_ms).cloned().collect(),
        planned: snapshot.prompts().to_vec(),
    }
}

/// The facts at a moment, told again without the engine's state.
#[derive(Default)]
struct Told {
    shock_wanted: bool,
    charging_without_all_clear: bool,
    stop_open: bool,
    last_epinephrine_ms: Option<i64>,
    /// Boluses into a vein or a bone, by drug.
    given: BTreeMap<String, u32>,
    begun: bool,
    rosc: bool,
    hypothermia: bool,
    core_temp_c: Option<f64>,
    shocks: u32,
    prior_shocks: u32,
    /// The time of a dose of epinephrine before arrival was told.
    prior_epinephrine: bool,
    /// Drugs are withheld: below 30 degrees, under a guideline that withholds them (S10).
    cold: bool,
    /// No further shock: three were given below 30 degrees (S11).
    shocks_over: bool,
    /// Twice the interval: from 30 to below 35 degrees (S12).
    cool: bool,
}

/// Whether a guideline changes anything in the cold: ERC does, AHA does not (S10 to S13).
fn minds_the_cold(protocol: &Protocol) -> bool {
    protocol.id.starts_with("erc")
}

impl Told {
    fn weigh_the_cold(&mut self, protocol: &Protocol) {
        let core_temp_c = self.core_temp_c.filter(|_| self.hypothermia && minds_the_cold(protocol));
        self.cold = core_temp_c.is_some_and(|celsius| celsius < 30.0);
        self.cool = core_temp_c.is_some_and(|celsius| (30.0..35.0).contains(&celsius));
        self.shocks_over = self.cold && self.shocks + self.prior_shocks >= 3;
        self.shock_wanted &= !self.shocks_over;
    }
}

fn tell(records: &[Record], at_ms: i64, protocol: &Protocol) -> Told {
    let mut told = Told::default();
    let mut look_amended_ms = None;
    let mut stack: Option<(String, u32)> = None;
    for fact in timeline::facts_at(records, at_ms, Knowledge::AsKnown).facts {
        match fact.event {
            Event::RhythmChecked { rhythm, .. } => {
                told.shock_wanted = rhythm.is_shockable();
                look_amended_ms = fact.amended_ms;
                stack = None;
            }
            Event::ShockDelivered { stack_id, .. } => {
                let in_stack = match (stack_id, &stack) {
                    (Some(id), Some((open, shocks))) if id == open => shocks + 1,
                    (Some(_), _) => 1,
                    (None, _) => 3,
                };
                stack = stack_id.clone().map(|id| (id, in_stack));
                told.shock_wanted &= in_stack < 3;
                told.shocks += 1;
                told.charging_without_all_clear = false;
            }
            // A charge dumped on a look that was corrected later says nothing of the look as corrected (docs/plan.md).
            Event::ChargeDumped { .. } if look_amended_ms > Some(fact.at_ms) => told.charging_without_all_clear = false,
            Event::ChargeDumped { .. } | Event::ShockAborted { .. } => {
                told.shock_wanted = false;
                told.charging_without_all_clear = false;
            }
            Event::ClockStarted { .. } => told.begun = true,
            // In an arrest, arrest_again changes nothing; neither does a second rosc.
            Event::Rosc {} if told.begun && !told.rosc => {
                told.rosc = true;
                told.shock_wanted = false;
                told.stop_open = false;
            }
            Event::ArrestAgain {} if told.rosc => {
                told.rosc = false;
                told.stop_open = false;
            }
            Event::ChargingStarted { .. } => told.charging_without_all_clear = true,
            Event::AllClearCalled {} => told.charging_without_all_clear = false,
            Event::CompressionsStarted { .. } => told.stop_open = false,
            Event::CompressionsStopped { .. } => told.stop_open = true,
            Event::DrugGiven { drug, route: crate::event::Route::Iv | crate::event::Route::Io, .. } => {
                *told.given.entry(drug.clone()).or_default() += 1;
                if drug != "epinephrine" {
                    continue;
                }
                told.last_epinephrine_ms = told.last_epinephrine_ms.max(Some(fact.at_ms));
            }
            Event::CircumstanceSet { name: crate::event::Circumstance::Hypothermia, on } => told.hypothermia = *on,
            Event::CodeOpened { patient, .. } | Event::PatientUpdated { patient } => {
                told.core_temp_c = patient.core_temp_c.or(told.core_temp_c);
            }
            Event::VitalRead { temp_c, temp_site: Some(crate::event::TemperatureSite::Core), .. } => {
                told.core_temp_c = temp_c.or(told.core_temp_c);
            }
            Event::PriorCareReported { prior_care } => {
                told.prior_shocks = prior_care.shocks.unwrap_or(told.prior_shocks);
                told.prior_epinephrine |= prior_care.last_epinephrine_at_ms.is_some();
            }
            _ => {}
        }
        told.weigh_the_cold(protocol);
    }
    told
}

type Verdict = Result<(), TestCaseError>;

fn never(seen: &Seen, told: &Told, protocol: &Protocol) -> Verdict {
    let shows = |action: Action| seen.visible.iter().any(|prompt| prompt.action == action);
    // 1
    if shows(Action::GiveShock) || shows(Action::CallAllClear) {
        prop_assert!(told.shock_wanted, "a shock is asked for that nobody wants, at {}", seen.at_ms);
    }
    if seen.hands.now == HandsOrder::Clear {
        let touching = seen.visible.iter().find(|prompt| prompt.action.touches_patient());
        prop_assert!(touching.is_none(), "{touching:?} while hands are clear, at {}", seen.at_ms);
    }
    // 2
    if seen.phase == Phase::Arrest && told.charging_without_all_clear && !told.stop_open {
        prop_assert_eq!(seen.hands.now, HandsOrder::Compress, "hands off while charging, at {}", seen.at_ms);
    }
    // 3
    let mut drugs = BTreeSet::new();
    for prompt in seen.planned.iter().filter(|prompt| prompt.action == Action::GiveDrug) {
        prop_assert!(
            drugs.insert(prompt.detail.drug.clone()),
            "two doses of {:?} at {}",
            prompt.detail.drug,
            seen.at_ms
        );
        if let (Some("epinephrine"), Some(last_ms)) = (prompt.detail.drug.as_deref(), told.last_epinephrine_ms) {
            let doubled = if told.cool { 2 } else { 1 };
            let earliest_ms = last_ms + doubled * protocol.epinephrine.min_interval_s.ms();
            prop_assert!(prompt.due_at_ms >= earliest_ms, "a dose due too early: {prompt:?}");
        }
    }
    // A circumstance that withholds drugs, or further shocks, is followed in every prompt of the plan.
    for prompt in &seen.planned {
        // Whether two doses were given is asked of what was, not of what is to come.
        let drug = matches!(prompt.action, Action::GiveDrug | Action::DrawUp)
            || (prompt.detail.drug.is_some() && prompt.action != Action::ConfirmSecondDose)
            || prompt.detail.of == Some(Action::GiveDrug)
            || matches!(prompt.tap, Some(Event::DrugGiven { .. } | Event::DrugPrepared { .. }));
        prop_assert!(!(told.cold && drug), "a drug asked for below 30 degrees at {}: {prompt:?}", seen.at_ms);
        let shock =
            matches!(prompt.action, Action::ChargeAhead | Action::Charge | Action::CallAllClear | Action::GiveShock);
        prop_assert!(!(told.shocks_over && shock), "a fourth shock below 30 degrees at {}: {prompt:?}", seen.at_ms);
    }
    // 4
    for prompt in &seen.planned {
        if let (Some(drug), Some(dose)) = (prompt.detail.drug.as_deref(), &prompt.detail.dose) {
            let max_mg = if drug == "epinephrine" { 1.0 } else { 300.0 };
            prop_assert!(dose.value <= max_mg && dose.unit == "mg", "{drug}: {dose:?}");
        }
    }
    // 5
    let pairs = [
        (Action::StartCompressions, Action::GiveShock),
        (Action::ResumeCompressions, Action::GiveShock),
        (Action::StartCompressions, Action::ResumeCompressions),
        (Action::ResumeCompressions, Action::ConfirmRosc),
        (Action::StartCompressions, Action::ConfirmRosc),
        (Action::Charge, Action::DumpCharge),
        (Action::ChargeAhead, Action::DumpCharge),
        (Action::Charge, Action::ChargeAhead),
        (Action::Charge, Action::CallAllClear),
        (Action::CallAllClear, Action::GiveShock),
        (Action::DumpCharge, Action::GiveShock),
        (Action::DumpCharge, Action::CallAllClear),
        (Action::ChangePads, Action::Charge),
        (Action::ChangePads, Action::ChargeAhead),
        (Action::ChangePads, Action::CallAllClear),
        (Action::ChangePads, Action::GiveShock),
        (Action::ChangePads, Action::DumpCharge),
    ];
    for (one, other) in pairs {
        prop_assert!(!(shows(one) && shows(other)), "{one:?} beside {other:?} at {}", seen.at_ms);
    }
    if shows(Action::GiveShock) {
        prop_assert_eq!(seen.hands.now, HandsOrder::Clear, "a shock with hands on, at {}", seen.at_ms);
    }
    for drug in ["epinephrine", "amiodarone", "lidocaine"] {
        let about = |action| {
            seen.visible.iter().any(|prompt| prompt.action == action && prompt.detail.drug.as_deref() == Some(drug))
        };
        prop_assert!(!(about(Action::DrawUp) && about(Action::GiveDrug)), "{drug} drawn up and given at once");
    }
    for prompt in seen.planned.iter().filter(|prompt| prompt.action == Action::ConfirmSecondDose) {
        let drug = prompt.detail.drug.as_deref().unwrap_or_default();
        // Of the antiarrhythmics either counts: never one after the other.
        let either: &[&str] = if drug == "epinephrine" { &["epinephrine"] } else { &["amiodarone", "lidocaine"] };
        let doses: u32 = either.iter().filter_map(|drug| told.given.get(*drug)).sum();
        let before = u32::from(drug == "epinephrine" && told.prior_epinephrine);
        prop_assert!(doses + before >= 2, "twice? of one dose: {prompt:?}");
    }
    let keys: BTreeSet<_> = seen.planned.iter().map(|prompt| &prompt.key).collect();
    prop_assert_eq!(keys.len(), seen.planned.len(), "two prompts share a key: {:?}", seen.planned);
    // 6
    for prompt in &seen.planned {
        let fits = match seen.phase {
            Phase::Rosc => matches!(
                prompt.action,
                Action::Aftercare
                    | Action::DumpCharge
                    | Action::ConfirmRoles
                    | Action::ChangeProtocol
                    | Action::SpecialCare
                    | Action::ConsiderCircumstance
                    | Action::ReviewLimits
                    | Action::CloseCode
            ),
            Phase::Standby => matches!(prompt.action, Action::EnterWeight | Action::ChangeProtocol),
            Phase::Closed => false,
            Phase::Arrest => prompt.action != Action::Aftercare,
        };
        prop_assert!(fits, "{:?} in {:?}", prompt.action, seen.phase);
    }
    Ok(())
}

/// 4, for a child: no mg, mL or J without a weight that somebody told, measured or confirmed, none under a protocol for
/// another age, and never more than the rule gives for the heaviest of the weights told.
fn never_on_a_guess(seen: &Seen, records: &[Record], protocol: &Protocol) -> Verdict {
    let mut weights_kg = Vec::new();
    let (mut group, mut age_months) = (AgeGroup::Child, None);
    for fact in timeline::facts_at(records, seen.at_ms, Knowledge::AsKnown).facts {
        if let Event::CodeOpened { patient, .. } | Event::PatientUpdated { patient } = fact.event {
            weights_kg.extend(patient.weight_kg);
            group = patient.age_group.unwrap_or(group);
            age_months = patient.age_months.or(age_months);
        }
    }
    // Before 12 years nobody is an adult whatever was told, and from 18 nobody a child.
    let adult = match age_months {
        Some(months) if !(144..216).contains(&months) => months >= 216,
        Some(_) | None => group == AgeGroup::Adult,
    };
    let heaviest_kg = weights_kg.iter().copied().reduce(f64::max).filter(|_| !adult);
    let protocol::EnergyRule::PerKg { max_j_per_kg, max_j, .. } = &protocol.shock.energy else {
        panic!("a child's energies go by weight")
    };
    for prompt in &seen.planned {
        let detail = &prompt.detail;
        let Some(heaviest_kg) = heaviest_kg else {
            let amount =
                detail.dose.is_some() || detail.volume.is_some() || detail.or.iter().any(|or| or.dose.is_some());
            prop_assert!(!amount, "an amount on a guess: {prompt:?}");
            // What is charged is a fact; what is to be charged would be a guess.
            let to_charge = matches!(prompt.action, Action::Charge | Action::ChargeAhead);
            prop_assert!(!to_charge || detail.energy_j.is_none(), "an energy on a guess: {prompt:?}");
            continue;
        };
        if let (Some(drug), Some(dose)) = (detail.drug.as_deref(), &detail.dose) {
            let (mg_per_kg, max_mg) = match drug {
                "epinephrine" => (0.01, 1.0),
                "amiodarone" => (5.0, 300.0),
                _ => (1.0, 100.0),
            };
            // Rounded to three figures.
            prop_assert!(dose.value <= (mg_per_kg * heaviest_kg * 1.005_f64).min(max_mg), "{prompt:?}");
            prop_assert!(detail.rule.as_ref().is_none_or(|rule| rule.contains(" kg")), "{prompt:?}");
        }
        if let (Action::Charge | Action::ChargeAhead, Some(energy_j)) = (prompt.action, detail.energy_j) {
            prop_assert!(energy_j <= max_j.value.min(max_j_per_kg.value * heaviest_kg), "{prompt:?}");
        }
    }
    Ok(())
}

/// 9: with nobody tapping anything, hands return to compress and a check is planned.
fn has_exit(records: &[Record], protocol: &Protocol, at_ms: i64) -> Verdict {
    let limit_ms = protocol.cycle.pause_limit_s.ms().max(protocol.cycle.clear_limit_s.ms());
    let so_far: Vec<Record> = records.iter().filter(|record| record.at_ms <= at_ms).cloned().collect();
    let later = look(&so_far, protocol, at_ms + limit_ms);
    if later.phase == Phase::Arrest {
        prop_assert_eq!(later.hands.now, HandsOrder::Compress, "no way back to the chest from {}", at_ms);
        prop_assert!(
            later.planned.iter().any(|prompt| prompt.action == Action::PauseForCheck),
            "no check planned from {}",
            at_ms
        );
    }
    Ok(())
}

/// The server sleeps until the next wake: nothing may change before it.
fn changes_only_at_wakes(
    records: &[Record],
    protocol: &Protocol,
    from_ms: i64,
    to_ms: i64,
) -> Result<Vec<i64>, TestCaseError> {
    let mut at_ms = from_ms;
    let mut moments = vec![from_ms];
    while at_ms < to_ms && moments.len() < 400 {
        let snapshot = Snapshot::at(records, protocol, at_ms, Knowledge::AsKnown);
        let wake_ms = snapshot.next_wake_ms().unwrap_or(to_ms).min(to_ms);
        prop_assert!(wake_ms > at_ms);
        let (now, before) = (look(records, protocol, at_ms), look(records, protocol, wake_ms - 1));
        let keys = |seen: &Seen| {
            let prompts = seen.visible.iter().filter(|prompt| prompt.show_at_ms <= at_ms);
            prompts.map(|prompt| (prompt.key.clone(), prompt.due_at_ms)).collect::<BTreeSet<_>>()
        };
        prop_assert_eq!(keys(&now), keys(&before), "something changed between {} and {}", at_ms, wake_ms);
        prop_assert_eq!(now.hands.now, before.hands.now, "hands changed between {} and {}", at_ms, wake_ms);
        at_ms = wake_ms;
        moments.push(at_ms);
    }
    Ok(moments)
}

fn whole(records: &[Record], protocol: &Protocol, spoil: impl Fn(&mut Seen)) -> Verdict {
    whole_and(records, protocol, spoil, |_| Ok(()))
}

fn whole_and(
    records: &[Record],
    protocol: &Protocol,
    spoil: impl Fn(&mut Seen),
    more: impl Fn(&Seen) -> Verdict,
) -> Verdict {
    let mut times: Vec<i64> = records.iter().map(|record| record.at_ms).collect();
    times.push(times.last().copied().unwrap_or(0) + 400_000);
    times.dedup();
    for pair in times.windows(2) {
        let moments = changes_only_at_wakes(records, protocol, pair[0], pair[1])?;
        for at_ms in moments {
            let mut seen = look(records, protocol, at_ms);
            spoil(&mut seen);
            never(&seen, &tell(records, at_ms, protocol), protocol)?;
            more(&seen)?;
        }
        has_exit(records, protocol, pair[0])?;
    }
    Ok(())
}

/// The suite tries the same timelines at each run, so that a change is judged by what it changed; `make hunt` tries new
/// ones, and more of them.
fn runner(cases: u32) -> TestRunner {
    let rng_seed = RngSeed::Fixed(set(option_env!("COXSWAIN_SEED")).unwrap_or(1));
    TestRunner::new(Config { cases, rng_seed, failure_persistence: None, max_shrink_iters: 2_000, ..Config::default() })
}

/// A number set when the tests were compiled: the engine, tests included, reads no environment.
fn set<T: std::str::FromStr>(value: Option<&str>) -> Option<T> {
    value.and_then(|value| value.parse().ok())
}

#[test]
fn nothing_on_the_list_ever_happens() {
    let protocol = protocol::read(ADULT).unwrap();
    let cases = set(option_env!("COXSWAIN_CASES")).unwrap_or(400);
    runner(cases).run(&steps(), |steps| whole(&build(&steps), &protocol, |_| {})).unwrap();
}

#[test]
fn nor_under_the_other_guideline() {
    let protocol = protocol::read(ERC).unwrap();
    let cases = set(option_env!("COXSWAIN_CASES")).unwrap_or(400);
    runner(cases).run(&steps(), |steps| whole(&build(&steps), &protocol, |_| {})).unwrap();
}

/// The same timelines in the cold, where ERC withholds drugs and further shocks from the beginning.
#[test]
fn nor_in_the_cold() {
    let protocol = protocol::read(ERC).unwrap();
    let cases = set(option_env!("COXSWAIN_CASES")).unwrap_or(200);
    runner(cases)
        .run(&steps(), |steps| {
            let mut script = Script::new(COLD);
            build_on(&mut script, &steps);
            whole(script.records(), &protocol, |_| {})
        })
        .unwrap();
}

#[test]
fn nor_without_charging_ahead() {
    let mut protocol = protocol::read(ADULT).unwrap();
    protocol.shock.precharge.value = false;
    runner(150).run(&steps(), |steps| whole(&build(&steps), &protocol, |_| {})).unwrap();
}

#[test]
fn nor_with_stacked_shocks_and_pads_to_move() {
    let protocol = protocol::read(ERC).unwrap();
    let asked = std::cell::RefCell::new(BTreeSet::new());
    runner(150)
        .run(&steps(), |steps| {
            whole(&build(&steps), &protocol, |seen| {
                let stacked = seen.visible.iter().filter(|prompt| prompt.detail.stack.is_some());
                let pads = seen.visible.iter().filter(|prompt| prompt.action == Action::ChangePads);
                asked.borrow_mut().extend(stacked.chain(pads).map(|prompt| prompt.action));
            })
        })
        .unwrap();
    let wanted = BTreeSet::from([Action::GiveShock, Action::ChangePads]);
    assert!(asked.borrow().is_superset(&wanted), "the timelines no longer reach stacks and pads: {asked:?}");
}

#[test]
fn nor_in_a_child_whatever_is_told_of_weight_and_age() {
    for id in ["aha-child", "erc-child"] {
        let (_, text) = protocol::shipped().iter().find(|(name, _)| *name == id).unwrap();
        let protocol = protocol::read(text).unwrap();
        let cases = set(option_env!("COXSWAIN_CASES")).unwrap_or(150);
        runner(cases)
            .run(&childrens_steps(), |steps| {
                let records = build_for("child", &steps);
                whole_and(&records, &protocol, |_| {}, |seen| never_on_a_guess(seen, &records, &protocol))
            })
            .unwrap();
        // And a planted bug is found: an adult's dose wherever none is shown.
        let found = runner(cases).run(&childrens_steps(), |steps| {
            let records = build_for("child", &steps);
            let adults_dose = |seen: &mut Seen| {
                for prompt in seen.planned.iter_mut().filter(|prompt| prompt.action == Action::GiveDrug) {
                    prompt.detail.dose.get_or_insert(Dose { value: 1.0, unit: "mg".to_owned() });
                }
            };
            whole_and(&records, &protocol, adults_dose, |seen| never_on_a_guess(seen, &records, &protocol))
        });
        assert!(found.is_err(), "{id}: an adult's dose without a weight was not found");
    }
}

#[test]
fn planted_bugs_are_found() {
    let protocol = protocol::read(ADULT).unwrap();
    type Bug = (&'static str, fn(&mut Seen));
    let bugs: [Bug; 6] = [
        ("a dose a minute early", |seen| {
            for prompt in seen.planned.iter_mut().filter(|prompt| prompt.action == Action::GiveDrug) {
                prompt.due_at_ms -= 61_000;
            }
        }),
        ("hands go off as soon as charging begins", |seen| {
            if seen.visible.iter().any(|prompt| prompt.action == Action::CallAllClear) {
                seen.hands.now = HandsOrder::Clear;
            }
        }),
        ("an arrest prompt outlives ROSC", |seen| {
            for prompt in seen.planned.iter_mut().filter(|prompt| prompt.action == Action::Aftercare) {
                prompt.action = Action::Ventilate;
            }
        }),
        ("pads are moved while they are charged", |seen| {
            for prompt in seen.visible.iter_mut().filter(|prompt| prompt.action == Action::FingerOnPulse) {
                prompt.action = Action::ChangePads;
            }
        }),
        ("twice is asked of a first dose", |seen| {
            for prompt in seen.planned.iter_mut().filter(|prompt| prompt.action == Action::DrawUp) {
                prompt.action = Action::ConfirmSecondDose;
            }
        }),
        ("all clear is asked at any charge", |seen| {
            for prompt in seen.visible.iter_mut().filter(|prompt| prompt.action == Action::DumpCharge) {
                prompt.action = Action::CallAllClear;
            }
        }),
    ];
    let cold_bugs: [Bug; 2] = [
        ("a drug asked for in the cold", |seen| {
            for prompt in seen.planned.iter_mut().filter(|prompt| prompt.action == Action::Ventilate) {
                prompt.action = Action::GiveDrug;
            }
        }),
        ("a charge asked for beyond the limit", |seen| {
            for prompt in seen
                .planned
                .iter_mut()
                .filter(|prompt| prompt.action == Action::ReadEtco2 || prompt.action == Action::DumpCharge)
            {
                prompt.action = Action::ChargeAhead;
            }
        }),
    ];
    let erc = protocol::read(ERC).unwrap();
    for (name, spoil) in cold_bugs {
        let found = runner(400).run(&steps(), |steps| {
            let mut script = Script::new(COLD);
            build_on(&mut script, &steps);
            whole(script.records(), &erc, spoil)
        });
        assert!(found.is_err(), "not found: {name}");
    }
    for (name, spoil) in bugs {
        let found = runner(400).run(&steps(), |steps| whole(&build(&steps), &protocol, spoil));
        assert!(found.is_err(), "not found: {name}");
    }
}

#[test]
fn the_horizon_and_the_roles_are_kept() {
    let protocol = protocol::read(ADULT).unwrap();
    let held: BTreeSet<Role> = Role::ALL.iter().copied().collect();
    runner(100)
        .run(&(steps(), 0_usize..7), |(steps, left_out)| {
            let mut records = build(&steps);
            let at_ms = records.last().map_or(0, |record| record.at_ms);
            let missing = Role::ALL[left_out];
            for (place, role) in held.iter().filter(|role| **role != missing).enumerate() {
                let mut record = records[0].clone();
                record.id = Uuid::from_u128(1_000 + place as u128);
                record.event = Event::RoleAssigned { role: *role, device: device(place as u64), person: None };
                records.push(record);
            }
            let snapshot = Snapshot::at(&records, &protocol, at_ms, Knowledge::AsKnown);
            for role in &held {
                let view = snapshot.view(&BTreeSet::from([*role]));
                let unheld = snapshot.unheld();
                for prompt in &view.prompts {
                    let own = prompt.roles.contains(role);
                    let fallen = prompt.roles.iter().any(|of| unheld.contains(of))
                        && (*role == Role::Leader || unheld.contains(&Role::Leader));
                    prop_assert!(own || fallen, "{prompt:?} on {role:?}");
                    prop_assert!(prompt.show_at_ms <= at_ms + HORIZON_MS);
                }
                prop_assert_eq!(view.team.is_some(), *role == Role::Leader);
            }
            Ok(())
        })
        .unwrap();
}

#[test]
fn a_child_without_a_weight_is_told_the_rule_and_no_amount() {
    let mut protocol = protocol::read(ADULT).unwrap();
    protocol.age_group = crate::event::AgeGroup::Child;
    let DoseRule::FixedMg(value) = protocol.epinephrine.dose.clone() else { panic!("fixed in the adult file") };
    protocol.epinephrine.dose =
        DoseRule::PerKg { mg_per_kg: protocol::Sourced { value: 0.01, ..value.clone() }, max_mg: value };
    let mut script = Script::new(
        "0 code_opened protocol={\"id\":\"x\",\"version\":1} patient={\"age_group\":\"child\"} training=true\n0 clock_started\n10s rhythm_checked rhythm=asystole",
    );
    let give = |script: &Script, at_ms: i64| {
        let snapshot = Snapshot::at(script.records(), &protocol, at_ms, Knowledge::AsKnown);
        let asks_weight = snapshot.visible(Role::Leader).iter().any(|prompt| prompt.action == Action::EnterWeight);
        let give = snapshot.visible(Role::Drugs).into_iter().find(|prompt| prompt.action == Action::GiveDrug).unwrap();
        (asks_weight, give.detail)
    };
    let (asks_weight, detail) = give(&script, 10_000);
    assert!(asks_weight && detail.dose.is_none() && detail.volume.is_none(), "{detail:?}");
    assert!(detail.rule.is_some());
    script.extend("12s patient_updated weight_kg=20 weight_basis=measured");
    let (asks_weight, detail) = give(&script, 12_000);
    assert!(!asks_weight);
    // clinical sheet W5: 20 kg, 0.20 mg, 2.0 mL
    assert_eq!(detail.dose.map(|dose| dose.value), Some(0.2));
    assert_eq!(detail.volume.map(|volume| volume.value), Some(2.0));
}

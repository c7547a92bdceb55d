//! A code at a moment: its state, its plan, and what any set of roles sees of them. The one door for the server, for
//! `replay` and for tests.

use std::collections::{BTreeMap, BTreeSet};

use uuid::Uuid;

use crate::event::{AgeGroup, Event, ProtocolRef, Role, WeightBasis};
use crate::plan::{HORIZON_MS, Plan, Waits, antiarrhythmics_given, last_epinephrine};
use crate::prompt::{Action, Prompt, WeightEstimate};
use crate::protocol::{DrugPlan, Protocol, Reading};
use crate::record::Record;
use crate::state::State;
use crate::timeline;
use crate::view::{
    BreathRhythm, ChargeView, Counts, DrugLine, LookView, Note, PatientView, PauseView, Phase, ProtocolView, Running,
    TargetLine, TeamLine, View,
};

use crate::weight;

pub use crate::timeline::Knowledge;

/// The protocol a record runs under at a moment: as opened, or as changed since. A record whose closing was corrected to a time before
/// its opening has no fact left, and still ran under the protocol that it was opened with.
pub fn protocol_ref(records: &[Record], at_ms: i64, knowledge: Knowledge) -> Option<ProtocolRef> {
    let counted = timeline::facts_at(records, at_ms, knowledge).facts.iter().rev().find_map(|fact| match fact.event {
        Event::CodeOpened { protocol, .. } | Event::ProtocolChanged { protocol, .. } => Some(protocol.clone()),
        _ => None,
    });
    counted.or_else(|| {
        records.iter().find_map(|record| match &record.event {
            Event::CodeOpened { protocol, .. } => Some(protocol.clone()),
            _ => None,
        })
    })
}

/// A place may have a long name; a view has little room.
const LOCATION_CHARS: usize = 80;

/// A code at a moment.
#[derive(Debug, Clone)]
pub struct Snapshot {
    at_ms: i64,
    state: State,
    plan: Plan,
    protocol: ProtocolView,
    compressions_per_minute: Option<f64>,
    breath_rhythm: Option<BreathRhythm>,
    pulse_duty: Role,
    drugs: Vec<DrugLine>,
    running: Running,
    pause_limit_ms: i64,
    absent: BTreeSet<Role>,
    age_group: AgeGroup,
    weight_doubt: Option<String>,
    estimate: Option<WeightEstimate>,
}

impl Snapshot {
    /// Folds the records up to `at_ms` and makes the plan for that moment.
    pub fn at(records: &[Record], protocol: &Protocol, at_ms: i64, knowledge: Knowledge) -> Self {
        let (state, settled) = match knowledge {
            Knowledge::AsKnown => State::known(records, protocol, at_ms),
            Knowledge::Hindsight => {
                let settled = timeline::facts_at(records, at_ms, knowledge);
                (State::fold(&settled, protocol), settled)
            }
        };
        let plan = Plan::make(&state, protocol, at_ms);
        Self {
            at_ms,
            age_group: state.age_group(protocol),
            weight_doubt: state.weight_doubt(protocol),
            // While there is no weight, or the one there came from another age.
            estimate: weight::estimate(&state.patient, protocol).filter(|estimate| {
                state.patient.weight_kg.is_none()
                    || (state.patient.weight_basis == Some(WeightBasis::Age)
                        && state.patient.weight_kg != Some(estimate.weight_kg))
            }),
            pulse_duty: state.team.pulse_duty.unwrap_or(protocol.pulse_duty.value),
            drugs: drug_lines(&state, &plan, protocol),
            running: running(&settled.facts, at_ms),
            breath_rhythm: breath_rhythm(&state, &plan, protocol),
            compressions_per_minute: (!state.chest.is_mechanical())
                .then_some(protocol.cycle.compressions_per_minute.value),
            state,
            plan,
            protocol: ProtocolView {
                id: protocol.id.clone(),
                title: protocol.title.clone(),
                version: protocol.version,
                approved: protocol.is_approved(),
            },
            pause_limit_ms: protocol.cycle.pause_limit_s.ms(),
            absent: BTreeSet::new(),
        }
    }

    /// Where the code stands.
    pub fn phase(&self) -> Phase {
        self.state.phase
    }

    /// The state behind the plan.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The plan.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Every role's prompts within the horizon, soonest first.
    pub fn prompts(&self) -> &[Prompt] {
        &self.plan.prompts
    }

    /// Devices by role.
    pub fn holders(&self) -> &BTreeMap<Role, BTreeSet<Uuid>> {
        &self.state.team.holders
    }

    /// The roles that a device holds.
    pub fn roles_of(&self, device: Uuid) -> BTreeSet<Role> {
        self.holders().iter().filter(|(_, devices)| devices.contains(&device)).map(|(role, _)| *role).collect()
    }

    /// Says which roles are held only by devices that cannot be reached: their prompts fall to others as if nobody held
    /// them. The record keeps the holders.
    pub fn leave_out(&mut self, absent: BTreeSet<Role>) {
        self.absent = absent;
    }

    fn holds(&self, role: Role) -> bool {
        self.state.team.holds(role) && !self.absent.contains(&role)
    }

    /// Roles that nobody holds. None, if the record never assigns a role.
    pub fn unheld(&self) -> Vec<Role> {
        Role::ALL.iter().copied().filter(|role| !self.holds(*role)).collect()
    }

    /// The next moment at which something changes by itself.
    pub fn next_wake_ms(&self) -> Option<i64> {
        self.plan.wakes_ms.first().copied()
    }

    /// The roles whose prompts a set of roles gets: its own, and those of roles that nobody holds, which fall to the
    /// leader, else to everybody.
    fn served(&self, roles: &BTreeSet<Role>) -> BTreeSet<Role> {
        let mut served = roles.clone();
        if roles.contains(&Role::Leader) || !self.holds(Role::Leader) {
            served.extend(self.unheld());
        }
        served
    }

    /// The prompts of a set of roles: those that show now and those of the next minutes. Beyond the next branch only
    /// what does not depend on it, marked assumed, and one further dose of each drug.
    pub fn prompts_for(&self, roles: &BTreeSet<Role>) -> Vec<Prompt> {
        let served = self.served(roles);
        let branch_ms = self.plan.next_check.map_or(i64::MAX, |check| check.due_ms.max(self.at_ms));
        self.plan
            .prompts
            .iter()
            .filter(|prompt| prompt.roles.iter().any(|role| served.contains(role)))
            .filter(|prompt| prompt.show_at_ms <= self.at_ms + HORIZON_MS)
            .filter(|prompt| prompt.show_at_ms <= branch_ms || reaches_beyond_a_branch(prompt.action))
            .cloned()
            .map(|mut prompt| {
                // Beyond the branch nothing is tapped yet: a tablet that gets there without its server asks, and its
                // screen offers the tap of the action.
                if prompt.show_at_ms > branch_ms {
                    prompt.assumed = true;
                    prompt.tap = None;
                    prompt.why = String::new();
                }
                prompt
            })
            .collect()
    }

    /// The prompts of a role that show now, soonest first.
    pub fn visible(&self, role: Role) -> Vec<Prompt> {
        let mut prompts = self.prompts_for(&BTreeSet::from([role]));
        prompts.retain(|prompt| prompt.show_at_ms <= self.at_ms);
        prompts
    }

    /// What a set of roles sees.
    pub fn view(&self, roles: &BTreeSet<Role>) -> View {
        let state = &self.state;
        View {
            at_ms: self.at_ms,
            phase: state.phase,
            training: state.training,
            location: state.location.as_ref().map(|place| place.chars().take(LOCATION_CHARS).collect()),
            age_group: self.age_group,
            hands: self.plan.hands.clone(),
            prompts: self.prompts_for(roles),
            team: roles.contains(&Role::Leader).then(|| self.team_lines(roles)),
            next_check_ms: self.plan.next_check.map(|check| check.due_ms),
            pause: state.chest.pause.filter(|_| state.in_arrest()).map(|pause| PauseView {
                since_ms: pause.stop.at_ms,
                reason: pause.reason,
                limit_ms: pause.stop.at_ms + self.pause_limit_ms,
            }),
            look: state.rhythms.look.map(|look| LookView {
                at_ms: look.mark.at_ms,
                rhythm: look.rhythm,
                pulse: look.pulse,
            }),
            charge: state.rhythms.charge.map(|charge| ChargeView {
                since_ms: charge.mark.at_ms,
                ready_at_ms: charge.ready_ms,
                energy_j: charge.energy_j,
            }),
            counts: Counts {
                shocks: state.rhythms.shock_count(),
                last_shock_at_ms: state.rhythms.shocks.last().map(|shock| shock.mark.at_ms),
                looks: state.rhythms.looks,
                roscs: state.roscs,
            },
            drugs: self.drugs.clone(),
            running: self.running.clone(),
            compressor_since_ms: state
                .chest
                .compressor_since_ms
                .filter(|_| state.in_arrest() && !state.chest.is_mechanical()),
            pulse_duty: self.pulse_duty,
            compressions_per_minute: self.compressions_per_minute,
            breath_rhythm: self.breath_rhythm.clone(),
            patient: PatientView {
                weight_kg: state.patient.weight_kg,
                weight_basis: state.patient.weight_basis,
                weight_doubt: self.weight_doubt.clone(),
                estimate: self.estimate.clone(),
                age_months: state.patient.age_months,
                gestation_weeks: state.patient.gestation_weeks,
                core_temp_c: state.special.reading(Reading::CoreTempC).map(|core| core.value),
            },
            circumstances: state.special.names().cloned().collect(),
            notes: self.notes(roles),
            aftercare: self.targets(roles),
            protocol: self.protocol.clone(),
        }
    }

    /// The targets of aftercare, for those who keep the whole picture.
    fn targets(&self, roles: &BTreeSet<Role>) -> Vec<TargetLine> {
        let served = self.served(roles);
        let keeps = served.contains(&Role::Leader) || served.contains(&Role::Recorder);
        if keeps { self.plan.aftercare.clone() } else { Vec::new() }
    }

    /// The sentences for a set of roles; one that is for several of them stands once.
    fn notes(&self, roles: &BTreeSet<Role>) -> Vec<Note> {
        let served = self.served(roles);
        let mut notes: Vec<Note> = Vec::new();
        for (_, note) in self.plan.notes.iter().filter(|(role, _)| served.contains(role)) {
            if !notes.contains(note) {
                notes.push(note.clone());
            }
        }
        notes
    }

    /// The next task of every role that is not on the leader's own device.
    fn team_lines(&self, own: &BTreeSet<Role>) -> Vec<TeamLine> {
        let others = Role::ALL.iter().copied().filter(|role| !own.contains(role));
        others
            .map(|role| {
                let own = || self.plan.prompts.iter().filter(|prompt| prompt.roles.contains(&role));
                // A standing breath rhythm says little of what comes next: it stands only where nothing else does.
                let next = own().find(|prompt| prompt.action != Action::Ventilate).or_else(|| own().next());
                TeamLine {
                    role,
                    held: self.holds(role),
                    action: next.map(|prompt| prompt.action),
                    drug: next.and_then(|prompt| prompt.detail.drug.clone()),
                    item: next
                        .filter(|prompt| named_by_item(prompt.action))
                        .and_then(|prompt| prompt.detail.item.clone()),
                    due_at_ms: next.map(|prompt| prompt.due_at_ms),
                    late_at_ms: next.and_then(|prompt| prompt.late_at_ms),
                }
            })
            .collect()
    }
}

/// What the protocol names in its own words.
const fn named_by_item(action: Action) -> bool {
    matches!(action, Action::Aftercare | Action::SpecialCare)
}

/// What may be asked past the first branch, where nobody knows yet which way the code goes.
const fn reaches_beyond_a_branch(action: Action) -> bool {
    matches!(
        action,
        Action::PauseForCheck
            | Action::Announce
            | Action::ReadyRelief
            | Action::FingerOnPulse
            | Action::Ventilate
            | Action::GiveDrug
    )
}

/// The rhythm of breaths that the airway is asked for. While a device compresses, its own pauses set the breaths of a ratio.
fn breath_rhythm(state: &State, plan: &Plan, protocol: &Protocol) -> Option<BreathRhythm> {
    let asked = plan.prompts.iter().find(|prompt| prompt.action == Action::Ventilate)?;
    if let Some(each_s) = asked.detail.one_breath_each_s {
        return Some(BreathRhythm { each_s: Some(each_s), after_compressions: None, gap_s: None });
    }
    (!state.chest.is_mechanical()).then_some(BreathRhythm {
        each_s: None,
        after_compressions: Some(protocol.airway.ratio_compressions.value),
        gap_s: Some(protocol.cycle.breath_gap_s.value),
    })
}

fn drug_lines(state: &State, plan: &Plan, protocol: &Protocol) -> Vec<DrugLine> {
    let due = |drug: &str| plan.drugs.iter().find(|due| due.drug == drug);
    let last = last_epinephrine(state);
    let rules = &protocol.epinephrine;
    let plan_of_drugs = state.special.regime.drugs;
    let withheld = plan_of_drugs == DrugPlan::Withheld;
    // Where a drug is withheld there is no window for it.
    let window = |interval_ms: i64| {
        last.filter(|_| !withheld).map(|(mark, _)| mark.at_ms + plan_of_drugs.interval_factor() * interval_ms)
    };
    let mut lines = vec![DrugLine {
        drug: "epinephrine".to_owned(),
        doses: state.care.epinephrine_doses(),
        last_at_ms: last.map(|(mark, _)| mark.at_ms),
        last_assumed: last.is_some_and(|(_, assumed)| assumed),
        due_at_ms: due("epinephrine").map(|due| due.due_ms),
        withheld,
        too_early_until_ms: window(rules.min_interval_s.ms()),
        latest_ms: window(rules.max_interval_s.ms()),
        waits: due("epinephrine").is_some_and(|due| due.waits != Waits::No),
    }];
    let ids: Vec<&str> = protocol.antiarrhythmic.drugs.iter().map(|drug| drug.id.as_str()).collect();
    let given = antiarrhythmics_given(state, protocol);
    let planned = plan.drugs.iter().find(|due| ids.contains(&due.drug.as_str()));
    let drug = planned.map(|due| due.drug.clone()).or(given.last_drug);
    if let Some(drug) = drug {
        let here = state.care.drugs.get(&drug).and_then(|medication| medication.given.last());
        lines.push(DrugLine {
            last_at_ms: here.map(|dose| dose.mark.at_ms),
            last_assumed: false,
            due_at_ms: planned.map(|due| due.due_ms),
            withheld,
            too_early_until_ms: None,
            latest_ms: None,
            waits: planned.is_some_and(|due| due.waits != Waits::No),
            doses: given.doses,
            drug,
        });
    }
    lines
}

/// Milliseconds in arrest and compressed within it, up to now: the same sums the figures make at the end.
fn running(facts: &[timeline::Fact<'_>], at_ms: i64) -> Running {
    let mut sums = Running { compressed_ms: 0, arrest_ms: 0 };
    let (mut arrest_from, mut compressing_from): (Option<i64>, Option<i64>) = (None, None);
    let mut begun = false;
    let overlap = |arrest: Option<i64>, compressing: Option<i64>, to_ms: i64| match (arrest, compressing) {
        (Some(arrest_ms), Some(from_ms)) => (to_ms - from_ms.max(arrest_ms)).max(0),
        _ => 0,
    };
    for fact in facts {
        match fact.event {
            Event::ClockStarted { .. } if !begun => {
                begun = true;
                arrest_from = Some(fact.at_ms);
            }
            Event::ArrestAgain {} if begun && arrest_from.is_none() => arrest_from = Some(fact.at_ms),
            Event::CompressionsStarted { .. } => {
                compressing_from.get_or_insert(fact.at_ms);
            }
            Event::CompressionsStopped { .. } => {
                sums.compressed_ms += overlap(arrest_from, compressing_from.take(), fact.at_ms);
            }
            Event::Rosc {} | Event::CodeClosed { .. } if arrest_from.is_some() => {
                sums.compressed_ms += overlap(arrest_from, compressing_from.take(), fact.at_ms);
                sums.arrest_ms += fact.at_ms - arrest_from.take().unwrap_or(fact.at_ms);
            }
            _ => {}
        }
    }
    sums.compressed_ms += overlap(arrest_from, compressing_from, at_ms);
    sums.arrest_ms += arrest_from.map_or(0, |from_ms| at_ms - from_ms);
    sums
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::fit;
    use crate::testing::Script;

    /// A device that holds every role is the worst case: everything of the code in one view.
    #[test]
    fn a_view_fits_its_limit_and_keeps_what_shows_now() {
        let protocol = crate::protocol::read(include_str!("../../protocols/aha-adult.toml")).unwrap();
        let script = Script::new(include_str!("../scenarios/aha_shockable.script"));
        let all: BTreeSet<Role> = Role::ALL.iter().copied().collect();
        let mut trimmed = false;
        for at_s in 0..440 {
            let at_ms = at_s * 1_000;
            let snapshot = Snapshot::at(script.records(), &protocol, at_ms, Knowledge::AsKnown);
            for roles in Role::ALL.iter().map(|role| BTreeSet::from([*role])).chain([all.clone()]) {
                let whole = snapshot.view(&roles);
                let mut view = whole.clone();
                fit(&mut view, 3_600);
                let size = serde_json::to_string(&view).unwrap().len();
                assert!(size <= 3_600, "{size} bytes for {roles:?} at {at_s} s");
                let showing = |view: &View| {
                    let prompts = view.prompts.iter().filter(|prompt| prompt.show_at_ms <= at_ms);
                    prompts.map(|prompt| prompt.key.clone()).collect::<Vec<_>>()
                };
                assert_eq!(showing(&view), showing(&whole));
                trimmed |= view != whole;
            }
        }
        assert!(trimmed, "nothing had to be trimmed: the test no longer reaches its case");
    }
}

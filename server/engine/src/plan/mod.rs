//! The plan: what each role is to do, and when, from the state, the protocol and the moment.
//!
//! One module per duty holds the clinical rules; this one gives them a common place to put prompts, and the moments at
//! which the plan changes by itself. A prompt is made anew each time, and keeps its key: nothing is remembered.

mod aftercare;
mod airway;
mod causes;
mod check;
mod clock;
mod compressions;
mod drugs;
mod ending;
pub mod hands;
mod pads;
mod patient;
mod prior;
mod rhythm;
mod second_dose;
mod setup;
mod shock;
mod special;
mod transfer;

#[cfg(test)]
mod tests;

use std::collections::BTreeSet;

use crate::event::Role;
use crate::prompt::{Action, Detail, Prompt};
use crate::protocol::Protocol;
use crate::state::{Mark, State};
use crate::view::{Hands, HandsOrder, Note, NoteKind, Phase, TargetLine};

pub use check::Check;
pub use drugs::{DrugDue, Waits};
pub(crate) use drugs::{antiarrhythmics_given, last_epinephrine};

/// How far a plan reaches.
pub const HORIZON_MS: i64 = 360_000;

/// A finished plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The hands line.
    pub hands: Hands,
    /// Every role's prompts within the horizon, soonest first.
    pub prompts: Vec<Prompt>,
    /// The next check, while one is planned.
    pub next_check: Option<Check>,
    /// When each drug is due next, as far as that is decided.
    pub drugs: Vec<DrugDue>,
    /// Sentences beside the tasks, each with the roles it is for, the gravest first.
    pub notes: Vec<(Role, Note)>,
    /// After return of circulation: the targets, and the readings against them.
    pub aftercare: Vec<TargetLine>,
    /// Moments after now at which something changes by itself.
    pub wakes_ms: BTreeSet<i64>,
}

impl Plan {
    /// Makes the plan for a moment.
    pub fn make(state: &State, protocol: &Protocol, now_ms: i64) -> Self {
        let hands = hands::order(state, protocol, now_ms);
        let mut planner = Planner::new(state, protocol, now_ms, hands);
        if state.phase != Phase::Closed {
            patient::protocol(&mut planner);
        }
        match state.phase {
            Phase::Arrest => {
                patient::weight(&mut planner);
                setup::arrest(&mut planner);
                compressions::plan(&mut planner);
                rhythm::plan(&mut planner);
                shock::plan(&mut planner);
                pads::plan(&mut planner);
                prior::plan(&mut planner);
                special::plan(&mut planner);
                drugs::plan(&mut planner);
                second_dose::plan(&mut planner);
                airway::plan(&mut planner);
                causes::plan(&mut planner);
                transfer::roles(&mut planner);
                transfer::flow(&mut planner);
                ending::plan(&mut planner);
                ending::declared(&mut planner);
            }
            Phase::Rosc => {
                shock::dump(&mut planner);
                transfer::roles(&mut planner);
                aftercare::plan(&mut planner);
                special::after_rosc(&mut planner);
                ending::declared(&mut planner);
            }
            Phase::Standby => patient::weight(&mut planner),
            Phase::Closed => {}
        }
        planner.finish()
    }
}

/// Where the duties put what they ask for.
struct Planner<'a> {
    state: &'a State,
    protocol: &'a Protocol,
    now_ms: i64,
    hands: Hands,
    next_check: Option<Check>,
    /// The check that has stopped compressions, until its look or the pause's limit.
    running_check: Option<Check>,
    drugs: Vec<DrugDue>,
    /// Tasks that come before epinephrine stand open: the latest of their times.
    before_epinephrine_ms: Option<i64>,
    prompts: Vec<Prompt>,
    notes: Vec<(Role, Note)>,
    aftercare: Vec<TargetLine>,
    wakes_ms: BTreeSet<i64>,
}

impl<'a> Planner<'a> {
    fn new(state: &'a State, protocol: &'a Protocol, now_ms: i64, hands: Hands) -> Self {
        let next_check = check::next(state, protocol);
        let mut planner = Self {
            state,
            protocol,
            now_ms,
            hands,
            next_check,
            running_check: check::running(state, protocol, now_ms),
            drugs: Vec::new(),
            before_epinephrine_ms: None,
            prompts: Vec::new(),
            notes: Vec::new(),
            aftercare: Vec::new(),
            wakes_ms: BTreeSet::new(),
        };
        if let Some(until_ms) = planner.hands.until_ms {
            planner.wake(until_ms);
        }
        if let Some(pause) = state.chest.pause {
            planner.wake(pause.stop.at_ms + protocol.cycle.pause_limit_s.ms());
        }
        planner
    }

    /// Says something beside the tasks to each of these roles.
    fn note(&mut self, roles: &[Role], kind: NoteKind, text: &str) {
        self.say(roles, &Note { kind, text: text.to_owned(), source: None });
    }

    /// Says something that rests on a value of the protocol: its source stands beside the sentence, never within it.
    fn note_from(&mut self, roles: &[Role], kind: NoteKind, text: &str, source: &str) {
        self.say(roles, &Note { kind, text: text.to_owned(), source: Some(source.to_owned()) });
    }

    fn say(&mut self, roles: &[Role], note: &Note) {
        self.notes.extend(roles.iter().map(|role| (*role, note.clone())));
    }

    /// Something changes by itself then.
    fn wake(&mut self, at_ms: i64) {
        if at_ms > self.now_ms {
            self.wakes_ms.insert(at_ms);
        }
    }

    /// Asks for something, unless somebody has ticked it.
    fn ask(&mut self, mut prompt: Prompt) {
        if self.state.ticked.contains(&prompt.key) {
            return;
        }
        // What touches the patient waits until hands are no longer clear.
        if let (HandsOrder::Clear, Some(until_ms)) = (self.hands.now, self.hands.until_ms)
            && prompt.action.touches_patient()
        {
            prompt.show_at_ms = prompt.show_at_ms.max(until_ms);
        }
        for at_ms in [Some(prompt.show_at_ms), Some(prompt.due_at_ms), prompt.late_at_ms].into_iter().flatten() {
            self.wake(at_ms);
        }
        if prompt.show_at_ms <= self.now_ms + HORIZON_MS {
            self.prompts.push(prompt);
        }
    }

    fn finish(mut self) -> Plan {
        let before_epinephrine_ms = self.before_epinephrine_ms.unwrap_or(i64::MIN);
        self.prompts.sort_by(|a, b| {
            let order = |prompt: &Prompt| {
                let earliest_ms = if drugs::is_epinephrine(prompt) { before_epinephrine_ms } else { i64::MIN };
                (prompt.due_at_ms.max(earliest_ms), drugs::rank(prompt), prompt.show_at_ms)
            };
            order(a).cmp(&order(b)).then_with(|| a.key.cmp(&b.key))
        });
        self.notes.sort_by_key(|(_, note)| note.kind);
        Plan {
            notes: self.notes,
            aftercare: self.aftercare,
            hands: self.hands,
            prompts: self.prompts,
            next_check: self.next_check,
            drugs: self.drugs,
            wakes_ms: self.wakes_ms,
        }
    }
}

/// A prompt with its times; its particulars are added by [`Asked`]'s methods.
fn asked(action: Action, roles: &[Role], anchor: Mark, show_at_ms: i64, due_at_ms: i64) -> Asked {
    Asked(Prompt {
        key: format!("{}@{}", action.as_str(), anchor.id),
        action,
        roles: roles.to_vec(),
        show_at_ms,
        due_at_ms,
        late_at_ms: None,
        detail: Detail::default(),
        done_by: action.done_by().iter().map(|kind| (*kind).to_owned()).collect(),
        assumed: false,
        why: String::new(),
        tap: None,
    })
}

/// A prompt on its way into the plan.
struct Asked(Prompt);

impl Asked {
    fn late(mut self, at_ms: i64) -> Self {
        self.0.late_at_ms = Some(at_ms);
        self
    }

    fn why(mut self, why: impl Into<String>) -> Self {
        self.0.why = why.into();
        self
    }

    fn assumed(mut self, assumed: bool) -> Self {
        self.0.assumed = assumed;
        self
    }

    fn detail(mut self, detail: Detail) -> Self {
        self.0.detail = detail;
        self
    }

    fn tap(mut self, event: crate::event::Event) -> Self {
        self.0.tap = Some(event);
        self
    }

    /// A further kind of event that does it.
    fn also_done_by(mut self, kind: &str) -> Self {
        if !self.0.done_by.iter().any(|known| known == kind) {
            self.0.done_by.push(kind.to_owned());
        }
        self
    }

    fn key(&self) -> &str {
        &self.0.key
    }

    fn due_ms(&self) -> i64 {
        self.0.due_at_ms
    }

    fn volume(&self) -> Option<crate::event::Dose> {
        self.0.detail.volume.clone()
    }

    /// Distinguishes prompts that hang on the same record.
    fn keyed(mut self, suffix: &str) -> Self {
        self.0.key = format!("{}:{suffix}", self.0.key);
        self
    }

    /// One tap ticks it: for prompts with no event of their own.
    fn ticked_by_tap(mut self) -> Self {
        self.0.tap = Some(crate::event::Event::TaskDone { prompt: self.0.key.clone() });
        self
    }

    fn put(self, planner: &mut Planner<'_>) {
        planner.ask(self.0);
    }
}

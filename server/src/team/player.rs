//! One player's mind: from the view on its screen to the taps of its hands. Pure: the time goes in, taps come out, and
//! so does the moment to look again.
//!
//! A player knows its screen, the scenario's patient as far as its role can see or feel it, and nothing else. It must
//! not plan: what comes next is the screen's to say.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

use coxswain_engine::event::{Event, Outcome, PauseReason, Pulse, Role};
use coxswain_engine::prompt::{Action, Prompt};
use coxswain_engine::view::{HandsOrder, Phase};

use super::act;
use super::scenario::{Look, Scenario};
use super::timing::{Response, response};
use crate::wire::ViewMessage;

/// A tap.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tap {
    /// What is recorded.
    pub(super) event: Event,
    /// In which role.
    pub(super) role: Role,
    /// The task it does, if it was asked for.
    pub(super) task: Option<Action>,
    /// It is tapped a second time by mistake, and that one is undone.
    pub(super) doubled: bool,
}

/// Counts, over the whole team, how often each task was asked, so that a slip hits its time whoever has the role.
#[derive(Debug, Default)]
pub(super) struct Askings {
    asked: Mutex<BTreeMap<Action, Vec<String>>>,
    forgotten: Mutex<BTreeMap<String, Action>>,
    checks: Mutex<BTreeSet<i64>>,
}

impl Askings {
    /// Which time this is that the task is asked, from 1.
    fn time(&self, prompt: &Prompt) -> u32 {
        let mut asked = self.asked.lock().unwrap_or_else(PoisonError::into_inner);
        let keys = asked.entry(prompt.action).or_default();
        let place = keys.iter().position(|key| *key == prompt.key).unwrap_or_else(|| {
            keys.push(prompt.key.clone());
            keys.len() - 1
        });
        u32::try_from(place + 1).unwrap_or(u32::MAX)
    }

    /// After a change-over another player sees the task that was forgotten, and does not do it either; it counts once.
    fn forget(&self, prompt: &Prompt) {
        let mut forgotten = self.forgotten.lock().unwrap_or_else(PoisonError::into_inner);
        forgotten.insert(prompt.key.clone(), prompt.action);
    }

    /// Tasks that the team saw and forgot.
    pub(super) fn forgotten(&self) -> Vec<Action> {
        let forgotten = self.forgotten.lock().unwrap_or_else(PoisonError::into_inner);
        forgotten.values().copied().collect()
    }
}

/// A task on the screen, since when, and how this player answers it.
#[derive(Debug, Clone, Copy)]
struct Asked {
    since_ms: i64,
    response: Response,
}

/// A player.
#[derive(Debug)]
pub(super) struct Player {
    scenario: Arc<Scenario>,
    askings: Arc<Askings>,
    asked: BTreeMap<String, Asked>,
    finished: BTreeSet<String>,
    access_failures: u32,
    etco2_reads: usize,
    airway_placed: bool,
    charge_ready_since_ms: Option<i64>,
    stopped_for_clear_ms: Option<i64>,
    rosc_since_ms: Option<i64>,
    came_back: bool,
    closed: bool,
}

/// When to look at the screen again, kept as the soonest of what was found.
struct Soonest(Option<i64>);

impl Soonest {
    /// Whether `at_ms` has come; if not, it is a moment to look again.
    fn reached(&mut self, at_ms: i64, now_ms: i64) -> bool {
        if at_ms > now_ms {
            self.0 = Some(self.0.map_or(at_ms, |soonest| soonest.min(at_ms)));
        }
        at_ms <= now_ms
    }
}

impl Player {
    pub(super) fn new(scenario: Arc<Scenario>, askings: Arc<Askings>) -> Self {
        Self {
            access_failures: scenario.work.access_failures,
            scenario,
            askings,
            asked: BTreeMap::new(),
            finished: BTreeSet::new(),
            etco2_reads: 0,
            airway_placed: false,
            charge_ready_since_ms: None,
            stopped_for_clear_ms: None,
            rosc_since_ms: None,
            came_back: false,
            closed: false,
        }
    }

    /// What the monitor shows, if a check has begun and no other player of the team has seen it yet.
    pub(super) fn first_to_see_a_check(&self, view: &ViewMessage) -> Option<Look> {
        let pause = view.view.pause.as_ref().filter(|pause| pause.reason == PauseReason::RhythmCheck)?;
        let mut checks = self.askings.checks.lock().unwrap_or_else(PoisonError::into_inner);
        checks.insert(pause.since_ms).then(|| self.patient_now(view)).flatten()
    }

    /// Looks at the screen: what is tapped now, and when to look again if nothing new comes.
    pub(super) fn look(&mut self, view: &ViewMessage, now_ms: i64) -> (Vec<Tap>, Option<i64>) {
        let mut soonest = Soonest(None);
        let mut taps = Vec::new();
        if view.view.phase == Phase::Closed || view.epoch_ms.is_none() {
            return (taps, None);
        }
        for prompt in &view.view.prompts {
            let Some(role) = doer(prompt, view) else { continue };
            if self.finished.contains(&prompt.key) || !soonest.reached(prompt.show_at_ms, now_ms) {
                continue;
            }
            if let Some(tap) = self.answer(prompt, role, view, now_ms, &mut soonest) {
                taps.push(tap);
            }
        }
        self.on_own_account(view, now_ms, &mut soonest, &mut taps);
        (taps, soonest.0)
    }

    fn answer(
        &mut self,
        prompt: &Prompt,
        role: Role,
        view: &ViewMessage,
        now_ms: i64,
        soonest: &mut Soonest,
    ) -> Option<Tap> {
        // A drug that waits for a shock or a look is on the screen to be known, not to be given; drawn up it may be.
        let waits = prompt.detail.waits_for.is_some() && prompt.action == Action::GiveDrug;
        if waits || !act::can_be_done(prompt.action) {
            return None;
        }
        let asked = *self.asked.entry(prompt.key.clone()).or_insert_with(|| Asked {
            since_ms: now_ms.max(prompt.show_at_ms),
            response: response(&self.scenario, role, prompt.action, self.askings.time(prompt)),
        });
        if asked.response.forgotten {
            self.finished.insert(prompt.key.clone());
            self.askings.forget(prompt);
            return None;
        }
        let at_ms = act::moment(prompt, asked.since_ms, asked.response, view, &self.scenario)?;
        if !soonest.reached(at_ms, now_ms) {
            return None;
        }
        let event = self.deed(prompt, view, now_ms)?;
        if matches!(event, Event::AccessFailed { .. }) {
            // The next try takes its time; the task stays.
            self.asked.insert(prompt.key.clone(), Asked { since_ms: now_ms + act::NEXT_TRY_MS, ..asked });
            soonest.reached(now_ms + act::NEXT_TRY_MS, now_ms);
        } else {
            self.finished.insert(prompt.key.clone());
        }
        Some(Tap { event, role, task: Some(prompt.action), doubled: asked.response.doubled })
    }

    /// The look that monitor and finger give now.
    fn patient_now(&self, view: &ViewMessage) -> Option<Look> {
        let looks = &self.scenario.patient.looks;
        looks.get(view.view.counts.looks as usize).or(looks.last()).copied()
    }

    fn deed(&mut self, prompt: &Prompt, view: &ViewMessage, now_ms: i64) -> Option<Event> {
        match prompt.action {
            Action::ReadRhythm => {
                let Look { rhythm, mut pulse } = self.patient_now(view)?;
                // Asked a second time within a check, the finger answers.
                if prompt.detail.of.is_some() && pulse == Pulse::NotChecked {
                    pulse = Pulse::Absent;
                }
                Some(Event::RhythmChecked { rhythm, pulse })
            }
            Action::GainAccess => {
                let route = self.scenario.work.access_route;
                if self.access_failures > 0 {
                    self.access_failures -= 1;
                    return Some(Event::AccessFailed { route, site: None });
                }
                Some(Event::AccessGained { route, site: None })
            }
            Action::ReadEtco2 => {
                let readings = &self.scenario.patient.etco2_mmhg;
                let mmhg = readings.get(self.etco2_reads).or(readings.last()).copied()?;
                self.etco2_reads += 1;
                Some(Event::Etco2Read { mmhg })
            }
            _ => act::event(prompt, view, &self.scenario, now_ms),
        }
    }

    /// What nobody is asked for in so many words, but any trained hand does.
    fn on_own_account(&mut self, view: &ViewMessage, now_ms: i64, soonest: &mut Soonest, taps: &mut Vec<Tap>) {
        let scenario = Arc::clone(&self.scenario);
        let work = &scenario.work;
        let hands = &view.view.hands;
        let quick_ms = |role| (scenario.reaction_s.ms(role) / 4.0) as i64;
        let mut tap = |role, event| taps.push(Tap { event, role, task: None, doubled: false });

        // "All clear" takes the hands off the chest; the stop is tapped.
        let by_hand = hands.observed.by != Some(coxswain_engine::event::CompressedBy::Mechanical);
        if holds(view, Role::Compressor) && hands.now == HandsOrder::Clear && hands.observed.compressing && by_hand {
            let fresh = self.stopped_for_clear_ms != Some(hands.since_ms);
            if fresh && soonest.reached(hands.since_ms + quick_ms(Role::Compressor), now_ms) {
                self.stopped_for_clear_ms = Some(hands.since_ms);
                tap(Role::Compressor, Event::CompressionsStopped { reason: PauseReason::Shock });
            }
        }
        // The defibrillator beeps when it is charged.
        if let Some(charge) = view.view.charge.as_ref().filter(|_| holds(view, Role::Defibrillator)) {
            let fresh = self.charge_ready_since_ms != Some(charge.since_ms);
            if fresh && soonest.reached(charge.since_ms + act::ms(work.charge_s), now_ms) {
                self.charge_ready_since_ms = Some(charge.since_ms);
                tap(Role::Defibrillator, Event::ChargeReady { energy_j: charge.energy_j });
            }
        }
        if let Some(airway) = work.airway.filter(|_| holds(view, Role::Airway) && !self.airway_placed) {
            let possible = view.view.phase == Phase::Arrest && hands.now == HandsOrder::Compress;
            if possible && soonest.reached(act::ms(work.airway_s), now_ms) {
                self.airway_placed = true;
                tap(Role::Airway, Event::AirwayPlaced { airway, confirmed_by_capnography: Some(true) });
            }
        }
        if holds(view, Role::Leader)
            && let Some(event) = self.lead(view, now_ms, soonest)
        {
            tap(Role::Leader, event);
        }
    }

    /// The leader's own decisions: the arrest is back, the code is over.
    fn lead(&mut self, view: &ViewMessage, now_ms: i64, soonest: &mut Soonest) -> Option<Event> {
        let work = &self.scenario.work;
        if view.view.phase != Phase::Rosc {
            self.rosc_since_ms = None;
            let calm = view.view.phase == Phase::Arrest && view.view.pause.is_none();
            if calm && !self.closed && soonest.reached(act::ms(work.stop_s), now_ms) {
                self.closed = true;
                return Some(Event::CodeClosed { outcome: work.outcome_without_rosc, cpr_ongoing: Some(false) });
            }
            return None;
        }
        let since_ms = *self.rosc_since_ms.get_or_insert(view.view.hands.since_ms);
        if let Some(after_s) = work.arrest_again_after_rosc_s.filter(|_| !self.came_back) {
            if soonest.reached(since_ms + act::ms(after_s), now_ms) {
                self.came_back = true;
                return Some(Event::ArrestAgain {});
            }
            return None;
        }
        if !self.closed && soonest.reached(since_ms + act::ms(work.close_after_rosc_s), now_ms) {
            self.closed = true;
            return Some(Event::CodeClosed { outcome: Outcome::SurvivedEvent, cpr_ongoing: None });
        }
        None
    }
}

/// Whether this screen has the role, or has to stand in for it because nobody holds it.
fn holds(view: &ViewMessage, role: Role) -> bool {
    view.roles.contains(&role) || (view.roles.contains(&Role::Leader) && view.unheld.contains(&role))
}

/// In which role this screen has to act on a prompt. A prompt for several roles is the first one's to do.
fn doer(prompt: &Prompt, view: &ViewMessage) -> Option<Role> {
    prompt.roles.first().copied().filter(|&role| holds(view, role))
}

#[cfg(test)]
#[path = "player_tests.rs"]
mod tests;

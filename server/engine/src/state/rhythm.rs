//! Looks at the rhythm, shocks and charges, as recorded, and what a look means.

use crate::event::{AgeGroup, Event, PauseReason, Pulse, Rhythm};
use crate::protocol::Protocol;
use crate::timeline::Fact;

use super::{Chest, Mark};

/// What a look at the rhythm means for the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// A shock is wanted.
    Shockable,
    /// Compress; drugs by the rule for rhythms that no shock treats.
    NotShockable,
    /// Perhaps circulation has returned: the leader says.
    PulsePresent,
    /// An organised rhythm, and nobody has felt for the pulse.
    PulseUnknown,
    /// A pulse with ventricular fibrillation cannot be: look again.
    Contradiction,
    /// Nothing could be read: compress, nothing new.
    Unreadable,
}

impl Meaning {
    /// Reads a look. A slow rhythm in a child stays an arrest whatever the finger feels.
    pub const fn of(rhythm: Rhythm, pulse: Pulse, age_group: AgeGroup) -> Self {
        match (rhythm, pulse) {
            (Rhythm::Vf | Rhythm::PulselessVt, Pulse::Present) => Self::Contradiction,
            (Rhythm::Vf | Rhythm::PulselessVt, Pulse::Absent | Pulse::NotChecked) => Self::Shockable,
            (Rhythm::Unknown, Pulse::Present) => Self::PulsePresent,
            (Rhythm::Unknown, Pulse::Absent | Pulse::NotChecked) => Self::Unreadable,
            (Rhythm::Bradycardia, _) if matches!(age_group, AgeGroup::Child | AgeGroup::Infant) => Self::NotShockable,
            (Rhythm::Pea | Rhythm::Asystole | Rhythm::Bradycardia | Rhythm::Perfusing, Pulse::Present) => {
                Self::PulsePresent
            }
            (Rhythm::Bradycardia | Rhythm::Perfusing, Pulse::NotChecked) => Self::PulseUnknown,
            (Rhythm::Pea | Rhythm::Asystole, Pulse::Absent | Pulse::NotChecked)
            | (Rhythm::Bradycardia | Rhythm::Perfusing, Pulse::Absent) => Self::NotShockable,
        }
    }

    /// Whether hands stay off to the pause's limit after this look.
    pub const fn keeps_pause(self) -> bool {
        match self {
            Self::PulsePresent | Self::PulseUnknown | Self::Contradiction => true,
            Self::Shockable | Self::NotShockable | Self::Unreadable => false,
        }
    }
}

/// A look at the rhythm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// When, and by which record.
    pub mark: Mark,
    /// When it was corrected, if it was.
    pub amended_ms: Option<i64>,
    /// The rhythm seen.
    pub rhythm: Rhythm,
    /// The pulse felt.
    pub pulse: Pulse,
    /// What it means.
    pub meaning: Meaning,
    /// Since when looks in a row have been known as shockable, if this one is: a correction counts from when it was made.
    pub shockable_since_ms: Option<i64>,
    /// Since when looks in a row have shown this rhythm.
    pub rhythm_since_ms: i64,
}

/// A shock given here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shock {
    /// When, and by which record.
    pub mark: Mark,
    /// Its number among the shocks given here, each shock of a stack counted.
    pub number: u32,
    /// Its number among the shocks given here, a quick stack counted as one.
    pub stack_number: u32,
    /// Within the arrest that runs.
    pub in_this_arrest: bool,
}

/// A charge that nothing has used up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charge {
    /// When charging began, and by which record.
    pub mark: Mark,
    /// When it is ready: as recorded, else as the protocol expects.
    pub ready_ms: i64,
    /// Its energy in joules, if recorded.
    pub energy_j: Option<f64>,
    /// A look since then whose rhythm no shock treats, or ROSC: the charge is not wanted.
    pub unwanted: Option<Mark>,
}

/// What made hands clear.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClearCause {
    /// "All clear" was called.
    Called,
    /// Compressions stopped for the shock.
    Stopped,
    /// A shockable look with a charge ready and hands already off.
    Look,
}

/// Hands are clear since this record, until something recorded ends it or its time is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClearCall {
    /// The record.
    pub mark: Mark,
    /// Why.
    pub cause: ClearCause,
}

/// Looks, shocks and charges.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Rhythms {
    /// All looks here.
    pub looks: u32,
    /// The latest look of this arrest.
    pub look: Option<Look>,
    /// The first look of this arrest that no shock treats.
    pub first_not_shockable: Option<Look>,
    /// The first look, of the whole code, at a rhythm that a shock treats.
    pub first_shockable_ms: Option<i64>,
    /// All shocks here.
    pub shocks: Vec<Shock>,
    /// Shocks before arrival.
    pub prior_shocks: u32,
    /// The look that wants a shock, while it does.
    pub shock_wanted: Option<Mark>,
    /// A look that leaves a question (a pulse, none felt, or one that cannot be) until compressions go on.
    pub question: Option<Look>,
    /// The charge, while it is held.
    pub charge: Option<Charge>,
    /// "All clear" was called and nothing has ended it.
    pub all_clear: Option<Mark>,
    /// Hands are clear.
    pub clear: Option<ClearCall>,
    /// A circumstance allows no further shock: none is wanted, whatever the rhythm.
    pub limited: bool,
    stack: Option<(String, u32)>,
    /// The open stack's last shock has been followed by a look.
    looked_in_stack: bool,
    /// Circulation returned after the latest look.
    rosc_since_look: bool,
}

impl Rhythms {
    /// Shocks so far, prior care included, each shock of a stack counted.
    pub fn shock_count(&self) -> u32 {
        self.prior_shocks.saturating_add(self.shocks.last().map_or(0, |shock| shock.number))
    }

    /// Shocks so far with a stack counted as one.
    pub fn stack_count(&self) -> u32 {
        self.prior_shocks.saturating_add(self.shocks.last().map_or(0, |shock| shock.stack_number))
    }

    /// Whether only an open stack wants the next shock: no look since its last one does.
    pub(super) fn stack_alone_wants(&self) -> bool {
        self.stack.is_some() && !self.looked_in_stack
    }

    /// The open stack: its id, and how many of its shocks were given.
    pub fn open_stack(&self) -> Option<(&str, u32)> {
        self.stack.as_ref().map(|(id, shocks)| (id.as_str(), *shocks))
    }

    /// A look since circulation last returned, or on standby, holds for the arrest that begins.
    pub(super) fn begin_arrest(&mut self) {
        self.look = self.look.filter(|_| !self.rosc_since_look);
        self.first_not_shockable = self.look.filter(|look| look.meaning == Meaning::NotShockable);
        for shock in &mut self.shocks {
            shock.in_this_arrest = false;
        }
        let shock_wanted = self.shock_wanted;
        self.end_arrest();
        self.shock_wanted = shock_wanted;
    }

    /// A look corrected to one that no shock treats takes back the call for all clear that was made on it.
    pub(super) fn withdraw_after_correction(&mut self) {
        let Some(look) = self.look.filter(|look| look.meaning != Meaning::Shockable) else { return };
        if let (Some(amended_ms), Some(clear)) = (look.amended_ms, self.clear)
            && amended_ms >= clear.mark.at_ms
        {
            self.clear = None;
            self.all_clear = None;
        }
    }

    /// A call for all clear that nothing ended is over at its limit: what comes after needs a call of its own.
    fn expire_clear(&mut self, fact: &Fact<'_>, protocol: &Protocol) {
        let moves_on = matches!(
            fact.event,
            Event::CompressionsStopped { .. } | Event::RhythmChecked { .. } | Event::ChargingStarted { .. }
        );
        let over = self.clear.is_some_and(|clear| clear.mark.at_ms + protocol.cycle.clear_limit_s.ms() <= fact.at_ms);
        if moves_on && over {
            self.clear = None;
            self.all_clear = None;
        }
    }

    pub(super) fn end_arrest(&mut self) {
        self.shock_wanted = None;
        self.question = None;
        self.all_clear = None;
        self.clear = None;
        self.stack = None;
    }

    /// Circulation has returned: what is charged is not wanted.
    pub(super) fn rosc(&mut self, mark: Mark) {
        self.end_arrest();
        self.rosc_since_look = true;
        if let Some(charge) = &mut self.charge {
            charge.unwanted.get_or_insert(mark);
        }
    }

    /// The charge and the call are gone; whether a shock is wanted stays.
    pub(super) fn disarm(&mut self) {
        self.charge = None;
        self.all_clear = None;
        self.clear = None;
    }

    /// No further shock is allowed: takes back the want, if there is one, and says whether there was. A call for all clear
    /// stands until the charge is dumped or its time is over: hands must not return to a charge about to be given.
    pub(super) fn want_no_shock(&mut self, mark: Mark) -> bool {
        if let Some(charge) = &mut self.charge {
            charge.unwanted.get_or_insert(mark);
        }
        self.stack = None;
        self.shock_wanted.take().is_some()
    }

    fn settle(&mut self) {
        self.shock_wanted = None;
        self.stack = None;
        self.disarm();
    }

    pub(super) fn apply(&mut self, fact: &Fact<'_>, chest: &Chest, age_group: AgeGroup, protocol: &Protocol) {
        let mark = Mark::of(fact);
        self.expire_clear(fact, protocol);
        match fact.event {
            Event::RhythmChecked { rhythm, pulse } => self.look_at(fact, *rhythm, *pulse, chest, age_group, protocol),
            Event::ChargingStarted { energy_j } => {
                self.charge = Some(Charge {
                    mark,
                    ready_ms: fact.at_ms + protocol.shock.charge_s.ms(),
                    energy_j: *energy_j,
                    unwanted: None,
                });
                // A new charge wants a new "all clear"; a recorded stop stands for itself.
                self.all_clear = None;
                if chest.pause.is_none() {
                    self.clear = None;
                }
            }
            Event::ChargeReady { energy_j } => {
                let held = self.charge;
                self.charge = Some(Charge {
                    mark: held.map_or(mark, |charge| charge.mark),
                    ready_ms: fact.at_ms,
                    energy_j: energy_j.or(held.and_then(|charge| charge.energy_j)),
                    unwanted: held.and_then(|charge| charge.unwanted),
                });
            }
            Event::AllClearCalled {} => {
                self.all_clear = Some(mark);
                self.clear = Some(ClearCall { mark, cause: ClearCause::Called });
            }
            Event::PauseReason { .. } if chest.pause.is_none() => {}
            Event::CompressionsStopped { reason: PauseReason::Shock }
            | Event::PauseReason { reason: PauseReason::Shock } => {
                self.clear = Some(ClearCall { mark, cause: ClearCause::Stopped });
            }
            Event::CompressionsStarted { .. } => {
                self.all_clear = None;
                self.clear = None;
                self.question = None;
                // Compressions after a shock of a stack end the stack, but never what a look since then has found.
                if self.stack_alone_wants() {
                    self.shock_wanted = None;
                }
                self.stack = None;
            }
            Event::ShockDelivered { stack_id, .. } => self.shock(mark, stack_id.as_ref(), protocol),
            // A charge dumped on a look that was corrected later says nothing of the look as corrected.
            Event::ChargeDumped { .. }
                if self.look.and_then(|look| look.amended_ms).is_some_and(|amended_ms| amended_ms > fact.at_ms) =>
            {
                self.disarm();
            }
            Event::ShockAborted { .. } | Event::ChargeDumped { .. } => self.settle(),
            _ => {}
        }
    }

    fn look_at(
        &mut self,
        fact: &Fact<'_>,
        rhythm: Rhythm,
        pulse: Pulse,
        chest: &Chest,
        age_group: AgeGroup,
        protocol: &Protocol,
    ) {
        let mark = Mark::of(fact);
        let meaning = Meaning::of(rhythm, pulse, age_group);
        // A correction that leaves the meaning as it was leaves every time as it was.
        let meant_otherwise = match fact.recorded {
            Event::RhythmChecked { rhythm, pulse } => Meaning::of(*rhythm, *pulse, age_group) != meaning,
            _ => true,
        };
        let shockable = meaning == Meaning::Shockable;
        let amended_ms = fact.amended_ms.filter(|_| meant_otherwise);
        // What a look came to mean by a correction holds since the correction, also for the looks that follow it.
        let since = self.look.and_then(|look| look.shockable_since_ms).unwrap_or(fact.at_ms);
        let since = amended_ms.map_or(since, |amended_ms| since.max(amended_ms));
        let same = self.look.filter(|look| look.rhythm == rhythm);
        let look = Look {
            mark,
            rhythm_since_ms: same.map_or(fact.at_ms, |look| look.rhythm_since_ms),
            amended_ms,
            rhythm,
            pulse,
            meaning,
            shockable_since_ms: shockable.then_some(since),
        };
        self.looks += 1;
        if shockable {
            self.first_shockable_ms.get_or_insert(fact.at_ms);
        }
        self.look = Some(look);
        self.question = meaning.keeps_pause().then_some(look);
        let wanted = shockable && !self.limited;
        // A look between the shocks of a stack, with no compressions since, goes on with it.
        self.stack = self.stack.take().filter(|_| wanted);
        self.looked_in_stack = true;
        self.rosc_since_look = false;
        self.shock_wanted = wanted.then_some(mark);
        if meaning == Meaning::NotShockable {
            self.first_not_shockable.get_or_insert(look);
        }
        if let Some(charge) = &mut self.charge {
            if rhythm.is_shockable() && !self.limited {
                charge.unwanted = None;
            } else {
                charge.unwanted.get_or_insert(mark);
            }
        }
        let hold_ms = protocol.shock.charge_hold_s.ms();
        let ready =
            self.charge.is_some_and(|charge| charge.ready_ms <= fact.at_ms && fact.at_ms < charge.mark.at_ms + hold_ms);
        if !wanted {
            self.clear = None;
            self.all_clear = None;
        } else if ready && chest.pause.is_some() {
            self.clear = Some(ClearCall { mark, cause: ClearCause::Look });
        }
    }

    fn shock(&mut self, mark: Mark, stack_id: Option<&String>, protocol: &Protocol) {
        let most = protocol.shock.stack.as_ref().map_or(MAX_STACK, |stack| stack.max.value);
        let same_stack = stack_id.is_some() && self.stack.as_ref().map(|(id, _)| id) == stack_id;
        self.shocks.push(Shock {
            mark,
            number: self.shocks.last().map_or(0, |shock| shock.number) + 1,
            stack_number: self.shocks.last().map_or(0, |shock| shock.stack_number) + u32::from(!same_stack),
            in_this_arrest: true,
        });
        self.disarm();
        self.looked_in_stack = false;
        match stack_id {
            None => {
                self.stack = None;
                self.shock_wanted = None;
            }
            Some(id) => {
                let shocks = if same_stack { self.stack.as_ref().map_or(0, |(_, shocks)| *shocks) + 1 } else { 1 };
                self.stack = (shocks < most).then(|| (id.clone(), shocks));
                if shocks >= most {
                    self.shock_wanted = None;
                }
            }
        }
    }
}

/// A recorded stack has at most three shocks where the protocol knows none (A26).
const MAX_STACK: u32 = 3;

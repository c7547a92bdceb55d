//! The chest: whether compressions run, and the pause if they do not, as recorded.

use crate::event::{CompressedBy, Event, PauseReason};
use crate::protocol::Protocol;
use crate::timeline::Fact;

use super::{Mark, Rhythms};

/// Compressions that run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Compressing {
    /// Since when; the arrest's start if they ran before it.
    pub since_ms: i64,
    /// By hand or by a device.
    pub by: CompressedBy,
}

/// A recorded stop that no start has ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pause {
    /// The stop that began it.
    pub stop: Mark,
    /// Its reason when it began.
    pub opened_as: PauseReason,
    /// What it is for now.
    pub reason: PauseReason,
    /// The stop for a rhythm check within it; absent if there was none.
    pub check: Option<Mark>,
    /// Whether a look or a shock fell into it.
    pub held_look_or_shock: bool,
    /// The latest look, shock or end of a shock within it: what gives the hands back.
    pub settled_ms: Option<i64>,
}

/// The chest as recorded.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Chest {
    /// Running compressions, if they run.
    pub compressing: Option<Compressing>,
    /// The running pause, if there is one.
    pub pause: Option<Pause>,
    /// The latest start, whether or not it changed anything.
    pub last_start: Option<Mark>,
    /// Whether compressions ever ran in this arrest.
    pub started_in_arrest: bool,
    /// When the present compressor began, or the arrest's first compressions.
    pub compressor_since_ms: Option<i64>,
    /// The latest change of compressor.
    pub changed: Option<Mark>,
    /// When the last compressions ended.
    pub stopped_ms: Option<i64>,
    /// By hand or by a device, whatever ran last.
    pub last_by: Option<CompressedBy>,
}

impl Chest {
    /// Whether a device compresses, or did when compressions last ran.
    pub fn is_mechanical(&self) -> bool {
        self.last_by == Some(CompressedBy::Mechanical)
    }

    pub(super) fn begin_arrest(&mut self, at_ms: i64) {
        self.pause = None;
        self.started_in_arrest = self.compressing.is_some();
        self.compressor_since_ms = self.compressing.map(|_| at_ms);
        if let Some(running) = &mut self.compressing {
            running.since_ms = at_ms;
        }
    }

    /// Whether a stop begins a pause of its own: none is open, or the open one is over and its restart went unrecorded.
    pub(super) fn opens_pause(&self, at_ms: i64, reason: PauseReason, protocol: &Protocol) -> bool {
        self.pause.is_none_or(|pause| {
            let past_limit = at_ms >= pause.stop.at_ms + protocol.cycle.pause_limit_s.ms();
            past_limit || (pause.settled_ms.is_some() && reason != PauseReason::Shock)
        })
    }

    /// Hands belong back on the chest, whatever the pause was for.
    pub(super) fn give_back(&mut self) {
        if let Some(pause) = &mut self.pause {
            pause.settled_ms.get_or_insert(pause.stop.at_ms);
        }
    }

    pub(super) fn end(&mut self) {
        self.compressing = None;
        self.pause = None;
    }

    /// Takes a fact, with the rhythm as it was before it.
    pub(super) fn apply(&mut self, fact: &Fact<'_>, rhythms: &Rhythms, protocol: &Protocol) {
        match fact.event {
            Event::CompressionsStarted { by } => {
                self.last_start = Some(Mark::of(fact));
                self.pause = None;
                self.started_in_arrest = true;
                // Hands that take over from a device begin a spell of their own.
                if self.is_mechanical() && *by == CompressedBy::Manual {
                    self.compressor_since_ms = Some(fact.at_ms);
                }
                self.last_by = Some(*by);
                self.compressor_since_ms.get_or_insert(fact.at_ms);
                match &mut self.compressing {
                    // A second start in a row moves nothing, but a device may take over from hands without a pause.
                    Some(running) => running.by = *by,
                    None => self.compressing = Some(Compressing { since_ms: fact.at_ms, by: *by }),
                }
            }
            Event::CompressionsStopped { reason } => {
                let check = (*reason == PauseReason::RhythmCheck).then(|| Mark::of(fact));
                if self.opens_pause(fact.at_ms, *reason, protocol) {
                    self.pause = Some(Pause {
                        stop: Mark::of(fact),
                        opened_as: *reason,
                        reason: *reason,
                        check,
                        held_look_or_shock: false,
                        settled_ms: None,
                    });
                } else if let Some(pause) = &mut self.pause {
                    // A second stop in a row moves nothing; it may still say that this is a check now.
                    pause.check = pause.check.or(check);
                }
                if self.compressing.take().is_some() {
                    self.stopped_ms = Some(fact.at_ms);
                }
            }
            Event::PauseReason { reason } => {
                if let Some(pause) = &mut self.pause {
                    pause.reason = *reason;
                }
            }
            Event::CompressorChanged { .. } => {
                self.changed = Some(Mark::of(fact));
                self.compressor_since_ms = Some(fact.at_ms);
            }
            Event::RhythmChecked { .. } | Event::ShockDelivered { .. } => {
                if let Some(pause) = &mut self.pause {
                    pause.settled_ms = Some(fact.at_ms);
                    pause.held_look_or_shock = true;
                }
            }
            // The end of a shock gives the hands back; a charge dumped in any other pause has nothing to do with them.
            Event::ShockAborted { .. } | Event::ChargeDumped { .. }
                if rhythms.clear.is_some() || rhythms.shock_wanted.is_some() =>
            {
                if let Some(pause) = &mut self.pause {
                    pause.settled_ms = Some(fact.at_ms);
                }
            }
            _ => {}
        }
    }
}

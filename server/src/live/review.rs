//! What reviewers append to a code that is over. It goes through the room as everything else does, so that nobody writes a
//! chain beside it; and only onto the chain that the reviewer saw.

use std::sync::Arc;

use coxswain_engine::check::FARTHEST_MS;
use coxswain_engine::record::{Author, Record, Source};
use coxswain_engine::view::Phase;
use tokio::sync::oneshot;
use uuid::Uuid;

use super::hub::Hub;
use super::room::{Control, Known, Room};
use crate::clock;
use crate::ledger::chain::Hash;
use crate::ledger::{Append, Job, LedgerError};
use crate::review::desk::Draft;

/// Records that a reviewer appends, all of them or none.
#[derive(Debug)]
pub struct Reviewed {
    /// The account, as an author.
    pub by: Author,
    /// The head that the reviewer saw.
    pub head: Hash,
    /// What to append.
    pub drafts: Vec<Draft>,
    /// Told what became of it; `Ok` before it is on disk.
    pub reply: oneshot::Sender<Result<(), NotAppended>>,
}

/// Why nothing was appended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotAppended {
    /// There is no such code.
    Unknown,
    /// The chain is another one than the reviewer saw.
    ChangedMeanwhile,
    /// The code runs.
    Running,
    /// The code would run again.
    WouldReopen,
    /// A bug.
    Fault,
}

impl Room {
    /// Appends what a reviewer made, if the chain is still the one that it was made for.
    pub(super) fn review(&mut self, reviewed: Reviewed) {
        let Reviewed { by, head, drafts, reply } = reviewed;
        let outcome = self.append_reviewed(&by, &head, drafts);
        // Whoever asked may have gone; what was appended stands.
        let _ = reply.send(outcome);
    }

    fn append_reviewed(&mut self, by: &Author, head: &Hash, drafts: Vec<Draft>) -> Result<(), NotAppended> {
        if !self.is_closed() {
            return Err(NotAppended::Running);
        }
        if self.durable_seq != self.taken || self.head != *head {
            return Err(NotAppended::ChangedMeanwhile);
        }
        let now_ms = self.now_ms();
        let known_ms = now_ms.min(FARTHEST_MS);
        let recorded_at = clock::wall_text();
        let made: Vec<Record> = drafts
            .into_iter()
            .zip(self.next_seq()..)
            .map(|(draft, seq)| Record {
                seq,
                id: draft.id,
                code: self.id(),
                at_ms: draft.at_ms.unwrap_or(known_ms),
                received_ms: Some(known_ms),
                recorded_at: recorded_at.clone(),
                by: by.clone(),
                source: Source::Review,
                event: draft.event,
            })
            .collect();
        let before = self.records.len();
        self.records.extend(made.iter().cloned());
        let built = self.build(now_ms);
        let problem = match &built {
            None => Some(NotAppended::Fault),
            // Days after, devices must not be called back to a code by a correction.
            Some(built) if built.phase() != Phase::Closed => Some(NotAppended::WouldReopen),
            Some(_) => None,
        };
        let Some(built) = built.filter(|_| problem.is_none()) else {
            self.records.truncate(before);
            return Err(problem.unwrap_or(NotAppended::Fault));
        };
        for (index, record) in made.iter().enumerate() {
            self.known.insert(record.id, Known { index: before + index, claimed_ms: None, seq: None });
        }
        self.taken += made.len() as u64;
        self.hub().writer.write(Job::Append(Box::new(Append {
            code: self.place,
            records: made,
            epoch_ms: self.epoch_ms,
            closed: true,
            durable: self.durable.clone(),
        })));
        self.show(built, None);
        Ok(())
    }
}

impl Hub {
    /// Appends what a reviewer made to a code, and waits until it is on disk.
    ///
    /// # Errors
    /// Why nothing was appended.
    pub async fn review(
        self: &Arc<Self>,
        code: Uuid,
        by: &Author,
        head: Hash,
        drafts: &[Draft],
    ) -> Result<Result<(), NotAppended>, LedgerError> {
        // A room that is over may leave memory at the very moment; then the next one is asked.
        for _ in 0..3 {
            let Some(room) = self.room(code).await? else { return Ok(Err(NotAppended::Unknown)) };
            let (reply, told) = oneshot::channel();
            let reviewed = Reviewed { by: by.clone(), head, drafts: drafts.to_vec(), reply };
            let _ = room.control.send(Control::Review(Box::new(reviewed)));
            if let Ok(outcome) = told.await {
                if outcome.is_ok() {
                    self.writer.flush().await;
                }
                return Ok(outcome);
            }
        }
        Ok(Err(NotAppended::Fault))
    }
}

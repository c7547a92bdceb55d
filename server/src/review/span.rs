//! When a code began and ended, by its record: no correction may let it end before it began. Nothing counts after a closing,
//! so such a code would have no facts at all, and figures of nothing.

use coxswain_engine::event::{Event, FieldError};
use coxswain_engine::record::Record;
use coxswain_engine::timeline;

use super::wire::Change;

/// Code times of a code's ends, as corrected.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Span {
    opened_ms: Option<i64>,
    started_ms: Option<i64>,
    closed_ms: Option<i64>,
}

impl Span {
    fn of(records: &[Record]) -> Self {
        let closed = timeline::facts(records).facts.last().map(|fact| (fact.at_ms, fact.event));
        let closed_ms = closed.filter(|(_, event)| matches!(event, Event::CodeClosed { .. })).map(|(at_ms, _)| at_ms);
        // Facts end with the closing; those beyond it are looked at here, too.
        let others = records.iter().filter(|record| !matches!(record.event, Event::CodeClosed { .. }));
        let others: Vec<Record> = others.cloned().collect();
        let facts = timeline::facts(&others).facts;
        let first = |is: fn(&Event) -> bool| facts.iter().find(|fact| is(fact.event)).map(|fact| fact.at_ms);
        Self {
            opened_ms: first(|event| matches!(event, Event::CodeOpened { .. })),
            started_ms: first(|event| matches!(event, Event::ClockStarted { .. })),
            closed_ms,
        }
    }

    /// What is wrong with it, said of its end or of its beginning.
    fn problem(self, of_end: bool) -> Option<String> {
        let closed_ms = self.closed_ms?;
        let (what, began_ms) = [("the clock was started", self.started_ms), ("it was opened", self.opened_ms)]
            .into_iter()
            .find_map(|(what, at_ms)| at_ms.filter(|at_ms| *at_ms > closed_ms).map(|at_ms| (what, at_ms)))?;
        Some(if of_end {
            format!("the code cannot end before it began: {what} at {began_ms} ms")
        } else {
            format!(
                "the code cannot begin after it ended: with this {what} at {began_ms} ms, and it was closed at {closed_ms} ms"
            )
        })
    }
}

/// Holds a change to that. A record that is out of order already is not made worse by a change of something else.
///
/// # Errors
/// Names the field.
pub fn holds(before: &[Record], after: &[Record], change: &Change) -> Result<(), FieldError> {
    let (old, new) = (Span::of(before), Span::of(after));
    if old == new {
        return Ok(());
    }
    let of_end = old.closed_ms != new.closed_ms;
    let Some(problem) = new.problem(of_end) else { return Ok(()) };
    let field = match change {
        Change::Amend { at_ms: Some(_), .. } => "change.at_ms",
        Change::Amend { .. } => "change.event",
        Change::Void { .. } => "change.target",
        _ => "change",
    };
    Err(FieldError::new(field, problem))
}

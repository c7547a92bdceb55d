//! Makes the line of a code from its records, and keeps every line as its code is: the list and the trends read lines only.

use std::sync::{Arc, Weak};
use std::time::Duration;

use coxswain_engine::event::{AgeGroup, Event};
use coxswain_engine::measure::targets::{Target, targets};
use coxswain_engine::measure::{self, Figures, measure};
use coxswain_engine::timeline;
use tokio::sync::oneshot;
use uuid::Uuid;

use super::prompts::{deeds, followed};
use super::reading::{Reading, standing};
use super::summary::{CodeLine, LineFigures, SHAPE, Share};
use super::wire::PromptDeed;
use crate::ledger::chain;
use crate::ledger::{Job, LineRow, ReviewWrite};
use crate::live::Hub;

/// Lines that a request makes while somebody waits; the rest are made beside.
pub const WHILE_ASKED: i64 = 40;
/// Lines that are made at a stretch beside the rooms.
const AT_A_STRETCH: i64 = 100;
/// How often it is looked whether lines are to be made.
const PAUSE: Duration = Duration::from_secs(2);
/// Running codes get a fresh line at each of so many looks: each of their records makes it stale.
const RUNNING_EACH: u32 = 15;

/// Names the definitions that make a line: another name, and every line is made anew.
pub fn made_by() -> String {
    format!("{}.{SHAPE}", measure::VERSION)
}

/// A code's line with the whole of what it was measured by.
pub struct Measured {
    /// The line.
    pub line: CodeLine,
    /// All figures.
    pub figures: Figures,
    /// The targets beside them.
    pub targets: Vec<Target>,
}

/// Measures a code and puts it in a line.
pub fn measured(reading: &Reading, prompts: &[PromptDeed]) -> Measured {
    let (records, protocol) = (&reading.records, &reading.protocol);
    let figures = measure(records, protocol);
    let targets = targets(records, &figures);
    let facts = timeline::facts(records).facts;
    let opened = facts.iter().find_map(|fact| match fact.event {
        Event::CodeOpened { location, training, patient, .. } => Some((location.clone(), *training, patient.age_group)),
        _ => None,
    });
    let (location, training, age_group) = opened.unwrap_or((None, false, None));
    let outcome = facts.last().and_then(|fact| match fact.event {
        Event::CodeClosed { outcome, .. } => Some(*outcome),
        _ => None,
    });
    let line = CodeLine {
        id: reading.stored.id,
        opened_at: reading.opened_at(),
        location,
        protocol: protocol.id.clone(),
        protocol_version: protocol.version,
        age_group: age_group.unwrap_or(AgeGroup::Adult),
        training,
        outcome,
        records: reading.records.len() as u64,
        head: chain::hex(&reading.head),
        standing: standing(records),
        version: super::shown::version_of(records),
        debriefed: super::shown::debrief(records).is_some(),
        figures: cut(&figures, &targets, prompts),
    };
    Measured { line, figures, targets }
}

fn cut(figures: &Figures, targets: &[Target], prompts: &[PromptDeed]) -> LineFigures {
    let shocks = &figures.shocks;
    LineFigures {
        arrest_ms: figures.arrest_ms,
        compression_fraction: figures.compression_fraction,
        compression_fraction_from_first: figures.compression_fraction_from_first,
        no_flow_ms: figures.no_flow_ms,
        pauses_ms: figures.pauses.iter().map(measure::Pause::length_ms).collect(),
        pauses_over_10_s: figures.pauses_over_10_s,
        longest_pause_ms: figures.longest_pause_ms,
        shocks: shocks.len(),
        pre_shock_ms: shocks.iter().filter_map(|shock| shock.pre_shock_ms).collect(),
        post_shock_ms: shocks.iter().filter_map(|shock| shock.post_shock_ms).collect(),
        peri_shock_ms: shocks.iter().filter_map(|shock| shock.peri_shock_ms).collect(),
        charging_compression_fraction: figures.charging_compression_fraction,
        first_rhythm: figures.first_rhythm,
        first_compression_ms: figures.first_compression_ms,
        first_shock_ms: figures.first_shock_ms,
        first_epinephrine_ms: figures.first_epinephrine_ms,
        first_access_ms: figures.first_access_ms,
        first_advanced_airway_ms: figures.first_advanced_airway_ms,
        epinephrine_intervals_ms: figures.epinephrine_intervals_ms.clone(),
        check_intervals_ms: figures.check_intervals_ms.clone(),
        compressor_spells_ms: figures.compressor_spells_ms.clone(),
        finger_ready_fraction: figures.finger_ready_fraction,
        rosc_ms: figures.rosc_ms,
        rosc_count: figures.rosc_count,
        breath_pauses_estimate_ms: figures.breath_pauses_estimate_ms,
        gaps: figures.gaps.len(),
        targets: targets
            .iter()
            .filter(|target| target.of > 0)
            .map(|target| (target.name, Share { of: target.of, held: target.held }))
            .collect(),
        prompts: followed(prompts),
    }
}

/// Makes the lines of the codes that are over and whose line is missing or not as they are, up to a limit. How many it made.
///
/// # Errors
/// If the ledger cannot be read.
pub async fn make_stale(hub: &Hub, over: bool, limit: i64) -> Result<usize, sqlx::Error> {
    let stale = hub.reader.stale_lines(over, limit).await?;
    let mut made = 0;
    for id in stale {
        made += usize::from(make(hub, id).await?);
    }
    Ok(made)
}

/// Makes one line. A code that cannot be read gets none; that is in the log, in the list's count and in `coxswain verify`.
async fn make(hub: &Hub, id: Uuid) -> Result<bool, sqlx::Error> {
    let Some(stored) = hub.reader.code(id).await? else { return Ok(false) };
    let place = stored.place;
    let log = hub.reader.prompts(place).await?;
    let made = tokio::task::spawn_blocking(move || {
        Reading::of(stored, None).map(|reading| measured(&reading, &deeds(&log, &reading.records)).line)
    });
    let write = match made.await {
        Ok(Ok(line)) => ReviewWrite::Line(Box::new(LineRow { code: place, made_by: made_by(), line })),
        Ok(Err(problem)) => {
            tracing::error!(code = %id, %problem, "a code cannot be read; it is missing in the list");
            ReviewWrite::NoLine { code: place, made_by: made_by() }
        }
        Err(problem) => {
            tracing::error!(code = %id, %problem, "a fault in measuring a code; it is missing in the list");
            ReviewWrite::NoLine { code: place, made_by: made_by() }
        }
    };
    let (done, kept) = oneshot::channel();
    hub.writer.write(Job::Review { write, done });
    Ok(kept.await.is_ok())
}

/// Keeps the lines up to date for as long as the hub lives.
pub async fn keep(hub: Weak<Hub>) {
    let mut looks: u32 = 0;
    while let Some(hub) = hub.upgrade() {
        let over = make_stale(&hub, true, AT_A_STRETCH).await;
        if looks.is_multiple_of(RUNNING_EACH) {
            let _ = make_stale(&hub, false, AT_A_STRETCH).await;
        }
        looks = looks.wrapping_add(1);
        drop(hub);
        // After an upgrade there may be tens of thousands to make: with a breath in between, since codes run here.
        let busy = over.is_ok_and(|made| i64::try_from(made).unwrap_or(i64::MAX) >= AT_A_STRETCH);
        tokio::time::sleep(if busy { Duration::from_millis(50) } else { PAUSE }).await;
    }
}

/// Starts keeping the lines.
pub fn start_keeping(hub: &Arc<Hub>) {
    tokio::spawn(keep(Arc::downgrade(hub)));
}

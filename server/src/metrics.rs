//! Counters for operations, as Prometheus text. Never a name, a token or anything of a patient.

use std::fmt::Write;
use std::sync::atomic::{AtomicU64, Ordering};

/// A number that only grows.
#[derive(Debug, Default)]
pub struct Counter(AtomicU64);

impl Counter {
    /// Grows.
    pub fn add(&self, by: u64) {
        self.0.fetch_add(by, Ordering::Relaxed);
    }

    /// Reads.
    pub fn get(&self) -> u64 {
        self.0.load(Ordering::Relaxed)
    }
}

/// What the server counts.
#[derive(Debug, Default)]
pub struct Metrics {
    /// Records taken.
    pub commands: Counter,
    /// Messages refused.
    pub refusals: Counter,
    /// Records on disk.
    pub durable: Counter,
    /// Commits.
    pub commits: Counter,
    /// Microseconds spent in them.
    pub commit_us: Counter,
    /// Tries to commit that failed.
    pub commit_failures: Counter,
    /// Views handed to devices.
    pub views: Counter,
    /// Connections closed because they could not keep up.
    pub overflows: Counter,
    /// Bugs caught at a room.
    pub faults: Counter,
}

impl Metrics {
    /// The text that a Prometheus server reads.
    pub fn text(&self, codes: usize, connections: usize) -> String {
        let mut text = String::new();
        let mut line = |name: &str, kind: &str, help: &str, value: f64| {
            let _ =
                write!(text, "# HELP coxswain_{name} {help}\n# TYPE coxswain_{name} {kind}\ncoxswain_{name} {value}\n");
        };
        let pending = self.commands.get().saturating_sub(self.durable.get());
        #[expect(clippy::cast_precision_loss, reason = "counts far below 2^52")]
        {
            line("codes_running", "gauge", "Codes that are not over.", codes as f64);
            line("devices_connected", "gauge", "Open device connections.", connections as f64);
            line("commands_total", "counter", "Records taken.", self.commands.get() as f64);
            line("refusals_total", "counter", "Messages refused.", self.refusals.get() as f64);
            line("durable_total", "counter", "Records on disk since the start.", self.durable.get() as f64);
            line("durable_lag", "gauge", "Records taken and not yet on disk.", pending as f64);
            line("commit_seconds_sum", "counter", "Seconds spent in commits.", self.commit_us.get() as f64 / 1e6);
            line("commit_seconds_count", "counter", "Commits.", self.commits.get() as f64);
            line("commit_failures_total", "counter", "Tries to commit that failed.", self.commit_failures.get() as f64);
            line("views_total", "counter", "Views handed to devices.", self.views.get() as f64);
            line("overflows_total", "counter", "Connections closed for not keeping up.", self.overflows.get() as f64);
            line("faults_total", "counter", "Bugs caught at a room.", self.faults.get() as f64);
        }
        text
    }
}

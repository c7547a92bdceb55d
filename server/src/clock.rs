//! Server time: milliseconds on one axis that goes on through restarts and, by the wall clock, through reboots of the
//! machine. It must not know what a code is.

use std::time::Duration;

use jiff::Timestamp;
use rustix::time::{ClockId, clock_gettime};

/// Where the clock stood when it was last stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// Which boot of the machine.
    pub boot_id: String,
    /// Time since that boot.
    pub boot_ms: i64,
    /// Server time.
    pub server_ms: i64,
    /// Wall clock, milliseconds since 1970.
    pub wall_ms: i64,
}

/// The server's clock.
#[derive(Debug)]
pub struct Clock {
    boot_id: String,
    /// Server time less time since boot.
    offset_ms: i64,
    /// A demonstration may run faster than life, from this moment since boot on.
    faster: Option<(f64, i64)>,
}

impl Clock {
    /// A clock that goes on from where the stored one stood.
    pub fn resume(stored: Option<&Mark>) -> Self {
        Self::resume_from(stored, &boot_id(), boot_ms(), wall_ms())
    }

    fn resume_from(stored: Option<&Mark>, boot_id: &str, boot_ms: i64, wall_ms: i64) -> Self {
        let offset_ms = match stored {
            None => 0,
            // The same boot: the machine's own clock never stopped, not even asleep.
            Some(mark) if mark.boot_id == boot_id => mark.server_ms - mark.boot_ms,
            // Another boot: the wall clock tells how long the machine was off; never backwards.
            Some(mark) => mark.server_ms + (wall_ms - mark.wall_ms).max(0) - boot_ms,
        };
        Self { boot_id: boot_id.to_owned(), offset_ms, faster: None }
    }

    /// The same clock, running faster than life from now on: for demonstrations only.
    pub fn faster(mut self, rate: f64) -> Self {
        self.faster = Some((rate, boot_ms()));
        self
    }

    /// Server milliseconds in a real one.
    pub fn rate(&self) -> f64 {
        self.faster.map_or(1.0, |(rate, _)| rate)
    }

    /// Server time now.
    pub fn now_ms(&self) -> i64 {
        self.at(boot_ms())
    }

    #[expect(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "milliseconds far below 2^52")]
    fn at(&self, boot_ms: i64) -> i64 {
        let gained_ms = self.faster.map_or(0.0, |(rate, since_ms)| (boot_ms - since_ms) as f64 * (rate - 1.0));
        boot_ms + self.offset_ms + gained_ms as i64
    }

    /// How long server time takes to go on by so much.
    pub fn real_time(&self, server_ms: i64) -> Duration {
        let server_ms = u64::try_from(server_ms).unwrap_or(0);
        Duration::from_millis(server_ms).div_f64(self.rate().max(0.001))
    }

    /// What to store.
    pub fn mark(&self) -> Mark {
        let boot_ms = boot_ms();
        Mark { boot_id: self.boot_id.clone(), boot_ms, server_ms: self.at(boot_ms), wall_ms: wall_ms() }
    }
}

/// The wall clock for people, RFC 3339 with milliseconds.
pub fn wall_text() -> String {
    format!("{:.3}", Timestamp::now())
}

fn wall_ms() -> i64 {
    Timestamp::now().as_millisecond()
}

fn boot_ms() -> i64 {
    let time = clock_gettime(ClockId::Boottime);
    time.tv_sec * 1_000 + time.tv_nsec / 1_000_000
}

/// Names this boot of the machine; empty where the system does not say.
fn boot_id() -> String {
    std::fs::read_to_string("/proc/sys/kernel/random/boot_id").map(|id| id.trim().to_owned()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stored() -> Mark {
        Mark { boot_id: "a".to_owned(), boot_ms: 1_000, server_ms: 51_000, wall_ms: 2_000_000 }
    }

    fn offset(boot_id: &str, boot_ms: i64, wall_ms: i64) -> i64 {
        Clock::resume_from(Some(&stored()), boot_id, boot_ms, wall_ms).offset_ms
    }

    #[test]
    fn the_same_boot_goes_on_whatever_the_wall_clock_says() {
        assert_eq!(9_000 + offset("a", 9_000, 0), 59_000);
    }

    #[test]
    fn another_boot_goes_on_by_the_wall_clock_but_never_backwards() {
        assert_eq!(500 + offset("b", 500, 2_030_000), 81_000);
        assert_eq!(500 + offset("b", 500, 1_000_000), 51_000);
    }

    #[test]
    fn a_first_start_begins_with_the_machines_own_clock() {
        let clock = Clock::resume(None);
        assert!(clock.now_ms() > 0);
    }
}

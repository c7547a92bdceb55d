//! Slows whoever tries passwords. Wrong tries count for one name from one address only: somebody who guesses slows
//! himself, and can lock nobody else out. Passwords are tried one after the other (`password`), and from one address only a
//! few may wait for that, so that nobody can fill the queue.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Wrong tries that cost no wait.
const FREE: u32 = 3;
/// The longest wait for the next try.
const LONGEST: Duration = Duration::from_secs(30);
/// Wrong tries are forgotten after this.
const FORGET: Duration = Duration::from_secs(15 * 60);
/// Most names and addresses that are kept in mind; beyond that the oldest go.
const KEPT: usize = 10_000;

#[derive(Debug)]
struct Tries {
    wrong: u32,
    last: Instant,
}

/// Tries from one address that may wait at the same time.
const WAITING: usize = 4;

/// Wrong tries of the last while, and those that wait.
#[derive(Debug, Default)]
pub struct Throttle {
    tries: Mutex<HashMap<(Option<IpAddr>, String), Tries>>,
    waiting: Mutex<HashMap<Option<IpAddr>, usize>>,
}

/// A place in the queue, given back when this is dropped.
#[derive(Debug)]
pub struct Place<'a> {
    throttle: &'a Throttle,
    from: Option<IpAddr>,
}

impl Drop for Place<'_> {
    fn drop(&mut self) {
        let mut waiting = self.throttle.waiting.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = waiting.get_mut(&self.from) {
            *count -= 1;
            if *count == 0 {
                waiting.remove(&self.from);
            }
        }
    }
}

impl Throttle {
    /// A place in the queue for this address; `None` where too many wait there already.
    pub fn place(&self, from: Option<IpAddr>) -> Option<Place<'_>> {
        let mut waiting = self.waiting.lock().unwrap_or_else(PoisonError::into_inner);
        let count = waiting.entry(from).or_insert(0);
        (*count < WAITING).then(|| {
            *count += 1;
            Place { throttle: self, from }
        })
    }

    /// How long to wait before a password for this name may be tried from this address.
    pub fn wait(&self, from: Option<IpAddr>, name: &str, now: Instant) -> Option<Duration> {
        let tries = self.tries.lock().unwrap_or_else(PoisonError::into_inner);
        let tries = tries.get(&key(from, name))?;
        let since = now.saturating_duration_since(tries.last);
        if tries.wrong < FREE || since >= FORGET {
            return None;
        }
        let wait = Duration::from_secs(1 << (tries.wrong - FREE).min(10)).min(LONGEST);
        wait.checked_sub(since).filter(|left| !left.is_zero())
    }

    /// A try was wrong.
    pub fn wrong(&self, from: Option<IpAddr>, name: &str, now: Instant) {
        let mut all = self.tries.lock().unwrap_or_else(PoisonError::into_inner);
        if all.len() >= KEPT {
            all.retain(|_, tries| now.saturating_duration_since(tries.last) < FORGET);
        }
        if all.len() >= KEPT {
            let oldest = all.iter().min_by_key(|(_, tries)| tries.last).map(|(key, _)| key.clone());
            oldest.and_then(|key| all.remove(&key));
        }
        let tries = all.entry(key(from, name)).or_insert(Tries { wrong: 0, last: now });
        if now.saturating_duration_since(tries.last) >= FORGET {
            tries.wrong = 0;
        }
        tries.wrong += 1;
        tries.last = now;
    }

    /// A try was right: what came before is forgotten.
    pub fn right(&self, from: Option<IpAddr>, name: &str) {
        self.tries.lock().unwrap_or_else(PoisonError::into_inner).remove(&key(from, name));
    }
}

fn key(from: Option<IpAddr>, name: &str) -> (Option<IpAddr>, String) {
    // A name of any length may be tried; it must not be kept in mind at any length.
    (from, name.trim().to_lowercase().chars().take(200).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_wait_grows_to_its_limit_and_is_for_one_name_from_one_address() {
        let (throttle, start) = (Throttle::default(), Instant::now());
        let (here, there) = (Some(IpAddr::from([10, 0, 0, 1])), Some(IpAddr::from([10, 0, 0, 2])));
        for _ in 0..3 {
            assert_eq!(throttle.wait(here, "Ann", start), None);
            throttle.wrong(here, "Ann", start);
        }
        assert_eq!(throttle.wait(here, " ann", start), Some(Duration::from_secs(1)));
        assert_eq!(throttle.wait(here, "Ann", start + Duration::from_secs(1)), None);
        for _ in 0..20 {
            throttle.wrong(here, "Ann", start);
        }
        assert_eq!(throttle.wait(here, "Ann", start), Some(LONGEST));
        assert_eq!(throttle.wait(there, "Ann", start), None, "the person herself, from another place, is not kept out");
        assert_eq!(throttle.wait(here, "Ben", start), None, "neither is anybody else from here");
        assert_eq!(throttle.wait(here, "Ann", start + FORGET), None);
        throttle.right(here, "Ann");
        assert_eq!(throttle.wait(here, "Ann", start), None);
    }

    #[test]
    fn what_is_kept_in_mind_has_a_limit() {
        let (throttle, start) = (Throttle::default(), Instant::now());
        for number in 0..KEPT + 50 {
            throttle.wrong(None, &number.to_string(), start);
        }
        assert_eq!(throttle.tries.lock().unwrap().len(), KEPT);
    }

    #[test]
    fn one_address_cannot_fill_the_queue() {
        let throttle = Throttle::default();
        let (here, there) = (Some(IpAddr::from([10, 0, 0, 1])), Some(IpAddr::from([10, 0, 0, 2])));
        let places: Vec<_> = (0..WAITING).map(|_| throttle.place(here).unwrap()).collect();
        assert!(throttle.place(here).is_none());
        assert!(throttle.place(there).is_some());
        drop(places);
        assert!(throttle.place(here).is_some());
        assert!(throttle.waiting.lock().unwrap().is_empty());
    }
}

//! Tokens and join codes. A token is shown once, to its device; only its hash is kept. Nothing here is ever logged.

use std::collections::VecDeque;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use sha2::{Digest, Sha256};

use crate::ledger::chain::{Hash, hex};

/// A join code is the current one for this long, and is then taken for as long again.
const ROTATE: Duration = Duration::from_secs(600);
/// Wrong tries that are allowed within [`WINDOW`].
const TRIES: usize = 10;
const WINDOW: Duration = Duration::from_secs(60);

/// A new token: 32 random bytes, hexadecimal.
///
/// # Errors
/// If the system has no randomness to give.
pub fn token() -> Result<String, getrandom::Error> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes)?;
    Ok(hex(&bytes))
}

/// What is kept of a token.
pub fn token_hash(token: &str) -> Hash {
    Sha256::digest(token.as_bytes()).into()
}

/// What became of a try to pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Try {
    /// The code is right.
    Right,
    /// It is not.
    Wrong,
    /// There were too many wrong ones within a minute.
    TooMany,
}

#[derive(Debug)]
struct Codes {
    current: String,
    since: Instant,
    previous: Option<String>,
    wrong: VecDeque<Instant>,
}

/// The join codes of a running server.
#[derive(Debug)]
pub struct JoinCodes(Mutex<Codes>);

fn six_digits() -> Result<String, getrandom::Error> {
    let mut bytes = [0; 8];
    getrandom::fill(&mut bytes)?;
    Ok(format!("{:06}", u64::from_le_bytes(bytes) % 1_000_000))
}

impl JoinCodes {
    /// The first code.
    ///
    /// # Errors
    /// If the system has no randomness to give.
    pub fn new() -> Result<Self, getrandom::Error> {
        let codes = Codes { current: six_digits()?, since: Instant::now(), previous: None, wrong: VecDeque::new() };
        Ok(Self(Mutex::new(codes)))
    }

    /// The code of the moment, and for how long it will be taken at least.
    pub fn current(&self) -> (String, Duration) {
        self.current_at(Instant::now())
    }

    fn current_at(&self, now: Instant) -> (String, Duration) {
        let mut codes = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        codes.rotate(now);
        let left = (codes.since + 2 * ROTATE).saturating_duration_since(now);
        (codes.current.clone(), left)
    }

    /// Tries a code. Right ones do not count against the limit.
    pub fn check(&self, tried: &str) -> Try {
        self.check_at(tried, Instant::now())
    }

    fn check_at(&self, tried: &str, now: Instant) -> Try {
        let mut codes = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        codes.rotate(now);
        codes.wrong.retain(|at| now.duration_since(*at) < WINDOW);
        if codes.wrong.len() >= TRIES {
            return Try::TooMany;
        }
        let right = tried == codes.current || codes.previous.as_deref() == Some(tried);
        if right {
            Try::Right
        } else {
            codes.wrong.push_back(now);
            Try::Wrong
        }
    }
}

impl Codes {
    fn rotate(&mut self, now: Instant) {
        let age = now.duration_since(self.since);
        if age < ROTATE {
            return;
        }
        // Without randomness the code stays rather than become guessable.
        let Ok(next) = six_digits() else { return };
        let last = std::mem::replace(&mut self.current, next);
        self.previous = (age < 2 * ROTATE).then_some(last);
        self.since = now;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tokens_are_long_and_differ() {
        let (one, other) = (token().unwrap(), token().unwrap());
        assert_eq!(one.len(), 64);
        assert_ne!(one, other);
        assert_ne!(token_hash(&one), token_hash(&other));
    }

    #[test]
    fn a_code_is_taken_until_twenty_minutes_after_it_was_made() {
        let codes = JoinCodes::new().unwrap();
        let start = Instant::now();
        let (first, _) = codes.current_at(start);
        assert_eq!(first.len(), 6);
        let (second, _) = codes.current_at(start + ROTATE + Duration::from_secs(1));
        assert_eq!(codes.check_at(&first, start + ROTATE + Duration::from_secs(2)), Try::Right);
        assert_eq!(codes.check_at(&second, start + ROTATE + Duration::from_secs(2)), Try::Right);
        let later = start + 3 * ROTATE;
        codes.current_at(later);
        if first != codes.current_at(later).0 && first != second {
            assert_eq!(codes.check_at(&first, later), Try::Wrong);
        }
    }

    #[test]
    fn ten_wrong_tries_a_minute_are_the_limit_for_right_ones_too() {
        let codes = JoinCodes::new().unwrap();
        let now = Instant::now();
        for _ in 0..TRIES {
            assert_eq!(codes.check_at("no", now), Try::Wrong);
        }
        let (right, _) = codes.current_at(now);
        assert_eq!(codes.check_at(&right, now), Try::TooMany);
        assert_eq!(codes.check_at(&right, now + WINDOW), Try::Right);
    }
}

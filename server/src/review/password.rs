//! Passwords: only what Argon2id makes of them is kept, as a PHC string with a salt of its own. Nothing here is ever logged.

use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use tokio::sync::Semaphore;

/// Shortest password that an account may have, in characters: ours, longer than the 8 of NIST SP 800-63B (from memory),
/// since nobody here asks for a second factor.
pub const SHORTEST: usize = 12;
/// Longest, in bytes: hashing takes time by length.
pub const LONGEST: usize = 1_024;
/// Passwords are tried one after the other: each costs 19 MiB and some tens of milliseconds of a processor, on a machine that
/// runs codes.
static AT_ONCE: Semaphore = Semaphore::const_new(1);

/// What is wrong with a password, if anything.
pub fn unfit(password: &str) -> Option<String> {
    if password.chars().count() < SHORTEST {
        return Some(format!("a password has at least {SHORTEST} characters"));
    }
    (password.len() > LONGEST).then(|| format!("a password has at most {LONGEST} bytes"))
}

/// What is kept of a password.
///
/// # Errors
/// If the system has no randomness to give.
pub fn hash(password: &str) -> Result<String, argon2::password_hash::Error> {
    // Argon2id, 19 MiB, 2 passes, 1 lane: the crate's default, which is OWASP's first recommendation (from memory).
    let hash: PasswordHash = Argon2::default().hash_password(password.as_bytes())?;
    Ok(hash.to_string())
}

/// Whether a password is the one that was hashed. Nobody's hash is compared as slowly as somebody's, so that the time says
/// nothing of which names there are.
pub async fn fits(password: String, hash: Option<String>) -> bool {
    let Ok(_turn) = AT_ONCE.acquire().await else { return false };
    let compared = tokio::task::spawn_blocking(move || {
        let known = hash.is_some();
        let hash = hash.unwrap_or_else(|| NOBODYS.to_owned());
        let fits = password.len() <= LONGEST
            && PasswordHash::new(&hash)
                .is_ok_and(|hash| Argon2::default().verify_password(password.as_bytes(), &hash).is_ok());
        known && fits
    });
    compared.await.unwrap_or(false)
}

/// A hash of a password that nobody has, with the parameters that every hash has.
const NOBODYS: &str =
    "$argon2id$v=19$m=19456,t=2,p=1$c29tZSBzYWx0IGZvciBub2JvZHk$+nFuzJHzEiWnoZKjAxu7XwvTpPnpSAv6BqTxfYhVvVY";

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_password_fits_its_own_hash_only_and_nobodys_hash_costs_the_same() {
        let kept = hash("correct horse battery").unwrap();
        // The PHC string names the algorithm and its parameters (https://github.com/P-H-C/phc-string-format).
        assert!(kept.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{kept}");
        assert!(!kept.contains("correct"));
        assert_ne!(kept, hash("correct horse battery").unwrap(), "each has a salt of its own");
        assert!(fits("correct horse battery".to_owned(), Some(kept.clone())).await);
        assert!(!fits("correct horse battery ".to_owned(), Some(kept)).await);
        assert!(!fits("correct horse battery".to_owned(), None).await);
        let nobodys = PasswordHash::new(NOBODYS).unwrap();
        assert_eq!(nobodys.params.to_string(), "m=19456,t=2,p=1");
    }

    #[test]
    fn short_and_endless_passwords_are_refused() {
        assert!(unfit("elevenchars").is_some());
        assert!(unfit("twelve chars").is_none());
        assert!(unfit(&"x".repeat(1_025)).is_some());
    }
}

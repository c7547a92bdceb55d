//! How long somebody stays signed in. Pure: server time goes in.

use crate::ledger::SessionRow;

/// A session ends this long after the last request: somebody went to a patient and left the page open.
pub const IDLE_MS: i64 = 30 * 60_000;
/// It ends this long after signing in, in any case: a working day and a little more.
pub const WHOLE_MS: i64 = 12 * 3_600_000;
/// A use is written down at most this often.
const TOUCH_MS: i64 = 60_000;

/// Whether a session still stands.
pub const fn stands(session: &SessionRow, now_ms: i64) -> bool {
    now_ms - session.seen_ms < IDLE_MS && now_ms - session.began_ms < WHOLE_MS
}

/// Whether its use is to be written down.
pub const fn is_to_be_touched(session: &SessionRow, now_ms: i64) -> bool {
    now_ms - session.seen_ms >= TOUCH_MS
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;
    use crate::review::wire::{Account, AccountRole};

    #[test]
    fn a_session_ends_when_it_is_left_alone_and_in_any_case_after_a_day() {
        let account = Account { id: Uuid::now_v7(), name: "A. Reviewer".to_owned(), role: AccountRole::Reviewer };
        let session = |began_ms, seen_ms| SessionRow { account: account.clone(), began_ms, seen_ms };
        assert!(stands(&session(0, 0), IDLE_MS - 1));
        assert!(!stands(&session(0, 0), IDLE_MS));
        assert!(stands(&session(0, WHOLE_MS - 1_000), WHOLE_MS - 1));
        assert!(!stands(&session(0, WHOLE_MS - 1_000), WHOLE_MS));
        assert!(!is_to_be_touched(&session(0, 0), TOUCH_MS - 1) && is_to_be_touched(&session(0, 0), TOUCH_MS));
    }
}

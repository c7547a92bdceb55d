//! Code time in words, as the screens show it. When something is due or late, this module must not know.

/// Minutes and seconds since recognition, such as `4:05`; with a minus sign before it.
pub(super) fn clock(at_ms: i64) -> String {
    let seconds = at_ms.div_euclid(1_000);
    let sign = if seconds < 0 { "-" } else { "" };
    format!("{sign}{}:{:02}", seconds.abs() / 60, seconds.abs() % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn code_time_stands_in_minutes_and_seconds() {
        let words = [0, 999, 59_999, 65_000, 600_000, 3_661_000].map(clock);
        assert_eq!(words, ["0:00", "0:00", "0:59", "1:05", "10:00", "61:01"]);
        assert_eq!([-1_000, -5_000, -61_000].map(clock), ["-0:01", "-0:05", "-1:01"]);
    }
}

//! Reaction times: the role's own, with a jitter that comes from the scenario's seed and the task alone. The same
//! scenario gives the same team; no clock and no chance go into it.

use coxswain_engine::event::Role;
use coxswain_engine::prompt::Action;

use super::scenario::{ReactionSeconds, Scenario, Slip};

/// A small mixing function (SplitMix64): neighbouring seeds give unlike numbers.
const fn mix(seed: u64) -> u64 {
    let mut z = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// A number from 0 up to 1 for one task.
fn unit(seed: u64, role: Role, action: Action, time: u32) -> f64 {
    let mut state = mix(seed);
    for byte in role.as_str().bytes().chain(action.as_str().bytes()) {
        state = mix(state ^ u64::from(byte));
    }
    (mix(state ^ u64::from(time)) >> 11) as f64 / (1_u64 << 53) as f64
}

/// What the role does with the `time`-th asking of a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Response {
    /// How long it takes to think, in code milliseconds.
    pub(super) reaction_ms: i64,
    /// What a slip adds to it.
    pub(super) delay_ms: i64,
    /// It is not done.
    pub(super) forgotten: bool,
    /// It is tapped twice.
    pub(super) doubled: bool,
}

/// How the scenario's team answers.
pub(super) fn response(scenario: &Scenario, role: Role, action: Action, time: u32) -> Response {
    let ReactionSeconds { jitter, .. } = scenario.reaction_s;
    let stretch = 1.0 + jitter * (2.0 * unit(scenario.seed, role, action, time) - 1.0);
    let mut response = Response {
        reaction_ms: (scenario.reaction_s.ms(role) * stretch).round() as i64,
        delay_ms: 0,
        forgotten: false,
        doubled: false,
    };
    for slip in &scenario.slips {
        match *slip {
            Slip::Forgets { task, time: of } if task == action && of == time => response.forgotten = true,
            Slip::Doubles { task, time: of } if task == action && of == time => response.doubled = true,
            Slip::Delays { task, time: of, by_s } if task == action && of == time => {
                response.delay_ms += (by_s * 1_000.0).round() as i64;
            }
            Slip::Forgets { .. } | Slip::Doubles { .. } | Slip::Delays { .. } => {}
        }
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_gives_the_same_team_within_the_jitter() {
        let scenario = Scenario::shipped("shockable-rosc").unwrap();
        let mut seen = std::collections::BTreeSet::new();
        for time in 1..200 {
            let first = response(&scenario, Role::Drugs, Action::DrawUp, time);
            assert_eq!(first, response(&scenario, Role::Drugs, Action::DrawUp, time));
            assert!((3_750..=6_250).contains(&first.reaction_ms), "{first:?}");
            seen.insert(first.reaction_ms);
        }
        assert!(seen.len() > 100, "the jitter hardly varies: {seen:?}");
    }

    #[test]
    fn slips_hit_their_task_and_time_only() {
        let scenario = Scenario::shipped("shockable-rosc").unwrap();
        assert!(response(&scenario, Role::Relief, Action::FingerOnPulse, 2).forgotten);
        assert!(!response(&scenario, Role::Relief, Action::FingerOnPulse, 1).forgotten);
        assert!(response(&scenario, Role::Defibrillator, Action::GiveShock, 2).doubled);
        assert!(response(&scenario, Role::Compressor, Action::PauseForCheck, 3).delay_ms == 6_000);
    }
}

//! A patient on the move: whether those who hold the roles are known to be at the new place. It must not guess: a tablet
//! that was at the old place, and of which nothing was said since, may have come along or not.

use std::collections::BTreeSet;

use uuid::Uuid;

use crate::event::{Event, Role};
use crate::timeline::Fact;

use super::{Mark, Team};

/// The latest move, and what was said of the roles since.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Move {
    /// When, and by which record.
    pub mark: Mark,
    /// Roles that a device held then.
    held: BTreeSet<Role>,
    /// Devices known to be at the new place: each took or was given a role since, or saw to another one's.
    here: BTreeSet<Uuid>,
}

impl Move {
    pub(super) fn begin(mark: Mark, team: &Team) -> Self {
        Self { mark, held: team.holders.keys().copied().collect(), here: BTreeSet::new() }
    }

    /// Takes a change of roles in, `team` being as it is after it. Answered is the question by a role given to another
    /// device, or taken back from one, once a device that is here holds each role that was held before the move. A tablet
    /// that only takes a role itself answers nothing: each does so when it wakes at the new place.
    pub(super) fn is_answered(&mut self, fact: &Fact<'_>, team: &Team) -> bool {
        let (given_to, other) = match fact.event {
            Event::RoleAssigned { device, .. } => (Some(*device), *device != fact.by.device),
            Event::RoleReleased { device, .. } => (None, *device != fact.by.device),
            _ => return false,
        };
        self.here.extend(given_to);
        if !other {
            return false;
        }
        self.here.insert(fact.by.device);
        self.held.iter().all(|role| team.holders.get(role).is_some_and(|devices| !devices.is_disjoint(&self.here)))
    }
}

#[cfg(test)]
mod tests {
    use crate::event::{Event, Role};
    use crate::prompt::Action;
    use crate::protocol;
    use crate::snapshot::{Knowledge, Snapshot};
    use crate::testing::{Script, device};

    const BAY: [(Role, u64); 3] = [(Role::Leader, 1), (Role::Compressor, 2), (Role::Drugs, 3)];

    /// A code whose roles are held in Bay 1, moved at 60 s to where devices 11 to 13 are.
    fn moved() -> Script {
        let mut script = Script::new(
            "0 code_opened protocol={\"id\":\"x\",\"version\":1} patient={\"age_group\":\"adult\"} training=true\n0 clock_started",
        );
        for (role, number) in BAY {
            assign(&mut script, 1_000, (1, number), role);
        }
        script.extend("60s moved location=\"Cath lab\"");
        script
    }

    /// Two of the devices there take their home roles by themselves.
    fn woken() -> Script {
        let mut script = moved();
        assign(&mut script, 61_000, (12, 12), Role::Compressor);
        assign(&mut script, 61_000, (13, 13), Role::Drugs);
        script
    }

    fn assign(script: &mut Script, at_ms: i64, (by, to): (u64, u64), role: Role) {
        let event = Event::RoleAssigned { role, device: device(to), person: None };
        script.push_by(device(by), at_ms, event);
    }

    fn take_back(script: &mut Script, at_ms: i64, (by, from): (u64, u64), role: Role) {
        script.push_by(device(by), at_ms, Event::RoleReleased { role, device: device(from) });
    }

    fn asks(script: &Script, at_s: i64) -> bool {
        let protocol = protocol::read(include_str!("../../../protocols/aha-adult.toml")).unwrap();
        let snapshot = Snapshot::at(script.records(), &protocol, at_s * 1_000, Knowledge::AsKnown);
        snapshot.visible(Role::Leader).iter().any(|prompt| prompt.action == Action::ConfirmRoles)
    }

    #[test]
    fn tablets_that_wake_at_the_new_place_answer_nothing_and_neither_does_one_that_gives_its_own_role_up() {
        let mut script = woken();
        assert!(asks(&script, 62));
        take_back(&mut script, 63_000, (2, 2), Role::Compressor);
        assert!(asks(&script, 64), "its own role");
        script.push_by(device(3), 65_000, Event::DeviceLeft {});
        assert!(asks(&script, 66), "a tablet that leaves has not looked at the roles of the others");
    }

    #[test]
    fn roles_taken_back_answer_it_once_somebody_who_is_there_holds_each() {
        let mut script = woken();
        // The leader came along: taking roles back shows that, and the two others are held here.
        take_back(&mut script, 63_000, (1, 2), Role::Compressor);
        assert!(!asks(&script, 64));
        // A role taken back that nobody has here leaves the question.
        let mut open = woken();
        take_back(&mut open, 62_000, (13, 13), Role::Drugs);
        take_back(&mut open, 63_000, (1, 3), Role::Drugs);
        assert!(asks(&open, 64), "nobody has the drugs");
        assign(&mut open, 65_000, (1, 12), Role::Drugs);
        assert!(!asks(&open, 66), "given to one that is here");
    }

    #[test]
    fn a_role_of_which_nothing_was_said_since_keeps_the_question() {
        let mut script = moved();
        assign(&mut script, 61_000, (1, 12), Role::Compressor);
        assert!(asks(&script, 62), "whoever had the drugs may have stayed behind");
        assign(&mut script, 63_000, (1, 3), Role::Drugs);
        assert!(!asks(&script, 64));
        // Moved on: asked anew.
        script.extend("70s moved location=ICU");
        assert!(asks(&script, 71));
    }
}

//! Who of the simulated team steps back or fills in when people take roles over. Decides from a roster alone; it must
//! never move a role from one person to another.

use coxswain_engine::event::{Event, Role};
use uuid::Uuid;

use crate::wire::RosterEntry;

/// A simulated player's seat: its home role and its device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seat {
    /// The role it begins with.
    pub role: Role,
    /// Its device.
    pub device: Uuid,
    /// The device's token.
    pub token: String,
}

/// Whether `device` is the one that speaks for the simulated team: the first of those that see the roster.
fn speaks(roster: &[RosterEntry], seats: &[Seat], device: Uuid) -> bool {
    let sees = |seat: &&Seat| {
        roster.iter().any(|entry| {
            let shown =
                entry.roles.is_empty() || entry.roles.contains(&Role::Leader) || entry.roles.contains(&Role::Recorder);
            entry.device == seat.device && entry.connected && shown
        })
    };
    seats.iter().find(sees).is_some_and(|seat| seat.device == device)
}

/// What the simulated team records about its own roles. `fill_in` says whether empty roles are to be taken now; the
/// caller waits a little first, since a page that is loaded again is away for a moment.
pub(super) fn changes(roster: &[RosterEntry], seats: &[Seat], device: Uuid, fill_in: bool) -> Vec<Event> {
    if !speaks(roster, seats, device) {
        return Vec::new();
    }
    let simulated = |entry: &RosterEntry| seats.iter().any(|seat| seat.device == entry.device);
    let mut changes = Vec::new();
    let mut taken = Vec::new();
    for &role in Role::ALL {
        let mut ours = roster.iter().filter(|entry| simulated(entry) && entry.roles.contains(&role)).peekable();
        let theirs = roster.iter().any(|entry| !simulated(entry) && entry.connected && entry.roles.contains(&role));
        if theirs {
            changes.extend(ours.map(|entry| Event::RoleReleased { role, device: entry.device }));
        } else if ours.peek().is_none() && fill_in {
            let free = |seat: &&Seat| {
                !taken.contains(&seat.device)
                    && roster
                        .iter()
                        .any(|entry| entry.device == seat.device && entry.roles.is_empty() && entry.connected)
            };
            let seat = seats.iter().filter(|seat| seat.role == role).find(free).or_else(|| seats.iter().find(free));
            if let Some(seat) = seat {
                taken.push(seat.device);
                changes.push(Event::RoleAssigned { role, device: seat.device, person: None });
            }
        }
    }
    changes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seats() -> Vec<Seat> {
        let seat = |(place, &role): (usize, &Role)| Seat {
            role,
            device: Uuid::from_u128(place as u128 + 1),
            token: String::new(),
        };
        Role::ALL.iter().enumerate().map(seat).collect()
    }

    fn roster(seats: &[Seat]) -> Vec<RosterEntry> {
        seats
            .iter()
            .map(|seat| RosterEntry {
                device: seat.device,
                name: "simulated".into(),
                roles: vec![seat.role],
                connected: true,
                battery: None,
            })
            .collect()
    }

    fn person(roles: &[Role], connected: bool) -> RosterEntry {
        RosterEntry {
            device: Uuid::from_u128(99),
            name: "a newcomer".into(),
            roles: roles.to_vec(),
            connected,
            battery: None,
        }
    }

    #[test]
    fn a_player_steps_back_for_a_person_and_fills_in_when_the_person_leaves() {
        let seats = seats();
        let (leader, drugs) = (seats[0].device, seats[4].device);
        let mut team = roster(&seats);
        assert!(changes(&team, &seats, leader, true).is_empty());

        team.push(person(&[Role::Drugs], true));
        let released = changes(&team, &seats, leader, false);
        assert_eq!(released, [Event::RoleReleased { role: Role::Drugs, device: drugs }]);
        assert!(changes(&team, &seats, drugs, false).is_empty(), "one player speaks for all");

        team[4].roles.clear();
        team[7] = person(&[Role::Drugs], false);
        assert!(changes(&team, &seats, leader, false).is_empty(), "a page that is loaded again is away for a moment");
        let assigned = changes(&team, &seats, leader, true);
        assert_eq!(assigned, [Event::RoleAssigned { role: Role::Drugs, device: drugs, person: None }]);
    }

    #[test]
    fn a_taken_leader_still_lets_the_team_step_back() {
        let seats = seats();
        let mut team = roster(&seats);
        team[0].roles.clear();
        team[6].roles.clear();
        team.push(person(&[Role::Leader, Role::Recorder, Role::Airway], true));
        let released = changes(&team, &seats, seats[0].device, true);
        assert_eq!(released, [Event::RoleReleased { role: Role::Airway, device: seats[3].device }]);
    }
}

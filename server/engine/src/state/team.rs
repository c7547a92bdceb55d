//! Who holds which role. A change of compressor swaps compressor and relief; undoing it swaps back, because the roles
//! are folded from what counts.

use std::collections::{BTreeMap, BTreeSet};

use uuid::Uuid;

use crate::event::{Event, Role};
use crate::timeline::Fact;

/// Roles and their holders.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Team {
    /// Devices by role; a role without holders is absent.
    pub holders: BTreeMap<Role, BTreeSet<Uuid>>,
    /// Whether the record assigns roles at all; if it never does, every role is taken as held.
    pub assigns: bool,
    /// Devices that left the code and were given no role since.
    pub left: BTreeSet<Uuid>,
    /// The role with the finger on the pulse, if the leader gave it to another than the protocol does.
    pub pulse_duty: Option<Role>,
}

impl Team {
    /// Whether anybody holds the role.
    pub fn holds(&self, role: Role) -> bool {
        !self.assigns || self.holders.contains_key(&role)
    }

    pub(super) fn apply(&mut self, fact: &Fact<'_>) {
        match fact.event {
            Event::RoleAssigned { role, device, .. } => {
                self.assigns = true;
                self.holders.entry(*role).or_default().insert(*device);
                self.left.remove(device);
            }
            Event::RoleReleased { role, device } => {
                self.assigns = true;
                self.holders.retain(|held, devices| {
                    if held == role {
                        devices.remove(device);
                    }
                    !devices.is_empty()
                });
            }
            Event::DeviceLeft {} => {
                self.assigns = true;
                self.left.insert(fact.by.device);
                self.holders.retain(|_, devices| {
                    devices.remove(&fact.by.device);
                    !devices.is_empty()
                });
            }
            Event::PulseDutyGiven { role } => self.pulse_duty = Some(*role),
            Event::CompressorChanged { .. } => {
                let compressors = self.holders.remove(&Role::Compressor);
                let reliefs = self.holders.remove(&Role::Relief);
                // With nobody to relieve them, the compressors stay what they are.
                match (compressors, reliefs) {
                    (Some(compressors), Some(reliefs)) => {
                        self.holders.insert(Role::Compressor, reliefs);
                        self.holders.insert(Role::Relief, compressors);
                    }
                    (Some(compressors), None) => {
                        self.holders.insert(Role::Compressor, compressors);
                    }
                    (None, Some(reliefs)) => {
                        self.holders.insert(Role::Compressor, reliefs);
                    }
                    (None, None) => {}
                }
            }
            _ => {}
        }
    }
}

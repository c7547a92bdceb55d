//! Which device is in which code: at most one each. A new code wakes the free devices of its location; a device that
//! comes later wakes into the code that runs there; closing frees them all.

use std::sync::Arc;

use coxswain_engine::view::Phase;
use uuid::Uuid;

use super::hub::{Hub, same_place};
use super::room::Control;
use crate::ledger::DeviceRow;

impl Hub {
    /// Binds a device to a code, unless it is in another.
    ///
    /// # Errors
    /// The other code.
    pub(super) fn bind(&self, device: Uuid, code: Uuid) -> Result<(), Uuid> {
        let mut registry = self.registry();
        match registry.bound.get(&device) {
            Some(other) if *other != code => return Err(*other),
            Some(_) | None => {}
        }
        registry.bound.insert(device, code);
        registry.left.remove(&(device, code));
        registry.attach(device, code);
        self.list_is_dirty();
        Ok(())
    }

    /// Frees a device that left a code which goes on. It does not wake into it again by itself.
    pub(super) fn part(&self, device: Uuid, code: Uuid) {
        let mut registry = self.registry();
        if registry.bound.get(&device) == Some(&code) {
            registry.bound.remove(&device);
        }
        registry.left.insert((device, code));
        registry.detach(device, code);
        self.list_is_dirty();
    }

    /// Binds a free device and asks the room to give it its home role, on the record of the device that `by` names.
    pub(super) fn join(&self, code: Uuid, device: &DeviceRow, by: &DeviceRow) {
        let mut registry = self.registry();
        if registry.bound.get(&device.id).is_some_and(|other| *other != code) {
            return;
        }
        registry.bound.insert(device.id, code);
        registry.left.remove(&(device.id, code));
        // First the role, then the screen: so that its first view is already the one of its role.
        if let Some(room) = registry.rooms.get(&code) {
            let _ = room.control.send(Control::Join { device: device.clone(), by: by.clone() });
        }
        registry.attach(device.id, code);
        self.list_is_dirty();
    }

    /// Wakes the free, connected devices of a location into a code, on the record of the device that `by` names, else each
    /// on its own.
    pub(super) fn wake_location(self: &Arc<Self>, code: Uuid, location: Option<&str>, by: Option<&DeviceRow>) {
        let free: Vec<DeviceRow> = {
            let registry = self.registry();
            let connected = registry.connections.values().map(|connection| connection.device);
            let mut free: Vec<DeviceRow> = connected
                .filter(|device| !registry.bound.contains_key(device))
                .filter_map(|device| registry.devices.get(&device))
                .filter(|device| same_place(device.location.as_deref(), location))
                .cloned()
                .collect();
            free.sort_by_key(|device| device.id);
            free.dedup_by_key(|device| device.id);
            free
        };
        for device in free {
            self.join(code, &device, by.unwrap_or(&device));
        }
    }

    /// Frees the devices of a code that is over. Their screens keep showing it until they are in another.
    pub(super) fn release(&self, code: Uuid) {
        let mut registry = self.registry();
        registry.bound.retain(|_, bound| *bound != code);
        registry.left.retain(|(_, left)| *left != code);
        if let Some(summary) = registry.summaries.get_mut(&code) {
            summary.phase = Phase::Closed;
        }
        self.list_is_dirty();
    }
}

//! The loop of one room: whatever comes first of commits, changes of who is there, commands, and the moment at which
//! something changes by itself. A panic in here costs the command that met it, never the room.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::Duration;

use tokio::sync::mpsc;
use tokio::time::Instant;

use super::room::{Command, Control, Handle, Room};
use crate::ledger::Durable;
use crate::wire::RefusalReason;

/// Commands that may wait at a room; more make their connections wait.
const WAITING: usize = 1_024;
/// A room that is over and that nobody looks at leaves memory after this.
const LINGER: Duration = Duration::from_secs(60);

/// Starts a room's task.
pub(super) fn spawn(room: Room, committed: mpsc::UnboundedReceiver<Durable>) -> Handle {
    let (commands, waiting) = mpsc::channel(WAITING);
    let (control, changes) = mpsc::unbounded_channel();
    let handle = Handle { commands, control };
    tokio::spawn(run(room, committed, waiting, changes));
    handle
}

async fn run(
    mut room: Room,
    mut committed: mpsc::UnboundedReceiver<Durable>,
    mut commands: mpsc::Receiver<Command>,
    mut changes: mpsc::UnboundedReceiver<Control>,
) {
    let mut trouble = room.hub().writer.trouble();
    loop {
        let idle = room.is_idle();
        let wake = if idle { Instant::now() + LINGER } else { room.next_wake() };
        tokio::select! {
            biased;
            Some(durable) = committed.recv() => {
                guard(&mut room, |room| room.durable(durable));
                while let Ok(durable) = committed.try_recv() {
                    guard(&mut room, |room| room.durable(durable));
                }
            }
            Some(change) = changes.recv() => guard(&mut room, |room| room.change(change)),
            Some(command) = commands.recv() => take(&mut room, command),
            Ok(()) = trouble.changed() => guard(&mut room, Room::refresh),
            () = tokio::time::sleep_until(wake) => {
                if idle {
                    break;
                }
                guard(&mut room, Room::wake);
            }
        }
    }
    room.hub().forget(room.id());
    // Whoever held on to the handle meanwhile is still served.
    commands.close();
    while let Some(command) = commands.recv().await {
        take(&mut room, command);
    }
    room.hub().writer.flush().await;
    while let Ok(durable) = committed.try_recv() {
        room.durable(durable);
    }
}

fn take(room: &mut Room, command: Command) {
    let (id, reply) = (command.id, command.reply.clone());
    if catch_unwind(AssertUnwindSafe(|| room.take(command))).is_err() {
        room.refuse(
            Some(id),
            &reply,
            &super::Refusal::new(
                RefusalReason::Fault,
                "The server met a fault of its own with this record; it is not counted.",
            ),
        );
    }
}

fn guard(room: &mut Room, step: impl FnOnce(&mut Room)) {
    if catch_unwind(AssertUnwindSafe(|| step(room))).is_err() {
        room.hub().metrics.faults.add(1);
        tracing::error!(code = %room.id(), "a fault was caught in a room; it goes on");
        room.rest();
    }
}

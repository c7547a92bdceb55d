//! The server as a process, and devices at its sockets.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a test stops at the first thing that is wrong")]

mod command_line;
mod demo;
mod refusals;
mod restart;
mod rooms;

//! The live part: one task per code. A command goes in, a record comes out, and every device of the code gets the view
//! of its roles. Clinical rules are the engine's; sockets are the web's.

mod audience;
mod begin;
mod bind;
mod hub;
pub mod outbox;
mod room;
mod screens;
mod take;
mod task;

pub use hub::{Hub, Opening, Refused};
pub use room::{Command, Refusal};

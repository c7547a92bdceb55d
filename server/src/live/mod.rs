//! The live part: one task per code. A command goes in, a record comes out, and every device of the code gets the view
//! of its roles. Clinical rules are the engine's; sockets are the web's.

mod audience;
mod begin;
mod bind;
mod hub;
pub mod outbox;
mod review;
mod room;
mod screens;
mod take;
mod task;

pub use hub::{Hub, Opening, Refused};
pub use review::NotAppended;
pub use room::{Command, Refusal};

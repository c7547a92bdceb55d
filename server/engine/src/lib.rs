//! The pure heart of Coxswain: what can happen in a code, what that means, what comes next, and how well it went.
//!
//! Everything here is a deterministic function of records, a protocol and a moment. No clock, no IO, no randomness,
//! no async: `clippy.toml` beside the manifest bans them, and a test greps the dependency tree.
#![warn(missing_docs)]

pub mod check;
#[cfg(test)]
mod children;
pub mod dose;
pub mod event;
pub mod fit;
#[cfg(test)]
mod invariants;
pub mod measure;
mod number;
pub mod plan;
pub mod prompt;
pub mod protocol;
pub mod record;
#[cfg(test)]
mod scenarios;
#[cfg(test)]
mod sentences;
pub mod snapshot;
pub mod state;
pub mod stats;
#[cfg(test)]
mod testing;
pub mod timeline;
#[cfg(test)]
mod traps;
pub mod view;
pub mod weight;

//! The IO shell of Coxswain: everything that has a clock, a socket or a disk. It must not know a clinical rule; those
//! live in `coxswain-engine`.
#![warn(missing_docs)]

pub mod cli;
pub mod clock;
pub mod export;
pub mod ledger;
pub mod live;
pub mod machine;
pub mod metrics;
pub mod review;
pub mod secret;
pub mod server;
pub mod shelf;
pub mod team;
pub mod tls;
#[cfg(test)]
mod types;
pub mod web;
pub mod wire;

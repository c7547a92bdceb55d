//! The IO shell of Coxswain: everything that has a clock, a socket or a disk. It must not know a clinical rule; those
//! live in `coxswain-engine`.
#![warn(missing_docs)]

pub mod team;
#[cfg(test)]
mod types;
pub mod wire;

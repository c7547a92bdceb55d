//! Review: people with accounts look at finished codes, correct, debrief and sign them. Everything that they do to a code is
//! appended to its own chain; figures are the engine's, made anew from the records. This module must not measure.

pub mod change;
pub mod choose;
pub mod desk;
pub mod line;
pub mod monitor;
pub mod password;
pub mod prompts;
pub mod reading;
pub mod session;
pub mod shown;
pub mod signed;
pub mod span;
pub mod summary;
pub mod throttle;
pub mod trends;
pub mod wire;
pub mod words;

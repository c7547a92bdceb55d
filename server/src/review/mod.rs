//! Review: people with accounts look at finished codes, correct, debrief and sign them. Everything that they do to a code is
//! appended to its own chain; figures are the engine's, made anew from the records. This module must not measure.

pub mod summary;
pub mod trends;
pub mod wire;

//! The server as its devices and its shell see it.
#![expect(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test ends at what it did not expect")]

mod battery;
mod bodies;
mod children;
mod command_line;
mod leaving;
mod live;
mod review;
mod review_access;
mod review_exports;
mod slow_disk;
mod support;
mod tls;

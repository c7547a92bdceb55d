//! What the black-box tests share: the server as a process of its own, and devices that keep every frame they get.
//!
//! Nothing here looks into the server's memory or its database; it knows the command line, HTTP and the wire.

pub mod binary;
pub mod device;
pub mod server;

/// Anything that goes wrong in a test's own machinery, in words.
pub type Error = Box<dyn std::error::Error + Send + Sync>;

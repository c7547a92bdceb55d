//! The simulated team: seven players at a real server's sockets, each with its own device, seeing only its own views.
//!
//! Used by `coxswain demo` and by the black-box tests. It must not reach into the server it plays against, and it must
//! not plan: a player does what its screen asks, after the reaction time the scenario gives it, or forgets it.

mod act;
mod coach;
pub mod http;
pub mod link;
mod play;
mod player;
mod scenario;
mod timing;

pub use coach::Seat;
pub use play::{Deed, Played, TeamError, Told, open, play, take_seats};
pub use scenario::{Look, SHIPPED, Scenario, ScenarioError, Slip};

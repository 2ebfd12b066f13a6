//! jumpseat draws a recorded flight's instruments over the cockpit film that belongs to it.
//!
//! Data flows one way: records, readings, pictures, frames, file. Each room (module) hands plain structs to the next;
//! `DEVELOPERS.md` has the map, and `tests/rooms.rs` holds it.
//!
//! Recorded data, not for use in flight. The flight manual and the owner's own limits govern.

pub mod air;
#[cfg(feature = "codec")]
pub mod align;
pub mod blend;
pub mod cli;
pub mod clock;
pub mod demo;
pub mod draw;
pub mod finding;
pub mod flight;
pub mod formula;
pub mod judge;
pub mod keyfile;
pub mod meaning;
pub mod output;
pub mod panel;
pub mod pixel;
pub mod readout;
pub mod recorder;
#[cfg(feature = "codec")]
pub mod render;
pub mod report;
pub mod session;
pub mod signal;
pub mod time;
pub mod units;
#[cfg(feature = "codec")]
pub mod video;

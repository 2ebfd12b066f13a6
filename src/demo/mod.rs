//! An invented flight whose truth is known: for trying the program without a flight of one's own, and for testing it.

#[cfg(feature = "codec")]
pub mod film;
mod flight;

pub use flight::{DemoError, DemoOptions, LONGEST_S, SHORTEST_S, write};

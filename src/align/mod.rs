//! Fetches from clips what the clocks' evidence needs.

mod sound;
mod stamps;

pub use sound::tracks;
pub use stamps::stamps;

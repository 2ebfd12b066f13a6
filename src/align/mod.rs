//! Fetches from clips what the clocks' evidence needs.

mod stamps;

pub use stamps::stamps;

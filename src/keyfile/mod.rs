//! TOML files that people write by hand: read with the place of every value, so that each fault shows its line with a caret.
//!
//! All faults of a file are collected; a reader goes on with what is sound.

mod fault;
mod section;

pub use fault::{Fault, Place};
pub use section::{Document, Section};

//! From a logger's bytes to a [`Recording`]: channels on the logger's own clock, and what was odd about the file.

mod recording;

pub use recording::{Clock, ClockKind, Format, Recording};

//! From a logger's bytes to a [`Recording`]: channels on the logger's own clock, and what was odd about the file.
//!
//! One folder a format; all of them hand out the same struct. Rows are physical lines of the file, counted from 1, in
//! every finding and error.

pub mod csv;
mod describe;
mod error;
mod recording;

pub(crate) use csv::is_text;
pub use csv::{ClockOptions, CsvOptions, DateOrder, Decimal, Separator, TableOptions};
pub use describe::{ChannelSummary, ClockSummary, Gap, LogSummary, describe};
pub use error::RecorderError;
pub use recording::{Clock, ClockKind, Format, Recording};

use std::path::Path;

/// What the owner states about a log that the file itself does not say.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Options {
    /// For tables of separated cells.
    pub csv: CsvOptions,
}

/// Reads a log; the format is found by looking at its bytes, never at its name.
///
/// # Errors
/// [`RecorderError`]: the file cannot be opened, is no log, or its clock cannot be read.
pub fn read(path: &Path, options: &Options) -> Result<Recording, RecorderError> {
    csv::read(path, &options.csv)
}

/// The usual step between neighbours: the (lower) median, in the unit of `times`; none below two samples.
fn usual_step(times: &[f64]) -> Option<f64> {
    let mut steps: Vec<f64> = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let middle = steps.len().checked_sub(1)? / 2;
    Some(*steps.select_nth_unstable_by(middle, f64::total_cmp).1)
}

//! From a logger's bytes to a [`Recording`]: channels on the logger's own clock, and what was odd about the file.
//!
//! One folder a format; all of them hand out the same struct. Rows are physical lines of the file, counted from 1, in
//! every finding and error.

pub mod csv;
mod describe;
mod error;
mod gpx;
mod igc;
mod nmea;
mod recording;
mod series;

pub(crate) use csv::is_text;
pub use csv::{ClockOptions, CsvOptions, DateOrder, Decimal, Separator, TableOptions};
pub use describe::{ChannelSummary, ClockSummary, Gap, LogSummary, describe};
pub use error::RecorderError;
pub use recording::{Clock, ClockKind, Format, Part, Recording};

use crate::finding::Finding;
use crate::units::Unit;
use std::io::Read;
use std::path::Path;

/// How much of a file tells its format.
const HEAD: u64 = 64 * 1024;

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
    let reader = match head(path).as_deref().map(look) {
        Some(Format::Nmea) => nmea::read,
        Some(Format::Gpx) => gpx::read,
        Some(Format::Igc) => igc::read,
        _ => return csv::read(path, &options.csv),
    };
    let bytes = std::fs::read(path).map_err(|source| RecorderError::Open { file: path.to_owned(), source })?;
    let mut recording = reader(path, &bytes, options.csv.zone.as_ref())?;
    state_units(&mut recording, &options.csv.units)?;
    Ok(recording)
}

/// The first part of a file; none where it cannot be read, which the reader of tables then says best.
fn head(path: &Path) -> Option<Vec<u8>> {
    // Opening a pipe would wait for a writer.
    std::fs::metadata(path).ok().filter(std::fs::Metadata::is_file)?;
    let mut head = Vec::new();
    std::fs::File::open(path).ok()?.take(HEAD).read_to_end(&mut head).ok()?;
    Some(head)
}

fn look(head: &[u8]) -> Format {
    if gpx::looks_like(head) {
        Format::Gpx
    } else if igc::looks_like(head) {
        Format::Igc
    } else if nmea::looks_like(head) {
        Format::Nmea
    } else {
        Format::Csv
    }
}

/// Puts the owner's units into channels that state none.
fn state_units(recording: &mut Recording, units: &[(String, String)]) -> Result<(), RecorderError> {
    for (column, text) in units {
        let (file, column) = (recording.file.clone(), column.clone());
        let unit = match Unit::parse(text) {
            Ok(unit) => unit.symbol,
            Err(source) => return Err(RecorderError::UnknownUnit { file, column, source }),
        };
        let Some(channel) = recording.channels.iter_mut().find(|c| c.name == column) else {
            let likeness = |name: &str| strsim::jaro_winkler(&name.to_lowercase(), &column.to_lowercase());
            let names = recording.channels.iter().map(|c| c.name.clone());
            let nearest = names.max_by(|a, b| likeness(a).total_cmp(&likeness(b))).filter(|n| likeness(n) > 0.6);
            return Err(RecorderError::UnknownColumn { file, column, nearest });
        };
        if let Some(stated) = channel.unit.as_deref().filter(|stated| *stated != unit) {
            let stated = Unit::parse(stated).map_or("another unit", |unit| unit.symbol);
            return Err(RecorderError::UnitClash { file, column, stated, wanted: unit });
        }
        channel.unit = Some(unit.to_owned());
    }
    Ok(())
}

/// Tells of every finding's row when it was written. `rows` and `times`: of the records kept, rising.
fn date_findings(findings: &mut [Finding], rows: &[u64], times: &[f64]) {
    for finding in findings {
        let last = finding.row.map(|row| rows.partition_point(|r| *r <= row).saturating_sub(1));
        finding.at_s = last.and_then(|last| times.get(last)).copied();
    }
}

/// The usual step between neighbours: the (lower) median, in the unit of `times`; none below two samples.
fn usual_step(times: &[f64]) -> Option<f64> {
    let mut steps: Vec<f64> = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let middle = steps.len().checked_sub(1)? / 2;
    Some(*steps.select_nth_unstable_by(middle, f64::total_cmp).1)
}

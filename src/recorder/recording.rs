//! What every reader of a log format hands out.

use crate::finding::Finding;
use crate::signal::Channel;
use serde::Serialize;
use std::path::PathBuf;

/// The formats read so far.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Format {
    /// Rows of separated cells under a header.
    Csv,
    /// Sentences of NMEA 0183.
    Nmea,
    /// Tracks of GPX.
    Gpx,
    /// A flight recorder's file as the FAI's IGC lays it down.
    Igc,
}

impl Format {
    /// The word used in files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Csv => "csv",
            Self::Nmea => "nmea",
            Self::Gpx => "gpx",
            Self::Igc => "igc",
        }
    }
}

/// What a logger's clock counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ClockKind {
    /// UTC instants.
    Utc,
    /// Date and time of some zone that the log does not name.
    Local,
    /// Time of the GPS, which has no leap seconds.
    Gps,
    /// Seconds since the logger was switched on.
    Counter,
}

/// The logger's own clock: how its first sample is dated and how fine it counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Clock {
    /// What it counts.
    pub kind: ClockKind,
    /// The columns that it was read from, as the table's header names them; none where the format itself says where times stand.
    pub columns: Vec<String>,
    /// First stamp as the log writes it.
    pub first: String,
    /// Last stamp as the log writes it.
    pub last: String,
    /// Instant of the first sample; only where the log states UTC or a zone, and the date is not ambiguous.
    pub first_utc: Option<jiff::Timestamp>,
    /// Seconds between two counts of the clock's last digit.
    pub resolution_s: f64,
    /// Where the order of day and month is open: how the first stamp reads both ways (day first, month first).
    pub date_readings: Option<(String, String)>,
}

/// A stretch of a log between two places where its clock begins anew or is set: it has a clock of its own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Part {
    /// First physical line.
    pub first_row: u64,
    /// Last physical line.
    pub last_row: u64,
    /// How many rows with a time it has.
    pub rows: usize,
    /// First stamp as the log writes it.
    pub first: String,
    /// Last stamp as the log writes it.
    pub last: String,
    /// Whether it is the one that was read.
    pub read: bool,
}

/// A log as read: every channel on the logger's clock, zero at the first sample.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// The file.
    pub file: PathBuf,
    /// Its format.
    pub format: Format,
    /// Data rows that were taken.
    pub rows_read: usize,
    /// Data rows that were refused, each kind with its row numbers in `findings`.
    pub rows_refused: usize,
    /// Rows that hold no data and are no fault: what stands before the header, the header itself and where it is written
    /// again, units, comments; sentences, headers and waypoints that are not read. Read, refused and left out are together all
    /// that is in the file and not blank.
    pub rows_left_out: usize,
    /// The logger's clock.
    pub clock: Clock,
    /// The parts without a common clock, where there are several; the channels are those of one of them.
    pub parts: Vec<Part>,
    /// The columns, in the order of the file, without the time columns.
    pub channels: Vec<Channel>,
    /// What was odd, in the order of the rows.
    pub findings: Vec<Finding>,
}

impl Recording {
    /// Seconds from the first to the last sample of any channel.
    pub fn duration_s(&self) -> f64 {
        self.channels.iter().filter_map(Channel::span).map(|(_, last)| last).fold(0.0, f64::max)
    }
}

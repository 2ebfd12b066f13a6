//! Why a log could not be read: where, what was found, what was expected, and what to do.

use super::csv::DateOrder;
use crate::units::UnitError;
use std::io;
use std::path::PathBuf;

/// Why a log could not be read.
#[derive(Debug, thiserror::Error)]
pub enum RecorderError {
    /// The file cannot be opened.
    #[error("{}: cannot be opened: {source}; check the name and the rights", file.display())]
    Open {
        /// The log.
        file: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The file opened, but its bytes could not be read to the end.
    #[error("{}: reading stopped after row {row}: {source}; copy the file anew from the logger's card", file.display())]
    Read {
        /// The log.
        file: PathBuf,
        /// Last physical line that was read.
        row: u64,
        /// What the system said.
        source: io::Error,
    },
    /// There is not one byte in the file.
    #[error("{}: not a log: the file is empty; copy it anew from the logger's card", file.display())]
    Empty {
        /// The file.
        file: PathBuf,
    },
    /// The bytes are something else.
    #[error("{}: not a log: {found}; expected a table of separated cells (CSV) under a header row, NMEA 0183, GPX or IGC", file.display())]
    NotALog {
        /// The file.
        file: PathBuf,
        /// What the bytes look like, and the cure where there is one.
        found: &'static str,
    },
    /// Rows of numbers without the names of their columns.
    #[error(
        "{}, row {row}: expected a header row with the names of the columns, found `{found}`; \
         add one as the file's first line", file.display()
    )]
    NoHeader {
        /// The log.
        file: PathBuf,
        /// First row that was looked at.
        row: u64,
        /// Its text, shortened.
        found: String,
    },
    /// No column can serve as the clock.
    #[error(
        "{}: not a log that can be read: no column holds times (columns: {columns}); expected date and time, RFC 3339 \
         stamps, or a counter named like `time_ms` or `t [s]`: rename the column or state its unit", file.display()
    )]
    NoTimeColumn {
        /// The log.
        file: PathBuf,
        /// The names found in the header.
        columns: String,
    },
    /// A counter whose unit is not known.
    #[error(
        "{}, column `{column}`: counts time, but neither header nor unit row says in which unit (first value `{found}`); \
         state it, for example {column}=ms or {column}=s", file.display()
    )]
    TimeUnit {
        /// The log.
        file: PathBuf,
        /// The clock's column.
        column: String,
        /// Its first cell.
        found: String,
    },
    /// The format is known, and nothing in the file can be put on a clock.
    #[error("{}: {format} without one record that can be dated: {why}", file.display())]
    NothingDated {
        /// The log.
        file: PathBuf,
        /// The format's name.
        format: &'static str,
        /// What is missing, and the cure.
        why: String,
    },
    /// A header, and nothing usable under it.
    #[error("{}, row {header_row}: a header without data rows: {why}", file.display())]
    NoRows {
        /// The log.
        file: PathBuf,
        /// Where the header stands.
        header_row: u64,
        /// Whether there were none at all, or why none was taken.
        why: String,
    },
    /// No date fits the order that the owner named.
    #[error(
        "{}, row {row}, column `{column}`: `{found}` is no date that is written {order}; name another order of day, \
         month and year", file.display()
    )]
    DateOrder {
        /// The log.
        file: PathBuf,
        /// First row with a date.
        row: u64,
        /// The date's column.
        column: String,
        /// That date.
        found: String,
        /// The order that was named.
        order: DateOrder,
    },
    /// The dates of the column contradict each other.
    #[error(
        "{}, column `{column}`: no one order of day, month and year fits all dates: {clash}; name the order, and the \
         rows that do not fit it are refused", file.display()
    )]
    DateClash {
        /// The log.
        file: PathBuf,
        /// The date's column.
        column: String,
        /// For every order the first row that does not fit it.
        clash: String,
    },
    /// A unit was stated for a column that is not there.
    #[error(
        "{}: a unit is stated for column `{column}`, which the log does not have{}", file.display(),
        nearest.as_ref().map(|n| format!("; the nearest is `{n}`")).unwrap_or_default()
    )]
    UnknownColumn {
        /// The log.
        file: PathBuf,
        /// The name as stated.
        column: String,
        /// The column that is closest in spelling.
        nearest: Option<String>,
    },
    /// The stated unit is not known.
    #[error("{}, column `{column}`: the unit stated for it: {source}", file.display())]
    UnknownUnit {
        /// The log.
        file: PathBuf,
        /// The column.
        column: String,
        /// What is wrong with the unit, with the nearest known one.
        source: UnitError,
    },
    /// The log itself states a different unit.
    #[error(
        "{}, column `{column}`: the log says {stated}, the unit stated for it is {wanted}; a statement is only for columns \
         without a unit: take it out", file.display()
    )]
    UnitClash {
        /// The log.
        file: PathBuf,
        /// The column.
        column: String,
        /// The log's unit.
        stated: &'static str,
        /// The owner's.
        wanted: &'static str,
    },
    /// The row that the owner names is no header.
    #[error("{}, row {row}: the flight file says that the header stands here, but no row of cells does", file.display())]
    NotAHeader {
        /// The log.
        file: PathBuf,
        /// The row that was named.
        row: u64,
    },
    /// A column that the owner names for the clock is not there.
    #[error(
        "{}: the column `{column}` is to be the log's clock, but the log does not have it{}", file.display(),
        nearest.as_ref().map(|n| format!("; the nearest is `{n}`")).unwrap_or_default()
    )]
    NoSuchColumn {
        /// The log.
        file: PathBuf,
        /// The name as stated.
        column: String,
        /// The column that is closest in spelling.
        nearest: Option<String>,
    },
    /// A column that the owner names for the clock holds no times.
    #[error(
        "{}, column `{column}`: to be the log's clock, but holds no times (first value `{found}`); if they count something, \
         say what, for example counts = \"ms\"", file.display()
    )]
    NoTimes {
        /// The log.
        file: PathBuf,
        /// The column.
        column: String,
        /// Its first cell.
        found: String,
    },
    /// Times of two numbers without a date: of a day or of a flight.
    #[error(
        "{}, column `{column}`: `{found}` may be hours and minutes, or minutes and seconds, and without a date nothing decides; \
         write times as h:mm:ss, or name another column in the flight file: time_column = \"...\"", file.display()
    )]
    NoSeconds {
        /// The log.
        file: PathBuf,
        /// The column.
        column: String,
        /// Its first cell.
        found: String,
    },
    /// The numbers of the clock can be read two ways.
    #[error(
        "{}, column `{column}`: `{found}` may have a decimal comma or one that parts thousands, and nothing in the table \
         decides; set decimal = \"point\" or \"comma\" in the flight file", file.display()
    )]
    DecimalOpen {
        /// The log.
        file: PathBuf,
        /// The clock's column.
        column: String,
        /// Its first cell.
        found: String,
    },
    /// The part that the owner names is not there.
    #[error("{}: its clock begins anew so often that there are {parts} parts; power_up takes a number from 1 to {parts}", file.display())]
    PowerUp {
        /// The log.
        file: PathBuf,
        /// How many parts there are.
        parts: usize,
    },
    /// No stamp exists in the zone.
    #[error(
        "{}, row {row}: `{found}` never comes in the zone that was stated, and neither does any other row's time; state \
         utc_offset in place of zone", file.display()
    )]
    LocalTimeNever {
        /// The log.
        file: PathBuf,
        /// The first row.
        row: u64,
        /// Its stamp.
        found: String,
    },
}

//! What the owner may state about a table, in place of what is found by looking.

use super::DateOrder;
use crate::time::Count;
use std::fmt;

/// What the owner states about a table that the table itself does not say, or says misleadingly.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CsvOptions {
    /// The order of day, month and year, where the dates leave it open.
    pub date_order: Option<DateOrder>,
    /// The zone of local stamps; of no effect on stamps that state their own.
    pub zone: Option<jiff::tz::TimeZone>,
    /// Column and unit, for columns whose unit the table does not state.
    pub units: Vec<(String, String)>,
    /// How the cells are written.
    pub table: TableOptions,
    /// Where the time stands and what it counts.
    pub clock: ClockOptions,
}

/// How the cells of a table are written. What is none is found by looking.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TableOptions {
    /// What stands between two cells.
    pub separator: Option<Separator>,
    /// The decimal mark of numbers.
    pub decimal: Option<Decimal>,
    /// The encoding of the text.
    pub encoding: Option<&'static encoding_rs::Encoding>,
    /// Physical line of the header's first row, from 1.
    pub header_row: Option<u64>,
    /// How many rows the header has, the units row not counted.
    pub header_rows: Option<u64>,
    /// Physical line of the row of units, from 1.
    pub unit_row: Option<u64>,
    /// What a line of comment begins with.
    pub comment: Option<String>,
    /// Cells that stand for nothing; an empty list says that every number is a value.
    pub placeholders: Option<Vec<String>>,
}

/// Where a table's time stands and what it counts. What is none is found by looking.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ClockOptions {
    /// The column of dates, beside a time of day.
    pub date_column: Option<String>,
    /// The column of stamps, of times of day, of a count, or of seconds in the GPS week.
    pub time_column: Option<String>,
    /// The column of GPS weeks.
    pub week_column: Option<String>,
    /// What the time column counts.
    pub counts: Option<Count>,
    /// How many times the ten-bit GPS week has begun anew.
    pub gps_rollovers: Option<u8>,
    /// Which part of a log is read whose clock begins anew, from 1; else the one with most rows.
    pub power_up: Option<usize>,
}

/// What stands between two cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Separator {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// A tabulator.
    Tab,
    /// `|`
    Pipe,
    /// Blanks, so many that the cells stand under each other.
    Blanks,
}

/// The decimal mark of numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decimal {
    /// `1.5`; a comma then marks thousands.
    Point,
    /// `1,5`; a point then marks thousands.
    Comma,
}

impl fmt::Display for Separator {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Comma => "commas",
            Self::Semicolon => "semicolons",
            Self::Tab => "tabs",
            Self::Pipe => "pipes",
            Self::Blanks => "blanks",
        })
    }
}

//! What a number in a column of times counts.

use super::leap::unix_ns_of_gps;

const SECOND: i64 = 1_000_000_000;
const DAY: i64 = 86_400 * SECOND;

/// What a number that stands for a time counts, and since when.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Count {
    /// Since power-up; nanoseconds of one count.
    PowerUp(i64),
    /// Since 1970-01-01T00:00:00Z without leap seconds; nanoseconds of one count.
    Unix(i64),
    /// Since 1980-01-06T00:00:00Z with leap seconds, the time of the GPS; nanoseconds of one count.
    Gps(i64),
    /// Days of a spreadsheet whose day 1 is 1900-01-01, and which takes 1900 for a leap year: its 60 is no day.
    Sheet1900,
    /// Days of a spreadsheet whose day 0 is 1904-01-01.
    Sheet1904,
}

impl Count {
    /// The words of a flight file, and what they mean.
    pub const WORDS: [(&'static str, Self); 15] = [
        ("ns", Self::PowerUp(1)),
        ("us", Self::PowerUp(1000)),
        ("ms", Self::PowerUp(1_000_000)),
        ("s", Self::PowerUp(SECOND)),
        ("min", Self::PowerUp(60 * SECOND)),
        ("h", Self::PowerUp(3600 * SECOND)),
        ("unix ns", Self::Unix(1)),
        ("unix us", Self::Unix(1000)),
        ("unix ms", Self::Unix(1_000_000)),
        ("unix s", Self::Unix(SECOND)),
        ("gps ms", Self::Gps(1_000_000)),
        ("gps s", Self::Gps(SECOND)),
        ("mjd", Self::Unix(DAY)),
        ("days since 1900", Self::Sheet1900),
        ("days since 1904", Self::Sheet1904),
    ];

    /// Nanoseconds of one count.
    pub fn step_ns(self) -> i64 {
        match self {
            Self::PowerUp(ns) | Self::Unix(ns) | Self::Gps(ns) => ns,
            Self::Sheet1900 | Self::Sheet1904 => DAY,
        }
    }

    /// The nanoseconds that the log's clock then shows, from those counted: since 1970-01-01 in the zone of the count
    /// (UTC for `Unix`), in GPS time for `Gps`, since power-up for `PowerUp`. None for the day that never was.
    pub fn clock_ns(self, counted: i64) -> Option<i64> {
        // Ten digits hold a present-day serial to 9 microseconds: the milliseconds are sure.
        let rounded = |ns: i64| (ns + 500_000).div_euclid(1_000_000) * 1_000_000;
        match self {
            Self::PowerUp(_) | Self::Gps(_) | Self::Unix(1..DAY) => Some(counted),
            Self::Unix(_) => Some(rounded(counted) - 40_587 * DAY),
            Self::Sheet1900 if counted < 60 * DAY => Some(rounded(counted) - 25_568 * DAY),
            Self::Sheet1900 if counted < 61 * DAY => None,
            Self::Sheet1900 => Some(rounded(counted) - 25_569 * DAY),
            Self::Sheet1904 => Some(rounded(counted) - 24_107 * DAY),
        }
    }

    /// Unix nanoseconds of what the clock shows, if it is an instant by itself.
    pub fn unix_ns(self, clock_ns: i64) -> Option<i64> {
        match self {
            Self::Unix(_) => Some(clock_ns),
            Self::Gps(_) => Some(unix_ns_of_gps(clock_ns)),
            _ => None,
        }
    }
}

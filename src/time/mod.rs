//! Time as types: ticks in a stated base, and seconds on a stated clock.
//!
//! Three clocks meet here. *Film time* starts at the first shown video frame. *Log time* starts at the first sample of a
//! logger's power-up segment. *Session time* is the program's one axis: the clock of the reference logger.

mod count;
mod leap;
mod text;

pub use count::Count;
pub use leap::{follows_leap_second, gps_minus_utc, unix_ns_of_gps};
pub use text::{FilmTimeError, format_film_time, parse_film_time};

/// A ratio of two integers, as containers state their time bases, frame rates and pixel aspects.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rational {
    /// Numerator.
    pub num: i32,
    /// Denominator; never zero in a value that a reader of this crate hands out.
    pub den: i32,
}

impl Rational {
    /// The ratio `num / den`.
    pub const fn new(num: i32, den: i32) -> Self {
        Self { num, den }
    }

    /// The ratio as a number; NaN where the denominator is zero.
    pub fn as_f64(self) -> f64 {
        if self.den == 0 { f64::NAN } else { f64::from(self.num) / f64::from(self.den) }
    }

    /// Seconds for a count of ticks in this time base.
    pub fn seconds(self, ticks: i64) -> f64 {
        // Multiply first: exact for every tick count below 2^53 / num, so equal ticks give equal seconds.
        ticks as f64 * f64::from(self.num) / f64::from(self.den)
    }
}

/// Seconds since the first shown video frame of the (joined) film.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct FilmTime(pub f64);

/// Seconds since the first sample of a logger's power-up segment, on that logger's own clock.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct LogTime(pub f64);

/// Seconds on the reference logger's clock, zero at the session's first record; may be negative.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct SessionTime(pub f64);

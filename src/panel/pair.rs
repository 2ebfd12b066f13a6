//! Two small gauges on one dial: one scale up its left side, one up its right, as for oil pressure and temperature.

use super::{Marking, Scale};

/// A dial with two short hands.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// The name in the middle, e.g. `OIL`.
    pub title: String,
    /// The gauge on the left side.
    pub left: Gauge,
    /// The gauge on the right side.
    pub right: Gauge,
}

/// One side of a dial that has two.
#[derive(Debug, Clone, PartialEq)]
pub struct Gauge {
    /// Name of the channel shown.
    pub channel: String,
    /// What tells it from the other one, e.g. `P`.
    pub letter: String,
    /// Unit on the face; empty where the log states none.
    pub unit: String,
    /// Digits after the decimal point of the written value.
    pub decimals: u8,
    /// Values to angles, ticks and numerals; its angles lie within [`Gauge::ANGLES`] on its own side.
    pub scale: Scale,
    /// Range markings, from the owner's panel file only.
    pub markings: Vec<Marking>,
}

impl Gauge {
    /// Smallest and greatest angle from twelve, left or right: above lies the other side, below lie the values.
    pub const ANGLES: (f64, f64) = (25.0, 150.0);
    /// Angles of the least, the usual and the greatest value from twelve: hands that lie level need no second look.
    pub const LEVEL: [f64; 3] = [140.0, 90.0, 40.0];
}

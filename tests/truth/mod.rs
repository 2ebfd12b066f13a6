//! The truth of an invented flight, read from its own file, and how far a reading may be from it.

#![allow(dead_code, reason = "each test file takes what it needs")]

use std::collections::HashMap;
use std::path::Path;

/// `truth.csv`: rows a hundredth of a second apart.
pub struct Truth {
    columns: HashMap<String, usize>,
    rows: Vec<Vec<f64>>,
}

/// Seconds between two rows of the truth.
pub const STEP_S: f64 = 0.01;

impl Truth {
    pub fn read(folder: &Path) -> Self {
        let text = std::fs::read_to_string(folder.join("truth.csv")).expect("truth");
        let mut lines = text.lines();
        let header = lines.next().expect("header");
        let columns = header.split(',').enumerate().map(|(i, name)| (name.to_owned(), i)).collect();
        let numbers = |line: &str| line.split(',').map(|c| c.parse().expect("number")).collect::<Vec<f64>>();
        let rows: Vec<Vec<f64>> = lines.map(numbers).collect();
        assert!((rows[1][0] - rows[0][0] - STEP_S).abs() < 1e-9);
        Self { columns, rows }
    }

    pub fn column(&self, name: &str) -> usize {
        *self.columns.get(name).unwrap_or_else(|| panic!("the truth has no column {name}"))
    }

    /// The row's place, with its fraction, at which a clock's column reads `t`; clocks run evenly.
    pub fn at_clock(&self, clock: usize, t: f64) -> f64 {
        let (first, last) = (self.rows[0][clock], self.rows[self.rows.len() - 1][clock]);
        (t - first) / (last - first) * (self.rows.len() - 1) as f64
    }

    /// A column's value at a place; none outside.
    pub fn value(&self, column: usize, place: f64) -> Option<f64> {
        let i = place.floor();
        let (a, b) = (self.rows.get(i as usize)?[column], self.rows.get(i as usize + 1)?[column]);
        (i >= 0.0).then_some(a + (b - a) * (place - i))
    }

    /// The values of a column between two places.
    pub fn values(&self, column: usize, from: f64, to: f64) -> Vec<f64> {
        let clip = |p: f64| (p.max(0.0) as usize).min(self.rows.len() - 1);
        self.rows[clip(from.floor())..=clip(to.ceil())].iter().map(|r| r[column]).collect()
    }

    /// How far a reading may be from the truth at a place: half the log's resolution, plus what a straight line between two
    /// samples `dt` apart leaves out (max |x''| dt^2 / 8), plus what the clock's error moves (max |x'| times it). Slope and
    /// curvature are those of the truth itself around the moment.
    pub fn tolerance(&self, column: usize, place: f64, resolution: f64, dt: f64, clock_s: f64) -> f64 {
        let around = (dt + clock_s) / STEP_S + 2.0;
        let values = self.values(column, place - around, place + around);
        let slope = values.windows(2).map(|w| (w[1] - w[0]).abs() / STEP_S).fold(0.0, f64::max);
        let bend = values.windows(3).map(|w| (w[2] - 2.0 * w[1] + w[0]).abs() / (STEP_S * STEP_S)).fold(0.0, f64::max);
        resolution / 2.0 + bend * dt * dt / 8.0 + slope * clock_s + 1e-4
    }
}

/// What each log resolves, in the unit of its column, and its sampling interval; from the logs themselves, by eye.
pub fn resolution(channel: &str) -> f64 {
    match channel.split(" [").next().unwrap_or_default() {
        "air.IAS" | "air.OAT" | "air.Ground Speed" => 0.1,
        "air.Vertical Speed" => 10.0,
        "engine.Rotor" | "engine.Engine" | "engine.Fuel Flow" | "engine.Fuel" | "engine.Volts" => 0.1,
        _ => 1.0,
    }
}

/// Seconds between two samples of the channel's log.
pub fn interval(channel: &str) -> f64 {
    if channel.starts_with("air.") { 0.2 } else { 0.1 }
}

/// Whether the channel is a lamp, which jumps.
pub fn is_lamp(channel: &str) -> bool {
    channel.starts_with("engine.Lamp") || channel.starts_with("engine.Clutch")
}

/// How well the marks of the flight file join the engine's clock to the air log's: each is rounded to a hundredth on both
/// clocks, and stands within some hundredths of the moment that it names.
pub const ENGINE_CLOCK_S: f64 = 0.03;

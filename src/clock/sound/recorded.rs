//! A recorded speed as its logarithm, and what that is uncertain by.

use super::{HZ, LENGTH};
use crate::signal::{Channel, Samples};

/// Standard deviation of the weights with which a Hann window sees a tone's frequency: the peak is at the slope of the phase's
/// weighed regression on time, in which frequency counts by the sum of w t beyond a moment (0.162 of the window's length).
const SEEN_S: f64 = 0.162 * LENGTH as f64 / HZ as f64;

/// Speeds below this share of the usual one are not laid: no tone is heard there, and a sensor says least.
const LEAST_SPEED: f64 = 0.08;

/// The logarithm of a recorded speed.
pub(super) struct Recorded<'a> {
    times: &'a [f64],
    logs: Vec<f64>,
    /// Variance of each record's logarithm: what the rounding of its digits and the straight lines between records leave open.
    open: Vec<f64>,
    joined_s: f64,
}

impl<'a> Recorded<'a> {
    pub(super) fn of(channel: &'a Channel) -> Option<Self> {
        let Samples::Numbers(values) = &channel.samples else { return None };
        let least = LEAST_SPEED * channel.usual()?;
        let log = |v: &f64| if *v > least && *v > 0.0 { v.ln() } else { f64::NAN };
        let logs: Vec<f64> = values.iter().map(log).collect();
        let moves = values.windows(2).map(|v| (v[1] - v[0]).abs());
        let digit = moves.filter(|by| *by > 1e-9).fold(f64::MAX, f64::min);
        let digit = if digit == f64::MAX { 0.0 } else { digit };
        // A straight line misses a bent one by an eighth of the second difference at most; of its square by 8/15 on the mean.
        let bend = |i: usize| match (i.checked_sub(1).and_then(|before| logs.get(before)), logs.get(i + 1)) {
            (Some(before), Some(after)) if (before + after).is_finite() => (before - 2.0 * logs[i] + after) / 8.0,
            _ => 0.0,
        };
        let open = (0..logs.len()).map(|i| (digit / values[i]).powi(2) / 12.0 + 8.0 / 15.0 * bend(i).powi(2)).collect();
        Some(Self { times: &channel.times, logs, open, joined_s: channel.rules.joined_s })
    }

    /// The record before a moment, and how far the moment is on the way to the next; none where nothing is recorded.
    fn step(&self, t: f64) -> Option<(usize, f64)> {
        let after = self.times.partition_point(|&time| time <= t);
        let before = after.checked_sub(1)?;
        let (start, end) = (self.times[before], *self.times.get(after)?);
        (end - start <= self.joined_s).then(|| (before, (t - start) / (end - start)))
    }

    /// NaN where nothing is recorded.
    pub(super) fn at(&self, t: f64) -> f64 {
        self.step(t).map_or(f64::NAN, |(i, part)| self.logs[i] + (self.logs[i + 1] - self.logs[i]) * part)
    }

    /// The same as a spectrum's peak has it: the mean under the weights with which the window sees a tone's frequency, in Hermite's three
    /// points.
    pub(super) fn seen(&self, t: f64) -> f64 {
        let beside = 3f64.sqrt() * SEEN_S;
        (self.at(t - beside) + 4.0 * self.at(t) + self.at(t + beside)) / 6.0
    }

    /// Variance of what `at` gives.
    pub(super) fn open(&self, t: f64) -> f64 {
        self.step(t).map_or(0.0, |(i, _)| self.open[i].max(self.open[i + 1]))
    }

    /// Its slope, over two tenths of a second.
    pub(super) fn slope(&self, t: f64) -> f64 {
        (self.at(t + 0.1) - self.at(t - 0.1)) / 0.2
    }

    /// Evenly spaced from its first record on: that one's time, and the values.
    pub(super) fn grid(&self, step: f64) -> (f64, Vec<f64>) {
        let (first, last) = (self.times.first().copied().unwrap_or(0.0), self.times.last().copied().unwrap_or(0.0));
        (first, (0..=((last - first) / step) as usize).map(|i| self.at(first + step * i as f64)).collect())
    }
}

//! A recorded speed as its logarithm, and what that is uncertain by.

use super::{HZ, LENGTH};
use crate::signal::{Channel, Samples};

/// Standard deviation of the weights with which a Hann window sees a tone's frequency: the peak is at the slope of the phase's
/// weighed regression on time, in which frequency counts by the sum of w t beyond a moment (0.162 of the window's length).
const SEEN_S: f64 = 0.162 * LENGTH as f64 / HZ as f64;

/// A moment's slope is that of the records within so many seconds on either side, and of one on each side at least. Of two records beside
/// each other it would be mostly their sensor's noise, which says nothing of time but would be weighed as if it did.
const SLOPE_S: f64 = 0.5;

/// Speeds below this share of the usual one are not laid: no tone is heard there, and a sensor says least.
const LEAST_SPEED: f64 = 0.08;

/// The logarithm of a recorded speed.
pub(super) struct Recorded<'a> {
    times: &'a [f64],
    logs: Vec<f64>,
    /// Variance of each record's logarithm: what the rounding of its digits and the straight lines between records leave open.
    open: Vec<f64>,
    /// Slope about each record.
    slopes: Vec<f64>,
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
        let (times, joined_s) = (&*channel.times, channel.rules.joined_s);
        let slopes = (0..logs.len()).map(|i| slope_about(times, &logs, i, joined_s)).collect();
        Some(Self { times, logs, open, slopes, joined_s })
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

    /// Its slope (`SLOPE_S`); NaN where nothing is recorded.
    pub(super) fn slope(&self, t: f64) -> f64 {
        self.step(t).map_or(f64::NAN, |(i, part)| self.slopes[i] + (self.slopes[i + 1] - self.slopes[i]) * part)
    }

    /// Evenly spaced from its first record on: that one's time, and the values.
    pub(super) fn grid(&self, step: f64) -> (f64, Vec<f64>) {
        let (first, last) = (self.times.first().copied().unwrap_or(0.0), self.times.last().copied().unwrap_or(0.0));
        (first, (0..=((last - first) / step) as usize).map(|i| self.at(first + step * i as f64)).collect())
    }
}

/// Slope of the straight line through the records about one, by least squares; NaN where none is beside it.
fn slope_about(times: &[f64], logs: &[f64], i: usize, joined_s: f64) -> f64 {
    let joined = |a: usize| times[a + 1] - times[a] <= joined_s && logs[a].is_finite() && logs[a + 1].is_finite();
    let (mut from, mut to) = (i, i);
    while from > 0 && joined(from - 1) && (from == i || times[i] - times[from - 1] <= SLOPE_S) {
        from -= 1;
    }
    while to + 1 < times.len() && joined(to) && (to == i || times[to + 1] - times[i] <= SLOPE_S) {
        to += 1;
    }
    let count = (to - from + 1) as f64;
    let mean = |of: &[f64]| of[from..=to].iter().sum::<f64>() / count;
    let (t, log) = (mean(times), mean(logs));
    let spread: f64 = times[from..=to].iter().map(|v| (v - t).powi(2)).sum();
    times[from..=to].iter().zip(&logs[from..=to]).map(|(a, b)| (a - t) * (b - log)).sum::<f64>() / spread
}

//! How far apart rotor and engine may look because their loggers' clocks are not known better.

use super::said::Said;
use crate::air;
use crate::session::{ChannelId, Session};

/// Speeds change over at least this time on either side of a moment, in seconds (common practice, no source).
const HALF_S: f64 = 0.5;
/// Clocks that may be further apart than this at three sigma tell nothing of a difference, in seconds (common practice, no source).
const MOST_S: f64 = 5.0;

/// What a difference of two speeds must pass before it is more than two clocks, in the speeds' own unit.
pub(super) struct Doubt<'a> {
    clocks: Option<(&'a Session, [ChannelId; 2])>,
    speeds: [Speed; 2],
}

/// A speed's rates of change, and its unrest.
#[derive(Default)]
struct Speed {
    /// When, and how fast it changed there, in its unit a second, without the sign.
    rates: Vec<(f64, f64)>,
    unrest: f64,
}

impl<'a> Doubt<'a> {
    /// Of two channels with their records; none where one is computed, for that does not say on which clock it stands, or where nothing
    /// joins a log.
    pub fn new(session: &'a Session, ids: [ChannelId; 2], steps: [&[(f64, Said)]; 2]) -> Option<Self> {
        if session.same_log(ids[0], ids[1]) {
            return Some(Self { clocks: None, speeds: [Speed::default(), Speed::default()] });
        }
        let recorded = ids.iter().all(|&id| session.same_log(id, id) && session.fit(id).is_some());
        recorded.then(|| Self { clocks: Some((session, ids)), speeds: steps.map(Speed::new) })
    }

    /// Whether the two speeds have a clock each.
    pub fn has_two_clocks(&self) -> bool {
        self.clocks.is_some()
    }

    /// The standard deviation of the time between the two clocks, in seconds; at most, for their errors may be each other's opposite.
    pub fn clock_sigma(&self, time_s: f64) -> f64 {
        let sigma =
            |(session, ids): (&Session, [ChannelId; 2])| ids.iter().filter_map(|&id| session.sigma(id, time_s)).sum();
        self.clocks.map_or(0.0, sigma)
    }

    /// Three standard deviations of the difference at a moment; 0 for one log, infinite where the clocks are not known.
    pub fn three_sigma(&self, time_s: f64) -> f64 {
        if self.clocks.is_none() {
            return 0.0;
        }
        let clock = self.clock_sigma(time_s);
        if clock.is_nan() || 3.0 * clock > MOST_S {
            return f64::INFINITY;
        }
        let [rotor, engine] = &self.speeds;
        // What is late still changes after the other one has ceased to.
        let rate = self.speeds.iter().map(|speed| speed.fastest(time_s, 3.0 * clock)).fold(0.0, f64::max);
        3.0 * air::split_sigma_percent(rotor.unrest, engine.unrest, rate, clock)
    }
}

impl Speed {
    fn new(steps: &[(f64, Said)]) -> Self {
        let records =
            steps.iter().filter_map(|&(time, said)| if let Said::Value(v) = said { Some((time, v)) } else { None });
        let records: Vec<(f64, f64)> = records.collect();
        let rate = |i: usize| {
            let time = records[i].0;
            let before = records.partition_point(|r| r.0 <= time - HALF_S).saturating_sub(1).min(i.saturating_sub(1));
            let after = records.partition_point(|r| r.0 < time + HALF_S).max(i + 1).min(records.len() - 1);
            let (a, b) = (records[before], records[after]);
            (time, if b.0 > a.0 { ((b.1 - a.1) / (b.0 - a.0)).abs() } else { 0.0 })
        };
        Self { rates: (0..records.len()).map(rate).collect(), unrest: unrest(&records) }
    }

    /// The fastest change so close to a moment.
    fn fastest(&self, time_s: f64, within_s: f64) -> f64 {
        let first = self.rates.partition_point(|r| r.0 < time_s - within_s).saturating_sub(1);
        let last = (self.rates.partition_point(|r| r.0 <= time_s + within_s) + 1).min(self.rates.len());
        self.rates.get(first..last).unwrap_or_default().iter().fold(0.0, |most, r| most.max(r.1))
    }
}

/// A sensor's own unrest as a standard deviation: what three records in a row lie off a straight line (1.4826 times the median of those
/// second differences, over the root of 6), and no less than what a step of its numbers hides (over the root of 12).
fn unrest(records: &[(f64, f64)]) -> f64 {
    let mut bends: Vec<f64> = records.windows(3).map(|r| (r[0].1 - 2.0 * r[1].1 + r[2].1).abs()).collect();
    let middle = bends.len() / 2;
    let median = if bends.is_empty() { 0.0 } else { *bends.select_nth_unstable_by(middle, f64::total_cmp).1 };
    let steps = records.windows(2).map(|r| (r[1].1 - r[0].1).abs()).filter(|step| *step > 1e-9);
    let step = steps.fold(f64::INFINITY, f64::min);
    let step = if step.is_finite() { step } else { 0.0 };
    (1.4826 * median / 6f64.sqrt()).max(step / 12f64.sqrt())
}

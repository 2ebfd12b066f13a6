//! How far each channel may be trusted, as shares of the session.

use super::Quality;
use crate::session::{ChannelId, Session};
use crate::signal::{Channel, Origin, Samples};

/// Seconds in each state from `from` to `to` on the channel's own clock, by the same rules as its readings
/// ([`Channel::reading_at`]): fresh, held, stale, invalid.
fn seconds(channel: &Channel, from: f64, to: f64) -> [f64; 4] {
    let rules = &channel.rules;
    let mut sums = [0.0; 4];
    let mut add = |state: usize, a: f64, b: f64| sums[state] += (b.min(to) - a.max(from)).max(0.0);
    let times = &*channel.times;
    let (Some(&first), Some(&last)) = (times.first(), times.last()) else {
        return [0.0, 0.0, 0.0, (to - from).max(0.0)];
    };
    add(3, from, first);
    let mut ages = |record: f64, next: f64| {
        let (held, stale) = (next.min(record + rules.held_s), next.min(record + rules.stale_s));
        add(1, record, held);
        add(2, held, stale);
        add(3, stale, next);
    };
    for (_, pair) in times.windows(2).enumerate().filter(|(i, _)| !channel.is_joined(*i)) {
        ages(pair[0], pair[1]);
    }
    ages(last, to.max(last));
    // All the rest lies between neighbours.
    sums[0] = ((to - from) - sums[1] - sums[2] - sums[3]).max(0.0);
    sums
}

/// The usual rate: one over the median step.
fn rate(channel: &Channel) -> Option<f64> {
    let mut steps: Vec<f64> = channel.times.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let middle = steps.len().checked_sub(1)? / 2;
    let step = *steps.select_nth_unstable_by(middle, f64::total_cmp).1;
    (step > 0.0).then(|| 1.0 / step)
}

/// A channel's shares of the session.
pub(super) fn of(session: &Session, id: ChannelId, name: String, channel: &Channel) -> Quality {
    let (first, last) = session.span();
    let spans = session.fit(id).map(|fit| {
        let (from, to) = (fit.at(first.0), fit.at(last.0));
        seconds(channel, from, to).map(|s| if to > from { s / (to - from) } else { 0.0 })
    });
    let [fresh, held, stale, invalid] = spans.unwrap_or([0.0, 0.0, 0.0, 1.0]);
    let derived = channel.origin == Origin::Derived && matches!(channel.samples, Samples::Numbers(_));
    let (measured, derived) = if derived { (0.0, fresh) } else { (fresh, 0.0) };
    Quality {
        channel: name,
        unit: channel.unit.clone(),
        rate_hz: rate(channel),
        samples: channel.times.len(),
        measured,
        derived,
        held,
        stale,
        invalid,
        // No reader knows yet where a sensor's own range ends.
        saturated: 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::{Cursor, Kind, State, StateRules};

    /// Counting the states of readings at a hundred thousand moments says the same.
    #[test]
    fn shares_are_those_of_the_readings() {
        let times: Vec<f64> = [0.5, 1.5, 2.5, 9.0, 10.0, 60.0, 61.0].to_vec();
        let channel = Channel {
            name: "T".into(),
            unit: None,
            kind: Kind::Continuous,
            samples: Samples::Numbers(times.clone()),
            times: times.into(),
            missing: 0,
            breaks: vec![1],
            rules: StateRules::for_interval(1.0),
            origin: Origin::Recorded,
        };
        for (from, to) in [(0.0, 120.0), (3.0, 20.0), (70.0, 80.0)] {
            let mut counted = [0usize; 4];
            let n = 100_000;
            for i in 0..n {
                let t = from + (to - from) * (i as f64 + 0.5) / n as f64;
                let state = match channel.reading_at(t, &mut Cursor::default()).state {
                    State::Held => 1,
                    State::Stale => 2,
                    State::Invalid => 3,
                    _ => 0,
                };
                counted[state] += 1;
            }
            for (sum, count) in seconds(&channel, from, to).into_iter().zip(counted) {
                let share = sum / (to - from);
                assert!((share - count as f64 / n as f64).abs() < 1e-3, "{from} to {to}: {share} {count}");
            }
        }
    }
}

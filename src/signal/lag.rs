//! A hand that follows its record with a lag, as a pure function of time.

use super::channel::shorter_way;
use super::{Channel, Cursor, Kind, Samples};

/// How far a first-order lag stands from its record: `dy/dt = (x - y) / T`, solved exactly between records.
///
/// Every run of joined records starts on its first record, so nothing is smoothed across a gap.
#[derive(Debug, Clone, PartialEq)]
pub struct Lag {
    seconds: f64,
    /// Lagged value less record, one a record.
    behind: Vec<f64>,
}

impl Lag {
    /// The lag of a channel with a time constant in seconds, above zero; none for texts.
    pub fn new(channel: &Channel, seconds: f64) -> Option<Self> {
        let Samples::Numbers(values) = &channel.samples else { return None };
        let mut behind: Vec<f64> = Vec::with_capacity(values.len());
        for i in 0..values.len() {
            let before = i.checked_sub(1).filter(|&j| channel.is_joined(j));
            behind.push(before.map_or(0.0, |j| {
                let (step, way) = (channel.times[i] - channel.times[j], way(channel.kind, values[j], values[i]));
                match channel.kind {
                    Kind::Discrete => after(behind[j], 0.0, step, seconds) - way,
                    Kind::Continuous | Kind::Angle => after(behind[j], way / step, step, seconds),
                }
            }));
        }
        Some(Self { seconds, behind })
    }

    /// What to add to the channel's value at `t` seconds on its logger's clock.
    pub fn at(&self, channel: &Channel, t: f64, cursor: &mut Cursor) -> f64 {
        let (Some(i), Samples::Numbers(values)) = (channel.last_record_at(t, cursor), &channel.samples) else {
            return 0.0;
        };
        let moves = channel.kind != Kind::Discrete && channel.is_joined(i);
        let slope = if moves {
            way(channel.kind, values[i], values[i + 1]) / (channel.times[i + 1] - channel.times[i])
        } else {
            0.0
        };
        after(self.behind[i], slope, t - channel.times[i], self.seconds)
    }
}

/// How far from its record the lagged value stands after `dt`, if the record moves by `slope` a second.
fn after(behind: f64, slope: f64, dt: f64, seconds: f64) -> f64 {
    let steady = -slope * seconds;
    steady + (behind - steady) * (-dt / seconds).exp()
}

fn way(kind: Kind, from: f64, to: f64) -> f64 {
    if kind == Kind::Angle { shorter_way(from, to) } else { to - from }
}

#[cfg(test)]
mod tests {
    use super::super::made::channel;
    use super::*;

    /// Against the differential equation itself, integrated in steps of 0.1 ms.
    #[test]
    fn it_solves_the_equation_of_a_first_order_lag() {
        let values = [10.0, 12.0, 30.0, 30.0, 5.0, 5.0, 5.0];
        for kind in [Kind::Continuous, Kind::Discrete] {
            let c = channel(kind, &[0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0], &values);
            let lag = Lag::new(&c, 0.7).unwrap();
            let mut y = 10.0;
            for n in 0..60_000 {
                let t = f64::from(n) * 1e-4;
                let x = c.reading_at(t, &mut Cursor::default()).value.unwrap();
                if n % 500 == 0 {
                    let found = x + lag.at(&c, t, &mut Cursor::default());
                    assert!((found - y).abs() < 5e-3, "{kind:?} at {t}: {found} for {y}");
                }
                y += 1e-4 * (x - y) / 0.7;
            }
        }
    }

    #[test]
    fn a_gap_starts_anew_and_north_is_no_obstacle() {
        let c = channel(Kind::Continuous, &[0.0, 1.0, 9.0, 10.0], &[0.0, 100.0, 50.0, 50.0]);
        let lag = Lag::new(&c, 2.0).unwrap();
        let at =
            |t: f64| c.reading_at(t, &mut Cursor::default()).value.unwrap() + lag.at(&c, t, &mut Cursor::default());
        assert!(at(1.0) < 25.0, "{}", at(1.0));
        assert!(at(3.9) > at(1.0) && at(3.9) < 100.0, "while the value is held the hand still comes nearer");
        assert_eq!((at(9.0), at(9.5)), (50.0, 50.0));
        let north = channel(Kind::Angle, &[0.0, 1.0, 2.0], &[350.0, 10.0, 30.0]);
        let lag = Lag::new(&north, 1.0).unwrap();
        // Steady turning at 20 degrees a second: after n time constants 20 (1 - e^-n) behind.
        let expected = -20.0 * (1.0 - (-2.0_f64).exp());
        assert!((lag.at(&north, 2.0, &mut Cursor::default()) - expected).abs() < 1e-9);
    }
}

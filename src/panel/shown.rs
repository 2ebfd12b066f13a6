//! When an instrument is shown, and how strongly; the ranges that its owner is used to.

use super::{EngineState, Phase};

/// One channel between two values.
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
    /// The channel.
    pub channel: String,
    /// It must be above this value, in the channel's own unit.
    pub above: Option<f64>,
    /// It must be below this value, in the channel's own unit.
    pub below: Option<f64>,
    /// For how long, in seconds, before it counts.
    pub seconds: f64,
    /// How far outside the value must be before it counts no longer, in the channel's own unit.
    pub clear_by: f64,
}

impl Bound {
    /// Whether a value lies between the two, widened by `by` on either side.
    pub fn holds(&self, value: f64, by: f64) -> bool {
        self.above.is_none_or(|above| value > above - by) && self.below.is_none_or(|below| value < below + by)
    }
}

/// What the flight must be like: all of this holds. Where something of it is not known, it is not known whether it holds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Condition {
    /// Every one of these.
    pub all: Vec<Bound>,
    /// One of these phases, if there are any.
    pub phases: Vec<Phase>,
    /// One of these states of the engine, if there are any.
    pub engine: Vec<EngineState>,
}

/// When an instrument is shown, and how strongly.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// Film time in seconds from which it is shown; from the first frame on where none is given.
    pub from_s: Option<f64>,
    /// Film time in seconds at which it is gone; never where none is given.
    pub to_s: Option<f64>,
    /// It is shown only while this holds.
    pub condition: Option<Condition>,
    /// How long it takes to come and to go, in seconds.
    pub fade_s: f64,
    /// Its opacity when it is fully there, above 0 and up to 1.
    pub opacity: f64,
}

impl Default for Shown {
    fn default() -> Self {
        Self { from_s: None, to_s: None, condition: None, fade_s: 0.0, opacity: 1.0 }
    }
}

impl Shown {
    /// The share of itself that an instrument has at a film time, 0 to 1, by `from` and `to` alone: it comes after the one and is
    /// gone at the other.
    pub fn in_film(&self, film_s: f64) -> f64 {
        let ramp = |since: f64| {
            let there = if since < 0.0 { 0.0 } else { 1.0 };
            if self.fade_s > 0.0 { (since / self.fade_s).clamp(0.0, 1.0) } else { there }
        };
        let going = |left: f64| if left > 0.0 { ramp(left) } else { 0.0 };
        self.from_s.map_or(1.0, |from| ramp(film_s - from)).min(self.to_s.map_or(1.0, |to| going(to - film_s)))
    }
}

/// A range that the owner is used to in one part of a flight: not a limit, and never drawn as one.
#[derive(Debug, Clone, PartialEq)]
pub struct UsualRange {
    /// The hand that it belongs to, counted as in [`crate::panel::Face::hands`].
    pub hand: usize,
    /// Its lower end, in the hand's unit.
    pub from: f64,
    /// Its upper end, in the hand's unit.
    pub to: f64,
    /// It is shown only while this holds; always where there is none.
    pub condition: Option<Condition>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_comes_after_the_first_time_and_is_gone_at_the_second() {
        let shown = Shown { from_s: Some(10.0), to_s: Some(20.0), fade_s: 2.0, ..Shown::default() };
        let found = [9.9, 10.0, 11.0, 12.0, 18.0, 19.0, 20.0, 25.0].map(|t| shown.in_film(t));
        assert_eq!(found, [0.0, 0.0, 0.5, 1.0, 1.0, 0.5, 0.0, 0.0]);
        let hard = Shown { fade_s: 0.0, ..shown };
        assert_eq!([9.9, 10.0, 19.9, 20.0].map(|t| hard.in_film(t)), [0.0, 1.0, 1.0, 0.0]);
        assert_eq!(Shown::default().in_film(-5.0), 1.0);
    }
}

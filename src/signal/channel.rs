//! A channel's records and the look-up of a moment among them.

use super::{Reading, State, StateRules};
use std::sync::Arc;

/// How a quantity behaves between two records.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Changes steadily: linear interpolation.
    Continuous,
    /// A direction in degrees, 0 to 360: interpolation along the shorter arc.
    Angle,
    /// Jumps from value to value (a lamp, a code): the last record counts.
    Discrete,
}

/// A channel's records, missing cells left out. Times rise strictly.
#[derive(Debug, Clone, PartialEq)]
pub enum Samples {
    /// Numbers, one a time.
    Numbers(Vec<f64>),
    /// Texts, one a time: codes and names whose zeros must be kept.
    Texts(Vec<Arc<str>>),
}

/// One recorded quantity on its logger's clock.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// The column's name as the log writes it, without its unit.
    pub name: String,
    /// Symbol of the unit as `units` writes it; none where the log states none.
    pub unit: Option<String>,
    /// How it behaves between records.
    pub kind: Kind,
    /// Seconds since the first sample, one for every valid record. Shared where no cell is missing.
    pub times: Arc<[f64]>,
    /// The records, as many as `times`.
    pub samples: Samples,
    /// Cells that were empty, or held a word for "nothing" such as `NA`.
    pub missing: usize,
    /// Indices of the records before which the logger was off, rising: such a record is no neighbour of the one before it, however
    /// close the two clocks put them.
    pub breaks: Vec<usize>,
    /// The ages that separate its states.
    pub rules: StateRules,
    /// Where its values come from.
    pub origin: Origin,
}

/// Where a channel's values come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Origin {
    /// A logger wrote them.
    #[default]
    Recorded,
    /// They were computed from other channels.
    Derived,
}

/// Remembers where the last look-up ended, so that the next one, usually close by, costs next to nothing.
/// It never changes an answer.
#[derive(Debug, Clone, Copy, Default)]
pub struct Cursor(usize);

impl Channel {
    /// What the channel says at `t` seconds on its logger's clock.
    ///
    /// Between neighbouring records: *measured*, interpolated by kind. In a longer gap and after the last record: the
    /// last value *held*, then *stale*, then *invalid*, by the channel's rules; never interpolated. Before the first
    /// record: *invalid*. A text channel gives no number: see [`Channel::text_at`].
    pub fn reading_at(&self, t: f64, cursor: &mut Cursor) -> Reading {
        let Samples::Numbers(values) = &self.samples else { return Reading::INVALID };
        let Some(i) = self.last_record_at(t, cursor) else { return Reading::INVALID };
        let (start, value) = (self.times[i], values[i]);
        let age_s = t - start;
        if age_s == 0.0 {
            return Reading { value: Some(value), state: self.fresh(), age_s };
        }
        match self.times.get(i + 1) {
            Some(&end) if self.is_joined(i) => {
                let share = age_s / (end - start);
                let value = match self.kind {
                    Kind::Continuous => value + (values[i + 1] - value) * share,
                    Kind::Angle => shorter_arc(value, values[i + 1], share),
                    Kind::Discrete => value,
                };
                Reading { value: Some(value), state: self.fresh(), age_s: 0.0 }
            }
            _ => self.aged(Some(value), age_s),
        }
    }

    /// The text at `t` seconds on the logger's clock, none where it is stale or invalid; and how far to trust it, as a
    /// reading without a number. Nothing from a channel of numbers.
    pub fn text_at(&self, t: f64, cursor: &mut Cursor) -> (Option<&str>, Reading) {
        let Samples::Texts(texts) = &self.samples else { return (None, Reading::INVALID) };
        let Some(i) = self.last_record_at(t, cursor) else { return (None, Reading::INVALID) };
        let reading = if self.is_joined(i) || t == self.times[i] {
            Reading { value: None, state: State::Measured, age_s: 0.0 }
        } else {
            self.aged(None, t - self.times[i])
        };
        (matches!(reading.state, State::Measured | State::Held).then(|| &*texts[i]), reading)
    }

    /// Least and greatest recorded number; none for texts and for an empty channel.
    pub fn range(&self) -> Option<(f64, f64)> {
        let Samples::Numbers(values) = &self.samples else { return None };
        let first = *values.first()?;
        Some(values.iter().fold((first, first), |(low, high), &v| (low.min(v), high.max(v))))
    }

    /// The value about which it stands while what it measures is at work: the median of the numbers above a tenth of the
    /// greatest; none for texts and for an empty channel.
    pub fn usual(&self) -> Option<f64> {
        let Samples::Numbers(values) = &self.samples else { return None };
        let (_, high) = self.range()?;
        let mut at_work: Vec<f64> = values.iter().copied().filter(|&v| v >= 0.1 * high).collect();
        let middle = at_work.len() / 2;
        (middle < at_work.len()).then(|| *at_work.select_nth_unstable_by(middle, f64::total_cmp).1)
    }

    /// First and last record's time; none for an empty channel.
    pub fn span(&self) -> Option<(f64, f64)> {
        Some((*self.times.first()?, *self.times.last()?))
    }

    /// The state of a value of this moment.
    const fn fresh(&self) -> State {
        match self.origin {
            Origin::Recorded => State::Measured,
            Origin::Derived => State::Derived,
        }
    }

    fn aged(&self, value: Option<f64>, age_s: f64) -> Reading {
        if age_s <= self.rules.held_s {
            Reading { value, state: State::Held, age_s }
        } else if age_s <= self.rules.stale_s {
            Reading { value, state: State::Stale, age_s }
        } else {
            Reading { value: None, state: State::Invalid, age_s }
        }
    }

    /// Whether the record of this index and the one after it are neighbours, between which the channel has a value.
    pub fn is_joined(&self, i: usize) -> bool {
        let pair = self.times.get(i).zip(self.times.get(i + 1));
        pair.is_some_and(|(start, end)| end - start <= self.rules.joined_s)
            && self.breaks.binary_search(&(i + 1)).is_err()
    }

    /// Index of the last record with a time of at most `t`.
    pub(super) fn last_record_at(&self, t: f64, cursor: &mut Cursor) -> Option<usize> {
        let times = &*self.times;
        if t.is_nan() || times.first().is_none_or(|&first| t < first) {
            return None;
        }
        let mut i = cursor.0.min(times.len() - 1);
        // A film walks forward by less than a record or two; anything else is a jump.
        let near = times[i] <= t && times.get(i + 4).is_none_or(|&later| later > t);
        if near {
            while times.get(i + 1).is_some_and(|&next| next <= t) {
                i += 1;
            }
        } else {
            i = times.partition_point(|&time| time <= t) - 1;
        }
        cursor.0 = i;
        Some(i)
    }
}

/// From direction `a` towards `b` along the shorter arc, in degrees within 0 to 360.
fn shorter_arc(a: f64, b: f64, share: f64) -> f64 {
    (a + shorter_way(a, b) * share).rem_euclid(360.0)
}

/// Degrees from direction `a` to `b` along the shorter arc, clockwise positive.
#[inline]
pub(crate) fn shorter_way(a: f64, b: f64) -> f64 {
    let turn = b - a + 540.0;
    // Between two directions it is within two turns, and a division that costs twenty times as much says the same.
    let within = if (360.0..720.0).contains(&turn) { turn - 360.0 } else { turn.rem_euclid(360.0) };
    within - 180.0
}

#[cfg(test)]
mod tests {
    use super::super::made::channel;
    use super::*;

    fn at(channel: &Channel, t: f64) -> (State, Option<f64>) {
        let reading = channel.reading_at(t, &mut Cursor::default());
        (reading.state, reading.number())
    }

    #[test]
    fn every_state_by_the_rule() {
        let c = channel(Kind::Continuous, &[0.0, 1.0, 10.0, 11.0], &[0.0, 10.0, 20.0, 40.0]);
        assert_eq!(at(&c, -0.1), (State::Invalid, None));
        assert_eq!(at(&c, 0.25), (State::Measured, Some(2.5)));
        assert_eq!(at(&c, 4.0), (State::Held, Some(10.0)), "the last value, not a point on the way to the next");
        assert_eq!(at(&c, 4.1), (State::Stale, None));
        assert_eq!(at(&c, 10.0), (State::Measured, Some(20.0)));
        assert_eq!(at(&c, 11.5), (State::Held, Some(40.0)));
        assert_eq!(at(&c, 42.0), (State::Invalid, None));
        assert_eq!(at(&c, f64::NAN), (State::Invalid, None));
    }

    #[test]
    fn nothing_is_drawn_across_a_break() {
        let whole = channel(Kind::Continuous, &[0.0, 1.0, 2.0, 3.0], &[0.0, 10.0, 90.0, 100.0]);
        let broken = Channel { breaks: vec![2], ..whole.clone() };
        assert_eq!(at(&whole, 1.5), (State::Measured, Some(50.0)));
        assert_eq!(at(&broken, 1.5), (State::Held, Some(10.0)), "no value between two that have none between them");
        assert_eq!([at(&broken, 0.5), at(&broken, 2.5)], [at(&whole, 0.5), at(&whole, 2.5)]);
        assert_eq!(at(&broken, 2.0), (State::Measured, Some(90.0)));
    }

    #[test]
    fn texts_have_every_state_too() {
        let texts = ["118.005", "0021"].map(Arc::from).to_vec();
        let c = Channel { samples: Samples::Texts(texts), ..channel(Kind::Discrete, &[0.0, 1.0], &[]) };
        for (t, text, state) in [
            (-0.1, None, State::Invalid),
            (0.9, Some("118.005"), State::Measured),
            (1.0, Some("0021"), State::Measured),
            (4.0, Some("0021"), State::Held),
            (4.1, None, State::Stale),
            (31.1, None, State::Invalid),
        ] {
            let (found, reading) = c.text_at(t, &mut Cursor::default());
            assert_eq!((found, reading.state, reading.value), (text, state, None), "{t}");
        }
        assert_eq!(at(&c, 0.5), (State::Invalid, None), "a text is no number");
    }

    #[test]
    fn discrete_holds_and_angles_take_the_shorter_arc() {
        assert_eq!(at(&channel(Kind::Discrete, &[0.0, 1.0], &[0.0, 1.0]), 0.9), (State::Measured, Some(0.0)));
        assert_eq!(at(&channel(Kind::Angle, &[0.0, 1.0], &[350.0, 10.0]), 0.75), (State::Measured, Some(5.0)));
        assert_eq!(at(&channel(Kind::Angle, &[0.0, 1.0], &[10.0, 350.0]), 0.75), (State::Measured, Some(355.0)));
    }

    proptest::proptest! {
        #[test]
        fn the_shorter_way_is_that_of_the_division(a in -720.0f64..720.0, b in -720.0f64..720.0, step in -800i32..800) {
            for b in [b, a + 360.0, a, a - 180.0, a + 180.0, a + f64::from(step)] {
                let divided = (b - a + 540.0).rem_euclid(360.0) - 180.0;
                proptest::prop_assert_eq!(shorter_way(a, b).to_bits(), divided.to_bits());
            }
        }

        /// The cursor is a shortcut: whatever was asked before, the answer is that of a fresh look-up.
        #[test]
        fn cursor_never_changes_an_answer(steps in proptest::collection::vec(0.01f64..20.0, 1..60),
                                          asked in proptest::collection::vec(-5.0f64..700.0, 1..40)) {
            let times: Vec<f64> = steps.iter().scan(0.0, |t, s| { *t += s; Some(*t) }).collect();
            let values: Vec<f64> = times.iter().map(|t| t.sin()).collect();
            let c = channel(Kind::Continuous, &times, &values);
            let mut cursor = Cursor::default();
            for t in asked {
                proptest::prop_assert_eq!(c.reading_at(t, &mut cursor), c.reading_at(t, &mut Cursor::default()));
            }
        }
    }
}

//! A channel over the whole session: what its hand shows at each moment, as straight pieces.

use crate::signal::{Channel, Kind, Samples};

/// A channel in the panel's unit on the session's clock, piece by piece. Where there is no piece, nothing may be shown.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trace {
    /// In the order of time.
    pub pieces: Vec<Piece>,
}

/// A stretch in which the value runs straight from one end to the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Session time in seconds at which it starts and ends; the same for a jump.
    pub span_s: (f64, f64),
    /// The values there.
    pub values: (f64, f64),
    /// Whether a value is only kept, not recorded.
    pub held: bool,
}

impl Piece {
    /// The value at a session time within the piece.
    pub fn value_at(&self, time_s: f64) -> f64 {
        let ((from_s, to_s), (from, to)) = (self.span_s, self.values);
        if to_s > from_s { from + (to - from) * ((time_s - from_s) / (to_s - from_s)).clamp(0.0, 1.0) } else { to }
    }
}

impl Trace {
    /// The same as [`Channel::reading_at`] says at every moment, but for stale and invalid ones.
    /// `session` turns the logger's time into session time.
    pub(super) fn new(channel: &Channel, session: impl Fn(f64) -> f64, convert: impl Fn(f64) -> Option<f64>) -> Self {
        let Samples::Numbers(values) = &channel.samples else { return Self::default() };
        let mut pieces = Vec::with_capacity(values.len());
        let mut add = |span: (f64, f64), from: f64, to: f64, held: bool| {
            if let (Some(from), Some(to)) = (convert(from), convert(to)) {
                let span_s = (session(span.0), session(span.1));
                pieces.push(Piece { span_s, values: (from, to), held });
            }
        };
        for (i, (&start, &value)) in channel.times.iter().zip(values).enumerate() {
            let next = channel.times.get(i + 1).copied().zip(values.get(i + 1).copied());
            let Some((end, next)) = next.filter(|_| channel.is_joined(i)) else {
                let end = next.map_or(f64::INFINITY, |(end, _)| end);
                add((start, end.min(start + channel.rules.held_s)), value, value, true);
                continue;
            };
            match channel.kind {
                Kind::Continuous => add((start, end), value, next, false),
                Kind::Discrete => {
                    add((start, end), value, value, false);
                    add((end, end), value, next, false);
                }
                Kind::Angle => {
                    // Along the shorter arc, which may lead through north.
                    let step = (next - value + 540.0).rem_euclid(360.0) - 180.0;
                    let edge = if step > 0.0 { 360.0 } else { 0.0 };
                    if (0.0..=360.0).contains(&(value + step)) {
                        add((start, end), value, value + step, false);
                    } else {
                        let north = start + (end - start) * (edge - value) / step;
                        add((start, north), value, edge, false);
                        add((north, end), 360.0 - edge, next, false);
                    }
                }
            }
        }
        Self { pieces }
    }

    /// The pieces that have a part in a stretch of session time, in seconds.
    pub fn within(&self, from_s: f64, to_s: f64) -> &[Piece] {
        let first = self.pieces.partition_point(|piece| piece.span_s.1 < from_s);
        let end = self.pieces.partition_point(|piece| piece.span_s.0 <= to_s);
        self.pieces.get(first..end).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::{Cursor, State, StateRules};

    /// At every moment the trace says what the hand says, in every kind and state.
    #[test]
    fn a_trace_agrees_with_the_hand() {
        let times = [0.0, 1.0, 2.0, 2.4, 6.5, 7.0, 8.0];
        let values = [350.0, 5.0, 20.0, 340.0, 180.0, 10.0, 350.0];
        let session = |t: f64| t - 3.0;
        for kind in [Kind::Continuous, Kind::Discrete, Kind::Angle] {
            let channel = Channel {
                name: "x".into(),
                unit: None,
                kind,
                times: times[..].into(),
                samples: Samples::Numbers(values.to_vec()),
                missing: 0,
                breaks: vec![1],
                rules: StateRules::for_interval(1.0),
                origin: crate::signal::Origin::Recorded,
            };
            let trace = Trace::new(&channel, session, |v| Some(2.0 * v));
            for t in (-100..1400).map(|i| f64::from(i) * 0.01 + 0.003) {
                let reading = channel.reading_at(t, &mut Cursor::default());
                let at = session(t);
                let shown = trace.within(at, at).last().map(|p| (p.value_at(at) / 2.0, p.held));
                let wanted = reading.number().map(|v| (v, reading.state == State::Held));
                match (shown, wanted) {
                    (Some(a), Some(b)) => assert!((a.0 - b.0).abs() < 1e-6 && a.1 == b.1, "{kind:?} {t}: {a:?} {b:?}"),
                    (a, b) => assert_eq!(a, b, "{kind:?} at {t}"),
                }
            }
        }
    }
}

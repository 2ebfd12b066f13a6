//! Faces that lie on a plate instead of a disc: a bar whose end says the value, and a tape that moves past a window.

use super::{Marking, Scale, Ticks};

/// A horizontal bar over a scale, for what runs out.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// Name of the channel shown.
    pub channel: String,
    /// The name on the plate.
    pub title: String,
    /// Unit on the plate; empty where the log states none.
    pub unit: String,
    /// Digits after the decimal point of the written value.
    pub decimals: u8,
    /// Values to shares of the track (0 at its foot, 1 at its end) in place of angles; see [`Bar::linear`].
    pub scale: Scale,
    /// Range markings, from the owner's panel file only.
    pub markings: Vec<Marking>,
    /// Width of the plate in modules.
    pub width_m: f64,
}

impl Bar {
    /// Usual width in modules: with a tile beside it, what the corner dials of a 16:9 picture leave between them.
    pub const WIDTH_M: f64 = 0.527;
    /// Narrowest and widest plate in modules: the value needs its room, and no picture is wider.
    pub const WIDTHS_M: (f64, f64) = (0.30, 3.0);
    /// Most numerals for which a bar has room.
    pub const MOST_NUMERALS: f64 = 40.0;

    /// An even scale from `from` to `to` with a numeral every `step`; nothing unless they rise, or for too many numerals.
    pub fn linear(from: f64, to: f64, step: f64) -> Option<Scale> {
        let sound = [from, to, step].iter().all(|v| v.is_finite()) && from < to && step > 0.0;
        if !sound || (to - from) / step > Self::MOST_NUMERALS {
            return None;
        }
        let (first, last) = ((from / step - 1e-9).ceil() as i64, (to / step + 1e-9).floor() as i64);
        let digits = decimals_of(step);
        let numerals = (first..=last).map(|i| i as f64 * step).map(|v| (v, format!("{v:.digits$}"))).collect();
        let ticks = Ticks { long: step, middle: 0.0, short: 0.0 };
        Some(Scale { breakpoints: vec![(from, 0.0), (to, 1.0)], ticks, numerals })
    }
}

/// A vertical scale that moves past a window with the value.
#[derive(Debug, Clone, PartialEq)]
pub struct Tape {
    /// Name of the channel shown.
    pub channel: String,
    /// The name on the plate.
    pub title: String,
    /// Unit on the plate; empty where the log states none.
    pub unit: String,
    /// Digits after the decimal point of the written value.
    pub decimals: u8,
    /// How much of the scale is seen at once, in the unit.
    pub span: f64,
    /// Tick steps; a numeral stands at every long one.
    pub ticks: Ticks,
    /// Where the scale ends, infinite where it does not: below zero there is no airspeed.
    pub ends: (f64, f64),
    /// Range markings, from the owner's panel file only.
    pub markings: Vec<Marking>,
}

impl Tape {
    /// Most long ticks that may be seen at once, and most ticks of any kind.
    pub const MOST_SEEN: (f64, f64) = (12.0, 80.0);

    /// Whether the steps of the ticks suit the span.
    pub fn is_sound(span: f64, ticks: Ticks) -> bool {
        let seen = |step: f64| if step > 0.0 { span / step } else { 0.0 };
        span.is_finite()
            && (1.0..=Self::MOST_SEEN.0).contains(&seen(ticks.long))
            && [ticks.middle, ticks.short].into_iter().all(|step| seen(step) <= Self::MOST_SEEN.1)
    }

    /// Digits after the point that its numerals need.
    pub fn numeral_decimals(&self) -> u8 {
        decimals_of(self.ticks.long) as u8
    }
}

/// Digits after the point with which multiples of a step are written exactly, at most six.
fn decimals_of(step: f64) -> usize {
    let whole = |digits: &usize| {
        let scaled = step * 10f64.powi(*digits as i32);
        (scaled - scaled.round()).abs() < 1e-6
    };
    (0..6).find(whole).unwrap_or(6)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numerals_are_written_as_their_step_is() {
        let texts = |from, to, step| {
            Bar::linear(from, to, step).map(|s| s.numerals.into_iter().map(|n| n.1).collect::<Vec<_>>().join(" "))
        };
        assert_eq!(texts(0.0, 20.0, 5.0).as_deref(), Some("0 5 10 15 20"));
        assert_eq!(texts(0.0, 0.5, 0.1).as_deref(), Some("0.0 0.1 0.2 0.3 0.4 0.5"));
        assert_eq!(texts(3.0, 11.0, 2.5).as_deref(), Some("5.0 7.5 10.0"));
        for (from, to, step) in [(5.0, 5.0, 1.0), (0.0, 1.0, 0.0), (0.0, 100.0, 1.0), (0.0, f64::INFINITY, 1.0)] {
            assert_eq!(Bar::linear(from, to, step), None, "{from} {to} {step}");
        }
    }
}

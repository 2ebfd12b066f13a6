//! The strip chart: the last seconds of up to three channels over one scale.

use super::{Marking, Scale, Ticks};

/// A plate with traces that run to the left, `now` at their right end.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// One to three.
    pub traces: Vec<StripTrace>,
    /// The name on the plate.
    pub title: String,
    /// Unit of every trace; empty where the log states none.
    pub unit: String,
    /// Digits after the decimal point of the written values.
    pub decimals: u8,
    /// How long a moment stays on the plate.
    pub seconds: f64,
    /// Values to heights, 0 at the foot and 1 at the top, as [`Strip::scale`] makes it.
    pub scale: Scale,
    /// Limits and ranges, from the owner's panel file only.
    pub markings: Vec<Marking>,
}

/// One trace.
#[derive(Debug, Clone, PartialEq)]
pub struct StripTrace {
    /// Name of the channel shown.
    pub channel: String,
    /// What it is called where there are several.
    pub name: String,
}

impl Strip {
    /// More would not be told apart.
    pub const MOST_TRACES: usize = 3;

    /// The scale of a plate from `from` up to `to`, with three or four round numerals or so. `from` lies below `to`.
    pub fn scale(from: f64, to: f64) -> Scale {
        let least = (to - from) / 4.0;
        let decade = 10f64.powf(least.log10().floor());
        let step = [1.0, 2.0, 2.5, 5.0, 10.0].map(|f| f * decade).into_iter().find(|s| *s >= least * (1.0 - 1e-9));
        let step = step.unwrap_or(10.0 * decade);
        let (first, last) = ((from / step - 1e-9).ceil() as i64, (to / step + 1e-9).floor() as i64);
        let decimals = (0..6).find(|&d| (step * 10f64.powi(d)).fract().abs() < 1e-6).unwrap_or(6) as usize;
        let numerals = (first..=last.min(first + 9)).map(|i| i as f64 * step);
        Scale {
            breakpoints: vec![(from, 0.0), (to, 1.0)],
            ticks: Ticks { long: step, middle: 0.0, short: 0.0 },
            numerals: numerals.map(|v| (v, format!("{v:.decimals$}").replace('-', "\u{2212}"))).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Strip;

    #[test]
    fn numerals_are_round() {
        let texts = |from, to| Strip::scale(from, to).numerals.into_iter().map(|n| n.1).collect::<Vec<_>>();
        assert_eq!(texts(450.0, 750.0), ["500", "600", "700"]);
        assert_eq!(texts(-0.5, 0.5), ["\u{2212}0.50", "\u{2212}0.25", "0.00", "0.25", "0.50"]);
        assert_eq!(texts(0.0, 30.0), ["0", "10", "20", "30"]);
    }
}

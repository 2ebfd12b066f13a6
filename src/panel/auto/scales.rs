//! Scales made from what was recorded: round ends, round steps, no markings.

use crate::panel::{Gauge, Scale, Ticks};

/// Most that a scale turns from one end to the other, and from twelve to one end, in degrees.
const SWEEP: f64 = 252.0;
const ONE_SIDE: f64 = 150.0;

/// Round ends and steps that hold everything recorded.
struct Round {
    low: f64,
    high: f64,
    ticks: Ticks,
    numerals: Vec<(f64, String)>,
}

/// From zero unless values below zero were recorded.
fn round(min: f64, max: f64) -> Round {
    let (min, max) = if min.is_finite() && max.is_finite() { (min.min(0.0), max.max(0.0)) } else { (0.0, 1.0) };
    let width = if max > min { max - min } else { 1.0 };
    let rough = width / 6.0;
    let decade = 10f64.powf(rough.log10().floor());
    let factor = [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().find(|f| f * decade >= rough * 0.999).unwrap_or(10.0);
    let step = factor * decade;
    let (low, high) = ((min / step).floor() * step, (max / step).ceil().max(1.0) * step);
    let decimals =
        if step >= 1.0 && factor != 2.5 || step >= 10.0 { 0 } else { (1.0 - step.log10().floor()).max(0.0) as usize };
    let marks = ((high - low) / step).round() as i32;
    Round {
        low,
        high,
        ticks: Ticks { long: step, middle: if factor == 5.0 { step / 5.0 } else { step / 2.0 }, short: step / 10.0 },
        numerals: (0..=marks)
            .map(|i| low + f64::from(i) * step)
            .map(|v| (v, format!("{:.*}", decimals, if v.abs() < step * 1e-9 { 0.0 } else { v })))
            .collect(),
    }
}

/// A linear scale with the directions that pilots know: from the lower left over twelve to the lower right.
pub(super) fn familiar(min: f64, max: f64) -> Scale {
    let Round { low, high, ticks, numerals } = round(min, max);
    Scale { breakpoints: vec![(low, -SWEEP / 2.0), (high, SWEEP / 2.0)], ticks, numerals }
}

/// A linear scale turned so that `usual` stands at twelve: hands that all point up need no second look.
pub(super) fn upright(min: f64, max: f64, usual: f64) -> Scale {
    let Round { low, high, ticks, numerals } = round(min, max);
    // Nearer an end, turning would leave half of the dial empty.
    let usual = if usual.is_finite() { usual } else { low }.clamp(low + 0.2 * (high - low), high - 0.2 * (high - low));
    let (below, above) = (usual - low, high - usual);
    let slope = (SWEEP / (high - low)).min(ONE_SIDE / below).min(ONE_SIDE / above);
    Scale { breakpoints: vec![(low, -below * slope), (high, above * slope)], ticks, numerals }
}

/// A linear scale up one side of a dial (-1 left, +1 right), with `usual` level and room for its greatest numeral alone.
pub(super) fn level(min: f64, max: f64, usual: f64, sign: f64) -> Scale {
    // As much room above the usual value as below it, so that the scale fills its side.
    let twice = if usual.is_finite() { 2.0 * usual - min.min(0.0) } else { max };
    let Round { low, high, ticks, numerals } = round(min, max.max(twice));
    let [foot, level, head] = Gauge::LEVEL;
    let usual = if usual.is_finite() { usual } else { low }.clamp(low + 0.2 * (high - low), high - 0.2 * (high - low));
    let slope = ((foot - level) / (usual - low)).min((level - head) / (high - usual));
    let angle = |value: f64| sign * (level - (value - usual) * slope);
    Scale {
        breakpoints: vec![(low, angle(low)), (high, angle(high))],
        // A side is short: the finest ticks would run into a haze.
        ticks: Ticks { short: 0.0, ..ticks },
        numerals: numerals.into_iter().next_back().into_iter().collect(),
    }
}

/// Rotor and engine speed in percent: start-up in a folded tail, 100 at twelve, a degree and more for each quarter percent.
pub(super) fn tachometer() -> Scale {
    let numerals = [0.0, 40.0, 80.0, 90.0, 100.0, 110.0, 120.0].map(|v| (v, format!("{v:.0}"))).to_vec();
    Scale {
        breakpoints: vec![(0.0, -142.0), (80.0, -90.0), (120.0, 90.0)],
        ticks: Ticks { long: 20.0, middle: 10.0, short: 1.0 },
        numerals,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_hold_all_values_and_have_round_numerals() {
        for (min, max, ends, numerals) in [
            (0.0, 87.0, (0.0, 100.0), vec!["0", "20", "40", "60", "80", "100"]),
            (0.0, 2735.0, (0.0, 3000.0), vec!["0", "500", "1000", "1500", "2000", "2500", "3000"]),
            (-12.0, 31.0, (-20.0, 40.0), vec!["-20", "-10", "0", "10", "20", "30", "40"]),
            (0.0, 13.9, (0.0, 15.0), vec!["0.0", "2.5", "5.0", "7.5", "10.0", "12.5", "15.0"]),
            (5.0, 5.0, (0.0, 5.0), vec!["0", "1", "2", "3", "4", "5"]),
        ] {
            let scale = familiar(min, max);
            assert_eq!(scale.ends(), ends, "{min}..{max}");
            assert_eq!(scale.numerals.iter().map(|n| n.1.as_str()).collect::<Vec<_>>(), numerals);
        }
        assert_eq!(familiar(f64::INFINITY, f64::NEG_INFINITY).ends(), (0.0, 1.0), "a channel without a value");
    }

    #[test]
    fn the_usual_value_stands_at_twelve() {
        let exhaust = upright(12.0, 700.0, 545.0);
        assert!(exhaust.angle(545.0).abs() < 1e-9);
        assert!(exhaust.angle(0.0) >= -ONE_SIDE - 1e-9 && exhaust.angle(700.0) - exhaust.angle(0.0) <= SWEEP + 1e-9);
        for (sign, usual, greatest) in [(-1.0, 60.0, "120"), (1.0, 3.0, "80"), (1.0, f64::NAN, "80")] {
            let side = level(0.0, 78.0, usual, sign);
            let angles: Vec<f64> = side.breakpoints.iter().map(|p| sign * p.1).collect();
            assert!(angles.iter().all(|a| (39.999..=140.001).contains(a)), "{usual}: {angles:?}");
            assert_eq!(side.numerals.iter().map(|n| &*n.1).collect::<Vec<_>>(), [greatest]);
        }
        let low = upright(0.0, 100.0, 1.0);
        assert!(low.angle(20.0).abs() < 1e-9, "or most of the dial would be empty: {:?}", low.breakpoints);
        assert!(upright(0.0, 1.0, f64::NAN).breakpoints.iter().all(|p| p.1.is_finite()));
    }
}

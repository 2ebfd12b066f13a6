//! What a number of a formula measures, and how that goes through its operators.

use super::FormulaError;
use super::operators::{Chooser, Named, Operand};
use crate::units::{Dimension, Unit};
use std::ops::Range;
use std::str::FromStr;

/// Twice the powers of length, mass, time, temperature, current, angle and ratio: half powers come from roots. Angles and ratios are kept
/// apart from plain numbers, for adding 2 to a percentage says nothing.
type Powers = [i32; 7];

const PLAIN: Powers = [0; 7];
const TEMPERATURE: Powers = [0, 0, 0, 2, 0, 0, 0];
const ANGLE: Powers = [0, 0, 0, 0, 0, 2, 0];
const SYMBOLS: [&str; 7] = ["m", "kg", "s", "K", "A", "rad", "%"];

/// Every dimension: the base unit of `units`, what one of it is in SI units, and its powers. A torque is an energy for each radian, so
/// that torque times rotation is power.
const DIMENSIONS: [(Dimension, &str, f64, Powers); 20] = {
    use Dimension as D;
    [
        (D::Speed, "m/s", 1.0, [2, 0, -2, 0, 0, 0, 0]),
        (D::Length, "m", 1.0, [2, 0, 0, 0, 0, 0, 0]),
        (D::Rotation, "rad/s", 1.0, [0, 0, -2, 0, 0, 2, 0]),
        (D::Frequency, "Hz", 1.0, [0, 0, -2, 0, 0, 0, 0]),
        (D::Ratio, "%", 1.0, [0, 0, 0, 0, 0, 0, 2]),
        (D::Temperature, "K", 1.0, TEMPERATURE),
        (D::Pressure, "Pa", 1.0, [-2, 2, -4, 0, 0, 0, 0]),
        (D::Voltage, "V", 1.0, [4, 2, -6, 0, -2, 0, 0]),
        (D::Current, "A", 1.0, [0, 0, 0, 0, 2, 0, 0]),
        (D::Volume, "L", 1e-3, [6, 0, 0, 0, 0, 0, 0]),
        (D::VolumeFlow, "L/h", 1e-3 / 3600.0, [6, 0, -2, 0, 0, 0, 0]),
        (D::Mass, "kg", 1.0, [0, 2, 0, 0, 0, 0, 0]),
        (D::MassFlow, "kg/h", 1.0 / 3600.0, [0, 2, -2, 0, 0, 0, 0]),
        (D::Density, "kg/m3", 1.0, [-6, 2, 0, 0, 0, 0, 0]),
        (D::Time, "s", 1.0, [0, 0, 2, 0, 0, 0, 0]),
        (D::Angle, "rad", 1.0, ANGLE),
        (D::Acceleration, "m/s2", 1.0, [2, 0, -4, 0, 0, 0, 0]),
        (D::Power, "W", 1.0, [4, 2, -6, 0, 0, 0, 0]),
        (D::Torque, "N m", 1.0, [4, 2, -4, 0, 0, -2, 0]),
        (D::Force, "N", 1.0, [2, 2, -4, 0, 0, 0, 0]),
    ]
};

fn powers(unit: Option<&Unit>) -> Powers {
    let row = unit.and_then(|unit| DIMENSIONS.iter().find(|row| row.0 == unit.dimension));
    row.map_or(PLAIN, |row| row.3)
}

/// Factor and offset from a unit to SI; of no unit, none.
pub(super) fn coherent(unit: Option<&Unit>) -> (f64, f64) {
    let to_si = |unit: &Unit| {
        let (_, base, si, _) = DIMENSIONS.iter().find(|row| row.0 == unit.dimension)?;
        let base = Unit::parse(base).ok()?;
        let offset = unit.convert(0.0, base).ok()?;
        Some(((unit.convert(1.0, base).ok()? - offset) * si, offset * si))
    };
    unit.and_then(to_si).unwrap_or((1.0, 0.0))
}

/// A written number in SI units, and its unit. In kelvin and degrees Rankine it is a difference of temperatures as well as a temperature.
pub(super) fn number_and_unit(text: &str) -> Result<(f64, Option<&'static Unit>), String> {
    let (digits, unit) = match text.split_once('[') {
        None => (text, None),
        Some((digits, rest)) => {
            let named = rest.trim_end_matches(']');
            (digits, Some(Unit::parse(named).map_err(|error| error.to_string())?))
        }
    };
    let value: f64 = digits.parse().map_err(|_| format!("`{digits}` is no number"))?;
    let (factor, offset) = coherent(unit);
    Ok((value * factor + offset, unit))
}

/// What an operand measures.
#[derive(Debug, Clone)]
pub(super) struct Checked {
    found: Result<Measure, FormulaError>,
    /// Where it stands, if it holds a channel.
    place: Option<Range<usize>>,
    /// A channel's name, for messages.
    name: Option<String>,
}

#[derive(Debug, Clone, Copy, Default)]
struct Measure {
    powers: Powers,
    /// How often a temperature counts in it, where it holds one: 1 for a temperature, 0 for a difference of two.
    temperatures: Option<f64>,
    /// Its value, if it is a plain number that never changes.
    constant: Option<f64>,
}

impl Default for Checked {
    fn default() -> Self {
        Self { found: Ok(Measure::default()), place: None, name: None }
    }
}

impl Measure {
    fn plain() -> Self {
        Self::default()
    }

    fn of(powers: Powers, temperatures: Option<f64>) -> Self {
        // Where no power of a temperature is left, none is counted.
        Self { powers, temperatures: temperatures.filter(|_| powers[3] != 0), constant: None }
    }

    fn name(&self) -> String {
        if self.powers == PLAIN {
            return "a plain number".into();
        }
        if let Some((dimension, ..)) = DIMENSIONS.iter().find(|row| row.3 == self.powers) {
            return match self.temperatures {
                Some(many) if many.abs() < 1e-9 => "a difference of temperatures".into(),
                Some(many) if (many - 1.0).abs() > 1e-9 => "a sum of temperatures".into(),
                _ => dimension.to_string(),
            };
        }
        let power = |(symbol, &twice): (&&str, &i32)| {
            let power = if twice % 2 == 0 { (twice / 2).to_string() } else { format!("{twice}/2") };
            (twice != 0).then(|| if twice == 2 { (*symbol).to_owned() } else { format!("{symbol}^{power}") })
        };
        SYMBOLS.iter().zip(&self.powers).filter_map(power).collect::<Vec<_>>().join(" ")
    }

    /// Both multiplied, the second as often as `way` says: 1 or -1.
    fn times(&self, other: &Self, way: i32) -> Self {
        let mut powers = self.powers;
        for (mine, theirs) in powers.iter_mut().zip(other.powers) {
            *mine += way * theirs;
        }
        let scaled = |many: f64, by: &Self| match by.constant {
            Some(constant) => many * if way > 0 { constant } else { 1.0 / constant },
            // What a temperature is multiplied by may change: it counts as one from absolute zero.
            None => {
                if many == 0.0 {
                    0.0
                } else {
                    1.0
                }
            }
        };
        let temperatures = match (self.temperatures, other.temperatures) {
            (Some(many), None) => Some(scaled(many, other)),
            (None, Some(many)) => Some(if way > 0 { scaled(many, self) } else { 1.0 }),
            (Some(a), Some(b)) => Some(if a == 0.0 || b == 0.0 { 0.0 } else { 1.0 }),
            (None, None) => None,
        };
        Self::of(powers, temperatures)
    }
}

impl Checked {
    /// A channel and its unit.
    pub fn channel(name: &str, unit: Option<&Unit>, place: Range<usize>) -> Self {
        let powers = powers(unit);
        let found = Ok(Measure::of(powers, Some(1.0)));
        Self { found, place: Some(place), name: Some(format!("`{name}`")) }
    }

    /// Factor and offset of the result in a unit.
    pub fn written_in(self, to: Option<&Unit>) -> Result<(f64, f64), FormulaError> {
        let measure = self.found?;
        let refused = |cure: &str| {
            let unit = to.map_or("without a unit".into(), |unit| format!("in {unit}"));
            let message = format!("the result is {}; it cannot be written {unit}", measure.name());
            Err(FormulaError { message, cure: cure.to_owned(), place: 0..0 })
        };
        if measure.powers != powers(to) {
            return refused("give the result's own unit, or divide by what is too much, e.g. by 100[%] or by 1[rad]");
        }
        let (factor, offset) = coherent(to);
        match measure.temperatures.filter(|_| measure.powers == TEMPERATURE) {
            Some(many) if many.abs() < 1e-9 => Ok((factor, 0.0)),
            Some(many) if (many - 1.0).abs() > 1e-9 => {
                refused("a mean of temperatures is their sum over how many they are")
            }
            _ => Ok((factor, offset)),
        }
    }

    fn named(&self, measure: &Measure) -> String {
        match &self.name {
            Some(name) => format!("{name} ({})", measure.name()),
            None => measure.name(),
        }
    }

    /// The result of one operand.
    fn one(self, of: impl FnOnce(&Self, Measure) -> Result<Measure, (String, &'static str)>) -> Self {
        let found = match &self.found {
            Ok(measure) => of(&self, *measure).map_err(|(message, cure)| FormulaError {
                message,
                cure: cure.to_owned(),
                place: self.place.clone().unwrap_or(0..0),
            }),
            Err(error) => Err(error.clone()),
        };
        Self { found, place: self.place, name: None }
    }

    /// The result of two operands; the first fault counts.
    fn two(
        self,
        other: Self,
        of: impl FnOnce(&Self, &Self, Measure, Measure) -> Result<Measure, (String, &'static str)>,
    ) -> Self {
        let place = match (&self.place, &other.place) {
            (Some(a), Some(b)) => Some(a.start.min(b.start)..a.end.max(b.end)),
            (a, b) => a.clone().or_else(|| b.clone()),
        };
        let found = match (&self.found, &other.found) {
            (Ok(a), Ok(b)) => of(&self, &other, *a, *b).map_err(|(message, cure)| FormulaError {
                message,
                cure: cure.to_owned(),
                place: place.clone().unwrap_or(0..0),
            }),
            (Err(error), _) | (_, Err(error)) => Err(error.clone()),
        };
        Self { found, place, name: None }
    }

    /// A sum, a difference or a choice: only of like things. `signs`: how often temperatures of each count; none where they must be the same.
    fn like(self, other: Self, verb: &'static str, sign: Option<f64>, of: fn(f64, f64) -> f64) -> Self {
        self.two(other, |one, two, a, b| {
            if a.powers != b.powers {
                let message = format!("{} and {} cannot be {verb}", one.named(&a), two.named(&b));
                return Err((
                    message,
                    "both must measure the same; a written number takes its unit in brackets: 2[kt]",
                ));
            }
            let temperatures = match (a.temperatures, b.temperatures, sign) {
                (Some(x), Some(y), Some(sign)) => Some(x + sign * y),
                (Some(x), Some(y), None) if (x - y).abs() > 1e-9 => {
                    let message = format!("{} and {} cannot be {verb}", one.named(&a), two.named(&b));
                    return Err((message, "compare two temperatures, or two differences"));
                }
                (x, ..) => x,
            };
            let constant = a.constant.zip(b.constant).map(|(x, y)| of(x, y));
            Ok(Measure { constant, ..Measure::of(a.powers, temperatures) })
        })
    }

    fn raised(self, of: &'static str, power: impl FnOnce(&Measure) -> Option<f64>) -> Self {
        self.one(|one, a| {
            if a.powers == PLAIN {
                return Ok(Measure::plain());
            }
            let said =
                (format!("{of} of {} has no unit", one.named(&a)), "the power of what has a unit is a written number");
            let power = power(&a).ok_or_else(|| said.clone())?;
            let mut powers = a.powers;
            for twice in &mut powers {
                let scaled = f64::from(*twice) * power;
                if scaled.fract() != 0.0 || scaled.abs() > 100.0 {
                    return Err(said);
                }
                *twice = scaled as i32;
            }
            Ok(Measure::of(powers, a.temperatures.map(|many| if many == 0.0 { 0.0 } else { 1.0 })))
        })
    }

    fn needs(self, of: &'static str, wanted: Powers, what: &'static str, given: Powers, call: fn(f64) -> f64) -> Self {
        self.one(|one, a| {
            if a.powers != wanted {
                let message = format!("{of} takes {what}; {} is none", one.named(&a));
                return Err((message, "divide by one of its unit, e.g. by 1[rad] or by 100[%]"));
            }
            let constant = a.constant.filter(|_| given == PLAIN).map(call);
            Ok(Measure { constant, ..Measure::of(given, None) })
        })
    }
}

impl FromStr for Checked {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let found = match number_and_unit(text) {
            Ok((value, unit)) => {
                let powers = powers(unit);
                // From absolute zero on, a temperature is written as a difference is.
                let temperatures = if coherent(unit).1 == 0.0 { 0.0 } else { 1.0 };
                Ok(Measure { constant: (powers == PLAIN).then_some(value), ..Measure::of(powers, Some(temperatures)) })
            }
            Err(message) => Err(FormulaError { message, cure: "write for example 2.5[kt]".into(), place: 0..0 }),
        };
        Ok(Self { found, place: None, name: Some(text.to_owned()) })
    }
}

impl Operand for Checked {
    fn constant(value: f64) -> Self {
        Self { found: Ok(Measure { constant: Some(value), ..Measure::plain() }), place: None, name: None }
    }
    fn negate(self) -> Self {
        self.one(|_, a| {
            let temperatures = a.temperatures.map(|many| -many);
            Ok(Measure { constant: a.constant.map(|value| -value), temperatures, ..a })
        })
    }
    fn add(self, other: Self) -> Self {
        self.like(other, "added", Some(1.0), |a, b| a + b)
    }
    fn subtract(self, other: Self) -> Self {
        self.like(other, "subtracted", Some(-1.0), |a, b| a - b)
    }
    fn multiply(self, other: Self) -> Self {
        self.two(other, |_, _, a, b| {
            Ok(Measure { constant: a.constant.zip(b.constant).map(|(a, b)| a * b), ..a.times(&b, 1) })
        })
    }
    fn divide(self, other: Self) -> Self {
        self.two(other, |_, _, a, b| {
            Ok(Measure { constant: a.constant.zip(b.constant).map(|(a, b)| a / b), ..a.times(&b, -1) })
        })
    }
    fn power(self, other: Self) -> Self {
        let exponent = other.clone();
        let checked = self.two(other, |_, two, a, b| {
            if b.powers == PLAIN {
                return Ok(a);
            }
            Err((format!("a power is a plain number; {} is none", two.named(&b)), "divide by one of its unit"))
        });
        checked.raised("this power", |_| exponent.found.ok()?.constant)
    }
    fn choose(self, other: Self, of: Chooser) -> Self {
        self.like(other, "compared", None, of.1)
    }
    fn atan2(self, other: Self) -> Self {
        let ratio = self.like(other, "compared", None, f64::atan2);
        ratio.one(|_, _| Ok(Measure::of(ANGLE, None)))
    }
    fn root(self) -> Self {
        self.raised("the root", |_| Some(0.5))
    }
    fn absolute(self) -> Self {
        self.one(|_, a| Ok(Measure { constant: a.constant.map(f64::abs), ..a }))
    }
    fn plain(self, of: Named) -> Self {
        self.needs(of.0, PLAIN, "a plain number", PLAIN, of.1)
    }
    fn of_angle(self, of: Named) -> Self {
        self.needs(of.0, ANGLE, "an angle", PLAIN, of.1)
    }
    fn to_angle(self, of: Named) -> Self {
        self.needs(of.0, PLAIN, "a plain number", ANGLE, of.1)
    }
}

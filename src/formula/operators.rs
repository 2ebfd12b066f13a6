//! The operators of formulae, for numbers and for what numbers measure alike.

use super::measure::number_and_unit;
use exmex::{BinOp, MakeOperators, MatchLiteral, Operator};
use std::str::FromStr;

/// What an operator works on.
pub(super) trait Operand: Clone + std::fmt::Debug {
    fn constant(value: f64) -> Self;
    fn negate(self) -> Self;
    fn add(self, other: Self) -> Self;
    fn subtract(self, other: Self) -> Self;
    fn multiply(self, other: Self) -> Self;
    fn divide(self, other: Self) -> Self;
    fn power(self, other: Self) -> Self;
    /// The lesser or the greater of two, by `of`.
    fn choose(self, other: Self, of: Chooser) -> Self;
    fn atan2(self, other: Self) -> Self;
    fn root(self) -> Self;
    fn absolute(self) -> Self;
    /// A function of a plain number.
    fn plain(self, of: Named) -> Self;
    /// A function of an angle that gives a plain number.
    fn of_angle(self, of: Named) -> Self;
    /// A function of a plain number that gives an angle.
    fn to_angle(self, of: Named) -> Self;
}

/// A function by its name, for messages.
pub(super) type Named = (&'static str, fn(f64) -> f64);
/// `min` or `max`.
pub(super) type Chooser = (&'static str, fn(f64, f64) -> f64);

/// The functions, for messages.
pub(super) const NAMES: [&str; 15] =
    ["sqrt", "abs", "min", "max", "pow", "exp", "ln", "log10", "sin", "cos", "tan", "asin", "acos", "atan", "atan2"];

/// Makes the operators for one kind of operand.
#[derive(Debug, Clone)]
pub(super) struct Operators;

impl<T: Operand + 'static> MakeOperators<T> for Operators {
    fn make<'a>() -> Vec<Operator<'a, T>> {
        let two = |apply, prio| BinOp { apply, prio, is_commutative: false };
        vec![
            Operator::make_bin_unary("+", two(T::add, 0), |a| a),
            Operator::make_bin_unary("-", two(T::subtract, 0), T::negate),
            Operator::make_bin("*", two(T::multiply, 1)),
            Operator::make_bin("/", two(T::divide, 1)),
            Operator::make_bin("pow", two(T::power, 2)),
            Operator::make_bin("min", two(|a: T, b| a.choose(b, ("min", f64::min)), 2)),
            Operator::make_bin("max", two(|a: T, b| a.choose(b, ("max", f64::max)), 2)),
            Operator::make_bin("atan2", two(T::atan2, 2)),
            Operator::make_unary("sqrt", T::root),
            Operator::make_unary("abs", T::absolute),
            Operator::make_unary("exp", |a: T| a.plain(("exp", f64::exp))),
            Operator::make_unary("ln", |a: T| a.plain(("ln", f64::ln))),
            Operator::make_unary("log10", |a: T| a.plain(("log10", f64::log10))),
            Operator::make_unary("sin", |a: T| a.of_angle(("sin", f64::sin))),
            Operator::make_unary("cos", |a: T| a.of_angle(("cos", f64::cos))),
            Operator::make_unary("tan", |a: T| a.of_angle(("tan", f64::tan))),
            Operator::make_unary("asin", |a: T| a.to_angle(("asin", f64::asin))),
            Operator::make_unary("acos", |a: T| a.to_angle(("acos", f64::acos))),
            Operator::make_unary("atan", |a: T| a.to_angle(("atan", f64::atan))),
            Operator::make_constant("pi", T::constant(std::f64::consts::PI)),
        ]
    }
}

/// Finds numbers with or without a unit: `12.5`, `1e-3`, `9.80665[m/s2]`.
#[derive(Debug, Clone)]
pub(super) struct Written;

impl MatchLiteral for Written {
    fn is_literal(text: &str) -> Option<&str> {
        let bytes = text.as_bytes();
        let run = |from: usize| bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
        let mut end = run(0);
        let mut digits = end;
        if bytes.get(end) == Some(&b'.') {
            let after = run(end + 1);
            digits += after;
            end += 1 + after;
        }
        if digits == 0 {
            return None;
        }
        if matches!(bytes.get(end), Some(b'e' | b'E')) {
            let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
            let power = bytes.get(end + 1 + sign..).map_or(0, |_| run(end + 1 + sign));
            end += if power > 0 { 1 + sign + power } else { 0 };
        }
        if bytes.get(end) == Some(&b'[') {
            end += text[end..].find(']')? + 1;
        }
        text.get(..end)
    }
}

/// A number in SI units.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Number(pub f64);

impl FromStr for Number {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        // An unknown unit is told by the check of units, with its place.
        Ok(number_and_unit(text).map_or(Self(f64::NAN), |(value, ..)| Self(value)))
    }
}

impl Operand for Number {
    fn constant(value: f64) -> Self {
        Self(value)
    }
    fn negate(self) -> Self {
        Self(-self.0)
    }
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
    fn subtract(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
    fn multiply(self, other: Self) -> Self {
        Self(self.0 * other.0)
    }
    fn divide(self, other: Self) -> Self {
        Self(self.0 / other.0)
    }
    fn power(self, other: Self) -> Self {
        Self(self.0.powf(other.0))
    }
    fn choose(self, other: Self, of: Chooser) -> Self {
        // What is no number must not be hidden by one that is.
        if self.0.is_nan() || other.0.is_nan() { Self(f64::NAN) } else { Self(of.1(self.0, other.0)) }
    }
    fn atan2(self, other: Self) -> Self {
        Self(self.0.atan2(other.0))
    }
    fn root(self) -> Self {
        Self(self.0.sqrt())
    }
    fn absolute(self) -> Self {
        Self(self.0.abs())
    }
    fn plain(self, of: Named) -> Self {
        Self(of.1(self.0))
    }
    fn of_angle(self, of: Named) -> Self {
        Self(of.1(self.0))
    }
    fn to_angle(self, of: Named) -> Self {
        Self(of.1(self.0))
    }
}

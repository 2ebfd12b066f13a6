//! Formulae that an owner writes over channels: `{air.IAS} * 1.05 + 2[kt]`.
//!
//! The reading and the arithmetic are the crate `exmex`'s, with operators of our own: the same expression runs once over what its
//! channels measure, which finds every sum of unlike things, and then over their numbers. Numbers are held in SI units within, so
//! that a result has its unit by itself. There is no power sign, because a minus in front would bind before it.

mod measure;
mod operators;

use crate::units::Unit;
use exmex::{Express, FlatEx};
use measure::{Checked, coherent};
use operators::{Number, Operators, Written};
use std::ops::Range;

/// Longest formula in bytes: nobody needs more, and the depth of its brackets is bounded with it.
pub const LONGEST: usize = 400;

/// Why a formula cannot be taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct FormulaError {
    /// What was found, and what was expected.
    pub message: String,
    /// What to do.
    pub cure: String,
    /// The part of the formula's text that it is about, in bytes; all of it where that is not known.
    pub place: Range<usize>,
}

/// A channel that a formula names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variable {
    /// Its name.
    pub name: String,
    /// Where it stands first, braces included, in bytes of the formula's text.
    pub place: Range<usize>,
}

/// A formula as written.
#[derive(Debug, Clone)]
pub struct Formula {
    text: String,
    /// In the order in which `exmex` takes their values.
    variables: Vec<Variable>,
    numbers: FlatEx<Number, Operators, Written>,
}

/// A formula whose channels' units are known and fit.
#[derive(Debug, Clone)]
pub struct Bound {
    numbers: FlatEx<Number, Operators, Written>,
    /// Factor and offset from each channel's unit to SI.
    inputs: Vec<(f64, f64)>,
    /// The same for the result.
    output: (f64, f64),
}

impl Formula {
    /// Reads a formula.
    ///
    /// # Errors
    /// What is no formula, names no channel, or is too long.
    pub fn parse(text: &str) -> Result<Self, FormulaError> {
        let refused =
            |message: String, cure: &str| Err(FormulaError { message, cure: cure.to_owned(), place: 0..text.len() });
        if text.len() > LONGEST {
            return refused(
                format!("the formula has {} bytes; at most {LONGEST} are read", text.len()),
                "make two of it",
            );
        }
        if let Some(sign) = text.find('^') {
            let place = sign..sign + 1;
            let message = "the formula has the sign `^`".into();
            return Err(FormulaError { message, cure: "write pow(x, 2) for a power".into(), place });
        }
        let numbers = match FlatEx::<Number, Operators, Written>::parse(text) {
            Ok(numbers) => numbers,
            Err(error) => {
                let cure = format!(
                    "channels stand in braces, {{air.IAS}}, units in square brackets, 2.5[kt]; there are + - * / ( ) and {}",
                    operators::NAMES.join(", ")
                );
                return refused(format!("this is no formula: {}", error.msg()), &cure);
            }
        };
        let places = braces(text);
        let mut variables = Vec::new();
        for name in numbers.var_names() {
            match places.iter().find(|(known, _)| known == name) {
                Some((name, place)) => variables.push(Variable { name: name.clone(), place: place.clone() }),
                None => {
                    let at = text.find(name.as_str()).unwrap_or(0);
                    let message = format!("`{name}` is neither a channel in braces nor one of the functions");
                    let cure =
                        format!("write {{LOG.COLUMN}} for a channel; functions: {}", operators::NAMES.join(", "));
                    return Err(FormulaError { message, cure, place: at..(at + name.len()).min(text.len()) });
                }
            }
        }
        if variables.is_empty() {
            return refused("the formula names no channel".into(), "write a channel in braces: {air.IAS}");
        }
        Ok(Self { text: text.to_owned(), variables, numbers })
    }

    /// The channels that it names, in the order in which [`Formula::bind`] and [`Bound::value`] take them.
    pub fn variables(&self) -> &[Variable] {
        &self.variables
    }

    /// Which of its channels stands first in the text.
    pub fn first(&self) -> usize {
        let places = self.variables.iter().enumerate();
        places.min_by_key(|(_, variable)| variable.place.start).map_or(0, |(i, _)| i)
    }

    /// Checks what it does against the units of its channels, one each, and the one that its result shall have. A channel without a
    /// unit is a plain number, and so is a result without one.
    ///
    /// # Errors
    /// A sum of unlike things, a function of what it does not take, a result that the unit does not measure; each with its place.
    pub fn bind(&self, units: &[Option<&Unit>], to: Option<&Unit>) -> Result<Bound, FormulaError> {
        let whole =
            |message: String, cure: &str| FormulaError { message, cure: cure.to_owned(), place: 0..self.text.len() };
        let checked = FlatEx::<Checked, Operators, Written>::parse(&self.text);
        let named = self.variables.iter().zip(units.iter().copied().chain(std::iter::repeat(None)));
        let values: Vec<Checked> =
            named.map(|(variable, unit)| Checked::channel(&variable.name, unit, variable.place.clone())).collect();
        let result = checked.and_then(|checked| checked.eval(&values)).map_err(|e| whole(e.msg().to_owned(), ""))?;
        let output = result.written_in(to).map_err(|mut error| {
            if error.place.is_empty() {
                error.place = 0..self.text.len();
            }
            error
        })?;
        let inputs = units.iter().map(|unit| coherent(*unit)).collect();
        Ok(Bound { numbers: self.numbers.clone(), inputs, output })
    }
}

impl Bound {
    /// The result in its unit, of one number a channel, each in the channel's; none where it is no number, as a division by zero is.
    pub fn value(&self, channels: &[f64]) -> Option<f64> {
        let si: Vec<Number> = channels.iter().zip(&self.inputs).map(|(v, (f, o))| Number(v * f + o)).collect();
        let value = (self.numbers.eval(&si).ok()?.0 - self.output.1) / self.output.0;
        value.is_finite().then_some(value)
    }
}

/// What stands in braces, and where.
fn braces(text: &str) -> Vec<(String, Range<usize>)> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(open) = text[from..].find('{').map(|i| from + i) {
        let Some(close) = text[open..].find('}').map(|i| open + i) else { break };
        found.push((text[open + 1..close].to_owned(), open..close + 1));
        from = close + 1;
    }
    found
}

#[cfg(test)]
mod tests;

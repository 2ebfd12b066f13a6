//! Channels of the owner's own formulae.

use super::{ChannelId, Session};
use crate::formula::{Formula, FormulaError};
use crate::meaning::Meaning;
use crate::signal::{Channel, Cursor, Kind, Origin, Samples, State};
use crate::time::SessionTime;
use crate::units::Unit;
use std::ops::Range;

/// Why a formula gives no channel.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotComputed {
    /// A channel that it names is not there.
    #[error("no log has the channel `{name}`, and none of that name is computed")]
    UnknownChannel {
        /// The name.
        name: String,
        /// Where it stands in the formula.
        place: Range<usize>,
    },
    /// A channel that it names holds texts.
    #[error("`{name}` holds texts; a formula needs numbers")]
    Texts {
        /// The name.
        name: String,
        /// Where it stands in the formula.
        place: Range<usize>,
    },
    /// Its name is a computed channel's already.
    #[error("`calc.{0}` is computed already")]
    Taken(String),
    /// Its units do not fit.
    #[error(transparent)]
    Units(#[from] FormulaError),
}

impl Session {
    /// Adds the channel `calc.NAME` of a formula: at the records of the channel that stands first in it, where every other one has a value of
    /// that moment. Says of how many records it has a value, and how many there were.
    ///
    /// # Errors
    /// Channels that are not there or hold texts, units that do not fit, a name that is taken; the session is then as it was.
    pub fn compute(
        &mut self,
        name: &str,
        formula: &Formula,
        unit: Option<&'static Unit>,
    ) -> Result<(usize, usize), NotComputed> {
        if self.derived.iter().any(|channel| channel.name == name) {
            return Err(NotComputed::Taken(name.to_owned()));
        }
        let mut inputs: Vec<ChannelId> = Vec::new();
        let mut units = Vec::new();
        for variable in formula.variables() {
            let (name, place) = (variable.name.clone(), variable.place.clone());
            let Some((id, channel)) = self.find(&name).and_then(|id| Some((id, self.channel(id)?))) else {
                return Err(NotComputed::UnknownChannel { name, place });
            };
            if matches!(channel.samples, Samples::Texts(_)) {
                return Err(NotComputed::Texts { name, place });
            }
            inputs.push(id);
            units.push(channel.unit.as_deref().and_then(|unit| Unit::parse(unit).ok()));
        }
        let bound = formula.bind(&units, unit)?;
        let first = inputs.get(formula.first()).copied();
        let Some((channel, fit)) = first.and_then(|id| Some((self.channel(id)?, self.fit(id)?))) else {
            return Ok((0, 0));
        };
        let is_direction = unit.is_some_and(|unit| unit.symbol == "deg") && Meaning::is_direction(name);
        let mut cursors = vec![Cursor::default(); inputs.len()];
        let mut values = Vec::with_capacity(inputs.len());
        let (mut times, mut results, mut breaks) = (Vec::new(), Vec::new(), Vec::new());
        for (i, time) in channel.times.iter().map(|&t| fit.inverse(t)).enumerate() {
            if channel.breaks.binary_search(&i).is_ok() {
                breaks.push(times.len());
            }
            values.clear();
            for (&id, cursor) in inputs.iter().zip(&mut cursors) {
                let reading = self.reading(id, SessionTime(time), cursor);
                let fresh = matches!(reading.state, State::Measured | State::Derived);
                values.extend(reading.value.filter(|_| fresh));
            }
            let whole = values.len() == inputs.len();
            if let Some(value) = whole.then(|| bound.value(&values)).flatten() {
                times.push(time);
                results.push(if is_direction { value.rem_euclid(360.0) } else { value });
            }
        }
        let (found, wanted) = (times.len(), channel.times.len());
        let made = Channel {
            name: name.to_owned(),
            unit: unit.map(|unit| unit.symbol.to_owned()),
            kind: if is_direction { Kind::Angle } else { Kind::Continuous },
            times: times.into(),
            samples: Samples::Numbers(results),
            missing: wanted - found,
            breaks,
            rules: channel.rules,
            origin: Origin::Derived,
        };
        if found > 0 {
            self.derived.push(made);
        }
        Ok((found, wanted))
    }
}

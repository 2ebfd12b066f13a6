//! One recorded quantity over time, and what it says at any moment: a value together with how far to trust it.

mod channel;
mod correlation;
mod lag;
#[cfg(test)]
mod made;
mod rules;
mod spectrum;

pub(crate) use channel::shorter_way;
pub use channel::{Channel, Cursor, Kind, Origin, Samples};
pub use correlation::cross_correlation;
pub use lag::Lag;
pub use rules::StateRules;
pub use spectrum::{Peak, Spectra, peaks};

use serde::Serialize;

/// How far a value may be trusted. Spelled in files and JSON as in snake case (`saturated_low`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// Recorded, or interpolated between two neighbouring records.
    Measured,
    /// Computed from other channels.
    Derived,
    /// The last record, kept across a gap that is short enough to bridge.
    Held,
    /// Older than that: no value is shown, only its age.
    Stale,
    /// Nothing to show: before the first record, too long after the last, or refused.
    Invalid,
    /// The sensor stands at the low end of its own range: at most this value.
    SaturatedLow,
    /// The sensor stands at the high end of its own range: at least this value.
    SaturatedHigh,
}

impl State {
    /// The word used in files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Derived => "derived",
            Self::Held => "held",
            Self::Stale => "stale",
            Self::Invalid => "invalid",
            Self::SaturatedLow => "saturated_low",
            Self::SaturatedHigh => "saturated_high",
        }
    }
}

/// A value with its state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The value in the channel's unit. A stale reading keeps the last one, for the hollow hand that marks where it stood;
    /// [`Reading::number`] is what may be written.
    pub value: Option<f64>,
    /// How far to trust it.
    pub state: State,
    /// Seconds since the record that it rests on; 0 between two neighbouring records, infinite where there was none yet.
    pub age_s: f64,
}

impl Reading {
    /// The reading where there is nothing.
    pub const INVALID: Self = Self { value: None, state: State::Invalid, age_s: f64::INFINITY };

    /// The value, where the state allows a number at all: never of a stale or an invalid reading.
    pub fn number(&self) -> Option<f64> {
        match self.state {
            State::Stale | State::Invalid => None,
            _ => self.value,
        }
    }
}

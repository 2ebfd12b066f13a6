//! The tones that the owner knows an aircraft by.

use super::channel;
use crate::keyfile::{self, Section};

/// A tone that turns with what a channel records, for laying a film's sound along it.
#[derive(Debug, Clone, PartialEq)]
pub struct Tone {
    /// The channel, and where it stands in the file.
    pub channel: String,
    /// See `channel`.
    pub place: keyfile::Place,
    /// Its frequency in hertz where the channel reads `at`, in the channel's own unit. Its harmonics are meant too.
    pub hz: f64,
    /// See `hz`.
    pub at: f64,
}

/// Reads a `[[tone]]`.
pub(super) fn tone(mut section: Section<'_>) -> Option<Tone> {
    let channel = channel(&mut section);
    let mut above_zero = |key: &'static str, expected: &str| match section.number(key) {
        Some((value, _)) if value > 0.0 => Some(value),
        Some((value, place)) => {
            let message = format!("`{key}` is {value}, and not above zero");
            section.fault(place, key, "out_of_range", message, expected);
            None
        }
        None => {
            section.missing(key, expected);
            None
        }
    };
    let hz = above_zero("hz", "the tone's frequency, e.g. hz = 18.0");
    let at = above_zero("at", "what the channel reads then, in its own unit, e.g. at = 100");
    section.end();
    let (channel, place) = channel?;
    Some(Tone { channel, place, hz: hz?, at: at? })
}

//! What a piece of evidence is, before it is weighed. Each kind has a file of its own that makes such pieces.

use serde::Serialize;

/// A clock of a flight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ClockId {
    /// UTC, in seconds since an instant that the caller chooses.
    Utc,
    /// A (joined) film's time, by its place in the flight file.
    Film(usize),
    /// A log's time, by its place in the flight file: seconds since its first sample.
    Log(usize),
}

/// What a piece of evidence is. The earlier ones of this list give way to the later ones where two contradict each other and
/// nothing else tells which is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum EvidenceKind {
    /// Dates that camera and logger wrote: their clocks may have been set wrong.
    Timestamp,
    /// The film's sound against a recorded speed.
    Sound,
    /// The picture's own turning against a recorded one.
    Motion,
    /// A dial in the picture against its channel.
    Dial,
    /// A lamp in the picture against its channel.
    Lamp,
    /// A quantity that two loggers recorded.
    Channel,
    /// A pair of times named by the owner.
    Mark,
}

impl EvidenceKind {
    /// The word used in files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Timestamp => "timestamp",
            Self::Sound => "sound",
            Self::Motion => "motion",
            Self::Dial => "dial",
            Self::Lamp => "lamp",
            Self::Channel => "channel",
            Self::Mark => "mark",
        }
    }
}

/// One moment on two clocks, and how well the two times are known to be the same moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Its kind.
    pub kind: EvidenceKind,
    /// The moment's time on two clocks, in seconds.
    pub on: [(ClockId, f64); 2],
    /// Standard deviation of the difference of the two times, in seconds.
    pub sigma_s: f64,
    /// Where it comes from, in words.
    pub why: String,
    /// Shown, but never used: another reading of a stamp whose first reading is used, or evidence that found nothing.
    pub only_shown: bool,
}

impl Evidence {
    /// A piece that may be used.
    pub fn new(kind: EvidenceKind, a: (ClockId, f64), b: (ClockId, f64), sigma_s: f64, why: impl Into<String>) -> Self {
        Self { kind, on: [a, b], sigma_s, why: why.into(), only_shown: false }
    }

    /// Whether it concerns a clock.
    pub fn touches(&self, clock: ClockId) -> bool {
        self.on.iter().any(|(id, _)| *id == clock)
    }
}

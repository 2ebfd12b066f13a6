//! Faces with more than one hand or a scale of their own, and the hands that every face has.

use super::{Altimeter, Face, Heading, Marking, OffScale, Scale, Severity};

/// Rotor and engine speed on one dial, both in percent of their normal speeds.
#[derive(Debug, Clone, PartialEq)]
pub struct Tachometer {
    /// Channel of the rotor's speed.
    pub rotor: String,
    /// Channel of the engine's speed.
    pub engine: String,
    /// The name on the face, e.g. `RPM`.
    pub title: String,
    /// Digits after the decimal point of the written values.
    pub decimals: u8,
    /// Values to angles, ticks and numerals, for both hands.
    pub scale: Scale,
    /// Range markings of the rotor, on the outer lane.
    pub rotor_markings: Vec<Marking>,
    /// Range markings of the engine, on the inner lane.
    pub engine_markings: Vec<Marking>,
    /// When a difference of the two is to be named; never without.
    pub drive: Option<DriveRule>,
}

/// When a difference between rotor and engine counts.
#[derive(Debug, Clone, PartialEq)]
pub struct DriveRule {
    /// How far apart, in percent, they must be.
    pub apart: f64,
    /// For how long, in seconds.
    pub seconds: f64,
    /// The channel that says whether the clutch is engaged: zero is not. Without one, slipping cannot be told from a start.
    pub clutch: Option<String>,
    /// How grave slipping is.
    pub severity: Severity,
    /// Where it stands written.
    pub source: String,
}

impl Tachometer {
    /// The unit of both hands.
    pub const UNIT: &'static str = "%";
}

/// What feeds one hand of a face.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HandSource<'a> {
    /// The hand's name in the ledger; `value` on a face with one reading.
    pub name: &'static str,
    /// The channel that it shows.
    pub channel: &'a str,
    /// The unit on the face; empty where it has none.
    pub unit: &'a str,
}

impl Face {
    /// The face's hands, in the order in which [`crate::readout::InstrumentState`] holds their readings.
    pub fn hands(&self) -> Vec<HandSource<'_>> {
        let one = |channel, unit| vec![HandSource { name: "value", channel, unit }];
        match self {
            Self::Dial(dial) => one(&*dial.channel, &*dial.unit),
            Self::Tile(tile) => one(&*tile.channel, &*tile.unit),
            Self::VerticalSpeed(dial) => one(&*dial.channel, &*dial.unit),
            Self::Altimeter(altimeter) => one(&*altimeter.channel, Altimeter::UNIT),
            Self::Bar(bar) => one(&*bar.channel, &*bar.unit),
            Self::Tape(tape) => one(&*tape.channel, &*tape.unit),
            Self::Heading(heading) => one(&*heading.channel, Heading::UNIT),
            Self::HeadingTape(tape) => one(&*tape.heading.channel, Heading::UNIT),
            Self::Pair(pair) => [("left", &pair.left), ("right", &pair.right)]
                .map(|(name, gauge)| HandSource { name, channel: &gauge.channel, unit: &gauge.unit })
                .to_vec(),
            Self::Tachometer(both) => [("rotor", &both.rotor), ("engine", &both.engine)]
                .map(|(name, channel)| HandSource { name, channel, unit: Tachometer::UNIT })
                .to_vec(),
        }
    }

    /// The rule for the drive, on a tachometer that has one.
    pub fn drive(&self) -> Option<&DriveRule> {
        match self {
            Self::Tachometer(both) => both.drive.as_ref(),
            _ => None,
        }
    }

    /// The scale of a hand, counted as in [`Face::hands`]; none on a face that has none, or one that never ends.
    pub fn scale(&self, hand: usize) -> Option<&Scale> {
        match self {
            Self::Bar(bar) => Some(&bar.scale),
            Self::Pair(pair) => Some(if hand == 0 { &pair.left.scale } else { &pair.right.scale }),
            Self::Dial(dial) => Some(&dial.scale),
            Self::Tachometer(both) => Some(&both.scale),
            Self::VerticalSpeed(dial) => Some(&dial.scale),
            Self::Tile(_) | Self::Altimeter(_) | Self::Heading(_) | Self::HeadingTape(_) | Self::Tape(_) => None,
        }
    }

    /// What else the face shows at a session time in seconds, beside its hands: the altimeter's setting.
    pub fn note_at(&self, session_s: f64) -> Option<&str> {
        match self {
            Self::Altimeter(altimeter) => altimeter.setting_at(session_s),
            _ => None,
        }
    }

    /// Whether a value in the unit of a hand lies on its scale; on a face without one every value does.
    pub fn place(&self, hand: usize, value: f64) -> OffScale {
        self.scale(hand).map_or(OffScale::On, |scale| scale.place(value))
    }
}

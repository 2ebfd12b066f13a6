//! Faces with more than one hand or a scale of their own, and the hands that every face has.

use super::{Altimeter, Attitude, ByPower, Face, Heading, Marking, OffScale, Scale, Severity, Slip, Track};

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
    /// Range markings of the rotor that always count, on the outer lane.
    pub rotor_markings: Vec<Marking>,
    /// Those of its two sets, on the same lane. Which is in force follows the drive.
    pub rotor_by_power: ByPower,
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
    /// The channel that it shows; empty for a clock and a phase strip, which need none.
    pub channel: &'a str,
    /// The unit on the face; empty where it has none.
    pub unit: &'a str,
}

impl HandSource<'_> {
    /// Digits after the point in the ledger: a position needs more of them.
    pub fn ledger_decimals(&self) -> usize {
        if matches!(self.name, "latitude" | "longitude") { 7 } else { 4 }
    }
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
            Self::Clock(_) => one("", ""),
            Self::Legend => Vec::new(),
            Self::PhaseStrip(_) => one("", ""),
            Self::Attitude(attitude) => [("pitch", &attitude.pitch), ("bank", &attitude.bank)]
                .map(|(name, channel)| HandSource { name, channel, unit: Attitude::UNIT })
                .to_vec(),
            Self::Controls(controls) => controls
                .present()
                .map(|(name, control)| HandSource { name, channel: &control.channel, unit: "" })
                .collect(),
            Self::Track(track) => [("latitude", &track.latitude), ("longitude", &track.longitude)]
                .map(|(name, channel)| HandSource { name, channel, unit: Track::UNIT })
                .to_vec(),
            Self::Slip(slip) => one(&*slip.channel, Slip::UNIT),
            Self::Strip(strip) => {
                let names = if strip.traces.len() == 1 { ["value"; 3] } else { ["first", "second", "third"] };
                let traces = names.into_iter().zip(&strip.traces);
                traces.map(|(name, trace)| HandSource { name, channel: &trace.channel, unit: &strip.unit }).collect()
            }
            Self::Bar(bar) => one(&*bar.channel, &*bar.unit),
            Self::Tape(tape) => one(&*tape.channel, &*tape.unit),
            Self::Heading(heading) | Self::Compass(heading) => one(&*heading.channel, Heading::UNIT),
            Self::HeadingTape(tape) => one(&*tape.heading.channel, Heading::UNIT),
            Self::Pair(pair) => [("left", &pair.left), ("right", &pair.right)]
                .map(|(name, gauge)| HandSource { name, channel: &gauge.channel, unit: &gauge.unit })
                .to_vec(),
            Self::Tachometer(both) => [("rotor", &both.rotor), ("engine", &both.engine)]
                .map(|(name, channel)| HandSource { name, channel, unit: Tachometer::UNIT })
                .to_vec(),
        }
    }

    /// Whether its hands may follow the record with a lag: those of a scale or a number, not headings, places and times.
    pub const fn may_be_smoothed(&self) -> bool {
        matches!(
            self,
            Self::Dial(_)
                | Self::Tile(_)
                | Self::Tachometer(_)
                | Self::VerticalSpeed(_)
                | Self::Altimeter(_)
                | Self::Bar(_)
                | Self::Pair(_)
                | Self::Tape(_)
        )
    }

    /// The rule for the drive, on a tachometer that has one.
    pub fn drive(&self) -> Option<&DriveRule> {
        match self {
            Self::Tachometer(both) => both.drive.as_ref(),
            _ => None,
        }
    }

    /// The rotor whose drive the face judges.
    pub fn judged_rotor(&self) -> Option<&str> {
        match self {
            Self::Tachometer(both) if both.drive.is_some() => Some(&both.rotor),
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
            Self::Strip(strip) => Some(&strip.scale),
            Self::Tile(_) | Self::Altimeter(_) | Self::Heading(_) | Self::HeadingTape(_) | Self::Tape(_) => None,
            Self::Compass(_) => None,
            Self::Clock(_) | Self::Attitude(_) | Self::Controls(_) | Self::Slip(_) | Self::Track(_) => None,
            Self::Legend | Self::PhaseStrip(_) => None,
        }
    }

    /// Digits after the point with which a hand's value is written, counted as in [`Face::hands`].
    pub fn decimals(&self, hand: usize) -> u8 {
        match self {
            Self::Dial(dial) => dial.decimals,
            Self::Tile(tile) => tile.decimals,
            Self::Bar(bar) => bar.decimals,
            Self::Tape(tape) => tape.decimals,
            Self::Strip(strip) => strip.decimals,
            Self::Tachometer(both) => both.decimals,
            Self::Pair(pair) => {
                if hand == 0 {
                    pair.left.decimals
                } else {
                    pair.right.decimals
                }
            }
            Self::VerticalSpeed(_) | Self::Altimeter(_) => 0,
            Self::Heading(_) | Self::HeadingTape(_) | Self::Compass(_) => 0,
            Self::Clock(_) | Self::Attitude(_) | Self::Controls(_) | Self::Slip(_) | Self::Track(_) => 0,
            Self::Legend | Self::PhaseStrip(_) => 0,
        }
    }

    /// Every range marking on the face, but those that count only with power off.
    pub fn markings(&self) -> Vec<Marking> {
        match self {
            Self::Dial(dial) => dial.markings.clone(),
            Self::Bar(bar) => bar.markings.clone(),
            Self::Tape(tape) => tape.markings.clone(),
            Self::Strip(strip) => strip.markings.clone(),
            Self::Pair(pair) => [&*pair.left.markings, &*pair.right.markings].concat(),
            Self::VerticalSpeed(dial) => dial.markings.clone(),
            Self::Tachometer(both) => {
                [&*both.rotor_markings, &*both.rotor_by_power.on, &*both.engine_markings].concat()
            }
            Self::Tile(_) | Self::Altimeter(_) | Self::Clock(_) | Self::Legend => Vec::new(),
            Self::Heading(_) | Self::HeadingTape(_) | Self::Compass(_) | Self::PhaseStrip(_) => Vec::new(),
            Self::Attitude(_) | Self::Controls(_) | Self::Slip(_) | Self::Track(_) => Vec::new(),
        }
    }

    /// The range markings that count with power off.
    pub fn markings_power_off(&self) -> &[Marking] {
        match self {
            Self::Tachometer(both) => &both.rotor_by_power.off,
            _ => &[],
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

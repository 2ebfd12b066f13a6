//! What the owner's panel looks like: instruments, scales, markings and their places. Types and their checks.

mod auto;
mod faces;
pub mod file;
mod flight;
mod place;
pub(crate) mod quantity;
mod rules;
mod scale;

pub use auto::{Arrangement, ChannelFacts, Made, chosen, lack_a_unit, recognised};
pub use faces::{HandSource, Tachometer};
pub use flight::{Altimeter, AltimeterSetting, Datum, VerticalSpeed, setting_text};
pub use place::{DiscSize, Place, Side, module_px};
pub use rules::{KeepClear, Lamp, Limit, Severity, ThemeName};
pub use scale::{Marking, OffScale, Scale, Ticks};

/// All instruments of a film, in drawing order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Panel {
    /// Its title; empty for a panel made from a log.
    pub title: String,
    /// Its colours, if the owner chose.
    pub theme: Option<ThemeName>,
    /// The instruments.
    pub instruments: Vec<Instrument>,
    /// The recorded lamps.
    pub lamps: Vec<Lamp>,
    /// The owner's limits.
    pub limits: Vec<Limit>,
    /// Parts of the picture that stay clear.
    pub keep_clear: Vec<KeepClear>,
}

/// One instrument: what it is called, where it stands, and its face.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Its key in the ledger and in files, e.g. `rotor`.
    pub name: String,
    /// Where it stands in the shown picture.
    pub place: Place,
    /// What it looks like.
    pub face: Face,
}

/// The kinds of instrument.
#[derive(Debug, Clone, PartialEq)]
pub enum Face {
    /// A round dial with one hand.
    Dial(Dial),
    /// A plate with a number.
    Tile(Tile),
    /// Rotor and engine on one dial.
    Tachometer(Tachometer),
    /// Climb and descent.
    VerticalSpeed(VerticalSpeed),
    /// Altitude with two hands.
    Altimeter(Altimeter),
}

/// A round dial with one hand over a scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Dial {
    /// Name of the channel shown.
    pub channel: String,
    /// The name on the face, in one or two lines, e.g. `["AIRSPEED"]`.
    pub title: Vec<String>,
    /// Unit on the face, e.g. `kt`; empty where the log states none.
    pub unit: String,
    /// Digits after the decimal point of the written value.
    pub decimals: u8,
    /// Values to angles, ticks and numerals.
    pub scale: Scale,
    /// Range markings, from the owner's panel file only.
    pub markings: Vec<Marking>,
}

/// A plate with a number, its name and its unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Tile {
    /// Name of the channel shown.
    pub channel: String,
    /// The name on the plate.
    pub title: String,
    /// Unit on the plate; empty where the log states none.
    pub unit: String,
    /// Digits after the decimal point.
    pub decimals: u8,
}

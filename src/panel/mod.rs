//! What the owner's panel looks like: instruments, scales, markings and their places. Types and their checks.

mod arrange;
mod auto;
mod clock;
mod colours;
mod engine;
mod events;
mod faces;
pub mod file;
mod flight;
mod heading;
mod motion;
mod pair;
mod phase;
mod phases;
mod place;
mod plates;
pub(crate) mod quantity;
mod rules;
mod scale;
mod shown;
mod strip;
mod texts;

pub use arrange::{Arrangement, PLATE};
pub use auto::{ChannelFacts, Made, chosen, lack_a_unit, recognised, slotted, written};
pub use clock::{Clock, Shows};
pub use colours::{ColourOf, OwnColour};
pub use engine::{EngineChannels, EngineRules, EngineState};
pub use events::EventRules;
pub use faces::{DriveRule, HandSource, Tachometer};
pub use flight::{Altimeter, AltimeterSetting, Datum, VerticalSpeed, setting_text};
pub use heading::{Heading, HeadingTape, Reference};
pub use motion::{Attitude, Control, Controls, Slip, Track};
pub use pair::{Gauge, Pair};
pub use phase::Phase;
pub use phases::{PhaseChannels, PhaseRules, PhaseStrip};
pub use place::{Density, DiscSize, Gaps, Place, Placing, Side, Slot, module_px};
pub use plates::{Bar, Tape};
pub use rules::{Along, Arming, Banner, Days, KeepClear, Lamp, Limit, LitWords, Severity, ThemeName};
pub use scale::{ByPower, Marking, OffScale, Power, Scale, Ticks};
pub use shown::{Bound, Condition, Shown, UsualRange};
pub use strip::{Strip, StripTrace};
pub use texts::Written;

/// All instruments of a film, in drawing order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Panel {
    /// Its title; empty for a panel made from a log.
    pub title: String,
    /// How large everything is drawn.
    pub density: Density,
    /// Its colours, if the owner chose.
    pub theme: Option<ThemeName>,
    /// Colours in place of the theme's.
    pub colours: Vec<OwnColour>,
    /// The instruments.
    pub instruments: Vec<Instrument>,
    /// The recorded lamps.
    pub lamps: Vec<Lamp>,
    /// The owner's limits.
    pub limits: Vec<Limit>,
    /// Whether passed limits also stand in words under the notice.
    pub banner: Option<Banner>,
    /// Whether captions have a place on the picture.
    pub captions: bool,
    /// The rules for the phases of a flight; none are judged without.
    pub phases: Option<PhaseRules>,
    /// The rules for the engine; its starts are not judged without.
    pub engine: Option<EngineRules>,
    /// The rules for events.
    pub events: EventRules,
    /// Parts of the picture that stay clear.
    pub keep_clear: Vec<KeepClear>,
    /// Where the middle of the lowest row of lamps stands, in modules from the bottom, if the owner chose.
    pub lamps_from_bottom_m: Option<f64>,
}

impl Panel {
    /// Whether there is nothing to draw.
    pub fn is_empty(&self) -> bool {
        self.instruments.is_empty() && self.lamps.is_empty() && self.limits.is_empty()
    }

    /// The lamps by subject, in the order in which the subjects first appear: each entry is one lamp on the picture.
    pub fn lamp_groups(&self) -> Vec<Vec<usize>> {
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for (i, lamp) in self.lamps.iter().enumerate() {
            let same = |group: &&mut Vec<usize>| group.first().is_some_and(|&j| self.lamps[j].subject == lamp.subject);
            match groups.iter_mut().find(same) {
                Some(group) => group.push(i),
                None => groups.push(vec![i]),
            }
        }
        groups
    }
}

/// One instrument: what it is called, where it stands, its face, and when it is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Its key in the ledger and in files, e.g. `rotor`.
    pub name: String,
    /// Where it stands in the shown picture.
    pub place: Placing,
    /// What it looks like.
    pub face: Face,
    /// When it is shown, and how strongly.
    pub shown: Shown,
    /// The ranges that its owner is used to.
    pub usual: Vec<UsualRange>,
    /// Time constant with which its hands follow the record, in seconds; 0 for hands that show the record itself.
    pub smoothing_s: f64,
}

impl Instrument {
    /// One that is always shown and whose hands show the record itself.
    pub fn new(name: impl Into<String>, place: impl Into<Placing>, face: Face) -> Self {
        Self {
            name: name.into(),
            place: place.into(),
            face,
            shown: Shown::default(),
            usual: Vec::new(),
            smoothing_s: 0.0,
        }
    }
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
    /// A bar on a plate.
    Bar(Bar),
    /// Two gauges on one dial.
    Pair(Pair),
    /// A heading card.
    Heading(Heading),
    /// A compass with a fixed card and a hand.
    Compass(Heading),
    /// A heading tape on a plate.
    HeadingTape(HeadingTape),
    /// A vertical tape on a plate.
    Tape(Tape),
    /// A plate with the time.
    Clock(Clock),
    /// The last seconds of up to three channels.
    Strip(Strip),
    /// Pitch and bank.
    Attitude(Attitude),
    /// Where the controls stand.
    Controls(Controls),
    /// The slip ball.
    Slip(Slip),
    /// The way over the ground.
    Track(Track),
    /// The flight's profile and its phase.
    PhaseStrip(PhaseStrip),
    /// What the panel's marks mean.
    Legend,
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

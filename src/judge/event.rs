//! What happened in a flight, as a report lists it.

use crate::panel::{Phase, Severity};
use serde::Serialize;

/// One of the owner's limits was passed.
#[derive(Debug, Clone, PartialEq)]
pub struct Exceedance {
    /// Which limit, in the panel's order.
    pub limit: usize,
    /// Session time of the first record beyond it, in seconds; its minimum time lies after that.
    pub from_s: f64,
    /// Session time of the last record beyond it.
    pub to_s: f64,
    /// How exact both are, in seconds.
    pub plus_minus_s: f64,
    /// The value furthest beyond, in the channel's unit.
    pub peak: f64,
    /// Its session time.
    pub peak_s: f64,
    /// Where the limit stood at that time.
    pub limit_value: f64,
    /// The phase of the flight at that time.
    pub phase: Phase,
    /// It may have lasted longer or gone further: data are missing within it, before it or after it.
    pub at_least: bool,
}

/// For how long nobody can say whether a limit was passed.
#[derive(Debug, Clone, PartialEq)]
pub struct Unjudged {
    /// Which limit, in the panel's order.
    pub limit: usize,
    /// Session time in seconds.
    pub from_s: f64,
    /// Session time in seconds.
    pub to_s: f64,
    /// What was missing.
    pub why: String,
}

/// What kind of thing an event is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum EventKind {
    /// A start of the engine.
    Start,
    /// A start that passed a limit of the exhaust gas temperature.
    HotStart,
    /// A start that hung below idle.
    HungStart,
    /// A start without a light.
    NoLight,
    /// The rotor brought up to the engine.
    Engagement,
    /// Rotor ahead of the engine.
    Freewheeling,
    /// Engine ahead with the clutch engaged.
    Slipping,
    /// Rotor and engine could not be compared.
    SplitNotJudged,
    /// A lower limit of the rotor was passed.
    LowRotor,
    /// A descent without drive.
    Autorotation,
    /// From below idle until the rotor stands.
    RunDown,
    /// The aircraft begins to fly.
    TakeOff,
    /// It ceases to.
    Landing,
    /// It touched the ground for a moment.
    TouchAndGo,
    /// A fast sink without speed, under power.
    SettlingPossible,
    /// A recorded lamp was lit.
    Lamp,
    /// Many lamps were lit together for a moment, the engine standing.
    LampTest,
    /// Lamps of which exactly one should be lit contradicted each other.
    LampsDisagree,
    /// A recorded lamp and the owner's rule for the same thing did not agree.
    LampAndAlertDiffer,
    /// What the sensors said of a cold engine.
    ColdCheck,
}

impl EventKind {
    /// Its word in JSON and tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::HotStart => "hot_start",
            Self::HungStart => "hung_start",
            Self::NoLight => "no_light",
            Self::Engagement => "engagement",
            Self::Freewheeling => "freewheeling",
            Self::Slipping => "slipping",
            Self::SplitNotJudged => "split_not_judged",
            Self::LowRotor => "low_rotor",
            Self::Autorotation => "autorotation",
            Self::RunDown => "run_down",
            Self::TakeOff => "take_off",
            Self::Landing => "landing",
            Self::TouchAndGo => "touch_and_go",
            Self::SettlingPossible => "settling_possible",
            Self::Lamp => "lamp",
            Self::LampTest => "lamp_test",
            Self::LampsDisagree => "lamps_disagree",
            Self::LampAndAlertDiffer => "lamp_and_alert_differ",
            Self::ColdCheck => "cold_check",
        }
    }
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// What kind of thing.
    pub kind: EventKind,
    /// In words, as *Needle split, freewheeling*.
    pub name: String,
    /// How grave it is; none for what is only part of a flight.
    pub severity: Option<Severity>,
    /// Session time in seconds.
    pub from_s: f64,
    /// Session time in seconds.
    pub to_s: f64,
    /// How exact both are, in seconds.
    pub plus_minus_s: f64,
    /// The moment to look at, if it has one.
    pub peak_s: Option<f64>,
    /// The phase of the flight at that moment, or else at its start.
    pub phase: Phase,
    /// What was measured.
    pub facts: Vec<Fact>,
    /// The rule by which it was found, with its numbers.
    pub rule: String,
}

/// One number of an event.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fact {
    /// What it is.
    pub name: String,
    /// The value.
    pub value: f64,
    /// Its unit; empty where there is none.
    pub unit: String,
    /// Digits after the point that it is worth.
    pub decimals: u8,
    /// Its session time in seconds, if it has one.
    pub at_s: Option<f64>,
}

impl Fact {
    pub(super) fn new(name: impl Into<String>, value: f64, unit: impl Into<String>, decimals: u8) -> Self {
        Self { name: name.into(), value, unit: unit.into(), decimals, at_s: None }
    }

    pub(super) fn at(mut self, time_s: f64) -> Self {
        self.at_s = Some(time_s);
        self
    }
}

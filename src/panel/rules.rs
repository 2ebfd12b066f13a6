//! What stands on a panel beside its instruments: lamps, limits, and parts of the picture that stay clear.

use super::{Condition, Power};

/// How grave a lamp or an alert is, gravest first (convention from 14 CFR 27.1322).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// A hazard that may require immediate corrective action: red.
    Warning,
    /// A possible need for future corrective action: amber.
    Caution,
    /// On the way from one state to another; lamps only.
    InTransit,
    /// To be known.
    Advisory,
    /// As it should be; lamps only.
    Normal,
}

/// What a lamp says when it is lit.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum LitWords {
    /// A word under the subject, e.g. `LOW`.
    Word(String),
    /// Two lines of one size in place of the subject: a phrase that must not be read by halves, e.g. `NOT` / `CHARGING`.
    Phrase([String; 2]),
}

/// A recorded lamp. Lamps of one subject are one lamp on the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Lamp {
    /// Its key in files.
    pub name: String,
    /// The channel that recorded it: zero is unlit.
    pub channel: String,
    /// What it is about, e.g. `ROTOR`; all that an unlit lamp says.
    pub subject: String,
    /// What it says when lit.
    pub lit: LitWords,
    /// How grave it is.
    pub severity: Severity,
    /// Whether exactly one lamp of this subject is lit in a sound system.
    pub always_one: bool,
}

/// A limit of the owner's.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// Its name.
    pub name: String,
    /// The channel that it limits.
    pub channel: String,
    /// The limiting value, in the channel's unit; of one that depends on another channel, the value of its first row.
    pub value: f64,
    /// Whether values below it pass the limit, rather than values above.
    pub is_minimum: bool,
    /// Where it stands, if that depends on another channel.
    pub along: Option<Along>,
    /// Values further beyond, each with the shorter time in seconds for which it may be passed: exhaust gas in a start.
    pub sooner: Vec<(f64, f64)>,
    /// For a limit on how fast a channel changes: the seconds over which its rise is taken, which is then what is limited.
    pub over_s: Option<f64>,
    /// For a quantity that sloshes: the seconds over which the median of its records is taken, which is then what is limited.
    pub median_s: Option<f64>,
    /// For a rotor's limit that counts only with power on, or only with power off: which. See [`crate::panel::ByPower`].
    pub power: Option<Power>,
    /// How long it must be passed to count, in seconds.
    pub seconds: f64,
    /// How far back inside the value must be for the alert to clear, in the channel's unit.
    pub clear_by: f64,
    /// What must have been so before the limit counts at all.
    pub armed_by: Option<Arming>,
    /// What takes it out again, on positive evidence alone; it must then be armed anew.
    pub disarmed_by: Option<Condition>,
    /// It counts only while this holds.
    pub only_while: Option<Condition>,
    /// Whether an alert stays on to the end of the flight.
    pub latched: bool,
    /// The days on which it holds.
    pub days: Days,
    /// How grave passing it is.
    pub severity: Severity,
    /// What the alert is about, e.g. `ROTOR`; it stands above the lamp of the same subject.
    pub subject: String,
    /// Its state word, e.g. `LOW`.
    pub word: String,
    /// Where it stands written.
    pub source: String,
}

impl Limit {
    /// A caution at a value, without anything that it could depend on, and without words.
    pub fn bare(channel: impl Into<String>, value: f64, is_minimum: bool) -> Self {
        Self {
            name: String::new(),
            channel: channel.into(),
            value,
            is_minimum,
            along: None,
            sooner: Vec::new(),
            over_s: None,
            median_s: None,
            power: None,
            seconds: 0.0,
            clear_by: 0.0,
            armed_by: None,
            disarmed_by: None,
            only_while: None,
            latched: false,
            days: Days::default(),
            severity: Severity::Caution,
            subject: String::new(),
            word: String::new(),
            source: String::new(),
        }
    }

    /// Whether a value lies beyond the limit as it stands without another channel, or within it by less than `by`.
    pub fn is_passed(&self, value: f64, by: f64) -> bool {
        self.is_beyond(value, self.value, by)
    }

    /// Whether a value lies beyond a bound on this limit's side, or within it by less than `by`.
    pub fn is_beyond(&self, value: f64, bound: f64, by: f64) -> bool {
        if self.is_minimum { value < bound + by } else { value > bound - by }
    }

    /// Whether it says of the rotor's other set what `other` says of its own.
    pub fn is_counterpart_of(&self, other: &Self) -> bool {
        let of_both_sets = self.power.zip(other.power).is_some_and(|(a, b)| a != b);
        of_both_sets && self.channel == other.channel && self.is_minimum == other.is_minimum
    }
}

/// Where a limit stands by another channel: never-exceed speed by altitude, oil pressure by engine speed.
#[derive(Debug, Clone, PartialEq)]
pub struct Along {
    /// The other channel.
    pub channel: String,
    /// Its values, rising, in its own unit, each with the limit there; straight between them, and unknown outside.
    pub points: Vec<(f64, f64)>,
}

impl Along {
    /// The limit at a value of the other channel; none outside the table.
    pub fn at(&self, value: f64) -> Option<f64> {
        let after = self.points.partition_point(|point| point.0 <= value);
        let (x0, y0) = *self.points.get(after.checked_sub(1)?)?;
        match self.points.get(after) {
            Some((x1, y1)) => Some(y0 + (y1 - y0) * (value - x0) / (x1 - x0)),
            None => (value == x0).then_some(y0),
        }
    }
}

/// The days on which a limit holds: markings are changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Days {
    /// The first, in UTC; always before the last where there is none.
    pub from: Option<jiff::civil::Date>,
    /// The last, in UTC.
    pub to: Option<jiff::civil::Date>,
}

impl Days {
    /// Whether every day is among them.
    pub const fn always(&self) -> bool {
        self.from.is_none() && self.to.is_none()
    }

    /// Whether a day is among them.
    pub fn hold(&self, day: jiff::civil::Date) -> bool {
        self.from.is_none_or(|from| day >= from) && self.to.is_none_or(|to| day <= to)
    }
}

/// A limit counts once a value has been on one side of another value for so long: a rotor that stands still on the
/// ground is not "low".
#[derive(Debug, Clone, PartialEq)]
pub struct Arming {
    /// The channel whose value it is, where that is not the limit's own.
    pub channel: Option<String>,
    /// The value, in the channel's unit.
    pub value: f64,
    /// Whether the channel must be above it, rather than below.
    pub above: bool,
    /// For how long, in seconds.
    pub seconds: f64,
}

impl Arming {
    /// Whether a value is on the arming side.
    pub fn holds(&self, value: f64) -> bool {
        if self.above { value > self.value } else { value < self.value }
    }
}

/// The banner under the notice: the worst limits that are passed, in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Banner {
    /// The least grave limits that appear on it.
    pub least: Severity,
}

/// A part of the picture that no instrument may cover, in fractions of its width and height from the left and the top.
#[derive(Debug, Clone, PartialEq)]
pub struct KeepClear {
    /// What is there.
    pub name: String,
    /// Left edge.
    pub x: f64,
    /// Top edge.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

/// The colour themes, by the panel file's names for them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ThemeName {
    /// The default, for day and night.
    Graphite,
    /// For snow, and on paper.
    Porcelain,
    /// Black and white with the strongest marks.
    HighContrast,
}

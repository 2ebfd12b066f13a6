//! What stands on a panel beside its instruments: lamps, limits, and parts of the picture that stay clear.

/// How grave a lamp or an alert is (convention from 14 CFR 27.1322).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// A hazard that may require immediate corrective action: red.
    Warning,
    /// A possible need for future corrective action: amber.
    Caution,
    /// To be known.
    Advisory,
}

/// A recorded lamp.
#[derive(Debug, Clone, PartialEq)]
pub struct Lamp {
    /// Its key in files.
    pub name: String,
    /// The channel that recorded it: zero is unlit.
    pub channel: String,
    /// What it is about, e.g. `ROTOR`.
    pub subject: String,
    /// Its word when lit, e.g. `LOW`.
    pub lit: String,
    /// How grave it is.
    pub severity: Severity,
}

/// A limit of the owner's.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// Its name.
    pub name: String,
    /// The channel that it limits.
    pub channel: String,
    /// The limiting value, in the channel's unit.
    pub value: f64,
    /// Whether values below it pass the limit, rather than values above.
    pub is_minimum: bool,
    /// How long it must be passed to count, in seconds.
    pub seconds: f64,
    /// How grave passing it is.
    pub severity: Severity,
    /// Where it stands written.
    pub source: String,
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

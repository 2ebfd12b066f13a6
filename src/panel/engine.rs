//! The owner's rules for the engine: when it starts, runs and is shut down.

use super::phases::Number;

/// What the engine does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum EngineState {
    /// There is no rule, or its speed is not known.
    #[default]
    NotJudged,
    /// It stands.
    Stopped,
    /// From its first turn until it has been at idle for a while.
    Start,
    /// It runs.
    Running,
    /// From below idle until it stands.
    Shutdown,
}

impl EngineState {
    /// Their names in the panel file.
    pub const WORDS: [(&'static str, Self); 4] =
        [("stopped", Self::Stopped), ("start", Self::Start), ("running", Self::Running), ("shutdown", Self::Shutdown)];

    /// Its name in the panel file.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|word| word.1 == self).map_or("not judged", |word| word.0)
    }
}

/// Which channels say what the engine does. Each is converted to the unit named here.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct EngineChannels {
    /// Its speed in percent of its normal speed.
    pub speed: Option<String>,
    /// Exhaust gas temperature in degrees Celsius.
    pub exhaust: Option<String>,
    /// Voltage of the bus in volts.
    pub volts: Option<String>,
    /// Fuel flow, in its own unit.
    pub flow: Option<String>,
    /// Zero while the starter is not engaged.
    pub starter: Option<String>,
    /// Oil pressure, in its own unit.
    pub oil_pressure: Option<String>,
    /// Oil temperature in degrees Celsius.
    pub oil_temperature: Option<String>,
    /// Temperature of the gearbox oil in degrees Celsius.
    pub gearbox_temperature: Option<String>,
    /// Fuel by gauge, in its own unit.
    pub fuel: Option<String>,
    /// Temperature of the air outside in degrees Celsius.
    pub outside: Option<String>,
}

impl EngineChannels {
    /// Their keys in the panel file, with the unit in which the rules count; none for a channel in its own unit.
    pub const ALL: [(&'static str, &'static str); 10] = [
        ("speed", "%"),
        ("exhaust", "degC"),
        ("volts", "V"),
        ("flow", ""),
        ("starter", ""),
        ("oil_pressure", ""),
        ("oil_temperature", "degC"),
        ("gearbox_temperature", "degC"),
        ("fuel", ""),
        ("outside", "degC"),
    ];

    /// The channels in the order of [`EngineChannels::ALL`].
    pub fn names(&self) -> [Option<&str>; 10] {
        let Self { speed, exhaust, volts, flow, starter, oil_pressure, .. } = self;
        let Self { oil_temperature, gearbox_temperature, fuel, outside, .. } = self;
        [speed, exhaust, volts, flow, starter, oil_pressure, oil_temperature, gearbox_temperature, fuel, outside]
            .map(Option::as_deref)
    }

    /// The channel of a key of [`EngineChannels::ALL`], counted as there.
    pub(super) fn of(&mut self, i: usize) -> Option<&mut Option<String>> {
        let Self {
            speed,
            exhaust,
            volts,
            flow,
            starter,
            oil_pressure,
            oil_temperature,
            gearbox_temperature,
            fuel,
            outside,
        } = self;
        let all =
            [speed, exhaust, volts, flow, starter, oil_pressure, oil_temperature, gearbox_temperature, fuel, outside];
        all.into_iter().nth(i)
    }
}

/// The rules. Every default is common practice, no source; the owner can change each.
#[derive(Debug, Clone, PartialEq)]
pub struct EngineRules {
    /// Where the values come from.
    pub channels: EngineChannels,
    /// At this speed the engine idles, in percent: a start is complete. The owner's figure: there is no default.
    pub idle: f64,
    /// If it has not lit so long after it began to turn, it does not light, in seconds. The owner's figure: there is no default.
    pub no_light_after: Option<f64>,
    /// Below this speed it stands, in percent.
    pub stopped: f64,
    /// A start is over once it has been at idle for so long, in seconds.
    pub settled_after: f64,
    /// Below this share of idle it is being shut down, or has failed.
    pub cut_off_share: f64,
    /// It has lit when the exhaust gas has become hotter by so much, in kelvin.
    pub light_off_rise: f64,
    /// Within so long, in seconds.
    pub light_off_within: f64,
    /// A start hangs if its speed, below idle, rises by less than this, in percent a second.
    pub hung_rate: f64,
    /// For so long, in seconds.
    pub hung_for: f64,
}

impl EngineRules {
    /// The usual rules for an engine that idles at a speed, in percent.
    pub fn idling_at(idle: f64) -> Self {
        Self {
            channels: EngineChannels::default(),
            idle,
            no_light_after: None,
            stopped: 2.0,
            settled_after: 10.0,
            cut_off_share: 0.8,
            light_off_rise: 50.0,
            light_off_within: 5.0,
            hung_rate: 0.5,
            hung_for: 10.0,
        }
    }

    /// Every number that has a default, by its key in the panel file.
    pub(super) const NUMBERS: [Number<Self>; 7] = [
        ("stopped", |r| &mut r.stopped),
        ("settled_after", |r| &mut r.settled_after),
        ("cut_off_share", |r| &mut r.cut_off_share),
        ("light_off_rise", |r| &mut r.light_off_rise),
        ("light_off_within", |r| &mut r.light_off_within),
        ("hung_rate", |r| &mut r.hung_rate),
        ("hung_for", |r| &mut r.hung_for),
    ];
}

//! The owner's rules for the phases of a flight, and the instrument that shows them.

use super::{Phase, Shows};

/// Which channels say what the aircraft does. Each is converted to the unit named here; a rule whose channel is missing is
/// not judged.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PhaseChannels {
    /// Rotor speed in percent of its normal speed.
    pub rotor: Option<String>,
    /// Engine speed in percent of its normal speed, from the same log as the rotor's.
    pub engine: Option<String>,
    /// Speed over the ground in knots.
    pub ground_speed: Option<String>,
    /// Indicated airspeed in knots.
    pub airspeed: Option<String>,
    /// Vertical speed in feet a minute.
    pub vertical_speed: Option<String>,
    /// An altitude in feet; its height above [`PhaseRules::field_ft`] counts.
    pub altitude: Option<String>,
    /// What tells of power, in its own unit: fuel flow, torque.
    pub power: Option<String>,
}

impl PhaseChannels {
    /// Their keys in the panel file, with what they are called and the unit in which the rules count; power has none.
    pub const ALL: [(&'static str, &'static str); 7] = [
        ("rotor", "%"),
        ("engine", "%"),
        ("ground_speed", "kt"),
        ("airspeed", "kt"),
        ("vertical_speed", "ft/min"),
        ("altitude", "ft"),
        ("power", ""),
    ];

    /// The channels in the order of [`PhaseChannels::ALL`].
    pub fn names(&self) -> [Option<&str>; 7] {
        let Self { rotor, engine, ground_speed, airspeed, vertical_speed, altitude, power } = self;
        [rotor, engine, ground_speed, airspeed, vertical_speed, altitude, power].map(Option::as_deref)
    }

    /// The channel of a key of [`PhaseChannels::ALL`], counted as there.
    pub(super) fn of(&mut self, i: usize) -> Option<&mut Option<String>> {
        let Self { rotor, engine, ground_speed, airspeed, vertical_speed, altitude, power } = self;
        [rotor, engine, ground_speed, airspeed, vertical_speed, altitude, power].into_iter().nth(i)
    }
}

/// The rules. Every default is common practice, no source, unless it says otherwise; the owner can change each.
#[derive(Debug, Clone, PartialEq)]
pub struct PhaseRules {
    /// Where the values come from.
    pub channels: PhaseChannels,
    /// What the altitude says on the ground of the field, in feet; without it there is no height.
    pub field_ft: Option<f64>,
    /// Power above this means flight, in the channel's own unit. The owner's figure: there is no default.
    pub power_in_flight: Option<f64>,
    /// At or below this the engine idles, in percent. The owner's figure: there is no default.
    pub idle: Option<f64>,
    /// Below this the rotor stands, in percent.
    pub stopped: f64,
    /// Rotor and engine no further apart than this are joined, in percent.
    pub joined: f64,
    /// The start of the rotor ends when they have been joined for so long, in seconds.
    pub joined_for: f64,
    /// A rotor ahead of the engine by more than this is freewheeling, in percent.
    pub freewheeling: f64,
    /// Flying is above this height, in feet; two of height, speed and power decide.
    pub lift_off_height: f64,
    /// And faster than this over the ground, in knots.
    pub lift_off_speed: f64,
    /// An aircraft flies once it has done so for so long, in seconds.
    pub lift_off_for: f64,
    /// And is on the ground once it has not for so long, in seconds.
    pub landed_for: f64,
    /// A hover is slower over the ground than this, in knots.
    pub hover_speed: f64,
    /// And climbs or sinks by less than this, in feet a minute.
    pub hover_climb: f64,
    /// For so long, in seconds.
    pub hover_for: f64,
    /// Hover taxi is no faster over the ground than this, in knots (AIM 4-3-17, from memory).
    pub hover_taxi_speed: f64,
    /// And below this height, in feet (AIM 4-3-17, from memory).
    pub hover_taxi_height: f64,
    /// Air taxi is below this height, in feet (AIM 4-3-17, from memory), level, and slower than cruise.
    pub air_taxi_height: f64,
    /// Either for so long, in seconds.
    pub taxi_for: f64,
    /// A take-off ends at this airspeed, in knots.
    pub take_off_speed: f64,
    /// If it is reached so soon after the hover or the lift-off, in seconds.
    pub take_off_within: f64,
    /// Climb and descent are faster than this, in feet a minute.
    pub climb: f64,
    /// For so long, in seconds.
    pub climb_for: f64,
    /// They end below this, in feet a minute.
    pub climb_left: f64,
    /// For so long, in seconds. A stretch without a rule that is shorter belongs to the phase before.
    pub climb_left_for: f64,
    /// Cruise is faster than this, indicated, in knots, and neither climb nor descent.
    pub cruise_airspeed: f64,
    /// For so long, in seconds.
    pub cruise_for: f64,
    /// A descent below this height, in feet, that ends in a hover or on the ground is an approach.
    pub approach_height: f64,
    /// Autorotation sinks faster than this, in feet a minute, freewheeling or with the engine at idle.
    pub autorotation_sink: f64,
    /// For so long, in seconds.
    pub autorotation_for: f64,
    /// It ends when rotor and engine have been joined for so long, in seconds.
    pub rejoined_for: f64,
    /// What the owner says of a flight against the rules: from and to in session seconds, and the phase.
    pub overruled: Vec<(f64, f64, Phase)>,
}

impl Default for PhaseRules {
    fn default() -> Self {
        Self {
            channels: PhaseChannels::default(),
            field_ft: None,
            power_in_flight: None,
            idle: None,
            stopped: 2.0,
            joined: 1.5,
            joined_for: 5.0,
            freewheeling: 2.0,
            lift_off_height: 5.0,
            lift_off_speed: 15.0,
            lift_off_for: 3.0,
            landed_for: 10.0,
            hover_speed: 5.0,
            hover_climb: 100.0,
            hover_for: 3.0,
            hover_taxi_speed: 20.0,
            hover_taxi_height: 25.0,
            air_taxi_height: 100.0,
            taxi_for: 5.0,
            take_off_speed: 30.0,
            take_off_within: 30.0,
            climb: 200.0,
            climb_for: 10.0,
            climb_left: 100.0,
            climb_left_for: 5.0,
            cruise_airspeed: 40.0,
            cruise_for: 15.0,
            approach_height: 500.0,
            autorotation_sink: 500.0,
            autorotation_for: 3.0,
            rejoined_for: 2.0,
            overruled: Vec::new(),
        }
    }
}

/// A number of some rules by its key in the panel file.
pub(super) type Number<R> = (&'static str, fn(&mut R) -> &mut f64);

impl PhaseRules {
    /// Every number that has a default.
    pub(super) const NUMBERS: [Number<Self>; 27] = [
        ("stopped", |r| &mut r.stopped),
        ("joined", |r| &mut r.joined),
        ("joined_for", |r| &mut r.joined_for),
        ("freewheeling", |r| &mut r.freewheeling),
        ("lift_off_height", |r| &mut r.lift_off_height),
        ("lift_off_speed", |r| &mut r.lift_off_speed),
        ("lift_off_for", |r| &mut r.lift_off_for),
        ("landed_for", |r| &mut r.landed_for),
        ("hover_speed", |r| &mut r.hover_speed),
        ("hover_climb", |r| &mut r.hover_climb),
        ("hover_for", |r| &mut r.hover_for),
        ("hover_taxi_speed", |r| &mut r.hover_taxi_speed),
        ("hover_taxi_height", |r| &mut r.hover_taxi_height),
        ("air_taxi_height", |r| &mut r.air_taxi_height),
        ("taxi_for", |r| &mut r.taxi_for),
        ("take_off_speed", |r| &mut r.take_off_speed),
        ("take_off_within", |r| &mut r.take_off_within),
        ("climb", |r| &mut r.climb),
        ("climb_for", |r| &mut r.climb_for),
        ("climb_left", |r| &mut r.climb_left),
        ("climb_left_for", |r| &mut r.climb_left_for),
        ("cruise_airspeed", |r| &mut r.cruise_airspeed),
        ("cruise_for", |r| &mut r.cruise_for),
        ("approach_height", |r| &mut r.approach_height),
        ("autorotation_sink", |r| &mut r.autorotation_sink),
        ("autorotation_for", |r| &mut r.autorotation_for),
        ("rejoined_for", |r| &mut r.rejoined_for),
    ];

    /// Takes the elevation of the flight's field, in feet, where the panel itself says none.
    pub fn follow(&mut self, field_elevation_ft: Option<f64>) {
        self.field_ft = self.field_ft.or(field_elevation_ft);
    }
}

/// A plate with the flight's profile, its phase and a clock.
#[derive(Debug, Clone, PartialEq)]
pub struct PhaseStrip {
    /// Whose time stands at its right end.
    pub clock: Shows,
    /// Width of the plate in modules.
    pub width_m: f64,
}

impl PhaseStrip {
    /// Usual width in modules: what the dials in the corners of a 16:9 picture leave between them.
    pub const WIDTH_M: f64 = 0.7007;
    /// Narrowest and widest plate in modules: name and clock need their room, and no picture is wider.
    pub const WIDTHS_M: (f64, f64) = (0.45, 3.0);
}

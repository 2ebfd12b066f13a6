//! Channels that no logger recorded, computed from those it did, once, before anything is shown.
//!
//! A derived channel stands on the session's own clock at the records of its first input. Where an input has no value of that
//! moment - held, stale or missing - the derived one has none either: its age then counts as any channel's does. Nothing is derived
//! that a log recorded already.

mod air_data;
mod endurance;
mod magnetic;
mod maker;
mod motion;
mod power;
mod running;

use super::Session;
use maker::Maker;

/// What the owner states and formulae need; what is not stated is not made up.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Basis {
    /// Altimeter settings in hPa, each from its session time in seconds on, in that order.
    pub settings_hpa: Vec<(f64, f64)>,
    /// Outside air temperature at the field in degrees Celsius, where none was recorded.
    pub oat_c: Option<f64>,
    /// Elevation of the field in feet.
    pub field_elevation_ft: Option<f64>,
    /// Airspeeds as indicated and what they stand for, in knots, rising; none where the owner has no table.
    pub position_error_kt: Vec<(f64, f64)>,
    /// Below this airspeed in knots nothing is derived from it; at least [`SLOWEST_KT`].
    pub slowest_kt: f64,
    /// Speed of the rotor in rpm that the owner calls 100 percent.
    pub rotor_rpm_at_100: Option<f64>,
    /// Speed of the engine in rpm that the owner calls 100 percent.
    pub engine_rpm_at_100: Option<f64>,
    /// Fuel at the first record in litres.
    pub fuel_at_start_l: Option<f64>,
    /// Density of the fuel in kg/m^3; without it a mass is no volume.
    pub fuel_density_kg_m3: Option<f64>,
    /// Fuel in litres that endurance and range do not count on.
    pub fuel_reserve_l: Option<f64>,
    /// Fuel flow in litres an hour from which on the aircraft flies; without it there is neither endurance nor range.
    pub flow_in_flight_l_h: Option<f64>,
}

/// Below this a helicopter's pitot says nothing (14 CFR 27.1323 calibrates airspeeds from 20 kt on).
pub const SLOWEST_KT: f64 = 20.0;
/// Below this ground speed a track is noise (common practice, no source).
pub const SLOWEST_TRACK_KT: f64 = 5.0;

impl Session {
    /// Adds every channel that can be computed from what was recorded and what is stated.
    #[must_use]
    pub fn derived(self, basis: &Basis) -> Self {
        self.derive(basis, None)
    }

    /// Adds what can be computed and is named (`calc.NAME`), with all that it is made from; what costs little may be there too.
    /// A slope over every record of a long log costs more than reading the log.
    #[must_use]
    pub fn derived_for(mut self, basis: &Basis, names: &[String]) -> Self {
        self = self.derive(basis, Some(names));
        // Who names what is not there is told what there is.
        if names.iter().all(|name| self.find(name).is_some()) {
            return self;
        }
        self.derived.clear();
        self.derive(basis, None)
    }

    fn derive(mut self, basis: &Basis, asked: Option<&[String]>) -> Self {
        let mut maker = Maker::new(&mut self, basis, asked);
        air_data::add(&mut maker);
        motion::add(&mut maker);
        power::add(&mut maker);
        endurance::add(&mut maker);
        running::add(&mut maker);
        self
    }
}

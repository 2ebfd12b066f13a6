//! Air data and flight mechanics as pure formulae: numbers in, numbers out. Each names its source and where it stops to hold.
//!
//! Units stand in the names: `_hpa`, `_ft` (0.3048 m), `_kt` (1852/3600 m/s), `_c` (degrees Celsius), `_deg`. Altitudes of the
//! atmosphere are geopotential. Directions are degrees clockwise from the north that the caller means; winds blow *from* theirs.
//! What a formula cannot answer is `None`, never a number outside its range.

mod airspeed;
mod altitude;
mod atmosphere;
mod earth;
mod fuel;
mod magnetic;
mod rotor;
mod turn;
mod wind;
mod wind_fit;

pub use airspeed::{Airspeeds, calibrated_kt, impact_pressure_hpa, mach, static_temperature_c};
pub use altitude::{density_altitude_ft, indicated_altitude_ft, pressure_altitude_ft, vapour_pressure_hpa};
pub use atmosphere::{Air, STANDARD_PRESSURE_HPA, standard};
pub use earth::metres_a_degree;
pub use fuel::{endurance_h, mass_kg};
pub use magnetic::{NoVariation, WEAKEST_NT, variation_deg};
pub use rotor::{blade_passage_hz, percent, rpm, split_sigma_percent, tip_speed_m_s};
pub use turn::{bank_deg, load_factor, radius_m, turn_rate_deg_s};
pub use wind::{Aloft, ground, heading_for, wind_from};
pub use wind_fit::{Way, WindFit, wind_of_speeds, wind_of_ways};

/// Knots to metres a second: the nautical mile is 1852 m by definition.
pub(crate) const KT: f64 = 1852.0 / 3600.0;
/// Feet to metres, by definition.
pub(crate) const FT: f64 = 0.3048;
/// Zero degrees Celsius in kelvin, by definition.
pub(crate) const ZERO_C: f64 = 273.15;
/// Standard acceleration of free fall in m/s^2, by definition.
pub(crate) const G: f64 = 9.80665;

//! Airspeeds, by the subsonic pitot equations with compressibility.
//!
//! An indicated airspeed is a calibrated one only after the owner's position error; below about 20 kt a helicopter's pitot
//! says nothing (14 CFR 27.1323 calibrates from 20 kt on), and callers leave such values out.

use super::ZERO_C;
use super::atmosphere::{Air, STANDARD_PRESSURE_HPA, T0, standard};

/// `(gamma - 1) / 2` and `gamma / (gamma - 1)` for 1.4.
const HALF: f64 = 0.2;
const POWER: f64 = 3.5;

/// Impact pressure in hPa that a calibrated airspeed stands for: `p0 ((1 + 0.2 (CAS / a0)^2)^3.5 - 1)`.
pub fn impact_pressure_hpa(cas_kt: f64) -> f64 {
    STANDARD_PRESSURE_HPA * ((1.0 + HALF * (cas_kt / sea_level().sound_kt()).powi(2)).powf(POWER) - 1.0)
}

/// Calibrated airspeed in knots of an impact pressure; none for a negative one, and from the speed of sound on.
pub fn calibrated_kt(impact_hpa: f64) -> Option<f64> {
    Some(mach(impact_hpa, STANDARD_PRESSURE_HPA)? * sea_level().sound_kt())
}

/// Mach number of an impact pressure over a static one; none for a negative one, and from 1 on.
pub fn mach(impact_hpa: f64, static_hpa: f64) -> Option<f64> {
    if !(impact_hpa >= 0.0 && static_hpa > 0.0) {
        return None;
    }
    let mach = ((impact_hpa / static_hpa + 1.0).powf(1.0 / POWER) - 1.0).max(0.0).sqrt() / HALF.sqrt();
    (mach < 1.0).then_some(mach)
}

/// Static air temperature from the total one that a probe in the stream feels, both in degrees Celsius, with the probe's recovery
/// factor: `T = T_t / (1 + 0.2 r M^2)`.
pub fn static_temperature_c(total_c: f64, mach: f64, recovery: f64) -> f64 {
    (total_c + ZERO_C) / (1.0 + HALF * recovery * mach * mach) - ZERO_C
}

fn sea_level() -> Air {
    Air { pressure_hpa: STANDARD_PRESSURE_HPA, temperature_c: T0 - ZERO_C }
}

/// The airspeeds that belong to one calibrated one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Airspeeds {
    /// Mach number.
    pub mach: f64,
    /// Equivalent airspeed in knots.
    pub equivalent_kt: f64,
    /// True airspeed in knots.
    pub true_kt: f64,
}

impl Airspeeds {
    /// From a calibrated airspeed in knots, a pressure altitude in feet and the air's static temperature in degrees Celsius. None
    /// outside the atmosphere's altitudes, for a negative speed, and from the speed of sound on.
    pub fn new(calibrated_kt: f64, pressure_altitude_ft: f64, temperature_c: f64) -> Option<Self> {
        if calibrated_kt < 0.0 {
            return None;
        }
        let air = Air { temperature_c, ..standard(pressure_altitude_ft)? };
        let mach = mach(impact_pressure_hpa(calibrated_kt), air.pressure_hpa)?;
        let true_kt = mach * air.sound_kt();
        Some(Self { mach, equivalent_kt: true_kt * air.sigma().sqrt(), true_kt })
    }
}

//! The standard atmosphere.

use super::{FT, G, KT, ZERO_C};

/// Sea level pressure of the standard atmosphere in hPa (ICAO Doc 7488).
pub const STANDARD_PRESSURE_HPA: f64 = 1013.25;
/// Sea level temperature in kelvin (ICAO Doc 7488).
pub(super) const T0: f64 = 288.15;
/// Lapse in kelvin a metre (ICAO Doc 7488).
pub(super) const LAPSE: f64 = 0.0065;
/// Specific gas constant of dry air in J/(kg K) (ICAO Doc 7488).
pub(super) const R: f64 = 287.05287;
/// Ratio of specific heats.
const GAMMA: f64 = 1.4;
/// Where the lapse ends, in geopotential metres, and where the level layer above it does.
const TROPOPAUSE_M: f64 = 11_000.0;
const HIGHEST_M: f64 = 20_000.0;
const LOWEST_M: f64 = -5_000.0;

/// Still air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Static pressure in hPa.
    pub pressure_hpa: f64,
    /// Temperature in degrees Celsius.
    pub temperature_c: f64,
}

impl Air {
    /// Density of dry air in kg/m^3, by the ideal gas law.
    pub fn density(self) -> f64 {
        100.0 * self.pressure_hpa / (R * (self.temperature_c + ZERO_C))
    }

    /// Density over that of the standard atmosphere at sea level.
    pub fn sigma(self) -> f64 {
        self.density() / (100.0 * STANDARD_PRESSURE_HPA / (R * T0))
    }

    /// Speed of sound in knots.
    pub fn sound_kt(self) -> f64 {
        (GAMMA * R * (self.temperature_c + ZERO_C)).sqrt() / KT
    }
}

/// The standard atmosphere at a geopotential altitude in feet (ICAO Doc 7488, 1993), from -5 to 20 km; none beyond.
pub fn standard(altitude_ft: f64) -> Option<Air> {
    let h = altitude_ft * FT;
    if !(LOWEST_M..=HIGHEST_M).contains(&h) {
        return None;
    }
    let below = h.min(TROPOPAUSE_M);
    let t = T0 - LAPSE * below;
    let p = STANDARD_PRESSURE_HPA * (t / T0).powf(G / (LAPSE * R));
    let level = (-G * (h - below) / (R * t)).exp();
    Some(Air { pressure_hpa: p * level, temperature_c: t - ZERO_C })
}

/// The geopotential altitude in feet at which the standard atmosphere has a pressure; none outside -5 to 20 km.
pub(super) fn altitude_of_ft(pressure_hpa: f64) -> Option<f64> {
    let exponent = LAPSE * R / G;
    let below = T0 / LAPSE * (1.0 - (pressure_hpa / STANDARD_PRESSURE_HPA).powf(exponent));
    let h = if below <= TROPOPAUSE_M {
        below
    } else {
        let t = T0 - LAPSE * TROPOPAUSE_M;
        let p = STANDARD_PRESSURE_HPA * (t / T0).powf(1.0 / exponent);
        TROPOPAUSE_M - R * t / G * (pressure_hpa / p).ln()
    };
    (LOWEST_M..=HIGHEST_M).contains(&h).then_some(h / FT)
}

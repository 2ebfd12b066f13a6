//! Altitudes by pressure and by density. A GNSS altitude is none of these, and nothing here makes one of it.

use super::atmosphere::{Air, LAPSE, R, STANDARD_PRESSURE_HPA, T0, altitude_of_ft};
use super::{FT, G, ZERO_C};

/// Pressure altitude in feet: what an altimeter shows that is set to 1013.25 hPa (ICAO Doc 7488, inverted). None for a pressure
/// outside the atmosphere's -5 to 20 km.
pub fn pressure_altitude_ft(static_hpa: f64) -> Option<f64> {
    altitude_of_ft(static_hpa)
}

/// What an altimeter shows at a pressure altitude when it is set to `setting_hpa`: the pressure altitude less that of the setting.
///
/// A sensitive altimeter's window runs from 948 to 1050 hPa (28.00 to 31.00 inHg; FAA-H-8083-15); none outside it.
pub fn indicated_altitude_ft(pressure_altitude_ft: f64, setting_hpa: f64) -> Option<f64> {
    (948.0..=1050.0).contains(&setting_hpa).then_some(())?;
    Some(pressure_altitude_ft - altitude_of_ft(setting_hpa)?)
}

/// Pressure of water vapour over water in hPa at a dew point in degrees Celsius (Magnus form, 6.1078 x 10^(7.5 t / (237.3 + t))), for
/// -40 to 50 C; none beyond.
pub fn vapour_pressure_hpa(dew_point_c: f64) -> Option<f64> {
    let t = dew_point_c;
    (-40.0..=50.0).contains(&t).then(|| 6.1078 * 10.0_f64.powf(7.5 * t / (237.3 + t)))
}

/// Density altitude in feet: where the standard atmosphere is as dense as this air. A dew point adds the vapour's share by the virtual
/// temperature `T / (1 - 0.37802 e / p)`; without one the air is taken as dry, which is up to some hundred feet too low on a
/// hot, wet day. None where the density lies outside the troposphere, or the dew point above the temperature.
pub fn density_altitude_ft(air: Air, dew_point_c: Option<f64>) -> Option<f64> {
    let t = air.temperature_c + ZERO_C;
    let t = match dew_point_c {
        Some(dew) if dew > air.temperature_c + 0.05 => return None,
        Some(dew) => t / (1.0 - 0.37802 * vapour_pressure_hpa(dew)? / air.pressure_hpa),
        None => t,
    };
    let sigma = air.pressure_hpa / STANDARD_PRESSURE_HPA * T0 / t;
    let h = T0 / LAPSE * (1.0 - sigma.powf(1.0 / (G / (LAPSE * R) - 1.0)));
    (-5_000.0..=11_000.0).contains(&h).then_some(h / FT)
}

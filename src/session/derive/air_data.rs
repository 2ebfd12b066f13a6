//! Altitudes, airspeeds and vertical speed.

use super::maker::{Maker, Named, slopes};
use super::{Basis, SLOWEST_KT};
use crate::air::{self, Air, Airspeeds};
use crate::meaning::Meaning;
use crate::session::table::between;
use crate::signal::{Cursor, Kind};

/// Half of the time over which a vertical speed is taken, in seconds: with 2 s in all, and centred, it leads the real dial, which
/// lags by 6 to 9 s (from memory). `smoothing` on the instrument gives the dial's lag.
const HALF_S: f64 = 1.0;
/// Cooling with height where the outside temperature is only stated for the field: that of the standard atmosphere, K a foot.
const LAPSE_K_FT: f64 = 0.0065 * 0.3048;

const fn named(name: &'static str, unit: &'static str) -> Named {
    Named { name, unit, kind: Kind::Continuous }
}

pub(super) fn add(maker: &mut Maker<'_>) {
    pressure_altitude(maker);
    indicated_altitude(maker);
    density_altitude(maker);
    airspeeds(maker);
    vertical_speed(maker);
}

/// The setting in force at a session time.
fn setting(basis: &Basis, session_s: f64) -> Option<f64> {
    let after = basis.settings_hpa.partition_point(|setting| setting.0 <= session_s);
    Some(basis.settings_hpa.get(after.checked_sub(1)?)?.1)
}

/// From the static pressure; else from the indicated altitude and the setting that was in the window.
fn pressure_altitude(maker: &mut Maker<'_>) {
    if maker.has(Meaning::PressureAltitude) {
        return;
    }
    let basis = maker.basis;
    if let Some(pressure) = maker.input(Meaning::StaticPressure, "hPa") {
        maker.add(named("Pressure Altitude", "ft"), [pressure], |_, [hpa]| air::pressure_altitude_ft(hpa));
    } else if let Some(indicated) = maker.input(Meaning::IndicatedAltitude, "ft") {
        maker.add(named("Pressure Altitude", "ft"), [indicated], |t, [ft]| {
            Some(ft + air::pressure_altitude_ft(setting(basis, t)?)?)
        });
    }
}

/// What an altimeter with the owner's setting shows at the pressure altitude.
fn indicated_altitude(maker: &mut Maker<'_>) {
    let basis = maker.basis;
    if maker.has(Meaning::IndicatedAltitude) || basis.settings_hpa.is_empty() {
        return;
    }
    if let Some(pressure) = maker.input(Meaning::PressureAltitude, "ft") {
        maker.add(named("Indicated Altitude", "ft"), [pressure], |t, [ft]| {
            air::indicated_altitude_ft(ft, setting(basis, t)?)
        });
    }
}

/// With the recorded outside temperature, and its dew point if that was recorded too; else with the temperature that is stated for the
/// field, cooled by the standard lapse above it.
fn density_altitude(maker: &mut Maker<'_>) {
    if !maker.wants(&["Density Altitude"]) {
        return;
    }
    let Some(altitude) = maker.input(Meaning::PressureAltitude, "ft") else { return };
    let name = named("Density Altitude", "ft");
    let of = |ft: f64, temperature_c: f64, dew: Option<f64>| {
        air::density_altitude_ft(Air { temperature_c, ..air::standard(ft)? }, dew)
    };
    let basis = maker.basis;
    match (maker.input(Meaning::OutsideTemperature, "°C"), maker.input(Meaning::DewPoint, "°C")) {
        (Some(oat), Some(dew)) => maker.add(name, [altitude, oat, dew], |_, [ft, c, dew]| of(ft, c, Some(dew))),
        (Some(oat), None) => maker.add(name, [altitude, oat], |_, [ft, c]| of(ft, c, None)),
        (None, _) => {
            let (Some(oat), Some(field)) = (basis.oat_c, basis.field_elevation_ft) else { return };
            maker.add(name, [altitude], |t, [ft]| {
                let above_field = match setting(basis, t) {
                    Some(hpa) => air::indicated_altitude_ft(ft, hpa)? - field,
                    None => ft - field,
                };
                of(ft, oat - LAPSE_K_FT * above_field, None)
            });
        }
    }
}

/// Calibrated by the owner's table or from the impact pressure; equivalent and true airspeed from that.
fn airspeeds(maker: &mut Maker<'_>) {
    let basis = maker.basis;
    let slowest = basis.slowest_kt.max(SLOWEST_KT);
    if !maker.has(Meaning::CalibratedAirspeed) {
        if let Some(impact) = maker.input(Meaning::ImpactPressure, "hPa") {
            maker.add(named("Calibrated Airspeed", "kt"), [impact], |_, [hpa]| air::calibrated_kt(hpa));
        } else if let (Some(indicated), false) =
            (maker.input(Meaning::IndicatedAirspeed, "kt"), basis.position_error_kt.is_empty())
        {
            maker.add(named("Calibrated Airspeed", "kt"), [indicated], |_, [kt]| {
                between(&basis.position_error_kt, kt).filter(|_| kt >= slowest)
            });
        }
    }
    // Without a table the indicated airspeed stands for the calibrated one.
    let speed =
        maker.input(Meaning::CalibratedAirspeed, "kt").or_else(|| maker.input(Meaning::IndicatedAirspeed, "kt"));
    let (Some(speed), Some(altitude)) = (speed, maker.input(Meaning::PressureAltitude, "ft")) else { return };
    if maker.has(Meaning::TrueAirspeed) {
        return;
    }
    let of = |kt: f64, ft, c| Airspeeds::new(kt, ft, c).filter(|_| kt >= slowest);
    if let Some(oat) = maker.input(Meaning::OutsideTemperature, "°C") {
        let inputs = [speed, altitude, oat];
        maker.add(named("True Airspeed", "kt"), inputs, |_, [kt, ft, c]| Some(of(kt, ft, c)?.true_kt));
        maker.add(named("Equivalent Airspeed", "kt"), inputs, |_, [kt, ft, c]| Some(of(kt, ft, c)?.equivalent_kt));
        maker.add(named("Mach", ""), inputs, |_, [kt, ft, c]| Some(of(kt, ft, c)?.mach));
    }
}

/// The slope of the pressure altitude over 2 s, corrected to geometric feet where the temperature is known: a warm column is higher.
fn vertical_speed(maker: &mut Maker<'_>) {
    if maker.has(Meaning::VerticalSpeed) || !maker.wants(&["Vertical Speed"]) {
        return;
    }
    let Some(altitude) = maker.input(Meaning::PressureAltitude, "ft") else { return };
    let (records, rules) = maker.records(altitude);
    let half = HALF_S.max(rules.joined_s);
    let made = slopes(&records, half, rules.joined_s, |a, b| b - a);
    let oat = maker.input(Meaning::OutsideTemperature, "°C");
    let mut cursor = Cursor::default();
    let mut places = records.iter();
    let warmed = |&(time, slope): &(f64, f64)| {
        let ft = places.by_ref().find(|record| record.0 == time)?.1;
        let warm = match oat {
            Some(oat) => (maker.at(oat, time, &mut cursor)? + 273.15) / (air::standard(ft)?.temperature_c + 273.15),
            None => 1.0,
        };
        Some((time, 60.0 * slope * warm))
    };
    let made: Vec<(f64, f64)> = made.iter().filter_map(warmed).collect();
    maker.put(named("Vertical Speed", "ft/min"), made, rules, records.len());
}

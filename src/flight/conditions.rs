//! What no logger writes down.

use crate::keyfile::Section;
use crate::panel::quantity::quantity;
use crate::panel::{AltimeterSetting, setting_text};
use crate::session::{Basis, SLOWEST_KT};
use crate::units::{Dimension, Unit};

/// The conditions of a flight, as far as the owner states them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Conditions {
    /// Outside air temperature in degrees Celsius.
    pub oat_c: Option<f64>,
    /// Elevation of the field in feet.
    pub field_elevation_ft: Option<f64>,
    /// Take-off weight in kilograms.
    pub takeoff_weight_kg: Option<f64>,
    /// Fuel at the start in litres.
    pub fuel_at_start_l: Option<f64>,
    /// Density of the fuel in kg/m^3.
    pub fuel_density_kg_m3: Option<f64>,
    /// Fuel in litres that endurance and range do not count on.
    pub fuel_reserve_l: Option<f64>,
    /// Fuel flow in litres an hour from which on the aircraft flies.
    pub flow_in_flight_l_h: Option<f64>,
    /// Usable fuel in litres.
    pub usable_fuel_l: Option<f64>,
    /// Settings of the altimeter, in the order of their times.
    pub altimeter_settings: Vec<AltimeterSetting>,
    /// The same in hPa, each from its session time in seconds on.
    pub settings_hpa: Vec<(f64, f64)>,
    /// Speeds of rotor and engine in rpm that the owner calls 100 percent.
    pub rpm_at_100: [Option<f64>; 2],
    /// Airspeeds as indicated and what they stand for, in knots.
    pub position_error_kt: Vec<(f64, f64)>,
    /// Airspeed in knots below which nothing is derived from it.
    pub slowest_kt: f64,
}

/// Densities that a fuel can have, in kg/m^3: petrol and kerosene with room on both sides (`tests/published/fuel.csv`).
const FUEL_KG_M3: std::ops::RangeInclusive<f64> = 600.0..=1000.0;

/// Reads the table `[conditions]`.
pub(super) fn read(mut section: Section<'_>) -> Conditions {
    let density = density(&mut section);
    let mut fuel = |key, unit| fuel(&mut section, key, unit, density);
    let mut conditions = Conditions {
        fuel_density_kg_m3: density,
        fuel_at_start_l: fuel("fuel_at_start", "L"),
        fuel_reserve_l: fuel("fuel_reserve", "L"),
        flow_in_flight_l_h: fuel("flow_in_flight", "L/h"),
        usable_fuel_l: fuel("usable_fuel", "L"),
        ..Conditions::default()
    };
    let mut value = |key, unit| quantity(&mut section, key, unit).map(|q| q.value);
    conditions = Conditions {
        oat_c: value("oat", "°C"),
        field_elevation_ft: value("field_elevation", "ft"),
        takeoff_weight_kg: value("takeoff_weight", "kg"),
        slowest_kt: value("airspeed_from", "kt").unwrap_or(SLOWEST_KT),
        ..conditions
    };
    conditions.rpm_at_100 = ["rotor_rpm_at_100", "engine_rpm_at_100"].map(|key| above_zero(&mut section, key));
    conditions.position_error_kt = position_error(&mut section);
    for mut setting in section.sections("altimeter_setting") {
        let from = setting.number("from").map_or(0.0, |f| f.0);
        let quantity = quantity(&mut setting, "setting", "hPa");
        conditions.settings_hpa.extend(quantity.as_ref().map(|q| (from, q.value)));
        let text = quantity.map(|q| setting_text(q.number, q.unit));
        if text.is_none() {
            setting.missing("setting", "the pressure in the window, e.g. \"29.92 inHg\"");
        }
        setting.end();
        conditions.altimeter_settings.extend(text.map(|text| AltimeterSetting { from_s: from, text }));
    }
    conditions.altimeter_settings.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    conditions.settings_hpa.sort_by(|a, b| a.0.total_cmp(&b.0));
    section.end();
    conditions
}

/// The fuel's density, if it is one that a fuel can have.
fn density(section: &mut Section<'_>) -> Option<f64> {
    let density = quantity(section, "fuel_density", "kg/m3")?;
    if FUEL_KG_M3.contains(&density.value) {
        return Some(density.value);
    }
    let message = format!("`fuel_density` is {} {}; no fuel weighs that", density.number, density.unit.symbol);
    section.fault(density.place, "fuel_density", "out_of_range", message, "write for example \"6.7 lb/US gal\"");
    None
}

/// An amount of fuel or a flow in litres. A mass is one by the density alone.
fn fuel(section: &mut Section<'_>, key: &'static str, litres: &'static str, density: Option<f64>) -> Option<f64> {
    let (text, place) = section.text(key)?;
    let unit = Unit::find(text.trim_start_matches(|c: char| c.is_ascii_digit() || "+-.".contains(c)));
    let is_mass = unit.is_some_and(|unit| matches!(unit.dimension, Dimension::Mass | Dimension::MassFlow));
    match density {
        Some(density) if is_mass => {
            let kilograms = if litres == "L" { "kg" } else { "kg/h" };
            Some(quantity(section, key, kilograms)?.value * 1000.0 / density)
        }
        None if is_mass => {
            let message = format!("`{key}` is \"{text}\", a mass, and nothing says how much of the fuel weighs that");
            let cure = "add fuel_density = \"...\" (in lb/US gal or kg/L), or write a volume";
            section.fault(place, key, "density_missing", message, cure);
            None
        }
        _ => quantity(section, key, litres).map(|q| q.value),
    }
}

/// A number above zero; none where it is not there.
fn above_zero(section: &mut Section<'_>, key: &'static str) -> Option<f64> {
    match section.number(key)? {
        (number, _) if number > 0.0 => Some(number),
        (number, place) => {
            let message = format!("`{key}` is {number}, not above zero");
            section.fault(place, key, "out_of_range", message, "give revolutions a minute, e.g. 510");
            None
        }
    }
}

/// The table of the position error: rows of indicated and calibrated airspeed in knots, rising.
fn position_error(section: &mut Section<'_>) -> Vec<(f64, f64)> {
    let Some((rows, place)) = section.rows("position_error", 2) else { return Vec::new() };
    let table: Vec<(f64, f64)> = rows.iter().map(|row| (row[0], row[1])).collect();
    if table.len() < 2 || !table.windows(2).all(|pair| pair[0].0 < pair[1].0) {
        let message = "`position_error` needs at least two rows whose indicated airspeeds rise";
        let cure = "write [[indicated, calibrated], ...] in knots, the slowest first";
        section.fault(place, "position_error", "scale_not_rising", message, cure);
        return Vec::new();
    }
    table
}

impl Conditions {
    /// What formulae need of them.
    pub fn basis(&self) -> Basis {
        Basis {
            settings_hpa: self.settings_hpa.clone(),
            oat_c: self.oat_c,
            field_elevation_ft: self.field_elevation_ft,
            position_error_kt: self.position_error_kt.clone(),
            slowest_kt: self.slowest_kt,
            rotor_rpm_at_100: self.rpm_at_100[0],
            engine_rpm_at_100: self.rpm_at_100[1],
            fuel_at_start_l: self.fuel_at_start_l,
            fuel_density_kg_m3: self.fuel_density_kg_m3,
            fuel_reserve_l: self.fuel_reserve_l,
            flow_in_flight_l_h: self.flow_in_flight_l_h,
        }
    }
}

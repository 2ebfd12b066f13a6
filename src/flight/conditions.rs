//! What no logger writes down.

use crate::keyfile::Section;
use crate::units::{Dimension, Unit};

/// A setting of the altimeter's window, from a moment on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AltimeterSetting {
    /// Session time in seconds from which it stood.
    pub from_s: f64,
    /// The setting in hPa.
    pub setting_hpa: f64,
}

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
    /// Usable fuel in litres.
    pub usable_fuel_l: Option<f64>,
    /// Settings of the altimeter, in the order of their times.
    pub altimeter_settings: Vec<AltimeterSetting>,
}

/// Reads the table `[conditions]`.
pub(super) fn read(mut section: Section<'_>) -> Conditions {
    let mut conditions = Conditions {
        oat_c: quantity(&mut section, "oat", "°C"),
        field_elevation_ft: quantity(&mut section, "field_elevation", "ft"),
        takeoff_weight_kg: quantity(&mut section, "takeoff_weight", "kg"),
        fuel_at_start_l: quantity(&mut section, "fuel_at_start", "L"),
        usable_fuel_l: quantity(&mut section, "usable_fuel", "L"),
        altimeter_settings: Vec::new(),
    };
    for mut setting in section.sections("altimeter_setting") {
        let from = setting.number("from").map_or(0.0, |f| f.0);
        let hpa = quantity(&mut setting, "setting", "hPa");
        if hpa.is_none() {
            setting.missing("setting", "the pressure in the window, e.g. \"29.92 inHg\"");
        }
        setting.end();
        conditions.altimeter_settings.extend(hpa.map(|setting_hpa| AltimeterSetting { from_s: from, setting_hpa }));
    }
    conditions.altimeter_settings.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    section.end();
    conditions
}

/// A number with its unit in one text, e.g. `"12 degC"`, converted.
fn quantity(section: &mut Section<'_>, key: &'static str, unit: &'static str) -> Option<f64> {
    let wanted = Unit::parse(unit).ok()?;
    let (text, place) = section.text(key)?;
    let split = text.find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c))).unwrap_or(text.len());
    let (number, unit_text) = (text[..split].parse::<f64>().ok(), text[split..].trim());
    let example = match wanted.dimension {
        Dimension::Temperature => "12 degC",
        Dimension::Length => "420 ft",
        Dimension::Mass => "980 lb",
        Dimension::Volume => "14.2 US gal",
        _ => "29.92 inHg",
    };
    let Some(number) = number else {
        let message = format!("`{key}` is \"{text}\"; expected a number with its unit");
        section.fault(place, key, "not_a_quantity", message, &format!("write for example \"{example}\""));
        return None;
    };
    let converted = Unit::parse(unit_text).and_then(|from| from.convert(number, wanted));
    match converted {
        Ok(value) => Some(value),
        Err(error) => {
            section.fault(place, key, "unknown_unit", error.to_string(), &format!("write for example \"{example}\""));
            None
        }
    }
}

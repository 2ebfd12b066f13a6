//! What no logger writes down.

use crate::keyfile::Section;
use crate::panel::quantity::quantity;
use crate::panel::{AltimeterSetting, setting_text};

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
    let mut value = |key, unit| quantity(&mut section, key, unit).map(|q| q.value);
    let mut conditions = Conditions {
        oat_c: value("oat", "°C"),
        field_elevation_ft: value("field_elevation", "ft"),
        takeoff_weight_kg: value("takeoff_weight", "kg"),
        fuel_at_start_l: value("fuel_at_start", "L"),
        usable_fuel_l: value("usable_fuel", "L"),
        altimeter_settings: Vec::new(),
    };
    for mut setting in section.sections("altimeter_setting") {
        let from = setting.number("from").map_or(0.0, |f| f.0);
        let text = quantity(&mut setting, "setting", "hPa").map(|q| setting_text(q.number, q.unit));
        if text.is_none() {
            setting.missing("setting", "the pressure in the window, e.g. \"29.92 inHg\"");
        }
        setting.end();
        conditions.altimeter_settings.extend(text.map(|text| AltimeterSetting { from_s: from, text }));
    }
    conditions.altimeter_settings.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    section.end();
    conditions
}

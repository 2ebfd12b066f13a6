//! An altimeter's table: its channel, what the altitude is counted from, and the pressure set in its window.

use super::{InstrumentLines, channel, place};
use crate::keyfile::{self, Section};
use crate::panel::quantity::quantity;
use crate::panel::{Altimeter, AltimeterSetting, Datum, Face, Instrument, setting_text};
use crate::units::Unit;

/// Parts of a channel's name that plainly say that satellites gave the altitude.
const FROM_SATELLITES: [&str; 5] = ["gps", "gnss", "geoid", "ellipsoid", "wgs"];
/// What to do with such a one.
const TILE: &str = "show it on a tile: kind = \"tile\"";
/// Pressures in hPa that a window can be set to; anything else is a slip of the pen. Common practice, no source.
const SETTINGS_HPA: std::ops::RangeInclusive<f64> = 850.0..=1100.0;

/// Reads the rest of the table; name and kind are read already.
pub(super) fn read(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let channel = channel(&mut section);
    let unit = section.text("unit");
    let in_feet = match &unit {
        Some((unit, at)) if !Unit::parse(unit).is_ok_and(|u| u.symbol == Altimeter::UNIT) => {
            let message = format!("`unit` is \"{unit}\"; an altimeter's face is in ft");
            let cure = "leave `unit` out (a log in metres is converted), or make it a tile";
            section.fault(at.clone(), "unit", "not_for_this_face", message, cure);
            false
        }
        _ => true,
    };
    let pressure = datum(&mut section);
    let datum = pressure.and_then(|pressure| window(&mut section, pressure));
    let sound = match (&channel, pressure) {
        (Some((channel, at)), Some(pressure)) => fitting(&section, channel, at.clone(), pressure),
        _ => false,
    };
    let place = place(&mut section);
    section.end();

    let ((channel, channel_place), (place, place_at)) = (channel?, place?);
    let face = Face::Altimeter(Altimeter { channel, datum: datum? });
    let unit = unit.map_or_else(|| head.clone(), |u| u.1);
    let lines = InstrumentLines { head, channels: vec![channel_place], unit, place: place_at, others: Vec::new() };
    (sound && in_feet).then_some((Instrument::new(name?, place, face), lines))
}

/// Whether the altitude is counted from standard pressure. Satellites are refused by name, so that the cure is told.
fn datum(section: &mut Section<'_>) -> Option<bool> {
    if !section.has("datum") {
        return Some(false);
    }
    let (text, at) = section.text("datum")?;
    match &*text {
        "indicated" => Some(false),
        "pressure" => Some(true),
        "gnss" | "gps" => {
            let message = format!("`datum` is \"{text}\"; an altimeter never shows an altitude from satellites");
            section.fault(at, "datum", "satellite_altitude", message, TILE);
            None
        }
        _ => {
            let message = format!("`datum` is \"{text}\"; expected one of indicated, pressure");
            section.fault(at, "datum", "unknown_word", message, "leave it out for an indicated altitude");
            None
        }
    }
}

/// What stands in the window.
fn window(section: &mut Section<'_>, pressure: bool) -> Option<Datum> {
    if !section.has("setting") {
        return Some(if pressure { Datum::Pressure } else { Datum::Indicated(Vec::new()) });
    }
    let setting = quantity(section, "setting", "hPa")?;
    let fault = |code, message: String, cure| section.fault(setting.place.clone(), "setting", code, message, cure);
    if pressure {
        let message = "a pressure altitude is counted from standard pressure, whatever was set";
        fault("setting_has_no_place", message.into(), "take `setting` out, or `datum`");
        return None;
    }
    let text = setting_text(setting.number, setting.unit);
    if !SETTINGS_HPA.contains(&setting.value) {
        fault(
            "out_of_range",
            format!("no altimeter is set to {text}"),
            "write for example \"29.92 inHg\" or \"1013 hPa\"",
        );
        return None;
    }
    Some(Datum::Indicated(vec![AltimeterSetting { from_s: f64::NEG_INFINITY, text }]))
}

/// Whether a channel's name leaves it possible that it holds what the face says.
fn fitting(section: &Section<'_>, channel: &str, at: keyfile::Place, pressure: bool) -> bool {
    let plain = channel.to_lowercase();
    if FROM_SATELLITES.iter().any(|word| plain.contains(word)) {
        let message = format!("by its name, `{channel}` is an altitude from satellites; an altimeter never shows one");
        section.fault(at, "channel", "satellite_altitude", message, TILE);
        return false;
    }
    if !pressure && plain.contains("pressure") {
        let message = format!("by its name, `{channel}` is a pressure altitude; the face would call it indicated");
        section.fault(at, "channel", "pressure_altitude", message, "add datum = \"pressure\"");
        return false;
    }
    true
}

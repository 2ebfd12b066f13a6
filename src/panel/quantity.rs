//! A number with its unit in one text of an owner's file, e.g. `"29.92 inHg"`.

use crate::keyfile::{Place, Section};
use crate::units::{Dimension, Unit};

/// A quantity as written, and turned into the unit that was wanted.
pub(crate) struct Quantity {
    /// In the unit that was wanted.
    pub value: f64,
    /// As written.
    pub number: f64,
    /// As written.
    pub unit: &'static Unit,
    /// Where it stands.
    pub place: Place,
}

/// Reads a quantity under a key; nothing where the key is not there, or what it says is no such quantity.
pub(crate) fn quantity(section: &mut Section<'_>, key: &'static str, wanted: &'static str) -> Option<Quantity> {
    let wanted = Unit::parse(wanted).ok()?;
    let (text, place) = section.text(key)?;
    let split = text.find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c))).unwrap_or(text.len());
    let (number, unit_text) = (text[..split].parse::<f64>().ok(), text[split..].trim());
    let example = match wanted.dimension {
        Dimension::Temperature => "12 degC",
        Dimension::Length => "420 ft",
        Dimension::Speed => "25 kt",
        Dimension::Mass => "980 lb",
        Dimension::Volume => "14.2 US gal",
        Dimension::Density => "6.7 lb/US gal",
        Dimension::VolumeFlow => "9 US gal/h",
        _ => "29.92 inHg",
    };
    let Some(number) = number else {
        let message = format!("`{key}` is \"{text}\"; expected a number with its unit");
        section.fault(place, key, "not_a_quantity", message, &format!("write for example \"{example}\""));
        return None;
    };
    let converted = Unit::parse(unit_text).and_then(|unit| Ok((unit, unit.convert(number, wanted)?)));
    match converted {
        Ok((unit, value)) => Some(Quantity { value, number, unit, place }),
        Err(error) => {
            section.fault(place, key, "unknown_unit", error.to_string(), &format!("write for example \"{example}\""));
            None
        }
    }
}

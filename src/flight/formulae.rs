//! The tables `[[formula]]`: channels that the owner computes.

use crate::formula::Formula;
use crate::keyfile::{Place, Section};
use crate::units::Unit;

/// A channel of the owner's own formula.
#[derive(Debug, Clone)]
pub struct FormulaEntry {
    /// Its name, after `calc.`.
    pub name: String,
    /// Where that stands.
    pub name_place: Place,
    /// Its unit; none for a plain number.
    pub unit: Option<&'static Unit>,
    /// What it is.
    pub formula: Formula,
    /// Where the formula stands.
    pub place: Place,
    /// How far into the file the first byte of the formula's text lies; none where it is written with escapes.
    pub start: Option<usize>,
}

impl FormulaEntry {
    /// The place in the file of a part of the formula.
    pub fn part(&self, part: &std::ops::Range<usize>) -> Place {
        self.start.map_or(self.place.clone(), |start| start + part.start..start + part.end)
    }
}

/// Reads the formulae; `text` is the whole file.
pub(super) fn read(top: &mut Section<'_>, text: &str) -> Vec<FormulaEntry> {
    let mut found: Vec<FormulaEntry> = Vec::new();
    for mut section in top.sections("formula") {
        let entry = entry(&mut section, text);
        if let Some(entry) = entry {
            if found.iter().any(|other| other.name == entry.name) {
                let message = format!("the name \"{}\" is another formula's already", entry.name);
                section.fault(entry.name_place, "name", "name_twice", message, "give it another name");
            } else {
                found.push(entry);
            }
        }
        section.end();
    }
    found
}

fn entry(section: &mut Section<'_>, text: &str) -> Option<FormulaEntry> {
    let name = section.text("name");
    let unit = section.text("unit");
    let expression = section.text("expression");
    if name.is_none() {
        section.missing("name", "what the channel is called, after `calc.`");
    }
    if expression.is_none() {
        section.missing("expression", "the formula, e.g. \"{engine.Rotor} - {engine.Engine}\"");
    }
    let unit = match unit {
        None if section.has("unit") => return None,
        None => None,
        Some((text, place)) => match Unit::parse(&text) {
            Ok(unit) => Some(unit),
            Err(error) => {
                let cure = "write for example \"kt\", or leave it out for a plain number";
                section.fault(place, "unit", "unknown_unit", error.to_string(), cure);
                return None;
            }
        },
    };
    let ((name, name_place), (expression, place)) = (name?, expression?);
    if name.trim().is_empty() {
        section.fault(name_place, "name", "bad_name", "the name is empty", "give it a name");
        return None;
    }
    let start = text.get(place.clone()).and_then(|quoted| Some(place.start + quoted.find(&expression)?));
    match Formula::parse(&expression) {
        Ok(formula) => Some(FormulaEntry { name, name_place, unit, formula, place, start }),
        Err(error) => {
            let place = start.map_or(place, |start| start + error.place.start..start + error.place.end);
            section.fault(place, "expression", "bad_formula", error.message, &error.cure);
            None
        }
    }
}

//! The tables `[[log.calibration]]`: what a sensor's numbers stand for.

use crate::keyfile::{Place, Section};
use crate::session::{Calibration, Curve};
use crate::units::Unit;

/// Reads the calibrations of a log, each with the place of its column's name.
pub(super) fn read(log: &mut Section<'_>) -> Vec<(Calibration, Place)> {
    let mut found: Vec<(Calibration, Place)> = Vec::new();
    for mut section in log.sections("calibration") {
        let one = calibration(&mut section);
        if let Some((calibration, place)) = one {
            if found.iter().any(|(other, _)| other.column == calibration.column) {
                let message = format!("the column `{}` is calibrated twice", calibration.column);
                section.fault(place, "column", "calibrated_twice", message, "keep one of the two");
            } else {
                found.push((calibration, place));
            }
        }
        section.end();
    }
    found
}

fn calibration(section: &mut Section<'_>) -> Option<(Calibration, Place)> {
    let column = section.text("column");
    let unit = unit(section);
    let curve = curve(section);
    let source = section.text("source").map(|text| text.0).unwrap_or_default();
    let Some((column, place)) = column else {
        section.missing("column", "the name of the log's column");
        return None;
    };
    Some((Calibration { column, unit: unit.ok()?, curve: curve?, source }, place))
}

/// The value's unit as this program writes it; an error that has been reported.
fn unit(section: &mut Section<'_>) -> Result<Option<String>, ()> {
    let Some((text, place)) = section.text("unit") else { return if section.has("unit") { Err(()) } else { Ok(None) } };
    Unit::parse(&text).map(|unit| Some(unit.symbol.to_owned())).map_err(|error| {
        section.fault(place, "unit", "unknown_unit", error.to_string(), "write for example \"degC\"");
    })
}

fn curve(section: &mut Section<'_>) -> Option<Curve> {
    let (factor, offset) = (section.number("factor"), section.number("offset"));
    let rows = section.rows("table", 2);
    let is_line = section.has("factor") || section.has("offset");
    if !section.has("table") {
        return if is_line { line(section, factor, offset) } else { neither(section) };
    }
    let (rows, place) = rows?;
    if is_line {
        let message = "the calibration has a `table`, and `factor` or `offset` too";
        section.fault(place, "table", "two_calibrations", message, "keep the table, or the straight line");
        return None;
    }
    let points: Vec<(f64, f64)> = rows.iter().map(|row| (row[0], row[1])).collect();
    if points.len() < 2 {
        let message = format!("`table` has {} of the points that it needs: two or more", points.len());
        section.fault(place, "table", "too_few_points", message, "write [[recorded, value], [recorded, value]]");
        return None;
    }
    if let Some(pair) = points.windows(2).find(|pair| pair[0].0 >= pair[1].0) {
        let message = format!("`table` does not rise: {} stands after {}", pair[1].0, pair[0].0);
        let cure = "write each pair as [recorded, value], the least recorded number first, none twice";
        section.fault(place, "table", "table_not_rising", message, cure);
        return None;
    }
    Some(Curve::Table(points))
}

fn line(section: &Section<'_>, factor: Option<(f64, Place)>, offset: Option<(f64, Place)>) -> Option<Curve> {
    // What is there and is no number was reported already.
    if section.has("factor") && factor.is_none() || section.has("offset") && offset.is_none() {
        return None;
    }
    let (factor, place) = factor.unwrap_or((1.0, section.place()));
    if factor == 0.0 {
        let message = "`factor` is 0: every record would have the same value";
        section.fault(place, "factor", "out_of_range", message, "give what one unit of the recorded number stands for");
        return None;
    }
    Some(Curve::Line { factor, offset: offset.map_or(0.0, |offset| offset.0) })
}

fn neither(section: &Section<'_>) -> Option<Curve> {
    let expected = "it says how recorded numbers become values, or `factor` and `offset` do";
    section.missing("table", expected);
    None
}

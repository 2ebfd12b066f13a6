//! A pair's table: a title, and a table for each side with its own channel, scale and markings.

use super::{InstrumentLines, channel, decimals, known_unit, marking, place, scale};
use crate::keyfile::{self, Section};
use crate::panel::{Face, Gauge, Instrument, Pair, Scale};

/// Reads the rest of the table; name and kind are read already.
pub(super) fn read(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let title = section.text("title").map_or_else(|| name.clone().unwrap_or_default().to_uppercase(), |t| t.0);
    let place = place(&mut section);
    let [left, right] = [("left", -1.0, "P"), ("right", 1.0, "T")].map(|(side, sign, letter)| {
        let table = section.section(side);
        if table.is_none() {
            section.missing(side, &format!("a table for the {side} hand, e.g. [instrument.{side}] with its channel"));
        }
        table.and_then(|table| gauge(table, name.as_deref(), sign, letter))
    });
    section.end();

    let ((left, left_place), (right, right_place), (place, place_at)) = (left?, right?, place?);
    let face = Face::Pair(Pair { title, left, right });
    let lines = InstrumentLines {
        channels: vec![left_place, right_place],
        unit: head.clone(),
        head,
        place: place_at,
        others: Vec::new(),
    };
    Some((Instrument::new(name?, place, face), lines))
}

/// One side; its angles have the sign of the side.
fn gauge(mut table: Section<'_>, of: Option<&str>, sign: f64, example: &str) -> Option<(Gauge, keyfile::Place)> {
    let channel = channel(&mut table);
    let letter = table.text("letter").map(|t| t.0);
    if letter.is_none() {
        table.missing("letter", &format!("what tells this side from the other one, e.g. letter = \"{example}\""));
    }
    let (unit, unit_place) = table.text("unit").unwrap_or_else(|| (String::new(), table.place()));
    let unit_known = unit.is_empty() || known_unit(&table, &unit, unit_place);
    let decimals = decimals(&mut table);
    let scale_table = table.section("scale");
    let scale_place = scale_table.as_ref().map_or_else(|| table.place(), Section::place);
    let scale = scale::read(&table, scale_table);
    let on_its_side = scale.as_ref().is_none_or(|scale| stays_on_its_side(scale, sign));
    if !on_its_side {
        let (least, most) = Gauge::ANGLES;
        let (from, to) = if sign < 0.0 { (-most, -least) } else { (least, most) };
        let message = format!("an angle of this side's scale does not lie between {from} and {to} degrees");
        let [foot, level, head] = Gauge::LEVEL.map(|angle| sign * angle);
        let cure = format!("a usual scale goes from {foot} over {level} (level, the normal value) to {head}");
        table.fault(scale_place, "scale", "angle_on_other_side", message, &cure);
    }
    let markings = marking::all(&mut table, of, scale.as_ref().map(Scale::ends));
    table.end();

    let ((channel, place), letter, decimals, scale) = (channel?, letter?, decimals?, scale?);
    let gauge = Gauge { channel, letter, unit, decimals, scale, markings: markings? };
    (unit_known && on_its_side).then_some((gauge, place))
}

fn stays_on_its_side(scale: &Scale, sign: f64) -> bool {
    let (least, most) = Gauge::ANGLES;
    scale.breakpoints.iter().all(|(_, angle)| (least..=most).contains(&(sign * angle)))
}

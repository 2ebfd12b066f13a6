//! Tables of the instruments on plates: a bar, and a vertical tape.

use super::scale::ticks;
use super::{InstrumentLines, channel, decimals, known_unit, marking, place};
use crate::keyfile::{self, Section};
use crate::panel::{Bar, Face, Instrument, Scale, Tape};

/// Reads the rest of a bar's table; name and kind are read already.
pub(super) fn bar(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let Common { channel, title, unit, unit_place, decimals } = common(&mut section, &head, name.as_deref());
    let place = place(&mut section);
    let width = width(&mut section, Bar::WIDTH_M, Bar::WIDTHS_M);
    let scale = match section.section("scale") {
        Some(table) => linear(table),
        None => {
            section.missing("scale", "where the track starts and ends, e.g. scale = { from = 0, to = 20, step = 5 }");
            None
        }
    };
    let markings = marking::all(&mut section, name.as_deref(), scale.as_ref().map(Scale::ends));
    section.end();

    let ((channel, at), (place, place_at)) = (channel?, place?);
    let (title, unit, decimals, scale) = (title, unit?, decimals?, scale?);
    let face = Face::Bar(Bar { channel, title, unit, decimals, scale, markings: markings?, width_m: width? });
    let lines = InstrumentLines { head, channels: vec![at], unit: unit_place, place: place_at, others: Vec::new() };
    Some((Instrument::new(name?, place, face), lines))
}

/// Reads the rest of a vertical tape's table; name and kind are read already.
pub(super) fn tape(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let Common { channel, title, unit, unit_place, decimals } = common(&mut section, &head, name.as_deref());
    let place = place(&mut section);
    let span = section.number("span");
    if span.is_none() {
        section.missing("span", "how much of the scale is seen at once, e.g. 60");
    }
    let ticks = ticks(&mut section);
    if let (Some((span, at)), Some(ticks)) = (&span, ticks)
        && !Tape::is_sound(*span, ticks)
    {
        let message = format!("a tape that shows {span} at once does not suit ticks every {} (long)", ticks.long);
        let cure = "1 to 12 long ticks and at most 80 short ones are seen well: change `span` or the ticks";
        section.fault(at.clone(), "span", "out_of_range", message, cure);
        section.end();
        return None;
    }
    let (low, high) = (section.number("from"), section.number("to"));
    let ends = (low.map_or(f64::NEG_INFINITY, |v| v.0), high.as_ref().map_or(f64::INFINITY, |v| v.0));
    let rise = ends.0 < ends.1;
    if let (false, Some((to, at))) = (rise, high) {
        let message = format!("`to` is {to}; the scale starts at {}", ends.0);
        section.fault(at, "to", "scale_not_rising", message, "write the lower end at `from`");
    }
    let markings = marking::all(&mut section, name.as_deref(), rise.then_some(ends));
    section.end();

    let ((channel, at), (place, place_at)) = (channel?, place?);
    let (unit, decimals, span, ticks, markings) = (unit?, decimals?, span?.0, ticks?, markings?);
    if !rise {
        return None;
    }
    let face = Face::Tape(Tape { channel, title, unit, decimals, span, ticks, ends, markings });
    let lines = InstrumentLines { head, channels: vec![at], unit: unit_place, place: place_at, others: Vec::new() };
    Some((Instrument::new(name?, place, face), lines))
}

/// What bar and tape have in common with a tile.
struct Common {
    channel: Option<(String, keyfile::Place)>,
    title: String,
    unit: Option<String>,
    unit_place: keyfile::Place,
    decimals: Option<u8>,
}

fn common(section: &mut Section<'_>, head: &keyfile::Place, name: Option<&str>) -> Common {
    let channel = channel(section);
    let title = section.text("title").map_or_else(|| name.unwrap_or_default().to_uppercase(), |t| t.0);
    let (unit, unit_place) = section.text("unit").unwrap_or((String::new(), head.clone()));
    let known = unit.is_empty() || known_unit(section, &unit, unit_place.clone());
    let decimals = decimals(section);
    Common { channel, title, unit: known.then_some(unit), unit_place, decimals }
}

/// A plate's width in modules; nothing if what is said is none.
pub(super) fn width(section: &mut Section<'_>, usual: f64, (least, most): (f64, f64)) -> Option<f64> {
    match section.number("width") {
        Some((width, at)) if !(least..=most).contains(&width) => {
            let message = format!("`width` is {width}; expected {least} to {most} modules");
            let cure = "a module is the height of a landscape picture; leave it out for the usual width";
            section.fault(at, "width", "out_of_range", message, cure);
            None
        }
        width => Some(width.map_or(usual, |w| w.0)),
    }
}

/// An even scale by its ends and the step of its numerals.
fn linear(mut table: Section<'_>) -> Option<Scale> {
    let [from, to, step] = ["from", "to", "step"].map(|key| table.number(key));
    for (key, there, expected) in [
        ("from", from.is_some(), "the value at the track's foot"),
        ("to", to.is_some(), "the value at the track's end"),
        ("step", step.is_some(), "the step of the numerals"),
    ] {
        if !there {
            table.missing(key, expected);
        }
    }
    let scale = from.zip(to).zip(step).and_then(|(((from, _), (to, at)), (step, _))| {
        let scale = Bar::linear(from, to, step);
        if scale.is_none() {
            let message = format!("a scale from {from} to {to} with a numeral every {step} cannot be drawn");
            let cure = "let `to` be above `from`, and `step` a part of what lies between: 40 numerals at most";
            table.fault(at, "to", "scale_not_rising", message, cure);
        }
        scale
    });
    table.end();
    scale
}

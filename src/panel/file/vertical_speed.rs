//! A vertical speed dial's table: its channel, and at most a unit, where the scale ends, and markings.

use super::{InstrumentLines, channel, marking, place};
use crate::keyfile::{self, Section};
use crate::panel::{Face, Instrument, VerticalSpeed};
use crate::units::Unit;

/// Reads the rest of the table; name and kind are read already.
pub(super) fn read(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let channel = channel(&mut section);
    let channel = channel.filter(|(name, at)| fitting(&section, name, at));
    let usual = VerticalSpeed::UNITS[0].0;
    let (unit, unit_place) = section.text("unit").unwrap_or_else(|| (usual.to_owned(), head.clone()));
    let symbol = Unit::parse(&unit).map_or("", |unit| unit.symbol);
    let known = VerticalSpeed::UNITS.into_iter().find(|(unit, _)| *unit == symbol);
    if known.is_none() {
        let message = format!("`unit` is \"{unit}\"; a vertical speed dial shows ft/min or m/s");
        let cure = "take one of them: a log that counts in another unit of speed is converted";
        section.fault(unit_place.clone(), "unit", "not_for_this_face", message, cure);
    }
    let range = section.number("range");
    let range_place = range.as_ref().map_or_else(|| head.clone(), |r| r.1.clone());
    let place = place(&mut section);
    let dial = channel.zip(known).map(|((channel, at), (unit, usual))| {
        let range = range.as_ref().map_or(usual, |r| r.0);
        let dial = VerticalSpeed::new(channel, unit, range);
        if dial.is_none() {
            let message = format!("`range` is {range}; expected a round number above zero, e.g. {usual}");
            let cure = "the dial ends there, up and down, and half of it stands straight up";
            section.fault(range_place, "range", "out_of_range", message, cure);
        }
        (dial, at)
    });
    let ends = dial.as_ref().and_then(|(dial, _)| Some(dial.as_ref()?.scale.ends()));
    let markings = marking::all(&mut section, name.as_deref(), ends);
    section.end();

    let ((dial, channel_place), (place, place_at)) = (dial?, place?);
    let lines =
        InstrumentLines { head, channels: vec![channel_place], unit: unit_place, place: place_at, others: Vec::new() };
    let face = Face::VerticalSpeed(VerticalSpeed { markings: markings?, ..dial? });
    Some((Instrument::new(name?, place, face), lines))
}

/// Whether a channel's name leaves it possible that it holds a vertical speed: an airspeed would convert without a word.
fn fitting(section: &Section<'_>, channel: &str, at: &keyfile::Place) -> bool {
    let column = channel.rsplit('.').next().unwrap_or(channel).to_lowercase();
    let forward = ["airspeed", "ground speed", "groundspeed"].iter().any(|word| column.contains(word))
        || ["ias", "cas", "tas", "gs", "sog"].contains(&&*column);
    if forward {
        let message = format!("by its name, `{channel}` is a speed forward; this dial shows climb and descent");
        section.fault(at.clone(), "channel", "not_a_vertical_speed", message, "show it on a dial: kind = \"dial\"");
    }
    !forward
}

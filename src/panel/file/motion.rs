//! The tables of attitude, controls, slip ball and ground track: channels, and what they say at the ends of the travel.

use super::{InstrumentLines, channel, place};
use crate::keyfile::{self, Section};
use crate::panel::{Attitude, Control, Controls, Face, Instrument, Slip, Track};

/// Percent at the ends of the travel where nothing is said: of a lever, and of what has a middle. Common practice, no source.
const LEVER: (f64, f64) = (0.0, 100.0);
const ABOUT_MIDDLE: (f64, f64) = (-100.0, 100.0);
/// Sideways g with the ball at its tube's ends where nothing is said. Common practice, no source.
const TUBE_G: (f64, f64) = (-0.2, 0.2);

/// A table of `kind = "attitude"`; name and kind are read already.
pub(super) fn attitude(
    section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    pair(section, head, name, ["pitch", "bank"], |[pitch, bank]| Face::Attitude(Attitude { pitch, bank }))
}

/// A table of `kind = "track"`.
pub(super) fn track(
    section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    pair(section, head, name, ["latitude", "longitude"], |[latitude, longitude]| {
        Face::Track(Track { latitude, longitude })
    })
}

/// A table with two channels and nothing else.
fn pair(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
    keys: [&'static str; 2],
    face: impl FnOnce([String; 2]) -> Face,
) -> Option<(Instrument, InstrumentLines)> {
    let [first, second] = keys.map(|key| {
        let channel = section.text(key);
        if channel.is_none() {
            section.missing(key, &format!("the log and its column, e.g. {key} = \"air.{key}\""));
        }
        channel
    });
    let place = place(&mut section);
    section.end();
    let ((first, first_at), (second, second_at), (place, place_at)) = (first?, second?, place?);
    let lines = InstrumentLines {
        channels: vec![first_at, second_at],
        unit: head.clone(),
        head,
        place: place_at,
        others: Vec::new(),
    };
    Some((Instrument::new(name?, place, face([first, second])), lines))
}

/// A table of `kind = "controls"`.
pub(super) fn controls(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let keys = [
        ("collective", "collective_range", LEVER),
        ("cyclic_right", "cyclic_right_range", ABOUT_MIDDLE),
        ("cyclic_forward", "cyclic_forward_range", ABOUT_MIDDLE),
        ("pedals", "pedals_range", ABOUT_MIDDLE),
    ];
    let mut channels = Vec::new();
    let mut sound = true;
    let [collective, right, forward, pedals] = keys.map(|(key, range_key, usual)| {
        let range = range(&mut section, range_key, usual);
        sound &= range.is_some();
        let (channel, at) = section.text(key)?;
        channels.push(at);
        Some(Control { channel, range: range? })
    });
    if channels.is_empty() && sound {
        section.missing("collective", "at least one of collective, cyclic_right, cyclic_forward and pedals");
    }
    let place = place(&mut section);
    section.end();
    let (place, place_at) = place?;
    let (none, face) = (channels.is_empty(), Face::Controls(Controls { collective, right, forward, pedals }));
    let lines = InstrumentLines { channels, unit: head.clone(), head, place: place_at, others: Vec::new() };
    (sound && !none).then_some((Instrument::new(name?, place, face), lines))
}

/// A table of `kind = "slip"`.
pub(super) fn slip(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let channel = channel(&mut section);
    let range = range(&mut section, "range", TUBE_G);
    let place = place(&mut section);
    section.end();
    let ((channel, channel_at), (place, place_at)) = (channel?, place?);
    let face = Face::Slip(Slip { channel, range: range? });
    let lines =
        InstrumentLines { channels: vec![channel_at], unit: head.clone(), head, place: place_at, others: Vec::new() };
    Some((Instrument::new(name?, place, face), lines))
}

/// What a channel says at both ends of a travel.
fn range(section: &mut Section<'_>, key: &'static str, usual: (f64, f64)) -> Option<(f64, f64)> {
    if !section.has(key) {
        return Some(usual);
    }
    let (numbers, at) = section.numbers(key)?;
    match numbers[..] {
        [from, to] if from != to => Some((from, to)),
        _ => {
            let message = format!("`{key}` needs two numbers that differ: what the channel says at both ends");
            section.fault(at, key, "out_of_range", message, &format!("write for example [{}, {}]", usual.0, usual.1));
            None
        }
    }
}

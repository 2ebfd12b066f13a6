//! Tables of what shows a heading, on a card, a tape or a compass: the channel, and which north it counts from.

use super::plates::width;
use super::{InstrumentLines, channel, place};
use crate::keyfile::{self, Section};
use crate::panel::{Face, Heading, HeadingTape, Instrument, Reference};

/// Words of a channel's name that plainly say that it is a direction of travel over the ground.
const OVER_GROUND: [&str; 4] = ["track", "course", "cog", "trk"];

/// What a heading is shown on.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum On {
    /// A card that turns.
    Card,
    /// A tape.
    Tape,
    /// A card that stands still, under a hand.
    Compass,
}

/// Reads the rest of the table; name and kind are read already.
pub(super) fn read(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
    on: On,
) -> Option<(Instrument, InstrumentLines)> {
    let channel = channel(&mut section);
    let is_heading = channel.as_ref().is_some_and(|(channel, at)| fitting(&section, channel, at.clone()));
    let reference =
        section.word("reference", &[("magnetic", Reference::Magnetic), ("true", Reference::True)]).map(|r| r.0);
    if !section.has("reference") {
        section.missing("reference", "\"magnetic\" or \"true\": which north the recorded heading counts from");
    }
    let place = place(&mut section);
    // Asked for on a tape alone: a disc's width is its size.
    let width =
        if on == On::Tape { width(&mut section, HeadingTape::WIDTH_M, HeadingTape::WIDTHS_M) } else { Some(0.0) };
    section.end();

    let ((channel, at), (place, place_at)) = (channel?, place?);
    let (heading, width_m) = (Heading { channel, reference: reference? }, width?);
    let face = match on {
        On::Card => Face::Heading(heading),
        On::Tape => Face::HeadingTape(HeadingTape { heading, width_m }),
        On::Compass => Face::Compass(heading),
    };
    let lines = InstrumentLines { unit: head.clone(), head, channels: vec![at], place: place_at, others: Vec::new() };
    is_heading.then_some((Instrument::new(name?, place, face), lines))
}

/// Whether a channel's name leaves it possible that it is a heading. A helicopter flies sideways: a track is another thing.
fn fitting(section: &Section<'_>, channel: &str, at: keyfile::Place) -> bool {
    let column = channel.rsplit_once('.').map_or(channel, |(_, column)| column).to_lowercase();
    let mut words = column.split(|c: char| !c.is_alphanumeric());
    let over_ground = words.any(|word| OVER_GROUND.contains(&word)) || column.contains("track");
    if over_ground {
        let message = format!("by its name, `{channel}` is a track over the ground; the face would call it a heading");
        section.fault(at, "channel", "track_is_no_heading", message, "show it on a tile: kind = \"tile\"");
    }
    !over_ground
}

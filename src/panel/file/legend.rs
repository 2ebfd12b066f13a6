//! A legend card's table.

use super::{InstrumentLines, place};
use crate::keyfile::{self, Section};
use crate::panel::{Face, Instrument};

/// Reads the rest of the table; name and kind are read already.
pub(super) fn read(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let place = place(&mut section);
    section.end();
    let (place, place_at) = place?;
    let lines = InstrumentLines { channels: Vec::new(), unit: head.clone(), head, place: place_at, others: Vec::new() };
    Some((Instrument::new(name?, place, Face::Legend), lines))
}

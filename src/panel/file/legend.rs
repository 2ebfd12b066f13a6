//! A legend card's table: when it is shown.

use super::{InstrumentLines, place};
use crate::keyfile::{self, Section};
use crate::panel::{Face, Instrument, Legend};

/// Reads the rest of the table; name and kind are read already.
pub(super) fn read(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let (from, to) = (section.number("from"), section.number("to"));
    if let (Some((to, at)), from) = (&to, from.as_ref().map_or(0.0, |from| from.0))
        && from >= *to
    {
        let message = format!("the legend would be shown from {from} s to {to} s of the film: never");
        section.fault(at.clone(), "to", "empty_range", message, "write the earlier time at `from`, in seconds");
    }
    let place = place(&mut section);
    section.end();
    let (place, place_at) = place?;
    let face = Face::Legend(Legend { from_s: from.map(|f| f.0), to_s: to.map(|t| t.0) });
    let lines = InstrumentLines { channels: Vec::new(), unit: head.clone(), head, place: place_at, others: Vec::new() };
    Some((Instrument { name: name?, place, face }, lines))
}

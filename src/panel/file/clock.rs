//! A clock's table: whose time it shows.

use super::{InstrumentLines, place};
use crate::keyfile::{self, Section};
use crate::panel::{Clock, Face, Instrument, Shows};

/// Reads the rest of the table; name and kind are read already.
pub(super) fn read(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let shows = shows(&mut section, None);
    let title = section.text("title").map(|title| title.0);
    let place = place(&mut section);
    section.end();

    let (shows, (place, place_at)) = (shows?, place?);
    let usual = match shows {
        Shows::Utc => "UTC",
        Shows::Film => "FILM",
        Shows::Session => "LOG TIME",
        Shows::Local { .. } => "LOCAL",
    };
    let title = title.unwrap_or_else(|| usual.to_owned());
    let lines = InstrumentLines { channels: Vec::new(), unit: head.clone(), head, place: place_at, others: Vec::new() };
    Some((Instrument::new(name?, place, Face::Clock(Clock { shows, title })), lines))
}

/// Whose time is shown; `usual` where nothing is said, unless something must be.
pub(super) fn shows(section: &mut Section<'_>, usual: Option<Shows>) -> Option<Shows> {
    let local = Shows::Local { ahead_s: 0 };
    let words = [("utc", Shows::Utc), ("film", Shows::Film), ("session", Shows::Session), ("local", local)];
    let usual = usual.filter(|_| !section.has("shows"));
    let shows = section.word("shows", &words).map(|word| word.0).or(usual);
    if shows.is_none() {
        section.missing("shows", "\"utc\", \"film\", \"session\" or \"local\"");
    }
    let offset = section.utc_offset("utc_offset");
    if shows == Some(local) && offset.is_none() {
        section.missing("utc_offset", "how far local time is ahead of UTC, e.g. utc_offset = \"+02:00\"");
    }
    if shows.is_some_and(|shows| shows != local) && section.has("utc_offset") {
        let message = "only a clock of local time has a `utc_offset`";
        let cure = "take it out, or write shows = \"local\"";
        section.fault(section.place(), "utc_offset", "offset_has_no_place", message, cure);
        return None;
    }
    match shows? {
        Shows::Local { .. } => Some(Shows::Local { ahead_s: offset?.seconds() }),
        shows => Some(shows),
    }
}

//! What the owner says of a flight: notes on its film, and phases in place of the rules'.

use crate::keyfile::{Place, Section};
use crate::panel::Phase;
use crate::time::parse_film_time;

/// A sentence of the owner's on the first film.
#[derive(Debug, Clone, PartialEq)]
pub struct NoteEntry {
    /// Film time in seconds.
    pub film_s: f64,
    /// For how long it is shown, in seconds.
    pub seconds: f64,
    /// What it says.
    pub text: String,
    /// Where it stands.
    pub place: Place,
}

impl NoteEntry {
    /// How long a note is shown that does not say for how long, in seconds: time to read a short sentence twice (common
    /// practice, no source).
    pub const USUAL_S: f64 = 6.0;
}

/// A phase that the owner knows better than the rules.
#[derive(Debug, Clone, PartialEq)]
pub struct PhaseEntry {
    /// Its start.
    pub from: When,
    /// Its end.
    pub to: When,
    /// The phase.
    pub phase: Phase,
    /// Where it stands.
    pub place: Place,
}

/// A moment of a flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum When {
    /// Time of the first film in seconds: a text, as `"1:23.5"`.
    Film(f64),
    /// Session time in seconds: a number.
    Session(f64),
}

/// Reads `[[note]]`.
pub(super) fn notes(sections: Vec<Section<'_>>) -> Vec<NoteEntry> {
    sections.into_iter().filter_map(note).collect()
}

fn note(mut section: Section<'_>) -> Option<NoteEntry> {
    let place = section.place();
    let film_s = film_time(&mut section, "film");
    let text = section.text("text").filter(|text| !text.0.trim().is_empty());
    if film_s.is_none() && !section.has("film") {
        section.missing("film", "the film time at which it is shown, e.g. film = \"1:23\"");
    }
    if text.is_none() {
        section.missing("text", "what it says");
    }
    let seconds = match section.number("for") {
        Some((seconds, at)) if seconds <= 0.0 => {
            let message = format!("`for` is {seconds}: a note is shown for some seconds");
            section.fault(at, "for", "out_of_range", message, "for example for = 6");
            return None;
        }
        seconds => seconds.map_or(NoteEntry::USUAL_S, |s| s.0),
    };
    section.end();
    Some(NoteEntry { film_s: film_s?, seconds, text: text?.0, place })
}

/// Reads `[[phase]]`.
pub(super) fn phases(sections: Vec<Section<'_>>) -> Vec<PhaseEntry> {
    sections.into_iter().filter_map(phase).collect()
}

fn phase(mut section: Section<'_>) -> Option<PhaseEntry> {
    let place = section.place();
    let name = section.text("name");
    let phase = name.as_ref().and_then(|(name, _)| Phase::named(name));
    match &name {
        None => section.missing("name", "the phase, e.g. name = \"hover\""),
        Some((name, at)) if phase.is_none() => {
            let all = Phase::ALL.map(|phase| phase.name().to_lowercase()).join(", ");
            let message = format!("there is no phase \"{name}\"; expected one of {all}");
            section.fault(at.clone(), "name", "unknown_word", message, "take one of them");
        }
        Some(_) => {}
    }
    let ends = ["from", "to"].map(|key| {
        if section.is_number(key) {
            return section.number(key).map(|n| When::Session(n.0));
        }
        if !section.has(key) {
            section.missing(key, "film time as a text, e.g. \"1:23\", or session time in seconds as a number");
        }
        film_time(&mut section, key).map(When::Film)
    });
    section.end();
    let [from, to] = ends;
    Some(PhaseEntry { from: from?, to: to?, phase: phase?, place })
}

fn film_time(section: &mut Section<'_>, key: &'static str) -> Option<f64> {
    let (text, place) = section.text(key)?;
    match parse_film_time(&text) {
        Ok(time) => Some(time.0),
        Err(error) => {
            let message = format!("`{key}` is \"{text}\": {error}");
            section.fault(place, key, "bad_time", message, "write minutes and seconds, as \"1:23.5\"");
            None
        }
    }
}

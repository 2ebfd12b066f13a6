//! Why a part of the debrief is empty, in one line each: a reader must not take what could not be looked for as what was not there.

use super::{Document, Flight};
use crate::judge::Phase;
use crate::meaning::Meaning;
use crate::panel::PhaseChannels;
use serde::Serialize;

/// A part with nothing in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EmptyPart {
    /// Which: `events`, `limits`, `phases`, `figures`, `height`, `track` or `film`.
    pub part: &'static str,
    /// Why, as a sentence.
    pub why: String,
}

/// Every part of a document that is empty.
pub(super) fn parts(flight: &Flight<'_>, document: &Document) -> Vec<EmptyPart> {
    let panel = flight.panel;
    let has_panel = flight.files.iter().any(|file| file.role == "panel");
    let mut all = Vec::new();
    let mut empty = |part, why: String| all.push(EmptyPart { part, why });
    let mut lacks: Vec<&str> = Vec::new();
    lacks.extend(panel.limits.is_empty().then_some("limits"));
    lacks.extend(panel.phases.is_none().then_some("rules for phases"));
    lacks.extend(panel.engine.is_none().then_some("rules for an engine"));
    let lacks = match (&*lacks, has_panel) {
        ([], _) => None,
        (_, false) => {
            Some("the flight file names no panel, so there are no limits and no rules to judge by".to_owned())
        }
        (lacks, true) => Some(format!("the panel has no {}", lacks.join(", no "))),
    };
    if document.events.is_empty() && document.exceedances.is_empty() && document.not_judged.is_empty() {
        empty(
            "events",
            match &lacks {
                Some(lacks) => format!("Nothing was found, and not all was looked for: {lacks}."),
                None => "Nothing was found: every limit and every rule of the panel was judged.".to_owned(),
            },
        );
    }
    if panel.limits.is_empty() {
        let why =
            if has_panel { "The panel has no limits" } else { "The flight file names no panel, and so no limits" };
        empty("limits", format!("{why}: whether one was passed could not be judged."));
    }
    if document.phases.iter().all(|span| span.name == Phase::NotJudged.name()) {
        empty("phases", format!("No phase could be judged: {}.", without_phases(flight, has_panel)));
    }
    if document.figures.flight.is_empty() {
        let why = lacks.clone().unwrap_or_else(|| "no log has a channel that the panel's rules name".to_owned());
        empty("figures", format!("No figure was worked out: {why}."));
    }
    let logged = |wanted: &[Meaning]| {
        flight
            .session
            .channels()
            .any(|(_, _, c)| Meaning::of_name(&c.name).is_some_and(|meaning| wanted.contains(&meaning)))
    };
    use Meaning::{
        BareAltitude, Elevation, GnssAltitude, IndicatedAltitude, Latitude, LoggerPressureAltitude, Longitude,
        PressureAltitude,
    };
    let heights = [IndicatedAltitude, BareAltitude, PressureAltitude, GnssAltitude, Elevation, LoggerPressureAltitude];
    if super::channels::height(flight.session, panel).is_none() && !logged(&heights) {
        empty("height", "No altitude was logged: the line has no height.".to_owned());
    }
    if !flight.located {
        empty("track", "Positions were left out on request.".to_owned());
    } else if !logged(&[Latitude]) || !logged(&[Longitude]) {
        empty("track", "No position was logged.".to_owned());
    }
    if flight.films.is_empty() {
        empty("film", "The flight file names no film.".to_owned());
    } else if flight.films.iter().all(|film| film.fit.is_none()) {
        empty("film", "Nothing joins a film to the logs; jumpseat align says what is missing.".to_owned());
    }
    all
}

/// Why no phase was judged.
fn without_phases(flight: &Flight<'_>, has_panel: bool) -> String {
    let Some(rules) = &flight.panel.phases else {
        return if has_panel {
            "the panel has no rules for phases"
        } else {
            "the flight file names no panel, and so no rules for phases"
        }
        .to_owned();
    };
    let channels = PhaseChannels::ALL.iter().zip(rules.channels.names());
    let missing = channels.filter_map(|((key, _), name)| match name {
        None => Some(format!("[phases] names no {}", key.replace('_', " "))),
        Some(name) if flight.session.find(name).is_none() => Some(format!("no log has `{name}`")),
        Some(_) => None,
    });
    let missing: Vec<String> = missing.collect();
    if missing.is_empty() {
        "the channels that its rules need say too little, or are stale".to_owned()
    } else {
        missing.join("; ")
    }
}

//! A strip chart's table: its channels, how long it looks back, and from which value to which.

use super::{InstrumentLines, decimals, known_unit, marking, place};
use crate::keyfile::{self, Section};
use crate::panel::{Face, Instrument, Scale, Strip, StripTrace};

/// How long a strip looks back where nothing is said, and what may be said, in seconds.
const SECONDS: f64 = 30.0;
const ALLOWED: std::ops::RangeInclusive<f64> = 5.0..=600.0;

/// Reads the rest of the table; name and kind are read already.
pub(super) fn read(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let channels = section.texts("channels");
    if channels.is_none() {
        section.missing("channels", "one to three logs' columns, e.g. channels = [\"engine.EGT\"]");
    }
    let channels = channels.filter(|channels| {
        let fits = (1..=Strip::MOST_TRACES).contains(&channels.len());
        if !fits {
            let message = format!("`channels` names {} channels; a strip shows one to three", channels.len());
            let place = channels.first().map_or_else(|| head.clone(), |c| c.1.clone());
            section.fault(place, "channels", "out_of_range", message, "make two strips of it");
        }
        fits
    });
    let names = section.texts("names").unwrap_or_default();
    if let (Some(channels), Some((_, at))) = (&channels, names.first())
        && channels.len() != names.len()
    {
        let message = format!("`names` has {} entries for {} channels", names.len(), channels.len());
        section.fault(at.clone(), "names", "names_do_not_match", message, "write one name for each channel");
    }
    let title = section.text("title").map(|title| title.0);
    let (unit, unit_place) = section.text("unit").unwrap_or((String::new(), head.clone()));
    let unit_known = unit.is_empty() || known_unit(&section, &unit, unit_place.clone());
    let decimals = decimals(&mut section);
    let seconds = match section.number("seconds") {
        Some((seconds, at)) if !ALLOWED.contains(&seconds) => {
            let message = format!("`seconds` is {seconds}; a strip looks back 5 to 600 seconds");
            section.fault(at, "seconds", "out_of_range", message, "30 is usual");
            None
        }
        seconds => Some(seconds.map_or(SECONDS, |s| s.0)),
    };
    let (from, to) = (section.number("from"), section.number("to"));
    for (key, there) in [("from", from.is_some()), ("to", to.is_some())] {
        if !there {
            section.missing(key, "the value at the foot of the strip, and the one at its top");
        }
    }
    let ends = from.zip(to).and_then(|((from, _), (to, at))| {
        if from >= to {
            let message = format!("the strip from {from} to {to} is empty");
            section.fault(at, "to", "empty_range", message, "write the lower value at `from`");
        }
        (from < to).then_some((from, to))
    });
    let scale = ends.map(|(from, to)| Strip::scale(from, to));
    let place = place(&mut section);
    let markings = marking::all(&mut section, name.as_deref(), scale.as_ref().map(Scale::ends));
    section.end();

    let (name, channels, (place, place_at)) = (name?, channels?, place?);
    let plain = |channel: &str| channel.rsplit('.').next().unwrap_or(channel).to_uppercase();
    let named = |(i, channel): (usize, &(String, keyfile::Place))| StripTrace {
        channel: channel.0.clone(),
        name: names.get(i).map_or_else(|| plain(&channel.0), |name| name.0.clone()),
    };
    let traces = channels.iter().enumerate().map(named).collect();
    let title = title.unwrap_or_else(|| name.to_uppercase());
    let (decimals, seconds, scale, markings) = (decimals?, seconds?, scale?, markings?);
    let face = Face::Strip(Strip { traces, title, unit, decimals, seconds, scale, markings });
    let channels = channels.into_iter().map(|channel| channel.1).collect();
    let lines = InstrumentLines { head, channels, unit: unit_place, place: place_at, others: Vec::new() };
    unit_known.then_some((Instrument::new(name, place, face), lines))
}

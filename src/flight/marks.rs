//! `[clock]`: marks, the limit of uncertainty, and fits that were written before.

use super::file::{FilmEntry, LogEntry};
use crate::keyfile::{Place, Section};
use crate::time::parse_film_time;

/// Names that a log cannot have, for they are keys of a mark.
pub(super) const KEYS: [&str; 4] = ["utc", "event", "which", "sigma"];

/// The same moment on several clocks.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkEntry {
    /// One entry a film: film time in seconds.
    pub films_s: Vec<Option<f64>>,
    /// One entry a log, in seconds since its first sample.
    pub logs_s: Vec<Option<f64>>,
    /// Its instant: a clock filmed in the picture, at the moment when it begins to show this time.
    pub utc: Option<jiff::Timestamp>,
    /// A change in a log.
    pub event: Option<EventEntry>,
    /// How well the owner saw it, as a standard deviation in seconds.
    pub sigma_s: Option<f64>,
    /// Where the mark stands.
    pub place: Place,
}

/// A change in a log: `engine.Lamp Chip rises`, `air.IAS crosses 20 kt`.
#[derive(Debug, Clone, PartialEq)]
pub struct EventEntry {
    /// The channel, `LOG.COLUMN` or `COLUMN`.
    pub channel: String,
    /// What it does.
    pub change: Change,
    /// Which of several such changes, counted from 1.
    pub which: Option<usize>,
    /// Where it stands.
    pub place: Place,
}

/// What a channel does at an event.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// From off to on.
    Rises,
    /// From on to off.
    Falls,
    /// Passes a value either way, in a unit; the channel's own where it is empty.
    Crosses(f64, String),
}

/// A fit that `align --write` wrote.
#[derive(Debug, Clone, PartialEq)]
pub struct FitEntry {
    /// The film's name.
    pub film: String,
    /// The log on whose clock it maps.
    pub log: String,
    /// The log's time at film time 0, in seconds.
    pub offset_s: f64,
    /// Log seconds a film second.
    pub rate: f64,
    /// Film time at which it is surest.
    pub pivot_s: f64,
    /// Standard deviation there, in seconds.
    pub sigma_s: f64,
    /// Standard deviation of the rate.
    pub sigma_rate: f64,
    /// Where it stands.
    pub place: Place,
}

/// The table `[clock]`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ClockEntry {
    /// The marks.
    pub marks: Vec<MarkEntry>,
    /// Beyond this standard deviation, in seconds, films are warned of.
    pub limit_s: Option<f64>,
    /// Pairs of logs whose clocks are to be joined by a quantity that both recorded: two channels each.
    pub same: Vec<([String; 2], Place)>,
    /// Fits that were written before.
    pub fits: Vec<FitEntry>,
}

/// Reads it. Marks that name a log with a fault of its own would only repeat that fault: they are left out then.
pub(super) fn read(mut clock: Section<'_>, films: &[FilmEntry], logs: &[LogEntry], all_sound: bool) -> ClockEntry {
    let mut entry = ClockEntry { limit_s: positive(&mut clock, "limit"), ..ClockEntry::default() };
    for mark in clock.sections("mark") {
        if all_sound {
            entry.marks.extend(mark_entry(mark, films, logs));
        }
    }
    for mut same in clock.sections("same") {
        let place = same.place();
        match same.texts("channels").as_deref() {
            Some([(a, _), (b, _)]) => entry.same.push(([a.clone(), b.clone()], place)),
            _ => {
                let message = "`channels` takes two channels of different logs that recorded one quantity";
                same.fault(place, "channels", "two_channels", message, "channels = [\"air.OAT\", \"engine.OAT\"]");
            }
        }
        same.end();
    }
    for fit in clock.sections("fit") {
        entry.fits.extend(fit_entry(fit));
    }
    clock.end();
    entry
}

fn fit_entry(mut fit: Section<'_>) -> Option<FitEntry> {
    let place = fit.place();
    let (film, log) = (fit.text("film"), fit.text("log"));
    let mut number = |key| fit.number(key).map(|n| n.0);
    let numbers = (number("offset"), number("rate"), number("pivot"), number("sigma"), number("sigma_rate"));
    for key in ["film", "log", "offset", "rate", "pivot", "sigma", "sigma_rate"] {
        fit.missing(key, "jumpseat align --write writes it; take the table out to have it computed");
    }
    let (Some(offset_s), Some(rate), Some(pivot_s), Some(sigma_s), Some(sigma_rate)) = numbers else {
        fit.end();
        return None;
    };
    if !(0.5..2.0).contains(&rate) || sigma_s < 0.0 || sigma_rate < 0.0 {
        let message = format!("a rate of {rate} with sigma {sigma_s} and {sigma_rate} is no fit of two clocks");
        fit.fault(place.clone(), "rate", "out_of_range", message, "take the table out to have it computed");
    }
    fit.end();
    Some(FitEntry { film: film?.0, log: log?.0, offset_s, rate, pivot_s, sigma_s, sigma_rate, place })
}

fn mark_entry(mut mark: Section<'_>, films: &[FilmEntry], logs: &[LogEntry]) -> Option<MarkEntry> {
    let place = mark.place();
    // A mark of a flight that has no film yet may name its time all the same.
    let names: Vec<&str> =
        if films.is_empty() { vec!["film"] } else { films.iter().map(|f| f.name.as_str()).collect() };
    let mut films_s: Vec<Option<f64>> = names.iter().map(|name| film_time(&mut mark, name)).collect();
    let logs_s: Vec<Option<f64>> = logs.iter().map(|log| mark.named_number(&log.name)).collect();
    let utc = mark.text("utc").and_then(|(text, at)| match text.parse() {
        Ok(instant) => Some(instant),
        Err(_) => {
            let message = format!("`utc` is \"{text}\"; expected an instant with its zone");
            mark.fault(at, "utc", "bad_instant", message, "write utc = \"2026-06-15T08:30:00Z\", or +02:00 for Z");
            None
        }
    });
    let event = event(&mut mark);
    let sigma_s = positive(&mut mark, "sigma");
    let clocks = names.iter().copied().chain(logs.iter().map(|l| l.name.as_str()));
    let clocks: Vec<&str> = clocks.chain(["utc", "event"]).collect();
    // A time that is there but cannot be read was reported already.
    let named = clocks.iter().filter(|clock| mark.has(clock)).count();
    if named < 2 {
        let message = format!("the mark names {named} of the clocks {}; it joins two or more", clocks.join(", "));
        mark.fault(place.clone(), "", "mark_joins_nothing", message, "give the same moment on another clock too");
    }
    mark.end();
    let known =
        films_s.iter().chain(&logs_s).flatten().count() + usize::from(utc.is_some()) + usize::from(event.is_some());
    films_s.truncate(films.len());
    (known >= 2).then_some(MarkEntry { films_s, logs_s, utc, event, sigma_s, place })
}

fn film_time(mark: &mut Section<'_>, name: &str) -> Option<f64> {
    let (text, at) = mark.named_text(name)?;
    match parse_film_time(&text) {
        Ok(time) => Some(time.0),
        Err(error) => {
            mark.fault(at, name, "bad_film_time", error.to_string(), &format!("write {name} = \"1:15.5\""));
            None
        }
    }
}

fn event(mark: &mut Section<'_>) -> Option<EventEntry> {
    let which = mark.number("which");
    if let Some((n, at)) = which.clone().filter(|(n, _)| *n < 1.0 || n.fract() != 0.0) {
        let message = format!("`which` is {n}; expected a whole number from 1");
        mark.fault(at, "which", "out_of_range", message, "the first such change is 1");
    }
    let (text, place) = mark.text("event")?;
    let Some((channel, change)) = change(&text) else {
        let message =
            format!("`event` is \"{text}\"; expected CHANNEL rises, CHANNEL falls, or CHANNEL crosses VALUE UNIT");
        mark.fault(place, "event", "bad_event", message, "write event = \"air.IAS crosses 20 kt\"");
        return None;
    };
    Some(EventEntry { channel, change, which: which.map(|(n, _)| n as usize), place })
}

fn change(text: &str) -> Option<(String, Change)> {
    if let Some(channel) = text.strip_suffix(" rises") {
        return Some((channel.trim().to_owned(), Change::Rises));
    }
    if let Some(channel) = text.strip_suffix(" falls") {
        return Some((channel.trim().to_owned(), Change::Falls));
    }
    let (channel, rest) = text.rsplit_once(" crosses ")?;
    let (value, unit) = rest.trim().split_once(' ').unwrap_or((rest.trim(), ""));
    let value: f64 = value.parse().ok().filter(|v: &f64| v.is_finite())?;
    Some((channel.trim().to_owned(), Change::Crosses(value, unit.trim().to_owned())))
}

/// A number of seconds above zero.
fn positive(section: &mut Section<'_>, key: &'static str) -> Option<f64> {
    let (number, place) = section.number(key)?;
    if number > 0.0 {
        return Some(number);
    }
    let message = format!("`{key}` is {number}; expected seconds, more than 0");
    section.fault(place, key, "out_of_range", message, "write for example 0.05");
    None
}

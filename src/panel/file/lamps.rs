//! The tables of lamps and limits.

use super::shown::condition;
use super::tachometer::POWERS;
use super::{ChannelPlaces, channel, name};
use crate::keyfile::{self, Section};
use crate::panel::{Along, Arming, Banner, Days, Lamp, Limit, LitWords, Power, Severity};
use std::collections::HashSet;

pub(super) const ALERTS: [(&str, Severity); 3] =
    [("warning", Severity::Warning), ("caution", Severity::Caution), ("advisory", Severity::Advisory)];
const LAMPS: [(&str, Severity); 5] =
    [ALERTS[0], ALERTS[1], ALERTS[2], ("in transit", Severity::InTransit), ("normal", Severity::Normal)];

/// Reads the lamps.
pub(super) fn lamps(
    sections: Vec<Section<'_>>,
    names: &mut HashSet<String>,
    channels: &mut ChannelPlaces,
) -> Vec<Lamp> {
    let places: Vec<keyfile::Place> = sections.iter().map(Section::place).collect();
    let mut read: Vec<(Lamp, usize)> = Vec::new();
    for (i, mut section) in sections.into_iter().enumerate() {
        let lamp = lamp(&mut section, names, channels);
        let before = lamp.as_ref().and_then(|lamp| read.iter().find(|(other, _)| other.subject == lamp.subject));
        if let (Some(lamp), Some((other, first))) = (&lamp, before)
            && lamp.always_one != other.always_one
        {
            let message = format!("only some of the lamps with the subject \"{}\" say always_one = true", lamp.subject);
            let place = places[if lamp.always_one { *first } else { i }].clone();
            section.fault(place, "always_one", "always_one_mixed", message, "say it in all of them, or in none");
        }
        section.end();
        read.extend(lamp.map(|lamp| (lamp, i)));
    }
    read.into_iter().map(|(lamp, _)| lamp).collect()
}

fn lamp(section: &mut Section<'_>, names: &mut HashSet<String>, channels: &mut ChannelPlaces) -> Option<Lamp> {
    let (name, channel) = (name(section, names), channel(section));
    channels.extend(channel.clone());
    let subject = section.text("subject");
    if subject.is_none() {
        section.missing("subject", "what the lamp is about, e.g. \"ROTOR\"");
    }
    let subject = subject.filter(|text| fits_a_plate(section, "subject", text));
    let lit = lit_words(section);
    let severity = severity(section, &LAMPS, "warning, caution, advisory, in transit or normal");
    let always_one = section.flag("always_one").unwrap_or(false);
    Some(Lamp { name: name?, channel: channel?.0, subject: subject?.0, lit: lit?, severity: severity?, always_one })
}

/// A word, or the two lines of a phrase.
fn lit_words(section: &mut Section<'_>) -> Option<LitWords> {
    let Some(texts) = section.texts("lit") else {
        section.missing("lit", "its word when it is lit, e.g. \"LOW\", or two lines, e.g. [\"NOT\", \"CHARGING\"]");
        return None;
    };
    if !texts.iter().all(|text| fits_a_plate(section, "lit", text)) {
        return None;
    }
    match &texts[..] {
        [(word, _)] => Some(LitWords::Word(word.clone())),
        [(first, _), (second, _)] => Some(LitWords::Phrase([first.clone(), second.clone()])),
        others => {
            let place = others.first().map_or(section.place(), |text| text.1.clone());
            let message = format!("`lit` has {} lines; a lamp has room for two", others.len());
            section.fault(place, "lit", "out_of_range", message, "write one word, or two lines");
            None
        }
    }
}

pub(super) fn severity(
    section: &mut Section<'_>,
    words: &[(&'static str, Severity)],
    expected: &str,
) -> Option<Severity> {
    let severity = section.word("severity", words);
    if severity.is_none() {
        section.missing("severity", expected);
    }
    severity.map(|s| s.0)
}

/// A plate has room for so many letters.
const LONGEST: usize = 18;

/// Whether a text can stand on a plate; a fault if not.
fn fits_a_plate(section: &Section<'_>, key: &'static str, (text, place): &(String, keyfile::Place)) -> bool {
    let letters = text.trim().chars().count();
    let message = if letters == 0 {
        format!("`{key}` is empty")
    } else if letters > LONGEST {
        format!("`{key}` is \"{text}\": {letters} letters; a plate has room for {LONGEST}")
    } else if text.chars().any(char::is_control) {
        format!("`{key}` is more than one line")
    } else {
        return true;
    };
    section.fault(place.clone(), key, "does_not_fit", message, "write what can be read at a glance, e.g. \"LOW\"");
    false
}

/// A number that may not be below zero; zero where it is not there.
pub(super) fn at_least_zero(section: &mut Section<'_>, key: &'static str) -> f64 {
    match section.number(key) {
        Some((number, place)) if number < 0.0 => {
            section.fault(place, key, "out_of_range", format!("`{key}` is {number}, below zero"), "give zero or more");
            0.0
        }
        number => number.map_or(0.0, |n| n.0),
    }
}

/// The one of `below` and `above` that is there, and whether it is `below`.
fn bound(section: &mut Section<'_>, expected: &str) -> Option<(f64, bool)> {
    match (section.number("below"), section.number("above")) {
        (Some((value, _)), None) => Some((value, true)),
        (None, Some((value, _))) => Some((value, false)),
        (Some(_), Some((_, place))) => {
            let message = "a limit is either `below` or `above`";
            section.fault(place, "above", "two_bounds", message, "make two limits of it");
            None
        }
        (None, None) => {
            section.missing("below", expected);
            None
        }
    }
}

/// Reads the limits; `judged` are the rotors whose drive a tachometer judges.
pub(super) fn limits(
    sections: Vec<Section<'_>>,
    names: &mut HashSet<String>,
    channels: &mut ChannelPlaces,
    judged: &[&str],
) -> Vec<(Limit, keyfile::Place)> {
    let placed = sections.into_iter().map(|section| (section.place(), section));
    placed.filter_map(|(place, section)| Some((limit(section, names, channels, judged)?, place))).collect()
}

/// Reads `power`, for which the drive of the limit's channel must be judged.
fn power(section: &mut Section<'_>, channel: Option<&(String, keyfile::Place)>, judged: &[&str]) -> Option<Power> {
    let (power, place) = section.word("power", &POWERS)?;
    if let Some((channel, _)) = channel.filter(|(channel, _)| !judged.contains(&&**channel)) {
        let message = format!("`power` needs a tachometer with rotor = \"{channel}\" and a table [instrument.drive]");
        let cure = "the drive says which set of limits is in force: add the table, or take `power` out";
        section.fault(place, "power", "drive_not_judged", message, cure);
    }
    Some(power)
}

fn limit(
    mut section: Section<'_>,
    names: &mut HashSet<String>,
    channels: &mut ChannelPlaces,
    judged: &[&str],
) -> Option<Limit> {
    let (name, channel) = (name(&mut section, names), channel(&mut section));
    channels.extend(channel.clone());
    let (bound, along) = if section.has("along") {
        along(&mut section, channels)
    } else {
        (bound(&mut section, "the value that is passed, with `below` or `above`"), None)
    };
    let seconds = at_least_zero(&mut section, "for");
    let sooner = sooner(&mut section, bound, seconds, along.is_some());
    let (over_s, median_s) = (some_seconds(&mut section, "over"), some_seconds(&mut section, "median"));
    if let (Some(_), Some(_), Some(place)) = (over_s, median_s, section.place_of("median")) {
        let message = "a limit on a rise has no `median`";
        section.fault(place, "median", "two_bounds", message, "keep `over` or `median`");
    }
    let clear_by = at_least_zero(&mut section, "clear_by");
    let armed_by = section.section("armed_by").and_then(|section| arming(section, channels));
    let disarmed_by = condition(&mut section, "disarmed_by", channels);
    let only_while = condition(&mut section, "while", channels);
    let latched = section.flag("latched").unwrap_or(false);
    let days = days(&mut section);
    let power = power(&mut section, channel.as_ref(), judged);
    let severity = severity(&mut section, &ALERTS, "warning, caution or advisory");
    let mut plate = |key| section.text(key).map(|text| fits_a_plate(&section, key, &text).then_some(text));
    let (subject, word) = (plate("subject"), plate("word"));
    let source = section.text("source");
    if source.is_none() {
        section.missing("source", "where the limit stands written, e.g. source = \"flight manual, section 2\"");
    }
    section.end();
    let (value, is_minimum) = bound?;
    let name = name?;
    let subject = subject.map_or_else(|| Some(name.to_uppercase()), |text| Some(text?.0))?;
    let usual = if is_minimum { "LOW" } else { "HIGH" };
    let word = word.map_or_else(|| Some(usual.to_owned()), |text| Some(text?.0))?;
    let (channel, severity, source) = (channel?.0, severity?, source?.0);
    Some(Limit {
        name,
        channel,
        value,
        is_minimum,
        along,
        sooner,
        over_s,
        median_s,
        power,
        seconds,
        clear_by,
        armed_by,
        disarmed_by,
        only_while,
        latched,
        days,
        severity,
        subject,
        word,
        source,
    })
}

/// Reads the rows of a limit that follows the channel `along`: the one of `below` and `above` that is there.
fn along(section: &mut Section<'_>, channels: &mut ChannelPlaces) -> (Option<(f64, bool)>, Option<Along>) {
    let Some(channel) = section.text("along") else { return (None, None) };
    channels.push(channel.clone());
    let (below, above) = (section.has("below"), section.has("above"));
    if below == above {
        section.missing("below", "rows of [value of `along`, limit there], with either `below` or `above`");
        return (None, None);
    }
    let key = if below { "below" } else { "above" };
    let Some((rows, place)) = section.rows(key, 2) else { return (None, None) };
    let points: Vec<(f64, f64)> = rows.iter().filter_map(|row| Some((*row.first()?, *row.get(1)?))).collect();
    if points.len() < 2 || !points.windows(2).all(|pair| pair[0].0 < pair[1].0) {
        let message = format!("the rows of `{key}` must be at least two, with rising values of `along`");
        section.fault(place, key, "rows_not_rising", message, "for example [[0, 105], [6000, 92]]");
        return (None, None);
    }
    let first = points.first().map(|point| (point.1, below));
    (first, Some(Along { channel: channel.0, points }))
}

/// Reads `sooner`: values ever further beyond, for ever shorter times.
fn sooner(section: &mut Section<'_>, bound: Option<(f64, bool)>, seconds: f64, along: bool) -> Vec<(f64, f64)> {
    let Some((rows, place)) = section.rows("sooner", 2) else { return Vec::new() };
    let rows: Vec<(f64, f64)> = rows.iter().filter_map(|row| Some((*row.first()?, *row.get(1)?))).collect();
    if along {
        let message = "a limit that follows another channel has no `sooner`";
        section.fault(place, "sooner", "two_bounds", message, "make limits of their own of its rows");
        return Vec::new();
    }
    let Some((value, is_minimum)) = bound else { return Vec::new() };
    let mut before = (value, seconds);
    for row in &rows {
        let further = if is_minimum { row.0 < before.0 } else { row.0 > before.0 };
        if !further || row.1 >= before.1 || row.1 < 0.0 {
            let message = format!(
                "`sooner` goes from {} for {} s to {} for {} s: each row must lie further beyond, for a shorter time",
                before.0, before.1, row.0, row.1
            );
            section.fault(
                place,
                "sooner",
                "rows_not_rising",
                message,
                "for example above = 700, for = 10, sooner = [[750, 2], [800, 0]]",
            );
            return Vec::new();
        }
        before = *row;
    }
    rows
}

/// Reads the seconds over which a rise or a median is taken.
fn some_seconds(section: &mut Section<'_>, key: &'static str) -> Option<f64> {
    let (seconds, place) = section.number(key)?;
    if seconds > 0.0 {
        return Some(seconds);
    }
    let message = format!("`{key}` is {seconds}: it is taken over some seconds");
    section.fault(place, key, "out_of_range", message, "for example 30");
    None
}

/// Reads the days on which a limit holds.
fn days(section: &mut Section<'_>) -> Days {
    let mut day = |key: &'static str| {
        let (text, place) = section.text(key)?;
        let day = text.parse::<jiff::civil::Date>().ok();
        if day.is_none() {
            let message = format!("`{key}` is \"{text}\"; expected a day as year-month-day");
            section.fault(place.clone(), key, "bad_date", message, "for example \"2026-05-01\"");
        }
        Some((day?, place))
    };
    let (from, to) = (day("holds_from"), day("holds_to"));
    if let (Some((from, _)), Some((to, place))) = (&from, &to)
        && from > to
    {
        let message = format!("it would hold from {from} to {to}: never");
        section.fault(place.clone(), "holds_to", "empty_range", message, "write the earlier day at `holds_from`");
    }
    Days { from: from.map(|day| day.0), to: to.map(|day| day.0) }
}

fn arming(mut section: Section<'_>, channels: &mut ChannelPlaces) -> Option<Arming> {
    let channel = section.text("channel");
    channels.extend(channel.clone());
    let bound = bound(&mut section, "the value that arms it, with `below` or `above`");
    let seconds = at_least_zero(&mut section, "for");
    section.end();
    let channel = channel.map(|channel| channel.0);
    bound.map(|(value, is_below)| Arming { channel, value, above: !is_below, seconds })
}

/// The table of the banner: that it is there turns it on. What one should only know does not stand in everybody's way
/// unless the owner says so.
pub(super) fn banner(mut section: Section<'_>) -> Banner {
    let least = section.word("least", &ALERTS).map_or(Severity::Caution, |word| word.0);
    section.end();
    Banner { least }
}

/// Where the lamps stand, in modules from the bottom.
pub(super) fn row(mut section: Section<'_>) -> Option<f64> {
    let from_bottom = section.number("from_bottom");
    if from_bottom.is_none() {
        section.missing("from_bottom", "the distance of the lowest row's middle from the bottom, in modules");
    }
    section.end();
    from_bottom.map(|n| n.0)
}

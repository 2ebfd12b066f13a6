//! The keys that every instrument may have: when it is shown, how strongly, how its hands follow, and what its owner is used to.

use super::lamps::at_least_zero;
use super::{ChannelPlaces, channel};
use crate::keyfile::{Place, Section};
use crate::panel::{Bound, Condition, EngineState, Face, Instrument, Phase, Shown, UsualRange};

/// The faintest that an instrument may be: below it, text falls short of its contrast over bright film.
const FAINTEST: f64 = 0.3;
/// The longest time constant: a hand that follows more slowly shows another part of the flight.
const SLOWEST_S: f64 = 10.0;

/// The keys of one instrument, read before its kind's own.
pub(super) struct Common<'d> {
    /// For faults that show only when the face is known.
    table: Section<'d>,
    shown: Shown,
    usual: Vec<Usual<'d>>,
    smoothing: Option<(f64, Place)>,
}

impl<'d> Common<'d> {
    /// Reads them; the channels of their conditions are added to those of others.
    pub fn read(section: &mut Section<'d>, channels: &mut ChannelPlaces) -> Self {
        let shown = shown(section, channels);
        let tables = section.sections("usual");
        let usual = tables.into_iter().filter_map(|table| usual(table, channels)).collect();
        let smoothing = section.number("smoothing");
        Self { table: section.again(), shown, usual, smoothing }
    }

    /// Gives them to the instrument.
    pub fn give(self, instrument: &mut Instrument) {
        instrument.shown = self.shown;
        instrument.usual = self.usual.into_iter().filter_map(|range| range.on(&instrument.face)).collect();
        instrument.smoothing_s =
            self.smoothing.map_or(0.0, |smoothing| seconds(&self.table, smoothing, &instrument.face));
    }
}

/// The time constant of the hands, if the face may have one.
fn seconds(table: &Section<'_>, (seconds, place): (f64, Place), face: &Face) -> f64 {
    let (message, cure) = if !(0.0..=SLOWEST_S).contains(&seconds) {
        (format!("`smoothing` is {seconds}; expected 0 to {SLOWEST_S} seconds"), "0 shows the record itself")
    } else if seconds > 0.0 && !face.may_be_smoothed() {
        ("this kind shows the record itself, without smoothing".to_owned(), "take `smoothing` out")
    } else {
        return seconds;
    };
    table.fault(place, "smoothing", "out_of_range", message, cure);
    0.0
}

/// Reads `show = { from, to, while, fade }` and `opacity`.
fn shown(section: &mut Section<'_>, channels: &mut ChannelPlaces) -> Shown {
    let opacity = match section.number("opacity") {
        Some((opacity, place)) if !(FAINTEST..=1.0).contains(&opacity) => {
            let message = format!("`opacity` is {opacity}; expected {FAINTEST} to 1");
            section.fault(place, "opacity", "out_of_range", message, "fainter text cannot be read over bright film");
            1.0
        }
        opacity => opacity.map_or(1.0, |o| o.0),
    };
    let Some(mut show) = section.section("show") else { return Shown { opacity, ..Shown::default() } };
    let (from, to) = (show.number("from"), show.number("to"));
    if let (Some((to, at)), from) = (&to, from.as_ref().map_or(0.0, |from| from.0))
        && from >= *to
    {
        let message = format!("it would be shown from {from} s to {to} s of the film: never");
        show.fault(at.clone(), "to", "empty_range", message, "write the earlier time at `from`, in seconds");
    }
    let fade_s = at_least_zero(&mut show, "fade");
    let condition = condition(&mut show, "while", channels);
    show.end();
    Shown { from_s: from.map(|f| f.0), to_s: to.map(|t| t.0), condition, fade_s, opacity }
}

/// Reads a condition: one table, or a list of which every one must hold. A table names a channel with its bounds, or
/// phases, or states of the engine.
pub(super) fn condition(
    section: &mut Section<'_>,
    key: &'static str,
    channels: &mut ChannelPlaces,
) -> Option<Condition> {
    let mut condition = Condition::default();
    for mut table in section.one_or_more(key) {
        if table.has("phases") {
            condition
                .phases
                .extend(words(&mut table, "phases", Phase::named, || Phase::ALL.map(Phase::name).join(", ")));
            table.end();
        } else if table.has("engine") {
            let named = |word: &str| EngineState::WORDS.iter().find(|w| w.0 == word).map(|w| w.1);
            let all = || EngineState::WORDS.map(|word| word.0).join(", ");
            condition.engine.extend(words(&mut table, "engine", named, all));
            table.end();
        } else {
            condition.all.extend(bound(table, channels));
        }
    }
    let empty = condition.all.is_empty() && condition.phases.is_empty() && condition.engine.is_empty();
    (!empty).then_some(condition)
}

/// Reads one word or a list of them.
fn words<T>(
    table: &mut Section<'_>,
    key: &'static str,
    named: impl Fn(&str) -> Option<T>,
    all: impl Fn() -> String,
) -> Vec<T> {
    let mut read = Vec::new();
    for (word, place) in table.texts(key).unwrap_or_default() {
        match named(&word) {
            Some(found) => read.push(found),
            None => {
                let message = format!("`{key}` names \"{word}\"; expected of {}", all().to_lowercase());
                table.fault(place, key, "unknown_word", message, "take one of them");
            }
        }
    }
    read
}

fn bound(mut table: Section<'_>, channels: &mut ChannelPlaces) -> Option<Bound> {
    let channel = channel(&mut table);
    let (above, below) = (table.number("above"), table.number("below"));
    if above.is_none() && below.is_none() {
        table.missing("above", "the value that the channel must be above, or `below`, or both");
    }
    if let (Some((above, _)), Some((below, place))) = (&above, &below)
        && above >= below
    {
        let message = format!("nothing is above {above} and below {below}");
        table.fault(place.clone(), "below", "empty_range", message, "write the lower value at `above`");
    }
    let (seconds, clear_by) = (at_least_zero(&mut table, "for"), at_least_zero(&mut table, "clear_by"));
    table.end();
    let (above, below) = (above.map(|a| a.0), below.map(|b| b.0));
    if above.is_none() && below.is_none() {
        return None;
    }
    let channel = channel?;
    channels.push(channel.clone());
    Some(Bound { channel: channel.0, above, below, seconds, clear_by })
}

/// A range as it stands in the file.
struct Usual<'d> {
    table: Section<'d>,
    range: UsualRange,
    hand: Option<(String, Place)>,
}

/// Reads a table `[[instrument.usual]]`.
fn usual<'d>(mut table: Section<'d>, channels: &mut ChannelPlaces) -> Option<Usual<'d>> {
    let (from, to) = (table.number("from"), table.number("to"));
    for (key, there) in [("from", from.is_some()), ("to", to.is_some())] {
        if !there {
            table.missing(key, "where the usual range starts and ends");
        }
    }
    let condition = condition(&mut table, "while", channels);
    let hand = table.text("hand");
    let again = table.again();
    table.end();
    let ((from, _), (to, place)) = (from?, to?);
    if from >= to {
        let message = format!("the range from {from} to {to} is empty");
        again.fault(place, "to", "empty_range", message, "write the lower value at `from`");
        return None;
    }
    Some(Usual { table: again, range: UsualRange { hand: 0, from, to, condition }, hand })
}

impl Usual<'_> {
    /// The range on the hand of a face.
    fn on(self, face: &Face) -> Option<UsualRange> {
        let Self { table, mut range, hand } = self;
        let hands = face.hands();
        if let Some((name, place)) = hand {
            let Some(found) = hands.iter().position(|hand| hand.name == name) else {
                let names: Vec<&str> = hands.iter().map(|hand| hand.name).collect();
                let message = format!("there is no hand \"{name}\"; expected one of {}", names.join(", "));
                table.fault(place, "hand", "unknown_word", message, "take one of them");
                return None;
            };
            range.hand = found;
        }
        let Some(scale) = face.scale(range.hand).filter(|_| !matches!(face, Face::Strip(_))) else {
            let (message, cure) = ("this kind has no usual range", "take it out, or take a dial, a bar or a pair");
            table.fault(table.place(), "usual", "no_scale", message, cure);
            return None;
        };
        let (low, high) = scale.ends();
        if range.from < low || range.to > high {
            let message = format!(
                "the usual range from {} to {} lies off the scale, which runs from {low} to {high}",
                range.from, range.to
            );
            table.fault(table.place(), "usual", "marking_off_scale", message, "move it, or lengthen the scale");
        }
        Some(range)
    }
}

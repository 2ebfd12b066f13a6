//! The pages of bars, pairs, heading cards, compasses and tapes.

use super::Page;
use super::pages::{reading, states};
use super::samples::{fuel_bar, oil, speed_tape};
use crate::panel::{DiscSize, Face, Heading, HeadingTape, Reference};
use crate::readout::{Notice, PanelState};
use crate::signal::{Reading, State};

fn page() -> Page {
    Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() }
}

fn measured(value: f64) -> Reading {
    reading(value, State::Measured, 0.0)
}

pub(super) fn bars() -> Page {
    let mut page = page();
    let named = states(13.4, -1.0, 22.5).map(|(title, note, reading)| match title {
        "MEASURED" => (title, "the leaf's point is the value", reading),
        "DERIVED" => (title, "an eye behind the leaf, calc", reading),
        "HELD" => (title, "planks, time", reading),
        "STALE" => (title, "hollow dashed bar, age", reading),
        "INVALID" => (title, "no bar, crossed track", reading),
        "OFF THE DIAL, LOW" => ("OFF THE BAR, LOW", "empty: nothing is wrong", reading),
        "OFF THE DIAL, HIGH" => ("OFF THE BAR, HIGH", "full; arrow, value", reading),
        "SENSOR SAT. LOW" => (title, "hollow bar against its stop", reading),
        _ => (title, note, reading),
    });
    let more = [
        ("A DROP", "shorter than its leaf", measured(0.4)),
        ("EMPTY", "the number says so too", measured(0.0)),
        ("FULL", "to the end of the track", measured(20.0)),
    ];
    for (i, (title, note, reading)) in named.into_iter().chain(more).enumerate() {
        let at = (0.275 + 0.520 * (i % 3) as f64, 0.14 + 0.175 * (i / 3) as f64);
        let bar = Face::Bar(fuel_bar(0.480));
        page.add(bar, DiscSize::M, at, reading, title, note);
    }
    let limited = Face::Bar(super::samples::volts_bar());
    page.add(limited, DiscSize::M, (0.795, 0.14 + 0.175 * 4.0), measured(27.9), "LIMITS", "a red T on a line");
    page
}

pub(super) fn pairs() -> Page {
    let mut page = page();
    let (p, t) = (measured(52.0), measured(78.0));
    let held = reading(52.0, State::Held, 0.6);
    let stale = Reading { value: Some(52.0), state: State::Stale, age_s: 9.4 };
    let faces = [
        (p, t, "MEASURED", "level hands: normal"),
        (measured(18.0), measured(131.0), "OUT OF RANGE", "each hand by itself"),
        (reading(52.0, State::Derived, 0.0), t, "P DERIVED", "pierced hand, calc"),
        (held, t, "P HELD", "planked hand, time"),
        (p, Reading { value: Some(78.0), state: State::Held, age_s: 0.6 }, "T HELD", "the other hand stays"),
        (stale, t, "P STALE", "hollow dashed hand, age"),
        (Reading::INVALID, t, "P INVALID", "no hand, a dash or NO DATA"),
        (Reading::INVALID, Reading::INVALID, "BOTH INVALID", "no hands, crossed face"),
        (reading(4.0, State::SaturatedLow, 0.0), t, "P SENSOR SAT. LOW", "hollow hand on its stop"),
        (p, reading(148.0, State::SaturatedHigh, 0.0), "T SENSOR SAT. HIGH", "on the other side"),
        (measured(-3.0), measured(166.0), "OFF THE SCALES", "low and quiet; past the end"),
        (p, measured(104.0), "THREE FIGURES", "move outward"),
    ];
    for (i, (left, right, title, note)) in faces.into_iter().enumerate() {
        let at = (0.17 + 0.315 * (i % 5) as f64, 0.168 + 0.298 * (i / 5) as f64);
        page.add_hands(Face::Pair(oil()), DiscSize::L, at, vec![left, right], (title, note));
    }
    for (i, size) in [DiscSize::Xl, DiscSize::M, DiscSize::S].into_iter().enumerate() {
        let at = (0.80 + 0.285 * i as f64 - 0.02 * (i * i) as f64, 0.79);
        page.add_hands(Face::Pair(oil()), size, at, vec![p, t], (["XL", "M", "S"][i], ""));
    }
    page
}

/// Headings in every state, and at the four letters.
fn directions() -> Vec<(&'static str, &'static str, Reading)> {
    let named = states(284.0, 0.0, 0.0).into_iter().filter(|(title, ..)| !title.contains("DIAL"));
    let named = named.map(|(title, note, reading)| match title {
        "DERIVED" => (title, "an eye in the mark, calc", reading),
        "HELD" => (title, "planked mark, time", reading),
        "STALE" => (title, "dashed mark, dim card, age", reading),
        "INVALID" => (title, "NO DATA", reading),
        "SENSOR SAT. LOW" => (title, "hollow mark, dim card", Reading { value: Some(284.0), ..reading }),
        "SENSOR SAT. HIGH" => (title, "hollow mark, dim card", Reading { value: Some(284.0), ..reading }),
        "STALE, VALUE GONE" => (title, "no card, age", reading),
        _ => (title, note, reading),
    });
    named.chain([("NORTH", "360", measured(0.0)), ("7 DEGREES", "three figures", measured(7.0))]).collect()
}

pub(super) fn headings() -> Page {
    let mut page = page();
    let magnetic = Heading { channel: "heading".into(), reference: Reference::Magnetic };
    let directions = directions();
    for (i, (title, note, reading)) in directions.into_iter().enumerate() {
        let at = (0.17 + 0.315 * (i % 5) as f64, 0.165 + 0.308 * (i / 5) as f64);
        page.add(Face::Heading(magnetic.clone()), DiscSize::L, at, reading, title, note);
    }
    let of_true = Heading { reference: Reference::True, ..magnetic.clone() };
    let sizes =
        [(DiscSize::L, of_true.clone(), "TRUE, L"), (DiscSize::M, of_true, "TRUE, M"), (DiscSize::S, magnetic, "S")];
    for (i, (size, heading, title)) in sizes.into_iter().enumerate() {
        let at = (0.20 + 0.29 * i as f64, 0.80);
        page.add(Face::Heading(heading), size, at, measured(94.0), title, "");
    }
    page
}

/// Headings on a card that stands still.
pub(super) fn compasses() -> Page {
    let mut page = page();
    let magnetic = Heading { channel: "heading".into(), reference: Reference::Magnetic };
    for (i, (title, note, reading)) in directions().into_iter().enumerate() {
        let note = match title {
            "DERIVED" => "an eye in the hand, calc",
            "HELD" => "planked hand, time",
            "STALE" => "hollow dashed hand, age",
            "SENSOR SAT. LOW" | "SENSOR SAT. HIGH" => "hollow hand",
            "STALE, VALUE GONE" => "no hand, age",
            _ => note,
        };
        let at = (0.17 + 0.315 * (i % 5) as f64, 0.165 + 0.308 * (i / 5) as f64);
        page.add(Face::Compass(magnetic.clone()), DiscSize::L, at, reading, title, note);
    }
    let of_true = Heading { reference: Reference::True, ..magnetic };
    let sizes = [(DiscSize::Xl, "TRUE, XL"), (DiscSize::M, "M"), (DiscSize::S, "S")];
    for (i, (size, title)) in sizes.into_iter().enumerate() {
        let at = (0.52 + 0.29 * i as f64, 0.78);
        page.add(Face::Compass(of_true.clone()), size, at, measured(196.0), title, "");
    }
    page
}

pub(super) fn tapes() -> Page {
    let mut page = page();
    let heading = Heading { channel: "heading".into(), reference: Reference::Magnetic };
    let tape = HeadingTape { heading, width_m: HeadingTape::WIDTH_M };
    for (i, (title, note, reading)) in directions().into_iter().enumerate() {
        let at = (0.27 + 0.525 * (i % 3) as f64, 0.105 + 0.155 * (i / 3) as f64);
        page.add(Face::HeadingTape(tape.clone()), DiscSize::M, at, reading, title, note);
    }
    let named = states(58.0, 12.0, 118.0).into_iter().filter(|(title, ..)| !title.contains("DIAL"));
    let named = named.map(|(title, _, reading)| (title.replace("SENSOR ", ""), reading));
    let more = [("AT ITS END".to_owned(), measured(4.0)), ("AT A LIMIT".to_owned(), measured(92.0))];
    for (i, (title, reading)) in named.chain(more).enumerate() {
        let at = (0.12 + 0.150 * i as f64, 0.80);
        page.add(Face::Tape(speed_tape()), DiscSize::L, at, reading, &title, "");
    }
    page
}

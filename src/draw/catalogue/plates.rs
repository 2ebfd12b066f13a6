//! The pages of texts, clocks, traces and other pictures on plates.

use std::sync::Arc;

use crate::panel::{
    Attitude, Clock, Control, Controls, DiscSize, Face, Marking, Shows, Slip, Strip, StripTrace, Tile, Track,
};
use crate::readout::{GroundPoint, GroundTrack, InstrumentState, Notice, PanelState, Piece, Trace};
use crate::signal::{Reading, State};

use super::Page;

fn page() -> Page {
    Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() }
}

/// A text and how far to trust it.
fn text(text: &str, state: State, age_s: f64) -> InstrumentState {
    let hands = vec![Reading { value: None, state, age_s }];
    InstrumentState { hands, text: text.to_owned(), ..InstrumentState::default() }
}

/// Tiles with texts, and clocks.
pub(super) fn texts() -> Page {
    let mut page = page();
    let tile = |title: &str, unit: &str| {
        Face::Tile(Tile { channel: "text".into(), title: title.into(), unit: unit.into(), decimals: 0 })
    };
    let clock = |shows, title: &str| Face::Clock(Clock { shows, title: title.into() });
    let rows = [
        [
            (tile("COM 1", "MHz"), text("118.005", State::Measured, 0.0), "TEXT", "zeros are kept"),
            (tile("COM 1", "MHz"), text("118.005", State::Held, 0.6), "TEXT, HELD", "dim, time"),
            (tile("COM 1", "MHz"), text("", State::Stale, 9.4), "TEXT, STALE", "age only"),
            (tile("COM 1", "MHz"), text("", State::Invalid, f64::INFINITY), "TEXT, INVALID", "no text"),
            (tile("CODE", ""), text("0021", State::Measured, 0.0), "TEXT", "a code"),
        ],
        [
            (clock(Shows::Utc, "UTC"), text("14:03:22", State::Measured, 0.0), "CLOCK, UTC", "of the logs"),
            (clock(Shows::Utc, "UTC"), text("", State::Invalid, f64::INFINITY), "UTC UNKNOWN", "never a guess"),
            (
                clock(Shows::Local { ahead_s: 7200 }, "LOCAL"),
                text("16:03:22", State::Measured, 0.0),
                "CLOCK, LOCAL",
                "as the owner states it",
            ),
            (clock(Shows::Film, "FILM"), text("0:06:12", State::Measured, 0.0), "CLOCK, FILM", "since its first frame"),
            (
                clock(Shows::Session, "LOG TIME"),
                text("\u{2212}0:00:05", State::Measured, 0.0),
                "CLOCK, SESSION",
                "before the first record",
            ),
        ],
    ];
    for (y, row) in rows.into_iter().enumerate() {
        for (x, (face, state, title, note)) in row.into_iter().enumerate() {
            let at = (0.16 + 0.32 * x as f64, 0.13 + 0.17 * y as f64);
            page.add_state(face, DiscSize::M, at, state, (title, note));
        }
    }
    page
}

/// Half a minute of an invented temperature, ten records a second, with what is missing left out; `held` is kept.
fn trace(value: impl Fn(f64) -> f64, missing: &[(f64, f64)], held: &[(f64, f64)]) -> Arc<Trace> {
    let inside = |spans: &[(f64, f64)], t: f64| spans.iter().any(|s| (s.0..s.1).contains(&t));
    let times = (0..300).map(|i| f64::from(i) / 10.0).filter(|&t| !inside(missing, t + 0.05));
    let mut kept = None;
    let pieces = times.map(|t| {
        let held = inside(held, t + 0.05);
        let from = if held { *kept.get_or_insert(value(t)) } else { value(t) };
        if !held {
            kept = None;
        }
        Piece { span_s: (t, t + 0.1), values: (from, if held { from } else { value(t + 0.1) }), held }
    });
    Arc::new(Trace { pieces: pieces.collect() })
}

/// Strip charts in every state.
pub(super) fn strips() -> Page {
    let mut page = page();
    page.state.session_s = 30.0;
    let strip = |names: &[&str], title: &str| Strip {
        traces: names.iter().map(|n| StripTrace { channel: (*n).to_owned(), name: (*n).to_owned() }).collect(),
        title: title.to_owned(),
        unit: "\u{b0}C".into(),
        decimals: 0,
        seconds: 30.0,
        scale: Strip::scale(450.0, 750.0),
        markings: vec![
            Marking::Normal { from: 460.0, to: 650.0 },
            Marking::Precaution { from: 650.0, to: 710.0 },
            Marking::Limit { at: 710.0 },
        ],
    };
    let one = || strip(&["EGT"], "EGT");
    let egt = |t: f64| 560.0 + 25.0 * (0.55 * t).sin() + 110.0 * (-0.4 * (t - 25.0).powi(2)).exp();
    let high = |t: f64| 620.0 + 8.0 * (t - 14.0).max(0.0);
    let reading = |value, state, age_s| Reading { value: Some(value), state, age_s };
    let measured = |value| reading(value, State::Measured, 0.0);
    let whole = || trace(egt, &[], &[]);
    let lost = |from| trace(egt, &[(from + 1.0, 30.0)], &[(from, from + 1.0)]);
    let many = |t: f64, i: f64| 520.0 + 60.0 * i + (12.0 + 6.0 * i) * (0.4 * t + i).sin();
    let three = [0.0, 1.0, 2.0].map(|i| trace(move |t| many(t, i), &[], &[])).to_vec();
    let gap = trace(egt, &[(8.0, 14.0), (17.0, 17.6)], &[(7.0, 8.0)]);
    let shown = [
        (one(), vec![measured(egt(30.0))], vec![whole()], "MEASURED", "the last 30 s with limits"),
        (one(), vec![measured(egt(30.0))], vec![gap], "A GAP", "held dots, then a pale band"),
        (
            one(),
            vec![reading(egt(29.4), State::Held, 0.6)],
            vec![trace(egt, &[], &[(29.4, 30.0)])],
            "HELD",
            "dots, time",
        ),
        (one(), vec![reading(egt(20.6), State::Stale, 9.4)], vec![lost(20.6)], "STALE", "age only"),
        (one(), vec![Reading::INVALID], vec![Arc::default()], "INVALID", "nothing recorded"),
        (one(), vec![measured(high(30.0))], vec![trace(high, &[], &[])], "PAST ITS LIMIT", "teeth: forbidden"),
        (one(), vec![measured(768.0)], vec![trace(|t| 588.0 + 6.0 * t, &[], &[])], "OFF THE SCALE", "arrow and value"),
        (
            one(),
            vec![reading(700.0, State::SaturatedHigh, 0.0)],
            vec![trace(|t| (580.0 + 6.0 * t).min(700.0), &[], &[])],
            "SENSOR SAT. HIGH",
            "at least",
        ),
        (
            strip(&["CYL 1", "CYL 2", "CYL 3"], "CYLINDERS"),
            [0.0, 1.0, 2.0].map(|i| measured(many(30.0, i))).to_vec(),
            three,
            "THREE TRACES",
            "each with its value",
        ),
    ];
    for (i, (strip, hands, traces, title, note)) in shown.into_iter().enumerate() {
        let at = (0.27 + 0.53 * (i % 3) as f64, 0.17 + 0.31 * (i / 3) as f64);
        let state = InstrumentState { hands, traces, ..InstrumentState::default() };
        page.add_state(Face::Strip(strip), DiscSize::M, at, state, (title, note));
    }
    page
}

/// A reading in every state.
fn states(value: f64) -> [(&'static str, Reading); 6] {
    let reading = |state, age_s| Reading { value: Some(value), state, age_s };
    [
        ("MEASURED", reading(State::Measured, 0.0)),
        ("DERIVED", reading(State::Derived, 0.0)),
        ("HELD", reading(State::Held, 0.6)),
        ("STALE", reading(State::Stale, 9.4)),
        ("INVALID", Reading::INVALID),
        ("SENSOR SAT. HIGH", reading(State::SaturatedHigh, 0.0)),
    ]
}

/// Attitude, controls and slip ball.
pub(super) fn motion() -> Page {
    let mut page = page();
    let attitude = || Face::Attitude(Attitude { pitch: "pitch".into(), bank: "bank".into() });
    let measured = |value| Reading { value: Some(value), state: State::Measured, age_s: 0.0 };
    let at = |i: usize, y: f64| (0.14 + 0.264 * i as f64, y);
    for (i, (title, pitch)) in states(6.0).into_iter().enumerate() {
        let hands = vec![pitch, measured(-12.0)];
        page.add_hands(attitude(), DiscSize::M, at(i, 0.140), hands, (title, "6 up, 12 left"));
    }
    let more = [
        ("RIGHT BANK", 0.0, 30.0, "turns it anticlockwise"),
        ("NOSE DOWN", -9.0, 0.0, "raises it"),
        ("STEEP", 60.0, 5.0, "the horizon stays in sight"),
    ];
    for (i, (title, pitch, bank, note)) in more.into_iter().enumerate() {
        let hands = vec![measured(pitch), measured(bank)];
        page.add_hands(attitude(), DiscSize::M, at(i, 0.405), hands, (title, note));
    }
    let control = |range| Some(Control { channel: "c".into(), range });
    let (lever, about) = ((0.0, 100.0), (-100.0, 100.0));
    let all =
        Controls { collective: control(lever), right: control(about), forward: control(about), pedals: control(about) };
    let some = Controls { collective: None, pedals: None, ..all.clone() };
    let cyclic = vec![measured(-30.0), measured(55.0)];
    page.add_hands(Face::Controls(some), DiscSize::M, at(3, 0.405), cyclic, ("CYCLIC ALONE", "what was logged"));
    for (i, (title, reading)) in states(58.0).into_iter().enumerate() {
        let aft = Reading { value: reading.value.map(|v| v - 20.0), ..reading };
        let hands = vec![reading, measured(-20.0), aft, reading];
        page.add_hands(Face::Controls(all.clone()), DiscSize::M, at(i, 0.680), hands, (title, "lever, stick, pedals"));
    }
    let slip = || Face::Slip(Slip { channel: "g".into(), range: (-0.2, 0.2) });
    for (i, (title, reading)) in states(0.06).into_iter().enumerate() {
        page.add_hands(slip(), DiscSize::M, at(i, 0.890), vec![reading], (title, "slip ball"));
    }
    for (i, (title, value)) in [("LEFT", -0.12), ("END OF THE TUBE", 0.31)].into_iter().enumerate() {
        page.add_hands(slip(), DiscSize::M, at(i + 4, 0.405), vec![measured(value)], (title, "slip ball"));
    }
    page
}

/// An invented way of four minutes, with a gap in it or without.
fn way(gap: bool) -> Arc<GroundTrack> {
    let at = |t: f64| (2200.0 * (t / 95.0).sin() * (1.0 - t / 600.0), 900.0 * (t / 40.0).cos() + 6.0 * t);
    let times = (0..=240).map(f64::from).filter(|t| !gap || !(90.0..130.0).contains(t));
    let points = times.map(|t| GroundPoint { time_s: t, at_m: at(t), joined: t > 0.0 && !(gap && t == 130.0) });
    Arc::new(GroundTrack::of(points.collect()))
}

/// Ground tracks in every state, and the legend of this page and of one with lamps.
pub(super) fn tracks() -> Page {
    let mut page = page();
    page.state.session_s = 200.0;
    let track = || Face::Track(Track { latitude: "lat".into(), longitude: "lon".into() });
    let shown = states(47.0).into_iter().map(|(title, reading)| (title, "the last minute a line", reading, false));
    let gap = ("A GAP", "nothing is drawn across it", states(47.0)[0].1, true);
    for (i, (title, note, reading, gap)) in shown.chain([gap]).enumerate() {
        let at = (0.20 + 0.40 * (i % 4) as f64, 0.17 + 0.33 * (i / 4) as f64);
        let ground = Some(if title == "INVALID" { Arc::default() } else { way(gap) });
        let state = InstrumentState { hands: vec![reading; 2], ground, ..InstrumentState::default() };
        page.add_state(track(), DiscSize::M, at, state, (title, note));
    }
    let legend = Face::Legend;
    page.add_hands(legend, DiscSize::M, (1.00, 0.79), Vec::new(), ("LEGEND", "what this page uses"));
    page
}

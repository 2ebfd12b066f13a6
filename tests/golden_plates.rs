//! Pictures of the instruments on plates in every data state against the ones in `tests/golden`.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use drawing::golden::{compare, report, shown};
use drawing::kinds::{strip, temperature_limits, trace, way};
use jumpseat::draw::Painter;
use jumpseat::draw::Theme;
use jumpseat::panel::{Attitude, Control, Controls, Panel, Severity, Side, Slip, Track};
use jumpseat::panel::{Clock, Dial, DiscSize, Face, Marking, Shows, Tile, UsualRange};
use jumpseat::pixel::FrameShape;
use jumpseat::readout::PanelState;
use jumpseat::readout::{GroundPoint, GroundTrack, InstrumentState};
use jumpseat::signal::{Reading, State};
use std::sync::Arc;

/// A reading without a number.
fn bare(state: State, age_s: f64) -> Reading {
    Reading { value: None, state, age_s }
}

fn text(text: &str, reading: Reading) -> InstrumentState {
    InstrumentState { hands: vec![reading], text: text.into(), ..Default::default() }
}

#[test]
fn text_in_every_state() {
    let radio = || Face::Tile(Tile { channel: "com".into(), title: "COM 1".into(), unit: "MHz".into(), decimals: 0 });
    let states = [
        ("measured", text("118.005", bare(State::Measured, 0.0))),
        ("held", text("118.005", bare(State::Held, 0.6))),
        ("stale", text("", bare(State::Stale, 9.4))),
        ("invalid", text("", Reading::INVALID)),
        ("zeros", text("0021", bare(State::Measured, 0.0))),
        ("long", text("HARROWMERE TOWER 118.005 OR INFORMATION 124.225", bare(State::Measured, 0.0))),
    ];
    let mut results = Vec::new();
    for (name, state) in states {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || name == "measured" {
                let picture = shown(radio(), DiscSize::M, state.clone(), theme);
                results.push(compare(&format!("text_{name}_{}", theme.name()), &picture));
            }
        }
    }
    report(results);
}

#[test]
fn clock_in_every_state() {
    let clock = |shows, title: &str| Face::Clock(Clock { shows, title: title.into() });
    let known = bare(State::Measured, 0.0);
    let states = [
        ("utc", clock(Shows::Utc, "UTC"), text("14:03:22", known)),
        ("local", clock(Shows::Local { ahead_s: -19_800 }, "LOCAL"), text("08:33:22", known)),
        ("film", clock(Shows::Film, "FILM"), text("0:06:12", known)),
        ("unknown", clock(Shows::Utc, "UTC"), text("", Reading::INVALID)),
    ];
    let pictures = states.map(|(name, face, state)| {
        compare(&format!("clock_{name}_graphite"), &shown(face, DiscSize::M, state, Theme::Graphite))
    });
    report(pictures);
}

#[test]
fn strip_in_every_state() {
    let reading = |value, state, age_s| Reading { value: Some(value), state, age_s };
    let shows = |reading, trace| InstrumentState { hands: vec![reading], traces: vec![trace], ..Default::default() };
    let states = [
        ("measured", shows(reading(560.0, State::Measured, 0.0), trace(560.0, 30.0))),
        ("derived", shows(reading(560.0, State::Derived, 0.0), trace(560.0, 30.0))),
        ("held", shows(reading(560.0, State::Held, 0.6), trace(560.0, 29.4))),
        ("stale", shows(reading(560.0, State::Stale, 9.4), trace(560.0, 20.6))),
        ("invalid", shows(Reading::INVALID, Arc::default())),
        ("saturated_low", shows(reading(480.0, State::SaturatedLow, 0.0), trace(480.0, 30.0))),
        ("saturated_high", shows(reading(740.0, State::SaturatedHigh, 0.0), trace(740.0, 30.0))),
        ("below", shows(reading(420.0, State::Measured, 0.0), trace(420.0, 30.0))),
        ("above", shows(reading(760.0, State::Measured, 0.0), trace(760.0, 30.0))),
    ];
    let mut results = Vec::new();
    for (name, state) in states {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(name, "measured" | "stale") {
                let picture = shown(strip(&["EGT"], temperature_limits()), DiscSize::M, state.clone(), theme);
                results.push(compare(&format!("strip_{name}_{}", theme.name()), &picture));
            }
        }
    }
    let three = [520.0, 580.0, 640.0];
    let state = InstrumentState {
        hands: three.map(|v| reading(v, State::Measured, 0.0)).to_vec(),
        traces: vec![trace(520.0, 30.0), trace(580.0, 20.0), trace(640.0, 30.0)],
        ..Default::default()
    };
    let minimum = vec![
        Marking::Normal { from: 550.0, to: 700.0 },
        Marking::Limit { at: 550.0 },
        Marking::Forbidden { from: 700.0, to: 750.0 },
    ];
    for theme in Theme::ALL {
        let picture = shown(strip(&["1", "2", "3"], minimum.clone()), DiscSize::L, state.clone(), theme);
        results.push(compare(&format!("strip_three_{}", theme.name()), &picture));
    }
    report(results);
}

/// A passed limit on plates: on the value's own plate where that is the only one, along the edge where nobody could say whose it is.
#[test]
fn passed_limits_on_plates() {
    let speed = Face::Tape(drawing::speed_tape());
    let one = strip(&["EGT"], temperature_limits());
    let three = strip(&["1", "2", "3"], temperature_limits());
    let slip = Face::Slip(Slip { channel: "g".into(), range: (-0.2, 0.2) });
    let mut results = Vec::new();
    for (name, face, value) in
        [("tape", speed, 97.0), ("strip", one, 720.0), ("three", three, 720.0), ("slip", slip, 0.15)]
    {
        let hands = vec![measured(value); face.hands().len()];
        let traces = if name == "slip" || name == "tape" { Vec::new() } else { vec![trace(value, 30.0); hands.len()] };
        for (severity, word) in [(Severity::Caution, "caution"), (Severity::Warning, "warning")] {
            let (hands, traces) = (hands.clone(), traces.clone());
            let shows = InstrumentState { hands, traces, alert: Some(severity), ..Default::default() };
            let picture = shown(face.clone(), DiscSize::M, shows, Theme::Graphite);
            results.push(compare(&format!("passed_{name}_{word}"), &picture));
        }
    }
    report(results);
}

fn states(value: f64) -> [(&'static str, Reading); 8] {
    let reading = |state, age_s| Reading { value: Some(value), state, age_s };
    [
        ("measured", reading(State::Measured, 0.0)),
        ("derived", reading(State::Derived, 0.0)),
        ("held", reading(State::Held, 0.6)),
        ("stale", bare(State::Stale, 9.4)),
        ("stale_hand", reading(State::Stale, 9.4)),
        ("invalid", Reading::INVALID),
        ("saturated_low", reading(State::SaturatedLow, 0.0)),
        ("saturated_high", reading(State::SaturatedHigh, 0.0)),
    ]
}

/// One face with its hands in every state, and measured and invalid in every theme.
fn in_every_state(
    name: &str,
    face: &Face,
    size: DiscSize,
    value: f64,
    hands: impl Fn(Reading) -> Vec<Reading>,
) -> Vec<Result<(), String>> {
    let mut results = Vec::new();
    for (state, reading) in states(value) {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(state, "measured" | "invalid") {
                let shows = InstrumentState { hands: hands(reading), ..Default::default() };
                let picture = shown(face.clone(), size, shows, theme);
                results.push(compare(&format!("{name}_{state}_{}", theme.name()), &picture));
            }
        }
    }
    results
}

fn measured(value: f64) -> Reading {
    Reading { value: Some(value), state: State::Measured, age_s: 0.0 }
}

#[test]
fn attitude_in_every_state() {
    let face = Face::Attitude(Attitude { pitch: "pitch".into(), bank: "bank".into() });
    let mut results = in_every_state("attitude", &face, DiscSize::L, 6.0, |pitch| vec![pitch, measured(-12.0)]);
    for (name, pitch, bank, size) in
        [("steep", 70.0, 10.0, DiscSize::L), ("right", -4.0, 350.0, DiscSize::S), ("over", 0.0, 170.0, DiscSize::M)]
    {
        let shows = InstrumentState { hands: vec![measured(pitch), measured(bank)], ..Default::default() };
        results.push(compare(&format!("attitude_{name}"), &shown(face.clone(), size, shows, Theme::Graphite)));
    }
    report(results);
}

#[test]
fn controls_in_every_state() {
    let control = |range| Some(Control { channel: "c".into(), range });
    let (lever, about) = ((0.0, 100.0), (-100.0, 100.0));
    let all =
        Controls { collective: control(lever), right: control(about), forward: control(about), pedals: control(about) };
    let hands = |reading| vec![reading, measured(-30.0), reading, reading];
    let mut results = in_every_state("controls", &Face::Controls(all.clone()), DiscSize::L, 58.0, hands);
    let aft = Controls { collective: None, right: None, pedals: None, ..all.clone() };
    let lever = Controls { collective: all.collective, ..Controls::default() };
    for (name, controls, value) in [("forward_alone", aft, 40.0), ("lever_alone_beyond", lever, 104.0)] {
        let shows = InstrumentState { hands: vec![measured(value)], ..Default::default() };
        let picture = shown(Face::Controls(controls), DiscSize::M, shows, Theme::Graphite);
        results.push(compare(&format!("controls_{name}"), &picture));
    }
    report(results);
}

#[test]
fn slip_in_every_state() {
    let face = |range| Face::Slip(Slip { channel: "g".into(), range });
    let mut results = in_every_state("slip", &face((-0.2, 0.2)), DiscSize::L, 0.06, |reading| vec![reading]);
    for (name, range, value) in [("beyond", (-0.2, 0.2), 0.31), ("other_way", (0.2, -0.2), 0.06)] {
        let shows = InstrumentState { hands: vec![measured(value)], ..Default::default() };
        results.push(compare(&format!("slip_{name}"), &shown(face(range), DiscSize::M, shows, Theme::Graphite)));
    }
    report(results);
}

#[test]
fn track_in_every_state() {
    let face = || Face::Track(Track { latitude: "lat".into(), longitude: "lon".into() });
    let way = way();
    let mut results = Vec::new();
    for (state, reading) in states(47.0) {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(state, "measured" | "invalid") {
                let ground = Some(Arc::clone(&way));
                let shows = InstrumentState { hands: vec![reading; 2], ground, ..Default::default() };
                let picture = shown(face(), DiscSize::L, shows, theme);
                results.push(compare(&format!("track_{state}_{}", theme.name()), &picture));
            }
        }
    }
    let still = (0..30).map(|t| GroundPoint { time_s: f64::from(t), at_m: (0.0, 0.0), joined: t > 0 });
    let ground = Some(Arc::new(GroundTrack::of(still.collect())));
    let shows = InstrumentState { hands: vec![measured(47.0); 2], ground, ..Default::default() };
    results.push(compare("track_standing", &shown(face(), DiscSize::M, shows, Theme::Graphite)));
    report(results);
}

/// The legend of the sample panel, of one dial, and of each face with markings alone.
#[test]
fn legend_of_what_the_panel_uses() {
    let legend = |mut panel: Panel| {
        panel.instruments.push(drawing::instrument("legend", Face::Legend, DiscSize::M, Side::Centre, 0.0, 0.7));
        panel
    };
    let picture = |panel: &Panel, theme| {
        let mut painter = Painter::new(panel, FrameShape::plain(960, 540), theme).unwrap();
        let shown = painter.draw(&PanelState::default());
        shown[panel.instruments.len() - 1].patch.clone()
    };
    let mut results = Vec::new();
    let whole = legend(drawing::panel());
    for theme in Theme::ALL {
        let seen = drawing::golden::seen(&picture(&whole, theme));
        results.push(compare(&format!("legend_{}", theme.name()), &seen));
    }
    let few = Panel { lamps: Vec::new(), limits: Vec::new(), ..drawing::panel() };
    let few = legend(Panel { instruments: few.instruments[..1].to_vec(), ..few });
    results.push(compare("legend_few_graphite", &drawing::golden::seen(&picture(&few, Theme::Graphite))));
    // Each face alone, so that a marking or a plate of a slipping drive that the legend forgets is missed.
    for (name, face) in [
        ("bar", Face::Bar(drawing::fuel_bar())),
        ("pair", Face::Pair(drawing::oil())),
        ("tape", Face::Tape(drawing::speed_tape())),
        ("tachometer", Face::Tachometer(drawing::tachometer())),
        ("two_sets", Face::Tachometer(drawing::two_sets())),
        ("usual", Face::Dial(Dial { markings: vec![Marking::Reference { at: 60.0 }], ..drawing::airspeed() })),
    ] {
        let mut alone = drawing::instrument(name, face, DiscSize::M, Side::Left, 0.3, 0.2);
        if name == "usual" {
            alone.usual.push(UsualRange { hand: 0, from: 55.0, to: 65.0, condition: None });
        }
        let alone = legend(Panel { instruments: vec![alone], ..Panel::default() });
        let seen = drawing::golden::seen(&picture(&alone, Theme::Graphite));
        results.push(compare(&format!("legend_{name}_graphite"), &seen));
    }
    report(results);
}

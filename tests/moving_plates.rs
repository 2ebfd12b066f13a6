//! Strip chart and ground track from moment to moment: the picture depends on the moment alone, and moves by whole pixels.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use std::sync::Arc;

use drawing::instrument;
use jumpseat::draw::{Painter, Theme};
use jumpseat::panel::{DiscSize, Face, Panel, Side, Strip, StripTrace, Track};
use jumpseat::pixel::FrameShape;
use jumpseat::readout::{GroundPoint, GroundTrack, InstrumentState, PanelState, Piece, Trace};
use jumpseat::signal::{Reading, State};

fn panel() -> Panel {
    let strip = Strip {
        traces: vec![StripTrace { channel: "a".into(), name: "a".into() }],
        title: "EGT".into(),
        unit: String::new(),
        decimals: 0,
        seconds: 30.0,
        scale: Strip::scale(0.0, 100.0),
        markings: Vec::new(),
    };
    let track = Track { latitude: "a".into(), longitude: "b".into() };
    Panel {
        instruments: vec![
            instrument("strip", Face::Strip(strip), DiscSize::M, Side::Left, 0.42, 0.3),
            instrument("track", Face::Track(track), DiscSize::M, Side::Right, 0.3, 0.3),
        ],
        ..Panel::default()
    }
}

/// What both show at a session time; the strip's value stands still, so that only the window tells the moments apart.
fn at(t: f64) -> PanelState {
    let reading = Reading { value: Some(50.0), state: State::Measured, age_s: 0.0 };
    let value = |t: f64| 50.0 + 40.0 * (t * 0.7).sin();
    let times = (0..1200).map(|i| f64::from(i) / 10.0).filter(|t| !(40.0..43.0).contains(t));
    let pieces =
        times.clone().map(|t| Piece { span_s: (t, t + 0.1), values: (value(t), value(t + 0.1)), held: t > 90.0 });
    let points = times.map(|t| GroundPoint {
        time_s: t,
        at_m: (20.0 * t, 300.0 * (t / 20.0).sin()),
        joined: t > 0.0 && !(43.0..43.05).contains(&t),
    });
    let strip = InstrumentState {
        hands: vec![reading],
        traces: vec![Arc::new(Trace { pieces: pieces.collect() })],
        ..Default::default()
    };
    let ground = Some(Arc::new(GroundTrack::of(points.collect())));
    let track = InstrumentState { hands: vec![reading; 2], ground, ..Default::default() };
    PanelState { instruments: vec![strip, track], session_s: t, ..PanelState::default() }
}

fn painter() -> Painter {
    Painter::new(&panel(), FrameShape::plain(1280, 720), Theme::Graphite).unwrap()
}

#[test]
fn any_order_of_moments_draws_the_same() {
    let mut worn = painter();
    for t in [10.0, 10.04, 62.3, 41.0, 0.0, -5.0, 95.5, 44.9, 62.3, 119.0, 300.0] {
        let fresh: Vec<_> = painter().draw(&at(t)).iter().map(|drawn| drawn.patch.clone()).collect();
        let seen: Vec<_> = worn.draw(&at(t)).iter().map(|drawn| drawn.patch.clone()).collect();
        assert!(fresh == seen, "at {t} s the picture is not that of a fresh painter");
    }
}

/// The plot's pixels move left as they are: after a whole column of time, column x shows what column x + 1 showed.
#[test]
fn the_window_moves_by_whole_pixels() {
    let (mut painter, mut steps, mut still) = (painter(), 0, 0);
    let mut before = painter.draw(&at(62.0))[0].patch.clone();
    for i in 1..40 {
        let drawn = painter.draw(&at(62.0 + f64::from(i) * 0.02));
        let (patch, changed) = (drawn[0].patch.clone(), drawn[0].changed);
        assert_eq!(patch != before, changed, "what is told to have changed has");
        if !changed {
            still += 1;
            continue;
        }
        steps += 1;
        // Far from the plot's ends, and above the line of numerals and times, which stand still.
        let (w, h) = (patch.place.width as usize, patch.place.height as usize);
        let pixel = |patch: &jumpseat::pixel::Patch, x: usize, y: usize| patch.rgba[4 * (y * w + x)..][..4].to_vec();
        for (x, y) in (w / 4..w / 2).flat_map(|x| (h / 4..h * 2 / 3).map(move |y| (x, y))) {
            assert_eq!(pixel(&patch, x, y), pixel(&before, x + 1, y), "at {x}, {y} in step {i}");
        }
        before = patch;
    }
    assert!(steps > 3 && still > 10, "{steps} steps, {still} frames without one");
}

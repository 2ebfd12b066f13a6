//! Pictures of the phase strip and of the banner in every state, and how both change from frame to frame.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use std::sync::Arc;

use drawing::golden::{compare, report, seen};
use drawing::instrument;
use jumpseat::draw::{DrawError, Painter, Theme, faults};
use jumpseat::panel::{Banner, DiscSize, Face, KeepClear, Panel, PhaseStrip, Severity, Shows, Side};
use jumpseat::pixel::{FrameShape, Patch};
use jumpseat::readout::{BannerLine, InstrumentState, Notice, PanelState, Phase, Profile, ProfilePoint};
use jumpseat::signal::{Reading, State};

const HD: (u32, u32) = (960, 540);

/// Ground, hover, way, ground; not judged from 200 to 300 s of 600.
fn profile() -> Arc<Profile> {
    let way = [(0.0, 0.0), (60.0, 0.0), (60.0, 0.22), (90.0, 0.22), (150.0, 0.9), (200.0, 0.8)];
    let back = [(300.0, 1.0), (450.0, 0.7), (520.0, 0.22), (540.0, 0.22), (540.0, 0.0), (600.0, 0.0)];
    let point = |(time_s, level)| ProfilePoint { time_s, level, joined: time_s != 0.0 && time_s != 300.0 };
    Arc::new(Profile { span_s: (0.0, 600.0), points: way.into_iter().chain(back).map(point).collect() })
}

fn strip_panel(size: DiscSize) -> Panel {
    let strip = PhaseStrip { clock: Shows::Session, width_m: PhaseStrip::WIDTH_M };
    let strip = instrument("phase", Face::PhaseStrip(strip), size, Side::Centre, 0.0, 0.047);
    Panel { instruments: vec![strip], ..Panel::default() }
}

fn at(phase: Phase, since_s: f64, now_s: f64) -> PanelState {
    let judged = Reading { value: None, state: State::Derived, age_s: 0.0 };
    let known = phase != Phase::NotJudged;
    let strip = InstrumentState {
        hands: vec![if known { judged } else { Reading::INVALID }],
        text: if known { phase.name().into() } else { String::new() },
        note: format!("0:{:02}:{:02}", (now_s / 60.0) as u32, (now_s % 60.0) as u32),
        profile: Some(profile()),
        since_s: Some(since_s),
        ..Default::default()
    };
    PanelState { instruments: vec![strip], session_s: now_s, notice: Notice::Bare, ..PanelState::default() }
}

fn painter(panel: &Panel, (width, height): (u32, u32), theme: Theme) -> Painter {
    Painter::new(panel, FrameShape::plain(width, height), theme).unwrap()
}

fn drawn(painter: &mut Painter, index: usize, state: &PanelState) -> Patch {
    painter.draw(state)[index].patch.clone()
}

#[test]
fn phase_strip_in_every_state() {
    let nothing = PanelState { instruments: vec![InstrumentState::default()], ..PanelState::default() };
    let mut untimed = at(Phase::Climb, 90.0, 120.0);
    untimed.instruments[0].note.clear();
    let states = [
        ("ground", DiscSize::M, at(Phase::RunUp, 10.0, 40.0)),
        ("hover", DiscSize::M, at(Phase::Hover, 60.0, 75.0)),
        ("climb_no_time", DiscSize::M, untimed),
        ("not_judged", DiscSize::M, at(Phase::NotJudged, 200.0, 250.0)),
        ("way", DiscSize::M, at(Phase::Cruise, 300.0, 400.0)),
        ("longest", DiscSize::M, at(Phase::Autorotation, 450.0, 480.0)),
        ("before", DiscSize::M, at(Phase::NotJudged, 0.0, -20.0)),
        ("after", DiscSize::M, at(Phase::NotJudged, 600.0, 620.0)),
        ("nothing", DiscSize::M, nothing),
        ("l", DiscSize::L, at(Phase::Cruise, 300.0, 400.0)),
        ("s", DiscSize::S, at(Phase::Cruise, 300.0, 400.0)),
    ];
    let mut results = Vec::new();
    for (name, size, state) in states {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(name, "way" | "not_judged") {
                let patch = drawn(&mut painter(&strip_panel(size), HD, theme), 0, &state);
                results.push(compare(&format!("phase_strip_{name}_{}", theme.name()), &seen(&patch)));
            }
        }
    }
    let small = drawn(
        &mut painter(&strip_panel(DiscSize::M), (640, 360), Theme::Graphite),
        0,
        &at(Phase::Cruise, 300.0, 400.0),
    );
    results.push(compare("phase_strip_640_graphite", &seen(&small)));
    report(results);
}

fn banner_panel() -> Panel {
    let limits = drawing::panel().limits;
    assert!(limits.len() > 1);
    Panel { limits, banner: Some(Banner { least: Severity::Advisory }), ..Panel::default() }
}

fn line(severity: Severity, now: bool, [what, beyond, time]: [&str; 3]) -> BannerLine {
    BannerLine { severity, now, what: what.into(), beyond: beyond.into(), time: time.into() }
}

fn says(lines: &[BannerLine]) -> PanelState {
    PanelState { banner: lines.to_vec(), notice: Notice::Bare, ..PanelState::default() }
}

#[test]
fn banner_in_every_state() {
    let rotor = line(Severity::Warning, true, ["ROTOR 89 %", "below 95", "for 4 s"]);
    let fuel = line(Severity::Caution, true, ["FUEL 3.1 US gal", "below 4.0", "for 2 min 40 s"]);
    let oil = line(Severity::Advisory, true, ["OIL T 42 \u{b0}C", "held, below 45", "for 12 s"]);
    let lost = line(Severity::Warning, false, ["EGT", "was above 720", "9 s old"]);
    let long = ["GEARBOX OIL TEMPER 1112.55 \u{b0}C", "held, clears at 105.00", "for at least 112 min 40 s"];
    let states = [
        ("both", vec![rotor.clone(), fuel]),
        ("quiet", vec![oil, lost]),
        ("long", vec![line(Severity::Caution, true, long)]),
        ("one", vec![rotor]),
    ];
    let mut results = Vec::new();
    // The row of lamps stands before it.
    let panel = banner_panel();
    for (name, lines) in &states {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(*name, "both" | "quiet") {
                let patch = drawn(&mut painter(&panel, HD, theme), 1, &says(lines));
                results.push(compare(&format!("banner_{name}_{}", theme.name()), &seen(&patch)));
            }
        }
    }
    for (name, size) in [("640", (640, 360)), ("portrait", (360, 640))] {
        for (which, lines) in &states[..3] {
            let patch = drawn(&mut painter(&panel, size, Theme::Graphite), 1, &says(lines));
            results.push(compare(&format!("banner_{which}_{name}_graphite"), &seen(&patch)));
        }
    }
    report(results);
    let patch = drawn(&mut painter(&panel, HD, Theme::Graphite), 1, &says(&[]));
    assert!(patch.rgba.iter().all(|byte| *byte == 0), "nothing is passed, nothing is drawn");
}

/// What a third line, an instrument and a part kept clear meet.
#[test]
fn the_banner_keeps_its_place() {
    let mut panel = banner_panel();
    let shape = FrameShape::plain(HD.0, HD.1);
    assert_eq!(faults(&panel, shape, Theme::Graphite), []);
    panel.keep_clear.push(KeepClear { name: "compass".into(), x: 0.45, y: 0.10, width: 0.1, height: 0.1 });
    let found = faults(&panel, shape, Theme::Graphite);
    assert_eq!(found, [DrawError::CoversKept { instrument: "the banner".into(), kept: "compass".into() }]);
    panel.banner = None;
    assert_eq!(faults(&panel, shape, Theme::Graphite), []);
    let tile = instrument("volts", Face::Tile(drawing::volts()), DiscSize::M, Side::Centre, 0.0, 0.86);
    let overlapped = Panel { instruments: vec![tile], ..banner_panel() };
    let found = faults(&overlapped, shape, Theme::Graphite);
    let names = found.iter().map(|fault| match fault {
        DrawError::Overlap { first, second, .. } => [first.as_str(), second],
        _ => [""; 2],
    });
    assert_eq!(names.collect::<Vec<_>>(), [["volts", "the banner"]]);
    // On the smallest pictures the notice takes two lines, and the banner moves down.
    for size in [(1920, 1080), (640, 360), (360, 640), (240, 426), (320, 180)] {
        let found = faults(&banner_panel(), FrameShape::plain(size.0, size.1), Theme::Graphite);
        assert_eq!(found, [], "{size:?}");
    }
}

#[test]
fn any_order_of_moments_draws_the_same_and_little_changes() {
    let panel = strip_panel(DiscSize::M);
    let moment = |t: f64| match t {
        t if (200.0..300.0).contains(&t) || !(0.0..600.0).contains(&t) => at(Phase::NotJudged, 200.0, t),
        t if t < 60.0 => at(Phase::RunUp, 0.0, t),
        t => at(Phase::Cruise, 60.0, t),
    };
    let mut worn = painter(&panel, HD, Theme::Graphite);
    for t in [400.0, 400.04, 10.0, 250.0, -5.0, 620.0, 199.9, 300.0, 60.0, 540.0] {
        let fresh = drawn(&mut painter(&panel, HD, Theme::Graphite), 0, &moment(t));
        assert!(drawn(&mut worn, 0, &moment(t)) == fresh, "at {t} s the picture is not that of a fresh painter");
    }
    // Thirty frames a second over ten seconds: the ring moves by quarters of a pixel, the clock ticks, and that is all.
    let changed = (0..300).filter(|i| {
        let state = moment(400.0 + f64::from(*i) / 30.0);
        worn.draw(&state)[0].changed
    });
    let changed = changed.count();
    assert!((10..=40).contains(&changed), "{changed} of 300 frames");
}

/// The ring stands on the line where the moment is: found in the picture.
#[test]
fn the_moment_is_where_it_should_be() {
    let panel = strip_panel(DiscSize::M);
    let mut painter = painter(&panel, (1920, 1080), Theme::Graphite);
    let column = |painter: &mut Painter, t: f64| {
        let mut state = at(Phase::OnGround, t, t);
        let flat = |time_s| ProfilePoint { time_s, level: 0.0, joined: time_s > 0.0 };
        state.instruments[0].profile =
            Some(Arc::new(Profile { span_s: (0.0, 600.0), points: vec![flat(0.0), flat(600.0)] }));
        let patch = drawn(painter, 0, &state);
        let (w, h) = (patch.place.width as usize, patch.place.height as usize);
        let bright = |x: usize| (0..h).filter(|y| patch.rgba[4 * (y * w + x)] > 200).count();
        // Nothing but the ring is as high as eight pixels left of the words.
        let columns: Vec<usize> = (0..w * 45 / 100).filter(|&x| bright(x) >= 8).collect();
        columns.iter().sum::<usize>() as f64 / columns.len() as f64
    };
    let ends = [20.0, 55.0, 300.0, 400.0].map(|t| (t, column(&mut painter, t)));
    let pixels_a_second = (ends[3].1 - ends[0].1) / (ends[3].0 - ends[0].0);
    for (t, x) in ends {
        let expected = ends[0].1 + (t - 20.0) * pixels_a_second;
        assert!((x - expected).abs() < 1.0, "at {t} s: {x}, expected {expected}");
    }
    assert!(pixels_a_second > 0.4, "{pixels_a_second}");
}

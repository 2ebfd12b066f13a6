//! Instruments that come and go, are faint, or follow their record with a lag: from the panel file to the samples of a frame.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::blend::Film;
use jumpseat::draw::{Painter, Theme};
use jumpseat::judge::judge;
use jumpseat::keyfile::Document;
use jumpseat::panel::{Panel, file};
use jumpseat::pixel::{ChromaSiting, Colour, FrameShape, Matrix, PlanesMut, Range, Sampling};
use jumpseat::readout::{Ledger, Notice, PanelState, Readout};
use jumpseat::recorder::{self, Options};
use jumpseat::session::Session;
use jumpseat::time::{FilmTime, SessionTime};
use std::path::Path;

const COLOUR: Colour = Colour { matrix: Matrix::Bt709, range: Range::Limited, siting: ChromaSiting::Left };

/// Speed steps from 20 to 60 kt at 10 s and back at 20 s.
fn session() -> Session {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().join("air.csv");
    let speed = |i: i32| if (100..200).contains(&i) { 60 } else { 20 };
    let rows: String = (0..400).map(|i| format!("{},{},90\n", i * 100, speed(i))).collect();
    std::fs::write(&path, format!("time_ms,IAS,Heading\nms,kt,deg\n{rows}")).expect("log");
    Session::of(recorder::read(&path, &Options::default()).expect("a log"))
}

fn panel(keys: &str) -> Panel {
    let text = format!(
        "[[instrument]]\nname = \"speed\"\nkind = \"tile\"\nchannel = \"IAS\"\nunit = \"kt\"\ndecimals = 2\n\
         place = {{ side = \"centre\", from_side = 0, from_bottom = 0.4, size = \"XL\" }}\n{keys}\n"
    );
    let read = file::read(Document::of(Path::new("panel.toml"), text));
    assert!(read.faults.is_empty(), "{:?}", read.faults);
    read.panel
}

/// What the panel shows with film time and session time the same.
fn states(panel: &Panel, times: &[f64]) -> Vec<PanelState> {
    let session = session();
    let judged = judge(&session, panel);
    let mut readout = Readout::new(&session, &judged, panel);
    times.iter().map(|&t| readout.in_film(FilmTime(t), SessionTime(t), Notice::Bare)).collect()
}

fn faded(panel: &Panel, times: &[f64]) -> Vec<f64> {
    states(panel, times).iter().map(|state| (state.instruments[0].faded * 1000.0).round() / 1000.0).collect()
}

#[test]
fn it_is_shown_between_two_times_and_while_a_condition_holds() {
    let timed = panel("show = { from = 5, to = 15, fade = 2 }");
    assert_eq!(faded(&timed, &[4.9, 6.0, 7.0, 13.0, 14.5, 15.0]), [1.0, 0.5, 0.0, 0.0, 0.75, 1.0]);
    let fast = panel("opacity = 0.5\nshow = { fade = 1, while = { channel = \"air.IAS\", above = 40, for = 2 } }");
    assert_eq!(faded(&fast, &[9.0, 11.9, 12.5, 14.0, 20.5, 21.0]), [1.0, 1.0, 0.75, 0.5, 0.75, 1.0]);
    let both = panel("show = { to = 13, while = { channel = \"air.IAS\", above = 40 } }");
    assert_eq!(faded(&both, &[9.9, 10.0, 12.9, 13.0]), [1.0, 0.0, 0.0, 1.0]);
}

/// The ledger says what was not shown, and that hands lag.
#[test]
fn the_ledger_tells_of_it() {
    let panel = panel("smoothing = 1.5\nshow = { from = 5 }");
    let mut ledger = Ledger::new(Vec::new(), &panel).expect("ledger");
    for (t, state) in [4.0, 11.5].into_iter().zip(states(&panel, &[4.0, 11.5])) {
        ledger.row(t, SessionTime(t), None, &state).expect("row");
    }
    let text = String::from_utf8(ledger.finish().expect("all written")).expect("text");
    let rows: Vec<&str> = text.lines().collect();
    assert!(rows[0].ends_with("speed.value [kt],speed.value.state,speed.smoothing [s]"), "{text}");
    assert!(rows[1].ends_with(",,hidden,1.5"), "{text}");
    // The record rises from 20 to 60 between 9.9 and 10.0 s: dy/dt = (x - y) / T, solved by hand for a ramp and then a level.
    let (ramp, time) = (0.1, 1.5_f64);
    let at_top = 60.0 - 40.0 / ramp * time * (1.0 - (-ramp / time).exp());
    let expected = 60.0 - (60.0 - at_top) * (-1.5 / time).exp();
    assert!(rows[2].ends_with(&format!(",{expected:.4},measured,1.5")), "{expected} in {text}");
}

/// At every step of opacity the frame lies between bare film and the full instrument, at its share; at none it is the film.
#[test]
fn a_faint_instrument_is_its_share_of_the_way_from_the_film() {
    let shape = FrameShape::plain(640, 360);
    let frame = |opacity: f64| {
        let panel = panel("");
        let mut painter = Painter::in_form(&panel, shape, Theme::Graphite, Film::new(&COLOUR)).expect("painter");
        let mut state = states(&panel, &[12.0]).remove(0);
        state.instruments[0].faded = 1.0 - opacity;
        let (mut y, mut u, mut v) = (vec![180_u8; 640 * 360], vec![90_u8; 320 * 180], vec![150_u8; 320 * 180]);
        let planes = PlanesMut {
            width: 640,
            height: 360,
            y: &mut y,
            y_stride: 640,
            u: &mut u,
            v: &mut v,
            c_stride: 320,
            sampling: Sampling::Quarter,
        };
        painter.show(&state);
        painter.lay(&mut Film::new(&COLOUR).canvas(planes).expect("canvas"));
        // The notice stands elsewhere.
        let place = painter.places().next().expect("an instrument");
        let columns = place.x as usize..place.right() as usize;
        let rows = y.chunks(640).take(place.bottom() as usize).skip(place.y as usize);
        rows.flat_map(|row| row[columns.clone()].to_vec()).collect::<Vec<u8>>()
    };
    let (film, full) = (180.0, frame(1.0));
    assert!(full.iter().any(|&sample| f64::from(sample) < film - 60.0), "there is nothing on the picture");
    assert_eq!(frame(0.0), vec![180; full.len()], "nothing is drawn, nothing is laid");
    for opacity in [0.25, 0.5, 0.75] {
        let faint = frame(opacity);
        for (&faint, &full) in faint.iter().zip(&full) {
            let expected = film + (f64::from(full) - film) * opacity;
            assert!((f64::from(faint) - expected).abs() <= 1.0, "{faint} for {expected} at {opacity}");
        }
    }
}

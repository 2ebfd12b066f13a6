//! Markings and scales beyond the plain ones: a reference's triangle, the rotor's two sets of limits, dials turned as on the
//! owner's panel. What stands where is measured on the picture; the angles expected are worked out by hand beside each row.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use image::RgbImage;
use jumpseat::draw::{Painter, Theme};
use jumpseat::judge::Drive;
use jumpseat::keyfile::Document;
use jumpseat::panel::{Bar, ByPower, Dial, DiscSize, Face, Marking, Panel, Side, Strip, StripTrace, Tachometer, file};
use jumpseat::pixel::FrameShape;
use jumpseat::readout::{InstrumentState, Notice, PanelState};
use jumpseat::signal::{Reading, State};

use drawing::golden::{compare, report, seen};
use drawing::{airspeed, fuel_bar, instrument, oil, reading, speed_tape, tachometer, vertical_speed};

fn measured(values: &[f64]) -> InstrumentState {
    let hands = values.iter().map(|&value| reading(value, State::Measured, 0.0)).collect();
    InstrumentState { hands, ..InstrumentState::default() }
}

/// One instrument on a frame of 1280 x 720, where fine marks are seen.
fn shown(face: Face, size: DiscSize, state: InstrumentState, theme: Theme) -> RgbImage {
    let panel = Panel { instruments: vec![instrument("shown", face, size, Side::Left, 0.42, 0.3)], ..Panel::default() };
    let mut painter = Painter::new(&panel, FrameShape::plain(1280, 720), theme).unwrap();
    let state = PanelState { instruments: vec![state], notice: Notice::Bare, session_s: 30.0, ..PanelState::default() };
    seen(painter.draw(&state)[0].patch)
}

/// Power on 95 to 104, power off 90 to 108.
fn two_sets() -> Tachometer {
    let on = vec![
        Marking::Precaution { from: 95.0, to: 97.0 },
        Marking::Normal { from: 97.0, to: 103.0 },
        Marking::Limit { at: 95.0 },
        Marking::Limit { at: 104.0 },
    ];
    let off = vec![
        Marking::Normal { from: 92.0, to: 106.0 },
        Marking::Limit { at: 90.0 },
        Marking::Limit { at: 108.0 },
    ];
    Tachometer { rotor_markings: Vec::new(), rotor_by_power: ByPower { on, off }, ..tachometer() }
}

#[test]
fn references_on_every_face_with_markings() {
    let reference = |at| Marking::Reference { at };
    let with = |mut markings: Vec<Marking>, at| {
        markings.push(reference(at));
        markings
    };
    let dial = Face::Dial(Dial { markings: with(airspeed().markings, 62.0), ..airspeed() });
    let mut both = tachometer();
    both.rotor_markings.push(reference(101.0));
    both.engine_markings.push(reference(99.0));
    let mut pair = oil();
    pair.left.markings.push(reference(50.0));
    pair.right.markings.push(reference(75.0));
    let mut climb = vertical_speed();
    climb.markings = vec![
        reference(500.0),
        Marking::Normal { from: -500.0, to: 500.0 },
        Marking::Precaution { from: -1500.0, to: -1000.0 },
        Marking::Limit { at: -1500.0 },
        Marking::Forbidden { from: -2000.0, to: -1500.0 },
    ];
    let bar = Face::Bar(Bar { markings: with(fuel_bar().markings, 9.0), width_m: 0.45, ..fuel_bar() });
    let mut tape = speed_tape();
    tape.markings.push(reference(62.0));
    let strip = Face::Strip(Strip {
        traces: vec![StripTrace { channel: "egt".into(), name: "EGT".into() }],
        title: "EGT".into(),
        unit: "\u{b0}C".into(),
        decimals: 0,
        seconds: 30.0,
        scale: Strip::scale(450.0, 750.0),
        markings: vec![reference(560.0), Marking::Limit { at: 710.0 }],
    });
    let faces = [
        ("dial", dial, DiscSize::L, measured(&[58.0])),
        ("tachometer", Face::Tachometer(both), DiscSize::Xl, measured(&[100.0, 100.0])),
        ("pair", Face::Pair(pair), DiscSize::L, measured(&[52.0, 78.0])),
        ("vertical_speed", Face::VerticalSpeed(climb), DiscSize::L, measured(&[450.0])),
        ("bar", bar, DiscSize::M, measured(&[13.4])),
        ("tape", Face::Tape(tape), DiscSize::L, measured(&[58.0])),
        ("strip", strip, DiscSize::M, measured(&[560.0])),
    ];
    let mut results = Vec::new();
    for (name, face, size, state) in faces {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(name, "dial" | "bar") {
                let picture = shown(face.clone(), size, state.clone(), theme);
                results.push(compare(&format!("reference_{name}_{}", theme.name()), &picture));
            }
        }
    }
    report(results);
}

#[test]
fn two_sets_of_limits_follow_the_drive() {
    let face = || Face::Tachometer(two_sets());
    let at = |hands: [f64; 2], drive| InstrumentState { drive, ..measured(&hands) };
    let states = [
        ("on", at([100.0, 100.0], Drive::Together)),
        ("off", at([104.0, 84.0], Drive::RotorAhead)),
        ("unknown", at([100.0, 100.0], Drive::NotJudged)),
        ("apart", at([94.0, 99.0], Drive::Apart)),
        ("invalid", InstrumentState { hands: vec![Reading::INVALID; 2], ..InstrumentState::default() }),
    ];
    let mut results = Vec::new();
    for (name, state) in states {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(name, "on" | "off") {
                let picture = shown(face(), DiscSize::Xl, state.clone(), theme);
                results.push(compare(&format!("two_sets_{name}_{}", theme.name()), &picture));
            }
        }
    }
    // Every kind of mark, hollow.
    let mut all = two_sets();
    all.rotor_by_power.off = vec![
        Marking::Forbidden { from: 84.0, to: 90.0 },
        Marking::Limit { at: 90.0 },
        Marking::Precaution { from: 90.0, to: 94.0 },
        Marking::Normal { from: 94.0, to: 106.0 },
        Marking::Reference { at: 99.0 },
        Marking::Limit { at: 108.0 },
    ];
    let picture = shown(Face::Tachometer(all), DiscSize::Xl, at([104.0, 84.0], Drive::RotorAhead), Theme::Graphite);
    results.push(compare("two_sets_every_kind_graphite", &picture));
    report(results);
}

/// A face as a panel file gives it.
fn written(kind: &str, scale: &str) -> Face {
    let text = format!(
        "[[instrument]]\nname = \"egt\"\nunit = \"degC\"\ntitle = \"EGT\"\nchannel = \"engine.EGT\"\nkind = \"dial\"\n\
         place = {{ side = \"left\", from_side = 0.2, from_bottom = 0.2, size = \"XL\" }}\n{scale}\n\
         [[instrument.marking]]\nkind = \"normal\"\nfrom = 400\nto = 660\n\
         [[instrument.marking]]\nkind = \"precaution\"\nfrom = 660\nto = 710\n\
         [[instrument.marking]]\nkind = \"limit\"\nat = 710\n"
    );
    let rpm = text
        .replace("unit = \"degC\"\ntitle = \"EGT\"\nchannel = \"engine.EGT\"\nkind = \"dial\"", "kind = \"tachometer\"\nrotor = \"r\"\nengine = \"e\"")
        .replace("= 400", "= 97")
        .replace("= 660", "= 103")
        .replace("= 710", "= 105");
    let text = if kind == "dial" { text } else { rpm };
    let file = file::read(Document::of("panel.toml".as_ref(), text));
    assert!(file.faults.is_empty(), "{:#?}", file.faults);
    file.panel.instruments[0].face.clone()
}

const EGT: &str = "scale.from = 0\nscale.to = 800\nscale.ticks = { long = 200, middle = 100, short = 20 }\n";
const RPM: &str = "scale.from = 0\nscale.to = 110\nscale.ticks = { long = 20, middle = 10, short = 2 }\n";
const AS_IS: &str = "scale.orientation = \"as on the panel\"\n";

#[test]
fn scales_as_on_the_panel() {
    let egt = |turn: &str| written("dial", &format!("{EGT}{turn}"));
    let rpm = |turn: &str| written("tachometer", &format!("{RPM}{turn}"));
    let as_is = |turn: &str| format!("{AS_IS}{turn}");
    let round = egt(&as_is("scale.start = 180\nscale.sweep = 360"));
    let other_round = egt(&as_is("scale.start = -90\nscale.sweep = -360"));
    let other = rpm(&as_is("scale.start = 150\nscale.sweep = -240"));
    let faces = [
        ("as_on_the_panel", egt(&as_is("scale.start = -120\nscale.sweep = 240")), measured(&[548.0])),
        ("anticlockwise", egt(&as_is("scale.start = 120\nscale.sweep = -240")), measured(&[548.0])),
        ("anticlockwise_above", egt(&as_is("scale.start = 120\nscale.sweep = -240")), measured(&[820.0])),
        ("upright", egt("scale.orientation = \"upright\"\nscale.sweep = 218\nscale.normal = 550"), measured(&[548.0])),
        ("from_twelve", egt(&as_is("scale.start = 0\nscale.sweep = 330")), measured(&[548.0])),
        ("round_low", round.clone(), measured(&[0.0])),
        ("round_high", round.clone(), measured(&[800.0])),
        ("round_above", round.clone(), measured(&[835.0])),
        ("round_below", round, measured(&[-20.0])),
        ("round_anticlockwise", other_round, measured(&[548.0])),
        ("rpm_as_on_the_panel", rpm(&as_is("scale.start = -135\nscale.sweep = 270")), measured(&[100.0, 98.0])),
        ("rpm_anticlockwise", other.clone(), measured(&[100.0, 98.0])),
        ("rpm_anticlockwise_apart", other, measured(&[103.0, 84.0])),
        ("rpm_free_at_the_left", rpm(&as_is("scale.start = -20\nscale.sweep = 240")), measured(&[100.0, 98.0])),
        ("rpm_round", rpm(&as_is("scale.start = 180\nscale.sweep = 360")), measured(&[100.0, 98.0])),
    ];
    let draw = |(name, face, state)| compare(&format!("scale_{name}"), &shown(face, DiscSize::Xl, state, Theme::Graphite));
    report(faces.map(draw));
}

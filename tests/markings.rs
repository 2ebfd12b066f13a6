//! Markings and scales beyond the plain ones: a reference's triangle, the rotor's two sets of limits, dials turned as on the
//! owner's panel. What stands where is measured on the picture; the angles expected are worked out by hand beside each row.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use jumpseat::draw::{Painter, Theme};
use jumpseat::judge::Drive;
use jumpseat::panel::{ByPower, Dial, DiscSize, Face, Marking, OffScale, Panel, Scale, Side, Tachometer, Ticks};
use jumpseat::panel::{Bar, Strip, StripTrace};
use jumpseat::pixel::{FrameShape, PixelBox};
use jumpseat::readout::{InstrumentState, Notice, PanelState};
use jumpseat::signal::{Reading, State};

use drawing::golden::{compare, report, shown};
use drawing::{airspeed, exhaust, fuel_bar, instrument, oil, reading, speed_tape, tachometer, vertical_speed};

fn measured(values: &[f64]) -> InstrumentState {
    let hands = values.iter().map(|&value| reading(value, State::Measured, 0.0)).collect();
    InstrumentState { hands, ..InstrumentState::default() }
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

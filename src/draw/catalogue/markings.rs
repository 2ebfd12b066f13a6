//! Markings that follow the flight, and scales turned as on a real panel.

use crate::panel::{ByPower, Dial, DiscSize, Face, Marking, Scale, Tachometer, UsualRange};
use crate::readout::{Drive, InstrumentState, Notice, PanelState};
use crate::signal::State;

use super::Page;
use super::pages::reading;
use super::samples::{airspeed, exhaust, tachometer};

/// Power on 95 to 104, power off 90 to 108.
fn two_sets() -> Tachometer {
    let on = tachometer().rotor_markings;
    let off =
        vec![Marking::Normal { from: 92.0, to: 106.0 }, Marking::Limit { at: 90.0 }, Marking::Limit { at: 108.0 }];
    Tachometer { rotor_markings: Vec::new(), rotor_by_power: ByPower { on, off }, ..tachometer() }
}

/// An exhaust temperature on an even scale that starts and turns as given.
fn turned(start: f64, sweep: f64) -> Dial {
    let numerals = [0, 200, 400, 600, 800].map(|v| (f64::from(v), (v / 100).to_string())).to_vec();
    let scale = Scale { breakpoints: vec![(0.0, start), (800.0, start + sweep)], numerals, ..exhaust().scale };
    Dial { scale, ..exhaust() }
}

/// The whole page.
pub(super) fn page() -> Page {
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let measured = |values: &[f64]| InstrumentState {
        hands: values.iter().map(|&value| reading(value, State::Measured, 0.0)).collect(),
        ..InstrumentState::default()
    };
    let driven = |values: [f64; 2], drive| InstrumentState { drive, ..measured(&values) };
    let usual = |ranges: &[(f64, f64)]| -> Vec<UsualRange> {
        ranges.iter().map(|&(from, to)| UsualRange { hand: 0, from, to, condition: None }).collect()
    };
    let target = Dial { markings: [&*airspeed().markings, &[Marking::Reference { at: 62.0 }]].concat(), ..airspeed() };
    let with_usual = |counts: &[bool]| InstrumentState { usual: counts.to_vec(), ..measured(&[58.0]) };
    let (sets, dial) = (|| Face::Tachometer(two_sets()), Face::Dial);
    let upright = Dial { scale: turned(0.0, 218.0).scale.upright(550.0), ..exhaust() };
    let turned = |start, sweep| Face::Dial(turned(start, sweep));
    let shown = [
        (sets(), vec![], driven([100.0, 100.0], Drive::Together), "POWER ON", "solid in force, hollow dim"),
        (sets(), vec![], driven([106.0, 71.0], Drive::RotorAhead), "POWER OFF", "hollow in force: 106 is allowed"),
        (sets(), vec![], driven([100.0, 100.0], Drive::NotJudged), "DRIVE NOT JUDGED", "both sets in full"),
        (dial(target), vec![], measured(&[58.0]), "A REFERENCE", "triangle in ink: no limit"),
        (
            dial(airspeed()),
            usual(&[(55.0, 65.0), (68.0, 76.0)]),
            with_usual(&[true, false]),
            "USUAL NOW",
            "one of two: climb",
        ),
        (
            turned(-120.0, 240.0),
            vec![],
            measured(&[548.0]),
            "AS ON THE PANEL",
            "the real dial\u{2019}s start and sweep",
        ),
        (turned(120.0, -240.0), vec![], measured(&[548.0]), "ANTICLOCKWISE", "a sweep below zero"),
        (dial(upright), vec![], measured(&[548.0]), "UPRIGHT", "550 at twelve"),
        (turned(180.0, 360.0), vec![], measured(&[0.0]), "ENDS MEET, FULL LOW", "the plain value"),
        (turned(180.0, 360.0), vec![], measured(&[800.0]), "ENDS MEET, FULL HIGH", "arrow and value"),
    ];
    for (i, (face, usual, state, title, note)) in shown.into_iter().enumerate() {
        let at = (0.16 + 0.32 * (i % 5) as f64, if i < 5 { 0.22 } else { 0.685 });
        page.add_state(face, DiscSize::Xl, at, state, (title, note));
        if let Some(last) = page.panel.instruments.last_mut() {
            last.usual = usual;
        }
    }
    page
}

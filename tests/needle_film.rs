//! The value of a hand, read from the decoded frames of an encoded film by image analysis. Only the scales' breakpoints are
//! taken from the panel.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a panic is how a test fails")]

mod drawing;

use drawing::film::{Frame, through_h264};
use drawing::needle::{self, Dial, Gray, aside, value_at};
use drawing::{airspeed, altimeter, fuel_bar, gearbox, instrument, oil, reading, tachometer, vertical_speed};
use jumpseat::draw::{Painter, Theme};
use jumpseat::panel::{Bar, DiscSize, Face, Instrument, Panel, Placing, Scale, Side};
use jumpseat::pixel::FrameShape;
use jumpseat::readout::{InstrumentState, Notice, PanelState};
use jumpseat::signal::{Reading, State};
use std::ops::Range;

const SIZE: (u32, u32) = (1920, 1080);
/// A value may be off by this share of its scale (issue 5).
const TOLERANCE: f64 = 0.01;
/// Frames of the film; every hand moves on each of them.
const FRAMES: usize = 18;

fn panel() -> Panel {
    let bar = Bar { width_m: 0.6, ..fuel_bar() };
    Panel {
        instruments: vec![
            instrument("airspeed", Face::Dial(airspeed()), DiscSize::Xl, Side::Left, 0.172, 0.172),
            instrument("rpm", Face::Tachometer(tachometer()), DiscSize::Xl, Side::Right, 0.172, 0.172),
            instrument("altitude", Face::Altimeter(altimeter()), DiscSize::L, Side::Left, 0.141, 0.453),
            instrument("climb", Face::VerticalSpeed(vertical_speed()), DiscSize::L, Side::Right, 0.141, 0.453),
            instrument("oil", Face::Pair(oil()), DiscSize::M, Side::Left, 0.117, 0.703),
            instrument("gearbox", Face::Dial(gearbox()), DiscSize::S, Side::Right, 0.097, 0.703),
            instrument("fuel", Face::Bar(bar), DiscSize::M, Side::Centre, 0.0, 0.2),
        ],
        ..Panel::default()
    }
}

/// A hand of the panel: whose it is, which of its hands, how it is looked for, and the values that it takes in turn.
struct Hand {
    name: &'static str,
    hand: usize,
    radii: (f64, f64),
    half: bool,
    /// While it moves; the other hand of two stands still meanwhile.
    moves: Range<usize>,
    values: Vec<f64>,
}

/// Values all over a range, each far from the two before it: steps of the golden section.
fn spread((from, to): (f64, f64), moves: &Range<usize>) -> Vec<f64> {
    let at = |i: usize| from + (to - from) * (0.12 + 0.618_034 * i.clamp(moves.start, moves.end - 1) as f64).fract();
    (0..FRAMES).map(at).collect()
}

fn hands() -> Vec<Hand> {
    let hand = |name, hand, radii, half, ends| {
        let two = matches!(name, "rpm" | "oil");
        let half_time = FRAMES / 2;
        let moves = if two { hand * half_time..(hand + 1) * half_time } else { 0..FRAMES };
        Hand { name, hand, radii, half, values: spread(ends, &moves), moves }
    };
    let leaf = (0.12, 0.84);
    vec![
        hand("airspeed", 0, leaf, false, (21.0, 109.0)),
        // Each on its own side of the dial, so that the leaf stays open.
        hand("rpm", 0, (0.16, 0.58), true, (101.0, 119.0)),
        hand("rpm", 1, (0.16, 0.58), true, (82.0, 95.0)),
        hand("altitude", 0, (0.55, 0.84), false, (30.0, 9_990.0)),
        // A steep descent stands behind the value's window.
        hand("climb", 0, leaf, false, (-850.0, 1_950.0)),
        hand("oil", 0, (0.62, 0.84), false, (2.0, 98.0)),
        hand("oil", 1, (0.62, 0.84), false, (2.0, 148.0)),
        hand("gearbox", 0, leaf, false, (2.0, 148.0)),
        hand("fuel", 0, leaf, false, (0.5, 19.5)),
    ]
}

fn film(panel: &Panel, hands: &[Hand]) -> Vec<Gray> {
    let mut painter = Painter::new(panel, FrameShape::plain(SIZE.0, SIZE.1), Theme::Graphite).unwrap();
    let states = (0..FRAMES).map(|frame| {
        let shown = panel.instruments.iter().map(|instrument| {
            let own = hands.iter().filter(|hand| hand.name == instrument.name);
            let readings: Vec<Reading> = own.map(|hand| reading(hand.values[frame], State::Measured, 0.0)).collect();
            InstrumentState { hands: readings, ..InstrumentState::default() }
        });
        PanelState { instruments: shown.collect(), notice: Notice::Bare, ..PanelState::default() }
    });
    let patches: Vec<Vec<_>> =
        states.map(|state| painter.draw(&state).iter().map(|drawn| drawn.patch.clone()).collect()).collect();
    let decoded = through_h264(FRAMES, SIZE, |i| {
        let mut frame = Frame::busy(SIZE.0, SIZE.1, i as u32);
        patches[i].iter().for_each(|patch| frame.lay(patch));
        frame
    });
    decoded.iter().map(|frame| Gray::of_frame(frame, SIZE.0)).collect()
}

/// Two other frames in which the hand stands far away, by its values alone.
fn elsewhere(hand: &Hand, scale: &dyn Fn(f64) -> f64, frame: usize) -> [usize; 2] {
    let mut others: Vec<usize> = hand.moves.clone().filter(|&i| i != frame).collect();
    let far = |i: usize| aside(scale(hand.values[i]), scale(hand.values[frame]));
    others.sort_by(|a, b| far(*b).total_cmp(&far(*a)));
    [others[0], others[1]]
}

#[test]
fn hands_on_decoded_frames() {
    let (panel, hands) = (panel(), hands());
    let frames = film(&panel, &hands);
    let mut faults = Vec::new();
    for hand in &hands {
        let instrument = panel.instruments.iter().find(|i| i.name == hand.name).unwrap();
        let mut worst = 0.0f64;
        for i in hand.moves.clone() {
            let value = hand.values[i];
            let off = match &instrument.face {
                Face::Bar(_) => bar_off(hand, &frames, i),
                face => dial_off(instrument, face.scale(hand.hand), hand, &frames, i),
            };
            worst = worst.max(off);
            if off > TOLERANCE {
                faults.push(format!("{} {} at {value:.1}: {:.2} % of scale off", hand.name, hand.hand, 100.0 * off));
            }
        }
        println!("{} {}: at worst {:.2} % of scale", hand.name, hand.hand, 100.0 * worst);
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

fn dial_off(instrument: &Instrument, scale: Option<&Scale>, hand: &Hand, frames: &[Gray], i: usize) -> f64 {
    // A turn of the altimeter's long hand is 1000 ft.
    let angle = |value: f64| scale.map_or(value / 1000.0 * 360.0, |scale| scale.angle(value));
    let others = elsewhere(hand, &angle, i).map(|other| &frames[other]);
    let Placing::At(place) = instrument.place else { panic!("a dial without a place") };
    let (centre, r) = needle::disc(place, (f64::from(SIZE.0), f64::from(SIZE.1)));
    let dial = Dial { with: &frames[i], others, centre, r, dark_hands: false, radii: hand.radii };
    let found = if hand.half { dial.straight_edge() } else { dial.middle() };
    match scale {
        Some(scale) => {
            let (low, high) = scale.ends();
            (value_at(scale, found) - hand.values[i]).abs() / (high - low)
        }
        None => aside(found, angle(hand.values[i])) / 360.0,
    }
}

/// The bar's end against the ends at the least and the greatest value of the film.
fn bar_off(hand: &Hand, frames: &[Gray], i: usize) -> f64 {
    let least = (0..FRAMES).min_by(|a, b| hand.values[*a].total_cmp(&hand.values[*b])).unwrap();
    let most = (0..FRAMES).max_by(|a, b| hand.values[*a].total_cmp(&hand.values[*b])).unwrap();
    // The bar grows within these columns of the plate's left part; its row is where they change most.
    let (left, right) = (SIZE.0 / 2 - 300, SIZE.0 / 2 + 150);
    let more = |a: usize, b: usize, x: u32, y: u32| frames[a].at(x, y) - frames[b].at(x, y) > 0.35;
    let lit = |a: usize, y: u32| (left..right).filter(|&x| more(a, least, x, y)).collect::<Vec<u32>>();
    let row = (800..930).max_by_key(|&y| lit(most, y).len()).unwrap();
    let full = lit(most, row);
    let end = |i: usize| lit(i, row).last().map_or(full[0], |x| x + 1);
    let per_pixel = (hand.values[most] - hand.values[least]) / f64::from(end(most) - full[0]);
    let found = hand.values[least] + per_pixel * f64::from(end(i) - full[0]);
    if i == least { 0.0 } else { (found - hand.values[i]).abs() / 20.0 }
}

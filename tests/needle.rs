//! The value of a hand, read from the drawn picture by image analysis, on random panels: scales, turns, folds, sizes, places
//! and themes. Only the scale's breakpoints are taken from the panel.
//!
//! A fixed seed and a few cases each; `JUMPSEAT_CASES=500` looks at so many.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use drawing::measure;
use drawing::needle::{self, Gray, aside, dark_hands, value_at};
use drawing::{fuel_bar, heading, instrument, oil, reading, speed_tape, tachometer};
use jumpseat::draw::{Painter, Theme};
use jumpseat::panel::{Altimeter, Bar, Datum, Dial, DiscSize, Face, Marking, Panel, Place, Scale, Side, Ticks};
use jumpseat::panel::{Tachometer, VerticalSpeed};
use jumpseat::pixel::{FrameShape, Patch};
use jumpseat::readout::{InstrumentState, Notice, PanelState};
use jumpseat::signal::{Reading, State};
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, RngSeed, TestRng, TestRunner};

/// A value may be off by this share of its scale (issue 5).
const TOLERANCE: f64 = 0.005;
/// Cases of each kind without the variable.
const CASES: u32 = 16;

/// Runs a check over cases from a fixed seed.
fn check<S: Strategy>(strategy: &S, check: impl Fn(S::Value) -> Result<(), TestCaseError>) {
    let cases = std::env::var("JUMPSEAT_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(CASES);
    let config = ProptestConfig {
        cases,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(5),
        max_shrink_iters: 64,
        ..ProptestConfig::default()
    };
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[5; 32]);
    TestRunner::new_with_rng(config, rng).run(strategy, check).unwrap();
}

/// How a hand is looked for: between which radii, and whether it is one
/// half of a leaf, which points with its straight edge.
#[derive(Debug, Clone, Copy)]
struct Look {
    radii: (f64, f64),
    half: bool,
}

const LEAF: Look = Look { radii: (0.12, 0.84), half: false };
const HALF: Look = Look { radii: (0.16, 0.58), half: true };
/// Hands without a foot, beside the values and under the numerals.
const STUB: Look = Look { radii: (0.62, 0.84), half: false };
/// The altimeter's long hand outside its short one, and the short one's head outside the windows.
const LONG: Look = Look { radii: (0.55, 0.84), half: false };
const SHORT: Look = Look { radii: (0.36, 0.57), half: false };

/// Where an instrument stands and what it looks like.
#[derive(Debug, Clone, Copy)]
struct Setting {
    height: u32,
    size: DiscSize,
    theme: Theme,
    from_side: f64,
    from_bottom: f64,
}

fn setting() -> impl Strategy<Value = Setting> {
    let height = prop::sample::select(vec![1080, 1440, 2160]);
    let size = prop::sample::select(vec![DiscSize::Xl, DiscSize::L, DiscSize::M, DiscSize::S]);
    let theme = prop::sample::select(Theme::ALL.to_vec());
    (height, size, theme, 0.17..1.5f64, 0.17..0.7f64).prop_map(|(height, size, theme, from_side, from_bottom)| {
        Setting { height, size, theme, from_side, from_bottom }
    })
}

impl Setting {
    fn shape(self) -> FrameShape {
        FrameShape::plain(self.height * 16 / 9 / 2 * 2, self.height)
    }

    fn place(self) -> Place {
        Place { side: Side::Left, from_side_m: self.from_side, from_bottom_m: self.from_bottom, size: self.size }
    }

    /// The instrument with each of these sets of hands.
    fn draw(self, face: &Face, states: &[Vec<Reading>]) -> Vec<Patch> {
        let it = instrument("it", face.clone(), self.size, Side::Left, self.from_side, self.from_bottom);
        let panel = Panel { instruments: vec![it], ..Panel::default() };
        let mut painter = Painter::new(&panel, self.shape(), self.theme).unwrap();
        let state = |hands: &Vec<Reading>| {
            let shown = InstrumentState { hands: hands.clone(), ..Default::default() };
            PanelState { instruments: vec![shown], notice: Notice::Bare, ..Default::default() }
        };
        states.iter().map(|hands| painter.draw(&state(hands))[0].patch.clone()).collect()
    }

    /// The direction of the hand that stands in the first of three pictures.
    fn direction(self, patches: &[Patch], look: Look) -> f64 {
        let gray: Vec<Gray> = patches.iter().map(Gray::of_patch).collect();
        let size = (f64::from(self.shape().width), f64::from(self.shape().height));
        let (centre, r) = needle::disc(self.place(), size);
        let (with, others, dark_hands) = (&gray[0], [&gray[1], &gray[2]], dark_hands(self.theme));
        let dial = needle::Dial { with, others, centre, r, dark_hands, radii: look.radii };
        if look.half { dial.straight_edge() } else { dial.middle() }
    }
}

fn measured(value: f64) -> Reading {
    reading(value, State::Measured, 0.0)
}

/// A scale with two to four breakpoints, turning either way, and a share of it at which the hand stands.
fn scale() -> impl Strategy<Value = Scale> {
    let turn = (-180.0..180.0f64, 180.0..320.0f64, any::<bool>());
    let ends = (-300.0..300.0f64, 1.0..3.0f64);
    let folds = prop::collection::vec(0.36..0.64f64, 0..3);
    (ends, turn, folds).prop_map(|((low, magnitude), (start, sweep, back), folds)| {
        let (low, span) = (low.round(), 10f64.powf(magnitude).round());
        let sweep = if back { -sweep } else { sweep };
        let parts = folds.len() + 1;
        let point = |i: usize| {
            let even = i as f64 / parts as f64;
            // A fold's value stands a little before or after its share of the turn.
            let moved = if i == 0 || i == parts { even } else { even + (folds[i - 1] - 0.5) / parts as f64 };
            (low + span * moved, start + sweep * even)
        };
        let numerals = (0..=4).map(|i| low + span * f64::from(i) / 4.0).map(|v| (v, format!("{v:.0}")));
        Scale {
            breakpoints: (0..=parts).map(point).collect(),
            ticks: Ticks { long: span / 4.0, middle: span / 8.0, short: span / 40.0 },
            numerals: numerals.collect(),
        }
    })
}

/// A value by its share of the scale, and two others about a third of the turn away from it, within the scale.
fn thirds(scale: &Scale, share: f64) -> [f64; 3] {
    let (low, high) = scale.ends();
    [0.0, 0.33, 0.67].map(|more| low + (high - low) * (share + more).fract())
}

fn near(what: &str, found: f64, value: f64, span: f64) -> Result<(), TestCaseError> {
    let off = (found - value).abs() / span;
    prop_assert!(off <= TOLERANCE, "{what}: read {found:.3}, not {value:.3}: {:.2} % of the scale", 100.0 * off);
    Ok(())
}

#[test]
fn any_dial() {
    check(&(scale(), setting(), 0.01..0.99f64), |(scale, setting, share)| {
        let values = thirds(&scale, share);
        let dial = Dial {
            channel: "c".into(),
            title: vec!["DIAL".into()],
            unit: "u".into(),
            decimals: 0,
            markings: vec![Marking::Normal { from: values[1].min(values[2]), to: values[1].max(values[2]) }],
            scale: scale.clone(),
        };
        let patches = setting.draw(&Face::Dial(dial), &values.map(|v| vec![measured(v)]));
        let found = value_at(&scale, setting.direction(&patches, LEAF));
        let (low, high) = scale.ends();
        near("dial", found, values[0], high - low)
    });
}

/// Both hands, folded and not, alone and while the other one stands somewhere: there a hatched sector lies between them.
#[test]
fn any_tachometer() {
    let strategy = (any::<bool>(), any::<bool>(), prop::option::of(0.1..0.9f64), 0.02..0.98f64, setting());
    check(&strategy, |(folded, of_engine, other, share, setting)| {
        let mut both: Tachometer = tachometer();
        if !folded {
            both.scale.breakpoints = vec![(0.0, -220.0), (110.0, 22.0)];
            both.scale.numerals.retain(|n| n.0 != 90.0 && n.0 < 105.0);
        }
        let scale = both.scale.clone();
        let (low, high) = scale.ends();
        let at = |share: f64| low + (high - low) * share;
        let (mut values, mut others) = (thirds(&scale, share), [Reading::INVALID; 3]);
        if let Some(other) = other {
            // The other hand keeps its side: it must not be what changes.
            let value = at(share);
            let ahead = other < share;
            let room = if ahead { (other, 1.0) } else { (0.0, other) };
            let apart = aside(scale.angle(at(other)), scale.angle(value));
            let step = (room.1 - room.0) / 3.0;
            let moved = [1.0, 2.0].map(|n| room.0 + (share - room.0 + n * step).rem_euclid(room.1 - room.0));
            values = [value, at(moved[0]), at(moved[1])];
            let turns = values.map(|v| scale.angle(v));
            let clear = aside(turns[0], turns[1]).min(aside(turns[0], turns[2])) > 14.0;
            prop_assume!(apart > 25.0 && clear);
            others = [measured(at(other)); 3];
        }
        let state = |i: usize| {
            let (this, other) = (measured(values[i]), others[i]);
            if of_engine { vec![other, this] } else { vec![this, other] }
        };
        let patches = setting.draw(&Face::Tachometer(both), &[state(0), state(1), state(2)]);
        let found = value_at(&scale, setting.direction(&patches, HALF));
        near(if of_engine { "engine" } else { "rotor" }, found, values[0], high - low)
    });
}

///
/// A full or steep descent stands behind the value's window and beside three words: `published_dials` measures it there.
#[test]
fn any_vertical_speed() {
    let units = prop::sample::select(vec![("ft/min", 2000.0), ("ft/min", 1000.0), ("m/s", 10.0)]);
    check(&(units, 0.28..0.99f64, setting()), |((unit, range), share, setting)| {
        let dial = VerticalSpeed::new("climb".into(), unit, range).unwrap();
        let values = thirds(&dial.scale, share);
        let scale = dial.scale.clone();
        let patches = setting.draw(&Face::VerticalSpeed(dial), &values.map(|v| vec![measured(v)]));
        let degrees = setting.direction(&patches, LEAF);
        near("vertical speed", value_at(&scale, degrees), values[0], 2.0 * range)
    });
}

/// The long hand within 5 ft, the short one within 50 ft: half a percent of a turn. The short hand is not looked for where the
/// long one or its tail lies over it or a window hides it (`published_dials` measures it there), nor on the smallest disc.
#[test]
fn any_altitude() {
    check(&(0.0..9_999.0f64, setting()), |(feet, setting)| {
        let face = Face::Altimeter(Altimeter { channel: "altitude".into(), datum: Datum::Indicated(Vec::new()) });
        let draw = |steps: [f64; 2]| {
            let values = [feet, (feet + steps[0]) % 10_000.0, (feet + steps[1]) % 10_000.0];
            setting.draw(&face, &values.map(|v| vec![measured(v)]))
        };
        let long = setting.direction(&draw([350.0, 650.0]), LONG);
        let turn = 1000.0;
        let off = aside(long, feet / turn * 360.0) / 360.0;
        prop_assert!(off <= TOLERANCE, "{feet} ft: the long hand is {:.2} % of a turn off", 100.0 * off);
        let short = feet / 10_000.0 * 360.0;
        let behind_a_window = aside(short, 180.0) < 85.0 || aside(short, 0.0) < 25.0;
        let clear = (28.0..152.0).contains(&aside(short, long)) && !behind_a_window;
        if setting.size != DiscSize::S && clear {
            let found = setting.direction(&draw([3000.0, 7000.0]), SHORT);
            let off = aside(found, short) / 360.0;
            prop_assert!(off <= TOLERANCE, "{feet} ft: the short hand is {:.2} % of a turn off", 100.0 * off);
        }
        Ok(())
    });
}

#[test]
fn any_pair() {
    check(&(any::<bool>(), 0.02..0.98f64, 0.0..1.0f64, setting()), |(right, share, other, setting)| {
        let pair = oil();
        let scale = if right { &pair.right.scale } else { &pair.left.scale }.clone();
        let of_other = if right { &pair.left.scale } else { &pair.right.scale }.ends();
        let other = measured(of_other.0 + (of_other.1 - of_other.0) * other);
        let values = thirds(&scale, share);
        let state = |v: f64| if right { vec![other, measured(v)] } else { vec![measured(v), other] };
        let patches = setting.draw(&Face::Pair(pair), &values.map(state));
        let found = value_at(&scale, setting.direction(&patches, STUB));
        let (low, high) = scale.ends();
        near("pair", found, values[0], high - low)
    });
}

/// Which ten stands where by its letter or numeral, and the rest by the long ticks.
#[test]
fn any_heading() {
    let draw = |shown| measure::draw_hands(Face::Heading(heading()), &[shown]);
    let (upright, without) = (draw(measured(0.0)), draw(Reading { value: None, state: State::Stale, age_s: 9.4 }));
    check(&(0.0..360.0f64), |degrees| {
        let patch = draw(measured(degrees));
        // A long tick stands every thirty degrees: the one nearest to three o'clock.
        let phase = (-degrees).rem_euclid(30.0) + 60.0;
        let tick = measure::middle(&patch, &without, (0.775, 0.795), phase + 1.7);
        let north = (0..12).map(|i| tick + 30.0 * f64::from(i)).find(|at| measure::name_at(&patch, &upright, *at) == 0);
        let found = -north.expect("N is somewhere on the card");
        let off = aside(found, degrees) / 360.0;
        prop_assert!(off <= TOLERANCE, "heading {degrees}: the card says {:.2}", found.rem_euclid(360.0));
        Ok(())
    });
}

/// Rows and columns that an empty and a full bar change say where its track lies.
#[test]
fn any_bar() {
    let strategy = (-50.0..50.0f64, 5.0..500.0f64, 0.3..1.2f64, 0.03..0.97f64, setting());
    check(&strategy, |(low, span, width_m, share, setting)| {
        let (low, span) = (low.round(), span.round());
        let bar = Bar {
            scale: Bar::linear(low, low + span, span / 5.0).unwrap(),
            markings: vec![Marking::Normal { from: low, to: low + span }],
            width_m,
            ..fuel_bar()
        };
        let setting = Setting { from_side: 0.9, size: DiscSize::M, ..setting };
        let value = low + span * share;
        let patches = setting.draw(&Face::Bar(bar), &[low, low + span, value].map(|v| vec![measured(v)]));
        let gray: Vec<Gray> = patches.iter().map(Gray::of_patch).collect();
        let place = patches[0].place;
        // Value and name stand at the right; the bar is where the most columns of a row change.
        let change = |a: &Gray, b: &Gray, x, y| (a.at(x, y) - b.at(x, y)).abs();
        let lit = |y: u32, of: &Gray| -> Vec<u32> {
            let columns = place.x..place.right();
            columns.filter(|&x| change(of, &gray[0], x, y) > 0.35).collect()
        };
        let rows = place.y..place.bottom();
        let row = rows.max_by_key(|&y| lit(y, &gray[1]).chunk_by(|a, b| b - a == 1).map(<[u32]>::len).max()).unwrap();
        let run = |of: &Gray| {
            let columns = lit(row, of);
            let runs: Vec<Vec<u32>> = columns.chunk_by(|a, b| b - a == 1).map(<[u32]>::to_vec).collect();
            runs.into_iter().max_by_key(Vec::len).unwrap()
        };
        let (full, now) = (run(&gray[1]), run(&gray[2]));
        let found = low + span * now.len() as f64 / full.len() as f64;
        near("bar", found, value, span)
    });
}

/// Long ticks against the pointer; which multiple stands at which is written beside it.
#[test]
fn any_vertical_tape() {
    let (span, long) = (60.0, 10.0);
    let at = |modules: f64| (1920.0 + (modules - 0.112 / 2.0) * 2160.0) as u32;
    let of_tape = instrument("tape", Face::Tape(speed_tape()), DiscSize::M, Side::Centre, 0.0, 0.2);
    let panel = Panel { instruments: vec![of_tape], ..Panel::default() };
    let painter =
        std::cell::RefCell::new(Painter::new(&panel, FrameShape::plain(3840, 2160), Theme::Graphite).unwrap());
    check(&(20.0..140.0f64), |value| {
        let shown = drawing::state(&[measured(value)], Notice::Bare);
        let patch = painter.borrow_mut().draw(&shown)[0].patch.clone();
        let gray = Gray::of_patch(&patch);
        // Between numerals and markings: a column that the pointer alone crosses, and one that long ticks cross too.
        let lit = |x: u32| {
            let rows: Vec<u32> =
                (patch.place.y + 100..patch.place.bottom() - 40).filter(|&y| gray.at(x, y) > 0.5).collect();
            let runs = rows.chunk_by(|a, b| b - a == 1);
            runs.map(|run| f64::from(run[0] + run[run.len() - 1] + 1) / 2.0).collect::<Vec<f64>>()
        };
        let pointer = lit(at(0.0345));
        prop_assert_eq!(pointer.len(), 1, "{}: {:?}", value, pointer);
        let ticks: Vec<f64> = lit(at(0.0315)).into_iter().filter(|y| (y - pointer[0]).abs() > 25.0).collect();
        prop_assert!(ticks.len() >= 3, "{value}: {ticks:?}");
        let spacing = long / span * 0.148 * 2160.0;
        let found = ticks.iter().map(|y| (y - pointer[0]) / spacing);
        // Greater values stand higher; whole steps aside.
        let off = found.map(|steps| steps - value / long).map(|off| (off - off.round()).abs());
        let worst = off.fold(0.0, f64::max) * long / span;
        prop_assert!(worst <= TOLERANCE, "{value}: {:.2} % of what is seen", 100.0 * worst);
        Ok(())
    });
}

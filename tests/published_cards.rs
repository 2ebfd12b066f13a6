//! Where a heading card and a compass hand stand, against the rows in `published/dial_positions.csv`, and where the end of a bar and the hands
//! of a pair stand, against their owner's scales; all measured on the drawn picture.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use jumpseat::draw::{Painter, Theme};
use jumpseat::panel::{Bar, DiscSize, Face, Panel, Side};
use jumpseat::pixel::{FrameShape, Patch};
use jumpseat::readout::Notice;
use jumpseat::signal::{Reading, State};

use drawing::measure::{draw_hands, middle, name_at, rows};
use drawing::{fuel_bar, heading, heading_tape, instrument, oil, over, reading, state};

/// A card or a hand may be off by this many degrees on the picture.
const TOLERANCE: f64 = 0.5;
/// Things are looked for about a direction so far off that an empty picture does not look right.
const ASIDE: f64 = 1.7;
const GONE: Reading = Reading { value: None, state: State::Stale, age_s: 9.4 };

fn measured(value: f64) -> Reading {
    reading(value, State::Measured, 0.0)
}

#[test]
fn the_heading_card_stands_where_it_must() {
    let draw = |shown| draw_hands(Face::Heading(heading()), &[shown]);
    let (without, upright) = (draw(GONE), draw(measured(0.0)));
    let rows = rows("heading card");
    assert_eq!(rows.len(), 6);
    for (value, _, expected) in rows {
        let patch = draw(measured(value));
        // The long tick of north; the mark would hide it at twelve, so that of south is measured too.
        let south = middle(&patch, &without, (0.775, 0.795), expected + 180.0 + ASIDE) - 180.0;
        println!("{value}: {south:.3}, {expected}");
        assert!(
            (south - expected).abs() <= TOLERANCE,
            "heading {value}: the card stands at {south:.2}, not {expected}"
        );
        assert_eq!(name_at(&patch, &upright, expected), 0, "heading {value}: N is not where north is");
        assert_eq!(name_at(&patch, &upright, expected + 90.0), 3, "heading {value}: E is not where east is");
    }
}

/// A hand over a fixed card tells the same as that card turned under a fixed mark: it stands as far clockwise as the card would
/// stand anticlockwise. The letters stay at twelve, three, six and nine.
#[test]
fn the_hand_of_a_compass_stands_where_it_must() {
    let draw = |shown| draw_hands(Face::Compass(heading()), &[shown]);
    let (without, upright) = (draw(GONE), draw_hands(Face::Heading(heading()), &[measured(0.0)]));
    let rows = rows("heading card");
    assert_eq!(rows.len(), 6);
    for (value, _, card) in rows {
        let patch = draw(measured(value));
        let expected = -card;
        let found = middle(&patch, &without, (0.740, 0.790), expected + ASIDE);
        println!("{value}: {found:.3}, {expected}");
        assert!(
            (found - expected).abs() <= TOLERANCE,
            "heading {value}: the hand stands at {found:.2}, not {expected}"
        );
    }
    // A hand between two names hides neither.
    let patch = draw(measured(15.0));
    for (degrees, name) in [(0.0, 0), (90.0, 3), (180.0, 6), (270.0, 9)] {
        assert_eq!(name_at(&patch, &upright, degrees), name, "{degrees}");
    }
}

/// A wide plate in the middle of a frame of 3840 x 2160, its middle 0.2 of the height above the foot.
fn plate(face: Face, shown: Reading) -> Patch {
    let panel =
        Panel { instruments: vec![instrument("plate", face, DiscSize::M, Side::Centre, 0.0, 0.2)], ..Panel::default() };
    let mut painter = Painter::new(&panel, FrameShape::plain(3840, 2160), Theme::Graphite).unwrap();
    painter.draw(&state(&[shown], Notice::Bare))[0].patch.clone()
}

/// Columns from `columns` where one of the rows is lit in one picture and not in the other.
fn lit(patch: &Patch, without: Option<&Patch>, rows: std::ops::Range<u32>, columns: std::ops::Range<u32>) -> Vec<u32> {
    let light = |p: &Patch, x, y| over(p, x, y, [0.0; 3])[1];
    let gain = |x, y| light(patch, x, y) - without.map_or(0.0, |w| light(w, x, y));
    columns.filter(|&x| rows.clone().any(|y| gain(x, y) > 0.45)).collect()
}

#[test]
fn the_bar_ends_where_its_value_stands() {
    let bar = Bar { markings: Vec::new(), ..fuel_bar() };
    let draw = |shown| plate(Face::Bar(bar.clone()), shown);
    let empty = draw(GONE);
    // The texts at the right change too: they take the last 0.15 of the height before the plate's end.
    let (left, right) = (empty.place.x, 1920 + (2160.0 * (0.527 / 2.0 - 0.155)) as u32);
    // The plate is 0.074 of the height tall; the track is crossed a little above its foot, the numerals stand under it.
    let top = 2160.0 * 0.8 - 2160.0 * 0.074 / 2.0;
    let (track, numerals) = (top + 0.475 * 2160.0 * 0.074, top + 0.80 * 2160.0 * 0.074);
    let middle_row = track as u32..track as u32 + 1;
    let end = |value: f64| *lit(&draw(measured(value)), Some(&empty), middle_row.clone(), left..right).last().unwrap();
    let foot = lit(&draw(measured(20.0)), Some(&empty), middle_row.clone(), left..right)[0];

    // Groups of lit columns under the track, the numerals, each as the middle of what it covers.
    let text = lit(&empty, None, (numerals - 8.0) as u32..(numerals + 8.0) as u32, foot - 30..end(20.0) + 28);
    let mut groups: Vec<(u32, u32)> = Vec::new();
    for x in text {
        match groups.last_mut() {
            Some(last) if x - last.1 < 30 => last.1 = x,
            _ => groups.push((x, x)),
        }
    }
    let numerals: Vec<f64> = groups.iter().map(|g| f64::from(g.0 + g.1) / 2.0).collect();
    assert_eq!(numerals.len(), 5, "0 5 10 15 20: {groups:?}");
    let length = f64::from(end(20.0) - foot + 1);
    for (value, numeral) in [5.0, 10.0, 15.0, 20.0].into_iter().zip(&numerals[1..]) {
        let end = f64::from(end(value)) + 0.5;
        assert!((end - numeral).abs() < 5.0, "{value}: the bar ends at {end}, its numeral stands at {numeral}");
    }
    for value in [1.0, 2.5, 7.3, 13.4, 19.9] {
        let share = f64::from(end(value) - foot + 1) / length;
        println!("{value}: {share:.4}, {}", value / 20.0);
        // Two pixels of some seven hundred.
        assert!((share - value / 20.0).abs() < 2.0 / length, "{value}: the bar covers {share:.4} of its track");
    }
    assert_eq!(end(22.5), end(20.0), "beyond the scale the bar is full");
}

/// Angles by the scales of [`oil`]: 0, 50, 100 psi at -140, -90, -40; 0, 75, 150 degrees at 140, 90, 40.
#[test]
fn both_hands_of_a_pair_stand_where_they_must() {
    let draw = |p: Reading, t: Reading| draw_hands(Face::Pair(oil()), &[p, t]);
    let pressures = [(0.0, -140.0), (25.0, -115.0), (50.0, -90.0), (75.0, -65.0), (100.0, -40.0), (120.0, -33.0)];
    let temperatures = [(0.0, 140.0), (37.5, 115.0), (75.0, 90.0), (120.0, 60.0), (150.0, 40.0), (170.0, 33.0)];
    for ((p, left), (t, right)) in pressures.into_iter().zip(temperatures) {
        let both = draw(measured(p), measured(t));
        for (value, expected, without) in [(p, left, draw(GONE, measured(t))), (t, right, draw(measured(p), GONE))] {
            let found = middle(&both, &without, (0.250, 0.275), expected + ASIDE);
            println!("{value}: {found:.3}, {expected}");
            assert!((found - expected).abs() <= TOLERANCE, "{value}: the hand stands at {found:.2}, not {expected}");
        }
    }
}

/// What lies ahead is under the mark: the tick of a heading of whole tens stands in the plate's middle, the next ones evenly
/// on both sides.
#[test]
fn the_heading_tape_stands_where_it_must() {
    for value in [0.0, 30.0, 180.0, 350.0, 359.0, 94.0] {
        let (patch, without) =
            (plate(Face::HeadingTape(heading_tape()), measured(value)), plate(Face::HeadingTape(heading_tape()), GONE));
        // A row that long ticks cross and short ones do not reach.
        let row = (2160.0 * 0.8 - 2160.0 * 0.078 / 2.0 + 0.0135 * 2160.0) as u32;
        let columns = lit(&patch, Some(&without), row..row + 1, 1920 - 330..1920 + 330);
        let found: Vec<f64> =
            columns.chunk_by(|a, b| b - a == 1).map(|c| f64::from(c[0] + c[c.len() - 1] + 1) / 2.0).collect();
        // Every ten degrees is 0.044 of the height; the mark hides the one in the middle.
        for x in found.iter().filter(|x| (**x - 1920.0).abs() > 25.0) {
            let tens = ((x - 1920.0) / (0.0044 * 2160.0) + value) / 10.0;
            assert!((tens - tens.round()).abs() < 0.02, "heading {value}: a tick stands at {:.2} degrees", 10.0 * tens);
        }
        assert!(found.len() >= 5, "heading {value}: {found:?}");
    }
}

/// Long ticks stand at multiples of ten, counted from the pointer at the rate of the plate's span: 60 kt over the height of
/// the scale, 0.148 of the picture's.
#[test]
fn the_vertical_tape_stands_where_it_must() {
    let left = 1920 - (2160.0 * 0.112 / 2.0) as u32;
    let column = |modules: f64| left + (modules * 2160.0) as u32;
    let draw = |shown| plate(Face::Tape(drawing::speed_tape()), shown);
    // Lit runs down a column, each as its middle.
    let lit = |patch: &Patch, x: u32| {
        let rows = (patch.place.y + 100..patch.place.bottom() - 40).filter(|&y| over(patch, x, y, [0.0; 3])[1] > 0.5);
        let rows: Vec<u32> = rows.collect();
        rows.chunk_by(|a, b| b - a == 1).map(|c| f64::from(c[0] + c[c.len() - 1] + 1) / 2.0).collect::<Vec<f64>>()
    };
    for value in [58.0, 45.0, 33.3, 104.0, 12.0] {
        let patch = draw(measured(value));
        let pointer = lit(&patch, column(0.0345));
        assert_eq!(pointer.len(), 1, "{value}: the pointer alone stands between ticks and numerals: {pointer:?}");
        let ticks = lit(&patch, column(0.0315));
        let clear: Vec<f64> = ticks.into_iter().filter(|y| (y - pointer[0]).abs() > 25.0).collect();
        assert!(clear.len() >= 3, "{value}: {clear:?}");
        for y in clear {
            let found = value + (pointer[0] - y) * 60.0 / (0.148 * 2160.0);
            println!("{value}: {found:.2}");
            assert!((found / 10.0 - (found / 10.0).round()).abs() < 0.02, "{value}: a long tick stands at {found:.2}");
        }
    }
}

//! Where the hands of altimeter and vertical speed dial stand, measured on the drawn picture, against the positions in
//! `published/dial_positions.csv`; among them the rules of thumb for 210 ft and for +1000 ft/min. The hands' outlines below are their shape; the angles come from pixels alone.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use jumpseat::panel::{Altimeter, Datum, Face};
use jumpseat::pixel::Patch;
use jumpseat::signal::{Reading, State};

use drawing::measure::{R, arc, draw_hands, middle, rows};
use drawing::reading;

/// A hand may be off by this many degrees on the picture.
const TOLERANCE: f64 = 0.5;
/// Hands are looked for about a direction so far off that an empty picture does not look right.
const ASIDE: f64 = 1.7;
/// Half the width of the short hand at a height along it, in radii, and that of the long one with its dark edge.
const SHORT: [(f64, f64); 6] =
    [(0.04, 0.027), (0.13, 0.034), (0.25, 0.052), (0.36, 0.076), (0.42, 0.082), (0.49, 0.071)];
const LONG: [(f64, f64); 3] = [(0.0, 0.050), (0.17, 0.066), (0.50, 0.080)];
/// What lies over the altimeter's hands within the ring of its numerals: value, setting, name, unit; left, right, top, foot.
const OVER_HANDS: [(f64, f64, f64, f64); 4] = [
    (-0.50, 0.50, 0.145, 0.405),
    (-0.46, 0.46, -0.350, -0.168),
    (-0.49, -0.13, -0.08, 0.08),
    (0.16, 0.36, -0.08, 0.08),
];

fn draw(face: Face, shown: Reading) -> Patch {
    draw_hands(face, &[shown])
}

fn measured(value: f64) -> Reading {
    reading(value, State::Measured, 0.0)
}

fn altimeter(feet: f64) -> Patch {
    draw(Face::Altimeter(Altimeter { datum: Datum::Pressure, ..drawing::altimeter() }), measured(feet))
}

fn vertical_speed(shown: Reading) -> Patch {
    draw(Face::VerticalSpeed(drawing::vertical_speed()), shown)
}

/// Half the angle that a hand covers on a ring.
fn half_width(outline: &[(f64, f64)], radius: f64) -> f64 {
    let width = |along: f64| {
        let pair = outline.windows(2).find(|p| along <= p[1].0).unwrap_or(&outline[outline.len() - 2..]);
        let (a, b) = (pair[0], pair[1]);
        a.1 + (b.1 - a.1) * (along - a.0) / (b.0 - a.0)
    };
    // The edge meets the ring a little lower than the ring's own radius.
    let along = (radius.powi(2) - width(radius).powi(2)).sqrt();
    (width(along) / radius).asin().to_degrees()
}

fn apart(a: f64, b: f64) -> f64 {
    ((a - b + 180.0).rem_euclid(360.0) - 180.0).abs()
}

fn hidden(radius: f64, degrees: f64) -> bool {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let (x, y) = (radius * sin, -radius * cos);
    OVER_HANDS.iter().any(|&(left, right, top, foot)| (left..right).contains(&x) && (top..foot).contains(&y))
}

/// The long hand: the picture less the one 500 ft higher, outside the numerals and inside the ticks.
fn long_hand(feet: f64, near: f64) -> f64 {
    middle(&altimeter(feet), &altimeter(feet + 500.0), (0.750, 0.763), near)
}

/// The short hand: the picture less the one 5000 ft higher, where the long hand stands the same. Each edge that neither the
/// long hand nor a window hides says where the middle is. None where no edge is to be seen.
fn short_hand(feet: f64, long: f64, near: f64) -> Option<f64> {
    let (patch, without) = (altimeter(feet), altimeter(feet + 5000.0));
    let (mut found, mut single) = (Vec::new(), Vec::new());
    for ring in (0.155 * R) as u32..(0.49 * R) as u32 {
        let radius = f64::from(ring) / R;
        let half = half_width(&SHORT, radius);
        let profile = arc(&patch, &without, radius, near, half + 5.0);
        // Crossing of half the light of a white hand on the dark disc, from outside inward.
        let lit = |p: &&(f64, f64)| p.1 > 0.48;
        let (first, last) = (profile.iter().find(lit), profile.iter().rev().find(lit));
        let edges = [first.map(|p| (p.0, half)), last.map(|p| (p.0, -half))];
        let clear = |at: f64| {
            let of_long = apart(at, long) < half_width(&LONG, radius) + 2.0;
            let of_its_tail = radius < 0.185 && apart(at, long + 180.0) < 25.0;
            !of_long && !of_its_tail && ![-2.0, 0.0, 2.0].iter().any(|d| hidden(radius, at + d))
        };
        match edges.map(|edge| edge.filter(|(at, _)| clear(*at)).map(|(at, to_middle)| at + to_middle)) {
            [Some(a), Some(b)] => found.push((a + b) / 2.0),
            [Some(a), None] | [None, Some(a)] => single.push(a),
            [None, None] => {}
        }
    }
    // An edge alone needs the outline's width too; both say where the middle is by themselves.
    let found = if found.len() >= 4 { found } else { single };
    (found.len() >= 4).then(|| found.iter().sum::<f64>() / found.len() as f64)
}

#[test]
fn both_hands_of_the_altimeter_stand_where_they_must() {
    let (mut long_rows, mut short_rows, mut faults) = (0, 0, Vec::new());
    let mut long = 0.0;
    for (feet, hand, expected) in rows("altimeter") {
        let near = expected + ASIDE;
        let found = if hand == "long" {
            long_rows += 1;
            long = long_hand(feet, near);
            Some(long)
        } else {
            let found = short_hand(feet, long, near);
            // The long hand lies over the short one, edge to edge.
            assert!(found.is_some() || apart(long, expected) < 5.0, "{feet} ft: the short hand is not to be seen");
            short_rows += usize::from(found.is_some());
            found
        };
        if let Some(found) = found {
            println!("{feet} ft, {hand}: {found:.3}, {expected}");
            if (found - expected).abs() > TOLERANCE {
                faults.push(format!("{feet} ft: the {hand} hand stands at {found:.2}, not {expected}"));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert_eq!((long_rows, short_rows), (15, 13), "rows measured: at 0 and 10 000 ft the hands lie on each other");
}

#[test]
fn the_vertical_speed_hand_stands_where_it_must() {
    let gone = vertical_speed(Reading { value: None, state: State::Stale, age_s: 9.4 });
    let rows = rows("vertical speed 2000");
    assert_eq!(rows.len(), 10);
    for (value, _, expected) in rows {
        let found = middle(&vertical_speed(measured(value)), &gone, (0.15, 0.22), expected + ASIDE);
        println!("{value}: {found:.3}, {expected}");
        assert!((found - expected).abs() <= TOLERANCE, "{value} ft/min: {found:.2}, not {expected}");
    }
}

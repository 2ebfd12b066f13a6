//! Where the horizon and the ball stand, measured on the picture. Common practice, no source: a nose that rises lowers the horizon, a bank
//! to the right turns it anticlockwise, and the ball of a positive value lies right.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use drawing::{instrument, over};
use jumpseat::draw::{Painter, Theme};
use jumpseat::panel::{Attitude, DiscSize, Face, Panel, Side, Slip};
use jumpseat::pixel::{FrameShape, Patch};
use jumpseat::readout::{InstrumentState, PanelState};
use jumpseat::signal::{Reading, State};

/// Middle and radius of an XL dial on a frame of 3840 x 2160.
const CENTRE: (f64, f64) = (0.3 * 2160.0, 0.7 * 2160.0);
const R: f64 = 0.15 * 2160.0;
/// The ring on which it is looked for, and radii a degree of pitch.
const RING: f64 = 0.70;
const DEGREE: f64 = 0.030;

fn draw(face: Face, hands: &[f64]) -> Patch {
    let instruments = vec![instrument("shown", face, DiscSize::Xl, Side::Left, 0.3, 0.3)];
    let panel = Panel { instruments, ..Panel::default() };
    let mut painter = Painter::new(&panel, FrameShape::plain(3840, 2160), Theme::Graphite).unwrap();
    let hands = hands.iter().map(|&v| Reading { value: Some(v), state: State::Measured, age_s: 0.0 }).collect();
    let instruments = vec![InstrumentState { hands, ..Default::default() }];
    painter.draw(&PanelState { instruments, ..Default::default() })[0].patch.clone()
}

#[test]
fn the_horizon_stands_where_it_must() {
    for (pitch, bank) in [(0.0, 0.0), (10.0, 0.0), (-8.0, 0.0), (0.0, 20.0), (0.0, -45.0), (6.0, 12.0), (-5.0, 100.0)] {
        let patch = draw(Face::Attitude(Attitude { pitch: "p".into(), bank: "b".into() }), &[pitch, bank]);
        let is_ground = |degrees: f64| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            let (x, y) = (CENTRE.0 + RING * R * sin, CENTRE.1 - RING * R * cos);
            let [red, _, blue] = over(&patch, x as u32, y as u32, [0.0; 3]);
            red > blue
        };
        // From the nadir of the aircraft outward to both sides, until the sky begins.
        let nadir = 180.0 - bank;
        let reach = |side: f64| (0..3600).map(|i| f64::from(i) * 0.05).find(|a| !is_ground(nadir + side * a)).unwrap();
        let expected = (pitch * DEGREE / RING).acos().to_degrees();
        for side in [-1.0, 1.0] {
            let found = reach(side);
            println!("pitch {pitch}, bank {bank}: {found:.2}, {expected:.2}");
            // The white line is half as wide as this to either side.
            assert!((found - expected).abs() < 2.0, "pitch {pitch}, bank {bank}: {found:.2}, not {expected:.2}");
        }
        assert!((reach(-1.0) - reach(1.0)).abs() < 0.3, "bank {bank}: the horizon leans");
    }
}

/// The middle of the bright ball along its tube, in modules of an XL plate right of the middle.
fn ball(value: f64, range: (f64, f64)) -> f64 {
    let slip = |value| draw(Face::Slip(Slip { channel: "g".into(), range }), &[value]);
    let (patch, place) = (slip(value), slip(value).place);
    let unit = 0.3000 / 0.1890 * 2160.0;
    let rows = (place.y + (0.030 * 2160.0) as u32)..(place.y + place.height / 2 + 4);
    let lit = rows.flat_map(|y| (place.x..place.right()).map(move |x| (x, y)));
    let lit = lit.filter(|&(x, y)| over(&patch, x, y, [0.0; 3])[1] > 0.9).map(|(x, _)| f64::from(x) + 0.5);
    // The wires stand still on both sides of the middle.
    let lit = lit.filter(|x| value == 0.0 || (x - CENTRE.0).abs() > 0.020 * unit);
    let (sum, count) = lit.fold((0.0, 0.0), |(sum, n), x| (sum + x, n + 1.0));
    (sum / count - CENTRE.0) / unit
}

#[test]
fn the_ball_lies_right_for_positive() {
    let usual = (-0.2, 0.2);
    assert!(ball(0.0, usual).abs() < 0.001, "{}", ball(0.0, usual));
    for (value, range, along) in
        [(0.2, usual, 0.062), (-0.2, usual, -0.062), (0.2, (0.2, -0.2), -0.062), (0.9, usual, 0.062)]
    {
        let found = ball(value, range);
        assert!((found - along).abs() < 0.002, "{value} g, {range:?}: {found:.4}, not {along}");
    }
}

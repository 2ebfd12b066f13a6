//! Measuring on a picture of one XL dial on a frame of 3840 x 2160: what stands where, from pixels alone.
#![allow(dead_code, reason = "each test file uses its own part")]
#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

use jumpseat::draw::{Painter, Theme};
use jumpseat::panel::{DiscSize, Face, Panel, Side};
use jumpseat::pixel::{FrameShape, Patch};
use jumpseat::readout::{InstrumentState, Notice, PanelState};
use jumpseat::signal::Reading;

use super::{instrument, over};

/// Middle and radius of an XL dial there.
pub const CENTRE: (f64, f64) = (0.2 * 2160.0, 0.8 * 2160.0);
pub const R: f64 = 0.15 * 2160.0;

/// The dial with all its hands.
pub fn draw_hands(face: Face, hands: &[Reading]) -> Patch {
    draw_state(face, InstrumentState { hands: hands.to_vec(), ..InstrumentState::default() })
}

/// The dial in any state.
pub fn draw_state(face: Face, shown: InstrumentState) -> Patch {
    draw_in(Theme::Graphite, face, shown)
}

/// The dial in any state and theme.
pub fn draw_in(theme: Theme, face: Face, shown: InstrumentState) -> Patch {
    let panel =
        Panel { instruments: vec![instrument("dial", face, DiscSize::Xl, Side::Left, 0.2, 0.2)], ..Panel::default() };
    let mut painter = Painter::new(&panel, FrameShape::plain(3840, 2160), theme).unwrap();
    let state = PanelState { instruments: vec![shown], notice: Notice::Bare, ..PanelState::default() };
    painter.draw(&state)[0].patch.clone()
}

/// The light at a place by its radius and its direction.
pub fn light(patch: &Patch, radius: f64, degrees: f64) -> f64 {
    colour(patch, radius, degrees)[1]
}

/// The colour there, at night.
pub fn colour(patch: &Patch, radius: f64, degrees: f64) -> [f64; 3] {
    colour_over(patch, [0.0; 3], radius, degrees)
}

/// The colour there over a ground.
pub fn colour_over(patch: &Patch, ground: [f64; 3], radius: f64, degrees: f64) -> [f64; 3] {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let (x, y) = (CENTRE.0 + radius * R * sin - 0.5, CENTRE.1 - radius * R * cos - 0.5);
    let (fx, fy) = (x.fract(), y.fract());
    let at = |dx: u32, dy: u32| over(patch, x as u32 + dx, y as u32 + dy, ground);
    let (a, b, c, d) = (at(0, 0), at(1, 0), at(0, 1), at(1, 1));
    [0, 1, 2].map(|i| (a[i] * (1.0 - fx) + b[i] * fx) * (1.0 - fy) + (c[i] * (1.0 - fx) + d[i] * fx) * fy)
}

/// The light that one picture has and the other has not along an arc, twenty steps a degree.
pub fn arc(patch: &Patch, without: &Patch, radius: f64, near: f64, reach: f64) -> Vec<(f64, f64)> {
    let steps = (reach * 20.0) as i32;
    let degrees = (-steps..=steps).map(|i| near + f64::from(i) / 20.0);
    degrees.map(|d| (d, (light(patch, radius, d) - light(without, radius, d)).max(0.0))).collect()
}

/// The middle of what stands between two radii in one picture and not in the other.
pub fn middle(patch: &Patch, without: &Patch, radii: (f64, f64), near: f64) -> f64 {
    let rings = ((radii.1 - radii.0) * R) as u32;
    let (mut moment, mut weight) = (0.0, 0.0);
    for ring in 0..=rings {
        for (degrees, light) in arc(patch, without, radii.0 + f64::from(ring) / R, near, 20.0) {
            let light = if light > 0.3 { light } else { 0.0 };
            moment += degrees * light;
            weight += light;
        }
    }
    assert!(weight > 1.0, "nothing stands near {near}");
    moment / weight
}

/// Rows of one instrument: value, hand, angle.
pub fn rows(instrument: &str) -> Vec<(f64, String, f64)> {
    let text = std::fs::read_to_string("tests/published/dial_positions.csv").unwrap();
    let rows = text.lines().skip(2).map(|line| line.split(',').collect::<Vec<_>>());
    let of_it = rows.filter(|row| row[0] == instrument);
    of_it.map(|row| (row[1].parse().unwrap(), row[2].to_owned(), row[3].parse().unwrap())).collect()
}

/// The brightness of a square about a place on the picture, row by row, in steps of two pixels.
fn square(patch: &Patch, centre: (f64, f64), half: i32) -> Vec<f64> {
    let steps = || (-half..=half).step_by(2);
    let at = |dx: i32, dy: i32| {
        let (x, y) = (centre.0.round() as i32 + dx, centre.1.round() as i32 + dy);
        over(patch, x as u32, y as u32, [0.0; 3])[1]
    };
    steps().flat_map(|dy| steps().map(move |dx| at(dx, dy))).collect()
}

/// The middle of the letters' ring in a direction.
fn on_ring(degrees: f64) -> (f64, f64) {
    let (sin, cos) = degrees.to_radians().sin_cos();
    (CENTRE.0 + 0.615 * R * sin, CENTRE.1 - 0.615 * R * cos)
}

/// Which of the twelve names of an upright card stands in a direction: the one whose picture comes nearest.
pub fn name_at(patch: &Patch, upright: &Patch, degrees: f64) -> usize {
    let sought = square(patch, on_ring(degrees), 34);
    let unlike = |name: usize| {
        let (x, y) = on_ring(30.0 * name as f64);
        let shifts = || (-24..=24).step_by(4);
        let distance = |dx: i32, dy: i32| {
            let found = square(upright, (x + f64::from(dx), y + f64::from(dy)), 34);
            sought.iter().zip(found).map(|(a, b)| (a - b).powi(2)).sum::<f64>()
        };
        shifts().flat_map(|dx| shifts().map(move |dy| distance(dx, dy))).fold(f64::MAX, f64::min)
    };
    (0..12).min_by(|a, b| unlike(*a).total_cmp(&unlike(*b))).unwrap()
}

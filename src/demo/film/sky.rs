//! The sky: light, sun and the clouds of a fair morning.

use super::super::flight::Chance;
use super::texture::{Texture, soften};
use super::world::ROUND;
use crate::draw::{Path, Rect, Rgba, Scene, sheet};
use crate::pixel::PixelBox;

/// Rows of the strip above the horizon, at 1280 pixels' width.
pub(super) const FOOT: f32 = 470.0;
/// Rows below it.
const BELOW: f64 = 30.0;
/// Where the sun stands: degrees, and rows above the horizon.
pub(super) const SUN_DEG: f64 = 122.0;
const SUN_ROWS: f64 = 300.0;
const CLOUDS: u32 = 46;

/// From the horizon up: rows and colour.
const LIGHT: [(f64, [f64; 3]); 5] = [
    (0.0, [222.0, 228.0, 224.0]),
    (45.0, [199.0, 218.0, 228.0]),
    (130.0, [150.0, 191.0, 222.0]),
    (280.0, [98.0, 156.0, 206.0]),
    (470.0, [62.0, 121.0, 182.0]),
];

/// A colour from fractions of 255.
pub(super) fn rgb(c: [f64; 3]) -> Rgba {
    Rgba { rgb: c.map(|v| v.round().clamp(0.0, 255.0) as u8), alpha: 1.0 }
}

/// Between two colours.
pub(super) fn between(a: [f64; 3], b: [f64; 3], part: f64) -> [f64; 3] {
    std::array::from_fn(|i| a[i] + part * (b[i] - a[i]))
}

fn light(rows: f64) -> [f64; 3] {
    let after = LIGHT.partition_point(|stop| stop.0 <= rows).clamp(1, LIGHT.len() - 1);
    let ((r0, c0), (r1, c1)) = (LIGHT[after - 1], LIGHT[after]);
    between(c0, c1, ((rows - r0) / (r1 - r0)).clamp(0.0, 1.0))
}

/// A cloud: round heads over a flat foot, gray below, lit from above.
fn cloud(scene: &mut Scene, chance: &mut Chance, x: f64, foot: f64, size: f64) {
    let heads = 9 + (chance.next() % 9) as u32;
    let puff = |scene: &mut Scene, at: (f64, f64), r: f64, colour: [f64; 3], alpha: f32| {
        let c = rgb(colour);
        let stops = vec![(0.0, c.at(alpha)), (0.55, c.at(alpha * 0.75)), (1.0, c.at(0.0))];
        scene.radial(Path::circle(at, r), at, r, stops);
    };
    let mut places = Vec::new();
    for _ in 0..heads {
        // More heads in the middle than at the ends, so that none floats alone.
        let along = 0.5 * (chance.between(-1.0, 1.0) + chance.between(-1.0, 1.0));
        let r = size * chance.between(0.20, 0.36) * (1.1 - along * along * 0.7);
        places.push((x + along * size, foot - r * chance.between(0.2, 0.75), r));
    }
    for &(px, py, r) in &places {
        puff(scene, (px, py + 0.22 * r), r * 1.15, [176.0, 192.0, 206.0], 0.34);
    }
    for &(px, py, r) in &places {
        puff(scene, (px - 0.08 * r, py - 0.2 * r), r, [252.0, 250.0, 244.0], 0.62);
    }
}

/// Paints the strip; `scale` is its pixels for one of a film 1280 pixels wide.
pub(super) fn paint(scale: f64) -> Texture {
    let foot = f64::from(FOOT);
    let mut scene = Scene::default();
    let band = 1.0;
    for i in 0..((foot + BELOW) / band) as u32 {
        let top = f64::from(i) * band;
        let rect = Rect { left: 0.0, top, right: ROUND, bottom: top + 2.0 * band };
        scene.fill(Path::rounded(rect, 0.0), rgb(light((foot - top).max(0.0))));
    }
    let sun = (ROUND * SUN_DEG / 360.0, foot - SUN_ROWS);
    let glow = |scene: &mut Scene, radius: f64, colour: u32, alpha: f32| {
        let c = Rgba::opaque(colour);
        let stops = vec![(0.0, c.at(alpha)), (0.25, c.at(alpha * 0.6)), (0.6, c.at(alpha * 0.2)), (1.0, c.at(0.0))];
        scene.radial(Path::circle(sun, radius), sun, radius, stops);
    };
    glow(&mut scene, 1500.0, 0xffe9bb, 0.55);
    glow(&mut scene, 420.0, 0xfff4d8, 0.8);
    let mut chance = Chance::new(7);
    // Far clouds first: small, and close over the horizon.
    let mut clouds: Vec<f64> = (0..CLOUDS).map(|_| chance.between(0.0, 1.0).powf(1.4)).collect();
    clouds.sort_by(f64::total_cmp);
    for near in clouds {
        let (rows, size) = (38.0 + 330.0 * near, 26.0 + 150.0 * near * chance.between(0.7, 1.2));
        let x = chance.between(0.0, ROUND);
        let start = scene.items.len();
        cloud(&mut scene, &mut chance, x, foot - rows, size);
        // The strip goes round: what crosses its end is drawn at the other one too.
        if !(400.0..ROUND - 400.0).contains(&x) {
            let shift = if x < 400.0 { ROUND } else { -ROUND };
            repeat(&mut scene, start, shift);
        }
    }
    let disc = Rgba::opaque(0xfffdf2);
    scene.radial(Path::circle(sun, 40.0), sun, 40.0, vec![(0.0, disc), (0.5, disc.at(0.95)), (1.0, disc.at(0.0))]);
    let place =
        PixelBox { x: 0, y: 0, width: (ROUND * scale).round() as u32, height: ((foot + BELOW) * scale).round() as u32 };
    Texture::new(&soften(sheet(&scene.moved(|p| (p.0 * scale, p.1 * scale), scale), place), (1.3 * scale) as f32))
}

/// Adds once more, shifted sideways, what was drawn from item `start` on.
pub(super) fn repeat(scene: &mut Scene, start: usize, shift: f64) {
    let again = Scene { items: scene.items[start..].to_vec() };
    scene.append(again.moved(|p| (p.0 + shift, p.1), 1.0));
}

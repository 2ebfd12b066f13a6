//! Four rings of hills, each nearer, greener and lower than the one behind it.

use super::super::flight::Chance;
use super::sky::{between, rgb};
use super::texture::{Texture, soften};
use super::world::{HAZE, Hills, RINGS, ROUND};
use crate::draw::{Path, Scene, sheet};
use crate::pixel::PixelBox;

/// Columns between two points of a ridge, at 1280 pixels' width.
const STEP: f64 = 4.0;
/// Rows above and below the foot.
const TOP: f64 = 150.0;
const BELOW: f64 = 12.0;

struct Ring {
    distance_m: f32,
    /// Rows: the lowest and the highest points of the ridge, about.
    rows: (f64, f64),
    /// Waves round the horizon of the first octave.
    waves: usize,
    rough: f64,
    colour: [f64; 3],
    fields: u32,
    woods: u32,
    haze: f32,
}

const ALL: [Ring; RINGS] = [
    Ring {
        distance_m: 30_000.0,
        rows: (46.0, 128.0),
        waves: 19,
        rough: 0.55,
        colour: [158.0, 178.0, 196.0],
        fields: 0,
        woods: 0,
        haze: 0.07,
    },
    Ring {
        distance_m: 17_000.0,
        rows: (26.0, 92.0),
        waves: 15,
        rough: 0.5,
        colour: [126.0, 152.0, 166.0],
        fields: 0,
        woods: 0,
        haze: 0.06,
    },
    Ring {
        distance_m: 9000.0,
        rows: (14.0, 60.0),
        waves: 13,
        rough: 0.4,
        colour: [118.0, 146.0, 122.0],
        fields: 320,
        woods: 60,
        haze: 0.055,
    },
    Ring {
        distance_m: 4200.0,
        rows: (5.0, 34.0),
        waves: 11,
        rough: 0.32,
        colour: [117.0, 146.0, 84.0],
        fields: 520,
        woods: 130,
        haze: 0.045,
    },
];

/// Colours of fields on a slope.
const FIELDS: [[f64; 3]; 6] = [
    [214.0, 182.0, 98.0],
    [226.0, 204.0, 138.0],
    [134.0, 165.0, 86.0],
    [104.0, 142.0, 74.0],
    [160.0, 178.0, 104.0],
    [188.0, 164.0, 96.0],
];

/// Smooth chance round a circle: octaves of values at even distances. 0 to 1, about.
fn ridge(chance: &mut Chance, waves: usize, rough: f64) -> Vec<f64> {
    let points = (ROUND / STEP).ceil() as usize;
    let mut sum = vec![0.0; points];
    let (mut count, mut weight, mut all) = (waves, 1.0, 0.0);
    for _ in 0..6 {
        let knots: Vec<f64> = (0..count).map(|_| chance.between(0.0, 1.0)).collect();
        for (i, sum) in sum.iter_mut().enumerate() {
            let at = i as f64 / points as f64 * count as f64;
            let (k, u) = (at as usize % count, at.fract());
            let step = u * u * (3.0 - 2.0 * u);
            *sum += weight * (knots[k] + step * (knots[(k + 1) % count] - knots[k]));
        }
        all += weight;
        count = count * 2 + 1;
        weight *= rough;
    }
    sum.into_iter().map(|v| v / all).collect()
}

/// The outline under a ridge whose height is multiplied and lowered.
fn under(heights: &[f64], times: f64) -> Path {
    let mut points: Vec<_> = heights.iter().enumerate().map(|(i, h)| (i as f64 * STEP, TOP - times * h)).collect();
    points.push((ROUND + 2.0 * STEP, TOP - times * heights[0]));
    points.push((ROUND + 2.0 * STEP, TOP + BELOW));
    points.push((0.0, TOP + BELOW));
    Path::polygon(&points)
}

fn paint_ring(ring: &Ring, chance: &mut Chance, scale: f64) -> Hills {
    let (low, high) = ring.rows;
    let raw = ridge(chance, ring.waves, ring.rough);
    let (least, most) = raw.iter().fold((f64::MAX, f64::MIN), |(l, m), v| (l.min(*v), m.max(*v)));
    let heights: Vec<f64> =
        raw.iter().map(|v| low + (high - low) * ((v - least) / (most - least)).powf(1.25)).collect();
    let height_at = |x: f64| heights[(x / STEP).rem_euclid(heights.len() as f64) as usize % heights.len()];

    let mut scene = Scene::default();
    scene.fill(under(&heights, 1.0), rgb(ring.colour));
    // Spurs run down from the ridge: lit on one side, in shadow on the other.
    let shade = rgb(between(ring.colour, [44.0, 66.0, 92.0], 0.6));
    let lit = rgb(between(ring.colour, [255.0, 238.0, 200.0], 0.55));
    for _ in 0..760 {
        let x = chance.between(0.0, ROUND);
        let up = chance.between(0.35, 1.0);
        let (size, lean) = (high * chance.between(0.10, 0.36), chance.between(-0.5, 0.5));
        let at = |right: f64, down: f64| {
            let x = x + size * (right + lean * down);
            (x, TOP - (up * height_at(x) - 0.8 * size * down).max(0.0))
        };
        let alpha = chance.between(0.05, 0.15) as f32;
        scene.fill(Path::polygon(&[at(0.0, 0.0), at(0.42, 0.55), at(0.5, 1.0), at(0.02, 0.8)]), shade.at(alpha));
        scene.fill(Path::polygon(&[at(0.0, 0.0), at(0.02, 0.8), at(-0.45, 1.0), at(-0.3, 0.45)]), lit.at(alpha * 0.8));
    }
    for _ in 0..ring.fields {
        let x = chance.between(0.0, ROUND);
        let up = chance.between(0.05, 0.72);
        let (wide, tall) = (chance.between(18.0, 74.0), chance.between(1.6, 5.0) * (1.2 - up));
        let y = |x: f64| TOP - up * height_at(x);
        let colour = FIELDS[(chance.next() % FIELDS.len() as u64) as usize];
        let colour = rgb(between(colour, ring.colour, 0.25));
        let lean = chance.between(-6.0, 6.0);
        let field = Path::polygon(&[
            (x, y(x)),
            (x + wide, y(x + wide)),
            (x + wide + lean, y(x + wide) + tall),
            (x + lean, y(x) + tall),
        ]);
        scene.fill(field, colour.at(0.8));
    }
    let wood = rgb(between([52.0, 82.0, 50.0], HAZE, f64::from(ring.haze) * 4.0));
    for _ in 0..ring.woods {
        let x = chance.between(30.0, ROUND - 30.0);
        let up = chance.between(0.05, 1.0);
        for _ in 0..8 + chance.next() % 26 {
            let tree = x + chance.between(-26.0, 26.0);
            let r = chance.between(1.2, 2.8);
            scene.fill(Path::circle((tree, TOP - up * height_at(tree) - 0.3 * r), r), wood.at(0.85));
        }
    }
    // Haze lies in the valleys.
    let haze = rgb(HAZE).at(ring.haze);
    for i in 1..9 {
        scene.fill(under(&heights, 1.0 - 0.12 * f64::from(i)), haze);
    }
    let place =
        PixelBox { x: 0, y: 0, width: (ROUND * scale).round() as u32, height: ((TOP + BELOW) * scale).round() as u32 };
    let soft = soften(sheet(&scene.moved(|p| (p.0 * scale, p.1 * scale), scale), place), (0.8 * scale) as f32);
    Hills { texture: Texture::new(&soft), distance_m: ring.distance_m, top: (TOP * scale) as f32 }
}

/// Paints the rings, the farthest first; `scale` is their pixels for one of a film 1280 pixels wide.
pub(super) fn paint(scale: f64) -> [Hills; RINGS] {
    let mut chance = Chance::new(23);
    ALL.map(|ring| paint_ring(&ring, &mut chance, scale))
}

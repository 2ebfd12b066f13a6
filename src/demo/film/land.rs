//! The floor of the valley from above: fields, hedges, woods, the mere, the river, a village, and the airfield.

use super::super::flight::Chance;
use super::sky::{between, rgb};
use super::texture::{Texture, soften};
use super::world::Ground;
use crate::draw::{Path, Point, Rect, Scene, label, sheet};
use crate::pixel::{Patch, PixelBox};
use image::{GrayImage, Luma};
use imageproc::filter::gaussian_blur_f32;
use imageproc::noise::gaussian_noise_mut;
use std::f64::consts::TAU;

/// Side of the map and of one of its texels.
const SIDE: u32 = 2048;
const TEXEL_M: f64 = 3.0;
/// Fields along a side.
const FIELDS: i64 = 38;
/// Side of the apron's picture, and of one of its texels.
const APRON_SIDE: u32 = 1024;
pub(super) const APRON_M: f64 = 256.0;
/// Sine and cosine of the way in which the flight begins and ends: 330 degrees.
pub(super) const ALONG: (f64, f64) = (-0.5, 0.866_025_403_784_438_6);

type Rgb = [f64; 3];
/// The colours of a harvest morning.
const CROPS: [Rgb; 11] = [
    [216.0, 178.0, 84.0],
    [224.0, 194.0, 108.0],
    [202.0, 164.0, 78.0],
    [228.0, 208.0, 146.0],
    [132.0, 164.0, 76.0],
    [106.0, 146.0, 66.0],
    [148.0, 176.0, 90.0],
    [120.0, 152.0, 78.0],
    [164.0, 132.0, 92.0],
    [176.0, 176.0, 104.0],
    [94.0, 132.0, 66.0],
];
const HEDGE: Rgb = [62.0, 92.0, 48.0];
const WATER: Rgb = [112.0, 152.0, 178.0];
const ROAD: Rgb = [200.0, 190.0, 166.0];
const MOWN: [Rgb; 2] = [[130.0, 164.0, 82.0], [118.0, 152.0, 74.0]];

/// From metres east and north of the start to the map's texels; the start lies in its middle.
fn on_map((east, north): Point) -> Point {
    let middle = f64::from(SIDE) / 2.0;
    (middle + east / TEXEL_M, middle - north / TEXEL_M)
}

/// Metres from the map's corner, in the order of its columns and rows, of a place east and north of the start.
pub(super) const MIDDLE_M: f32 = (SIDE as f64 / 2.0 * TEXEL_M) as f32;

/// Metres along and across the runway as east and north.
fn along((right, up): Point) -> Point {
    (right * ALONG.1 + up * ALONG.0, up * ALONG.1 - right * ALONG.0)
}

fn square(side: u32) -> PixelBox {
    PixelBox { x: 0, y: 0, width: side, height: side }
}

/// A closed round line through points about a middle, their distance by chance.
fn blob(chance: &mut Chance, middle: Point, (wide, tall): (f64, f64), turn: f64) -> Path {
    const POINTS: u32 = 14;
    let (sin, cos) = turn.sin_cos();
    let points: Vec<Point> = (0..POINTS)
        .map(|i| {
            let (s, c) = (TAU * f64::from(i) / f64::from(POINTS)).sin_cos();
            let far = chance.between(0.72, 1.12);
            let (x, y) = (far * wide * c, far * tall * s);
            (middle.0 + x * cos - y * sin, middle.1 + x * sin + y * cos)
        })
        .collect();
    smooth(&points, true)
}

/// A line that bends at points instead of breaking: quadratic curves between the middles of its sides.
fn smooth(points: &[Point], closed: bool) -> Path {
    use crate::draw::Segment;
    let middle = |a: Point, b: Point| ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0);
    let n = points.len();
    let mut path = Path::default();
    if closed {
        path.segments.push(Segment::Move(middle(points[n - 1], points[0])));
        path.segments.extend((0..n).map(|i| Segment::Quad(points[i], middle(points[i], points[(i + 1) % n]))));
        path.segments.push(Segment::Close);
    } else {
        path.segments.push(Segment::Move(points[0]));
        path.segments.extend((1..n - 1).map(|i| Segment::Quad(points[i], middle(points[i], points[i + 1]))));
        path.segments.push(Segment::Line(points[n - 1]));
    }
    path
}

fn trees(scene: &mut Scene, chance: &mut Chance, (x, y): Point, r: f64) {
    let shadow = rgb([38.0, 56.0, 40.0]).at(0.45);
    scene.fill(Path::circle((x - 0.7 * r, y - 0.5 * r), r), shadow);
    let crown = between([56.0, 88.0, 44.0], [88.0, 118.0, 58.0], chance.between(0.0, 1.0));
    scene.fill(Path::circle((x, y), r), rgb(crown));
    scene.fill(Path::circle((x + 0.3 * r, y + 0.2 * r), 0.5 * r), rgb(between(crown, [190.0, 200.0, 120.0], 0.3)));
}

fn fields(scene: &mut Scene, chance: &mut Chance) {
    let cell = f64::from(SIDE) / FIELDS as f64;
    let count = (FIELDS * FIELDS) as usize;
    let shifts: Vec<Point> =
        (0..count).map(|_| (chance.between(-0.34, 0.34) * cell, chance.between(-0.34, 0.34) * cell)).collect();
    let index = |i: i64, j: i64| (j.rem_euclid(FIELDS) * FIELDS + i.rem_euclid(FIELDS)) as usize;
    let corner = |i: i64, j: i64| {
        let shift = shifts[index(i, j)];
        (i as f64 * cell + shift.0, j as f64 * cell + shift.1)
    };
    let crops: Vec<(Rgb, f64, bool)> = (0..count)
        .map(|_| {
            let crop = CROPS[(chance.next() % CROPS.len() as u64) as usize];
            let lighter = chance.between(-0.09, 0.09);
            let toned = between(crop, if lighter > 0.0 { [255.0; 3] } else { [0.0; 3] }, lighter.abs());
            (toned, chance.between(0.0, 1.0), chance.next().is_multiple_of(3))
        })
        .collect();
    // One more on every side, since the map goes round.
    for j in -1..FIELDS {
        for i in -1..FIELDS {
            let [a, b, c, d] = [corner(i, j), corner(i + 1, j), corner(i + 1, j + 1), corner(i, j + 1)];
            let (crop, drill, across) = crops[index(i, j)];
            scene.fill(Path::polygon(&[a, b, c, d]), rgb(crop));
            // Drill lines and tramlines.
            let (from, to) = if across { ((a, d), (b, c)) } else { ((a, b), (d, c)) };
            let lines = 5 + (drill * 9.0) as u32;
            for k in 1..lines {
                let part = f64::from(k) / f64::from(lines);
                let mix = |p: Point, q: Point| (p.0 + part * (q.0 - p.0), p.1 + part * (q.1 - p.1));
                let line = Path::polyline(&[mix(from.0, from.1), mix(to.0, to.1)]);
                let tone = if k % 2 == 0 { [255.0, 240.0, 200.0] } else { [70.0, 70.0, 40.0] };
                scene.stroke(line, 1.6, rgb(tone).at(0.10));
            }
        }
    }
    let hedge = rgb(HEDGE);
    for j in -1..=FIELDS {
        for i in -1..=FIELDS {
            let kind = (index(i, j) * 7919) % 100;
            let here = corner(i, j);
            if kind < 78 {
                scene.stroke(Path::polyline(&[here, corner(i + 1, j)]), 1.9, hedge.at(0.85));
            }
            if kind > 20 {
                scene.stroke(Path::polyline(&[here, corner(i, j + 1)]), 1.9, hedge.at(0.85));
            }
        }
    }
}

/// The map of the valley; the flight ends at `end`, metres east and north of the start.
pub(super) fn map(end: Point) -> Ground {
    let mut chance = Chance::new(41);
    let mut scene = Scene::default();
    scene.fill(
        Path::rounded(Rect { left: 0.0, top: 0.0, right: f64::from(SIDE), bottom: f64::from(SIDE) }, 0.0),
        rgb(CROPS[4]),
    );
    fields(&mut scene, &mut chance);
    for _ in 0..70 {
        let at = (chance.between(40.0, 2008.0), chance.between(40.0, 2008.0));
        let (wide, tall) = (chance.between(6.0, 34.0), chance.between(6.0, 22.0));
        for _ in 0..(wide * tall / 7.0) as u32 {
            let (angle, far) = (chance.between(0.0, TAU), chance.between(0.0, 1.0).sqrt());
            let r = chance.between(1.6, 3.2);
            trees(&mut scene, &mut chance, (at.0 + far * wide * angle.cos(), at.1 + far * tall * angle.sin()), r);
        }
    }
    for _ in 0..1500 {
        let at = (chance.between(4.0, 2044.0), chance.between(4.0, 2044.0));
        let r = chance.between(1.1, 2.2);
        trees(&mut scene, &mut chance, at, r);
    }
    water(&mut scene, &mut chance);
    roads_and_village(&mut scene, &mut chance);
    for place in [(0.0, 0.0), end] {
        airfield(&mut scene, place);
    }
    let soft = soften(sheet(&scene, square(SIDE)), 0.6);
    Ground::new(Texture::new(&soft), TEXEL_M as f32)
}

fn water(scene: &mut Scene, chance: &mut Chance) {
    let river: Vec<Point> = [
        (-2900.0, -2600.0),
        (-2000.0, -1500.0),
        (-1500.0, -500.0),
        (-1050.0, 500.0),
        (-850.0, 1500.0),
        (-300.0, 2400.0),
        (400.0, 3000.0),
    ]
    .map(on_map)
    .to_vec();
    scene.stroke(smooth(&river, false), 9.0, rgb(HEDGE).at(0.7));
    scene.stroke(smooth(&river, false), 5.5, rgb(WATER));
    let mere = on_map((-700.0, 1350.0));
    let shore = blob(chance, mere, (190.0, 112.0), 0.5);
    scene.stroke(shore.clone(), 9.0, rgb([96.0, 126.0, 70.0]));
    scene.stroke(shore.clone(), 4.0, rgb([206.0, 194.0, 150.0]));
    scene.fill(shore.clone(), rgb(WATER));
    for part in [0.8, 0.6, 0.4] {
        let inner = shore.map(|p| (mere.0 + part * (p.0 - mere.0), mere.1 + part * (p.1 - mere.1)));
        scene.fill(inner, rgb([96.0, 140.0, 172.0]).at(0.4));
    }
    let isle = on_map((-620.0, 1420.0));
    scene.fill(Path::circle(isle, 11.0), rgb([112.0, 140.0, 70.0]));
    for _ in 0..12 {
        let at = (isle.0 + chance.between(-8.0, 8.0), isle.1 + chance.between(-8.0, 8.0));
        trees(scene, chance, at, 2.6);
    }
}

fn roads_and_village(scene: &mut Scene, chance: &mut Chance) {
    let road = |scene: &mut Scene, points: &[Point]| {
        let line = smooth(&points.iter().map(|&p| on_map(p)).collect::<Vec<_>>(), false);
        scene.stroke(line.clone(), 4.2, rgb([96.0, 118.0, 62.0]));
        scene.stroke(line, 2.4, rgb(ROAD));
    };
    road(
        scene,
        &[(-3000.0, 300.0), (-1400.0, 200.0), (-500.0, 500.0), (300.0, 800.0), (1300.0, 700.0), (3000.0, 1100.0)],
    );
    road(
        scene,
        &[(250.0, -3000.0), (420.0, -1200.0), (330.0, -100.0), (300.0, 800.0), (700.0, 1900.0), (500.0, 3000.0)],
    );
    road(scene, &[(-2600.0, -3000.0), (-900.0, -1300.0), (420.0, -1200.0), (2000.0, -1700.0), (3000.0, -1500.0)]);
    for (middle, houses) in
        [((300.0, 800.0), 70), ((420.0, -1200.0), 34), ((-1450.0, 200.0), 30), ((1250.0, 720.0), 24)]
    {
        for _ in 0..houses {
            let (angle, far) = (chance.between(0.0, TAU), chance.between(0.1, 1.0) * 190.0);
            let (x, y) = on_map((middle.0 + far * angle.cos(), middle.1 + 0.6 * far * angle.sin()));
            let (wide, deep) = (chance.between(3.2, 6.0), chance.between(2.4, 3.6));
            let shadow = Rect::centred((x - 1.0, y - 0.8), wide, deep);
            scene.fill(Path::rounded(shadow, 0.0), rgb([50.0, 56.0, 44.0]).at(0.5));
            let roof = between([168.0, 92.0, 66.0], [128.0, 112.0, 104.0], chance.between(0.0, 0.8));
            scene.fill(Path::rounded(Rect::centred((x, y), wide, deep), 0.0), rgb(roof));
            let ridge = Rect { left: x - wide / 2.0, top: y - deep / 2.0, right: x + wide / 2.0, bottom: y };
            scene.fill(Path::rounded(ridge, 0.0), rgb(between(roof, [230.0, 190.0, 150.0], 0.25)));
        }
    }
}

/// Mown grass about a place where the machine stands, in stripes along the runway.
fn airfield(scene: &mut Scene, place: Point) {
    let at = |right: f64, up: f64| {
        let (e, n) = along((right, up));
        on_map((place.0 + e, place.1 + n))
    };
    for i in -8_i32..8 {
        let (left, right) = (f64::from(i) * 18.0, f64::from(i + 1) * 18.0 + 1.0);
        let stripe = Path::polygon(&[at(left, -170.0), at(right, -170.0), at(right, 330.0), at(left, 330.0)]);
        scene.fill(stripe, rgb(MOWN[i.rem_euclid(2) as usize]));
    }
}

/// The apron: concrete in slabs, a taxi line, stands with an H, and the grass about it. Upward is along the runway.
pub(super) fn apron() -> Ground {
    let scale = f64::from(APRON_SIDE) / APRON_M;
    let at = |right: f64, up: f64| ((right + APRON_M / 2.0) * scale, (APRON_M / 2.0 - up) * scale);
    let rect = |left: f64, bottom: f64, right: f64, top: f64| {
        Path::polygon(&[at(left, bottom), at(right, bottom), at(right, top), at(left, top)])
    };
    let mut scene = Scene::default();
    for i in -8_i32..8 {
        let left = f64::from(i) * 18.0;
        scene.fill(rect(left, -130.0, left + 18.2, 130.0), rgb(MOWN[i.rem_euclid(2) as usize]));
    }
    let mut chance = Chance::new(5);
    let concrete = [186.0, 184.0, 174.0];
    for (left, bottom, right, top) in [(-44.0, -30.0, 44.0, 62.0), (-4.5, 62.0, 4.5, 130.0)] {
        scene.fill(rect(left - 0.6, bottom - 0.6, right + 0.6, top + 0.6), rgb([120.0, 124.0, 92.0]));
        let (columns, rows) = ((right - left) / 5.5, (top - bottom) / 5.5);
        for row in 0..rows.round() as u32 {
            for column in 0..columns.round().max(1.0) as u32 {
                let (wide, tall) = ((right - left) / columns.round().max(1.0), (top - bottom) / rows.round());
                let (x, y) = (left + f64::from(column) * wide, bottom + f64::from(row) * tall);
                let tone = chance.between(-0.06, 0.05);
                let slab = between(concrete, if tone > 0.0 { [255.0; 3] } else { [60.0; 3] }, tone.abs() * 1.6);
                scene.fill(rect(x + 0.07, y + 0.07, x + wide - 0.07, y + tall - 0.07), rgb(slab));
            }
        }
    }
    let yellow = rgb([226.0, 182.0, 52.0]).at(0.9);
    scene.stroke(Path::polyline(&[at(0.0, -28.0), at(0.0, 128.0)]), 0.32 * scale, yellow);
    scene.stroke(Path::polyline(&[at(-38.0, 34.0), at(38.0, 34.0)]), 0.32 * scale, yellow);
    let white = rgb([236.0, 236.0, 230.0]).at(0.92);
    for (x, y) in [(0.0, 0.0), (-27.0, 34.0), (27.0, 34.0)] {
        scene.stroke(Path::circle(at(x, y), 7.5 * scale), 0.6 * scale, white);
        label(&mut scene, "H", at(x, y), 7.0 * scale, white);
    }
    for _ in 0..26 {
        let (x, y) = at(chance.between(-42.0, 42.0), chance.between(-28.0, 60.0));
        let r = chance.between(4.0, 16.0);
        scene.radial(
            Path::circle((x, y), r),
            (x, y),
            r,
            vec![(0.0, rgb([70.0, 68.0, 64.0]).at(0.16)), (1.0, rgb([70.0; 3]).at(0.0))],
        );
    }
    let soft = soften(sheet(&scene, square(APRON_SIDE)), 0.7);
    Ground::new(Texture::new(&soft), (APRON_M / f64::from(APRON_SIDE)) as f32)
}

/// Unevenness of grass: brightness about 128, in no unit.
pub(super) fn grass() -> Texture {
    let mut gray = GrayImage::from_pixel(256, 256, Luma([128]));
    gaussian_noise_mut(&mut gray, 0.0, 44.0, 3);
    let soft = gaussian_blur_f32(&gray, 1.1);
    let rgba = soft.into_raw().into_iter().flat_map(|v| [v, v, v, 255]).collect();
    Texture::new(&Patch { place: square(256), rgba })
}

//! The hand: one leaf, drawn so that it shows how far to trust it. Solid, pierced, planked, hollow.
//!
//! Outlines are halves in fractions of the dial's radius: x across, y along the hand; the other side mirrors x.

use std::sync::Arc;

use super::blade::{Blade, Stand};
use super::path::{Path, Point, polar};
use super::raster::casing;
use super::scene::Scene;
use super::theme::Palette;

/// Where ticks end and hands reach, as a fraction of the radius.
pub(super) const REACH: f64 = 0.885;

/// The belly lies inside the ring of numerals, so that a slim tip crosses them.
const LEAF: [Point; 17] = [
    (0.0, -0.150),
    (0.018, -0.142),
    (0.026, -0.115),
    (0.021, -0.055),
    (0.020, 0.0),
    (0.026, 0.08),
    (0.036, 0.17),
    (0.045, 0.26),
    (0.049, 0.34),
    (0.048, 0.41),
    (0.042, 0.49),
    (0.034, 0.57),
    (0.026, 0.65),
    (0.019, 0.73),
    (0.012, 0.81),
    (0.006, 0.865),
    (0.0, REACH),
];

/// The altimeter's hand of thousands: a spade, so that it is never taken for the other one.
const SHORT: [Point; 13] = [
    (0.0, -0.130),
    (0.030, -0.120),
    (0.037, -0.090),
    (0.029, -0.030),
    (0.027, 0.04),
    (0.034, 0.13),
    (0.052, 0.25),
    (0.076, 0.36),
    (0.082, 0.42),
    (0.071, 0.49),
    (0.046, 0.55),
    (0.019, 0.60),
    (0.0, 0.620),
];

/// The hole of a derived hand.
pub(super) const EYE: [Point; 7] =
    [(0.0, 0.19), (0.016, 0.24), (0.023, 0.30), (0.025, 0.35), (0.022, 0.41), (0.014, 0.47), (0.0, 0.52)];

/// A hand without a middle, for a dial that has two.
const STUB: [Point; 12] = [
    (0.0, 0.235),
    (0.014, 0.236),
    (0.026, 0.29),
    (0.040, 0.36),
    (0.051, 0.43),
    (0.055, 0.50),
    (0.051, 0.57),
    (0.041, 0.65),
    (0.029, 0.73),
    (0.016, 0.81),
    (0.006, 0.866),
    (0.0, REACH),
];
const STUB_EYE: [Point; 7] =
    [(0.0, 0.36), (0.016, 0.41), (0.023, 0.46), (0.025, 0.51), (0.022, 0.56), (0.014, 0.61), (0.0, 0.65)];

/// From this radius in pixels on, the outlines' corners would show and are rounded.
const SMOOTH_FROM_PX: f64 = 250.0;

/// How a hand shows its data state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum HandStyle {
    /// Measured.
    Solid,
    /// Derived: with an eye.
    Pierced,
    /// Held: a ladder of planks.
    Planked,
    /// Stale: hollow, dashed.
    Dashed,
    /// Saturated: hollow, unbroken.
    Hollow,
}

/// A dial's middle, radius in pixels and optical weight.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pivot {
    pub centre: Point,
    pub r: f64,
    pub k: f64,
}

/// The hand's outlines about the pivot, pointing at twelve, worked out once.
#[derive(Debug, Clone)]
pub(super) struct Hand {
    pivot: Pivot,
    leaf: Arc<Blade>,
    casing: Arc<Blade>,
    eye: Arc<Blade>,
    planks: Path,
}

/// What a hand looks like: half outlines of itself and of its eye, and where its planks start.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shape<'a> {
    pub outline: &'a [Point],
    pub eye: &'a [Point],
    pub planks_from: f64,
    /// Whether the outline's corners are as close as they need be on any size: rounding would carry those beside a long straight
    /// piece into it.
    pub is_fine: bool,
}

impl Hand {
    pub fn new(pivot: Pivot) -> Self {
        Self::shaped(pivot, Shape { outline: &LEAF, eye: &EYE, planks_from: -0.110, is_fine: false })
    }

    /// The short hand of two. It is broad enough on every size.
    pub fn short(pivot: Pivot) -> Self {
        Self::shaped(
            Pivot { k: 1.0, ..pivot },
            Shape { outline: &SHORT, eye: &EYE, planks_from: -0.110, is_fine: false },
        )
    }

    /// One of two hands that leave the middle of the dial to its name.
    pub fn stub(pivot: Pivot) -> Self {
        Self::shaped(pivot, Shape { outline: &STUB, eye: &STUB_EYE, planks_from: 0.250, is_fine: false })
    }

    /// A hand of any shape: a fixed mark, or the end of a bar.
    pub fn shaped(pivot: Pivot, shape: Shape<'_>) -> Self {
        let half = if shape.is_fine { shape.outline.to_vec() } else { pivot.half(shape.outline) };
        let leaf = pivot.outline(&half);
        let planks = pivot.planks(&half, shape.planks_from);
        let eye = pivot.outline(&pivot.half(shape.eye));
        Self {
            pivot,
            casing: Blade::new(casing(&leaf, 0.060 * pivot.r)),
            eye: Blade::new(eye),
            planks,
            leaf: Blade::new(leaf),
        }
    }

    /// The same hand with so many pixels taken out of its straight middle, which lies beyond `cut` pixels from the pivot. Its planks
    /// are those of the whole.
    pub fn shortened(&self, cut: f64, by: f64) -> Self {
        let shift = |blade: &Blade| Blade::new(blade.upright().map(|(x, y)| (x, if y < -cut { y + by } else { y })));
        let Self { pivot, leaf, casing, eye, planks } = self;
        Self { pivot: *pivot, leaf: shift(leaf), casing: shift(casing), eye: shift(eye), planks: planks.clone() }
    }

    /// The same hand with the planks of another half outline that is fine, from a height on.
    pub fn planked(self, outline: &[Point], from: f64) -> Self {
        Self { planks: self.pivot.planks(outline, from), ..self }
    }

    /// Its blades.
    #[cfg(test)]
    pub fn blades(&self) -> [Arc<Blade>; 3] {
        [&self.leaf, &self.casing, &self.eye].map(Arc::clone)
    }

    /// The hand at an angle in degrees clockwise from twelve.
    pub fn draw(&self, style: HandStyle, degrees: f64, palette: &Palette) -> Scene {
        let stand = Stand { centre: self.pivot.centre, degrees, mirrored: false };
        let leaf = || self.leaf.outline(stand);
        let Pivot { r, k, .. } = self.pivot;
        let casing = palette.casing;
        let mut scene = Scene::default();
        match style {
            HandStyle::Solid | HandStyle::Pierced | HandStyle::Planked => {
                scene.hand(&self.casing, stand, casing.at(0.60));
            }
            HandStyle::Dashed | HandStyle::Hollow => scene.stroke(leaf(), 0.052 * r, casing.at(0.75)),
        }
        match style {
            HandStyle::Solid => scene.hand(&self.leaf, stand, palette.ink),
            HandStyle::Pierced => {
                scene.hand(&self.leaf, stand, palette.ink);
                scene.hand(&self.eye, stand, casing.at(0.92));
            }
            HandStyle::Planked => {
                scene.hand(&self.leaf, stand, casing.at(0.60));
                scene.fill(self.planks.map(stand.at()), palette.ink);
                scene.stroke(leaf(), 0.012 * r, palette.ink);
            }
            HandStyle::Dashed => {
                scene.dashed(leaf(), 0.018 * k * r, palette.ink, (0.055 * r, 0.035 * r));
            }
            HandStyle::Hollow => scene.stroke(leaf(), 0.020 * k * r, palette.ink),
        }
        scene
    }
}

impl Pivot {
    /// A place given in radii from the middle, x to the right, y down.
    pub fn at(self, (x, y): Point) -> Point {
        (self.centre.0 + x * self.r, self.centre.1 + y * self.r)
    }

    /// One side of an outline, thickened, and rounded where its corners would show.
    pub fn half(self, points: &[Point]) -> Vec<Point> {
        let thick: Vec<Point> = points.iter().map(|p| (p.0 * self.k, p.1)).collect();
        if self.r > SMOOTH_FROM_PX { rounded(&thick) } else { thick }
    }

    /// Both sides in pixels about the pivot, pointing at twelve.
    fn outline(self, half: &[Point]) -> Path {
        let left = half.iter().rev().filter(|p| p.0 > 0.0).map(|p| (-p.0, p.1));
        let points: Vec<Point> = half.iter().copied().chain(left).map(|(x, y)| (x * self.r, -y * self.r)).collect();
        Path::polygon(&points)
    }

    /// Slices of half an outline from a height on.
    fn planks(self, half: &[Point], from: f64) -> Path {
        let tip = half.last().map_or(REACH, |p| p.1);
        let mut planks = Path::default();
        let mut foot = from;
        while foot < tip - 0.06 {
            planks.append(self.outline(&slice(half, foot, foot + 0.045)));
            foot += 0.085;
        }
        planks
    }

    /// The cap over the pivot.
    pub fn hub(self, palette: &Palette) -> Scene {
        let mut scene = Scene::default();
        let circle = Path::circle(self.centre, 0.068 * self.k.min(1.15) * self.r);
        scene.fill(circle.clone(), palette.casing.at(0.98));
        scene.stroke(circle, 0.022 * self.k * self.r, palette.ink);
        scene
    }

    /// The bar on which the hand of a saturated sensor leans.
    pub fn stop(self, degrees: f64, palette: &Palette) -> Scene {
        let mut scene = Scene::default();
        let ends = [0.70, 0.985].map(|at| polar(self.centre, at * self.r, degrees));
        scene.stroke(Path::polyline(&ends), 0.085 * self.r, palette.casing.at(1.0));
        scene.stroke(Path::polyline(&ends), 0.045 * self.r, palette.ink);
        scene
    }

    /// The cross over a face that has nothing to show.
    pub fn cross(self, palette: &Palette) -> Scene {
        let mut scene = Scene::default();
        for (width, colour) in [(0.075, palette.casing.at(0.80)), (0.030, palette.ink)] {
            for degrees in [45.0, 135.0] {
                let end = |side: f64| polar(self.centre, side * 0.90 * self.r, degrees);
                scene.stroke(Path::polyline(&[end(-1.0), end(1.0)]), width * self.r, colour);
            }
        }
        scene
    }
}

/// The part of a half outline between two heights; heights rise along the outline.
pub(super) fn slice(half: &[Point], foot: f64, head: f64) -> Vec<Point> {
    let at = |y: f64| {
        let i = half.partition_point(|p| p.1 <= y).clamp(1, half.len() - 1);
        let (a, b) = (half[i - 1], half[i]);
        (a.0 + (b.0 - a.0) * (y - a.1) / (b.1 - a.1), y)
    };
    let between = half.iter().copied().filter(|p| p.1 > foot && p.1 < head);
    let mut points = vec![(0.0, foot), at(foot)];
    points.extend(between);
    points.extend([at(head), (0.0, head)]);
    points
}

/// A half outline with three more points on each piece, along a Catmull-Rom curve; the ends meet their mirror images.
fn rounded(half: &[Point]) -> Vec<Point> {
    let mirror = |p: Point| (-p.0, p.1);
    let mut fine = Vec::with_capacity(4 * half.len());
    let mut highest = f64::MIN;
    for i in 1..half.len() {
        let (b, c) = (half[i - 1], half[i]);
        let a = if i == 1 { mirror(half[1]) } else { half[i - 2] };
        let d = half.get(i + 1).copied().unwrap_or_else(|| mirror(half[i - 1]));
        for step in 0..4 {
            let t = f64::from(step) / 4.0;
            let along = |a: f64, b: f64, c: f64, d: f64| {
                b + 0.5 * t * ((c - a) + t * ((2.0 * a - 5.0 * b + 4.0 * c - d) + t * (3.0 * (b - c) + d - a)))
            };
            // The round foot would dip a hair below its first point; slicing, and blades, need rising heights.
            highest = along(a.1, b.1, c.1, d.1).max(highest);
            fine.push((along(a.0, b.0, c.0, d.0).max(0.0), highest));
        }
    }
    fine.extend(half.last());
    fine
}

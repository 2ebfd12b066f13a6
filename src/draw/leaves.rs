//! Two half leaves that make one: the rotor's and the engine's hand, and what lies between them.
//!
//! Joined they are one whole leaf; apart they are open scissors, seen without colour and by the same angle whichever leads.

use std::sync::Arc;

use super::blade::{Blade, Stand};
use super::hands::{EYE, HandStyle, Pivot, slice};
use super::path::{Path, Point, polar};
use super::raster::casing;
use super::scene::Scene;
use super::sector::Sector;
use super::text::{Run, Weight};
use super::theme::{Palette, Rgba};

/// One side of the leaf, in radii. Its straight edge, x = 0, is the edge that points.
const HALF: [Point; 17] = [
    (0.0, -0.130),
    (0.026, -0.122),
    (0.038, -0.090),
    (0.034, -0.040),
    (0.034, 0.02),
    (0.042, 0.10),
    (0.054, 0.19),
    (0.064, 0.28),
    (0.069, 0.36),
    (0.068, 0.43),
    (0.060, 0.51),
    (0.049, 0.59),
    (0.037, 0.67),
    (0.026, 0.75),
    (0.015, 0.82),
    (0.006, 0.868),
    (0.0, LENGTH),
];
/// Height of that outline's tip.
const LENGTH: f64 = 0.885;
/// Above this height the outline is stretched to reach the tip's own lane.
const BELLY: f64 = 0.41;
/// Middle and narrowing of a derived half's eye, which lies beside the edge.
const EYE_PLACE: (f64, f64) = (0.034, 0.70);
/// Outer end of the seam between two joined halves, and of the sector between two that are apart.
const SEAM: f64 = 0.85;
const SECTOR: f64 = 0.84;
/// Its hatches: radius of the innermost, from one to the next, how many, and their width.
const HATCHES: (f64, f64, u16) = (0.16, 0.085, 9);
const HATCH: f64 = 0.013;
/// Where the letters R and E stand, their em, and how far beside their hands: a little more in a small gap.
const LETTER: (f64, f64) = (0.28, 0.150);
const BESIDE: (f64, f64) = (30.0, 36.0);
const SMALL_GAP: f64 = 14.0;

/// One of the two hands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Leaf {
    pub style: HandStyle,
    /// Whole steps clockwise from twelve.
    pub steps: i32,
}

/// Both hands as they stand; one that has nothing to show is missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Leaves {
    pub rotor: Option<Leaf>,
    pub engine: Option<Leaf>,
    /// The one that is ahead takes the half on the side to which the scale rises.
    pub rotor_clockwise: bool,
    pub between: Between,
}

/// What lies between the hands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Between {
    /// Nothing is said of their difference.
    Nothing,
    /// A dark seam that widens: they are one leaf.
    Seam,
    /// A hatched sector, which is neither good nor bad; the letters stand beside the hands where there is room.
    Sector { letters: bool },
}

/// One hand's outlines about the pivot, pointing at twelve, its body on the clockwise side.
#[derive(Debug, Clone)]
struct HalfLeaf {
    body: Arc<Blade>,
    casing: Arc<Blade>,
    eye: Arc<Blade>,
    planks: Path,
}

/// Both hands' outlines, worked out once.
#[derive(Debug, Clone)]
pub(super) struct LeafPair {
    pivot: Pivot,
    step_deg: f64,
    rotor: HalfLeaf,
    engine: HalfLeaf,
}

impl LeafPair {
    /// Hands that reach to `rotor_tip` and `engine_tip`, with ticks that end at `reach`; steps of `step_deg` degrees.
    pub fn new(pivot: Pivot, reach: f64, (rotor_tip, engine_tip): (f64, f64), step_deg: f64) -> Self {
        let half = |tip| HalfLeaf::new(pivot, reach, tip);
        Self { pivot, step_deg, rotor: half(rotor_tip), engine: half(engine_tip) }
    }

    /// Its blades.
    #[cfg(test)]
    pub fn blades(&self) -> impl Iterator<Item = Arc<Blade>> {
        let half = |half: &HalfLeaf| [&half.body, &half.casing, &half.eye].map(Arc::clone);
        half(&self.rotor).into_iter().chain(half(&self.engine))
    }

    /// Sector, both casings, both bodies, seam, letters: no hand hides the other.
    pub fn draw(&self, leaves: &Leaves, palette: &Palette) -> Scene {
        let mut scene = Scene::default();
        let angle = |leaf: Leaf| f64::from(leaf.steps) * self.step_deg;
        let both = leaves.rotor.map(angle).zip(leaves.engine.map(angle));
        if let (Between::Sector { .. }, Some((rotor, engine))) = (leaves.between, both) {
            self.sector(&mut scene, rotor.min(engine), rotor.max(engine), palette);
        }
        let engine = leaves.engine.map(|leaf| (leaf, &self.engine, !leaves.rotor_clockwise, palette.hand2));
        let rotor = leaves.rotor.map(|leaf| (leaf, &self.rotor, leaves.rotor_clockwise, palette.ink));
        let hands = [engine, rotor];
        for (leaf, half, clockwise, _) in hands.iter().flatten() {
            half.draw_casing(&mut scene, self.pivot, leaf.style, angle(*leaf), *clockwise, palette);
        }
        for (leaf, half, clockwise, colour) in hands.into_iter().flatten() {
            half.draw_body(&mut scene, self.pivot, leaf.style, angle(leaf), clockwise, (colour, palette));
        }
        match (leaves.between, both) {
            (Between::Seam, Some((rotor, engine))) => self.seam(&mut scene, rotor, engine, palette),
            (Between::Sector { letters: true }, Some((rotor, engine))) => {
                self.letters(&mut scene, rotor, engine, palette);
            }
            _ => {}
        }
        scene
    }

    fn at(&self, radius: f64, degrees: f64) -> Point {
        polar(self.pivot.centre, radius * self.pivot.r, degrees)
    }

    fn sector(&self, scene: &mut Scene, from: f64, to: f64, palette: &Palette) {
        let Pivot { centre, r, .. } = self.pivot;
        scene.sector(Sector::wedge(centre, (from, to), SECTOR * r), palette.casing.at(0.45));
        let (first, pitch, count) = HATCHES;
        let width = (HATCH * r).max(1.0);
        let hatches = Sector { centre, degrees: (from, to), first: first * r, pitch: pitch * r, count, width };
        scene.sector(hatches, palette.ink2.at(0.80));
    }

    /// The gap between the two edges, so narrow that it is filled: it widens with the difference.
    fn seam(&self, scene: &mut Scene, rotor: f64, engine: f64, palette: &Palette) {
        let foot = self.at(-0.125, (rotor + engine) / 2.0);
        let gap = Path::polygon(&[foot, self.pivot.centre, self.at(SEAM, rotor), self.at(SEAM, engine)]);
        scene.cased(gap, palette.casing.at(0.95), 0.014 * self.pivot.r, palette.casing.at(0.95));
    }

    fn letters(&self, scene: &mut Scene, rotor: f64, engine: f64, palette: &Palette) {
        let beside = if (rotor - engine).abs() < SMALL_GAP { BESIDE.1 } else { BESIDE.0 };
        let outward = if rotor >= engine { beside } else { -beside };
        for (text, colour, degrees) in [("R", palette.ink, rotor + outward), ("E", palette.hand2, engine - outward)] {
            let run = [Run { text, weight: Weight::Bold, colour }];
            let casing = super::marks::passed(palette);
            palette.setting(LETTER.1 * self.pivot.r).draw(scene, &run, self.at(LETTER.0, degrees), Some(casing));
        }
    }
}

impl HalfLeaf {
    fn new(pivot: Pivot, reach: f64, tip: f64) -> Self {
        let shrink = reach / LENGTH;
        let stretch = (tip - BELLY * shrink) / (LENGTH - BELLY);
        let tall = |(x, y): Point| (x, if y > BELLY { BELLY * shrink + (y - BELLY) * stretch } else { y * shrink });
        let half: Vec<Point> = pivot.half(&HALF).into_iter().map(tall).collect();
        let scaled = |points: &[Point]| {
            let points: Vec<Point> = points.iter().map(|p| (p.0 * pivot.r, -p.1 * pivot.r)).collect();
            Path::polygon(&points)
        };
        let mut planks = Path::default();
        let mut foot = -0.100;
        while foot < tip - 0.06 {
            planks.append(scaled(&slice(&half, foot, foot + 0.045)));
            foot += 0.085;
        }
        let side = |sign: f64| move |p: &Point| ((EYE_PLACE.0 + sign * EYE_PLACE.1 * p.0) * pivot.k, p.1 * shrink);
        let eye: Vec<Point> = EYE.iter().map(side(1.0)).chain(EYE.iter().rev().map(side(-1.0))).collect();
        let body = scaled(&half);
        Self {
            casing: Blade::new(casing(&body, 0.060 * pivot.r)),
            eye: Blade::new(scaled(&eye)),
            planks,
            body: Blade::new(body),
        }
    }

    fn draw_casing(
        &self,
        scene: &mut Scene,
        pivot: Pivot,
        style: HandStyle,
        degrees: f64,
        clockwise: bool,
        palette: &Palette,
    ) {
        let stand = Stand { centre: pivot.centre, degrees, mirrored: !clockwise };
        match style {
            HandStyle::Solid | HandStyle::Pierced | HandStyle::Planked => {
                scene.hand(&self.casing, stand, palette.casing.at(0.60));
            }
            HandStyle::Dashed | HandStyle::Hollow => {
                scene.stroke(self.body.outline(stand), 0.052 * pivot.r, palette.casing.at(0.75));
            }
        }
    }

    fn draw_body(
        &self,
        scene: &mut Scene,
        pivot: Pivot,
        style: HandStyle,
        degrees: f64,
        clockwise: bool,
        (colour, palette): (Rgba, &Palette),
    ) {
        let stand = Stand { centre: pivot.centre, degrees, mirrored: !clockwise };
        let body = || self.body.outline(stand);
        let Pivot { r, k, .. } = pivot;
        match style {
            HandStyle::Solid => scene.hand(&self.body, stand, colour),
            HandStyle::Pierced => {
                scene.hand(&self.body, stand, colour);
                scene.hand(&self.eye, stand, palette.casing.at(0.92));
            }
            HandStyle::Planked => {
                scene.hand(&self.body, stand, palette.casing.at(0.60));
                scene.fill(self.planks.map(stand.at()), colour);
                scene.stroke(body(), 0.012 * r, colour);
            }
            HandStyle::Dashed => scene.dashed(body(), 0.018 * k * r, colour, (0.055 * r, 0.035 * r)),
            HandStyle::Hollow => scene.stroke(body(), 0.020 * k * r, colour),
        }
    }
}

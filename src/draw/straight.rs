//! Range markings along a straight scale: the kinds of a dial, each severity thicker and rougher than the one before.

use crate::panel::Marking;

use super::advice::Form;
use super::path::{Path, Point};
use super::scene::Scene;
use super::theme::Palette;

/// Sizes in modules: thickness of the green band, of the amber blocks and of the red teeth.
const BAND: f64 = 0.0062;
const BLOCKS: f64 = 0.0087;
const TEETH: f64 = 0.0100;
/// Pitch of blocks and of teeth, and the share of its pitch that a block fills.
const PITCH: (f64, f64) = (0.0107, 0.0120);
const FILLED: f64 = 0.67;
/// The dark edge beyond each side of a mark.
const CASING: f64 = 0.0012;
/// A red T: half widths of stem and head, where it starts and ends across the lane, where its head starts.
const STEM: f64 = 0.0014;
const HEAD: f64 = 0.0056;
const LIMIT: [f64; 3] = [-0.0085, 0.0022, 0.0058];
/// The triangle of a reference: half its base, where its tip and its base stand across the lane.
const REFERENCE: (f64, [f64; 2]) = (0.0046, [-0.0080, 0.0058]);
/// A bracket: width of its line, where that lies across the lane, and where its caps end.
const BRACKET: (f64, f64, f64) = (0.0016, 0.0074, -0.0062);
/// Between a red T's head and the blocks before it.
const CLEAR: f64 = 0.0026;

fn limits(markings: &[Marking], place: impl Fn(f64) -> f64) -> Vec<f64> {
    markings
        .iter()
        .filter_map(|marking| if let Marking::Limit { at } = *marking { Some(place(at)) } else { None })
        .collect()
}

/// A lane of markings beside a straight scale.
#[derive(Debug, Clone, Copy)]
pub(super) struct Straight {
    /// Where the scale begins, on the lane's middle.
    pub start: Point,
    /// One pixel along the scale, and one pixel away from it.
    pub along: Point,
    pub out: Point,
    /// Length in pixels; what lies beyond is cut off.
    pub length: f64,
    /// The module in pixels, by the plate's size.
    pub m: f64,
}

impl Straight {
    /// A place on the lane, by pixels along it and across it.
    pub fn at(self, x: f64, y: f64) -> Point {
        (self.start.0 + x * self.along.0 + y * self.out.0, self.start.1 + x * self.along.1 + y * self.out.1)
    }

    /// Draws markings; `place` says how many pixels along the lane a value lies.
    pub fn draw(self, scene: &mut Scene, markings: &[Marking], place: impl Fn(f64) -> f64, palette: &Palette) {
        let limits = limits(markings, &place);
        for marking in markings {
            match *marking {
                Marking::Normal { from, to } => self.band(scene, place(from), place(to), palette),
                Marking::Precaution { from, to } => self.blocks(scene, (place(from), place(to)), &limits, palette),
                Marking::Forbidden { from, to } => self.teeth(scene, place(from), place(to), palette),
                Marking::Limit { .. } | Marking::Reference { .. } => {}
            }
        }
        limits.into_iter().for_each(|at| self.limit(scene, at, palette));
        for marking in markings {
            if let Marking::Reference { at } = *marking {
                self.reference(scene, place(at), palette);
            }
        }
    }

    /// The bracket of a usual range: a thin line outside the lane, with caps that reach across it.
    pub fn bracket(self, scene: &mut Scene, from: f64, to: f64, palette: &Palette) {
        let (width, out, inner) = BRACKET;
        let points = [(from, inner), (from, out), (to, out), (to, inner)].map(|(x, y)| self.at(x, y * self.m));
        scene.stroke(Path::polyline(&points), (width + 2.0 * CASING) * self.m, palette.casing);
        scene.stroke(Path::polyline(&points), width * self.m, palette.ink);
    }

    /// The markings and how each one is drawn.
    pub fn forms(self, markings: &[Marking], place: impl Fn(f64) -> f64) -> Vec<(Marking, Form)> {
        let limits = limits(markings, &place);
        let form = |marking: &Marking| match *marking {
            Marking::Precaution { from, to } => {
                let count = self.block_count((place(from), place(to)), &limits);
                Some(if count.is_some_and(|(_, _, count)| count > 1.0) { Form::Blocks } else { Form::Whole })
            }
            Marking::Normal { .. } => Some(Form::Whole),
            Marking::Forbidden { .. } => Some(Form::Teeth),
            Marking::Limit { .. } | Marking::Reference { .. } => None,
        };
        markings.iter().filter_map(|marking| Some((*marking, form(marking)?))).collect()
    }

    /// A rectangle between two places along the lane, cut at its ends; nothing where all of it lies beyond.
    fn slab(self, from: f64, to: f64, half: f64) -> Option<Path> {
        let (from, to) = (from.max(0.0), to.min(self.length));
        let corners = [(from, -half), (to, -half), (to, half), (from, half)];
        (to - from > 1e-6).then(|| Path::polygon(&corners.map(|(x, y)| self.at(x, y))))
    }

    fn band(self, scene: &mut Scene, from: f64, to: f64, palette: &Palette) {
        let edge = CASING * self.m;
        if let (Some(casing), Some(band)) =
            (self.slab(from - edge, to + edge, BAND / 2.0 * self.m + edge), self.slab(from, to, BAND / 2.0 * self.m))
        {
            scene.fill(casing, palette.casing);
            scene.fill(band, palette.green);
        }
    }

    /// Where the blocks of a range start and end, before the head of a red T, and how many there are.
    fn block_count(self, (mut from, mut to): (f64, f64), limits: &[f64]) -> Option<(f64, f64, f64)> {
        let gap = (HEAD + CLEAR) * self.m;
        for &limit in limits {
            if limit > (from + to) / 2.0 && limit - gap < to {
                to = limit - gap;
            } else if limit <= (from + to) / 2.0 && limit + gap > from {
                from = limit + gap;
            }
        }
        (from < to).then(|| (from, to, ((to - from) / (PITCH.0 * self.m) + 1.0 - FILLED).round().max(1.0)))
    }

    /// Separate blocks that start and end the range.
    fn blocks(self, scene: &mut Scene, range: (f64, f64), limits: &[f64], palette: &Palette) {
        let (edge, half) = (CASING * self.m, BLOCKS / 2.0 * self.m);
        let Some((from, to, count)) = self.block_count(range, limits) else { return };
        let Some(casing) = self.slab(from - edge, to + edge, half + edge) else { return };
        scene.fill(casing, palette.casing);
        let pitch = (to - from) / (count - 1.0 + FILLED);
        let mut blocks = Path::default();
        for i in self.seen(from, pitch, count) {
            let foot = from + pitch * i;
            self.slab(foot, foot + FILLED * pitch, half).into_iter().for_each(|block| blocks.append(block));
        }
        scene.fill(blocks, palette.amber);
    }

    /// A line with teeth that point at the scale: a range that is itself forbidden.
    fn teeth(self, scene: &mut Scene, from: f64, to: f64, palette: &Palette) {
        let (edge, half) = (CASING * self.m, TEETH / 2.0 * self.m);
        let Some(casing) = self.slab(from - edge, to + edge, half + edge) else { return };
        scene.fill(casing, palette.casing);
        let count = ((to - from) / (PITCH.1 * self.m)).round().max(1.0);
        let pitch = (to - from) / count;
        let mut teeth = Path::default();
        for i in self.seen(from, pitch, count) {
            let foot = from + pitch * i;
            // A tooth that would be cut at the lane's end is left to the line.
            if foot >= -0.5 && foot + pitch <= self.length + 0.5 {
                let corners = [(0.08, 0.55), (0.92, 0.55), (0.50, -1.0)];
                teeth.append(Path::polygon(&corners.map(|(x, y)| self.at(foot + pitch * x, half * y))));
            }
        }
        scene.fill(teeth, palette.red);
        let (from, to) = (from.max(0.0), to.min(self.length));
        let line = [(from, half), (to, half), (to, 0.5 * half), (from, 0.5 * half)];
        scene.fill(Path::polygon(&line.map(|(x, y)| self.at(x, y))), palette.red);
    }

    /// Whether what stands at one place is on the lane.
    fn holds(self, at: f64) -> bool {
        (-0.5..=self.length + 0.5).contains(&at)
    }

    /// A triangle that points at the scale.
    fn reference(self, scene: &mut Scene, at: f64, palette: &Palette) {
        let (half, [tip, base]) = REFERENCE;
        let corners = [(0.0, tip), (half, base), (-half, base)];
        if self.holds(at) {
            let triangle = Path::polygon(&corners.map(|(x, y)| self.at(at + x * self.m, y * self.m)));
            scene.cased(triangle, palette.ink, 2.0 * CASING * self.m, palette.casing);
        }
    }

    fn limit(self, scene: &mut Scene, at: f64, palette: &Palette) {
        if !self.holds(at) {
            return;
        }
        let [foot, neck, top] = LIMIT;
        let right = [(STEM * 0.75, foot), (STEM, neck), (HEAD, neck), (HEAD, top)];
        let left = right.into_iter().rev().map(|(x, y)| (-x, y));
        let corners: Vec<Point> =
            right.into_iter().chain(left).map(|(x, y)| self.at(at + x * self.m, y * self.m)).collect();
        scene.cased(Path::polygon(&corners), palette.red, 2.0 * CASING * self.m, palette.casing);
    }

    /// Which of `count` pieces of a pitch, the first at `from`, lie on the lane.
    fn seen(self, from: f64, pitch: f64, count: f64) -> impl Iterator<Item = f64> {
        let first = ((-from / pitch).floor() - 1.0).clamp(0.0, count);
        let last = (((self.length - from) / pitch).ceil() + 1.0).clamp(0.0, count);
        (0..(last - first).min(4000.0) as u32).map(move |i| first + f64::from(i))
    }
}

//! A dial's scale: range markings on their lanes, ticks, hinge pins. Everything here stays as it is while the hand moves.

use crate::panel::{Marking, Scale};

use super::advice::Form;
use super::hands::Pivot;
use super::path::{Path, Point, polar};
use super::scene::Scene;
use super::theme::{Palette, Rgba};

/// A ring of range markings, in radii: its middle, the widths of its band and blocks, and its red T.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lane {
    /// Middle of bands and blocks.
    pub middle: f64,
    /// Width of the green band, before the optical weight.
    pub band: f64,
    /// Width of the amber blocks, before the optical weight.
    pub blocks: f64,
    /// Where a red T's stem starts, where its head starts, where it ends.
    pub limit: [f64; 3],
    /// Half the width of a red T's head, before the optical weight.
    pub head: f64,
    /// Where the triangle of a reference points to; it stands on the circle where a red T ends.
    pub tip: f64,
}

impl Lane {
    /// Half the base of a reference's triangle over that of a red T's head.
    const TRIANGLE: f64 = 0.74;
}

/// How a set of markings is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strength {
    /// As outlines: with power off.
    pub hollow: bool,
    /// Factors on the opacity of the dark edges, and of the marks themselves.
    pub edge: f32,
    pub ink: f32,
}

impl Strength {
    /// Opacity of what is not in force: plainly less than the rest, and red still holds three to one against its dark edge.
    pub const DIM: f32 = 0.66;

    /// Marks that count.
    pub const fn full(hollow: bool) -> Self {
        Self { hollow, edge: 1.0, ink: 1.0 }
    }
}

/// The only lane of a plain dial.
pub(super) const LANE: Lane =
    Lane { middle: 0.945, band: 0.034, blocks: 0.052, limit: [0.770, 0.940, 0.985], head: 0.062, tip: 0.893 };
/// Hollow marks: width of their lines, where the two hairs of a band lie beside the lane's middle, half a hollow T's stem.
const OUTLINE: f64 = 0.013;
const HAIRS: (f64, f64) = (0.014, 0.010);
const HOLLOW_STEM: f64 = 0.024;
/// Width of a bracket's line, before the optical weight.
const BRACKET: f64 = 0.012;
/// The dark edge of a mark, on both sides together.
const EDGE: f64 = 0.024;
/// Short ticks thinner than this many pixels would only be a grey haze.
const THINNEST_SHORT_TICK_PX: f64 = 0.78;
/// A thinner line over teeth breaks up between them, and looks like the blocks of a precaution.
const THINNEST_LINE_PX: f64 = 1.6;
/// No scale has room for more ticks of one kind than this.
const MOST_TICKS: f64 = 400.0;
/// Distance between ticks over their length, at least; closer ones run into a haze, as on the short side of a fold.
const CLOSEST_TICKS: f64 = 0.7;
/// No tick stands within this many degrees of a red limit: nothing whitens a red stem.
const CLEAR_OF_LIMIT: f64 = 2.2;

/// Bands and blocks, then ticks, then limits, so that no tick lies on a limit; last the hinge pins of a folded scale.
///
/// Ticks end at `reach`; each lane has its own markings.
pub(super) fn scale(
    scene: &mut Scene,
    pivot: Pivot,
    scale: &Scale,
    reach: f64,
    lanes: &[(Lane, &[Marking])],
    palette: &Palette,
) {
    let look = Strength::full(false);
    let marked: Vec<Marked<'_>> =
        lanes.iter().map(|&(lane, markings)| Marked { pivot, scale, lane, markings, look, palette }).collect();
    marked.iter().for_each(|lane| lane.ranges(scene));
    // A stem that starts outside the ticks cannot be whitened by one.
    let limits: Vec<f64> = marked.iter().filter(|m| m.lane.limit[0] < reach).flat_map(Marked::limits).collect();
    if let Some(outer) = marked.first() {
        outer.ticks(scene, reach, &limits);
    }
    marked.iter().for_each(|lane| lane.points(scene));
    if let Some(outer) = marked.first() {
        outer.hinges(scene);
    }
}

/// More sets of markings on one lane, each in its look.
pub(super) fn sets(
    scene: &mut Scene,
    pivot: Pivot,
    scale: &Scale,
    lane: Lane,
    sets: &[(&[Marking], Strength)],
    palette: &Palette,
) {
    let marked = sets.iter().map(|&(markings, look)| Marked { pivot, scale, lane, markings, look, palette });
    marked.clone().for_each(|set| set.ranges(scene));
    marked.for_each(|set| set.points(scene));
}

/// The bracket of a usual range: a thin line between ticks and lane, where hands end, with caps that reach across the lane.
pub(super) fn bracket(pivot: Pivot, scale: &Scale, lane: Lane, (from, to): (f64, f64), palette: &Palette) -> Scene {
    let Pivot { centre, r, k } = pivot;
    let (inner, outer) = (lane.tip + BRACKET, lane.limit[2]);
    let (from, to) = (scale.angle(from), scale.angle(to));
    let steps = ((to - from).abs() / 3.0).ceil().max(1.0);
    let line = (0..=steps as u32).map(|i| polar(centre, inner * r, from + (to - from) * f64::from(i) / steps));
    let (first, last) = (polar(centre, outer * r, from), polar(centre, outer * r, to));
    let points: Vec<Point> = [first].into_iter().chain(line).chain([last]).collect();
    let mut scene = Scene::default();
    scene.stroke(Path::polyline(&points), (BRACKET * k + EDGE) * r, palette.casing);
    scene.stroke(Path::polyline(&points), BRACKET * k * r, palette.ink);
    scene
}

/// The ranges of a lane and how each one is drawn.
pub(super) fn forms(
    pivot: Pivot,
    scale: &Scale,
    (lane, markings): (Lane, &[Marking]),
    palette: &Palette,
) -> Vec<(Marking, Form)> {
    let marked = Marked { pivot, scale, lane, markings, look: Strength::full(false), palette };
    let form = |marking: &Marking| match *marking {
        Marking::Precaution { from, to } => {
            let several = marked.block_count(from, to).is_some_and(|(_, _, count)| count > 1.0);
            Some(if several { Form::Blocks } else { Form::Whole })
        }
        Marking::Normal { .. } => Some(Form::Whole),
        Marking::Forbidden { .. } => Some(Form::Teeth),
        Marking::Limit { .. } | Marking::Reference { .. } => None,
    };
    markings.iter().filter_map(|marking| Some((*marking, form(marking)?))).collect()
}

struct Marked<'a> {
    pivot: Pivot,
    scale: &'a Scale,
    lane: Lane,
    markings: &'a [Marking],
    look: Strength,
    palette: &'a Palette,
}

impl Marked<'_> {
    fn ranges(&self, scene: &mut Scene) {
        for marking in self.markings {
            match *marking {
                Marking::Normal { from, to } => self.band(scene, from, to),
                Marking::Precaution { from, to } => self.blocks(scene, from, to),
                Marking::Forbidden { from, to } => self.teeth(scene, from, to),
                Marking::Limit { .. } | Marking::Reference { .. } => {}
            }
        }
    }

    /// What stands at one value; a reference over a limit, of which more is seen.
    fn points(&self, scene: &mut Scene) {
        self.limits().for_each(|angle| self.limit(scene, angle));
        for marking in self.markings {
            if let Marking::Reference { at } = *marking {
                self.reference(scene, self.scale.angle(at));
            }
        }
    }

    fn at(&self, radius: f64, degrees: f64) -> Point {
        polar(self.pivot.centre, radius * self.pivot.r, degrees)
    }

    fn arc(&self, radius: f64, from: f64, to: f64) -> Path {
        Path::arc(self.pivot.centre, radius * self.pivot.r, from, to)
    }

    /// An outline across the lane at an angle: the right half of it as radius and distance from the middle line, from the foot on.
    fn across<const N: usize>(&self, degrees: f64, right: [(f64, f64); N]) -> Path {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let turn = |(y, x): (f64, f64)| {
            let foot = self.at(y, degrees);
            (foot.0 + x * self.pivot.r * cos, foot.1 + x * self.pivot.r * sin)
        };
        // A point on the middle line itself is there once.
        let left = right.into_iter().rev().filter(|p| p.1 != 0.0).map(|(y, x)| (y, -x));
        let points: Vec<Point> = right.into_iter().chain(left).map(turn).collect();
        Path::polygon(&points)
    }

    /// A ring's part between two radii and two angles, as an outline.
    fn sector(&self, radii: (f64, f64), from: f64, to: f64) -> Path {
        let steps = ((to - from) / 3.0).ceil().max(1.0);
        let angles = (0..=steps as u32).map(|i| from + (to - from) * f64::from(i) / steps);
        let outer = angles.clone().map(|degrees| self.at(radii.1, degrees));
        let points: Vec<Point> = outer.chain(angles.rev().map(|degrees| self.at(radii.0, degrees))).collect();
        Path::polygon(&points)
    }

    fn ink(&self, colour: Rgba) -> Rgba {
        colour.at(colour.alpha * self.look.ink)
    }

    fn casing(&self) -> Rgba {
        self.palette.casing.at(self.palette.casing.alpha * self.look.edge)
    }

    /// A shape on its dark edge, full or hollow.
    fn shape(&self, scene: &mut Scene, outline: Path, colour: Rgba) {
        let (r, casing) = (self.pivot.r, self.casing());
        if self.look.hollow {
            scene.cased(outline.clone(), casing, (OUTLINE + EDGE) * r, casing);
            scene.stroke(outline, OUTLINE * r, self.ink(colour));
        } else {
            scene.cased(outline, self.ink(colour), EDGE * r, casing);
        }
    }

    fn limits(&self) -> impl Iterator<Item = f64> + '_ {
        self.markings.iter().filter_map(|m| match *m {
            Marking::Limit { at } => Some(self.scale.angle(at)),
            _ => None,
        })
    }

    fn band(&self, scene: &mut Scene, from: f64, to: f64) {
        let Pivot { r, k, .. } = self.pivot;
        let arc = |radius| self.arc(radius, self.scale.angle(from), self.scale.angle(to));
        let (middle, green) = (self.lane.middle, self.ink(self.palette.green));
        scene.stroke(arc(middle), (self.lane.band * k + EDGE) * r, self.casing());
        if self.look.hollow {
            let (aside, width) = HAIRS;
            for radius in [middle - aside * k, middle + aside * k] {
                scene.stroke(arc(radius), width * k * r, green);
            }
        } else {
            scene.stroke(arc(middle), self.lane.band * k * r, green);
        }
    }

    /// Where the blocks of a range start and end, before the head of a red T, and how many there are.
    fn block_count(&self, from: f64, to: f64) -> Option<(f64, f64, f64)> {
        let k = self.pivot.k;
        let (mut start, mut end) = ordered(self.scale.angle(from), self.scale.angle(to));
        let gap = ((self.lane.head * k + 0.026) / self.lane.middle).to_degrees();
        for limit in self.limits() {
            if limit > (start + end) / 2.0 && limit - gap < end {
                end = limit - gap;
            } else if limit <= (start + end) / 2.0 && limit + gap > start {
                start = limit + gap;
            }
        }
        let pitch = (0.092 * k / self.lane.middle).to_degrees();
        (end > start).then(|| (start, end, ((end - start) / pitch + 0.33).round().max(1.0)))
    }

    /// Separate blocks that start and end the range.
    fn blocks(&self, scene: &mut Scene, from: f64, to: f64) {
        let Pivot { r, k, .. } = self.pivot;
        let Some((start, end, count)) = self.block_count(from, to) else { return };
        let width = self.lane.blocks * k.min(1.2);
        scene.stroke(self.arc(self.lane.middle, start, end), (width + EDGE) * r, self.casing());
        // `count` blocks of .67 pitch and the gaps between them fill the range exactly.
        let pitch = (end - start) / (count - 0.33);
        let amber = self.ink(self.palette.amber);
        let feet = (0..count as u32).map(|i| start + pitch * f64::from(i));
        let mut blocks = Path::default();
        if self.look.hollow {
            // The outline lies inside the block.
            let half = (width - OUTLINE) / 2.0;
            let (radii, inset) = ((self.lane.middle - half, self.lane.middle + half), (OUTLINE / 2.0).to_degrees());
            feet.for_each(|foot| blocks.append(self.sector(radii, foot + inset, foot + 0.67 * pitch - inset)));
            scene.stroke(blocks, OUTLINE * r, amber);
        } else {
            feet.for_each(|foot| blocks.append(self.arc(self.lane.middle, foot, foot + 0.67 * pitch)));
            scene.stroke(blocks, width * r, amber);
        }
    }

    /// A line with teeth that point inward: a range that is itself forbidden.
    fn teeth(&self, scene: &mut Scene, from: f64, to: f64) {
        let Pivot { r, k, .. } = self.pivot;
        let (start, end) = ordered(self.scale.angle(from), self.scale.angle(to));
        let count = ((end - start).to_radians() / (0.075 * k)).round().max(1.0);
        let pitch = (end - start) / count;
        let mut teeth = Path::default();
        for i in 0..count as u32 {
            let foot = start + pitch * f64::from(i);
            let (base, point) = (self.lane.middle + 0.021, self.lane.middle - 0.037);
            let corners = [(base, 0.08), (base, 0.92), (point, 0.5)];
            teeth.append(Path::polygon(&corners.map(|(radius, along)| self.at(radius, foot + pitch * along))));
        }
        let line = self.arc(self.lane.middle + 0.024, start, end);
        let width = if self.look.hollow { HAIRS.1 * k * r } else { (0.020 * k * r).max(THINNEST_LINE_PX) };
        scene.stroke(line.clone(), width + EDGE * r, self.casing());
        self.shape(scene, teeth, self.palette.red);
        scene.stroke(line, width, self.ink(self.palette.red));
    }

    fn limit(&self, scene: &mut Scene, degrees: f64) {
        let k = self.pivot.k;
        let ([foot, neck, top], head) = (self.lane.limit, self.lane.head * k);
        let (inner, outer) = if self.look.hollow { (HOLLOW_STEM, HOLLOW_STEM) } else { (0.014, 0.019) };
        let right = [(foot, inner * k), (neck, outer * k), (neck, head), (top, head)];
        self.shape(scene, self.across(degrees, right), self.palette.red);
    }

    /// A triangle that points at the scale.
    fn reference(&self, scene: &mut Scene, degrees: f64) {
        let (tip, base) = (self.lane.tip, self.lane.limit[2]);
        let half = Lane::TRIANGLE * self.lane.head * self.pivot.k;
        self.shape(scene, self.across(degrees, [(tip, 0.0), (base, half)]), self.palette.ink);
    }

    fn ticks(&self, scene: &mut Scene, reach: f64, limits: &[f64]) {
        let Pivot { r, k, .. } = self.pivot;
        let ticks = self.scale.ticks;
        let weight = k * self.palette.tick_weight;
        let short = self.palette.short_ticks && 0.010 * k * r >= THINNEST_SHORT_TICK_PX;
        let kinds = [
            (ticks.short, 0.048, 0.010, 0.75, short, &[ticks.long, ticks.middle][..]),
            (ticks.middle, 0.075, 0.014, 0.90, true, &[ticks.long][..]),
            (ticks.long, 0.120, 0.022, 1.0, true, &[][..]),
        ];
        for (step, length, width, alpha, wanted, longer) in kinds {
            if !wanted {
                continue;
            }
            let mut path = Path::default();
            for degrees in self.tick_angles(step, CLOSEST_TICKS * length / reach, longer, limits) {
                let (inner, outer) = (self.at(reach - length, degrees), self.at(reach, degrees));
                path.append(Path::polyline(&[inner, outer]));
            }
            scene.stroke(path.clone(), (width * weight + 0.018) * r, self.palette.casing.at(0.45));
            scene.stroke(path, width * weight * r, self.palette.ink.at(alpha));
        }
    }

    /// Angles of the multiples of `step` that carry no longer tick, stand clear of a limit and of each other (in radians).
    fn tick_angles(&self, step: f64, closest: f64, longer: &[f64], limits: &[f64]) -> Vec<f64> {
        let (low, high) = self.scale.ends();
        if step.is_nan() || step <= 0.0 || (high - low) / step > MOST_TICKS {
            return Vec::new();
        }
        // A value a rounding error beyond the end still has its tick.
        let slack = step * 1e-6;
        let (first, last) = (((low - slack) / step).ceil() as i64, ((high + slack) / step).floor() as i64);
        let multiple = |value: f64, of: f64| of > 0.0 && (value / of - (value / of).round()).abs() < 1e-6;
        (first..=last)
            .map(|i| i as f64 * step)
            .filter(|&value| !longer.iter().any(|&of| multiple(value, of)))
            .filter(|&value| {
                let angle = |value| self.scale.angle(value);
                let apart = (angle(value + step) - angle(value)).abs().max((angle(value) - angle(value - step)).abs());
                apart.to_radians() >= closest
            })
            .map(|value| self.scale.angle(value))
            .filter(|angle| limits.iter().all(|limit| (limit - angle).abs() > CLEAR_OF_LIMIT))
            .collect()
    }

    /// An open pin where the step of the scale changes: a fold must be seen.
    fn hinges(&self, scene: &mut Scene) {
        for points in self.scale.breakpoints.windows(3) {
            let slope = |a: (f64, f64), b: (f64, f64)| (b.1 - a.1) / (b.0 - a.0);
            let (before, after) = (slope(points[0], points[1]), slope(points[1], points[2]));
            if (before - after).abs() > 1e-6 * before.abs().max(after.abs()) {
                let pin = Path::circle(self.at(self.lane.middle, points[1].1), 0.024 * self.pivot.r);
                scene.fill(pin.clone(), self.palette.casing.at(1.0));
                scene.stroke(pin, 0.012 * self.pivot.r, self.palette.ink);
            }
        }
    }
}

fn ordered(a: f64, b: f64) -> (f64, f64) {
    (a.min(b), a.max(b))
}

//! A dial's face: disc, range markings, ticks, numerals. Everything here stays as it is while the hand moves.

use crate::panel::{Marking, Scale};

use super::hands::Pivot;
use super::part::Alarm;
use super::path::{Path, Point, Rect, polar};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::text::{Casing, CasingWidth, Run, Setting, Weight};
use super::theme::{DISC_STOPS, Palette, Rgba};

/// How far the dial's halo reaches, as a fraction of the radius.
pub(super) const HALO_REACH: f64 = 1.12;
/// How far a plate's halo reaches beyond it, in modules.
const PLATE_HALO: f64 = 0.0125;
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
}

/// The only lane of a plain dial.
pub(super) const LANE: Lane =
    Lane { middle: 0.945, band: 0.034, blocks: 0.052, limit: [0.770, 0.940, 0.985], head: 0.062 };
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

/// Disc with its halo and hairline.
pub(super) fn disc(scene: &mut Scene, pivot: Pivot, palette: &Palette) {
    let Pivot { centre, r, .. } = pivot;
    let halo = |share: f32| palette.halo.at(palette.halo.alpha * share);
    let reach = HALO_REACH as f32;
    // 0 inside the disc, then .42, .19, .06 and 0 at 1, 1.04, 1.08 and 1.12 radii in graphite.
    let rings = vec![
        (0.993 / reach, halo(0.0)),
        (1.0 / reach, halo(1.0)),
        (1.04 / reach, halo(0.45)),
        (1.08 / reach, halo(0.14)),
        (1.0, halo(0.0)),
    ];
    scene.radial(Path::circle(centre, HALO_REACH * r), centre, HALO_REACH * r, rings);
    let stops = DISC_STOPS.into_iter().zip(palette.disc_alpha.map(|alpha| palette.disc.at(alpha))).collect();
    scene.radial(Path::circle(centre, r), centre, r, stops);
    let width = (0.008 * r).max(1.0);
    scene.stroke(Path::circle(centre, r - width / 2.0), width, palette.rim);
}

/// Where the rims of a passed limit stand, in radii: outside the disc, so that they hide no marking, and no wider than the gap
/// to the next disc.
const RIMS: [f64; 2] = [1.024, 1.068];

/// The rim of a dial whose limit is passed: rough for a caution, double for a warning.
pub(super) fn rim(pivot: Pivot, alarm: Alarm, palette: &Palette) -> Scene {
    let Pivot { centre, r, k } = pivot;
    let mut scene = Scene::default();
    match alarm {
        Alarm::Caution => {
            let circle = Path::circle(centre, RIMS[0] * r);
            let pitch = std::f64::consts::TAU * RIMS[0] * r / 36.0;
            scene.stroke(circle.clone(), (0.034 * k + 0.020) * r, palette.casing.at(0.55));
            scene.dashed(circle, 0.034 * k * r, palette.caution, (0.62 * pitch, 0.38 * pitch));
        }
        Alarm::Warning => {
            for (radius, width) in [(RIMS[0], 0.030 * k), (RIMS[1], 0.018 * k)] {
                let circle = Path::circle(centre, radius * r);
                // Edged in white: on dark ground red alone would not be seen.
                scene.stroke(circle.clone(), (width * r).max(1.0) + (0.011 * r).max(1.0), palette.warning_text);
                scene.stroke(circle, width * r, palette.warning);
            }
        }
    }
    scene
}

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
    let marked: Vec<Marked<'_>> =
        lanes.iter().map(|&(lane, markings)| Marked { pivot, scale, lane, markings, palette }).collect();
    marked.iter().for_each(|lane| lane.ranges(scene));
    // A stem that starts outside the ticks cannot be whitened by one.
    let limits: Vec<f64> = marked.iter().filter(|m| m.lane.limit[0] < reach).flat_map(Marked::limits).collect();
    if let Some(outer) = marked.first() {
        outer.ticks(scene, reach, &limits);
    }
    for lane in &marked {
        lane.limits().for_each(|angle| lane.limit(scene, angle));
    }
    if let Some(outer) = marked.first() {
        outer.hinges(scene);
    }
}

struct Marked<'a> {
    pivot: Pivot,
    scale: &'a Scale,
    lane: Lane,
    markings: &'a [Marking],
    palette: &'a Palette,
}

impl Marked<'_> {
    fn ranges(&self, scene: &mut Scene) {
        for marking in self.markings {
            match *marking {
                Marking::Normal { from, to } => self.band(scene, from, to),
                Marking::Precaution { from, to } => self.blocks(scene, from, to),
                Marking::Forbidden { from, to } => self.teeth(scene, from, to),
                Marking::Limit { .. } => {}
            }
        }
    }

    fn at(&self, radius: f64, degrees: f64) -> Point {
        polar(self.pivot.centre, radius * self.pivot.r, degrees)
    }

    fn arc(&self, radius: f64, from: f64, to: f64) -> Path {
        Path::arc(self.pivot.centre, radius * self.pivot.r, from, to)
    }

    fn limits(&self) -> impl Iterator<Item = f64> + '_ {
        self.markings.iter().filter_map(|m| match *m {
            Marking::Limit { at } => Some(self.scale.angle(at)),
            _ => None,
        })
    }

    fn band(&self, scene: &mut Scene, from: f64, to: f64) {
        let Pivot { r, k, .. } = self.pivot;
        let arc = self.arc(self.lane.middle, self.scale.angle(from), self.scale.angle(to));
        scene.stroke(arc.clone(), (self.lane.band * k + 0.024) * r, self.palette.casing);
        scene.stroke(arc, self.lane.band * k * r, self.palette.green);
    }

    /// Separate blocks that start and end the range, but stop before the head of a red T.
    fn blocks(&self, scene: &mut Scene, from: f64, to: f64) {
        let Pivot { r, k, .. } = self.pivot;
        let (mut start, mut end) = ordered(self.scale.angle(from), self.scale.angle(to));
        let gap = ((self.lane.head * k + 0.026) / self.lane.middle).to_degrees();
        for limit in self.limits() {
            if limit > (start + end) / 2.0 && limit - gap < end {
                end = limit - gap;
            } else if limit <= (start + end) / 2.0 && limit + gap > start {
                start = limit + gap;
            }
        }
        if end <= start {
            return;
        }
        let (width, pitch) = (self.lane.blocks * k.min(1.2), (0.092 * k / self.lane.middle).to_degrees());
        scene.stroke(self.arc(self.lane.middle, start, end), (width + 0.024) * r, self.palette.casing);
        // `count` blocks of .67 pitch and the gaps between them fill the range exactly.
        let count = ((end - start) / pitch + 0.33).round().max(1.0);
        let pitch = (end - start) / (count - 0.33);
        let mut blocks = Path::default();
        for i in 0..count as u32 {
            let foot = start + pitch * f64::from(i);
            blocks.append(self.arc(self.lane.middle, foot, foot + 0.67 * pitch));
        }
        scene.stroke(blocks, width * r, self.palette.amber);
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
        let width = (0.020 * k * r).max(THINNEST_LINE_PX);
        scene.stroke(line.clone(), width + 0.024 * r, self.palette.casing);
        scene.cased(teeth, self.palette.red, 0.024 * r, self.palette.casing);
        scene.stroke(line, width, self.palette.red);
    }

    fn limit(&self, scene: &mut Scene, degrees: f64) {
        let Pivot { r, k, .. } = self.pivot;
        let ([foot, neck, top], head) = (self.lane.limit, self.lane.head * k);
        let right = [(foot, 0.014 * k), (neck, 0.019 * k), (neck, head), (top, head)];
        let left = right.into_iter().rev().map(|(y, x)| (y, -x));
        let turn = |(y, x): (f64, f64)| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            let foot = self.at(y, degrees);
            (foot.0 + x * r * cos, foot.1 + x * r * sin)
        };
        let points: Vec<Point> = right.into_iter().chain(left).map(turn).collect();
        scene.cased(Path::polygon(&points), self.palette.red, 0.024 * r, self.palette.casing);
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

/// The numerals: upright, an equal gap to the ticks all round. They are a layer of their own, above the hand.
///
/// The ticks end at `reach`. `rooms` are half the width and the upper edge, in radii, of what stands in the lower half; a
/// numeral that would touch one goes, and so does one that stands close beside it: `100` and a small `0` read as a thousand.
pub(super) fn numerals(
    scene: &mut Scene,
    pivot: Pivot,
    sizes: Sizes,
    scale: &Scale,
    reach: f64,
    rooms: &[(f64, f64)],
    palette: &Palette,
) {
    // A little too small is set at the least size; much too small would crowd the dial and goes.
    if sizes.numeral < 0.83 * SMALLEST_EM {
        return;
    }
    let setting = Setting::em(sizes.numeral.max(SMALLEST_EM));
    let em = setting.em / pivot.r;
    let placed = |(value, text): &(f64, String)| {
        let degrees = scale.angle(*value);
        let (sin, cos) = degrees.to_radians().sin_cos();
        let half = (0.325 * em * text.chars().count() as f64, 0.375 * em);
        let radius = reach - 0.154 - 1.04 * (half.0 * sin).hypot(half.1 * cos);
        (text.clone(), (radius * sin, -radius * cos), half)
    };
    let mut numerals: Vec<(String, Point, (f64, f64))> = scale.numerals.iter().map(placed).collect();
    // Where two would touch, every second one goes, so that those that stay step evenly.
    let gap = 0.12 * em;
    let touch = |pair: &[(String, Point, (f64, f64))]| {
        let ((_, a, half), (_, b, other)) = (&pair[0], &pair[1]);
        (a.0 - b.0).abs() < half.0 + other.0 + gap && (a.1 - b.1).abs() < half.1 + other.1 + gap
    };
    while numerals.len() > 2 && numerals.windows(2).any(touch) {
        let mut keep = [true, false].into_iter().cycle();
        numerals.retain(|_| keep.next().unwrap_or(true));
    }
    for (text, (x, y), (w, h)) in numerals {
        let crowds = |room: &(f64, f64)| {
            let sunk = y + h - room.1;
            let gap = if sunk > 0.6 * h { 0.35 * em } else { 0.0 };
            x.abs() - w < room.0 + gap && sunk > 0.0
        };
        if rooms.iter().any(crowds) {
            continue;
        }
        let run = Run { text: &text, weight: Weight::Bold, colour: palette.ink };
        let at = (pivot.centre.0 + x * pivot.r, pivot.centre.1 + y * pivot.r);
        setting.draw(scene, &[run], at, Some(passed(palette)));
    }
}

/// The casing of text that a hand can pass under.
pub(super) fn passed(palette: &Palette) -> Casing {
    Casing { width: CasingWidth::Passed, colour: palette.casing.at(0.88) }
}

/// The casing of other text on a disc or a plate.
pub(super) fn plain(palette: &Palette) -> Casing {
    Casing { width: CasingWidth::Plain, colour: palette.casing.at(0.60) }
}

/// A window of smoked glass with its text, above the hands: dense enough for the text, and thin enough that a hand is seen to
/// go on behind it. All in radii.
#[derive(Debug, Clone, Copy)]
pub(super) struct Window {
    /// Its middle, x to the right, y down.
    pub middle: Point,
    /// Its height; text at the least size may need more.
    pub height: f64,
    /// It is as wide as its text needs, between these.
    pub widths: (f64, f64),
    /// Em of the text; smaller where it would be too wide.
    pub em: f64,
}

impl Window {
    /// Between frame and text, on both sides together.
    const SIDES: f64 = 0.07;
    /// Height over the text's em, at least.
    const LOWEST: f64 = 1.15;

    /// Its height on a dial of this radius in pixels, where the text may be at the least size.
    pub fn height(self, r: f64) -> f64 {
        self.height.max(Self::LOWEST * SMALLEST_EM / r)
    }

    /// Whether a text has room at its own em, or at the least size where that is more.
    pub fn holds(self, run: Run<'_>, r: f64) -> bool {
        Setting::em((self.em * r).max(SMALLEST_EM)).width(&[run]) <= (self.widths.1 - Self::SIDES) * r
    }

    /// Draws it with its text.
    pub fn draw(self, scene: &mut Scene, pivot: Pivot, run: Run<'_>, palette: &Palette) {
        let r = pivot.r;
        let setting = Setting::em(self.em * r).fitted(&[run], (self.widths.1 - Self::SIDES) * r);
        let setting = setting.at_least(SMALLEST_EM);
        let width = (setting.width(&[run]) / r + Self::SIDES).max(self.widths.0);
        let frame = Path::rounded(Rect::centred(pivot.at(self.middle), width * r, self.height(r) * r), 0.05 * r);
        scene.fill(frame.clone(), palette.casing.at(0.80));
        scene.stroke(frame, (0.008 * r).max(1.0), palette.ink2.at(0.85));
        setting.draw(scene, &[run], pivot.at(self.middle), Some(plain(palette)));
    }
}

/// What a plate with its face may cover: on the smallest ones, texts of the least size stick out.
pub(super) fn plate_extent(mut face: Scene, rect: Rect) -> Scene {
    let middle = ((rect.left + rect.right) / 2.0, (rect.top + rect.bottom) / 2.0);
    let width = (rect.right - rect.left).max(8.0 * SMALLEST_EM);
    let height = (rect.bottom - rect.top).max(4.0 * SMALLEST_EM);
    face.fill(Path::rounded(Rect::centred(middle, width, height), 0.0), Rgba::opaque(0).at(0.0));
    face
}

/// The cross over a part of a plate that has nothing to show; `m` is the module by the plate's size.
pub(super) fn cross(scene: &mut Scene, rect: Rect, m: f64, palette: &Palette) {
    let Rect { left, right, top, bottom } = rect;
    for (width, colour) in [(0.0071, palette.casing.at(0.80)), (0.0028, palette.ink)] {
        for ends in [[(left, top), (right, bottom)], [(left, bottom), (right, top)]] {
            scene.stroke(Path::polyline(&ends), (width * m).max(1.0), colour);
        }
    }
}

/// A plate with its soft edge, its edges on whole pixels.
pub(super) fn plate(scene: &mut Scene, rect: Rect, corner: f64, m: f64, palette: &Palette) {
    let rect = rect.snapped();
    // Six frames, each laid from the plate's edge outward and wider than the one before, add up to a soft shadow.
    for share in (1..=6).map(|i| f64::from(i) / 6.0) {
        let width = PLATE_HALO * m * share;
        let frame = Path::rounded(rect.grown(width / 2.0), corner + width / 2.0);
        scene.stroke(frame, width, palette.halo.at(0.05));
    }
    scene.fill(Path::rounded(rect, corner), palette.plate);
    let width = (0.0012 * m).max(1.0);
    scene.stroke(Path::rounded(rect.grown(-width / 2.0), corner - width / 2.0), width, palette.rim);
}

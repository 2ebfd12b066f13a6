//! Hands as masks, worked out anew in every frame in which they move.
//!
//! A hand is long and has one left and one right side, whichever way it points: a row of pixels meets each of them once, or if
//! the hand lies rather than stands, a column does. For every such line of pixels the place where it meets a side is the mean
//! over its breadth, and how fast the shares fall there follows from how much the side leans. Shares are thus exact where a side
//! runs with the pixels, and off by a 23rd where it slants by 45 degrees. At foot and tip, where both sides meet, single pixels of
//! a pointed or rounded hand are off by up to two fifths; flat ends by more, so that ticks are no blades. The outlines of
//! [`super::cover`] are exact everywhere, and take several times as long.

use std::cell::RefCell;
use std::sync::Arc;

use crate::pixel::{Affine, GROUP, Mask, PixelBox, widely};

use super::cover::{self, Pixel, trace};
use super::path::{Path, Point};

/// Added to a number below it, this leaves the nearest whole number in the lowest bits.
pub(super) const WHOLE: f32 = 8_388_608.0;
/// A piece that leans more than this belongs to foot or tip: it tells how much of the line lies there, not how the shares fall.
const FLATTEST: f32 = 3.0;
/// A line of which less than this share lies between foot and tip has nothing to show.
const NOTHING: f32 = 1e-3;

/// A hand's outline about its pivot, pointing at twelve: one contour.
#[derive(Debug, Clone, PartialEq)]
pub struct Blade {
    outline: Path,
    corners: Vec<Pixel>,
}

/// Where a blade stands in the shown picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// The pivot.
    pub centre: Point,
    /// Clockwise from twelve.
    pub degrees: f64,
    /// Whether left and right change places.
    pub mirrored: bool,
}

/// Memory that is kept from mask to mask.
#[derive(Default)]
struct Tools {
    corners: Vec<Pixel>,
    /// The side along which the outline goes down, and the one along which it goes up.
    sides: [Side; 2],
    /// The most that a pixel of each line is covered.
    highest: Vec<f32>,
    /// Where in each row, or each group of columns, there are shares.
    stretches: Vec<(i32, i32)>,
}

/// Where the lines meet one side. First sums over the pieces of the side in each line; then, in levels of 255, a pixel's share by
/// this side is `start + step * place`.
#[derive(Default)]
struct Side {
    /// Of height times place; then `start`.
    start: Vec<f32>,
    /// Of height times lean; then `step`.
    step: Vec<f32>,
    height: Vec<f32>,
}

thread_local! {
    static TOOLS: RefCell<Tools> = RefCell::default();
}

impl Stand {
    /// The place of a point that is given about the pivot.
    pub(super) fn at(self) -> impl Fn(Point) -> Point {
        let (sin, cos) = self.degrees.to_radians().sin_cos();
        let (cx, cy) = self.centre;
        let side = if self.mirrored { -1.0 } else { 1.0 };
        move |(x, y)| (cx + side * x * cos - y * sin, cy + side * x * sin + y * cos)
    }
}

impl Blade {
    /// The blade of an outline, in pixels.
    pub(super) fn new(outline: Path) -> Arc<Self> {
        let mut corners = Vec::new();
        let corner = |from: Pixel, to: Pixel| {
            if from != to {
                corners.push(to)
            }
        };
        trace(&outline, |p| (p.0 as f32, p.1 as f32), corner);
        Arc::new(Self { outline, corners })
    }

    /// The outline as it is, pointing at twelve.
    pub(super) fn upright(&self) -> &Path {
        &self.outline
    }

    /// The outline as it stands.
    pub(super) fn outline(&self, stand: Stand) -> Path {
        self.outline.map(stand.at())
    }

    /// The mask as it stands; what lies beyond `limit` may be missing.
    pub(super) fn mask(&self, stand: Stand, to_coded: Affine, limit: PixelBox) -> Mask {
        let to = stand.at();
        let coded = |p: Point| {
            let (x, y) = to(p);
            to_coded.apply(x, y)
        };
        let centre = coded((0.0, 0.0));
        let unit = |p: Point| {
            let (x, y) = coded(p);
            ((x - centre.0) as f32, (y - centre.1) as f32)
        };
        let directions = [unit((1.0, 0.0)), unit((0.0, 1.0))];
        let mask = TOOLS.with_borrow_mut(|tools| {
            widely(
                #[inline(always)]
                || tools.mask(&self.corners, centre, directions),
            )
        });
        mask.unwrap_or_else(|| cover::mask(&self.outline(stand), to_coded, Some(limit)))
    }
}

impl Tools {
    /// The mask of an outline about a centre, whose directions to the right and down are these. None if there is a line that
    /// meets it more than twice, or if it lies farther away than any picture reaches.
    #[inline(always)]
    fn mask(&mut self, corners: &[Pixel], centre: Point, [x, y]: [Pixel; 2]) -> Option<Mask> {
        if corners.len() < 3 {
            return Some(Mask::default());
        }
        let is_near = |at: f64| at.abs() <= cover::LARGEST;
        if !is_near(centre.0) || !is_near(centre.1) {
            return None;
        }
        // A hand stands if its length goes down the picture rather than across it; otherwise columns are lines.
        let stands = y.1.abs() >= y.0.abs();
        let cell = (even(centre.0), even(centre.1));
        let pivot = ((centre.0 - f64::from(cell.0)) as f32, (centre.1 - f64::from(cell.1)) as f32);
        self.corners.clear();
        self.corners.extend(corners.iter().map(|p| (p.0 * x.0 + p.1 * y.0 + pivot.0, p.0 * x.1 + p.1 * y.1 + pivot.1)));
        let far = (f32::MAX, f32::MIN);
        let (mut columns, mut rows) = (far, far);
        for &(x, y) in &self.corners {
            columns = (least(columns.0, x), most(columns.1, x));
            rows = (least(rows.0, y), most(rows.1, y));
        }
        let extent = most(columns.1 - columns.0, rows.1 - rows.0);
        if !is_near(f64::from(extent)) {
            return None;
        }
        let first = |from: f32| (from.floor() as i32) & !1;
        // Above the outline's first row a pixel may still have a share of a side that slants.
        let origin = (first(columns.0), first(rows.0 - 1.0));
        let size = ((columns.1 - origin.0 as f32) as usize + 1, (rows.1 - origin.1 as f32) as usize + 1);
        for p in &mut self.corners {
            *p = (p.0 - origin.0 as f32, p.1 - origin.1 as f32);
            if !stands {
                *p = (p.1, p.0);
            }
        }
        if self.turns() > 2 {
            return None;
        }
        self.meet(if stands { size.1.next_multiple_of(2) } else { size.0.next_multiple_of(GROUP) });
        let place = (cell.0 + origin.0, cell.1 + origin.1);
        Some(if stands { self.standing(place) } else { self.lying(place, size.1) })
    }

    /// How often the outline turns from going down to going up, or back.
    #[inline(always)]
    fn turns(&self) -> usize {
        let Some(&last) = self.corners.last() else { return 0 };
        let (mut turns, mut before) = (0, last.1);
        // As far as it went before the first corner, which the last ones tell.
        let mut down = self.corners.iter().rev().map(|p| p.1).find(|&y| y != last.1).is_some_and(|y| y < last.1);
        for corner in &self.corners {
            if corner.1 != before {
                turns += usize::from((corner.1 > before) != down);
                down = corner.1 > before;
            }
            before = corner.1;
        }
        turns
    }

    /// Works out where so many lines meet the sides.
    #[inline(always)]
    fn meet(&mut self, lines: usize) {
        let Self { corners, sides, highest, .. } = self;
        for side in &mut *sides {
            for sums in [&mut side.start, &mut side.step, &mut side.height] {
                sums.clear();
                sums.resize(lines, 0.0);
            }
        }
        let mut area = 0.0;
        let mut before = corners.last().copied().unwrap_or_default();
        for &corner in &*corners {
            let (a, b) = (before, corner);
            before = corner;
            area += (b.1 - a.1) * (a.0 + b.0);
            let ([down, up], goes_down) = (&mut *sides, a.1 < b.1);
            if goes_down { down.add(a, b) } else { up.add(b, a) }
        }
        if area > 0.0 {
            sides.swap(0, 1);
        }
        highest.clear();
        highest.resize(lines, 0.0);
        let [left, right] = sides;
        left.average();
        right.average();
        for (highest, height) in highest.iter_mut().zip(&left.height) {
            *highest = if *height < NOTHING { 0.0 } else { 255.0 * height };
        }
        left.turn_into_shares(255.0);
        right.turn_into_shares(-255.0);
    }

    /// The mask of a hand whose lines are rows, the first one at a place.
    #[inline(always)]
    fn standing(&mut self, (x, y): (i32, i32)) -> Mask {
        let Self { sides: [left, right], highest, stretches, .. } = self;
        let lines = highest.len();
        stretches.clear();
        let mut groups = 0;
        for row in 0..lines / 2 {
            let (mut from, mut to) = (f32::MAX, f32::MIN);
            for line in [2 * row, 2 * row + 1] {
                if highest[line] > 0.0 {
                    from = least(from, -left.start[line] / left.step[line]);
                    to = most(to, -right.start[line] / right.step[line]);
                }
            }
            let stretch = if from < to { (((from - 0.5).floor() as i32) & !1, (to + 0.5) as i32 + 1) } else { (0, 0) };
            groups += 2 * ((stretch.1 - stretch.0) as usize).div_ceil(GROUP);
            stretches.push(stretch);
        }
        let mut mask = Mask::of_cells(lines, groups * GROUP);
        for (row, &(from, to)) in stretches.iter().enumerate() {
            let columns = (to - from) as usize;
            if columns == 0 {
                continue;
            }
            let rows = mask.push_cells((x + from, y + 2 * row as i32), columns.div_ceil(GROUP));
            for (line, groups) in [2 * row, 2 * row + 1].into_iter().zip(rows) {
                let most = highest[line];
                let [(a, more_a), (b, more_b)] = [&*left, &*right].map(|side| (side.start[line], side.step[line]));
                for (group, shares) in groups.iter_mut().enumerate() {
                    let first = (from + (group * GROUP) as i32) as f32 + 0.5;
                    for (i, share) in shares.iter_mut().enumerate() {
                        let place = first + i as f32;
                        *share = level(most, a + more_a * place, b + more_b * place);
                    }
                }
            }
        }
        mask
    }

    /// The mask of a hand whose lines are columns, and that has so many rows.
    #[inline(always)]
    fn lying(&mut self, (x, y): (i32, i32), rows: usize) -> Mask {
        let Self { sides: [upper, lower], highest, stretches, .. } = self;
        stretches.clear();
        stretches.resize(rows.div_ceil(2) + 1, (i32::MAX, 0));
        let mut groups = 0;
        for group in 0..highest.len() / GROUP {
            let lines = group * GROUP..(group + 1) * GROUP;
            let (mut from, mut to) = (f32::MAX, f32::MIN);
            for line in lines.filter(|&line| highest[line] > 0.0) {
                from = least(from, -upper.start[line] / upper.step[line]);
                to = most(to, -lower.start[line] / lower.step[line]);
            }
            let last = (to * 0.5) as usize;
            for row in stretches.iter_mut().take(last + 1).skip((from * 0.5) as usize) {
                *row = (row.0.min(group as i32), group as i32 + 1);
                groups += 2;
            }
        }
        let mut mask = Mask::of_cells(2 * stretches.len(), groups * GROUP);
        for (row, &(from, to)) in stretches.iter().enumerate().filter(|(_, (from, to))| from < to) {
            let first = from as usize * GROUP;
            let lines = mask.push_cells((x + first as i32, y + 2 * row as i32), (to - from) as usize);
            for (down, groups) in [2 * row, 2 * row + 1].into_iter().zip(lines) {
                let place = down as f32 + 0.5;
                let start = |values: &[f32], group: usize| {
                    let mut own = [0.0; GROUP];
                    own.copy_from_slice(&values[first + group * GROUP..][..GROUP]);
                    own
                };
                for (group, shares) in groups.iter_mut().enumerate() {
                    let (most, a, b) = (start(highest, group), start(&upper.start, group), start(&lower.start, group));
                    let (more_a, more_b) = (start(&upper.step, group), start(&lower.step, group));
                    for i in 0..GROUP {
                        shares[i] = level(most[i], a[i] + more_a[i] * place, b[i] + more_b[i] * place);
                    }
                }
            }
        }
        mask
    }
}

impl Side {
    /// Adds a piece of the side, line by line.
    #[inline(always)]
    fn add(&mut self, from: Pixel, to: Pixel) {
        if from.1 >= to.1 {
            return;
        }
        let slope = (to.0 - from.0) / (to.1 - from.1);
        let lean = slope.abs().min(FLATTEST);
        let (mut at, mut line) = (from.1, from.1 as i32 as usize);
        while at < to.1 {
            let end = least((line + 1) as f32, to.1);
            let height = end - at;
            let place = from.0 + slope * (0.5 * (at + end) - from.1);
            if let (Some(start), Some(step), Some(all)) =
                (self.start.get_mut(line), self.step.get_mut(line), self.height.get_mut(line))
            {
                *start += height * place;
                *step += height * lean;
                *all += height;
            }
            (at, line) = (end, line + 1);
        }
    }

    /// From sums to where the side is, and how fast the shares change there.
    #[inline(always)]
    fn average(&mut self) {
        for ((start, step), height) in self.start.iter_mut().zip(&mut self.step).zip(&self.height) {
            let per_height = 1.0 / most(*height, NOTHING);
            let lean = *step * per_height;
            *start *= per_height;
            *step = 1.0 / (1.0 + lean * lean).sqrt();
        }
    }

    /// From there to shares, which half a pixel beside the side are `full` or nothing.
    #[inline(always)]
    fn turn_into_shares(&mut self, full: f32) {
        for (start, step) in self.start.iter_mut().zip(&mut self.step) {
            *step *= full;
            *start = 0.5 * full.abs() - *start * *step;
        }
    }
}

/// The same outline without its loops and folds: at every corner's height it reaches as far left and right as that.
pub(super) fn unfolded(outline: &Path) -> Path {
    let mut pieces = Vec::new();
    trace(outline, |p| (p.0 as f32, p.1 as f32), |from, to| pieces.push((from, to)));
    pieces.retain(|(from, to)| from != to);
    let mut heights: Vec<f32> = pieces.iter().map(|piece| piece.0.1).collect();
    heights.sort_by(f32::total_cmp);
    heights.dedup_by(|a, b| (*a - *b).abs() < NOTHING);
    let (mut left, mut right) = (Vec::new(), Vec::new());
    for height in heights {
        let mut sides = (f32::MAX, f32::MIN);
        for &(a, b) in &pieces {
            if (a.1 - height) * (b.1 - height) <= 0.0 {
                let share = if a.1 == b.1 { 0.0 } else { (height - a.1) / (b.1 - a.1) };
                let place = a.0 + share * (b.0 - a.0);
                sides = (sides.0.min(place), sides.1.max(place));
            }
        }
        left.push((f64::from(sides.0), f64::from(height)));
        right.push((f64::from(sides.1), f64::from(height)));
    }
    right.reverse();
    left.append(&mut right);
    Path::polygon(&left)
}

/// The share in levels of a pixel that lies right of one side by `left`, and left of the other by `right`: less what either leaves out.
#[inline(always)]
fn level(highest: f32, left: f32, right: f32) -> u8 {
    let both = least(left, 255.0) + least(right, 255.0) - 255.0;
    (most(least(highest, both), 0.0) + WHOLE).to_bits() as u8
}

/// The last even number before a place.
fn even(at: f64) -> i32 {
    (at / 2.0).floor() as i32 * 2
}

/// The lesser of two numbers, none of which is missing: what vectors have as one instruction.
#[inline(always)]
pub(super) const fn least(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// The greater one.
#[inline(always)]
pub(super) const fn most(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

#[cfg(test)]
mod tests {
    use super::super::hands::{Hand, Pivot};
    use super::super::leaves::LeafPair;
    use super::*;
    use std::collections::BTreeMap;

    const LIMIT: PixelBox = PixelBox { x: 0, y: 0, width: 2000, height: 2000 };

    /// All blades of all hands of some radii, from a small dial of a small film to a large one of 4K.
    fn blades() -> Vec<Arc<Blade>> {
        let hands = [40.3, 102.0, 152.7, 305.0].into_iter().flat_map(|r| {
            let pivot = Pivot { centre: (0.0, 0.0), r, k: 1.0 + 20.0 / r };
            let pair = LeafPair::new(pivot, 0.885, (0.87, 0.70), 0.1);
            let hands = [Hand::new(pivot), Hand::short(pivot), Hand::stub(pivot)];
            hands.into_iter().flat_map(|hand| hand.blades()).chain(pair.blades()).collect::<Vec<_>>()
        });
        hands.collect()
    }

    /// The exact areas are another algorithm's: see `cover`.
    #[test]
    fn every_hand_is_what_its_exact_outline_is() {
        for (i, blade) in blades().iter().enumerate() {
            for turn in 0..90 {
                let centre = (640.0 + 0.37 * f64::from(turn), 500.0 + 0.61 * f64::from(turn));
                let stand = Stand { centre, degrees: 4.0 * f64::from(turn) + 0.3, mirrored: turn % 3 == 0 };
                let unit = |p| (stand.at()(p).0 - centre.0, stand.at()(p).1 - centre.1);
                let directions = [unit((1.0, 0.0)), unit((0.0, 1.0))].map(|(x, y)| (x as f32, y as f32));
                let quick = Tools::default().mask(&blade.corners, centre, directions);
                let own = quick.unwrap_or_else(|| panic!("blade {i} at {} turns too often", stand.degrees)).shares();
                assert_eq!(own, blade.mask(stand, Affine::IDENTITY, LIMIT).shares());
                let exact = cover::mask(&blade.outline(stand), Affine::IDENTITY, Some(LIMIT)).shares();
                let of = |shares: &BTreeMap<_, i32>, at| shares.get(at).copied().unwrap_or(0);
                let off: Vec<i32> =
                    own.keys().chain(exact.keys()).map(|at| (of(&own, at) - of(&exact, at)).abs()).collect();
                let area = |shares: &BTreeMap<_, i32>| shares.values().sum::<i32>() as f64 / 255.0;
                // At foot and tip, which are a few pixels wide, and where a narrow hand is nothing but foot and tip.
                let far = off.iter().filter(|off| **off > 14).count() / 2;
                let worst = off.iter().max().copied().unwrap_or(0);
                assert!(far <= 18 && worst <= 104, "blade {i} at {}: {far} off, {worst} at worst", stand.degrees);
                let (own, exact) = (area(&own), area(&exact));
                assert!((own - exact).abs() < 3.0 + 0.001 * exact, "blade {i} at {}: {own} for {exact}", stand.degrees);
            }
        }
    }

    #[test]
    fn an_outline_that_is_no_blade_is_filled_exactly() {
        // Two arms: a row meets it four times.
        let corners =
            [(-30.0, 0.0), (-30.0, -40.0), (-20.0, -40.0), (0.0, -10.0), (20.0, -40.0), (30.0, -40.0), (30.0, 0.0)];
        let blade = Blade::new(Path::polygon(&corners));
        let stand = Stand { centre: (100.3, 100.7), degrees: 0.0, mirrored: false };
        let exact = cover::mask(&blade.outline(stand), Affine::IDENTITY, Some(LIMIT));
        assert_eq!(blade.mask(stand, Affine::IDENTITY, LIMIT).shares(), exact.shares());
    }

    #[test]
    fn folds_are_taken_out_of_an_outline() {
        // A fold on the right, which goes back down and in.
        let corners = [(0.0, 10.0), (5.0, 0.0), (3.0, 2.0), (5.0, -4.0), (0.0, -20.0), (-5.0, 0.0)];
        let unfolded = Blade::new(unfolded(&Path::polygon(&corners)));
        let heights: Vec<f32> = unfolded.corners.iter().map(|p| p.1).collect();
        let top = heights.iter().position(|&y| y == heights.iter().copied().fold(f32::MAX, f32::min)).unwrap_or(0);
        let turned: Vec<f32> = heights.iter().cycle().skip(top).take(heights.len()).copied().collect();
        let ways: Vec<bool> = turned.windows(2).map(|pair| pair[0] < pair[1]).collect();
        assert_eq!(ways.windows(2).filter(|pair| pair[0] != pair[1]).count(), 1, "{turned:?}");
        assert!(unfolded.corners.contains(&(5.0, 0.0)) && unfolded.corners.contains(&(5.0, -4.0)));
    }
}

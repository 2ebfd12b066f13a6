//! Ticks as masks, worked out anew in every frame in which their card turns.
//!
//! A pixel's share is the product of what a tick's length and what its width leave of it, as if the pixel lay with the tick. Shares
//! are thus exact where a tick runs with the pixels. Where it slants, single pixels at its edges are off by less than a fifth, and its area by
//! less than a quarter of a pixel and 12 % (a pixel wide, at 45 degrees). The outlines of [`super::cover`] are exact everywhere, and take several times as long.

use crate::pixel::{Affine, GROUP, Mask, widely};

use super::blade::{WHOLE, least, most};
use super::cover;
use super::path::{Path, Point, polar};

/// Straight pieces of one length and one width on rays from one point.
#[derive(Debug, Clone, PartialEq)]
pub struct Ticks {
    /// Where the rays begin.
    pub centre: Point,
    /// How far from there the ticks begin and end, in pixels.
    pub ends: (f64, f64),
    /// Their width in pixels.
    pub width: f64,
    /// The rays, clockwise from twelve.
    pub degrees: Vec<f64>,
}

/// A tick on the pixels' grid.
struct Placed {
    /// Its middle.
    at: Point,
    /// Along it, and across.
    along: Point,
    across: Point,
    /// The pixels round it: first column and row, which are even, groups of columns, pairs of rows.
    corner: (i32, i32),
    groups: usize,
    pairs: i32,
}

impl Ticks {
    /// Their outline.
    pub(super) fn outline(&self) -> Path {
        let mut path = Path::default();
        self.degrees.iter().for_each(|&at| path.append(Path::tick(self.centre, self.ends, at, self.width)));
        path
    }

    /// Their mask; none if they are no ticks in coded pixels, or lie farther away than any picture reaches.
    pub(super) fn mask(&self, to_coded: Affine) -> Option<Mask> {
        let half = ((self.ends.1 - self.ends.0) / 2.0, self.width / 2.0);
        let ticks: Option<Vec<Placed>> =
            self.degrees.iter().map(|&degrees| self.placed(degrees, half, to_coded)).collect();
        let ticks = ticks.filter(|_| to_coded.keeps_shapes())?;
        let mut order: Vec<(i32, usize)> = Vec::with_capacity(ticks.len() * 8);
        for (i, tick) in ticks.iter().enumerate() {
            order.extend((0..tick.pairs).map(|pair| (tick.corner.1 + 2 * pair, i)));
        }
        // Masks go from top to bottom.
        order.sort_unstable();
        let groups: usize = ticks.iter().map(|tick| tick.groups * 2 * tick.pairs as usize).sum();
        let mut mask = Mask::of_cells(2 * order.len(), groups * GROUP);
        widely(
            #[inline(always)]
            || order.iter().for_each(|&(row, i)| ticks[i].fill(row, half, &mut mask)),
        );
        Some(mask)
    }

    fn placed(&self, degrees: f64, half: (f64, f64), to_coded: Affine) -> Option<Placed> {
        let (x, y) = polar(self.centre, (self.ends.0 + self.ends.1) / 2.0, degrees);
        let at = to_coded.apply(x, y);
        let (sin, cos) = degrees.to_radians().sin_cos();
        let turned = |(x, y): Point| (to_coded.a * x + to_coded.c * y, to_coded.b * x + to_coded.d * y);
        let (along, across) = (turned((sin, -cos)), turned((cos, sin)));
        // What lies half a pixel beyond its edges has nothing of it.
        let reach = |along: f64, across: f64| along.abs() * (half.0 + 0.5) + across.abs() * (half.1 + 0.5) + 0.5;
        let (wide, high) = (reach(along.0, across.0), reach(along.1, across.1));
        let is_near = [at.0, at.1, wide, high].into_iter().all(|v| v.abs() <= cover::LARGEST);
        is_near.then(|| {
            let corner = ((at.0 - wide).floor() as i32 & !1, (at.1 - high).floor() as i32 & !1);
            let size = ((at.0 + wide).ceil() as i32 - corner.0, (at.1 + high).ceil() as i32 - corner.1);
            Placed { at, along, across, corner, groups: (size.0 as usize).div_ceil(GROUP), pairs: (size.1 + 1) / 2 }
        })
    }
}

impl Placed {
    /// Adds two of its rows to a mask.
    #[inline(always)]
    fn fill(&self, row: i32, (length, width): (f64, f64), mask: &mut Mask) {
        let rows = mask.push_cells((self.corner.0, row), self.groups);
        for (row, groups) in (row..).zip(rows) {
            // From the tick's middle to the first pixel's, in the tick's own directions.
            let (x, y) = (f64::from(self.corner.0) + 0.5 - self.at.0, f64::from(row) + 0.5 - self.at.1);
            let [along, across] = [self.along, self.across].map(|to| ((x * to.0 + y * to.1) as f32, to.0 as f32));
            let (length, width) = (length as f32, width as f32);
            for (group, shares) in groups.iter_mut().enumerate() {
                let first = (group * GROUP) as f32;
                for (i, share) in shares.iter_mut().enumerate() {
                    let place = first + i as f32;
                    let of_length = within(along.0 + along.1 * place, length);
                    let both = 255.0 * of_length * within(across.0 + across.1 * place, width);
                    *share = (both + WHOLE).to_bits() as u8;
                }
            }
        }
    }
}

/// How much of a pixel at a place lies within so much on either side.
#[inline(always)]
pub(super) fn within(place: f32, half: f32) -> f32 {
    most(least(least(half + 0.5 - place.abs(), 2.0 * half), 1.0), 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pixel::PixelBox;
    use std::collections::BTreeMap;

    /// The exact areas are another algorithm's: see `cover`.
    #[test]
    fn ticks_are_what_their_exact_outlines_are() {
        let limit = PixelBox { x: 0, y: 0, width: 2000, height: 2000 };
        // A pixel of the second one lies on its middle line, half a pixel within its end.
        for (ends, width) in [
            ((17.0, 18.0), 1.0),
            ((5.0, 14.6421), 1.0),
            ((96.0, 103.3), 1.0),
            ((100.0, 112.5), 2.6),
            ((270.0, 306.0), 6.7),
        ] {
            for turn in 0..180 {
                let at = 2.0 * f64::from(turn / 2) + 45.0;
                let centre = if turn % 2 == 0 { (640.5, 500.5) } else { (640.37 + at / 7.0, 500.61) };
                let ticks = Ticks { centre, ends, width, degrees: vec![at] };
                let exact = cover::mask(&ticks.outline(), Affine::IDENTITY, Some(limit)).shares();
                let own = ticks.mask(Affine::IDENTITY).unwrap_or_default().shares();
                let of = |shares: &BTreeMap<_, i32>, at| shares.get(at).copied().unwrap_or(0);
                let places = own.keys().chain(exact.keys());
                let worst = places.map(|at| (of(&own, at) - of(&exact, at)).abs()).max().unwrap_or(0);
                let area = |shares: &BTreeMap<_, i32>| f64::from(shares.values().sum::<i32>()) / 255.0;
                let (ours, all) = (area(&own), area(&exact));
                assert!(worst <= 45, "{worst} at {at}, {width} wide");
                assert!((ours - all).abs() < 0.25 + 0.12 * all, "{ours} for {all} at {at}, {width} wide");
            }
        }
    }

    #[test]
    fn masks_go_from_top_to_bottom_and_stretched_ticks_are_none() {
        let ticks = Ticks { centre: (100.0, 100.0), ends: (80.0, 90.0), width: 2.0, degrees: vec![185.0, 10.0, 100.0] };
        let mask = ticks.mask(Affine::IDENTITY).unwrap_or_default();
        assert!(mask.cells().is_some_and(|cells| cells.map(|((_, y), _)| y).is_sorted()));
        assert!(ticks.mask(Affine { a: 1.2, ..Affine::IDENTITY }).is_none());
        let far = Ticks { centre: (1e9, 100.0), ..ticks };
        assert!(far.mask(Affine::IDENTITY).is_none());
    }
}

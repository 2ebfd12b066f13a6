//! Sectors as masks: a wedge, or rings within one, worked out anew in every frame in which two hands move apart.
//!
//! A pixel's share is the product of what the two rays and what the nearest ring leave of it, each as if the pixel lay with that edge.
//! Shares are thus exact where an edge runs with the pixels, and off by a 23rd where it slants by 45 degrees, by a 12th in a ring a pixel
//! wide; where a ray meets a ring's edge, single pixels are off by up to 27 %. The outlines of [`super::cover`] are exact everywhere, and take many times as long.

use crate::pixel::{Affine, GROUP, Mask, widely};

use super::blade::{WHOLE, least, most};
use super::cover;
use super::path::{Path, Point};
use super::ticks::within;

/// A ray whose columns move by less than this a row is level: a row lies on one side of it.
const LEVEL: f32 = 1e-6;

/// Rings about one point, between two rays from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sector {
    /// Where the rays begin.
    pub centre: Point,
    /// The rays, clockwise from twelve: from the first to the second, no more than a turn.
    pub degrees: (f64, f64),
    /// Radius of the innermost ring's middle, in pixels.
    pub first: f64,
    /// From one ring to the next.
    pub pitch: f64,
    /// How many there are, one at least.
    pub count: u16,
    /// Width of a ring. One as wide as to reach the centre is a wedge.
    pub width: f64,
}

/// A sector on the pixels' grid.
struct Placed {
    centre: (f32, f32),
    /// Across each ray, towards the sector.
    rays: [(f32, f32); 2],
    both: Both,
    first: f32,
    pitch: f32,
    last: f32,
    half: f32,
}

/// How the shares that two rays leave of a pixel become one.
///
/// Of up to a quarter turn, what lies beyond either is left out; of up to half a turn the lesser share counts, since both rays lie in
/// one line at last. Of more than that, it is what the sector leaves out that is shared so.
struct Both {
    /// Whether the sector is what is left out: then 1 and -1, else 0 and 1.
    all: f32,
    sense: f32,
    /// 1 up to a quarter turn, else 0.
    less: f32,
}

/// Columns and both rows of a pair that hold any of it.
struct Stretch {
    row: i32,
    column: i32,
    groups: usize,
}

impl Sector {
    /// All that lies between two rays up to a radius.
    pub(super) const fn wedge(centre: Point, degrees: (f64, f64), radius: f64) -> Self {
        Self { centre, degrees, first: 0.0, pitch: 1.0, count: 1, width: 2.0 * radius }
    }

    /// Its outline.
    pub(super) fn outline(&self) -> Path {
        let mut path = Path::default();
        for ring in 0..self.count {
            let middle = self.first + f64::from(ring) * self.pitch;
            path.append(if middle <= self.width / 2.0 {
                Path::wedge(self.centre, middle + self.width / 2.0, self.degrees)
            } else {
                Path::arc_band(self.centre, middle, self.degrees, self.width)
            });
        }
        path
    }

    /// Its mask; none if coded pixels are not square, or if it lies farther away than any picture reaches.
    pub(super) fn mask(&self, to_coded: Affine) -> Option<Mask> {
        let (x, y) = to_coded.apply(self.centre.0, self.centre.1);
        let outer = self.first + f64::from(self.count.saturating_sub(1)) * self.pitch + self.width / 2.0;
        let is_near = [x, y, outer].into_iter().all(|v| v.abs() <= cover::LARGEST);
        if !to_coded.keeps_shapes() || !is_near {
            return None;
        }
        let cell = ((x.floor() as i32) & !1, (y.floor() as i32) & !1);
        let across = |degrees: f64, side: f64| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            let (x, y) = (to_coded.a * cos + to_coded.c * sin, to_coded.b * cos + to_coded.d * sin);
            ((side * x) as f32, (side * y) as f32)
        };
        let placed = Placed {
            centre: ((x - f64::from(cell.0)) as f32, (y - f64::from(cell.1)) as f32),
            rays: [across(self.degrees.0, 1.0), across(self.degrees.1, -1.0)],
            // Steps of two hands may add up to a little more than a turn.
            both: Both::of((self.degrees.1 - self.degrees.0).min(360.0)),
            first: self.first as f32,
            pitch: self.pitch as f32,
            last: f32::from(self.count.saturating_sub(1)),
            half: (self.width / 2.0) as f32,
        };
        let stretches = placed.stretches(outer as f32);
        let groups: usize = stretches.iter().map(|stretch| 2 * stretch.groups).sum();
        let mut mask = Mask::of_cells(2 * stretches.len(), groups * GROUP);
        widely(
            #[inline(always)]
            || {
                for stretch in &stretches {
                    let rows = mask.push_cells((cell.0 + stretch.column, cell.1 + stretch.row), stretch.groups);
                    for (row, groups) in (stretch.row..).zip(rows) {
                        placed.fill((stretch.column, row), groups);
                    }
                }
            },
        );
        Some(mask)
    }
}

impl Both {
    const fn of(turn: f64) -> Self {
        let within = if turn > 180.0 { 360.0 - turn } else { turn };
        let (all, sense) = if turn > 180.0 { (1.0, -1.0) } else { (0.0, 1.0) };
        Self { all, sense, less: if within <= 90.0 { 1.0 } else { 0.0 } }
    }

    #[inline(always)]
    fn share(&self, a: f32, b: f32) -> f32 {
        let (a, b) = (self.all + self.sense * a, self.all + self.sense * b);
        self.all + self.sense * most(least(least(a, b), a + b - self.less), 0.0)
    }
}

impl Placed {
    /// Where each pair of rows holds any of it, up to a radius.
    fn stretches(&self, outer: f32) -> Vec<Stretch> {
        let reach = outer + 1.0;
        let (top, bottom) = ((self.centre.1 - reach).floor() as i32 & !1, (self.centre.1 + reach).ceil() as i32);
        let stretch = |row: i32| {
            // The middles of both rows, from the centre.
            let rows = [row as f32 + 0.5 - self.centre.1, row as f32 + 1.5 - self.centre.1];
            let nearest = least(rows[0].abs(), rows[1].abs());
            let half = reach * reach - nearest * nearest;
            let chord = (half > 0.0).then(|| (-half.sqrt(), half.sqrt()))?;
            let [a, b] = self.rays.map(|(right, down)| {
                let beyond = -(most(down * rows[0], down * rows[1]) + 0.5);
                if right > LEVEL {
                    (most(beyond / right, chord.0), chord.1)
                } else if right < -LEVEL {
                    (chord.0, least(beyond / right, chord.1))
                } else if beyond < 0.0 {
                    chord
                } else {
                    (f32::MAX, f32::MIN)
                }
            });
            let (from, to) = match (a.0 < a.1, b.0 < b.1) {
                _ if self.both.sense > 0.0 => (most(a.0, b.0), least(a.1, b.1)),
                (true, true) => (least(a.0, b.0), most(a.1, b.1)),
                (true, false) => a,
                _ => b,
            };
            (from < to).then(|| {
                let column = ((from + self.centre.0 - 0.5).floor() as i32) & !1;
                let columns = (to + self.centre.0 + 0.5).ceil() as i32 - column;
                Stretch { row, column, groups: (columns as usize).div_ceil(GROUP) }
            })
        };
        (top..=bottom).step_by(2).filter_map(stretch).collect()
    }

    /// Sets the shares of a row of pixels, the first of which is here.
    #[inline(always)]
    fn fill(&self, (column, row): (i32, i32), groups: &mut [[u8; GROUP]]) {
        let (left, y) = (column as f32 + 0.5 - self.centre.0, row as f32 + 0.5 - self.centre.1);
        let [(a, more_a), (b, more_b)] = self.rays.map(|(right, down)| (down * y + 0.5, right));
        let per_pitch = 1.0 / self.pitch;
        for (group, shares) in groups.iter_mut().enumerate() {
            let left = left + (group * GROUP) as f32;
            for (i, share) in shares.iter_mut().enumerate() {
                let x = left + i as f32;
                let rays = self.both.share(part(a + more_a * x), part(b + more_b * x));
                let radius = (x * x + y * y).sqrt();
                // The nearest ring, as a whole number.
                let ring = (most(least((radius - self.first) * per_pitch, self.last), 0.0) + WHOLE) - WHOLE;
                let rings = within(radius - self.first - ring * self.pitch, self.half);
                *share = (255.0 * rays * rings + WHOLE).to_bits() as u8;
            }
        }
    }
}

/// No less than nothing, and no more than all.
#[inline(always)]
fn part(share: f32) -> f32 {
    most(least(share, 1.0), 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pixel::PixelBox;
    use std::collections::{BTreeMap, BTreeSet};

    /// The exact areas are another algorithm's: see `cover`.
    #[test]
    fn sectors_are_what_their_exact_outlines_are() {
        let limit = PixelBox { x: 0, y: 0, width: 1000, height: 1000 };
        let wide = [0.4, 1.6, 3.0, 20.0, 75.0, 90.0, 120.0, 179.0, 180.0, 200.0, 265.0, 284.0, 340.0];
        for (i, open) in wide.iter().enumerate() {
            for turn in 0..24 {
                let from = 15.0 * f64::from(turn) - 180.0 + 2.3 * (i % 2) as f64;
                let centre = (500.0 + 0.37 * f64::from(turn), 500.5 + 0.61 * f64::from(turn % 5));
                let degrees = (from, from + open);
                for r in [61.0, 157.3] {
                    let rings = Sector {
                        centre,
                        degrees,
                        first: 0.16 * r,
                        pitch: 0.085 * r,
                        count: 9,
                        width: (0.013 * r).max(1.0),
                    };
                    for sector in [Sector::wedge(centre, degrees, 0.84 * r), rings] {
                        let exact = cover::mask(&sector.outline(), Affine::IDENTITY, Some(limit)).shares();
                        let own = sector.mask(Affine::IDENTITY).unwrap_or_default().shares();
                        let of = |shares: &BTreeMap<_, i32>, at| shares.get(at).copied().unwrap_or(0);
                        let places: BTreeSet<_> = own.keys().chain(exact.keys()).collect();
                        let off: Vec<i32> = places.iter().map(|at| (of(&own, at) - of(&exact, at)).abs()).collect();
                        let worst = off.iter().max().copied().unwrap_or(0);
                        // Where rays and rings meet, which are eighteen places at a ray.
                        let far = off.iter().filter(|off| **off > 14).count();
                        let area = |shares: &BTreeMap<_, i32>| f64::from(shares.values().sum::<i32>()) / 255.0;
                        let (ours, all) = (area(&own), area(&exact));
                        let what = format!("{open} from {from}, {} rings of {r}", sector.count);
                        assert!(worst <= 68 && far <= 54, "{what}: {far} off, {worst} at worst");
                        // A 23rd of a pixel all along its edges; hardly wider than a pixel, it is as ragged as a hair.
                        let turn = open.to_radians();
                        let rays = if sector.count == 1 { 2.0 * 0.84 * r } else { 0.0 };
                        let arcs = if sector.count == 1 { 0.84 * r * turn } else { 2.0 * 9.0 * 0.5 * r * turn };
                        let thin = if turn * r < 2.0 { 0.35 * all } else { 0.0 };
                        assert!((ours - all).abs() < 0.5 + (rays + arcs) / 23.0 + thin, "{what}: {ours} for {all}");
                    }
                }
            }
        }
    }

    #[test]
    fn stretched_and_far_sectors_are_none() {
        let sector = Sector::wedge((100.0, 100.0), (10.0, 40.0), 50.0);
        assert!(
            sector
                .mask(Affine::IDENTITY)
                .is_some_and(|mask| mask.cells().is_some_and(|mut cells| cells.next().is_some()))
        );
        assert!(sector.mask(Affine { a: 1.2, ..Affine::IDENTITY }).is_none());
        assert!(Sector { centre: (1e9, 100.0), ..sector }.mask(Affine::IDENTITY).is_none());
    }

    #[test]
    fn a_turned_and_mirrored_sector_is_that_sector() {
        let sector = Sector::wedge((100.3, 80.7), (10.0, 95.0), 50.0);
        // A quarter turn clockwise, mirrored.
        for (turn, degrees) in [
            (Affine { a: 0.0, b: 1.0, c: -1.0, d: 0.0, e: 300.0, f: 0.0 }, (100.0, 185.0)),
            (Affine { a: -1.0, b: 0.0, c: 0.0, d: 1.0, e: 300.0, f: 0.0 }, (-95.0, -10.0)),
        ] {
            let there = Sector::wedge(turn.apply(100.3, 80.7), degrees, 50.0);
            let [ours, plain] =
                [sector.mask(turn), there.mask(Affine::IDENTITY)].map(|mask| mask.unwrap_or_default().shares());
            let off = plain.iter().map(|(at, share)| (ours.get(at).copied().unwrap_or(0) - share).abs()).max();
            assert!(off.is_some_and(|off| off <= 1) && ours.len().abs_diff(plain.len()) <= 2, "{turn:?}: {off:?}");
        }
    }
}

//! Outlines as masks: how much of each pixel an outline covers, by exact areas.
//!
//! Row by row: every straight piece that crosses a row adds, in the columns that it crosses, what it covers to its right; sums
//! from left to right then are the shares. Only columns that a piece crosses are looked at one by one: between them a shape is
//! whole or empty.

use std::cell::RefCell;

use crate::pixel::{Affine, Mask, PixelBox};

use super::path::{Path, Point, Segment};

/// How far a chord may lie from its curve, in pixels.
const FARTHEST_CHORD: f32 = 0.005;
/// No outline is wider or higher than this many pixels.
const LARGEST: f64 = 16_384.0;
/// Stretches of a row no further apart than this become one: few long runs are laid faster than many short ones.
const GAP: usize = 8;
/// What is left of a sum by rounding.
const NOTHING: f32 = 1e-4;

/// A straight piece of an outline that crosses rows, its upper end first.
#[derive(Clone, Copy)]
struct Chord {
    x: f32,
    top: f32,
    bottom: f32,
    /// Columns to the right for each row down.
    slope: f32,
    /// Whether it was drawn downwards: 1, or -1.
    sense: f32,
    /// The next one of the same first row, counted from 1; 0 for none.
    next: u32,
}

/// Memory that is kept from outline to outline.
#[derive(Default)]
struct Tools {
    chords: Vec<Chord>,
    /// For each row the first of the chords that start in it, counted from 1; 0 for none.
    starts: Vec<u32>,
    /// Those that reach the row.
    near: Vec<Chord>,
    /// What the chords of a row add, column by column; zero again when the row is done.
    sums: Vec<f32>,
    /// Which columns they add to, a bit each; zero again when the row is done.
    crossed: Vec<u64>,
    /// One stretch of a row.
    values: Vec<u8>,
    /// The mask as it grows: it leaves as a copy that is no larger than it must be.
    mask: Mask,
}

thread_local! {
    static TOOLS: RefCell<Tools> = RefCell::default();
}

/// The mask of an outline whose contours do not overlap each other in opposite senses (letters, hands, plates, lines), where
/// `limit` is, if there is one.
pub(super) fn mask(path: &Path, to_coded: Affine, limit: Option<PixelBox>) -> Mask {
    TOOLS.with_borrow_mut(|tools| tools.mask(path, to_coded, limit)).unwrap_or_default()
}

impl Tools {
    fn mask(&mut self, path: &Path, to_coded: Affine, limit: Option<PixelBox>) -> Option<Mask> {
        let (left, top, right, bottom) = whole_pixels(path, to_coded)?;
        let (mut first, mut last) = (top, bottom);
        if let Some(limit) = limit {
            (first, last) = (top.max(i64::from(limit.y)), bottom.min(i64::from(limit.bottom())));
        }
        let rows = 0..(last - first).max(0) as usize;
        let local = |p: Point| {
            let (x, y) = to_coded.apply(p.0, p.1);
            ((x - left as f64) as f32, (y - first as f64) as f32)
        };
        self.chords.clear();
        let chords = &mut self.chords;
        trace(path, local, |from, to| chords.extend(Chord::between(from, to, rows.end as f32)));
        self.starts.clear();
        self.starts.resize(rows.end, 0);
        for (number, chord) in (1..).zip(chords) {
            // Its upper end lies above the last row's lower edge.
            chord.next = std::mem::replace(&mut self.starts[chord.top as usize], number);
        }

        // A column to spare, for what a chord in the last one adds to its right.
        let columns = (right - left) as usize + 2;
        self.sums.resize(columns, 0.0);
        self.crossed.resize(columns.div_ceil(64), 0);
        self.mask.clear();
        self.near.clear();
        for row in rows {
            let above = row as f32;
            self.near.retain(|chord| chord.bottom > above);
            let mut next = self.starts[row];
            while let Some(chord) = (next as usize).checked_sub(1).and_then(|i| self.chords.get(i)) {
                self.near.push(*chord);
                next = chord.next;
            }
            if !self.near.is_empty() {
                self.row((left as i32, (first + row as i64) as i32), above);
            }
        }
        Some(self.mask.clone())
    }

    /// Fills a row whose upper edge is at `above`.
    fn row(&mut self, (left, row): (i32, i32), above: f32) {
        let Self { near, sums, crossed, values, mask, .. } = self;
        near.iter().for_each(|chord| chord.add(above, sums, crossed));
        let (mut sum, mut start, mut end) = (0.0_f32, 0, 0);
        values.clear();
        for (word, bits) in crossed.iter_mut().enumerate() {
            while *bits != 0 {
                let column = 64 * word + bits.trailing_zeros() as usize;
                *bits &= *bits - 1;
                // Between the columns that are crossed all is as it is.
                let apart = column - end;
                if apart > 0 {
                    if sum.abs() < NOTHING && (apart > GAP || values.is_empty()) {
                        mask.push((left + start as i32, row), values);
                        values.clear();
                        start = column;
                    } else {
                        values.resize(values.len() + apart, cover_of(sum));
                    }
                }
                sum += std::mem::take(&mut sums[column]);
                values.push(cover_of(sum));
                end = column + 1;
            }
        }
        mask.push((left + start as i32, row), values);
    }
}

impl Chord {
    /// None where it crosses no row from 0 to `rows`.
    fn between(from: (f32, f32), to: (f32, f32), rows: f32) -> Option<Self> {
        let (a, b, sense) = if from.1 <= to.1 { (from, to, 1.0) } else { (to, from, -1.0) };
        if a.1 >= b.1 || b.1 <= 0.0 || a.1 >= rows {
            return None;
        }
        let slope = (b.0 - a.0) / (b.1 - a.1);
        let top = a.1.max(0.0);
        Some(Self { x: a.0 + slope * (top - a.1), top, bottom: b.1.min(rows), slope, sense, next: 0 })
    }

    /// Adds what it covers to its right in the row whose upper edge is at `above`, and notes the columns.
    fn add(&self, above: f32, sums: &mut [f32], crossed: &mut [u64]) {
        let (from, to) = (self.top.max(above), self.bottom.min(above + 1.0));
        let at = |y: f32| (self.x + self.slope * (y - self.top)).max(0.0);
        let (a, b) = (at(from), at(to));
        let (low, high) = (a.min(b), a.max(b));
        let height = (to - from) * self.sense;
        let (first, last) = (low as usize, high as usize);
        for (word, bits) in (first / 64..).zip(&mut crossed[first / 64..=(last + 1) / 64]) {
            let (low, high) = (first.max(64 * word) % 64, (last + 1).min(64 * word + 63) % 64);
            *bits |= (u64::MAX >> (63 - (high - low))) << low;
        }
        if first == last {
            // A share of the column lies to its right, all of the next ones do.
            let covered = 1.0 - (0.5 * (low + high) - first as f32);
            sums[first] += height * covered;
            sums[first + 1] += height * (1.0 - covered);
            return;
        }
        // How much of the height lies in each column, and from there the area to the right of the chord.
        let per_column = height / (high - low);
        let mut before = 0.0;
        for (column, sum) in (first..).zip(&mut sums[first..=last]) {
            let (enter, leave) = (low.max(column as f32), high.min((column + 1) as f32));
            let part = per_column * (leave - enter);
            let covered = part * (1.0 - (0.5 * (enter + leave) - column as f32));
            *sum += before + covered;
            before = part - covered;
        }
        sums[last + 1] += before;
    }
}

/// A share of a pixel, rounded to nearest; contours that run the other way count as well.
fn cover_of(share: f32) -> u8 {
    // The cast ends at 255.
    (share.abs() * 255.0 + 0.5) as u8
}

/// Whole pixels round an outline, with one to spare on each side.
fn whole_pixels(path: &Path, to_coded: Affine) -> Option<(i64, i64, i64, i64)> {
    let grow = |(l, t, r, b): (f64, f64, f64, f64), (x, y): Point| (l.min(x), t.min(y), r.max(x), b.max(y));
    let points = path.points().map(|(x, y)| to_coded.apply(x, y));
    let (left, top, right, bottom) = points.fold((f64::MAX, f64::MAX, f64::MIN, f64::MIN), grow);
    let near = [left, top, right, bottom].into_iter().all(|v| v.abs() <= LARGEST * 4.0);
    let sound = near && left <= right && right - left < LARGEST && bottom - top < LARGEST;
    sound.then(|| {
        let (left, top) = (left.floor() as i64 - 1, top.floor() as i64 - 1);
        (left, top, right.ceil() as i64 + 1, bottom.ceil() as i64 + 1)
    })
}

/// A place in pixels.
type Pixel = (f32, f32);

/// Hands on the straight pieces of an outline, curves by chords; every contour is closed.
fn trace(path: &Path, local: impl Fn(Point) -> Pixel, mut each: impl FnMut(Pixel, Pixel)) {
    let (mut start, mut pen): (Pixel, Pixel) = Default::default();
    for segment in &path.segments {
        match *segment {
            Segment::Move(p) => {
                // An open contour is filled as if it were closed.
                each(pen, start);
                (start, pen) = (local(p), local(p));
            }
            Segment::Line(p) => {
                each(pen, local(p));
                pen = local(p);
            }
            Segment::Quad(c, p) => {
                let (a, c, p) = (pen, local(c), local(p));
                let bend = (a.0 - 2.0 * c.0 + p.0).hypot(a.1 - 2.0 * c.1 + p.1);
                pen = chords(0.25 * bend, a, &mut each, |t| {
                    let along = |a: f32, c: f32, p: f32| (1.0 - t) * ((1.0 - t) * a + 2.0 * t * c) + t * t * p;
                    (along(a.0, c.0, p.0), along(a.1, c.1, p.1))
                });
            }
            Segment::Cubic(c, d, p) => {
                let (a, c, d, p) = (pen, local(c), local(d), local(p));
                let first = (a.0 - 2.0 * c.0 + d.0).hypot(a.1 - 2.0 * c.1 + d.1);
                let second = (c.0 - 2.0 * d.0 + p.0).hypot(c.1 - 2.0 * d.1 + p.1);
                pen = chords(0.75 * first.max(second), a, &mut each, |t| {
                    let s = 1.0 - t;
                    let along =
                        |a: f32, c: f32, d: f32, p: f32| s * s * (s * a + 3.0 * t * c) + t * t * (3.0 * s * d + t * p);
                    (along(a.0, c.0, d.0, p.0), along(a.1, c.1, d.1, p.1))
                });
            }
            Segment::Close => {
                each(pen, start);
                pen = start;
            }
        }
    }
    each(pen, start);
}

/// Follows a curve from `start` by chords; one chord would miss it by up to `miss` pixels. Returns its end.
fn chords(miss: f32, start: Pixel, piece: &mut impl FnMut(Pixel, Pixel), at: impl Fn(f32) -> Pixel) -> Pixel {
    let count = (miss / FARTHEST_CHORD).sqrt().ceil().clamp(1.0, 256.0);
    let mut pen = start;
    for i in 1..=count as u16 {
        let next = at(f32::from(i) / count);
        piece(pen, next);
        pen = next;
    }
    pen
}

#[cfg(test)]
mod tests {
    use super::*;
    use ab_glyph_rasterizer::{Rasterizer, point};

    fn value(mask: &Mask, (x, y): (i32, i32)) -> u8 {
        mask.runs()
            .filter(|(at, values)| at.1 == y && at.0 <= x && x < at.0 + values.len() as i32)
            .map(|(at, values)| values[(x - at.0) as usize])
            .fold(0, u8::max)
    }

    #[test]
    fn areas_are_exact() {
        let square = Path::polygon(&[(1.25, 1.0), (3.0, 1.0), (3.0, 2.5), (1.25, 2.5)]);
        let cover = mask(&square, Affine::IDENTITY, None);
        assert_eq!(cover.edges(), Some((1, 1, 3, 3)));
        assert_eq!([1, 2, 3].map(|x| value(&cover, (x, 1))), [191, 255, 0]);
        assert_eq!([1, 2, 3].map(|x| value(&cover, (x, 2))), [96, 128, 0]);
        let circle = mask(&Path::circle((20.3, 20.7), 15.0), Affine::IDENTITY, None);
        let area: f64 = circle.runs().flat_map(|(_, values)| values).map(|&v| f64::from(v) / 255.0).sum();
        assert!((area - std::f64::consts::PI * 225.0).abs() < 0.5, "{area}");
    }

    /// Every pixel is that of a rasteriser that others wrote.
    #[test]
    fn shares_are_those_of_another_rasteriser() {
        let star: Vec<Point> = (0..9)
            .map(|i| {
                let (sin, cos) = (f64::from(i) * 0.7).sin_cos();
                (60.3 + 55.0 * sin, 58.1 + 50.0 * cos * if i % 2 == 0 { 1.0 } else { 0.3 })
            })
            .collect();
        let mut ticks = Path::default();
        for i in 0..12 {
            let (x, y) = (f64::from(i) * 9.3 + 2.2, f64::from(i % 5) * 11.7);
            ticks.append(Path::polygon(&[(x, y), (x + 2.0, y + 0.3), (x + 9.5, y + 40.0)]));
        }
        let mut ring = Path::circle((60.2, 61.7), 40.0);
        ring.append(Path::polygon(&[(50.0, 50.0), (50.0, 75.0), (72.0, 75.0), (72.0, 50.0)]));
        for path in [Path::polygon(&star), ring, ticks, Path::polygon(&[(3.0, 2.0), (110.0, 118.5), (101.0, 119.0)])] {
            let mut whole = Rasterizer::new(160, 160);
            let local = |p: Point| (p.0 as f32, p.1 as f32);
            trace(&path, local, |a, b| whole.draw_line(point(a.0, a.1), point(b.0, b.1)));
            let found = mask(&path, Affine::IDENTITY, None);
            let mut most = 0;
            whole.for_each_pixel(|i, share| {
                let (ours, theirs) = (value(&found, ((i % 160) as i32, (i / 160) as i32)), cover_of(share));
                assert!(ours.abs_diff(theirs) <= 1, "{ours} {theirs} at {}, {}", i % 160, i / 160);
                most = most.max(ours);
            });
            assert_eq!(most, 255);
        }
    }

    #[test]
    fn only_rows_of_the_limit_are_filled() {
        let square = Path::polygon(&[(5.0, -8.0), (12.0, -8.0), (12.0, 40.0), (5.0, 40.0)]);
        let limit = PixelBox { x: 0, y: 0, width: 20, height: 30 };
        assert_eq!(mask(&square, Affine::IDENTITY, Some(limit)).edges(), Some((5, 0, 12, 30)));
        let far = Path::polyline(&[(0.0, 0.0), (1e9, 1.0)]);
        assert!(mask(&far, Affine::IDENTITY, None).is_empty(), "nothing is that large");
    }
}

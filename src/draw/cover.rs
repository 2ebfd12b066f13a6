//! Outlines as masks: how much of each pixel an outline covers, by exact areas.

use std::cell::RefCell;

use ab_glyph_rasterizer::{Point as RasterPoint, Rasterizer, point};

use crate::pixel::{Affine, Mask, PixelBox};

use super::path::{Path, Point, Segment};

/// How far a chord may lie from its curve, in pixels.
const FARTHEST_CHORD: f32 = 0.02;
/// No outline is wider or higher than this many pixels.
const LARGEST: f64 = 16_384.0;
/// Rows that are filled together.
const BAND: usize = 16;

/// Blocks no further apart than this are filled together: few long runs are laid faster than many short ones.
const GAP: f32 = 8.0;

/// A straight piece of a contour.
#[derive(Clone, Copy)]
struct Chord {
    from: RasterPoint,
    to: RasterPoint,
    contour: u32,
}

/// The columns of a band in which some contours lie that meet no other.
#[derive(Debug, Clone, Copy)]
struct Block {
    contour: u32,
    from: f32,
    to: f32,
    /// Where its columns start among those of all blocks.
    start: usize,
}

/// Memory that is kept from outline to outline.
struct Tools {
    sums: Rasterizer,
    chords: Vec<Chord>,
    /// Those of one band.
    near: Vec<Chord>,
    blocks: Vec<Block>,
    values: Vec<u8>,
    /// The mask as it grows: it leaves as a copy that is no larger than it must be.
    mask: Mask,
}

thread_local! {
    static TOOLS: RefCell<Tools> = RefCell::new(Tools {
        sums: Rasterizer::new(0, 0),
        chords: Vec::new(),
        near: Vec::new(),
        blocks: Vec::new(),
        values: Vec::new(),
        mask: Mask::default(),
    });
}

/// The mask of an outline whose contours do not overlap each other in opposite senses (letters, hands, plates, lines), where
/// `limit` is, if there is one.
pub(super) fn mask(path: &Path, to_coded: Affine, limit: Option<PixelBox>) -> Mask {
    TOOLS.with_borrow_mut(|tools| tools.mask(path, to_coded, limit)).unwrap_or_default()
}

impl Tools {
    fn mask(&mut self, path: &Path, to_coded: Affine, limit: Option<PixelBox>) -> Option<Mask> {
        let (left, top, right, bottom) = whole_pixels(path, to_coded)?;
        self.chords.clear();
        let chords = &mut self.chords;
        let corner = (left as f64, top as f64);
        let local = |p: Point| {
            let (x, y) = to_coded.apply(p.0, p.1);
            point((x - corner.0) as f32, (y - corner.1) as f32)
        };
        trace(path, local, |contour, from, to| chords.push(Chord { from, to, contour }));

        self.mask.clear();
        let (mut first, mut last) = (top, bottom);
        if let Some(limit) = limit {
            (first, last) = (top.max(i64::from(limit.y)), bottom.min(i64::from(limit.bottom())));
        }
        let width = (right - left) as f32;
        for from in (first..last).step_by(BAND) {
            let height = BAND.min((last - from) as usize);
            let columns = self.fill((from - top) as f32, height, width);
            for (row, values) in (from as i32..).zip(self.values.chunks_exact(columns.max(1))) {
                for block in &self.blocks {
                    let values = &values[block.start..][..block.columns()];
                    self.mask.push(((left + block.from as i64) as i32, row), values);
                }
            }
        }
        Some(self.mask.clone())
    }

    /// Fills one band of rows, its blocks side by side. Returns how many columns they have together.
    fn fill(&mut self, top: f32, height: usize, width: f32) -> usize {
        let rows = top..top + height as f32;
        self.near.clear();
        let touches = |chord: &&Chord| {
            let (low, high) = (chord.from.y.min(chord.to.y), chord.from.y.max(chord.to.y));
            low < high && low < rows.end && high > rows.start
        };
        self.near.extend(self.chords.iter().filter(touches));
        let columns = blocks(&self.near, &rows, width, &mut self.blocks);
        self.sums.reset(columns, height);
        for contour in self.near.chunk_by(|a, b| a.contour == b.contour) {
            // A contour lies in one block as a whole, with a column to spare.
            let (low, _) = reach(&contour[0], &rows);
            let behind = self.blocks.partition_point(|block| block.from <= low);
            let Some(block) = self.blocks.get(behind.saturating_sub(1)) else { continue };
            let shift = block.start as f32 - block.from;
            let local = |p: RasterPoint| point(p.x + shift, p.y - rows.start);
            contour.iter().for_each(|chord| self.sums.draw_line(local(chord.from), local(chord.to)));
        }
        self.values.resize(columns * height, 0);
        let mut values = self.values.iter_mut();
        self.sums.for_each_pixel(|_, share| {
            if let Some(value) = values.next() {
                *value = cover_of(share);
            }
        });
        columns
    }
}

impl Block {
    const fn columns(&self) -> usize {
        (self.to - self.from) as usize
    }
}

/// The columns between which a piece, which is not level, lies within some rows.
fn reach(chord: &Chord, rows: &std::ops::Range<f32>) -> (f32, f32) {
    let (a, b) = if chord.from.y <= chord.to.y { (chord.from, chord.to) } else { (chord.to, chord.from) };
    let at = |y: f32| a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)).clamp(0.0, 1.0);
    let (p, q) = (at(rows.start), at(rows.end));
    (p.min(q), p.max(q))
}

/// The columns that the contours of a band reach, those that meet taken together, from left to right. Returns how many.
fn blocks(near: &[Chord], rows: &std::ops::Range<f32>, width: f32, blocks: &mut Vec<Block>) -> usize {
    blocks.clear();
    for chord in near {
        let (low, high) = reach(chord, rows);
        match blocks.last_mut() {
            Some(last) if last.contour == chord.contour => {
                (last.from, last.to) = (last.from.min(low), last.to.max(high));
            }
            _ => blocks.push(Block { contour: chord.contour, from: low, to: high, start: 0 }),
        }
    }
    // One to spare on each side, for the rasteriser's own rounding.
    for block in blocks.iter_mut() {
        (block.from, block.to) = ((block.from.floor() - 1.0).max(0.0), (block.to.ceil() + 1.0).min(width));
    }
    blocks.sort_unstable_by(|a, b| a.from.total_cmp(&b.from));
    blocks.dedup_by(|next, kept| {
        let meet = next.from <= kept.to + GAP;
        if meet {
            kept.to = kept.to.max(next.to);
        }
        meet
    });
    let mut columns = 0;
    for block in blocks {
        block.start = columns;
        columns += block.columns();
    }
    columns
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

/// Hands on the straight pieces of an outline with their contour's number, curves by chords; every contour is closed.
fn trace(path: &Path, local: impl Fn(Point) -> RasterPoint, mut each: impl FnMut(u32, RasterPoint, RasterPoint)) {
    let mut contour = 0;
    let (mut start, mut pen): (RasterPoint, RasterPoint) = (point(0.0, 0.0), point(0.0, 0.0));
    for segment in &path.segments {
        match *segment {
            Segment::Move(p) => {
                // An open contour is filled as if it were closed.
                each(contour, pen, start);
                contour += 1;
                (start, pen) = (local(p), local(p));
            }
            Segment::Line(p) => {
                each(contour, pen, local(p));
                pen = local(p);
            }
            Segment::Quad(c, p) => {
                let (a, c, p) = (pen, local(c), local(p));
                let bend = (a.x - 2.0 * c.x + p.x).hypot(a.y - 2.0 * c.y + p.y);
                pen = chords(0.25 * bend, a, &mut |a, b| each(contour, a, b), |t| {
                    let along = |a: f32, c: f32, p: f32| (1.0 - t) * ((1.0 - t) * a + 2.0 * t * c) + t * t * p;
                    point(along(a.x, c.x, p.x), along(a.y, c.y, p.y))
                });
            }
            Segment::Cubic(c, d, p) => {
                let (a, c, d, p) = (pen, local(c), local(d), local(p));
                let first = (a.x - 2.0 * c.x + d.x).hypot(a.y - 2.0 * c.y + d.y);
                let second = (c.x - 2.0 * d.x + p.x).hypot(c.y - 2.0 * d.y + p.y);
                pen = chords(0.75 * first.max(second), a, &mut |a, b| each(contour, a, b), |t| {
                    let s = 1.0 - t;
                    let along =
                        |a: f32, c: f32, d: f32, p: f32| s * s * (s * a + 3.0 * t * c) + t * t * (3.0 * s * d + t * p);
                    point(along(a.x, c.x, d.x, p.x), along(a.y, c.y, d.y, p.y))
                });
            }
            Segment::Close => {
                each(contour, pen, start);
                pen = start;
            }
        }
    }
    each(contour, pen, start);
}

/// Follows a curve from `start` by chords; one chord would miss it by up to `miss` pixels. Returns its end.
fn chords(
    miss: f32,
    start: RasterPoint,
    piece: &mut impl FnMut(RasterPoint, RasterPoint),
    at: impl Fn(f32) -> RasterPoint,
) -> RasterPoint {
    // The rasteriser's own curves are made for small letters: on a dial their corners would show.
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

    /// Bands and blocks meet without a seam: every pixel is that of the outline filled as a whole.
    #[test]
    fn bands_and_blocks_are_the_whole() {
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
            let local = |p: Point| point(p.0 as f32, p.1 as f32);
            trace(&path, local, |_, a, b| whole.draw_line(a, b));
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

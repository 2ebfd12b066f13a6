//! Outlines as masks: how much of each pixel an outline covers, by exact areas.
//!
//! Every straight piece adds, in the columns that it crosses in each row, what it covers to its right; sums from left to right
//! then are the shares. Only columns that a piece crosses are looked at one by one: between them a shape is whole or empty.

use std::cell::RefCell;
use std::ops::Range;

use crate::pixel::{Affine, GROUP, Mask, PixelBox};

use super::path::{Path, Point, Segment};

/// How far a chord may lie from its curve, in pixels: a level of 255 where it is worst.
const FARTHEST_CHORD: f32 = 0.005;
/// How far a straight piece of a casing may lie from it: five levels of 255 where it is worst, which a casing's opacity makes three.
const FARTHEST_CASING: f32 = 0.02;
/// No outline is wider or higher than this many pixels.
pub(super) const LARGEST: f64 = 16_384.0;
/// Stretches of a row no further apart than this become one: few long runs are laid faster than many short ones.
const GAP: usize = 8;
/// A piece that moves by less than this many columns a row crosses no more than two of them in any row.
const STEEP: f32 = 0.999;
/// What is left of a sum by rounding.
const NOTHING: f32 = 1e-4;
/// Sums worked on at a time: a larger outline is filled in bands of rows.
const BAND: usize = 1 << 18;

/// Memory that is kept from outline to outline.
#[derive(Default)]
struct Tools {
    band: Band,
    /// A row of shares, with room for a group more.
    shares: Vec<u8>,
    /// The mask as it grows: it leaves as a copy that is hardly larger than it must be.
    mask: Mask,
}

/// Some rows of an outline's box.
#[derive(Default)]
struct Band {
    rows: usize,
    /// Columns of a row, and words of bits for them.
    columns: usize,
    words: usize,
    /// What the chords add, row by row and column by column; zero again when a row is done.
    sums: Vec<f32>,
    /// Which columns they add to, a bit each; zero again when a row is done.
    crossed: Vec<u64>,
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
        // A column to spare, for what a chord in the last one adds to its right.
        let columns = (right - left) as usize + 2;
        self.mask.clear();
        while first < last {
            let rows = (BAND / columns).clamp(1, (last - first) as usize);
            self.band.begin(rows, columns);
            self.shares.resize(self.shares.len().max(columns + 2 * GROUP), 0);
            let local = |p: Point| {
                let (x, y) = to_coded.apply(p.0, p.1);
                ((x - left as f64) as f32, (y - first as f64) as f32)
            };
            trace(path, local, |from, to| self.band.add(from, to));
            for row in 0..rows {
                self.row(row, (left as i32, (first + row as i64) as i32));
            }
            first += rows as i64;
        }
        Some(self.mask.clone())
    }

    /// Fills a row of the band, which begins at a pixel.
    fn row(&mut self, row: usize, (left, y): (i32, i32)) {
        let Self { band: Band { columns, words, sums, crossed, .. }, shares, mask } = self;
        let sums = &mut sums[row * *columns..][..*columns];
        let (mut sum, mut start, mut end) = (0.0_f32, 0, 0);
        // Whole groups are written, the more of which is overwritten by what comes to its right, or cleared in the end.
        let close = |shares: &mut Vec<u8>, mask: &mut Mask, start: usize, end: usize| {
            set(shares, end..end + 1, 0);
            let groups = (start..end).step_by(GROUP);
            mask.push_groups((left + start as i32, y), groups.filter_map(|at| shares[at..].first_chunk().copied()));
        };
        for (word, bits) in crossed[row * *words..][..*words].iter_mut().enumerate() {
            let mut bits = std::mem::take(bits);
            while bits != 0 {
                let first = bits.trailing_zeros();
                let count = (bits >> first).trailing_ones();
                bits &= !(u64::MAX >> (64 - count) << first);
                let column = 64 * word + first as usize;
                // Between the columns that are crossed all is as it is.
                if sum.abs() < NOTHING && (end == 0 || column - end > GAP) {
                    close(shares, mask, start, end);
                    start = column;
                } else {
                    set(shares, end..column, cover_of(sum));
                }
                end = column + count as usize;
                for (added, share) in sums[column..end].iter_mut().zip(&mut shares[column..end]) {
                    sum += std::mem::take(added);
                    *share = cover_of(sum);
                }
            }
        }
        close(shares, mask, start, end);
    }
}

/// Sets shares, and a group beyond them at most.
#[inline(always)]
fn set(shares: &mut [u8], range: Range<usize>, share: u8) {
    for at in range.step_by(GROUP) {
        if let Some(group) = shares[at..].first_chunk_mut() {
            *group = [share; GROUP];
        }
    }
}

impl Band {
    /// Makes room for so many rows and columns.
    fn begin(&mut self, rows: usize, columns: usize) {
        (self.rows, self.columns, self.words) = (rows, columns, columns.div_ceil(64));
        let (sums, words) = (rows * columns, rows * self.words);
        self.sums.resize(self.sums.len().max(sums), 0.0);
        self.crossed.resize(self.crossed.len().max(words), 0);
    }

    /// Adds what a straight piece of an outline covers to its right, row by row.
    fn add(&mut self, from: Pixel, to: Pixel) {
        let (a, b, sense) = if from.1 <= to.1 { (from, to, 1.0) } else { (to, from, -1.0) };
        let rows = self.rows as f32;
        if a.1 >= b.1 || b.1 <= 0.0 || a.1 >= rows {
            return;
        }
        let slope = (b.0 - a.0) / (b.1 - a.1);
        let at = |y: f32| (a.0 + slope * (y - a.1)).max(0.0);
        let (mut y, bottom) = (a.1.max(0.0), b.1.min(rows));
        let (mut x, mut row) = (at(y), whole(y));
        let mut floor = row as f32;
        let steep = slope.abs() < STEEP;
        let per_column = ((b.1 - a.1) / (b.0 - a.0)).abs();
        while y < bottom {
            floor += 1.0;
            let below = floor.min(bottom);
            let end = at(below);
            let (low, high, height) = (x.min(end), x.max(end), below - y);
            if steep {
                self.cross_two(row, (low, high), (height, per_column), sense);
            } else {
                self.cross(row, (low, high), height * sense);
            }
            (x, y, row) = (end, below, row + 1);
        }
    }

    /// As [`Band::cross`], for a piece that ends in the column where it begins, or in the next one: without asking in which, since
    /// along a hand's edge that changes from row to row, and no machine guesses it.
    #[inline(always)]
    fn cross_two(&mut self, row: usize, (low, high): (f32, f32), (height, per_column): (f32, f32), sense: f32) {
        let first = whole(low);
        self.mark(row, first, whole(high));
        let (low, high) = (low - first as f32, high - first as f32);
        // The height in the first column, and in the second. Of a piece that ends in the first one all of it.
        let own = ((1.0 - low) * per_column).min(height);
        let (own, next) = (own * sense, (height - own) * sense);
        let (right_of_own, right_of_next) =
            (own * (1.0 - 0.5 * (low + high.min(1.0))), next * (1.5 - 0.5 * high.max(1.0)));
        if let Some([here, there, beyond]) = self.sums[row * self.columns + first..].first_chunk_mut() {
            *here += right_of_own;
            *there += own - right_of_own + right_of_next;
            *beyond += next - right_of_next;
        }
    }

    /// Notes that sums are added to some columns and the one after them.
    #[inline(always)]
    fn mark(&mut self, row: usize, first: usize, last: usize) {
        let crossed = &mut self.crossed[row * self.words..][..self.words];
        if first / 64 == (last + 1) / 64 {
            crossed[first / 64] |= (u64::MAX >> (62 - (last - first))) << (first % 64);
        } else {
            (first..=last + 1).for_each(|column| crossed[column / 64] |= 1 << (column % 64));
        }
    }

    /// Adds what a piece of this height between two columns of a row covers to its right.
    fn cross(&mut self, row: usize, (low, high): (f32, f32), height: f32) {
        let (first, last) = (whole(low), whole(high));
        self.mark(row, first, last);
        let sums = &mut self.sums[row * self.columns..][first..last + 2];
        if let [here, right] = sums {
            // A share of the column lies to its right, all of the next ones do.
            let covered = height * (1.0 - (0.5 * (low + high) - first as f32));
            *here += covered;
            *right += height - covered;
            return;
        }
        let [here, between @ .., there, right] = sums else { return };
        // How much of the height lies in each column, and from there the area to the right of the piece.
        let per_column = height / (high - low);
        let (enter, leave) = (1.0 - (low - first as f32), high - last as f32);
        let covered = 0.5 * per_column * enter * enter;
        *here += covered;
        // What the column before leaves to the next one.
        let mut before = per_column * enter - covered;
        if let [next, rest @ ..] = between {
            *next += before + 0.5 * per_column;
            rest.iter_mut().for_each(|sum| *sum += per_column);
            before = 0.5 * per_column;
        }
        let part = per_column * leave;
        let covered = part * (1.0 - 0.5 * leave);
        *there += before + covered;
        *right += part - covered;
    }
}

/// The whole columns or rows before a place: none lies left of or above the first, and there are not too many for the cast.
#[inline(always)]
const fn whole(at: f32) -> usize {
    at as i32 as usize
}

/// A share of a pixel, rounded to nearest; contours that run the other way count as well.
fn cover_of(share: f32) -> u8 {
    // The cast ends at 255.
    (share.abs() * 255.0 + 0.5) as u8
}

/// A casing's contour as few straight pieces, since it is filled again and again.
///
/// Coordinates are of the size of pixels.
pub(super) fn straightened(contour: &Path) -> Path {
    let mut corners: Vec<Pixel> = Vec::new();
    trace(
        contour,
        |p| (p.0 as f32, p.1 as f32),
        |from, to| {
            if from != to {
                corners.push(from);
            }
        },
    );
    let away = |p: Pixel, (a, b): (Pixel, Pixel)| {
        let (along, off) = ((b.0 - a.0, b.1 - a.1), (p.0 - a.0, p.1 - a.1));
        let length = along.0.hypot(along.1);
        // Within the piece only: an outline that turns back is none.
        let share = (off.0 * along.0 + off.1 * along.1) / (length * length);
        if (0.0..=1.0).contains(&share) { (along.0 * off.1 - along.1 * off.0).abs() / length } else { f32::INFINITY }
    };
    let mut kept = Vec::new();
    let mut from = 0;
    while let Some(&start) = corners.get(from) {
        kept.push((f64::from(start.0), f64::from(start.1)));
        let close = |to: &usize| {
            corners
                .get(*to)
                .is_some_and(|&end| corners[from + 1..*to].iter().all(|&p| away(p, (start, end)) < FARTHEST_CASING))
        };
        from = (from + 2..).take_while(close).last().unwrap_or(from + 1);
    }
    Path::polygon(&kept)
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
pub(super) type Pixel = (f32, f32);

/// Hands on the straight pieces of an outline, curves by chords; every contour is closed.
pub(super) fn trace(path: &Path, local: impl Fn(Point) -> Pixel, mut each: impl FnMut(Pixel, Pixel)) {
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

    /// Larger than what is worked on at a time: no row is missing, or there twice, where two bands meet.
    #[test]
    fn bands_of_rows_meet() {
        let r = 400.0;
        let circle = mask(&Path::circle((402.0, 402.0), r), Affine::IDENTITY, None);
        assert!(4.0 * r * r > 2.0 * BAND as f64, "more than two bands");
        let rows: Vec<i32> = circle.runs().map(|((_, y), _)| y).collect();
        assert!(rows.windows(2).all(|pair| pair[1] == pair[0] + 1), "{rows:?}");
        let area: f64 = circle.runs().flat_map(|(_, values)| values).map(|&v| f64::from(v) / 255.0).sum();
        // Chords lie within the circle by up to 0.005 px: thirteen pixels all round.
        assert!((area - std::f64::consts::PI * r * r).abs() < 13.0, "{area}");
    }

    #[test]
    fn fewer_pieces_cover_the_same() {
        // Joins that hardly bend, as along a hand.
        let edge = (0..50).map(|i| (4.3 + f64::from(i), 10.2 + 0.3 * f64::from(i) + 0.002 * f64::from(i % 2)));
        let round = Path::polygon(&edge.chain([(50.5, 55.1), (30.1, 47.9), (9.7, 40.4)]).collect::<Vec<_>>());
        let straight = straightened(&round);
        assert_eq!(straight.segments.len(), 6, "four corners, a bend of .14 px, and back: {straight:?}");
        let [before, after] = [&round, &straight].map(|path| mask(path, Affine::IDENTITY, None));
        let (rows, columns) = (0..62, 0..62);
        for at in rows.flat_map(|y| columns.clone().map(move |x| (x, y))) {
            assert!(value(&before, at).abs_diff(value(&after, at)) <= 2, "at {at:?}");
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

//! Outlines as masks: how much of each pixel an outline covers, by exact areas; and colours laid through them.

use std::cell::{Cell, RefCell};

use ab_glyph_rasterizer::{Point as RasterPoint, Rasterizer, point};

use crate::pixel::{Affine, Patch, PixelBox};

use super::path::{Path, Point, Segment};
use super::raster::over_pixel;
use super::theme::Rgba;

/// How far a chord may lie from its curve, in pixels.
const FARTHEST_CHORD: f32 = 0.005;
/// No outline is wider or higher than this many pixels.
const LARGEST: f64 = 16_384.0;

/// Pixels of a row looked at together.
const RUN: usize = 16;

/// How much of each pixel of a box is covered.
#[derive(Debug, Clone, Default)]
pub(super) struct Cover {
    /// Upper left corner of the box; it may lie outside the frame.
    pub left: i64,
    pub top: i64,
    pub width: usize,
    /// 255 for a pixel that is covered as a whole, row by row.
    pub values: Vec<u8>,
}

thread_local! {
    /// Sums of areas, kept from outline to outline.
    static SUMS: RefCell<Rasterizer> = RefCell::new(Rasterizer::new(0, 0));
    /// Memory of the mask laid last, and of the outline's chords, for the next one.
    static SPARE: Cell<(Vec<u8>, Vec<Chord>)> = const { Cell::new((Vec::new(), Vec::new())) };
}

/// A straight piece of an outline.
type Chord = (RasterPoint, RasterPoint);

/// Rows that are filled together.
const BAND: i64 = 16;

/// Lays a colour over a picture through an outline's cover. Band by band of rows: most of a slanting hand's box is empty.
pub(super) fn fill(picture: &mut Patch, path: &Path, to_coded: Affine, colour: Rgba) {
    let coded = path.map(|(x, y)| to_coded.apply(x, y));
    let Some((left, top, right, bottom)) = whole_pixels(&coded) else { return };
    let (mut values, mut chords) = SPARE.take();
    chords.clear();
    trace(&coded, (left as f64, top as f64), |a, b| chords.push((a, b)));
    let place = picture.place;
    let (first, last) = (top.max(i64::from(place.y)), bottom.min(i64::from(place.bottom())));
    for from in (first..last).step_by(BAND as usize) {
        let rows = (from - top) as f32..((from + BAND).min(last) - top) as f32;
        let Some((low, high)) = columns(&chords, &rows) else { continue };
        // One to spare on each side, for the rasteriser's own rounding.
        let (start, end) = ((low.floor() as i64 - 1).max(0), (high.ceil() as i64 + 1).min(right - left));
        let (width, height) = ((end - start).max(0) as usize, (rows.end - rows.start) as usize);
        let local = |p: RasterPoint| point(p.x - start as f32, p.y - rows.start);
        values.clear();
        SUMS.with_borrow_mut(|sums| {
            sums.reset(width, height);
            let touches = |(a, b): &&Chord| a.y.min(b.y) < rows.end && a.y.max(b.y) > rows.start;
            chords.iter().filter(touches).for_each(|&(a, b)| sums.draw_line(local(a), local(b)));
            sums.for_each_pixel(|_, share| values.push(cover_of(share)));
        });
        let cover = Cover { left: left + start, top: from, width, values };
        cover.lay(picture, colour, (0, 0));
        values = cover.values;
    }
    SPARE.set((values, chords));
}

/// The columns that an outline reaches within some rows.
fn columns(chords: &[Chord], rows: &std::ops::Range<f32>) -> Option<(f32, f32)> {
    let mut reach: Option<(f32, f32)> = None;
    for &(a, b) in chords {
        let (a, b) = if a.y <= b.y { (a, b) } else { (b, a) };
        if b.y <= rows.start || a.y >= rows.end || a.y == b.y {
            continue;
        }
        let at = |y: f32| a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)).clamp(0.0, 1.0);
        let (p, q) = (at(rows.start), at(rows.end));
        let (low, high) = reach.unwrap_or((p, p));
        reach = Some((low.min(p).min(q), high.max(p).max(q)));
    }
    reach
}

/// A share of a pixel, rounded to nearest; contours that run the other way count as well.
fn cover_of(share: f32) -> u8 {
    (share.abs().min(1.0) * 255.0 + 0.5) as u8
}

impl Cover {
    /// The cover of an outline whose contours do not overlap each other in opposite senses: letters, hands, plates.
    pub fn of(path: &Path, to_coded: Affine) -> Self {
        let coded = path.map(|(x, y)| to_coded.apply(x, y));
        let Some((left, top, right, bottom)) = whole_pixels(&coded) else { return Self::default() };
        let (width, height) = ((right - left) as usize, (bottom - top) as usize);
        let mut values = Vec::with_capacity(width * height);
        SUMS.with_borrow_mut(|sums| {
            sums.reset(width, height);
            trace(&coded, (left as f64, top as f64), |a, b| sums.draw_line(a, b));
            sums.for_each_pixel(|_, share| values.push(cover_of(share)));
        });
        Self { left, top, width, values }
    }

    /// Rows of the box.
    pub fn height(&self) -> usize {
        self.values.len().checked_div(self.width).unwrap_or(0)
    }

    /// Takes another cover in, moved by whole pixels: where both cover a pixel, the denser one counts. Parts outside the
    /// own box are lost.
    pub fn join(&mut self, other: &Self, (right, down): (i64, i64)) {
        let from = (other.left + right - self.left, other.top + down - self.top);
        each_row(other, from, (self.width, self.height()), |start, row| {
            for (own, &value) in self.values[start..start + row.len()].iter_mut().zip(row) {
                *own = (*own).max(value);
            }
        });
    }

    /// Lays a colour through it over a picture, moved by whole pixels.
    pub fn lay(&self, picture: &mut Patch, colour: Rgba, (right, down): (i64, i64)) {
        let PixelBox { x, y, width, height } = picture.place;
        let from = (self.left + right - i64::from(x), self.top + down - i64::from(y));
        let shades = Shades::of(colour);
        each_row(self, from, (width as usize, height as usize), |start, row| {
            let pixels = &mut picture.rgba[4 * start..4 * (start + row.len())];
            for (pixels, row) in pixels.chunks_mut(4 * RUN).zip(row.chunks(RUN)) {
                // Most of a slanting hand's box is empty.
                if row.iter().fold(0, |any, value| any | value) == 0 {
                    continue;
                }
                for (pixel, &value) in pixels.as_chunks_mut::<4>().0.iter_mut().zip(row) {
                    *pixel = over_pixel(*pixel, shades.at(value));
                }
            }
        });
    }
}

/// Calls `each` with the part of every row of `cover` that lies in a grid of this size, and where it starts there.
fn each_row(cover: &Cover, from: (i64, i64), (columns, rows): (usize, usize), mut each: impl FnMut(usize, &[u8])) {
    if cover.width == 0 {
        return;
    }
    let (wide, columns) = (cover.width as i64, columns as i64);
    let skipped = (-from.0).clamp(0, wide);
    let end = (columns - from.0).clamp(skipped, wide);
    for (i, row) in cover.values.chunks_exact(cover.width).enumerate() {
        let target = from.1 + i as i64;
        if (0..rows as i64).contains(&target) && end > skipped {
            each((target * columns + from.0 + skipped) as usize, &row[skipped as usize..end as usize]);
        }
    }
}

/// Whole pixels round an outline, with one to spare on each side.
pub(super) fn whole_pixels(path: &Path) -> Option<(i64, i64, i64, i64)> {
    let grow = |(l, t, r, b): (f64, f64, f64, f64), (x, y): Point| (l.min(x), t.min(y), r.max(x), b.max(y));
    let (left, top, right, bottom) = path.points().fold((f64::MAX, f64::MAX, f64::MIN, f64::MIN), grow);
    let near = [left, top, right, bottom].into_iter().all(|v| v.abs() <= LARGEST * 4.0);
    let sound = near && left <= right && right - left < LARGEST && bottom - top < LARGEST;
    sound.then(|| {
        let (left, top) = (left.floor() as i64 - 1, top.floor() as i64 - 1);
        (left, top, right.ceil() as i64 + 1, bottom.ceil() as i64 + 1)
    })
}

/// Hands on the straight pieces of an outline, curves by chords; every contour is closed.
fn trace(path: &Path, corner: Point, mut piece: impl FnMut(RasterPoint, RasterPoint)) {
    let local = |p: Point| point((p.0 - corner.0) as f32, (p.1 - corner.1) as f32);
    let (mut start, mut pen): (RasterPoint, RasterPoint) = (point(0.0, 0.0), point(0.0, 0.0));
    for segment in &path.segments {
        match *segment {
            Segment::Move(p) => {
                // An open contour is filled as if it were closed.
                piece(pen, start);
                (start, pen) = (local(p), local(p));
            }
            Segment::Line(p) => {
                piece(pen, local(p));
                pen = local(p);
            }
            Segment::Quad(c, p) => {
                let (a, c, p) = (pen, local(c), local(p));
                let bend = (a.x - 2.0 * c.x + p.x).hypot(a.y - 2.0 * c.y + p.y);
                pen = chords(0.25 * bend, a, &mut piece, |t| {
                    let along = |a: f32, c: f32, p: f32| (1.0 - t) * ((1.0 - t) * a + 2.0 * t * c) + t * t * p;
                    point(along(a.x, c.x, p.x), along(a.y, c.y, p.y))
                });
            }
            Segment::Cubic(c, d, p) => {
                let (a, c, d, p) = (pen, local(c), local(d), local(p));
                let first = (a.x - 2.0 * c.x + d.x).hypot(a.y - 2.0 * c.y + d.y);
                let second = (c.x - 2.0 * d.x + p.x).hypot(c.y - 2.0 * d.y + p.y);
                pen = chords(0.75 * first.max(second), a, &mut piece, |t| {
                    let s = 1.0 - t;
                    let along =
                        |a: f32, c: f32, d: f32, p: f32| s * s * (s * a + 3.0 * t * c) + t * t * (3.0 * s * d + t * p);
                    point(along(a.x, c.x, d.x, p.x), along(a.y, c.y, d.y, p.y))
                });
            }
            Segment::Close => {
                piece(pen, start);
                pen = start;
            }
        }
    }
    piece(pen, start);
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

/// A colour at any cover, premultiplied.
struct Shades {
    rgb: [u32; 3],
    alpha: u32,
}

impl Shades {
    fn of(colour: Rgba) -> Self {
        Self { rgb: colour.rgb.map(u32::from), alpha: (colour.alpha * 255.0).round() as u32 }
    }

    fn at(&self, cover: u8) -> [u8; 4] {
        let alpha = (self.alpha * u32::from(cover) + 127) / 255;
        let [r, g, b] = self.rgb.map(|c| ((c * alpha + 127) / 255) as u8);
        [r, g, b, alpha as u8]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_are_exact() {
        let square = Path::polygon(&[(1.25, 1.0), (3.0, 1.0), (3.0, 2.5), (1.25, 2.5)]);
        let cover = Cover::of(&square, Affine::IDENTITY);
        assert_eq!((cover.left, cover.top, cover.width, cover.height()), (0, 0, 4, 4));
        assert_eq!(cover.values[4..8], [0, 191, 255, 0]);
        assert_eq!(cover.values[8..12], [0, 96, 128, 0]);
        let circle = Cover::of(&Path::circle((20.3, 20.7), 15.0), Affine::IDENTITY);
        let area: f64 = circle.values.iter().map(|&v| f64::from(v) / 255.0).sum();
        assert!((area - std::f64::consts::PI * 225.0).abs() < 0.5, "{area}");
    }

    /// The bands of a fill meet without a seam: every pixel is that of the whole outline.
    #[test]
    fn bands_are_the_whole() {
        let star: Vec<Point> = (0..9)
            .map(|i| {
                let (sin, cos) = (f64::from(i) * 0.7).sin_cos();
                (60.3 + 55.0 * sin, 58.1 + 50.0 * cos * if i % 2 == 0 { 1.0 } else { 0.3 })
            })
            .collect();
        for path in [
            Path::polygon(&star),
            Path::circle((60.2, 61.7), 40.0),
            Path::polygon(&[(3.0, 2.0), (110.0, 118.5), (101.0, 119.0)]),
        ] {
            let place = PixelBox { x: 2, y: 5, width: 100, height: 110 };
            let empty = Patch { place, rgba: vec![0; 4 * 100 * 110] };
            let (mut banded, mut whole) = (empty.clone(), empty);
            fill(&mut banded, &path, Affine::IDENTITY, Rgba::opaque(0xff_ff_ff));
            Cover::of(&path, Affine::IDENTITY).lay(&mut whole, Rgba::opaque(0xff_ff_ff), (0, 0));
            let apart = banded.rgba.iter().zip(&whole.rgba).map(|(a, b)| a.abs_diff(*b)).max();
            assert!(apart <= Some(1), "{apart:?}");
            assert!(whole.rgba.contains(&255));
        }
    }

    #[test]
    fn what_lies_outside_is_left_out() {
        let place = PixelBox { x: 10, y: 10, width: 4, height: 4 };
        let mut picture = Patch { place, rgba: vec![0; 64] };
        let square = Path::polygon(&[(5.0, 5.0), (12.0, 5.0), (12.0, 12.0), (5.0, 12.0)]);
        Cover::of(&square, Affine::IDENTITY).lay(&mut picture, Rgba::opaque(0xff_ff_ff), (0, 1));
        let lit: Vec<bool> = picture.rgba.chunks(4).map(|p| p == [255; 4]).collect();
        assert_eq!(lit.iter().filter(|&&l| l).count(), 6, "two columns of three rows");
        Cover::of(&square, Affine::IDENTITY).lay(&mut picture, Rgba::opaque(0), (-400, 0));
        assert!(whole_pixels(&Path::polyline(&[(0.0, 0.0), (1e9, 1.0)])).is_none(), "nothing is that large");
    }
}

//! One instrument prepared for a frame's own planes.

use std::ops::Range;

use super::BlendError;
use super::rows::{FULL, fade, over};
use super::weights::Weights;
use crate::pixel::{ChromaSiting, Colour, Patch, PixelBox, PlanesMut};

/// No codec's frame is larger; keeps every product of sizes far from overflow.
pub(super) const FARTHEST_EDGE: u32 = 1 << 16;

/// A patch as premultiplied luma and chroma, ready to be laid over any number of frames.
#[derive(Debug, Clone)]
pub struct Layer {
    place: PixelBox,
    /// What the planes were converted for; nothing before the first update.
    colour: Option<Colour>,
    luma: Cover,
    luma_term: Vec<u16>,
    chroma: Cover,
    blue_term: Vec<u16>,
    red_term: Vec<u16>,
    /// One row of pixels, mixed over the luma rows of a chroma row.
    mixed: Vec<[u16; 4]>,
}

/// How much of the film shows through a grid of samples.
#[derive(Debug, Clone)]
struct Cover {
    width: usize,
    /// 255 less alpha.
    keep: Vec<u8>,
    /// For each row, from the first sample that is not transparent to behind the last one.
    spans: Vec<Range<usize>>,
}

impl Cover {
    fn clear(width: usize, height: usize) -> Self {
        Self { width, keep: vec![255; width * height], spans: vec![0..0; height] }
    }

    fn row(&self, row: usize) -> &[u8] {
        &self.keep[row * self.width..][..self.width]
    }

    fn measure_span(&mut self, row: usize) {
        let keep = self.row(row);
        let first = keep.iter().position(|&k| k != 255).unwrap_or(0);
        let end = keep.iter().rposition(|&k| k != 255).map_or(0, |last| last + 1);
        self.spans[row] = first..end;
    }
}

impl Layer {
    /// A transparent layer at `place`, in coded frame coordinates.
    ///
    /// # Errors
    /// [`BlendError::Place`] when an edge of the box is odd or beyond any frame.
    pub fn new(place: PixelBox) -> Result<Self, BlendError> {
        let edges = [(place.x, place.width), (place.y, place.height)];
        let fits = |(start, length): (u32, u32)| {
            let end = start.checked_add(length).is_some_and(|end| end <= FARTHEST_EDGE);
            end && start % 2 == 0 && length % 2 == 0
        };
        if !edges.into_iter().all(fits) {
            return Err(BlendError::Place { place });
        }
        let (width, height) = (place.width as usize, place.height as usize);
        let (cells, cell_rows) = (width / 2, height / 2);
        Ok(Self {
            place,
            colour: None,
            luma: Cover::clear(width, height),
            luma_term: vec![0; width * height],
            chroma: Cover::clear(cells, cell_rows),
            blue_term: vec![0; cells * cell_rows],
            red_term: vec![0; cells * cell_rows],
            mixed: vec![[0; 4]; width],
        })
    }

    /// Where it lies on the coded frame.
    pub const fn place(&self) -> PixelBox {
        self.place
    }

    /// Converts the part of `patch` inside `dirty` (coded frame coordinates; cut to the layer's box), with the chroma
    /// samples it reaches. Allocates nothing.
    ///
    /// The first update, and one for another `colour`, convert the whole patch whatever `dirty` says.
    ///
    /// # Errors
    /// [`BlendError::OtherPatch`] when the patch's box or length does not fit the layer's; the layer stays as it was.
    pub fn update(&mut self, patch: &Patch, dirty: PixelBox, colour: &Colour) -> Result<(), BlendError> {
        let (pixels, rest) = patch.rgba.as_chunks::<4>();
        if patch.place != self.place || pixels.len() != self.luma_term.len() || !rest.is_empty() {
            let (expected, found) = (self.place, patch.place);
            return Err(BlendError::OtherPatch { expected, found, bytes: patch.rgba.len() });
        }
        let dirty = if self.colour == Some(*colour) { dirty.intersect(self.place) } else { self.place };
        self.colour = Some(*colour);
        if dirty.is_empty() {
            return Ok(());
        }
        let weights = Weights::new(colour);
        let (x, y) = ((dirty.x - self.place.x) as usize, (dirty.y - self.place.y) as usize);
        let (right, bottom) = (x + dirty.width as usize, y + dirty.height as usize);
        for row in y..bottom {
            self.update_luma(pixels, row, x..right, &weights);
        }
        // An odd column or row also reaches the cell behind it.
        let cells = x / 2..(right / 2 + 1).min(self.chroma.width);
        for row in y / 2..(bottom / 2 + 1).min(self.chroma.spans.len()) {
            self.update_chroma(pixels, row, cells.clone(), &weights, colour.siting);
        }
        Ok(())
    }

    fn update_luma(&mut self, pixels: &[[u8; 4]], row: usize, columns: Range<usize>, weights: &Weights) {
        let start = row * self.luma.width;
        let run = start + columns.start..start + columns.end;
        let (terms, keeps) = (&mut self.luma_term[run.clone()], &mut self.luma.keep[run.clone()]);
        for ((&pixel, term), keep) in pixels[run].iter().zip(terms).zip(keeps) {
            *term = weights.luma_term(pixel);
            *keep = 255 - pixel[3];
        }
        self.luma.measure_span(row);
    }

    fn update_chroma(
        &mut self,
        pixels: &[[u8; 4]],
        row: usize,
        cells: Range<usize>,
        weights: &Weights,
        siting: ChromaSiting,
    ) {
        let on_column = siting != ChromaSiting::Centre;
        let on_row = siting == ChromaSiting::TopLeft;
        let columns = cells.start.saturating_sub(1) * 2..cells.end * 2;
        self.mix_rows(pixels, row, columns, on_row);

        let beyond = if self.place.x == 0 { self.mixed[0] } else { [0; 4] };
        let mut before = if cells.start == 0 { beyond } else { self.mixed[2 * cells.start - 1] };
        let (first_tap, last_tap) = if on_column { (1, 1) } else { (0, 2) };
        let (pairs, _) = self.mixed[2 * cells.start..2 * cells.end].as_chunks::<2>();
        let (upper, _) = self.luma.row(2 * row)[2 * cells.start..2 * cells.end].as_chunks::<2>();
        let (lower, _) = self.luma.row(2 * row + 1)[2 * cells.start..2 * cells.end].as_chunks::<2>();

        let start = row * self.chroma.width;
        let run = start + cells.start..start + cells.end;
        let (blues, reds) = (&mut self.blue_term[run.clone()], &mut self.red_term[run.clone()]);
        let outputs = blues.iter_mut().zip(reds).zip(&mut self.chroma.keep[run]);
        let own = upper.iter().zip(lower);
        for (([on, after], own), ((blue, red), keep)) in pairs.iter().zip(own).zip(outputs) {
            let sum = std::array::from_fn(|i| first_tap * before[i] + 2 * on[i] + last_tap * after[i]);
            before = *after;
            let clear = own == (&[255; 2], &[255; 2]);
            let (b, r, alpha) = if clear { (0, 0, 0) } else { weights.chroma_terms(sum) };
            (*blue, *red, *keep) = (b, r, 255 - alpha);
        }
        self.chroma.measure_span(row);
    }

    /// Sums the luma rows of a chroma row with taps that add up to 4: 1-2-1 around a row, else 2-2.
    fn mix_rows(&mut self, pixels: &[[u8; 4]], row: usize, columns: Range<usize>, on_row: bool) {
        let line = |row: usize| &pixels[row * self.luma.width..][columns.clone()];
        let (on, below) = (line(2 * row), line(2 * row + 1));
        let above = match row {
            0 if self.place.y == 0 => Some(on),
            0 => None,
            _ => Some(line(2 * row - 1)),
        };
        let last_tap = if on_row { 1 } else { 2 };
        let mixed = &mut self.mixed[columns.clone()];
        for ((sum, on), below) in mixed.iter_mut().zip(on).zip(below) {
            *sum = std::array::from_fn(|i| 2 * u16::from(on[i]) + last_tap * u16::from(below[i]));
        }
        if let (true, Some(above)) = (on_row, above) {
            for (sum, above) in mixed.iter_mut().zip(above) {
                *sum = std::array::from_fn(|i| sum[i] + u16::from(above[i]));
            }
        }
    }

    /// Lays it over a frame; a part beyond the frame's edge is left out. `opacity` counts in 1/64; none, or 64 and
    /// above, is full.
    ///
    /// # Errors
    /// [`BlendError::Planes`] when a plane is shorter than the frame's size and stride say; nothing is changed then.
    pub fn blend(&self, frame: &mut PlanesMut<'_>, opacity: Option<u8>) -> Result<(), BlendError> {
        let (width, height) = (frame.width as usize, frame.height as usize);
        let luma = Grid { width, height, stride: frame.y_stride };
        let chroma = Grid { width: width / 2, height: height / 2, stride: frame.c_stride };
        for (samples, grid, plane) in [(&*frame.y, luma, "Y"), (&*frame.u, chroma, "Cb"), (&*frame.v, chroma, "Cr")] {
            if !grid.fits(samples) {
                return Err(BlendError::Planes { width: frame.width, height: frame.height, plane });
            }
        }
        let opacity = opacity.unwrap_or(FULL).min(FULL);
        let (x, y) = (self.place.x as usize, self.place.y as usize);
        luma.lay(frame.y, (x, y), &self.luma, &self.luma_term, opacity);
        chroma.lay(frame.u, (x / 2, y / 2), &self.chroma, &self.blue_term, opacity);
        chroma.lay(frame.v, (x / 2, y / 2), &self.chroma, &self.red_term, opacity);
        Ok(())
    }

    /// Whether blending may change the luma sample at `x`, `y` of the frame: its alpha is not zero.
    pub fn covers_luma(&self, x: u32, y: u32) -> bool {
        let (Some(column), Some(row)) = (x.checked_sub(self.place.x), y.checked_sub(self.place.y)) else {
            return false;
        };
        let inside = column < self.place.width && row < self.place.height;
        inside && self.luma.row(row as usize)[column as usize] != 255
    }

    /// Whether blending may change the chroma samples at `cx`, `cy` of the half-size planes: one of their four luma
    /// samples is covered.
    pub fn covers_chroma(&self, cx: u32, cy: u32) -> bool {
        [(0, 0), (1, 0), (0, 1), (1, 1)].into_iter().any(|(dx, dy)| self.covers_luma(2 * cx + dx, 2 * cy + dy))
    }
}

/// How a plane's samples lie in memory.
#[derive(Clone, Copy)]
struct Grid {
    width: usize,
    height: usize,
    stride: usize,
}

impl Grid {
    fn fits(self, samples: &[u8]) -> bool {
        let before_last = self.stride.checked_mul(self.height.saturating_sub(1));
        let needed = before_last.and_then(|before| before.checked_add(self.width));
        self.width <= self.stride && needed.is_some_and(|needed| needed <= samples.len())
    }

    /// Lays the covered runs over a plane that fits, from `(x, y)` on.
    fn lay(self, samples: &mut [u8], (x, y): (usize, usize), cover: &Cover, term: &[u16], opacity: u8) {
        let rows = self.height.saturating_sub(y);
        for (row, span) in cover.spans.iter().enumerate().take(rows) {
            let end = span.end.min(self.width.saturating_sub(x));
            if span.start >= end {
                continue;
            }
            let film = &mut samples[(y + row) * self.stride + x..][span.start..end];
            let run = row * cover.width + span.start..row * cover.width + end;
            let (term, keep) = (&term[run.clone()], &cover.keep[run]);
            if opacity == FULL {
                over(film, term, keep);
            } else {
                fade(film, term, keep, opacity);
            }
        }
    }
}

/// The share of a frame's luma samples that the layers cover, each counted once; 0 for an empty frame.
///
/// For reports: it walks the whole frame.
pub fn covered_share(layers: &[Layer], width: u32, height: u32) -> f64 {
    let samples = u64::from(width) * u64::from(height);
    let row = |y| (0..width).filter(|&x| layers.iter().any(|layer| layer.covers_luma(x, y))).count() as u64;
    let covered: u64 = (0..height).map(row).sum();
    if samples == 0 { 0.0 } else { covered as f64 / samples as f64 }
}

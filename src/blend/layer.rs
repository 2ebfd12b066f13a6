//! One instrument in a frame's own samples.

use std::sync::Arc;

use super::BlendError;
use super::convert;
use super::half::half;
use super::rows::{self, FULL};
use super::samples::{Grid, Samples};
use super::weights::Weights;
use crate::pixel::{ChromaSiting, Colour, Ink, Mask, Patch, PixelBox, PlanesMut, Surface};

/// No codec's frame is larger; keeps every product of sizes far from overflow.
pub(super) const FARTHEST_EDGE: u32 = 1 << 16;

/// A picture as premultiplied luma and chroma, ready to be laid over any number of frames.
#[derive(Debug, Clone)]
pub struct Layer {
    pub(super) place: PixelBox,
    pub(super) weights: Weights,
    pub(super) siting: ChromaSiting,
    pub(super) luma: Samples<1>,
    pub(super) chroma: Samples<2>,
    /// One run of a mask, dimmed to the ink's opacity.
    dimmed: Vec<u8>,
}

/// A mask as luma and chroma see it.
#[derive(Debug)]
pub struct Stencil {
    mask: Arc<Mask>,
    by: (i32, i32),
    half: Mask,
}

impl Layer {
    /// A patch in the samples of frames of this colour.
    ///
    /// # Errors
    /// [`BlendError::Place`] when an edge of its box is odd or beyond any frame, [`BlendError::Pixels`] when it holds more or
    /// fewer pixels than its box.
    pub fn new(patch: &Patch, colour: &Colour) -> Result<Self, BlendError> {
        let place = patch.place;
        let edges = [(place.x, place.width), (place.y, place.height)];
        let fits = |(start, length): (u32, u32)| {
            let end = start.checked_add(length).is_some_and(|end| end <= FARTHEST_EDGE);
            end && start % 2 == 0 && length % 2 == 0
        };
        if !edges.into_iter().all(fits) {
            return Err(BlendError::Place { place });
        }
        if patch.rgba.len() != 4 * place.width as usize * place.height as usize {
            return Err(BlendError::Pixels { place, bytes: patch.rgba.len() });
        }
        Ok(Self::of(patch, *colour))
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
        self.luma.blend([&mut *frame.y], luma, (x, y), opacity);
        self.chroma.blend([&mut *frame.u, &mut *frame.v], chroma, (x / 2, y / 2), opacity);
        Ok(())
    }

    /// Whether blending may change the luma sample at `x`, `y` of the frame: its alpha is not zero.
    pub fn covers_luma(&self, x: u32, y: u32) -> bool {
        let (Some(column), Some(row)) = (x.checked_sub(self.place.x), y.checked_sub(self.place.y)) else {
            return false;
        };
        let inside = column < self.place.width && row < self.place.height;
        inside && self.luma.covers(column as usize, row as usize)
    }

    /// Whether blending may change the chroma samples at `cx`, `cy` of the half-size planes: one of their four luma
    /// samples is covered.
    pub fn covers_chroma(&self, cx: u32, cy: u32) -> bool {
        [(0, 0), (1, 0), (0, 1), (1, 1)].into_iter().any(|(dx, dy)| self.covers_luma(2 * cx + dx, 2 * cy + dy))
    }

    /// A box of the frame as luma columns and rows of the layer, and as those of its chroma.
    fn local(&self, area: PixelBox) -> [PixelBox; 2] {
        let area = area.intersect(self.place);
        let luma = PixelBox { x: area.x - self.place.x.min(area.x), y: area.y - self.place.y.min(area.y), ..area };
        let chroma = PixelBox {
            x: luma.x / 2,
            y: luma.y / 2,
            width: luma.width.div_ceil(2),
            height: luma.height.div_ceil(2),
        };
        [luma, chroma]
    }
}

impl Surface for Layer {
    type Form = Colour;
    type Stencil = Stencil;

    fn stencil(mask: Arc<Mask>, by: (i32, i32), colour: Colour) -> Stencil {
        Stencil { half: half(&mask, by, colour.siting), mask, by }
    }

    fn clear(place: PixelBox, colour: Colour) -> Self {
        let (width, height) = (place.width as usize, place.height as usize);
        Self {
            place,
            weights: Weights::new(&colour),
            siting: colour.siting,
            luma: Samples::clear(width, height),
            chroma: Samples::clear(width.div_ceil(2), height.div_ceil(2)),
            dimmed: Vec::new(),
        }
    }

    fn of(patch: &Patch, colour: Colour) -> Self {
        let mut layer = Self::clear(patch.place, colour);
        convert::fill(&mut layer, patch.rgba.as_chunks::<4>().0);
        layer
    }

    fn place(&self) -> PixelBox {
        self.place
    }

    fn restore(&mut self, ground: &Self, area: PixelBox) {
        let [luma, chroma] = self.local(area);
        self.luma.restore(&ground.luma, luma);
        self.chroma.restore(&ground.chroma, chroma);
    }

    fn lay(&mut self, stencil: &Stencil, ink: Ink, area: PixelBox) {
        let area = area.intersect(self.place);
        let Self { place, weights, luma, chroma, dimmed, .. } = self;
        let (y_code, codes) = weights.of(ink.rgb);
        for (y, x, shares) in stencil.mask.within(stencil.by, area) {
            let (column, row) = ((x - place.x) as usize, (y - place.y) as usize);
            luma.lay((column, row), rows::dim(shares, ink.alpha, dimmed), [y_code]);
        }
        let half = PixelBox {
            x: area.x / 2,
            y: area.y / 2,
            width: area.right().div_ceil(2) - area.x / 2,
            height: area.bottom().div_ceil(2) - area.y / 2,
        };
        for (y, x, shares) in stencil.half.within((0, 0), half) {
            let (column, row) = ((x - place.x / 2) as usize, (y - place.y / 2) as usize);
            chroma.lay((column, row), rows::dim(shares, ink.alpha, dimmed), codes);
        }
    }

    fn over(&mut self, above: &Self, area: PixelBox) {
        let area = area.intersect(self.place).intersect(above.place);
        let ([luma, chroma], [luma_above, chroma_above]) = (self.local(area), above.local(area));
        self.luma.over(&above.luma, (luma_above.x, luma_above.y), luma);
        self.chroma.over(&above.chroma, (chroma_above.x, chroma_above.y), chroma);
    }
}

/// The share of a frame's luma samples that the layers cover, each counted once; 0 for an empty frame.
///
/// For reports: it walks the whole frame.
pub fn covered_share(layers: &[&Layer], width: u32, height: u32) -> f64 {
    let samples = u64::from(width) * u64::from(height);
    let row = |y| (0..width).filter(|&x| layers.iter().any(|layer| layer.covers_luma(x, y))).count() as u64;
    let covered: u64 = (0..height).map(row).sum();
    if samples == 0 { 0.0 } else { covered as f64 / samples as f64 }
}

//! Drawing straight on a film's frames.

use std::sync::Arc;

use super::BlendError;
use super::half::half;
use super::layer::Layer;
use super::plane::{Area, Plane};
use super::rows;
use super::weights::Weights;
use crate::pixel::{ChromaSiting, Colour, FULL, Form, Ink, Mask, Patch, PixelBox, PlanesMut};

/// How the frames of a film hold colour.
#[derive(Debug, Clone, Copy)]
pub struct Film {
    weights: Weights,
    siting: ChromaSiting,
}

/// A frame to be laid on.
#[derive(Debug)]
pub struct Canvas<'a>(PlanesMut<'a>);

/// A mask as luma and chroma see it.
#[derive(Debug)]
pub struct Stencil {
    mask: Arc<Mask>,
    by: (i32, i32),
    half: Mask,
}

/// A part of a frame as it was: its three planes' rows.
#[derive(Debug, Default)]
pub struct Kept([Vec<u8>; 3]);

impl<'a> Canvas<'a> {
    /// A frame's planes.
    ///
    /// # Errors
    /// [`BlendError::Planes`] when a plane is shorter than the frame's size and stride say.
    pub fn new(planes: PlanesMut<'a>) -> Result<Self, BlendError> {
        let (width, height) = (planes.width as usize, planes.height as usize);
        let fits = |samples: &[u8], stride: usize, (width, height): (usize, usize)| {
            let before_last = stride.checked_mul(height.saturating_sub(1));
            let needed = before_last.and_then(|before| before.checked_add(width));
            width <= stride && needed.is_some_and(|needed| needed <= samples.len())
        };
        let half = (width / 2, height / 2);
        for (samples, stride, size, plane) in [
            (&*planes.y, planes.y_stride, (width, height), "Y"),
            (&*planes.u, planes.c_stride, half, "Cb"),
            (&*planes.v, planes.c_stride, half, "Cr"),
        ] {
            if !fits(samples, stride, size) {
                return Err(BlendError::Planes { width: planes.width, height: planes.height, plane });
            }
        }
        Ok(Self(planes))
    }

    /// What a box of the frame is on the frame itself.
    fn clip(&self, limit: PixelBox) -> PixelBox {
        limit.intersect(PixelBox { x: 0, y: 0, width: self.0.width, height: self.0.height })
    }

    fn luma(&mut self) -> Plane<'_> {
        Plane { samples: self.0.y, stride: self.0.y_stride }
    }

    fn chroma(&mut self) -> [Plane<'_>; 2] {
        let stride = self.0.c_stride;
        [Plane { samples: self.0.u, stride }, Plane { samples: self.0.v, stride }]
    }

    /// The three planes with what a box is on them.
    fn areas(&mut self, place: PixelBox) -> [(Plane<'_>, Area); 3] {
        let place = self.clip(place);
        let PlanesMut { y, u, v, y_stride, c_stride, .. } = &mut self.0;
        let plane = |samples, stride: usize| Plane { samples, stride };
        let chroma = Area::chroma(place);
        [(plane(y, *y_stride), Area::luma(place)), (plane(u, *c_stride), chroma), (plane(v, *c_stride), chroma)]
    }
}

impl Film {
    /// A film of this colour.
    pub fn new(colour: &Colour) -> Self {
        Self { weights: Weights::new(colour), siting: colour.siting }
    }
}

impl Form for Film {
    type Canvas<'a> = Canvas<'a>;
    type Stencil = Stencil;
    type Picture = Layer;
    type Kept = Kept;

    fn stencil(self, mask: Arc<Mask>, by: (i32, i32)) -> Stencil {
        Stencil { half: half(&mask, by, self.siting), mask, by }
    }

    fn picture(self, patch: &Patch) -> Layer {
        Layer::of(patch, self, &self.weights, self.siting)
    }

    fn lay(self, canvas: &mut Canvas<'_>, stencil: &Stencil, by: (i32, i32), ink: Ink, limit: PixelBox) {
        if ink.alpha == 0 {
            return;
        }
        let limit = canvas.clip(limit);
        let (y_code, codes) = self.weights.of(ink.rgb);
        let half = PixelBox {
            x: limit.x / 2,
            y: limit.y / 2,
            width: limit.right().div_ceil(2) - limit.x / 2,
            height: limit.bottom().div_ceil(2) - limit.y / 2,
        };
        rows::widely(
            #[inline(always)]
            || {
                let mut luma = canvas.luma();
                for (y, x, shares) in stencil.mask.within((stencil.by.0 + by.0, stencil.by.1 + by.1), limit) {
                    let x = x as usize;
                    rows::lay(luma.row(y as usize, x..x + shares.len()), shares, ink, y_code);
                }
                let mut chroma = canvas.chroma();
                for (y, x, shares) in stencil.half.within((by.0 / 2, by.1 / 2), half) {
                    let x = x as usize;
                    for (plane, code) in chroma.iter_mut().zip(codes) {
                        rows::lay(plane.row(y as usize, x..x + shares.len()), shares, ink, code);
                    }
                }
            },
        );
    }

    fn over(self, canvas: &mut Canvas<'_>, picture: &Layer, limit: PixelBox) {
        let limit = canvas.clip(limit);
        picture.luma.over([canvas.luma()], Area::luma(limit));
        picture.chroma.over(canvas.chroma(), Area::chroma(limit));
    }

    fn keep(self, canvas: &mut Canvas<'_>, place: PixelBox, Kept(kept): &mut Kept) {
        for ((mut plane, area), kept) in canvas.areas(place).into_iter().zip(kept) {
            kept.clear();
            (area.top..area.bottom).for_each(|row| kept.extend_from_slice(plane.row(row, area.left..area.right)));
        }
    }

    fn fade(self, canvas: &mut Canvas<'_>, place: PixelBox, Kept(kept): &Kept, opacity: u8) {
        for ((mut plane, area), kept) in canvas.areas(place).into_iter().zip(kept) {
            let width = area.right - area.left;
            for (row, before) in (area.top..area.bottom).zip(kept.chunks_exact(width.max(1))) {
                rows::mix(plane.row(row, area.left..area.right), before, opacity.min(FULL));
            }
        }
    }
}

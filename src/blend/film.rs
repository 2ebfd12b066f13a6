//! Drawing straight on a film's frames.

use std::marker::PhantomData;
use std::sync::Arc;

use super::BlendError;
use super::half::half;
use super::layer::Layer;
use super::plane::{Area, Plane};
use super::rows;
use super::weights::Weights;
use crate::pixel::{
    ChromaSiting, Coding, Colour, FULL, Form, Ink, Mask, Patch, PixelBox, PlanesMut, Sample, Sampling, widely,
};

/// How the frames of a film hold colour, in samples of one type.
#[derive(Debug, Clone, Copy)]
pub struct Film<T: Sample = u8> {
    pub(super) weights: Weights,
    pub(super) siting: ChromaSiting,
    pub(super) sampling: Sampling,
    samples: PhantomData<T>,
}

/// A frame to be laid on.
#[derive(Debug)]
pub struct Canvas<'a, T: Sample = u8>(PlanesMut<'a, T>);

/// A mask as luma and, where it is coarser, chroma see it.
#[derive(Debug)]
pub struct Stencil {
    mask: Arc<Mask>,
    by: (i32, i32),
    coarse: Option<Mask>,
}

/// A part of a frame as it was: its three planes' rows.
#[derive(Debug, Default)]
pub struct Kept<T = u8>([Vec<T>; 3]);

impl<T: Sample> Canvas<'_, T> {
    /// What a box of the frame is on the frame itself.
    fn clip(&self, limit: PixelBox) -> PixelBox {
        limit.intersect(PixelBox { x: 0, y: 0, width: self.0.width, height: self.0.height })
    }

    pub(super) fn planes(&mut self) -> [Plane<'_, T>; 3] {
        let PlanesMut { y, u, v, y_stride, c_stride, .. } = &mut self.0;
        let plane = |samples, stride: usize| Plane { samples, stride };
        [plane(&mut **y, *y_stride), plane(&mut **u, *c_stride), plane(&mut **v, *c_stride)]
    }

    /// The planes with what a box is on them; of a gray frame the one that there is.
    fn areas(&mut self, place: PixelBox) -> impl Iterator<Item = (Plane<'_, T>, Area)> {
        let (place, sampling) = (self.clip(place), self.0.sampling);
        let chroma = Area::chroma(place, sampling);
        self.planes().into_iter().zip([Area::luma(place), chroma, chroma]).take(plane_count(sampling))
    }
}

impl Film {
    /// An 8-bit 4:2:0 film of this colour.
    pub fn new(colour: &Colour) -> Self {
        Self::coded(&Coding::common(*colour))
    }
}

impl<T: Sample> Film<T> {
    /// A film coded like this, whose samples are of the type that its depth wants.
    pub fn coded(coding: &Coding) -> Self {
        let Coding { colour: Colour { siting, .. }, sampling, .. } = *coding;
        Self { weights: Weights::new(coding), siting, sampling, samples: PhantomData }
    }

    /// A frame of the film, to be laid on.
    ///
    /// # Errors
    /// [`BlendError::Planes`] when a plane is shorter than the frame's size and stride say, [`BlendError::Sampling`] when its
    /// chroma is not sampled as the film's.
    pub fn canvas(self, planes: PlanesMut<'_, T>) -> Result<Canvas<'_, T>, BlendError> {
        if planes.sampling != self.sampling {
            return Err(BlendError::Sampling { film: self.sampling, frame: planes.sampling });
        }
        let PlanesMut { y, u, v, y_stride, c_stride, width, height, sampling } = &planes;
        let chroma = Area::chroma(PixelBox { x: 0, y: 0, width: *width, height: *height }, *sampling);
        let (luma, chroma) = ((*width as usize, *height as usize), (chroma.right, chroma.bottom));
        let all =
            [(&**y, *y_stride, luma, "first"), (&**u, *c_stride, chroma, "second"), (&**v, *c_stride, chroma, "third")];
        for (samples, stride, (columns, rows), plane) in all.into_iter().take(plane_count(*sampling)) {
            let before_last = stride.checked_mul(rows.saturating_sub(1));
            let needed = before_last.and_then(|before| before.checked_add(columns));
            if columns > stride || needed.is_none_or(|needed| needed > samples.len()) {
                return Err(BlendError::Planes { width: *width, height: *height, plane });
            }
        }
        Ok(Canvas(planes))
    }
}

/// Planes that a frame has.
const fn plane_count(sampling: Sampling) -> usize {
    if matches!(sampling, Sampling::Gray) { 1 } else { 3 }
}

impl<T: Sample> Form for Film<T> {
    type Canvas<'a> = Canvas<'a, T>;
    type Stencil = Stencil;
    type Picture = Layer<T>;
    type Kept = Kept<T>;

    fn stencil(self, mask: Arc<Mask>, by: (i32, i32)) -> Stencil {
        let coarse = match self.sampling {
            Sampling::Gray | Sampling::Full => None,
            Sampling::Half => Some(half(&mask, by, self.siting, 1)),
            Sampling::Quarter => Some(half(&mask, by, self.siting, 2)),
        };
        Stencil { coarse, mask, by }
    }

    fn picture(self, patch: &Patch) -> Layer<T> {
        Layer::of(patch, self)
    }

    fn lay(self, canvas: &mut Canvas<'_, T>, stencil: &Stencil, by: (i32, i32), ink: Ink, limit: PixelBox) {
        if ink.alpha == 0 {
            return;
        }
        let limit = canvas.clip(limit);
        let [first, second, third] = self.weights.of(ink.rgb);
        let own = (stencil.by.0 + by.0, stencil.by.1 + by.1);
        widely(
            #[inline(always)]
            || {
                let [y, u, v] = canvas.planes();
                lay([y], &stencil.mask, own, limit, ink, [first]);
                let (chroma, codes) = ([u, v], [second, third]);
                match (&stencil.coarse, self.sampling) {
                    (_, Sampling::Gray) => {}
                    (None, _) => lay(chroma, &stencil.mask, own, limit, ink, codes),
                    (Some(coarse), sampling) => {
                        let (x, y) = sampling.shifts();
                        let area = Area::chroma(limit, sampling);
                        let limit = PixelBox {
                            x: area.left as u32,
                            y: area.top as u32,
                            width: (area.right - area.left) as u32,
                            height: (area.bottom - area.top) as u32,
                        };
                        lay(chroma, coarse, (by.0 >> x, by.1 >> y), limit, ink, codes);
                    }
                }
            },
        );
    }

    fn over(self, canvas: &mut Canvas<'_, T>, picture: &Layer<T>, limit: PixelBox) {
        picture.over(canvas, canvas.clip(limit));
    }

    fn near(self, canvas: &mut Canvas<'_, T>, place: PixelBox) {
        for (mut plane, area) in canvas.areas(place) {
            (area.top..area.bottom).for_each(|row| rows::fetch_early(plane.row(row, area.left..area.right)));
        }
    }

    fn keep(self, canvas: &mut Canvas<'_, T>, place: PixelBox, Kept(kept): &mut Kept<T>) {
        for ((mut plane, area), kept) in canvas.areas(place).zip(kept) {
            kept.clear();
            (area.top..area.bottom).for_each(|row| kept.extend_from_slice(plane.row(row, area.left..area.right)));
        }
    }

    fn fade(self, canvas: &mut Canvas<'_, T>, place: PixelBox, Kept(kept): &Kept<T>, opacity: u8) {
        for ((mut plane, area), kept) in canvas.areas(place).zip(kept) {
            let width = area.right - area.left;
            for (row, before) in (area.top..area.bottom).zip(kept.chunks_exact(width.max(1))) {
                rows::mix(plane.row(row, area.left..area.right), before, opacity.min(FULL));
            }
        }
    }
}

/// Lays a code for each of some planes of one grid through a mask.
#[inline(always)]
fn lay<T: Sample, const N: usize>(
    mut planes: [Plane<'_, T>; N],
    mask: &Mask,
    by: (i32, i32),
    limit: PixelBox,
    ink: Ink,
    codes: [T; N],
) {
    mask.each_within(
        by,
        limit,
        #[inline(always)]
        |y, x, shares| rows::lay(&mut planes, (y as usize, x as usize), shares, ink, codes),
    );
}

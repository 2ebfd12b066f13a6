//! A picture in a frame's own samples, ready to be laid over any number of frames.

use super::convert::{Grids, grids};
use super::film::{Canvas, Film, Kept};
use super::plane::Area;
use super::{BlendError, FARTHEST_EDGE};
use crate::pixel::{Colour, FULL, Form, Patch, PixelBox, PlanesMut, Sample};

/// A picture as premultiplied samples of a film.
#[derive(Debug, Clone)]
pub struct Layer<T: Sample = u8> {
    place: PixelBox,
    film: Film<T>,
    grids: Grids<T>,
}

impl Layer {
    /// A patch in the samples of 8-bit 4:2:0 frames of this colour.
    ///
    /// # Errors
    /// As [`Layer::in_film`].
    pub fn new(patch: &Patch, colour: &Colour) -> Result<Self, BlendError> {
        Self::in_film(patch, Film::new(colour))
    }
}

impl<T: Sample> Layer<T> {
    /// A patch in the samples of a film's frames.
    ///
    /// # Errors
    /// [`BlendError::Place`] when an edge of its box is odd or beyond any frame, [`BlendError::Pixels`] when it holds more or
    /// fewer pixels than its box.
    pub fn in_film(patch: &Patch, film: Film<T>) -> Result<Self, BlendError> {
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
        Ok(Self::of(patch, film))
    }

    pub(super) fn of(patch: &Patch, film: Film<T>) -> Self {
        let pixels = patch.rgba.as_chunks::<4>().0;
        Self { place: patch.place, film, grids: grids(patch.place, pixels, &film.weights, film.sampling, film.siting) }
    }

    /// Lays what lies within a box of the frame.
    pub(super) fn over(&self, canvas: &mut Canvas<'_, T>, limit: PixelBox) {
        let (luma, highest) = (Area::luma(limit), self.film.weights.highest());
        let [y, u, v] = canvas.planes();
        match &self.grids {
            Grids::Luma(samples) => samples.over([y], luma, highest),
            Grids::Apart(samples, chroma) => {
                samples.over([y], luma, highest);
                chroma.over([u, v], Area::chroma(limit, self.film.sampling), highest);
            }
            Grids::Together(samples) => samples.over([y, u, v], luma, highest),
        }
    }

    /// Lays it over a frame; a part beyond the frame's edge is left out. `opacity` counts in 1/64; none, or 64 and
    /// above, is full.
    ///
    /// # Errors
    /// [`BlendError::Planes`] when a plane is shorter than the frame's size and stride say, [`BlendError::Sampling`] when the
    /// frame is not one of its film; nothing is changed then.
    pub fn blend(&self, frame: &mut PlanesMut<'_, T>, opacity: Option<u8>) -> Result<(), BlendError> {
        let Self { place, film, .. } = *self;
        let mut canvas = film.canvas(frame.lent())?;
        match opacity {
            Some(faint) if faint < FULL => {
                let mut kept = Kept::default();
                film.keep(&mut canvas, place, &mut kept);
                film.over(&mut canvas, self, place);
                film.fade(&mut canvas, place, &kept, faint);
            }
            _ => film.over(&mut canvas, self, place),
        }
        Ok(())
    }
}

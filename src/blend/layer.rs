//! A picture in a frame's own samples, ready to be laid over any number of frames.

use super::film::{Canvas, Film, Kept};
use super::samples::Samples;
use super::weights::Weights;
use super::{BlendError, convert};
use crate::pixel::{ChromaSiting, Colour, FULL, Form, Patch, PixelBox, PlanesMut};

/// No codec's frame is larger; keeps every product of sizes far from overflow.
pub(super) const FARTHEST_EDGE: u32 = 1 << 16;

/// A picture as premultiplied luma and chroma.
#[derive(Debug, Clone)]
pub struct Layer {
    place: PixelBox,
    film: Film,
    pub(super) luma: Samples<1>,
    pub(super) chroma: Samples<2>,
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
        Ok(Film::new(colour).picture(patch))
    }

    pub(super) fn of(patch: &Patch, film: Film, weights: &Weights, siting: ChromaSiting) -> Self {
        let pixels = patch.rgba.as_chunks::<4>().0;
        let (luma, chroma) = convert::samples(patch.place, pixels, weights, siting);
        Self { place: patch.place, film, luma, chroma }
    }

    /// Lays it over a frame; a part beyond the frame's edge is left out. `opacity` counts in 1/64; none, or 64 and
    /// above, is full.
    ///
    /// # Errors
    /// [`BlendError::Planes`] when a plane is shorter than the frame's size and stride say; nothing is changed then.
    pub fn blend(&self, frame: &mut PlanesMut<'_>, opacity: Option<u8>) -> Result<(), BlendError> {
        let Self { place, film, .. } = *self;
        let mut canvas = Canvas::new(frame.lent())?;
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

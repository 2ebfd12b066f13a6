//! What instruments are composed on: pixels for a sheet, or a film's own samples.

use std::sync::Arc;

use super::{Mask, Patch, PixelBox};

/// A colour as it is laid through a mask.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ink {
    /// Red, green and blue, encoded like sRGB.
    pub rgb: [u8; 3],
    /// Opacity where the mask covers a pixel as a whole.
    pub alpha: u8,
}

/// A picture of one box of the coded frame, premultiplied, in the form in which it is wanted.
///
/// Whatever is composed, a sample depends on the layers at its own place alone: a box composed anew equals the same box of
/// a fresh picture, byte for byte. Every box handed in lies on the grid of the coarsest chroma, two by two.
pub trait Surface: Sized + Send + Sync {
    /// What must be known of the frame.
    type Form: Copy + Send + Sync;

    /// A mask as the form's samples see it.
    type Stencil: Send + Sync;

    /// Prepares a mask to be laid, moved by whole pixels.
    fn stencil(mask: Arc<Mask>, by: (i32, i32), form: Self::Form) -> Self::Stencil;

    /// A clear picture. The corner of `place` is on even columns and rows.
    fn clear(place: PixelBox, form: Self::Form) -> Self;

    /// A picture drawn in pixels.
    fn of(patch: &Patch, form: Self::Form) -> Self;

    /// Where it lies on the coded frame.
    fn place(&self) -> PixelBox;

    /// Puts back what `ground`, a picture of the same place, shows within a box.
    fn restore(&mut self, ground: &Self, area: PixelBox);

    /// Lays a colour through a mask within a box.
    fn lay(&mut self, stencil: &Self::Stencil, ink: Ink, area: PixelBox);

    /// Lays another picture over it within a box (Porter and Duff's *over*, rounded to nearest).
    fn over(&mut self, above: &Self, area: PixelBox);
}

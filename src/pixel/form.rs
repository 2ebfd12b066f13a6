//! What a panel is drawn in: pixels for a sheet, or a film's own samples.

use std::sync::Arc;

use super::sample::div255;
use super::{Mask, Patch, PixelBox};

/// A colour as it is laid through a mask.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ink {
    /// Red, green and blue, encoded like sRGB.
    pub rgb: [u8; 3],
    /// Opacity where the mask covers a pixel as a whole.
    pub alpha: u8,
}

impl Ink {
    /// Opacity where the mask has this share. What is covered at all stays covered.
    #[inline(always)]
    pub fn at(self, share: u8) -> u16 {
        // A word all the way: vectors would take it apart for a byte in between.
        let share = u16::from(share);
        div255(u16::from(self.alpha) * share).max(share.min(1))
    }
}

/// The form in which instruments are laid on a picture or a frame, the canvas.
///
/// Whatever is laid, a sample depends on what lay there before and on the layers at its own place alone. Every box handed in
/// lies on the grid of the coarsest chroma, two by two.
pub trait Form: Copy + Send + Sync {
    /// What is laid on.
    type Canvas<'a>;
    /// A mask as the form's samples see it.
    type Stencil: Send + Sync;
    /// A picture that is laid again and again.
    type Picture: Send + Sync;
    /// Memory for a part of a canvas as it was.
    type Kept: Default + Send + Sync;

    /// Prepares a mask to be laid, moved by whole pixels.
    fn stencil(self, mask: Arc<Mask>, by: (i32, i32)) -> Self::Stencil;

    /// Prepares a picture, the corner of whose box is on even columns and rows.
    fn picture(self, patch: &Patch) -> Self::Picture;

    /// Lays a colour through a mask, moved once more by even columns and rows, within a box.
    fn lay(self, canvas: &mut Self::Canvas<'_>, stencil: &Self::Stencil, by: (i32, i32), ink: Ink, limit: PixelBox);

    /// Lays a picture over the canvas (Porter and Duff's *over*, rounded to nearest) within a box.
    fn over(self, canvas: &mut Self::Canvas<'_>, picture: &Self::Picture, limit: PixelBox);

    /// Asks for the memory of a box of the canvas, which is going to be laid on. Changes nothing.
    fn near(self, canvas: &mut Self::Canvas<'_>, place: PixelBox);

    /// Takes down what a box of the canvas shows.
    fn keep(self, canvas: &mut Self::Canvas<'_>, place: PixelBox, kept: &mut Self::Kept);

    /// Mixes the canvas with what the same box showed before: `opacity` parts of 64 as it is, the rest as it was.
    fn fade(self, canvas: &mut Self::Canvas<'_>, place: PixelBox, kept: &Self::Kept, opacity: u8);
}

/// The opacity at which nothing is mixed in.
pub const FULL: u8 = 64;

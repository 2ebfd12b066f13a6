//! Lays drawn instruments over a frame's own planes; a frame never makes a round trip through RGB.
//!
//! A [`Layer`] is a picture in the form that the frame needs: for every sample the colour times alpha (`term`) and what is
//! kept of the film (`keep`, 255 less alpha), eight bits each. Blending a sample is `d = term + div255(d * keep)`, with
//! `div255` rounding to nearest: Porter and Duff's "over" (1984) for an opaque ground, in the gamma-coded values that the
//! film holds. The sRGB codes that are drawn count as the film's own R'G'B' codes. What moves is laid on the frame as a
//! colour through its mask ([`Film`]): no picture of it is ever made, and no pixel is converted while the film runs.
//!
//! Chroma alpha and colour are means over the luma samples around the chroma site, colour weighted by alpha:
//! 1-2-1 where the site lies on a luma column or row, 1-1 where it lies between two. A chroma cell whose own four luma
//! samples are all transparent is left alone, so the touched samples are exactly those of non-zero alpha, rounded outward
//! to the chroma grid. Beyond the picture all is transparent, but at the frame's left and top edge the edge sample stands
//! for its missing neighbour. Where two shapes share a chroma cell, each is laid by its own mean.
//!
//! Precision of one thing laid over the film: luma within a code and chroma within 1.5 codes of the unrounded value; every
//! thing under it, and a partial opacity, add half a code at most. Alpha 0 leaves the sample bit for bit.

mod convert;
mod film;
mod half;
mod layer;
mod plane;
mod rows;
mod samples;
mod weights;

use crate::pixel::PixelBox;

pub use film::{Canvas, Film, Kept, Stencil};
pub use layer::Layer;
pub use weights::forward_rows;

/// Why nothing can be laid over a frame.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BlendError {
    /// The box does not lie on the chroma grid, or reaches beyond any frame.
    #[error("patch box {place:?}: edges must be even and at most {}", layer::FARTHEST_EDGE)]
    Place {
        /// The box asked for.
        place: PixelBox,
    },
    /// More or fewer pixels than the box holds.
    #[error("patch box {place:?} given with {bytes} bytes of pixels")]
    Pixels {
        /// The patch's box.
        place: PixelBox,
        /// Length of its pixels.
        bytes: usize,
    },
    /// A plane holds fewer samples than its size and stride say.
    #[error("frame of {width} x {height}: its {plane} plane is too short or its stride too small")]
    Planes {
        /// Luma columns.
        width: u32,
        /// Luma rows.
        height: u32,
        /// `Y`, `Cb` or `Cr`.
        plane: &'static str,
    },
}

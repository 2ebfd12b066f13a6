//! Lays drawn instruments over a frame's own planes; a frame never makes a round trip through RGB.
//!
//! A [`Layer`] holds one patch as the frame needs it: for every sample the colour times alpha (`term`, in 1/255 codes)
//! and what is kept of the film (`keep`, 255 less alpha). Blending a sample is
//! `d = div255(term + d * keep)`, with `div255` rounding to nearest: Porter and Duff's "over" (1984) for an opaque
//! ground, in the gamma-coded values that the film holds, with one rounding. The patch's sRGB codes count as the film's own
//! R'G'B' codes.
//!
//! Chroma alpha and colour are means over the luma samples around the chroma site, colour weighted by alpha:
//! 1-2-1 where the site lies on a luma column or row, 1-1 where it lies between two. A chroma cell whose own four luma
//! samples are all transparent is left alone, so the touched samples are exactly those of non-zero alpha, rounded outward
//! to the chroma grid. Beyond the patch all is transparent, but at the frame's left and top edge the edge sample stands
//! for its missing neighbour.
//!
//! Precision: luma within 0.51 and chroma within 1.01 code of the unrounded value; at a partial opacity both within
//! 1.01. Alpha 0 leaves the sample bit for bit.

mod layer;
mod rows;
mod weights;

use crate::pixel::PixelBox;

pub use layer::{Layer, covered_share};
pub use weights::forward_rows;

/// Why a patch cannot be laid over a frame.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BlendError {
    /// The box does not lie on the chroma grid, or reaches beyond any frame.
    #[error("patch box {place:?}: edges must be even and at most {}", layer::FARTHEST_EDGE)]
    Place {
        /// The box asked for.
        place: PixelBox,
    },
    /// The patch is not the one the layer was made for.
    #[error("patch of {bytes} bytes at {found:?} given to a layer at {expected:?}")]
    OtherPatch {
        /// The layer's box.
        expected: PixelBox,
        /// The patch's box.
        found: PixelBox,
        /// Length of the patch's pixels.
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

//! Lays drawn instruments over a frame's own planes; a frame never makes a round trip through RGB.
//!
//! A [`Layer`] is a picture in the form that the frame needs: for every sample the colour times alpha (`term`) and what is
//! kept of the film (`keep`, 255 less alpha). Blending a sample is `d = term + d * keep / 255`, rounded to nearest:
//! Porter and Duff's "over" (1984) for an opaque ground, in the gamma-coded values that the film holds. The sRGB codes that are
//! drawn count as the film's own R'G'B' codes; in a film of high dynamic range a drawn white is graphics white. What moves is
//! laid on the frame as a colour through its mask ([`Film`]): no picture of it is ever made, and no pixel is converted while the
//! film runs. Bytes and words, gray, 4:2:0, 4:2:2, 4:4:4 and RGB go through the same code.
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
mod light;
mod plane;
mod rows;
mod samples;
mod weights;

use crate::pixel::{PixelBox, Sampling};

pub use film::{Canvas, Film, Kept, Stencil};
pub use layer::Layer;
pub use light::{hlg_signal, pq_signal, srgb_light};
pub use weights::forward_rows;

/// No codec's frame is larger; keeps every product of sizes far from overflow.
const FARTHEST_EDGE: u32 = 1 << 16;

/// Why nothing can be laid over a frame.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BlendError {
    /// The box does not lie on the chroma grid, or reaches beyond any frame.
    #[error("patch box {place:?}: edges must be even and at most {}", FARTHEST_EDGE)]
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
        /// Which of its planes, in words.
        plane: &'static str,
    },
    /// The frame's chroma is not sampled as the film's.
    #[error("the frame's chroma is sampled otherwise ({frame:?}) than the film's ({film:?})")]
    Sampling {
        /// The film's.
        film: Sampling,
        /// The frame's.
        frame: Sampling,
    },
}

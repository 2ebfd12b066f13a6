//! One plane of a frame, and an area of it.

use std::ops::Range;

use crate::pixel::PixelBox;

/// Samples of one kind, row by row.
pub(super) struct Plane<'a> {
    pub samples: &'a mut [u8],
    pub stride: usize,
}

impl Plane<'_> {
    /// Some columns of a row, which lie on the plane.
    #[inline(always)]
    pub fn row(&mut self, row: usize, columns: Range<usize>) -> &mut [u8] {
        &mut self.samples[row * self.stride..][columns]
    }
}

/// Columns and rows of a plane.
#[derive(Debug, Clone, Copy)]
pub(super) struct Area {
    pub left: usize,
    pub top: usize,
    pub right: usize,
    pub bottom: usize,
}

impl Area {
    /// A box of the frame on a plane of luma.
    pub const fn luma(place: PixelBox) -> Self {
        Self {
            left: place.x as usize,
            top: place.y as usize,
            right: place.right() as usize,
            bottom: place.bottom() as usize,
        }
    }

    /// A box of the frame, on even columns and rows, on a plane of chroma.
    pub const fn chroma(place: PixelBox) -> Self {
        let luma = Self::luma(place);
        Self { left: luma.left / 2, top: luma.top / 2, right: luma.right.div_ceil(2), bottom: luma.bottom.div_ceil(2) }
    }
}

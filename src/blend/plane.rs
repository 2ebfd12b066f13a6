//! One plane of a frame, and an area of it.

use std::ops::Range;

use crate::pixel::{PixelBox, Sample, Sampling};

/// Samples of one kind, row by row.
pub(super) struct Plane<'a, T> {
    pub samples: &'a mut [T],
    pub stride: usize,
}

impl<T: Sample> Plane<'_, T> {
    /// Some columns of a row, which lie on the plane.
    #[inline(always)]
    pub fn row(&mut self, row: usize, columns: Range<usize>) -> &mut [T] {
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
    pub const fn chroma(place: PixelBox, sampling: Sampling) -> Self {
        let Self { left, top, right, bottom } = Self::luma(place);
        let (x, y) = sampling.shifts();
        Self { left: left >> x, top: top >> y, right: right.div_ceil(1 << x), bottom: bottom.div_ceil(1 << y) }
    }
}

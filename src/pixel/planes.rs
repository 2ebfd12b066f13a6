//! A frame's own memory, lent for writing.

use super::{Sample, Sampling};

/// The planes of a frame: luma and both chromas, or green, blue and red. A gray frame's second and third are empty.
#[derive(Debug)]
pub struct PlanesMut<'a, T: Sample = u8> {
    /// Luma (or green) samples; row `r` starts at `r * y_stride`.
    pub y: &'a mut [T],
    /// Blue difference (or blue) samples.
    pub u: &'a mut [T],
    /// Red difference (or red) samples.
    pub v: &'a mut [T],
    /// Samples from one luma row to the next.
    pub y_stride: usize,
    /// Samples from one chroma row to the next.
    pub c_stride: usize,
    /// Luma columns.
    pub width: u32,
    /// Luma rows.
    pub height: u32,
    /// How many luma samples share a chroma sample.
    pub sampling: Sampling,
}

impl<T: Sample> PlanesMut<'_, T> {
    /// The same planes, lent on for a while.
    pub fn lent(&mut self) -> PlanesMut<'_, T> {
        let Self { y, u, v, y_stride, c_stride, width, height, sampling } = self;
        let (y_stride, c_stride, width, height) = (*y_stride, *c_stride, *width, *height);
        PlanesMut { y, u, v, y_stride, c_stride, width, height, sampling: *sampling }
    }
}

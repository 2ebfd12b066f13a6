//! A frame's own memory, lent for writing.

/// The three planes of an 8-bit 4:2:0 frame: luma in full, both chroma planes at half width and half height.
#[derive(Debug)]
pub struct PlanesMut<'a> {
    /// Luma samples; row `r` starts at `r * y_stride`.
    pub y: &'a mut [u8],
    /// Blue difference samples.
    pub u: &'a mut [u8],
    /// Red difference samples.
    pub v: &'a mut [u8],
    /// Bytes from one luma row to the next.
    pub y_stride: usize,
    /// Bytes from one chroma row to the next.
    pub c_stride: usize,
    /// Luma columns (even).
    pub width: u32,
    /// Luma rows (even).
    pub height: u32,
}

impl PlanesMut<'_> {
    /// The same planes, lent on for a while.
    pub fn lent(&mut self) -> PlanesMut<'_> {
        let Self { y, u, v, y_stride, c_stride, width, height } = self;
        PlanesMut { y, u, v, y_stride: *y_stride, c_stride: *c_stride, width: *width, height: *height }
    }
}

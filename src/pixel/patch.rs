//! A drawn rectangle on its way to the frame.

/// A rectangle of pixels: `x .. x + width`, `y .. y + height`, in coded frame coordinates unless said otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct PixelBox {
    /// Left column.
    pub x: u32,
    /// Top row.
    pub y: u32,
    /// Columns; zero means nothing.
    pub width: u32,
    /// Rows; zero means nothing.
    pub height: u32,
}

impl PixelBox {
    /// Whether it holds no pixel.
    pub const fn is_empty(self) -> bool {
        self.width == 0 || self.height == 0
    }

    /// First column to the right of it.
    pub const fn right(self) -> u32 {
        self.x + self.width
    }

    /// First row below it.
    pub const fn bottom(self) -> u32 {
        self.y + self.height
    }

    /// The smallest box that holds both; an empty one adds nothing.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        if self.is_empty() {
            return other;
        }
        if other.is_empty() {
            return self;
        }
        let (x, y) = (self.x.min(other.x), self.y.min(other.y));
        let (right, bottom) = (self.right().max(other.right()), self.bottom().max(other.bottom()));
        Self { x, y, width: right - x, height: bottom - y }
    }

    /// What both hold.
    #[must_use]
    pub fn intersect(self, other: Self) -> Self {
        let (x, y) = (self.x.max(other.x), self.y.max(other.y));
        let (right, bottom) = (self.right().min(other.right()), self.bottom().min(other.bottom()));
        if right <= x || bottom <= y {
            return Self::default();
        }
        Self { x, y, width: right - x, height: bottom - y }
    }

    /// Grown outward so that every edge is a multiple of `grid` (the chroma cell), then cut to `width` x `height`.
    #[must_use]
    pub fn to_grid(self, grid: u32, width: u32, height: u32) -> Self {
        if self.is_empty() {
            return self;
        }
        let (x, y) = (self.x / grid * grid, self.y / grid * grid);
        let right = self.right().div_ceil(grid) * grid;
        let bottom = self.bottom().div_ceil(grid) * grid;
        Self { x, y, width: right.min(width) - x, height: bottom.min(height) - y }
    }
}

/// One instrument as drawn: a box on the coded frame and its pixels.
///
/// `rgba` is premultiplied, 8 bits a channel, encoded like sRGB, row by row without padding: `4 * width * height` bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Patch {
    /// Where it lies on the coded frame; edges on the chroma grid.
    pub place: PixelBox,
    /// Premultiplied pixels.
    pub rgba: Vec<u8>,
}

//! A drawn rectangle on its way to the frame.

use std::sync::Arc;

use super::{Ink, Mask, Surface};

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

impl Surface for Patch {
    type Form = ();
    type Stencil = (Arc<Mask>, (i32, i32));

    fn stencil(mask: Arc<Mask>, by: (i32, i32), (): ()) -> Self::Stencil {
        (mask, by)
    }

    fn clear(place: PixelBox, (): ()) -> Self {
        Self { place, rgba: vec![0; 4 * place.width as usize * place.height as usize] }
    }

    fn of(patch: &Patch, (): ()) -> Self {
        patch.clone()
    }

    fn place(&self) -> PixelBox {
        self.place
    }

    fn restore(&mut self, ground: &Self, area: PixelBox) {
        let part = area.intersect(self.place).intersect(ground.place);
        for y in part.y..part.bottom() {
            let source = ground.bytes(y, part.x, part.width as usize);
            let target = self.bytes(y, part.x, part.width as usize);
            self.rgba[target].copy_from_slice(&ground.rgba[source]);
        }
    }

    fn lay(&mut self, (mask, by): &Self::Stencil, ink: Ink, area: PixelBox) {
        let shades = Shades::of(ink);
        for (y, x, values) in mask.within(*by, area.intersect(self.place)) {
            let row = self.bytes(y, x, values.len());
            for (pixel, &value) in self.rgba[row].as_chunks_mut::<4>().0.iter_mut().zip(values) {
                *pixel = over_pixel(*pixel, shades.at(value));
            }
        }
    }

    fn over(&mut self, above: &Self, area: PixelBox) {
        let part = area.intersect(self.place).intersect(above.place);
        for y in part.y..part.bottom() {
            let source = above.bytes(y, part.x, part.width as usize);
            let target = self.bytes(y, part.x, part.width as usize);
            let pixels = above.rgba[source].as_chunks::<4>().0;
            for (d, s) in self.rgba[target].as_chunks_mut::<4>().0.iter_mut().zip(pixels) {
                *d = over_pixel(*d, *s);
            }
        }
    }
}

impl Patch {
    /// The bytes of some pixels of a row, which lie within it.
    fn bytes(&self, y: u32, x: u32, pixels: usize) -> std::ops::Range<usize> {
        let start = 4 * ((y - self.place.y) as usize * self.place.width as usize + (x - self.place.x) as usize);
        start..start + 4 * pixels
    }
}

/// A colour at any cover, premultiplied.
struct Shades {
    rgb: [u32; 3],
    alpha: u32,
}

impl Shades {
    fn of(ink: Ink) -> Self {
        Self { rgb: ink.rgb.map(u32::from), alpha: u32::from(ink.alpha) }
    }

    fn at(&self, cover: u8) -> [u8; 4] {
        let alpha = (self.alpha * u32::from(cover) + 127) / 255;
        let [r, g, b] = self.rgb.map(|c| ((c * alpha + 127) / 255) as u8);
        [r, g, b, alpha as u8]
    }
}

/// Two channels at a time in one word: each product and its rounding stay below 2^16.
fn over_pixel(below: [u8; 4], above: [u8; 4]) -> [u8; 4] {
    const EVEN: u32 = 0x00ff_00ff;
    let d = u32::from_le_bytes(below);
    let rest = 255 - u32::from(above[3]);
    let scale = |pair: u32| {
        let product = pair * rest + 0x0080_0080;
        ((product + ((product >> 8) & EVEN)) >> 8) & EVEN
    };
    let scaled = scale(d & EVEN) | (scale((d >> 8) & EVEN) << 8);
    // Premultiplied colours never exceed their alpha, so no channel overflows into the next.
    (u32::from_le_bytes(above) + scaled).to_le_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// W3C Compositing and Blending 1, "over": co = cs + cb (1 - as), for every alpha and backdrop.
    #[test]
    fn over_is_within_half_a_level() {
        for alpha in 0..=255u8 {
            for below in 0..=255u8 {
                let [r, g, b, a] = over_pixel([below, 255 - below, 0, 255], [alpha, 0, alpha / 2, alpha]);
                let exact = |s: u8, d: u8| f64::from(s) + f64::from(d) * (1.0 - f64::from(alpha) / 255.0);
                let near = |found: u8, s: u8, d: u8| (f64::from(found) - exact(s, d)).abs() <= 0.5 + 1e-9;
                assert!(near(r, alpha, below) && near(g, 0, 255 - below) && near(b, alpha / 2, 0));
                assert_eq!(a, 255, "an opaque picture stays opaque");
            }
        }
        assert_eq!(over_pixel([1, 2, 3, 4], [0; 4]), [1, 2, 3, 4], "nothing over it changes nothing");
    }

    #[test]
    fn a_colour_is_laid_where_the_mask_and_the_box_are() {
        let place = PixelBox { x: 10, y: 10, width: 4, height: 4 };
        let mut mask = Mask::default();
        (0..7).for_each(|y| mask.push((0, y), &[255; 7]));
        let mask = Arc::new(mask);
        let lit = |by, area| {
            let mut patch = Patch::clear(place, ());
            patch.lay(&(Arc::clone(&mask), by), Ink { rgb: [255; 3], alpha: 255 }, area);
            patch.rgba.as_chunks::<4>().0.iter().filter(|&&pixel| pixel == [255; 4]).count()
        };
        assert_eq!(lit((5, 6), place), 6, "two columns of three rows");
        assert_eq!(lit((5, 6), PixelBox { width: 1, ..place }), 3);
        assert_eq!(lit((-400, 0), place), 0);
    }
}

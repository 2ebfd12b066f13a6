//! A drawn rectangle on its way to the frame.

use std::sync::Arc;

use super::form::FULL;
use super::{Form, Ink, Mask};

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

/// Drawing in pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Pixels;

impl Form for Pixels {
    type Canvas<'a> = Patch;
    type Stencil = (Arc<Mask>, (i32, i32));
    type Picture = Patch;
    type Kept = Vec<u8>;

    fn stencil(self, mask: Arc<Mask>, by: (i32, i32)) -> Self::Stencil {
        (mask, by)
    }

    fn picture(self, patch: &Patch) -> Patch {
        patch.clone()
    }

    fn lay(self, canvas: &mut Patch, (mask, own): &Self::Stencil, by: (i32, i32), ink: Ink, limit: PixelBox) {
        if ink.alpha == 0 {
            return;
        }
        mask.each_within((own.0 + by.0, own.1 + by.1), limit.intersect(canvas.place), |y, x, shares| {
            let row = canvas.bytes(y, x, shares.len());
            for (pixel, &share) in canvas.rgba[row].as_chunks_mut::<4>().0.iter_mut().zip(shares) {
                *pixel = over_pixel(*pixel, shade(ink, share));
            }
        });
    }

    fn over(self, canvas: &mut Patch, above: &Patch, limit: PixelBox) {
        let part = limit.intersect(canvas.place).intersect(above.place);
        for y in part.y..part.bottom() {
            let source = above.bytes(y, part.x, part.width as usize);
            let target = canvas.bytes(y, part.x, part.width as usize);
            let pixels = above.rgba[source].as_chunks::<4>().0;
            for (d, s) in canvas.rgba[target].as_chunks_mut::<4>().0.iter_mut().zip(pixels) {
                *d = over_pixel(*d, *s);
            }
        }
    }

    /// Sheets are drawn once, so that nothing is gained.
    fn near(self, _canvas: &mut Patch, _place: PixelBox) {}

    fn keep(self, canvas: &mut Patch, place: PixelBox, kept: &mut Vec<u8>) {
        kept.clear();
        let part = place.intersect(canvas.place);
        (part.y..part.bottom())
            .for_each(|y| kept.extend_from_slice(&canvas.rgba[canvas.bytes(y, part.x, part.width as usize)]));
    }

    fn fade(self, canvas: &mut Patch, place: PixelBox, kept: &Vec<u8>, opacity: u8) {
        let part = place.intersect(canvas.place);
        let (new, old) = (u32::from(opacity), u32::from(FULL - opacity));
        for (y, before) in (part.y..part.bottom()).zip(kept.chunks_exact(4 * part.width.max(1) as usize)) {
            let row = canvas.bytes(y, part.x, part.width as usize);
            for (d, &before) in canvas.rgba[row].iter_mut().zip(before) {
                *d = ((u32::from(*d) * new + u32::from(before) * old + 32) / 64) as u8;
            }
        }
    }
}

impl Patch {
    /// A clear picture of a box.
    pub fn clear(place: PixelBox) -> Self {
        Self { place, rgba: vec![0; 4 * place.width as usize * place.height as usize] }
    }

    /// The bytes of some pixels of a row, which lie within it.
    fn bytes(&self, y: u32, x: u32, pixels: usize) -> std::ops::Range<usize> {
        let start = 4 * ((y - self.place.y) as usize * self.place.width as usize + (x - self.place.x) as usize);
        start..start + 4 * pixels
    }
}

/// A colour at a share of a pixel, premultiplied.
fn shade(ink: Ink, share: u8) -> [u8; 4] {
    let alpha = ink.at(share);
    let [r, g, b] = ink.rgb.map(|c| ((u32::from(c) * u32::from(alpha) + 127) / 255) as u8);
    [r, g, b, alpha as u8]
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
            let mut patch = Patch::clear(place);
            let ink = Ink { rgb: [255; 3], alpha: 255 };
            Pixels.lay(&mut patch, &(Arc::clone(&mask), by), (0, 0), ink, area);
            patch.rgba.as_chunks::<4>().0.iter().filter(|&&pixel| pixel == [255; 4]).count()
        };
        assert_eq!(lit((5, 6), place), 6, "two columns of three rows");
        assert_eq!(lit((5, 6), PixelBox { width: 1, ..place }), 3);
        assert_eq!(lit((-400, 0), place), 0);
    }
}

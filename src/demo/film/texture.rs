//! Painted pictures as the frames need them: luma and chroma, softened once, in ever smaller copies, read between pixels.

use crate::blend::forward_rows;
use crate::pixel::{Matrix, Patch};
use image::RgbaImage;
use imageproc::filter::gaussian_blur_f32;

/// One texel: luma, the two chroma codes and alpha, not premultiplied.
pub(super) type Texel = [u8; 4];

/// A picture whose columns go round.
pub(super) struct Texture {
    pub width: usize,
    pub height: usize,
    texels: Vec<Texel>,
}

/// Softens a premultiplied picture.
pub(super) fn soften(patch: Patch, sigma: f32) -> Patch {
    let place = patch.place;
    match RgbaImage::from_raw(place.width, place.height, patch.rgba) {
        Some(picture) => Patch { place, rgba: gaussian_blur_f32(&picture, sigma).into_raw() },
        // A drawn patch always holds as many bytes as its box says.
        None => Patch { place, rgba: vec![0; 4 * place.width as usize * place.height as usize] },
    }
}

/// A colour in BT.709, limited range.
pub(super) fn codes(rgb: [f64; 3]) -> [f64; 3] {
    let [y, b, r] = forward_rows(Matrix::Bt709).map(|row| row.iter().zip(rgb).map(|(k, v)| k * v / 255.0).sum::<f64>());
    [16.0 + 219.0 * y, 128.0 + 224.0 * b, 128.0 + 224.0 * r]
}

impl Texture {
    pub fn new(patch: &Patch) -> Self {
        let rows = forward_rows(Matrix::Bt709).map(|row| row.map(|k| k as f32));
        let texel = |&[r, g, b, a]: &[u8; 4]| {
            let whole = 1.0 / f32::from(a.max(1));
            let rgb = [r, g, b].map(|v| f32::from(v) * whole);
            let code = |i: usize, zero: f32, span: f32| {
                let sum = rows[i][0] * rgb[0] + rows[i][1] * rgb[1] + rows[i][2] * rgb[2];
                (zero + span * sum + 0.5) as u8
            };
            [code(0, 16.0, 219.0), code(1, 128.0, 224.0), code(2, 128.0, 224.0), a]
        };
        let texels = patch.rgba.as_chunks::<4>().0.iter().map(texel).collect();
        Self { width: patch.place.width as usize, height: patch.place.height as usize, texels }
    }

    /// Half as large, each texel the mean of four.
    pub fn halved(&self) -> Self {
        let (width, height) = (self.width / 2, self.height / 2);
        let mut texels = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                let at = |dx: usize, dy: usize| self.texels[(2 * y + dy) * self.width + 2 * x + dx];
                let four = [at(0, 0), at(1, 0), at(0, 1), at(1, 1)];
                texels.push(std::array::from_fn(|i| (four.iter().map(|t| u16::from(t[i])).sum::<u16>() / 4) as u8));
            }
        }
        Self { width, height, texels }
    }

    /// Between the texels about `(x, y)`; columns go round, rows end. `x` is less than one round beyond the ends.
    #[inline(always)]
    pub fn round(&self, x: f32, y: f32) -> Texel {
        let y = y.clamp(0.0, (self.height - 1) as f32);
        let (left, part_x) = whole(x);
        let (top, part_y) = (y as usize, ((y - (y as usize) as f32) * 256.0) as u64);
        let width = self.width as i32;
        // A division would cost more than all the rest.
        let x0 = if left < 0 { left + width } else { left }.clamp(0, 2 * width - 1);
        let x0 = if x0 >= width { x0 - width } else { x0 } as usize;
        let x1 = if x0 + 1 == self.width { 0 } else { x0 + 1 };
        let y1 = (top + 1).min(self.height - 1);
        self.mixed((x0, x1), (top, y1), part_x, part_y)
    }

    /// Between the texels about `(x, y)`; rows go round too. Both sides are powers of two.
    #[inline(always)]
    pub fn tiled(&self, x: f32, y: f32) -> Texel {
        let (left, part_x) = whole(x);
        let (top, part_y) = whole(y);
        let (in_x, in_y) = (self.width - 1, self.height - 1);
        let (x0, y0) = (left as usize & in_x, top as usize & in_y);
        self.mixed((x0, (x0 + 1) & in_x), (y0, (y0 + 1) & in_y), part_x, part_y)
    }

    #[inline(always)]
    fn mixed(&self, (x0, x1): (usize, usize), (y0, y1): (usize, usize), part_x: u64, part_y: u64) -> Texel {
        let at = |x: usize, y: usize| spread(self.texels[y * self.width + x]);
        let upper = mix(at(x0, y0), at(x1, y0), part_x);
        let lower = mix(at(x0, y1), at(x1, y1), part_x);
        gather(mix(upper, lower, part_y))
    }
}

/// One texel over another, with `part` of the second in 1/256.
#[inline(always)]
pub(super) fn mixed(a: Texel, b: Texel, part: u64) -> Texel {
    gather(mix(spread(a), spread(b), part))
}

/// The whole number below, and the rest in 1/256.
#[inline(always)]
fn whole(v: f32) -> (i32, u64) {
    // Cutting off is one instruction where `floor` may be a call; no place lies farther out than this.
    const FAR: f32 = 65_536.0;
    let part = ((v + FAR) * 256.0) as i64;
    ((part >> 8) as i32 - FAR as i32, (part & 255) as u64)
}

/// Four bytes in four 16-bit places, so that one multiplication serves all.
#[inline(always)]
fn spread(t: Texel) -> u64 {
    let v = u64::from(u32::from_le_bytes(t));
    let v = (v | v << 16) & 0x0000_ffff_0000_ffff;
    (v | v << 8) & 0x00ff_00ff_00ff_00ff
}

#[inline(always)]
fn gather(v: u64) -> Texel {
    let v = (v | v >> 8) & 0x0000_ffff_0000_ffff;
    ((v | v >> 16) as u32).to_le_bytes()
}

/// `part` is at most 256, so no place overflows into the next.
#[inline(always)]
fn mix(a: u64, b: u64, part: u64) -> u64 {
    ((a * (256 - part) + b * part) >> 8) & 0x00ff_00ff_00ff_00ff
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pixel::PixelBox;

    #[test]
    fn reads_between_texels_and_round() {
        let place = PixelBox { x: 0, y: 0, width: 2, height: 2 };
        let white = [255; 4];
        let black = [0, 0, 0, 255];
        let texture = Texture::new(&Patch { place, rgba: [white, black, white, black].concat() });
        assert_eq!(texture.round(0.0, 0.0), [235, 128, 128, 255]);
        assert_eq!(texture.tiled(3.0, 5.0), [16, 128, 128, 255]);
        assert_eq!(texture.round(0.5, 0.3)[0], 125);
        assert_eq!(texture.round(-0.5, 9.0)[0], 125, "columns go round");
        assert_eq!(texture.halved().tiled(0.2, 0.2)[0], 125);
    }
}

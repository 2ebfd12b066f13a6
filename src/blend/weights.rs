//! From premultiplied R'G'B' to premultiplied codes of a film.

use super::light::film_codes;
use crate::pixel::{Coding, Light, Matrix, Range, Sample};

/// The rows that give Y' (0 to 1), Cb and Cr (-0.5 to 0.5) from R', G', B' (0 to 1); in RGB the rows that pick G, B and R.
///
/// `Y' = Kr R' + Kg G' + Kb B'`, `Cb = (B' - Y') / (2 (1 - Kb))`, `Cr = (R' - Y') / (2 (1 - Kr))` with
/// `Kg = 1 - Kr - Kb` (ITU-R BT.601-7, BT.709-6, BT.2020-2).
pub fn forward_rows(matrix: Matrix) -> [[f64; 3]; 3] {
    if matrix == Matrix::Rgb {
        return [[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]];
    }
    let (kr, kb) = matrix.kr_kb();
    let kg = 1.0 - kr - kb;
    let (blue, red) = (2.0 * (1.0 - kb), 2.0 * (1.0 - kr));
    [[kr, kg, kb], [-kr / blue, -kg / blue, 0.5], [0.5, -kg / red, -kb / red]]
}

/// A premultiplied pixel, 0 to 255: red, green, blue and alpha.
pub(super) type Pixel = [f32; 4];

/// What a film's three planes take from a pixel.
#[derive(Debug, Clone, Copy)]
pub(super) struct Weights {
    planes: [Row; 3],
    highest: f32,
    light: Light,
}

/// One plane's codes: `zero` where there is no light, and a step for each 1/255 of red, green and blue.
#[derive(Debug, Clone, Copy)]
struct Row {
    zero: f32,
    rgb: [f32; 3],
}

impl Weights {
    pub(super) fn new(coding: &Coding) -> Self {
        let highest = f64::from((1_u32 << coding.depth) - 1);
        let step = f64::from(1_u32 << (coding.depth - 8));
        // ITU-R BT.2100, table 9; ITU-T H.273, 8.3.
        let (black, luma, chroma) = match coding.colour.range {
            Range::Limited => (16.0 * step, 219.0 * step, 224.0 * step),
            Range::Full => (0.0, highest, highest),
        };
        let neutral = 128.0 * step;
        let row = |row: [f64; 3], zero: f64, span: f64| Row {
            zero: (zero / 255.0) as f32,
            rgb: row.map(|k| (k * span / 255.0) as f32),
        };
        let [first, second, third] = forward_rows(coding.colour.matrix);
        let (zero, span) = if coding.colour.matrix == Matrix::Rgb { (black, luma) } else { (neutral, chroma) };
        Self {
            planes: [row(first, black, luma), row(second, zero, span), row(third, zero, span)],
            highest: highest as f32,
            light: coding.light,
        }
    }

    /// The film's highest code.
    pub(super) fn highest<T: Sample>(&self) -> T {
        T::of(self.highest as u32)
    }

    /// The codes of an opaque colour in the three planes.
    pub(super) fn of<T: Sample>(&self, rgb: [u8; 3]) -> [T; 3] {
        let [r, g, b] = rgb;
        let pixel = self.pixel([r, g, b, 255]);
        [0, 1, 2].map(|plane| self.term(plane, pixel))
    }

    /// A drawn pixel as the film's own R'G'B' codes.
    #[inline(always)]
    pub(super) fn pixel(&self, [r, g, b, a]: [u8; 4]) -> Pixel {
        let pixel = [r.min(a), g.min(a), b.min(a), a].map(f32::from);
        if self.light == Light::Ordinary { pixel } else { film_codes(pixel, self.light) }
    }

    /// Colour times alpha of a plane. The pixel's alpha is rounded to a whole number, of which no term is more than it can carry.
    #[inline(always)]
    pub(super) fn term<T: Sample>(&self, plane: usize, [r, g, b, a]: Pixel) -> T {
        let alpha = a.round();
        let row = &self.planes[plane];
        let [red, green, blue] = row.rgb;
        // Of the rounded alpha: what is gray tints nothing.
        let code = row.zero * alpha + (red * r + green * g + blue * b);
        T::of(code.clamp(0.0, self.highest * alpha / 255.0).round() as u32)
    }
}

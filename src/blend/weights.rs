//! From premultiplied R'G'B' to premultiplied luma and chroma, in whole numbers.

use super::rows::div255;
use crate::pixel::{Colour, Matrix, Range};

/// Binary places of the fixed-point weights; a weighted sum is within 0.004 code of the real one.
const PLACES: u32 = 10;
/// The taps of a chroma mean add up to 16.
const TAP_PLACES: u32 = 4;

/// The rows that give Y' (0 to 1), Cb and Cr (-0.5 to 0.5) from R', G', B' (0 to 1).
///
/// `Y' = Kr R' + Kg G' + Kb B'`, `Cb = (B' - Y') / (2 (1 - Kb))`, `Cr = (R' - Y') / (2 (1 - Kr))` with
/// `Kg = 1 - Kr - Kb` (ITU-R BT.601-7, BT.709-6, BT.2020-2).
pub fn forward_rows(matrix: Matrix) -> [[f64; 3]; 3] {
    let (kr, kb) = matrix.kr_kb();
    let kg = 1.0 - kr - kb;
    let (blue, red) = (2.0 * (1.0 - kb), 2.0 * (1.0 - kr));
    [[kr, kg, kb], [-kr / blue, -kg / blue, 0.5], [0.5, -kg / red, -kb / red]]
}

/// The rows in code steps and fixed point, for one matrix and range.
#[derive(Debug, Clone, Copy)]
pub(super) struct Weights {
    black: i32,
    luma: [i32; 3],
    blue: [i32; 3],
    red: [i32; 3],
}

impl Weights {
    pub(super) fn new(colour: &Colour) -> Self {
        let (black, luma_span, chroma_span) = match colour.range {
            Range::Limited => (16, 219, 224),
            Range::Full => (0, 255, 255),
        };
        let [luma, blue, red] = forward_rows(colour.matrix);
        Self {
            black,
            luma: fixed(luma, luma_span, luma_span),
            blue: fixed(blue, chroma_span, 0),
            red: fixed(red, chroma_span, 0),
        }
    }

    /// The codes of an opaque colour: luma, and both chromas.
    pub(super) fn of(&self, [r, g, b]: [u8; 3]) -> (u8, [u8; 2]) {
        let pixel = [r, g, b, 255];
        let (blue, red, _) = self.chroma_terms(pixel.map(|v| u16::from(v) << TAP_PLACES));
        (div255(self.luma_term(pixel)), [div255(blue), div255(red)])
    }

    /// `a * Y` in 1/255 codes, from one premultiplied pixel; colour above alpha is cut to alpha.
    pub(super) fn luma_term(&self, [r, g, b, a]: [u8; 4]) -> u16 {
        let sum = dot(self.luma, [r.min(a), g.min(a), b.min(a)].map(i32::from));
        (self.black * i32::from(a) + round(sum, PLACES)) as u16
    }

    /// `a * Cb`, `a * Cr` in 1/255 codes and `a`, from sums of premultiplied pixels over taps that add up to 16.
    ///
    /// `a` is rounded to a whole number, and no term may exceed what that number can carry.
    pub(super) fn chroma_terms(&self, [r, g, b, a]: [u16; 4]) -> (u16, u16, u8) {
        let rgb = [r.min(a), g.min(a), b.min(a)].map(i32::from);
        let alpha = round(i32::from(a), TAP_PLACES);
        // Of the rounded alpha: what is gray tints nothing.
        let neutral = (128 * alpha) << (PLACES + TAP_PLACES);
        let term = |row| round(neutral + dot(row, rgb), PLACES + TAP_PLACES).clamp(0, 255 * alpha) as u16;
        (term(self.blue), term(self.red), alpha as u8)
    }
}

/// A row times `span` in fixed point. Green, the largest share, takes the rounding, so that the row adds up to exactly
/// `sum` and grays stay gray.
fn fixed(row: [f64; 3], span: i32, sum: i32) -> [i32; 3] {
    let one = 1 << PLACES;
    let [r, b] = [row[0], row[2]].map(|k| (k * f64::from(span * one)).round() as i32);
    [r, sum * one - r - b, b]
}

fn dot(row: [i32; 3], rgb: [i32; 3]) -> i32 {
    row[0] * rgb[0] + row[1] * rgb[1] + row[2] * rgb[2]
}

fn round(v: i32, places: u32) -> i32 {
    (v + (1 << (places - 1))) >> places
}

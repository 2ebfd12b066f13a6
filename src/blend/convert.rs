//! From a drawn picture's pixels to a frame's own samples.

use super::rows::div255;
use super::samples::Samples;
use super::weights::Weights;
use crate::pixel::{ChromaSiting, PixelBox};

/// Premultiplied pixels, as many as their box holds, as luma and as chroma.
pub(super) fn samples(
    place: PixelBox,
    pixels: &[[u8; 4]],
    weights: &Weights,
    siting: ChromaSiting,
) -> (Samples<1>, Samples<2>) {
    let (mut luma, mut chroma) = (Samples::clear(), Samples::clear());
    let (width, left, top) = (place.width as usize, place.x as usize, place.y as usize);
    if width == 0 {
        return (luma, chroma);
    }
    for (row, line) in (top..).zip(pixels.chunks_exact(width)) {
        luma.push((left, row), line.iter().map(|&pixel| ([div255(weights.luma_term(pixel))], 255 - pixel[3])));
    }
    let line = |row: usize| pixels.get(row * width..(row + 1) * width);
    let mut mixed = vec![[0_u16; 4]; width + 1];
    for row in 0..place.height.div_ceil(2) as usize {
        let on_row = siting == ChromaSiting::TopLeft;
        let (on, below) = (line(2 * row), line(2 * row + 1));
        let above = match (on_row, row) {
            (false, _) => None,
            // At the frame's edge the first row or column stands for its missing neighbour, elsewhere all is transparent.
            (true, 0) => on.filter(|_| place.y == 0),
            (true, _) => line(2 * row - 1),
        };
        mixed.fill([0; 4]);
        for (taps, line) in [(1, above), (2, on), (if on_row { 1 } else { 2 }, below)] {
            for (sum, pixel) in mixed[1..].iter_mut().zip(line.unwrap_or_default()) {
                *sum = std::array::from_fn(|i| sum[i] + taps * u16::from(pixel[i]));
            }
        }
        mixed[0] = if place.x == 0 { mixed[1] } else { [0; 4] };
        let (before, after) = if siting == ChromaSiting::Centre { (0, 2) } else { (1, 1) };
        let clear = |cell: usize| {
            let own = [on, below].into_iter().flatten().flat_map(|line| line.iter().skip(2 * cell).take(2));
            own.fold(0, |any, pixel| any | pixel[3]) == 0
        };
        let samples = (0..width.div_ceil(2)).map(|cell| {
            if clear(cell) {
                return ([0; 2], 255);
            }
            let [left, middle] = [mixed[2 * cell], mixed[2 * cell + 1]];
            let right = mixed.get(2 * cell + 2).copied().unwrap_or_default();
            let sum = std::array::from_fn(|i| before * left[i] + 2 * middle[i] + after * right[i]);
            let (blue, red, alpha) = weights.chroma_terms(sum);
            ([div255(blue), div255(red)], 255 - alpha)
        });
        chroma.push((left / 2, top / 2 + row), samples);
    }
    (luma, chroma)
}

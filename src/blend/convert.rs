//! From a drawn picture's pixels to a frame's own samples.

use super::samples::Samples;
use super::weights::{Pixel, Weights};
use crate::pixel::{ChromaSiting, PixelBox, Sample, Sampling, widely};

/// A picture's samples, by the frame's grids.
#[derive(Debug, Clone)]
pub(super) enum Grids<T> {
    /// Gray.
    Luma(Samples<T, 1>),
    /// Luma, and chroma on a coarser grid.
    Apart(Samples<T, 1>, Samples<T, 2>),
    /// All planes alike.
    Together(Samples<T, 3>),
}

/// Premultiplied pixels, as many as their box holds, as a film's samples.
pub(super) fn grids<T: Sample>(
    place: PixelBox,
    pixels: &[[u8; 4]],
    weights: &Weights,
    sampling: Sampling,
    siting: ChromaSiting,
) -> Grids<T> {
    // For the rounding, which takes long where vectors know none.
    widely(
        #[inline(always)]
        || {
            let pixels: Vec<Pixel> = pixels.iter().map(|&pixel| weights.pixel(pixel)).collect();
            match sampling {
                Sampling::Gray => Grids::Luma(full(place, &pixels, weights)),
                Sampling::Full => Grids::Together(full(place, &pixels, weights)),
                Sampling::Half | Sampling::Quarter => {
                    Grids::Apart(full(place, &pixels, weights), chroma(place, &pixels, weights, sampling, siting))
                }
            }
        },
    )
}

/// The first `N` planes, sample by pixel.
#[inline(always)]
fn full<T: Sample, const N: usize>(place: PixelBox, pixels: &[Pixel], weights: &Weights) -> Samples<T, N> {
    let mut samples = Samples::clear();
    let mut terms: [Vec<T>; N] = std::array::from_fn(|_| Vec::new());
    let mut keeps: Vec<u8> = Vec::new();
    for (row, line) in (place.y as usize..).zip(pixels.chunks_exact(place.width.max(1) as usize)) {
        for (plane, terms) in terms.iter_mut().enumerate() {
            terms.clear();
            terms.extend(line.iter().map(|&pixel| weights.term::<T>(plane, pixel)));
        }
        keeps.clear();
        keeps.extend(line.iter().copied().map(keep));
        samples.push((place.x as usize, row), terms.each_ref().map(Vec::as_slice), &keeps);
    }
    samples
}

/// Both chroma planes on the coarser grid.
#[inline(always)]
fn chroma<T: Sample>(
    place: PixelBox,
    pixels: &[Pixel],
    weights: &Weights,
    sampling: Sampling,
    siting: ChromaSiting,
) -> Samples<T, 2> {
    let mut chroma = Samples::clear();
    let (width, left, top) = (place.width as usize, place.x as usize, place.y as usize);
    if width == 0 {
        return chroma;
    }
    let line = |row: usize| pixels.get(row * width..(row + 1) * width);
    let tall = if sampling == Sampling::Quarter { 2 } else { 1 };
    let on_row = tall == 2 && siting == ChromaSiting::TopLeft;
    let mut mixed = vec![[0_f32; 4]; width + 1];
    let (mut terms, mut keeps): ([Vec<T>; 2], Vec<u8>) = Default::default();
    for row in 0..(place.height as usize).div_ceil(tall) {
        let (on, below) = (line(tall * row), line(tall * row + 1).filter(|_| tall == 2));
        let above = match (on_row, row) {
            (false, _) => None,
            // At the frame's edge the first row or column stands for its missing neighbour, elsewhere all is transparent.
            (true, 0) => on.filter(|_| place.y == 0),
            (true, _) => line(2 * row - 1),
        };
        mixed.fill([0.0; 4]);
        let (own, next) = match (tall, on_row) {
            (1, _) => (4.0, 0.0),
            (_, true) => (2.0, 1.0),
            (_, false) => (2.0, 2.0),
        };
        for (taps, line) in [(1.0, above), (own, on), (next, below)] {
            for (sum, pixel) in mixed[1..].iter_mut().zip(line.unwrap_or_default()) {
                *sum = std::array::from_fn(|i| sum[i] + taps * pixel[i]);
            }
        }
        mixed[0] = if place.x == 0 { mixed[1] } else { [0.0; 4] };
        let (before, after) = if siting == ChromaSiting::Centre { (0.0, 2.0) } else { (1.0, 1.0) };
        let clear = |cell: usize| {
            let own = [on, below].into_iter().flatten().flat_map(|line| line.iter().skip(2 * cell).take(2));
            own.into_iter().all(|pixel| pixel[3] == 0.0)
        };
        let [u, v] = &mut terms;
        u.clear();
        v.clear();
        keeps.clear();
        for cell in 0..width.div_ceil(2) {
            if clear(cell) {
                u.push(T::default());
                v.push(T::default());
                keeps.push(255);
                continue;
            }
            let [left, middle] = [mixed[2 * cell], mixed[2 * cell + 1]];
            let right = mixed.get(2 * cell + 2).copied().unwrap_or_default();
            let mean = std::array::from_fn(|i| (before * left[i] + 2.0 * middle[i] + after * right[i]) / 16.0);
            u.push(weights.term(1, mean));
            v.push(weights.term(2, mean));
            keeps.push(keep(mean));
        }
        chroma.push((left / 2, top / tall + row), [u, v], &keeps);
    }
    chroma
}

/// What is kept of the film under a pixel: 255 less its rounded alpha.
#[inline(always)]
fn keep([.., alpha]: Pixel) -> u8 {
    255 - alpha.round() as u8
}

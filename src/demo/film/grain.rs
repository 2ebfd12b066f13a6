//! The unrest of a small sensor: noise made once, added to the brightness of every frame.

use crate::pixel::PlanesMut;
use image::{GrayImage, Luma};
use imageproc::noise::gaussian_noise_mut;

/// Side of a tile; a power of two.
const SIDE: usize = 256;
const TILES: u64 = 8;
/// Standard deviation in codes.
const STRENGTH: f64 = 1.7;

/// A few tiles that take turns, each time from another corner.
pub(super) struct Grain {
    tiles: Vec<Vec<i8>>,
}

impl Grain {
    pub fn new(seed: u64) -> Self {
        let tile = |i| {
            let mut gray = GrayImage::from_pixel(SIDE as u32, SIDE as u32, Luma([128]));
            gaussian_noise_mut(&mut gray, 0.0, STRENGTH, seed.wrapping_mul(TILES).wrapping_add(i));
            gray.into_raw().into_iter().map(|v| (i16::from(v) - 128) as i8).collect()
        };
        Self { tiles: (0..TILES).map(tile).collect() }
    }

    /// Adds the grain of a frame.
    pub fn add(&self, planes: &mut PlanesMut<'_>, number: u64) {
        let mixed = number.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 32;
        let tile = &self.tiles[(mixed % TILES) as usize];
        let (dx, dy) = ((mixed >> 8) as usize % SIDE, (mixed >> 16) as usize % SIDE);
        let width = planes.width as usize;
        for (y, row) in planes.y.chunks_mut(planes.y_stride).enumerate() {
            let noise = &tile[(y + dy) % SIDE * SIDE..][..SIDE];
            let row = &mut row[..width];
            let (head, rest) = row.split_at_mut((SIDE - dx).min(width));
            add(head, &noise[dx..]);
            for part in rest.chunks_mut(SIDE) {
                add(part, noise);
            }
        }
    }
}

fn add(row: &mut [u8], noise: &[i8]) {
    for (v, n) in row.iter_mut().zip(noise) {
        *v = v.saturating_add_signed(*n);
    }
}

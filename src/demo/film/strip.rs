//! The number of every frame as black and white blocks, for programs that read the film.
//!
//! Thirty-two blocks of 8 x 8 pixels in the upper left corner, from left to right: `1 0 1 1 0`, then twenty-four bits of
//! the frame's number (the first frame is 0), highest first, then a bit that makes the number's ones even with it, then
//! `0 1`. White is 1. Size and place are the same at every frame size; brightness alone carries it, the chroma is gray.

use crate::pixel::PlanesMut;

/// Side of a block in pixels: a coding block of every common codec.
const BLOCK: usize = 8;
const START: [bool; 5] = [true, false, true, true, false];
const END: [bool; 2] = [false, true];
const NUMBER_BITS: u32 = 24;
/// A little inside black and white, so that ringing is not cut off.
const BLACK: u8 = 24;
const WHITE: u8 = 226;

/// The blocks of a frame's number, as many of its bits as there is room for.
fn blocks(number: u64) -> impl Iterator<Item = bool> {
    let bit = move |place: u32| number >> place & 1 == 1;
    let parity = (0..NUMBER_BITS).filter(|&place| bit(place)).count() % 2 == 1;
    START.into_iter().chain((0..NUMBER_BITS).rev().map(bit)).chain([parity]).chain(END)
}

/// Writes the strip onto a frame.
pub(super) fn write(planes: &mut PlanesMut<'_>, number: u64) {
    for (i, white) in blocks(number).enumerate() {
        let code = if white { WHITE } else { BLACK };
        for row in 0..BLOCK {
            planes.y[row * planes.y_stride + i * BLOCK..][..BLOCK].fill(code);
        }
        for row in 0..BLOCK / 2 {
            let start = row * planes.c_stride + i * BLOCK / 2;
            planes.u[start..][..BLOCK / 2].fill(128);
            planes.v[start..][..BLOCK / 2].fill(128);
        }
    }
}

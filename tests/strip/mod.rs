//! Reads the frame numbers of the demo's cockpit film from its gray pixels: a reader of its own, from the description alone.
//!
//! Thirty-two blocks of 8 x 8 pixels in the upper left corner: `1 0 1 1 0`, twenty-four bits highest first, a bit for even
//! parity, `0 1`. White is 1.

/// Columns and rows of the strip, for whoever crops it first.
#[allow(dead_code, reason = "each test file takes what it needs")]
pub const SIZE: (usize, usize) = (256, 8);

/// The number in a picture whose rows are `stride` pixels long; none where it is no strip.
pub fn number(gray: &[u8], stride: usize) -> Option<u32> {
    let mean = |block: usize| {
        // The inner six by four pixels: the rim may ring.
        let rows = (2..6).flat_map(|y| (1..7).map(move |x| y * stride + block * 8 + x));
        rows.map(|i| u32::from(gray[i])).sum::<u32>() / 24
    };
    let bits: Option<Vec<u32>> = (0..32)
        .map(|block| match mean(block) {
            0..=80 => Some(0),
            160.. => Some(1),
            _ => None,
        })
        .collect();
    let bits = bits?;
    let whole = bits[..5] == [1, 0, 1, 1, 0] && bits[30..] == [0, 1] && bits[5..30].iter().sum::<u32>() % 2 == 0;
    whole.then(|| bits[5..29].iter().fold(0, |number, bit| number << 1 | bit))
}

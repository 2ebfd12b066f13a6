//! A mask as chroma samples see it.

use std::cell::RefCell;

use crate::pixel::{ChromaSiting, Mask};

/// Memory that is kept from mask to mask.
#[derive(Default)]
struct Tools {
    /// A luma column each, from the one beside the first cell on: sums over the rows that the cell sees, taps that add up to
    /// 4; and what its own two rows cover.
    sums: Vec<u16>,
    own: Vec<u8>,
    shares: Vec<u8>,
    /// The mask as it grows: it leaves as a copy that is no larger than it must be.
    half: Mask,
}

thread_local! {
    static TOOLS: RefCell<Tools> = RefCell::default();
}

/// A mask, moved by whole pixels, on the half-size grid: means over the luma samples round each chroma site. A sample none of
/// whose own four luma samples is covered has no share.
pub(super) fn half(mask: &Mask, by: (i32, i32), siting: ChromaSiting) -> Mask {
    TOOLS.with_borrow_mut(|tools| tools.half(mask, by, siting))
}

impl Tools {
    fn half(&mut self, mask: &Mask, (right, down): (i32, i32), siting: ChromaSiting) -> Mask {
        let Self { sums, own, shares, half } = self;
        half.clear();
        let Some((left, top, end, bottom)) = mask.edges() else { return Mask::default() };
        let on_row = siting == ChromaSiting::TopLeft;
        let (first, cells) =
            ((left + right).div_euclid(2), ((end + right + 1).div_euclid(2) - (left + right).div_euclid(2)) as usize);
        sums.clear();
        sums.resize(2 * cells + 1, 0);
        own.clear();
        own.resize(2 * cells + 1, 0);
        shares.resize(cells, 0);
        let mut seen = 0;
        for row in (top + down).div_euclid(2)..(bottom + down + 1).div_euclid(2) {
            let (mut from, mut to) = (sums.len(), 0);
            let rows = 2 * row - i32::from(on_row) - down..2 * row + 2 - down;
            let (above, runs) = mask.rows(seen, rows);
            seen = above;
            for ((x, y), values) in runs {
                let taps = match (on_row, y + down - 2 * row) {
                    (false, _) => 2,
                    // At the frame's upper edge the first row stands for the one above it.
                    (true, 0) => 2 + u16::from(row == 0),
                    (true, _) => 1,
                };
                let at = (x + right + 1 - 2 * first) as usize;
                (from, to) = (from.min(at), to.max(at + values.len()));
                for (sum, &value) in sums[at..].iter_mut().zip(values) {
                    *sum += taps * u16::from(value);
                }
                if y + down >= 2 * row {
                    own[at..].iter_mut().zip(values).for_each(|(own, &value)| *own |= value);
                }
            }
            if from >= to {
                continue;
            }
            // At the frame's left edge the first column stands for the one beside it.
            if first == 0 {
                sums[0] = sums[1];
            }
            let (before, after) = if siting == ChromaSiting::Centre { (0, 2) } else { (1, 1) };
            let reached = (from - 1) / 2..to / 2;
            for cell in reached.clone() {
                let sum = before * sums[2 * cell] + 2 * sums[2 * cell + 1] + after * sums[2 * cell + 2];
                let covered = own[2 * cell + 1] | own[2 * cell + 2] != 0;
                shares[cell] = if covered { ((sum + 8) / 16) as u8 } else { 0 };
            }
            half.push((first + reached.start as i32, row), &shares[reached]);
            sums[0..to].fill(0);
            own[from..to].fill(0);
        }
        half.clone()
    }
}

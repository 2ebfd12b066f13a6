//! A mask as chroma samples see it.

use std::cell::RefCell;

use super::rows::widely;
use crate::pixel::{ChromaSiting, GROUP, Mask};

/// Luma columns of two rows, by twos: a column that a chroma sample may lie on, and the one to its right.
#[derive(Default)]
struct Pairs<T> {
    left: Vec<T>,
    right: Vec<T>,
}

/// Memory that is kept from mask to mask.
#[derive(Default)]
struct Tools {
    /// Sums over the rows that a cell sees, taps that add up to 4. The first pair lies beside the first cell.
    sums: Pairs<u16>,
    /// What the cell's own two rows cover.
    own: Pairs<u8>,
    shares: Vec<u8>,
    /// The mask as it grows: it leaves as a copy that is no larger than it must be.
    half: Mask,
}

thread_local! {
    static TOOLS: RefCell<Tools> = RefCell::default();
}

/// A mask, moved by whole pixels, on the grid of half the columns and, if `tall` is 2, half the rows: means over the luma samples
/// round each chroma site. A sample none of whose own luma samples is covered has no share. What moves never reaches the frame's
/// edge, so that no edge is known here.
pub(super) fn half(mask: &Mask, by: (i32, i32), siting: ChromaSiting, tall: i32) -> Mask {
    TOOLS.with_borrow_mut(|tools| {
        widely(
            #[inline(always)]
            || tools.half(mask, by, siting, tall),
        );
        tools.half.clone()
    })
}

impl<T: Copy + Default> Pairs<T> {
    fn clear(&mut self, pairs: usize) {
        for half in [&mut self.left, &mut self.right] {
            half.clear();
            half.resize(pairs, T::default());
        }
    }

    /// Does something for a group of columns from one on, each with its value.
    #[inline(always)]
    fn each(&mut self, column: usize, values: &[u8; GROUP], mut work: impl FnMut(&mut T, u8)) {
        let pair = column / 2;
        let (first, second) = if column.is_multiple_of(2) {
            (&mut self.left[pair..], &mut self.right[pair..])
        } else {
            (&mut self.right[pair..], &mut self.left[pair + 1..])
        };
        let (first, second) = (&mut first[..GROUP / 2], &mut second[..GROUP / 2]);
        for i in 0..GROUP / 2 {
            work(&mut first[i], values[2 * i]);
            work(&mut second[i], values[2 * i + 1]);
        }
    }
}

/// Whether anything is covered.
#[inline(always)]
fn holds(shares: &[u8]) -> bool {
    shares.iter().fold(0, |all, share| all | share) != 0
}

impl Tools {
    #[inline(always)]
    fn half(&mut self, mask: &Mask, (right, down): (i32, i32), siting: ChromaSiting, tall: i32) {
        let Self { sums, own, shares, half } = self;
        half.clear();
        let Some((left, top, end, bottom)) = mask.edges() else { return };
        let on_row = tall == 2 && siting == ChromaSiting::TopLeft;
        let first = (left + right).div_euclid(2);
        let cells = ((end + right + 1).div_euclid(2) - first) as usize;
        // A pair beside them on either side, and room for whole groups.
        let room = cells + 2 + 2 * GROUP;
        sums.clear(room);
        own.clear(room);
        shares.resize(room, 0);
        let mut seen = 0;
        for row in (top + down).div_euclid(tall)..(bottom + down + tall - 1).div_euclid(tall) {
            let (mut from, mut to) = (usize::MAX, 0);
            let rows = tall * row - i32::from(on_row) - down..tall * row + tall - down;
            let (above, runs) = mask.rows(seen, rows);
            seen = above;
            for ((x, y), values) in runs {
                // One row counts for all; between two rows both count alike; on a row it counts twice, the one above and the one
                // below once.
                let taps = if on_row && y + down != 2 * row { 1 } else { 4 / tall as u16 };
                // Two columns, the pair beside the first cell, lie before its own.
                let mut column = (x + right + 2 - 2 * first) as usize;
                from = from.min(column);
                for group in values.as_chunks::<GROUP>().0 {
                    sums.each(column, group, |sum, value| *sum += taps * u16::from(value));
                    if y + down >= tall * row {
                        own.each(column, group, |own, value| *own |= value);
                    }
                    column += GROUP;
                }
                to = to.max(column);
            }
            if from >= to {
                continue;
            }
            let (before, after) = if siting == ChromaSiting::Centre { (0, 2) } else { (1, 1) };
            // Pairs that hold anything, and those beside them that see it.
            let pairs = (from / 2).max(1)..(to / 2 + 1).min(cells + 1);
            let count = pairs.len().next_multiple_of(GROUP);
            let beside = &sums.right[pairs.start - 1..][..count];
            let (left, right) = (&sums.left[pairs.start..][..count], &sums.right[pairs.start..][..count]);
            let covered = own.left[pairs.start..][..count].iter().zip(&own.right[pairs.start..][..count]);
            let seen = beside.iter().zip(left).zip(right).zip(covered);
            for (share, (((&beside, &left), &right), (&own_left, &own_right))) in shares[..count].iter_mut().zip(seen) {
                let sum = before * beside + 2 * left + after * right;
                *share = if own_left | own_right != 0 { ((sum + 8) / 16) as u8 } else { 0 };
            }
            // A ring has two short stretches in most of its rows, and nothing between them that was worth laying.
            let shares = &shares[..pairs.len()];
            let mut groups = shares.chunks(GROUP).enumerate();
            while let Some((start, _)) = groups.find(|(_, group)| holds(group)) {
                let end = groups.find(|(_, group)| !holds(group)).map_or(shares.len(), |(end, _)| end * GROUP);
                half.push((first + (pairs.start + start * GROUP) as i32 - 1, row), &shares[start * GROUP..end]);
            }
            let used = from / 2..to / 2 + 1;
            for half in [&mut sums.left, &mut sums.right] {
                half[used.clone()].fill(0);
            }
            for half in [&mut own.left, &mut own.right] {
                half[used.clone()].fill(0);
            }
        }
    }
}

//! A mask as chroma samples see it.

use std::cell::RefCell;

use fearless_simd::{Bytes, Level, Simd, SimdBase, SimdFrom, dispatch, u8x32, u16x16};

use crate::pixel::{Cells, ChromaSiting, GROUP, Mask};

/// Memory that is kept from mask to mask.
#[derive(Default)]
struct Tools {
    /// The row above a cell's own two, and these. The first two columns lie beside the first cell.
    seen: [Vec<u8>; 3],
    shares: Vec<u8>,
    /// The mask as it grows: it leaves as a copy that is hardly larger than it must be.
    half: Mask,
}

thread_local! {
    static TOOLS: RefCell<Tools> = RefCell::default();
}

/// A mask, moved by whole pixels, on the grid of half the columns and, if `tall` is 2, half the rows: means over the luma samples
/// round each chroma site. A sample none of whose own luma samples is covered has no share. What moves never reaches the frame's
/// edge, so that no edge is known here.
pub(super) fn half(mask: &Mask, by: (i32, i32), siting: ChromaSiting, tall: i32) -> Mask {
    let in_cells = mask.cells().filter(|_| tall == 2 && by == (0, 0) && siting != ChromaSiting::TopLeft);
    if let Some(pairs) = in_cells {
        return half_of_cells(pairs, siting == ChromaSiting::Centre);
    }
    TOOLS.with_borrow_mut(|tools| {
        dispatch!(Level::new(), simd => simd.vectorize(
            #[inline(always)]
            || tools.half(simd, mask, by, siting, tall),
        ));
        tools.half.clone()
    })
}

/// The same for a mask of cells that is not moved, where the cells' own rows are all that is seen.
fn half_of_cells<'a>(pairs: impl Iterator<Item = Cells<'a>> + Clone, centre: bool) -> Mask {
    let groups = |row: &[u8]| row.len().div_ceil(2 * GROUP);
    let (mut count, mut all) = (0, 0);
    for (_, [upper, _]) in pairs.clone() {
        count += 1;
        all += groups(upper);
    }
    let mut half = Mask::with_room(count, all * GROUP);
    dispatch!(Level::new(), simd => simd.vectorize(
        #[inline(always)]
        || {
            for ((x, y), [upper, lower]) in pairs {
                // What the cells before have in their second column.
                let mut before = u16x16::splat(simd, 0);
                let shares = half.push_open((x / 2, y / 2), groups(upper));
                let ((upper, last_upper), (lower, last_lower)) = (upper.as_chunks(), lower.as_chunks());
                for ((shares, &upper), &lower) in shares.iter_mut().zip(upper).zip(lower) {
                    *shares = means_of_cells(simd, [upper, lower], centre, &mut before);
                }
                // Half a group of cells.
                if let (Some(shares), Some(upper), Some(lower)) =
                    (shares.last_mut(), last_upper.first_chunk::<GROUP>(), last_lower.first_chunk())
                {
                    let rows = [upper, lower].map(|row: &[u8; GROUP]| {
                        let mut cells = [0; 2 * GROUP];
                        cells[..GROUP].copy_from_slice(row);
                        cells
                    });
                    *shares = means_of_cells(simd, rows, centre, &mut before);
                }
            }
        },
    ));
    half
}

/// The shares of a group of cells, both rows of which are given.
///
/// In vectors by name: left to itself, the compiler takes it apart.
#[inline(always)]
fn means_of_cells<S: Simd>(simd: S, rows: [[u8; 2 * GROUP]; 2], centre: bool, before: &mut u16x16<S>) -> [u8; GROUP] {
    let [upper, lower] = rows.map(|row| u8x32::simd_from(simd, row));
    let second = |row: u8x32<S>| row.bitcast::<u16x16<S>>() >> 8;
    let all = simd.pairwise_widening_add_u8x32(upper) + simd.pairwise_widening_add_u8x32(lower);
    let second = second(upper) + second(lower);
    let sum = if centre {
        all + all
    } else {
        let beside = simd.slide_u16x16::<{ GROUP - 1 }>(*before, second);
        // The first column counts twice, the others once.
        beside + all + (all - second)
    };
    *before = second;
    let shares = simd.select_u16x16(all.simd_eq(0), u16x16::splat(simd, 0), (sum + 4) >> 3);
    bytes(simd, shares)
}

/// The shares of a group of cells, whose first luma column is the third of these rows.
#[inline(always)]
fn means<S: Simd>(simd: S, rows: [&[u8]; 3], taps: [u16; 3], (before, after): (u16, u16), shares: &mut [u8; GROUP]) {
    // Both columns of a cell as one word.
    let pairs = |row: &[u8]| u8x32::from_slice(simd, &row[..2 * GROUP]).bitcast::<u16x16<S>>();
    let (mut sums, mut own) = (u16x16::splat(simd, 8), u16x16::splat(simd, 0));
    for (i, (row, taps)) in rows.into_iter().zip(taps).enumerate() {
        let (beside, cells) = (pairs(row), pairs(&row[2..]));
        sums += ((beside >> 8) * before + (cells & 255) * 2 + (cells >> 8) * after) * taps;
        if i > 0 {
            own |= cells;
        }
    }
    let means = simd.select_u16x16(own.simd_eq(0), u16x16::splat(simd, 0), sums >> 4);
    *shares = bytes(simd, means);
}

/// Words below 256 as bytes.
#[inline(always)]
fn bytes<S: Simd>(simd: S, words: u16x16<S>) -> [u8; GROUP] {
    *simd.split_u8x32(simd.narrow_u16x16(words, words)).0
}

/// Whether anything is covered.
#[inline(always)]
fn holds(shares: &[u8; GROUP]) -> bool {
    u128::from_ne_bytes(*shares) != 0
}

impl Tools {
    #[inline(always)]
    fn half<S: Simd>(&mut self, simd: S, mask: &Mask, (right, down): (i32, i32), siting: ChromaSiting, tall: i32) {
        let Self { seen, shares, half } = self;
        half.clear();
        let Some((left, top, end, bottom)) = mask.edges() else { return };
        let on_row = tall == 2 && siting == ChromaSiting::TopLeft;
        let first = (left + right).div_euclid(2);
        let cells = ((end + right + 1).div_euclid(2) - first) as usize;
        // A cell beside them on either side, and room for whole groups.
        let room = 2 * (cells + 2 + 2 * GROUP);
        for row in seen.iter_mut().filter(|row| row.len() < room) {
            row.resize(room, 0);
        }
        shares.resize(shares.len().max(room / 2), 0);
        // Parts of four. One row counts for all; between two rows both count alike; on a row it counts twice, the one above and the
        // one below once.
        let taps = match (tall, on_row) {
            (1, _) => [0, 4, 0],
            (_, false) => [0, 2, 2],
            (_, true) => [1, 2, 1],
        };
        let mut above = 0;
        for row in (top + down).div_euclid(tall)..(bottom + down + tall - 1).div_euclid(tall) {
            let (mut from, mut to) = (usize::MAX, 0);
            let rows = tall * row - i32::from(on_row) - down..tall * row + tall - down;
            let (before, runs) = mask.rows(above, rows);
            above = before;
            for ((x, y), values) in runs {
                let row = &mut seen[(y + down - tall * row + 1) as usize];
                let mut column = (x + right + 2 - 2 * first) as usize;
                from = from.min(column);
                for group in values.as_chunks::<GROUP>().0 {
                    // What is clear here may be another run's.
                    row[column..][..GROUP].iter_mut().zip(group).for_each(|(seen, &own)| *seen = own.max(*seen));
                    column += GROUP;
                }
                to = to.max(column);
            }
            if from >= to {
                continue;
            }
            // Cells that hold anything, and those beside them that see it.
            let cells = (from / 2).max(1)..(to / 2 + 1).min(cells + 1);
            let groups = cells.len().div_ceil(GROUP);
            for (group, shares) in shares[..groups * GROUP].as_chunks_mut().0.iter_mut().enumerate() {
                let start = 2 * (cells.start + group * GROUP);
                let rows = seen.each_ref().map(|row| &row[start - 2..][..2 * GROUP + 2]);
                let sides = if siting == ChromaSiting::Centre { (0, 2) } else { (1, 1) };
                means(simd, rows, taps, sides, shares);
            }
            // A ring has two short stretches in most of its rows, and nothing between them that was worth laying.
            let (mut start, mut groups) = (cells.start, shares[..groups * GROUP].as_chunks::<GROUP>().0);
            while !groups.is_empty() {
                let clear = groups.iter().take_while(|group| !holds(group)).count();
                let held = groups[clear..].iter().take_while(|group| holds(group)).count();
                let column = first + (start + clear * GROUP) as i32 - 1;
                half.push_groups((column, row), groups[clear..][..held].iter().copied());
                start += (clear + held) * GROUP;
                groups = &groups[clear + held..];
            }
            for row in seen.iter_mut() {
                row[from..][..(to - from).next_multiple_of(GROUP)].as_chunks_mut::<GROUP>().0.fill([0; GROUP]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    /// A slanting shape as pairs of rows, and the same as any mask.
    fn twice() -> [Mask; 2] {
        let (mut cells, mut plain) = (Mask::of_cells(16, 1024), Mask::default());
        for cell in 0..8_i32 {
            let (x, y) = (4 - 6 * cell, 2 * cell - 6);
            let shape = |down: usize, i: usize| {
                let is_covered = (3 * down..48 - 5 * down).contains(&i) || (54..68).contains(&i);
                if is_covered { (i * 37 + down * 11 + 1) as u8 } else { 0 }
            };
            // Where both lie over each other, both are clear.
            for (first, groups) in [(52, 1), (0, 3 + (cell % 2) as usize)] {
                for (down, row) in cells.push_cells((x + first as i32, y), groups).into_iter().enumerate() {
                    let values = row.as_flattened_mut().iter_mut().enumerate();
                    values.for_each(|(i, v)| *v = if first + i < 52 || first > 0 { shape(down, first + i) } else { 0 });
                }
            }
            for down in 0..2 {
                plain.push((x, y + down as i32), &(0..68).map(|i| shape(down, i)).collect::<Vec<_>>());
            }
        }
        [cells, plain]
    }

    #[test]
    fn cells_are_halved_as_any_mask_is() {
        for siting in [ChromaSiting::Left, ChromaSiting::Centre, ChromaSiting::TopLeft] {
            for (by, tall) in [((0, 0), 2), ((0, 0), 1), ((1, 1), 2), ((2, -2), 2)] {
                let [cells, plain] = twice().map(|mask| {
                    let half = half(&mask, by, siting, tall);
                    let runs = half.runs().map(|((x, y), v)| (x..).zip(v).map(|(x, &v)| (x, y, v)).collect::<Vec<_>>());
                    runs.flatten().filter(|(.., v)| *v > 0).collect::<BTreeSet<_>>()
                });
                assert!(!plain.is_empty());
                assert_eq!(cells, plain, "{siting:?} {by:?} {tall}");
            }
        }
    }
}

//! A mask as chroma samples see it.

use std::cell::RefCell;

use crate::pixel::{Cells, ChromaSiting, GROUP, Mask, widely};

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
        widely(
            #[inline(always)]
            || tools.half(mask, by, siting, tall),
        );
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
    widely(
        #[inline(always)]
        || {
            for ((x, y), [upper, lower]) in pairs {
                // What the cell before has in its second column.
                let mut before = 0;
                let shares = half.push_open((x / 2, y / 2), groups(upper));
                let ((upper, last_upper), (lower, last_lower)) = (upper.as_chunks(), lower.as_chunks());
                for ((shares, upper), lower) in shares.iter_mut().zip(upper).zip(lower) {
                    *shares = means_of_cells(upper, lower, centre, &mut before);
                }
                // Half a group of cells.
                if let (Some(upper), Some(lower)) = (last_upper.first_chunk(), last_lower.first_chunk()) {
                    let [upper, lower] = [upper, lower].map(|row: &[u8; GROUP]| {
                        let mut cells = [0; 2 * GROUP];
                        cells[..GROUP].copy_from_slice(row);
                        cells
                    });
                    if let Some(shares) = shares.last_mut() {
                        *shares = means_of_cells(&upper, &lower, centre, &mut before);
                    }
                }
            }
        },
    );
    half
}

/// The shares of a group of cells.
#[inline(always)]
fn means_of_cells(upper: &[u8; 2 * GROUP], lower: &[u8; 2 * GROUP], centre: bool, before: &mut u16) -> [u8; GROUP] {
    let (mut first, mut second, mut own) = ([0_u16; GROUP], [0_u16; GROUP], [0_u16; GROUP]);
    let (upper, lower) = (upper.as_chunks().0, lower.as_chunks().0);
    for i in 0..GROUP {
        let (a, b) = (u16::from_le_bytes(upper[i]), u16::from_le_bytes(lower[i]));
        own[i] = a | b;
        first[i] = (a & 255) + (b & 255);
        second[i] = (a >> 8) + (b >> 8);
    }
    let mut beside = [*before; GROUP];
    beside[1..].copy_from_slice(&second[..GROUP - 1]);
    *before = second[GROUP - 1];
    let mut shares = [0; GROUP];
    for i in 0..GROUP {
        let sum = if centre { 2 * (first[i] + second[i]) } else { beside[i] + 2 * first[i] + second[i] };
        shares[i] = if own[i] != 0 { ((sum + 4) / 8) as u8 } else { 0 };
    }
    shares
}

/// The shares of a group of cells, whose first luma column is the third of these rows.
#[inline(always)]
fn means(rows: [&[u8]; 3], taps: [u16; 3], (before, after): (u16, u16), shares: &mut [u8]) {
    // Both columns of a cell as one word.
    let pairs = |row: &[u8]| {
        let mut pairs = [0_u16; GROUP];
        pairs.iter_mut().zip(row.as_chunks().0).for_each(|(pair, &two)| *pair = u16::from_le_bytes(two));
        pairs
    };
    let (mut sums, mut own) = ([8_u16; GROUP], [0_u16; GROUP]);
    for (row, taps) in rows.into_iter().zip(taps) {
        let (beside, cells) = (pairs(row), pairs(&row[2..]));
        for i in 0..GROUP {
            sums[i] += taps * (before * (beside[i] >> 8) + 2 * (cells[i] & 255) + after * (cells[i] >> 8));
        }
    }
    for row in &rows[1..] {
        own.iter_mut().zip(pairs(&row[2..])).for_each(|(own, pair)| *own |= pair);
    }
    for i in 0..GROUP {
        shares[i] = if own[i] != 0 { (sums[i] / 16) as u8 } else { 0 };
    }
}

/// Whether anything is covered.
#[inline(always)]
fn holds(shares: &[u8; GROUP]) -> bool {
    u128::from_ne_bytes(*shares) != 0
}

impl Tools {
    #[inline(always)]
    fn half(&mut self, mask: &Mask, (right, down): (i32, i32), siting: ChromaSiting, tall: i32) {
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
            for group in 0..groups {
                let start = 2 * (cells.start + group * GROUP);
                let rows = seen.each_ref().map(|row| &row[start - 2..][..2 * GROUP + 2]);
                let sides = if siting == ChromaSiting::Centre { (0, 2) } else { (1, 1) };
                means(rows, taps, sides, &mut shares[group * GROUP..][..GROUP]);
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

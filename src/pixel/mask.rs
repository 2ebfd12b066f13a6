//! How much of each pixel a shape covers, kept only where it covers anything.

use std::cell::RefCell;

use super::PixelBox;

/// Values are kept in groups of so many, filled up with zeros, which change nothing where they are laid.
pub const GROUP: usize = 16;

/// A shape as shares of pixels: 255 for a pixel that is covered as a whole.
///
/// Most of a slanting hand's box is empty, so a mask is made of runs: stretches of one row, from top to bottom row by row or, of cells,
/// pair of rows by pair of rows. They may lie over each other where all of them but one are clear. Coordinates are whole pixels of
/// the coded frame, or of a place of the shape's own; they may lie outside the frame.
#[derive(Debug, Default)]
pub struct Mask {
    runs: Vec<Run>,
    /// Of which so many bytes are the runs' values. What lies behind them is left from masks before.
    values: Vec<u8>,
    used: usize,
    /// Left and right edge of all runs.
    sides: (i32, i32),
    /// Whether its runs are those of [`Mask::of_cells`].
    in_cells: bool,
}

/// Where two rows of the same chroma cells begin, and their values.
pub type Cells<'a> = ((i32, i32), [&'a [u8]; 2]);

/// Memory of masks that is kept for masks to come, per thread: as many go as come with every frame, and asking the system for
/// theirs would take longer than filling them. It is kept by its size, so that each finds some that is neither too small nor much
/// too large: letters keep theirs for long.
const SPARES: usize = 256;
/// Of no size is more kept than would be these bytes if all of it were as small as that size gets.
const SPARE_BYTES: usize = 1 << 20;
/// Bits of the least size and of the largest: more is too rarely needed to be asked for.
const SIZES: (u32, u32) = (8, 17);

/// Memory of one size: at least so many bytes for values, less than twice as many.
type Spares = Vec<(Vec<Run>, Vec<u8>)>;

thread_local! {
    static SPARE: RefCell<[Spares; (SIZES.1 - SIZES.0 + 1) as usize]> = const { RefCell::new([const { Vec::new() }; _]) };
}

/// A stretch of one row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Run {
    x: i32,
    y: i32,
    /// Where its values lie.
    start: u32,
    end: u32,
}

impl Mask {
    /// An empty mask with memory for so many runs and values.
    pub fn with_room(runs: usize, values: usize) -> Self {
        let bits = values.next_power_of_two().ilog2().max(SIZES.0);
        // A thread that ends has none.
        let spare = SPARE.try_with(|spare| spare.borrow_mut().get_mut((bits - SIZES.0) as usize)?.pop());
        let mut mask = Self::default();
        (mask.runs, mask.values) = spare.ok().flatten().unwrap_or_default();
        mask.runs.reserve(runs);
        if mask.values.is_empty() {
            mask.values = vec![0; if bits > SIZES.1 { values } else { 1 << bits }];
        }
        mask
    }

    /// An empty mask whose runs come in pairs: both rows of the same chroma cells, two luma columns and two luma rows each.
    pub fn of_cells(runs: usize, values: usize) -> Self {
        let mut mask = Self::with_room(runs, values);
        mask.in_cells = true;
        mask
    }

    /// Takes everything away, but keeps the memory.
    pub fn clear(&mut self) {
        self.runs.clear();
        self.used = 0;
        self.in_cells = false;
    }

    /// Adds a stretch of a row below or to the right of all that are there, less what is clear at its ends.
    pub fn push(&mut self, at: (i32, i32), values: &[u8]) {
        let (groups, rest) = values.as_chunks();
        let mut last = [0; GROUP];
        last[..rest.len()].copy_from_slice(rest);
        let groups = groups.iter().chain((!rest.is_empty()).then_some(&last));
        self.push_groups(at, groups.copied());
    }

    /// The same for values in whole groups.
    #[inline(always)]
    pub fn push_groups(&mut self, (x, y): (i32, i32), groups: impl Iterator<Item = [u8; GROUP]>) {
        debug_assert!(!self.in_cells, "a mask of cells has pairs of rows alone");
        let open = self.used;
        groups.for_each(|group| self.more(1).copy_from_slice(&[group]));
        let groups = self.values[open..self.used].as_chunks::<GROUP>().0;
        let covered =
            |(at, group): (usize, &[u8; GROUP])| Some((at, u128::from_le_bytes(*group))).filter(|(_, all)| *all != 0);
        let first = groups.iter().enumerate().find_map(covered);
        let last = groups.iter().enumerate().rev().find_map(covered);
        let Some(((first, low), (last, high))) = first.zip(last) else {
            self.used = open;
            return;
        };
        let first = first * GROUP + low.trailing_zeros() as usize / 8;
        let end = open + (last + 1) * GROUP - high.leading_zeros() as usize / 8;
        let start = open + first;
        let run = Run { x: x + first as i32, y, start: start as u32, end: end as u32 };
        // What is clear at its left is not moved away, so that a group may be missing at its right.
        let full = start + (end - start).next_multiple_of(GROUP);
        if full > self.used {
            self.more(1).copy_from_slice(&[[0; GROUP]]);
        }
        self.used = full;
        self.push_run((run.x, run.y), start..end);
    }

    /// Adds a stretch of so many groups, whose values are yet to be set, below or to the right of all that are there.
    #[inline(always)]
    pub fn push_open(&mut self, at: (i32, i32), groups: usize) -> &mut [[u8; GROUP]] {
        self.push_run(at, self.used..self.used + groups * GROUP);
        self.more(groups)
    }

    /// The same for a stretch of two rows of a mask of cells; beside others of the same two rows in any order.
    #[inline(always)]
    pub fn push_cells(&mut self, (x, y): (i32, i32), groups: usize) -> [&mut [[u8; GROUP]]; 2] {
        let (start, length) = (self.used, groups * GROUP);
        self.push_run((x, y), start..start + length);
        self.push_run((x, y + 1), start + length..start + 2 * length);
        self.more(2 * groups).split_at_mut(groups).into()
    }

    /// Takes so many groups into use, whose values are yet to be set.
    #[inline(always)]
    fn more(&mut self, groups: usize) -> &mut [[u8; GROUP]] {
        let start = self.used;
        self.used += groups * GROUP;
        if self.values.len() < self.used {
            self.values.resize(2 * self.used, 0);
        }
        self.values[start..self.used].as_chunks_mut().0
    }

    #[inline(always)]
    fn push_run(&mut self, (x, y): (i32, i32), at: std::ops::Range<usize>) {
        let run = Run { x, y, start: at.start as u32, end: at.end as u32 };
        let sides = if self.runs.is_empty() { (run.x, run.right()) } else { self.sides };
        self.sides = (sides.0.min(run.x), sides.1.max(run.right()));
        self.runs.push(run);
    }

    /// The pairs of rows of a mask of cells. None of another mask.
    pub fn cells(&self) -> Option<impl Iterator<Item = Cells<'_>> + Clone> {
        let pairs = self.runs.as_chunks().0;
        self.in_cells.then(|| pairs.iter().map(|[upper, lower]| ((upper.x, upper.y), [self.of(upper), self.of(lower)])))
    }

    /// Whether it has no runs, and covers nothing.
    pub fn is_empty(&self) -> bool {
        self.runs.is_empty()
    }

    /// The stretches, with the place of their first pixel.
    pub fn runs(&self) -> impl Iterator<Item = ((i32, i32), &[u8])> {
        self.runs.iter().map(|run| ((run.x, run.y), self.of(run)))
    }

    /// Left, top, right and bottom edge of all runs, which all that is covered lies in; none if there is none.
    pub fn edges(&self) -> Option<(i32, i32, i32, i32)> {
        let (top, bottom) = (self.runs.first()?.y, self.runs.last()?.y + 1);
        Some((self.sides.0, top, self.sides.1, bottom))
    }

    /// Hands on the stretches within a box, the mask moved by whole pixels: row, first column, values, in whole groups where these
    /// do not reach beyond the box.
    #[inline(always)]
    pub fn each_within(&self, (right, down): (i32, i32), area: PixelBox, mut each: impl FnMut(u32, u32, &[u8])) {
        let local = |edge: u32, by: i32| i32::try_from(i64::from(edge) - i64::from(by)).unwrap_or(i32::MAX);
        let (left, top) = (local(area.x, right), local(area.y, down));
        let (end, bottom) = (local(area.right(), right), local(area.bottom(), down));
        let (Some(first), Some(last)) = (self.runs.first(), self.runs.last()) else { return };
        if self.sides.1 <= left || self.sides.0 >= end {
            return;
        }
        let full = |run: &Run| (run.end - run.start).next_multiple_of(GROUP as u32);
        // Mostly none is cut off, and a search would have to fetch runs from all over.
        if first.y >= top && last.y < bottom && self.sides.0 >= left && self.sides.1 + GROUP as i32 <= end {
            for run in &self.runs {
                let start = run.start as usize;
                let values = &self.values[start..start + full(run) as usize];
                each((run.y + down) as u32, (run.x + right) as u32, values);
            }
            return;
        }
        // Both rows of cells come for one stretch, then for the next.
        let above = self.runs.partition_point(|run| run.y < top.saturating_sub(1));
        for run in self.runs[above..].iter().take_while(|run| run.y <= bottom) {
            let (from, to) = (run.x.max(left), (run.x + full(run) as i32).min(end));
            if from < to && run.right() > left && (top..bottom).contains(&run.y) {
                let start = run.start as usize;
                let values = &self.values[start + (from - run.x) as usize..start + (to - run.x) as usize];
                each((run.y + down) as u32, (from + right) as u32, values);
            }
        }
    }

    /// The stretches of some rows in whole groups, which lie at or below those of `seen` runs; and how many lie above them.
    pub fn rows(
        &self,
        mut seen: usize,
        rows: std::ops::Range<i32>,
    ) -> (usize, impl Iterator<Item = ((i32, i32), &[u8])>) {
        seen += self.runs[seen..].iter().take_while(|run| run.y < rows.start).count();
        // Both rows of cells come for one stretch, then for the next.
        let last = rows.end;
        let runs =
            self.runs[seen..].iter().take_while(move |run| run.y <= last).filter(move |run| rows.contains(&run.y));
        let groups = |run: &Run| {
            &self.values[run.start as usize..][..(run.end - run.start).next_multiple_of(GROUP as u32) as usize]
        };
        (seen, runs.map(move |run| ((run.x, run.y), groups(run))))
    }

    fn of(&self, run: &Run) -> &[u8] {
        &self.values[run.start as usize..run.end as usize]
    }
}

#[cfg(test)]
impl Mask {
    /// Every share that is not nothing, by its pixel.
    pub fn shares(&self) -> std::collections::BTreeMap<(i32, i32), i32> {
        let mut shares = std::collections::BTreeMap::new();
        for ((x, y), values) in self.runs() {
            for (x, &share) in (x..).zip(values).filter(|(_, share)| **share > 0) {
                *shares.entry((x, y)).or_insert(0) += i32::from(share);
            }
        }
        shares
    }
}

impl Clone for Mask {
    fn clone(&self) -> Self {
        let mut mask = Self::with_room(self.runs.len(), self.used);
        mask.runs.extend_from_slice(&self.runs);
        mask.values[..self.used].copy_from_slice(&self.values[..self.used]);
        (mask.used, mask.sides, mask.in_cells) = (self.used, self.sides, self.in_cells);
        mask
    }
}

impl Drop for Mask {
    fn drop(&mut self) {
        let Some(bits) = self.values.len().checked_ilog2().filter(|bits| *bits >= SIZES.0) else { return };
        self.runs.clear();
        let memory = (std::mem::take(&mut self.runs), std::mem::take(&mut self.values));
        // A thread that ends keeps none.
        let _ = SPARE.try_with(|spare| {
            let mut spare = spare.borrow_mut();
            if let Some(spare) = spare.get_mut((bits - SIZES.0) as usize)
                && spare.len() < SPARES.min(SPARE_BYTES >> bits)
            {
                spare.push(memory);
            }
        });
    }
}

impl Run {
    const fn right(&self) -> i32 {
        self.x + (self.end - self.start) as i32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cross() -> Mask {
        let mut mask = Mask::with_room(4, 64);
        mask.push((3, -1), &[0, 9, 0]);
        mask.push((2, 0), &[0, 0, 7]);
        mask.push((2, 1), &[1, 2, 3, 0]);
        mask.push((0, 2), &[0, 0]);
        mask
    }

    #[test]
    fn clear_ends_are_not_kept() {
        let runs: Vec<_> = cross().runs().map(|(at, values)| (at, values.to_vec())).collect();
        assert_eq!(runs, vec![((4, -1), vec![9]), ((4, 0), vec![7]), ((2, 1), vec![1, 2, 3])]);
        assert_eq!(cross().edges(), Some((2, -1, 5, 2)));
        assert_eq!(Mask::default().edges(), None);
    }

    #[test]
    fn cells_beside_each_other_are_cut_by_their_rows() {
        let mut mask = Mask::of_cells(6, 96);
        for at in [(0, 0), (4, 0), (0, 2)] {
            mask.push_cells(at, 1).into_iter().for_each(|row| row.as_flattened_mut().fill(1));
        }
        let area = |y, height| PixelBox { x: 0, y, width: 64, height };
        let places = |area| {
            let mut places = Vec::new();
            mask.each_within((0, 0), area, |y, x, _| places.push((y, x)));
            places
        };
        assert_eq!(places(area(1, 2)), [(1, 0), (1, 4), (2, 0)]);
        assert_eq!(places(area(0, 1)), [(0, 0), (0, 4)]);
        assert_eq!(mask.rows(0, 1..3).1.map(|(at, _)| at).collect::<Vec<_>>(), [(0, 1), (4, 1), (0, 2)]);
    }

    #[test]
    fn small_masks_do_not_keep_large_memory() {
        drop(Mask::with_room(8, 100_000));
        let mut small = Mask::with_room(8, 300);
        small.push((0, 0), &[255; 300]);
        assert!(small.values.len() < 2 * 304 && small.clone().values.len() < 2 * 304);
        assert_eq!(SPARE.with_borrow(|spare| spare.each_ref().map(Vec::len)), [0, 1, 0, 0, 0, 0, 0, 0, 0, 1]);
        assert!(Mask::with_room(8, 100_000).values.len() >= 100_000);
        let dropped = |values| (0..2 * SPARES).map(|_| Mask::with_room(8, values)).collect::<Vec<_>>().clear();
        [300, 4000, 100_000, 200_000].into_iter().for_each(dropped);
        assert_eq!(SPARE.with_borrow(|spare| spare.each_ref().map(Vec::len)), [0, 256, 0, 0, 256, 0, 0, 0, 0, 8]);
    }

    #[test]
    fn what_memory_held_before_is_not_seen() {
        let groups = |mask: &Mask| mask.rows(0, -9..9).1.map(|(at, v)| (at, v.to_vec())).collect::<Vec<_>>();
        let clean = groups(&cross());
        let mut old = Mask::with_room(8, 256);
        (0..8).for_each(|y| old.push((0, y), &[255; 32]));
        drop(old);
        let taken = cross();
        assert!(taken.values.contains(&255), "no memory was taken over");
        assert_eq!(groups(&taken), clean);
        assert_eq!(groups(&taken.clone()), clean);
        assert!(clean.iter().all(|(_, v)| v.len() % GROUP == 0 && v.iter().filter(|v| **v > 0).count() <= 3));
    }

    #[test]
    fn a_box_cuts_what_is_moved_into_it_and_groups_are_filled_up() {
        let area = PixelBox { x: 0, y: 0, width: 4, height: 2 };
        let seen = |by| {
            let mut seen = Vec::new();
            cross().each_within(by, area, |y, x, v| seen.push((y, x, v.to_vec())));
            seen
        };
        assert_eq!(seen((0, 0)), vec![(1, 2, vec![1, 2])]);
        assert_eq!(seen((-3, 1)), vec![(0, 1, vec![9, 0, 0]), (1, 1, vec![7, 0, 0])]);
        assert_eq!(seen((-3, 0)), vec![(0, 1, vec![7, 0, 0]), (1, 0, vec![2, 3, 0, 0])]);
        assert!(seen((4, 0)).is_empty() && seen((0, -2)).is_empty());
    }
}

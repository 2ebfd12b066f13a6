//! A mask as chroma samples see it.

use crate::pixel::{ChromaSiting, Mask, PixelBox};

/// Works masks out on the half-size grid, row by row: means over the luma samples round each chroma site.
#[derive(Debug, Clone, Default)]
pub(super) struct HalfMask {
    /// A luma column each, from the one beside the first cell on: sums over the rows that the cell sees, taps that add up to 4.
    sums: Vec<u16>,
    /// The same columns, of the cell's own two rows alone.
    own: Vec<u8>,
    shares: Vec<u8>,
}

impl HalfMask {
    /// Calls `each` with the chroma row, the first chroma column and the shares of the samples within a box, which lies on the
    /// chroma grid. A sample none of whose own four luma samples is covered has no share.
    pub fn each_row(
        &mut self,
        mask: &Mask,
        by: (i32, i32),
        area: PixelBox,
        siting: ChromaSiting,
        mut each: impl FnMut(u32, u32, &[u8]),
    ) {
        let on_row = siting == ChromaSiting::TopLeft;
        for row in area.y / 2..area.bottom().div_ceil(2) {
            // A row more above and a column more on the left belong to the means at the box's edges.
            let (left, top) = (area.x.saturating_sub(1), (2 * row).saturating_sub(u32::from(on_row)));
            let seen = PixelBox { x: left, y: top, width: area.right() - left, height: 2 * row + 2 - top };
            let reach = mask.within(by, seen).fold(None, |reach: Option<(u32, u32)>, (_, x, values)| {
                let end = x + values.len() as u32;
                Some(reach.map_or((x, end), |(from, to)| (from.min(x), to.max(end))))
            });
            let Some((from, to)) = reach else { continue };
            let first = (from / 2).max(area.x / 2);
            let cells = to.div_ceil(2).saturating_sub(first) as usize;
            self.sums.clear();
            self.sums.resize(2 * cells + 1, 0);
            self.own.clear();
            self.own.resize(2 * cells + 1, 0);
            for (y, x, values) in mask.within(by, seen) {
                let taps = match (on_row, y == 2 * row) {
                    // At the frame's upper edge the first row stands for the one above it.
                    (true, true) => 2 + u16::from(y == 0),
                    (true, false) => 1,
                    (false, _) => 2,
                };
                let column = 2 * first as usize;
                let (at, skipped) = ((x as usize + 1).saturating_sub(column), column.saturating_sub(x as usize + 1));
                let values = values.get(skipped..).unwrap_or_default();
                for (sum, &value) in self.sums.iter_mut().skip(at).zip(values) {
                    *sum += taps * u16::from(value);
                }
                if y >= 2 * row {
                    self.own.iter_mut().skip(at).zip(values).for_each(|(own, &value)| *own |= value);
                }
            }
            self.average(first == 0, siting);
            each(row, first, &self.shares);
        }
    }

    /// Means of the columns round each site. At the frame's left edge the first column stands for the one beside it.
    fn average(&mut self, at_edge: bool, siting: ChromaSiting) {
        if let (true, [beside, first, ..]) = (at_edge, &mut self.sums[..]) {
            *beside = *first;
        }
        let (before, after) = if siting == ChromaSiting::Centre { (0, 2) } else { (1, 1) };
        let columns = self.sums.windows(3).step_by(2).zip(self.own[1..].as_chunks::<2>().0);
        self.shares.clear();
        self.shares.extend(columns.map(|(sums, own)| {
            let sum = before * sums[0] + 2 * sums[1] + after * sums[2];
            if *own == [0; 2] { 0 } else { ((sum + 8) / 16) as u8 }
        }));
    }
}

//! Premultiplied samples of planes that share one grid: luma alone, both chroma planes, or all three.

use std::ops::Range;

use super::plane::{Area, Plane};
use super::rows;
use crate::pixel::{GROUP, Sample, widely};

/// Clear samples no more than this many are kept within a run: few long runs are laid faster than many short ones.
const GAP: usize = 16;
/// So many runs before it is laid, what a run is laid on is asked for.
const AHEAD: usize = 8;

/// `N` planes, and how much of the film shows through them, where they are not clear.
#[derive(Debug, Clone)]
pub(super) struct Samples<T, const N: usize> {
    runs: Vec<Run>,
    /// First column of all runs, and the one behind their last.
    sides: (usize, usize),
    /// Colour times alpha.
    term: [Vec<T>; N],
    /// 255 less alpha.
    keep: Vec<u8>,
}

/// A stretch of one row of the frame, in whole groups.
#[derive(Debug, Clone, Copy)]
struct Run {
    column: u32,
    row: u32,
    /// Where its samples lie.
    start: u32,
    length: u32,
}

impl<T: Sample, const N: usize> Samples<T, N> {
    pub fn clear() -> Self {
        let term = std::array::from_fn(|_| Vec::new());
        Self { runs: Vec::new(), sides: (usize::MAX, 0), term, keep: Vec::new() }
    }

    /// Adds a row of the frame below all that are there, from a column on.
    pub fn push(&mut self, (column, row): (usize, usize), terms: [&[T]; N], keep: &[u8]) {
        let covered = |from: usize| Some(from + keep.get(from..)?.iter().position(|&keep| keep < 255)?);
        let clear = |from: usize| from + keep[from..].iter().take_while(|&&keep| keep < 255).count();
        let mut next = covered(0);
        while let Some(from) = next {
            let mut to = clear(from);
            next = covered(to);
            while let Some(more) = next.filter(|more| more - to < GAP) {
                to = clear(more);
                next = covered(to);
            }
            let start = self.keep.len();
            self.keep.extend_from_slice(&keep[from..to]);
            self.term.iter_mut().zip(terms).for_each(|(plane, terms)| plane.extend_from_slice(&terms[from..to]));
            // Clear samples, so that runs come in whole groups.
            let full = self.keep.len().next_multiple_of(GROUP);
            self.keep.resize(full, 255);
            self.term.iter_mut().for_each(|plane| plane.resize(full, T::default()));
            let [column, row, start, length] = [column + from, row, start, full - start];
            self.sides = (self.sides.0.min(column), self.sides.1.max(column + length));
            let [column, row, start, length] = [column, row, start, length].map(|n| n as u32);
            self.runs.push(Run { column, row, start, length });
        }
    }

    /// Lays the samples within an area over planes of one grid.
    pub fn over(&self, mut planes: [Plane<'_, T>; N], area: Area, highest: T) {
        // A search would have to fetch runs from all over; mostly none is cut off.
        let whole = |run: &Run| (area.top..area.bottom).contains(&(run.row as usize));
        let runs = match (self.runs.first(), self.runs.last()) {
            (Some(first), Some(last)) if whole(first) && whole(last) => &self.runs[..],
            _ => {
                let first = self.runs.partition_point(|run| (run.row as usize) < area.top);
                let last = self.runs.partition_point(|run| (run.row as usize) < area.bottom);
                &self.runs[first..last]
            }
        };
        let cut = (self.sides.0 < area.left || self.sides.1 > area.right).then_some(area);
        widely(
            #[inline(always)]
            || {
                for (i, run) in runs.iter().enumerate() {
                    if let Some(next) = runs.get(i + AHEAD) {
                        fetch(&planes, next, cut);
                    }
                    let Some((columns, samples)) = run.within(cut) else { continue };
                    for (plane, term) in planes.iter_mut().zip(&self.term) {
                        let film = plane.row(run.row as usize, columns.clone());
                        rows::over(film, &term[samples..], &self.keep[samples..], highest);
                    }
                }
            },
        );
    }
}

/// Has what a run is laid on come near. The layer's own samples lie one behind the other, which the machine sees by itself.
#[inline(always)]
fn fetch<T: Sample, const N: usize>(planes: &[Plane<'_, T>; N], run: &Run, cut: Option<Area>) {
    let Some((columns, _)) = run.within(cut) else { return };
    for plane in planes {
        let row = &plane.samples[run.row as usize * plane.stride..][columns.clone()];
        rows::fetch(row);
        // It seldom begins where a line does, so that its end may lie on one more.
        rows::fetch(&row[row.len() - 1..]);
    }
}

impl Run {
    /// Its columns within an area, if it may be cut off by one, and where their samples begin.
    #[inline(always)]
    fn within(&self, cut: Option<Area>) -> Option<(Range<usize>, usize)> {
        let (column, start) = (self.column as usize, self.start as usize);
        let whole = column..column + self.length as usize;
        let Some(area) = cut else { return Some((whole, start)) };
        let (from, to) = (whole.start.max(area.left), whole.end.min(area.right));
        (from < to).then(|| (from..to, start + (from - column)))
    }
}

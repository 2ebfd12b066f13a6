//! Premultiplied samples of planes that share one grid: luma alone, both chroma planes, or all three.

use std::ops::Range;

use super::plane::{Area, Plane};
use super::rows;
use crate::pixel::{GROUP, Sample, widely};

/// Clear samples no more than this many are kept within a run: few long runs are laid faster than many short ones.
const GAP: usize = 16;
/// So many runs before it is laid, a run's samples are asked for.
const AHEAD: usize = 8;

/// `N` planes, and how much of the film shows through them, where they are not clear.
#[derive(Debug, Clone)]
pub(super) struct Samples<T, const N: usize> {
    runs: Vec<Run>,
    /// Colour times alpha.
    term: [Vec<T>; N],
    /// 255 less alpha.
    keep: Vec<u8>,
}

/// A stretch of one row of the frame.
#[derive(Debug, Clone, Copy)]
struct Run {
    column: usize,
    row: usize,
    /// Where its samples lie.
    start: usize,
    end: usize,
}

impl<T: Sample, const N: usize> Samples<T, N> {
    pub fn clear() -> Self {
        Self { runs: Vec::new(), term: std::array::from_fn(|_| Vec::new()), keep: Vec::new() }
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
            self.runs.push(Run { column: column + from, row, start, end: start + (to - from) });
            self.keep.extend_from_slice(&keep[from..to]);
            self.term.iter_mut().zip(terms).for_each(|(plane, terms)| plane.extend_from_slice(&terms[from..to]));
            // Clear samples, so that runs come in whole groups.
            let full = self.keep.len().next_multiple_of(GROUP);
            self.keep.resize(full, 255);
            self.term.iter_mut().for_each(|plane| plane.resize(full, T::default()));
        }
    }

    /// Lays the samples within an area over planes of one grid.
    pub fn over(&self, mut planes: [Plane<'_, T>; N], area: Area, highest: T) {
        // A search would have to fetch runs from all over; mostly none is cut off.
        let whole = |run: &Run| area.top <= run.row && run.row < area.bottom;
        let runs = match (self.runs.first(), self.runs.last()) {
            (Some(first), Some(last)) if whole(first) && whole(last) => &self.runs[..],
            _ => {
                let first = self.runs.partition_point(|run| run.row < area.top);
                let last = self.runs.partition_point(|run| run.row < area.bottom);
                &self.runs[first..last]
            }
        };
        widely(
            #[inline(always)]
            || {
                let mut ahead = runs.iter().skip(AHEAD);
                for run in runs {
                    if let Some(next) = ahead.next() {
                        self.fetch(&planes, next, area);
                    }
                    let Some((from, to, samples)) = run.within(area) else { continue };
                    for (plane, term) in planes.iter_mut().zip(&self.term) {
                        let film = plane.row(run.row, from..to);
                        rows::over(film, &term[samples.clone()], &self.keep[samples.clone()], highest);
                    }
                }
            },
        );
    }

    /// Has all that a run needs come near.
    #[inline(always)]
    fn fetch(&self, planes: &[Plane<'_, T>; N], run: &Run, area: Area) {
        let Some((from, to, samples)) = run.within(area) else { return };
        rows::fetch(&self.keep[samples.clone()]);
        self.term.iter().for_each(|term| rows::fetch(&term[samples.clone()]));
        for plane in planes {
            let row = &plane.samples[run.row * plane.stride..][from..to];
            rows::fetch(row);
            // It seldom begins where a line does, so that its end may lie on one more; a layer's next run comes right behind.
            rows::fetch(&row[row.len() - 1..]);
        }
    }
}

impl Run {
    /// Its columns within an area, in whole groups where these do not reach beyond it, and where their samples lie.
    #[inline(always)]
    fn within(&self, area: Area) -> Option<(usize, usize, Range<usize>)> {
        let full = (self.end - self.start).next_multiple_of(GROUP);
        let (from, to) = (self.column.max(area.left), (self.column + full).min(area.right));
        (from < to).then(|| (from, to, self.start + (from - self.column)..self.start + (to - self.column)))
    }
}

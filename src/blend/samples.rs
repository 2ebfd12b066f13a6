//! Premultiplied samples of planes that share one grid: luma alone, both chroma planes, or all three.

use super::plane::{Area, Plane};
use super::rows;
use crate::pixel::{GROUP, Sample};

/// Clear samples no more than this many are kept within a run: few long runs are laid faster than many short ones.
const GAP: usize = 16;

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
    pub fn push(&mut self, (column, row): (usize, usize), samples: impl Iterator<Item = ([T; N], u8)>) {
        let mut last: Option<usize> = None;
        // Clear samples, so that runs come in whole groups.
        let fill = |samples: &mut Self, count: usize| {
            samples.keep.resize(samples.keep.len() + count, 255);
            samples.term.iter_mut().for_each(|plane| plane.resize(plane.len() + count, T::default()));
        };
        for (column, (terms, keep)) in (column..).zip(samples) {
            if keep == 255 {
                continue;
            }
            match (last, self.runs.last_mut()) {
                (Some(last), Some(run)) if column - last <= GAP => {
                    run.end += column - last;
                    fill(self, column - last - 1);
                }
                _ => {
                    fill(self, self.keep.len().next_multiple_of(GROUP) - self.keep.len());
                    self.runs.push(Run { column, row, start: self.keep.len(), end: self.keep.len() + 1 });
                }
            }
            self.keep.push(keep);
            self.term.iter_mut().zip(terms).for_each(|(plane, term)| plane.push(term));
            last = Some(column);
        }
        fill(self, self.keep.len().next_multiple_of(GROUP) - self.keep.len());
    }

    /// Lays the samples within an area over planes of one grid.
    pub fn over(&self, mut planes: [Plane<'_, T>; N], area: Area, highest: T) {
        let first = self.runs.partition_point(|run| run.row < area.top);
        let runs = self.runs[first..].iter().take_while(|run| run.row < area.bottom);
        rows::widely(
            #[inline(always)]
            || {
                for run in runs {
                    let full = (run.end - run.start).next_multiple_of(GROUP);
                    let (from, to) = (run.column.max(area.left), (run.column + full).min(area.right));
                    if from >= to {
                        continue;
                    }
                    let samples = run.start + (from - run.column)..run.start + (to - run.column);
                    for (plane, term) in planes.iter_mut().zip(&self.term) {
                        let film = plane.row(run.row, from..to);
                        rows::over(film, &term[samples.clone()], &self.keep[samples.clone()], highest);
                    }
                }
            },
        );
    }
}

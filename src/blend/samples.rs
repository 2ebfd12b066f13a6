//! Premultiplied samples of planes that share one grid: luma alone, or both chroma planes.

use std::ops::Range;

use super::rows::{self, FULL};
use crate::pixel::PixelBox;

/// `N` planes, and how much of the film shows through them.
#[derive(Debug, Clone)]
pub(super) struct Samples<const N: usize> {
    width: usize,
    /// Colour times alpha.
    term: [Vec<u8>; N],
    /// 255 less alpha.
    keep: Vec<u8>,
    /// For each row, columns outside of which all is transparent.
    spans: Vec<Range<usize>>,
}

/// How a plane's samples lie in memory.
#[derive(Clone, Copy)]
pub(super) struct Grid {
    pub width: usize,
    pub height: usize,
    pub stride: usize,
}

impl Grid {
    pub fn fits(self, samples: &[u8]) -> bool {
        let before_last = self.stride.checked_mul(self.height.saturating_sub(1));
        let needed = before_last.and_then(|before| before.checked_add(self.width));
        self.width <= self.stride && needed.is_some_and(|needed| needed <= samples.len())
    }
}

impl<const N: usize> Samples<N> {
    pub fn clear(width: usize, height: usize) -> Self {
        let term = std::array::from_fn(|_| vec![0; width * height]);
        Self { width, term, keep: vec![255; width * height], spans: vec![0..0; height] }
    }

    /// Columns and rows.
    pub fn size(&self) -> (usize, usize) {
        (self.width, self.spans.len())
    }

    pub fn covers(&self, column: usize, row: usize) -> bool {
        self.keep[row * self.width + column] != 255
    }

    /// Fills one row of a clear picture.
    pub fn set_row(&mut self, row: usize, samples: impl Iterator<Item = ([u8; N], u8)>) {
        let start = row * self.width;
        for (i, (terms, keep)) in (start..start + self.width).zip(samples) {
            self.keep[i] = keep;
            self.term.iter_mut().zip(terms).for_each(|(plane, term)| plane[i] = term);
        }
        let keep = &self.keep[start..][..self.width];
        let first = keep.iter().position(|&k| k != 255).unwrap_or(0);
        let end = keep.iter().rposition(|&k| k != 255).map_or(0, |last| last + 1);
        self.spans[row] = first..end;
    }

    /// Puts back what a picture of the same size shows within a box.
    pub fn restore(&mut self, ground: &Self, area: PixelBox) {
        for (row, run) in self.rows(area) {
            for (own, other) in self.term.iter_mut().zip(&ground.term) {
                own[run.clone()].copy_from_slice(&other[run.clone()]);
            }
            self.keep[run.clone()].copy_from_slice(&ground.keep[run]);
            let (span, below) = (&mut self.spans[row], &ground.spans[row]);
            let columns = area.x as usize..area.right() as usize;
            // What lay outside of the box still lies there.
            let whole = span.start == span.end || (columns.start <= span.start && span.end <= columns.end);
            *span = if whole { below.clone() } else { hull(span, below) };
        }
    }

    /// Lays a colour through the shares of some samples of a row.
    pub fn lay(&mut self, (column, row): (usize, usize), shares: &[u8], colour: [u8; N]) {
        let start = row * self.width + column;
        let run = start..start + shares.len();
        for (plane, colour) in self.term.iter_mut().zip(colour) {
            rows::lay(&mut plane[run.clone()], shares, colour);
        }
        rows::thin(&mut self.keep[run], shares);
        self.spans[row] = hull(&self.spans[row], &(column..column + shares.len()));
    }

    /// Lays part of another picture, from `corner` on, over a box.
    pub fn over(&mut self, above: &Self, corner: (u32, u32), area: PixelBox) {
        let (x, y) = (corner.0 as usize, corner.1 as usize);
        for (i, (row, run)) in self.rows(area).enumerate() {
            let span = &above.spans[y + i];
            let (from, to) = (span.start.max(x), span.end.min(x + area.width as usize));
            if from >= to {
                continue;
            }
            let start = run.start + (from - x);
            let (own, other) = (start..start + (to - from), (y + i) * above.width + from..(y + i) * above.width + to);
            for (plane, other_plane) in self.term.iter_mut().zip(&above.term) {
                rows::over(&mut plane[own.clone()], &other_plane[other.clone()], &above.keep[other.clone()]);
            }
            rows::keep_both(&mut self.keep[own.clone()], &above.keep[other]);
            let columns = own.start - row * self.width..own.end - row * self.width;
            self.spans[row] = hull(&self.spans[row], &columns);
        }
    }

    /// Lays the picture over planes that fit, from `(x, y)` on.
    pub fn blend(&self, planes: [&mut [u8]; N], grid: Grid, (x, y): (usize, usize), opacity: u8) {
        let seen = self.spans.iter().enumerate().take(grid.height.saturating_sub(y));
        for (plane, term) in planes.into_iter().zip(&self.term) {
            for (row, span) in seen.clone() {
                let end = span.end.min(grid.width.saturating_sub(x));
                if span.start >= end {
                    continue;
                }
                let film = &mut plane[(y + row) * grid.stride + x..][span.start..end];
                let run = row * self.width + span.start..row * self.width + end;
                let (term, keep) = (&term[run.clone()], &self.keep[run]);
                if opacity == FULL {
                    rows::over(film, term, keep);
                } else {
                    rows::fade(film, term, keep, opacity);
                }
            }
        }
    }

    /// The rows of a box, and where their samples lie.
    fn rows(&self, area: PixelBox) -> impl Iterator<Item = (usize, Range<usize>)> + use<N> {
        let width = self.width;
        (area.y as usize..area.bottom() as usize).map(move |row| {
            let start = row * width + area.x as usize;
            (row, start..start + area.width as usize)
        })
    }
}

/// The columns from the first of either to the last.
fn hull(a: &Range<usize>, b: &Range<usize>) -> Range<usize> {
    match (a.is_empty(), b.is_empty()) {
        (true, _) => b.clone(),
        (_, true) => a.clone(),
        _ => a.start.min(b.start)..a.end.max(b.end),
    }
}

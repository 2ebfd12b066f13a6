//! A trace by pixel columns: of all that falls into one column only its ends, its least and its greatest height are kept.

use crate::readout::{Piece, Trace};

/// Heights are whole quarters of a pixel.
pub(super) const STEPS: f64 = 4.0;
/// Columns from dot to dot of a held value, and from tooth to tooth of a gap's ruler, in modules; they stand still on the trace.
const PITCH: f64 = 0.0050;

/// One pixel column of a trace.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Column {
    /// Nothing is known; now and then a tooth of the ruler.
    Gap { tooth: bool },
    /// The last value, kept; now and then a dot.
    Held { height: i32, dot: bool },
    /// Recorded.
    Line { first: i32, low: i32, high: i32, last: i32 },
}

/// The window of a strip chart: whole columns of session time.
#[derive(Debug, Clone, Copy)]
pub(super) struct Columns {
    /// How many.
    pub count: usize,
    /// Seconds in a column.
    pub seconds: f64,
    /// Columns from dot to dot.
    pub pitch: i64,
}

impl Columns {
    /// `count` columns for `seconds` of a picture with a module of `m` pixels.
    pub fn new(count: usize, seconds: f64, m: f64) -> Self {
        Self { count, seconds: seconds / count.max(1) as f64, pitch: ((PITCH * m).round() as i64).max(3) }
    }

    /// The columns that have passed as a whole by `now_s`: a moment that is still to come is never shown. `height` turns a
    /// value into whole steps.
    pub fn window(&self, trace: &Trace, now_s: f64, height: impl Fn(f64) -> i32) -> Vec<Column> {
        let end = (now_s / self.seconds).floor() as i64;
        let start = end.saturating_sub(self.count as i64);
        let column = |i: usize| start + i as i64;
        let mut columns: Vec<Column> =
            (0..self.count).map(|i| Column::Gap { tooth: column(i).rem_euclid(self.pitch) == 0 }).collect();
        for piece in trace.within(start as f64 * self.seconds, end as f64 * self.seconds) {
            let (from_s, to_s) = piece.span_s;
            let first = (from_s / self.seconds).floor() as i64;
            // What ends where a column starts has no part in it.
            let last = ((to_s / self.seconds).ceil() as i64 - 1).max(first).min(end - 1);
            let first = first.max(start);
            for i in first..=last {
                let Some(column) = columns.get_mut((i - start) as usize) else { continue };
                self.add(column, i, piece, &height);
            }
        }
        columns
    }

    fn add(&self, column: &mut Column, index: i64, piece: &Piece, height: impl Fn(f64) -> i32) {
        let (left, right) = (index as f64 * self.seconds, (index + 1) as f64 * self.seconds);
        // A jump takes no time, but has two ends.
        let jump = piece.span_s.0 == piece.span_s.1;
        let from = height(if jump { piece.values.0 } else { piece.value_at(piece.span_s.0.max(left)) });
        let to = height(piece.value_at(piece.span_s.1.min(right)));
        *column = match *column {
            Column::Line { .. } if piece.held => return,
            _ if piece.held => Column::Held { height: from, dot: index.rem_euclid(self.pitch) == 0 },
            Column::Line { first, low, high, .. } => {
                Column::Line { first, low: low.min(from).min(to), high: high.max(from).max(to), last: to }
            }
            _ => Column::Line { first: from, low: from.min(to), high: from.max(to), last: to },
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(span_s: (f64, f64), values: (f64, f64)) -> Piece {
        Piece { span_s, values, held: false }
    }

    #[test]
    fn peaks_stay_and_the_future_does_not_show() {
        let columns = Columns { count: 4, seconds: 1.0, pitch: 3 };
        let pieces = vec![line((0.0, 0.4), (0.0, 80.0)), line((0.4, 1.0), (80.0, 8.0)), line((1.0, 3.0), (8.0, 0.0))];
        let trace = Trace { pieces };
        let shown = columns.window(&trace, 2.9, |v| v as i32);
        let gap = |tooth| Column::Gap { tooth };
        assert_eq!(shown[..2], [gap(false), gap(false)], "before the first record");
        assert_eq!(shown[2], Column::Line { first: 0, low: 0, high: 80, last: 8 }, "the peak within the column");
        assert_eq!(shown[3], Column::Line { first: 8, low: 4, high: 8, last: 4 });
        assert_eq!(shown, columns.window(&trace, 2.0, |v| v as i32), "the same until a whole column has passed");
        let later = columns.window(&trace, 4.5, |v| v as i32);
        assert_eq!(later[..2], shown[2..], "a column never changes while it moves");
        assert_eq!(later[3], gap(true), "after the last record");
    }
}

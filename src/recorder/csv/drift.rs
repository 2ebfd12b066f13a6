//! A second count beside the clock: whether the two run alike.
//!
//! Rule. The clock counts, the other column is kept as a channel. A column named for the rows is taken to count the usual
//! step of the clock, one of time its unit. Where both have drifted apart by more than two steps, the row is named.

use super::cells::words;
use super::clock_columns::{counts_by_name, nanoseconds, unit_in_name};
use super::header::Head;
use super::stamp::SECOND;
use crate::finding::{Finding, Severity};
use crate::units::Dimension;

const ROWS: [&str; 9] = ["index", "row", "record", "rec", "sample", "seq", "sequence", "no", "nr"];

/// Whether a column may count time or rows, by its name.
pub(super) fn is_a_count(head: &Head) -> bool {
    counts_by_name(head) || counts_rows(head)
}

fn counts_rows(head: &Head) -> bool {
    let words = words(&head.name);
    head.unit.is_none() && !words.is_empty() && words.iter().all(|w| ROWS.contains(&w.as_str()))
}

/// Compares a column with the clock. `times` and `values`: one for each row of `rows`.
pub(super) fn apart(head: &Head, times: &[f64], values: &[f64], rows: &[u64], step: f64) -> Option<Finding> {
    let of_time = counts_by_name(head).then(|| head.unit.or_else(|| unit_in_name(&head.name))).flatten();
    let of_time = of_time.filter(|unit| unit.dimension == Dimension::Time);
    let of_rows = counts_rows(head);
    let a_count = match of_time {
        Some(unit) => nanoseconds(unit) as f64 / SECOND as f64,
        None if of_rows => step / super::super::usual_step(values).filter(|v| *v > 0.0)?,
        None => return None,
    };
    let (mut apart, mut counted, mut first) = (0.0, 0.0, None);
    for i in 1..values.len() {
        let (on_clock, on_count) = (times[i] - times[i - 1], (values[i] - values[i - 1]) * a_count);
        // A count of rows stands still while the logger does; a count that begins anew says nothing at that step.
        if on_count.is_nan() || on_count < 0.0 || (of_time.is_none() && on_clock > 1.5 * step) {
            continue;
        }
        apart += on_clock - on_count;
        counted += on_count;
        if f64::abs(apart) > 2.0 * step && first.is_none() {
            first = Some(rows[i]);
        }
    }
    let row = first?;
    let share = if counted > 0.0 { apart / counted * 1e6 } else { 0.0 };
    let message = format!(
        "the column and the clock drift apart, by more than two steps from here on, at the end by {apart:.1} s \
         ({share:.0} millionths); the clock counts"
    );
    Some(Finding::new(Severity::Warning, "count_drifts", message).in_column(&*head.name).at_row(row))
}

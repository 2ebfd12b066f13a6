//! Places where a log's clock begins anew or is set, and the part of the log that is read.
//!
//! Rule. Nothing tells how long a logger was off, nor how long a wrong date stood: the parts before and after such a place
//! have no common clock, and one of them is read, the one with most rows or the one that the owner names.
//! A count begins anew where it falls below half of what it had reached; a dated clock is set back where it falls by more
//! than a minute, and set ahead where it leaps over a year, or over a day in its first ten minutes (a receiver that starts
//! with a wrong date). In each case the clock must then go on from there, else it is a slip of single rows (`advance`).
//! A count of 32 bits that runs over is no new beginning: it is carried on.

use super::super::Part;
use super::stamp::{DAY, SECOND};
use crate::finding::{Finding, Severity};
use std::ops::Range;

/// What a clock does at a break.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Break {
    Restarted,
    SetBack,
    SetAhead,
}

/// How many rows must go on from a new time.
const GO_ON: usize = 5;
const YEAR: i64 = 366 * DAY;

/// Where the clock breaks. `headed`: indices of rows right under a header that was written again.
pub(super) fn breaks(ns: &[i64], headed: &[usize], is_count: bool) -> Vec<(usize, Break)> {
    let mut breaks: Vec<(usize, Break)> = Vec::new();
    let mut start = 0;
    for i in 1..ns.len() {
        let (last, now) = (ns[i - 1], ns[i]);
        let kind = if now < last {
            let again = headed.binary_search(&i).is_ok();
            let far = if is_count { now < last - (last - ns[start].min(0)) / 2 } else { last - now > 60 * SECOND };
            // A single row that leapt ahead is a slip of its own.
            let slip = i > start + 1 && ns[i - 2] <= now;
            let on = || ns[i..].len() >= GO_ON && ns[i..i + GO_ON].is_sorted() && ns[i + GO_ON - 1] < last;
            match is_count {
                _ if slip || !(again || (far && on())) => continue,
                true => Break::Restarted,
                false if far => Break::SetBack,
                false => continue,
            }
        } else {
            let far = now - last > YEAR || (now - last > DAY && last - ns[start] < 600 * SECOND);
            let on = || ns.get(i + 1).is_some_and(|next| *next >= now && *next - now < DAY);
            if is_count || !far || !on() {
                continue;
            }
            Break::SetAhead
        };
        breaks.push((i, kind));
        start = i;
    }
    breaks
}

/// What became of the parts.
#[derive(Debug, PartialEq)]
pub(super) struct Chosen {
    /// The rows of the part to be read.
    pub(super) range: Range<usize>,
    /// All parts; none where there is but one.
    pub(super) parts: Vec<Part>,
    pub(super) findings: Vec<Finding>,
}

/// The part to be read, and what to tell. None: there is no part of the number that the owner names; then how many there are.
pub(super) fn choose(
    rows: &[u64],
    breaks: &[(usize, Break)],
    wanted: Option<usize>,
    text: &dyn Fn(usize) -> String,
) -> Result<Chosen, usize> {
    let starts = || std::iter::once(0).chain(breaks.iter().map(|b| b.0));
    let parts: Vec<Range<usize>> =
        starts().zip(breaks.iter().map(|b| b.0).chain([rows.len()])).map(|(a, b)| a..b).collect();
    let most = || (0..parts.len()).rev().max_by_key(|&i| parts[i].len()).unwrap_or(0);
    let chosen = match wanted {
        Some(n) if n == 0 || n > parts.len() => return Err(parts.len()),
        Some(n) => n - 1,
        None => most(),
    };
    const TOLD: usize = 6;
    let part = parts[chosen].clone();
    let mut findings = Vec::new();
    for (i, (at, kind)) in breaks.iter().enumerate().take(TOLD) {
        let (code, what) = match kind {
            Break::Restarted => ("clock_restarts", "the count begins anew"),
            Break::SetBack => ("clock_set_back", "the clock is set back"),
            Break::SetAhead => ("clock_set_ahead", "the clock is set ahead"),
        };
        let n = breaks.len() - TOLD.min(breaks.len());
        let more = if i + 1 == TOLD && n > 0 { format!("; {n} more such places follow") } else { String::new() };
        let message = format!(
            "{what} here, from `{}` to `{}`: part {} of {} is read (rows {} to {}, {} of {} rows); in the flight file \
             power_up = N takes another, and power_up = [1, 2] joins several to one log{more}",
            text(at - 1),
            text(*at),
            chosen + 1,
            parts.len(),
            rows.get(part.start).copied().unwrap_or(0),
            part.end.checked_sub(1).and_then(|i| rows.get(i)).copied().unwrap_or(0),
            part.len(),
            rows.len()
        );
        let severity = if wanted.is_some() { Severity::Note } else { Severity::Warning };
        findings.push(Finding::new(severity, code, message).at_row(rows[*at]));
    }
    let row = |i: Option<usize>| i.and_then(|i| rows.get(i)).copied().unwrap_or(0);
    let told = parts.iter().enumerate().filter(|_| parts.len() > 1).map(|(i, part)| Part {
        first_row: row(Some(part.start)),
        last_row: row(part.end.checked_sub(1)),
        rows: part.len(),
        first: text(part.start),
        last: text(part.end.saturating_sub(1)),
        read: i == chosen,
    });
    Ok(Chosen { range: part, parts: told.collect(), findings })
}

/// Carries a count of 32 bits on where it runs over: it falls, and one whole turn of it more makes a small step.
pub(super) fn carry_on(ns: &mut [i64], count_ns: i64, rows: &[u64]) -> Vec<Finding> {
    let Some(turn) = count_ns.checked_mul(1 << 32).filter(|turn| *turn < i64::MAX / 4) else { return Vec::new() };
    let (mut carried, mut last) = (0_i64, None);
    let mut findings = Vec::new();
    for (value, &row) in ns.iter_mut().zip(rows) {
        let now = *value;
        let runs_over = last.is_some_and(|last| {
            now < last && (1..turn / 100).contains(&(now.saturating_add(turn).saturating_sub(last)))
        });
        if runs_over {
            carried = carried.saturating_add(turn);
            let message = "the count of 32 bits runs over here and begins anew: it is carried on";
            findings.push(Finding::new(Severity::Note, "count_runs_over", message).at_row(row));
        }
        // A count that falls without running over has begun anew, from its true zero.
        if last.is_some_and(|last| last > 0 && now < last / 2) && !runs_over {
            carried = 0;
        }
        last = Some(now);
        *value = now.saturating_add(carried).clamp(-i64::MAX / 2, i64::MAX / 2);
    }
    findings
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seconds(s: &[i64]) -> Vec<i64> {
        s.iter().map(|s| s * SECOND).collect()
    }

    #[test]
    fn counts() {
        let restart = seconds(&[10, 20, 30, 40, 50, 0, 10, 20, 30, 40, 50, 60]);
        assert_eq!(breaks(&restart, &[], true), [(5, Break::Restarted)]);
        assert_eq!(breaks(&restart[..8], &[], true), [], "too few rows to be sure");
        assert_eq!(breaks(&restart[..8], &[5], true), [(5, Break::Restarted)], "but under a header they are enough");
        assert_eq!(breaks(&seconds(&[10, 20, 30, 1, 31, 32, 33, 34]), &[], true), [], "a slip");
        assert_eq!(breaks(&seconds(&[100, 101, 102, 90, 91, 92, 93, 94]), &[], true), [], "a step back");
    }

    #[test]
    fn dates() {
        let day = 86_400;
        let set = seconds(&[0, 1, 2, 9000 * day, 9000 * day + 1, 9000 * day + 2]);
        assert_eq!(breaks(&set, &[], false), [(3, Break::SetAhead)]);
        assert_eq!(breaks(&seconds(&[0, 3600, 3 * day, 3 * day + 1]), &[], false), [], "another flight");
        let back = seconds(&[9000, 9001, 0, 1, 2, 3, 4]);
        assert_eq!(breaks(&back, &[], false), [(2, Break::SetBack)]);
        assert_eq!(breaks(&seconds(&[9000, 9030, 8990, 8991, 8992, 8993, 8994]), &[], false), [], "forty seconds");
    }

    #[test]
    fn the_part_with_most_rows_or_the_one_named() {
        let rows: Vec<u64> = (2..10).collect();
        let at = [(3, Break::Restarted)];
        let text = |i: usize| i.to_string();
        assert_eq!(choose(&rows, &at, None, &text).unwrap().range, 3..8);
        assert_eq!(choose(&rows, &at, Some(1), &text).unwrap().range, 0..3);
        assert_eq!(choose(&rows, &at, Some(3), &text).unwrap_err(), 2);
        assert_eq!(choose(&rows, &at, None, &text).unwrap().findings[0].row, Some(5));
    }

    #[test]
    fn a_count_that_runs_over() {
        let ms = 1_000_000;
        for (last, next) in [(4_294_967_290_i64, 4_i64), (2_147_483_640, -2_147_483_646)] {
            let mut ns = [last * ms, next * ms];
            assert_eq!(carry_on(&mut ns, ms, &[2, 3]).len(), 1);
            assert_eq!(ns[1] - ns[0], 10 * ms);
        }
        let mut ns = [4_000_000_000 * ms, 0];
        assert!(carry_on(&mut ns, ms, &[2, 3]).is_empty(), "a restart");
    }
}

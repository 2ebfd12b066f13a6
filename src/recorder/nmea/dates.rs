//! The day of every moment, and what a receiver does before it knows it.
//!
//! Rules. A moment without a date has that of its neighbour before it (the first ones: of the first dated), a day on where
//! the time of day falls by more than half a day. Before the first fix a receiver counts from a default: where its clock
//! jumps (back, or on by more than ten minutes) before or with the first fix, the moments before the last such jump are
//! refused. A later jump of more than a day is named; one backward is refused by the rule of `advance`. Dates that lie 1024
//! weeks from another, or before 2000, are named and never mended.

use super::super::csv::{DAY, RowList, SECOND};
use super::super::series::{stamp, tell};
use crate::finding::{Finding, Severity};
use crate::time::follows_leap_second;

/// A run of sentences with one time.
pub(super) struct Moment {
    pub(super) time: (i64, bool),
    pub(super) day: Option<i64>,
    pub(super) fix: Option<bool>,
}

/// Every moment's place in time.
pub(super) struct Resolved {
    pub(super) ns: Vec<i64>,
    pub(super) barred: Vec<bool>,
    pub(super) dated: bool,
}

/// Days of 1024 weeks, after which the week number of GPS begins anew.
const ROLLOVER: i64 = 7168;
/// 2000-01-01 as a day since 1970-01-01.
const YEAR_2000: i64 = 10_957;

pub(super) fn resolve(moments: &[Moment], rows: &[u64], findings: &mut Vec<Finding>) -> Resolved {
    let dated = moments.iter().any(|m| m.day.is_some());
    let ns = place(moments, rows, dated, findings);
    let mut barred = vec![false; ns.len()];
    let mut leap = RowList::default();
    for (i, _) in moments.iter().enumerate().filter(|(_, m)| m.time.1) {
        if !dated || !follows_leap_second(ns[i] / SECOND) {
            barred[i] = true;
            leap.push(rows[i]);
        }
    }
    findings.extend(tell(&leap, Severity::Warning, "second_60", "a second 60 that was never inserted; refused"));
    let first_fix = moments.iter().position(|m| m.fix == Some(true));
    if first_fix.is_none() {
        let message = "the receiver never had a fix: its clock may be a default, and nothing says where it was";
        findings.push(Finding::new(Severity::Warning, "never_fixed", message));
    }
    let jumps = |i: &usize| ns[*i] < ns[i - 1] || ns[*i] - ns[i - 1] > 600 * SECOND;
    let start = first_fix.and_then(|fix| (1..=fix).rev().find(jumps)).unwrap_or(0);
    if start > 0 {
        let mut list = RowList::default();
        for i in 0..start {
            barred[i] = true;
            list.push(rows[i]);
        }
        let why = format!(
            "before its first fix the receiver's clock jumps in row {} from {} to {}; moments before it have a date that \
             it only assumed: refused",
            rows[start],
            stamp(ns[start - 1], dated),
            stamp(ns[start], dated)
        );
        findings.extend(tell(&list, Severity::Warning, "date_before_fix", &why));
    }
    for i in start + 1..ns.len() {
        if (ns[i] - ns[i - 1]).abs() > DAY {
            let message = format!(
                "the clock jumps from {} to {}: two logs in one file, or a receiver that lost its date",
                stamp(ns[i - 1], dated),
                stamp(ns[i], dated)
            );
            findings.push(Finding::new(Severity::Warning, "clock_jump", message).at_row(rows[i]));
        }
    }
    Resolved { ns, barred, dated }
}

fn place(moments: &[Moment], rows: &[u64], dated: bool, findings: &mut Vec<Finding>) -> Vec<i64> {
    let first = moments.iter().position(|m| m.day.is_some()).unwrap_or(0);
    let falls = |i: usize| moments[i].time.0 < moments[i - 1].time.0 - DAY / 2;
    let start = moments.get(first).and_then(|m| m.day).unwrap_or(0);
    let mut day = start - (1..=first.min(moments.len() - 1)).filter(|&i| falls(i)).count() as i64;
    let mut ns = Vec::with_capacity(moments.len());
    for (i, moment) in moments.iter().enumerate() {
        if i > 0 {
            let midnight = falls(i);
            let next = moment.day.unwrap_or(day + i64::from(midnight));
            if midnight && next == day + 1 {
                let why = if moment.day.is_some() { "the date goes on with it" } else { "taken as midnight" };
                let message = format!("the time of day begins anew: {why}");
                findings.push(Finding::new(Severity::Note, "midnight", message).at_row(rows[i]));
            }
            day = next;
        }
        ns.push(day * DAY + moment.time.0);
    }
    if !dated {
        let message = "no RMC or ZDA sentence states the date: the clock is UTC without a day";
        findings.push(Finding::new(Severity::Warning, "no_date", message));
    }
    ns
}

/// Names dates that look 1024 weeks too old. `first`: the day of the first moment kept.
pub(super) fn rollover(first: i64, moments: &[Moment], findings: &mut Vec<Finding>) {
    let far = moments.iter().filter_map(|m| m.day).find(|day| (day - first).abs() == ROLLOVER);
    let date = |day: i64| stamp(day * DAY, true).split_once('T').map(|(d, _)| d.to_owned()).unwrap_or_default();
    let why = match far {
        Some(other) => format!("{} and {} lie exactly 1024 weeks apart", date(first), date(other)),
        None if first < YEAR_2000 => {
            format!("{} lies before 2000; 1024 weeks later is {}", date(first), date(first + ROLLOVER))
        }
        None => return,
    };
    let message = format!("the receiver's week number may have begun anew: {why}; nothing was mended");
    findings.push(Finding::new(Severity::Warning, "week_rollover", message));
}

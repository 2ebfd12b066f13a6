//! The order of day, month and year in a column of dates: settled by the dates themselves where they can, else open.

use super::super::RecorderError;
use super::stamp::{DAY, DateOrder, SECOND};
use crate::finding::{Finding, Severity};
use std::path::Path;

/// Neighbouring rows with the same date text.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct DateRun {
    /// Index of its first row among the rows taken.
    pub(super) first: usize,
    /// Physical line of that row.
    pub(super) row: u64,
    /// The date as written.
    pub(super) text: Box<str>,
    /// The day since 1970-01-01 under each order of [`DateOrder::ALL`].
    pub(super) days: [Option<i32>; 3],
}

/// How the dates of a column are read.
#[derive(Debug, PartialEq)]
pub(super) struct Dates {
    /// Index of the order in use.
    order: usize,
    /// Whether another order would give other days.
    pub(super) open: bool,
    /// The orders that are possible and differ.
    possible: Vec<usize>,
    /// What to tell about it.
    pub(super) finding: Option<Finding>,
}

impl Dates {
    /// Settles the order: by a field that only fits one, else by a midnight that the log runs through (the day changes
    /// while the time of day wraps, and only one order makes that one step of the clock), else it stays open.
    ///
    /// `ns` holds the time of day of every row.
    pub(super) fn resolve(file: &Path, column: &str, runs: &[DateRun], ns: &[i64]) -> Result<Self, RecorderError> {
        let fits = |order: &usize| runs.iter().all(|run| run.days[*order].is_some());
        let mut possible: Vec<usize> = (0..3).filter(fits).collect();
        // Orders that give the same days are one.
        possible.dedup_by(|b, a| runs.iter().all(|run| run.days[*a] == run.days[*b]));
        let Some(&first) = possible.first() else {
            return Err(RecorderError::DateClash {
                file: file.to_owned(),
                column: column.to_owned(),
                clash: clash(runs),
            });
        };
        if possible.len() == 1 {
            return Ok(Self { order: first, open: false, possible, finding: None });
        }
        let running: Vec<usize> = possible.iter().copied().filter(|&order| runs_through(order, runs, ns)).collect();
        if let ([order], [_, second, ..]) = (&running[..], runs) {
            let message = format!(
                "the log runs through midnight here, which shows that its dates are written {}",
                DateOrder::ALL[*order]
            );
            let finding = Finding::new(Severity::Note, "date_order_by_midnight", message).at_row(second.row);
            return Ok(Self {
                order: *order,
                open: false,
                possible: vec![*order],
                finding: Some(finding.in_column(column)),
            });
        }
        // Open: the shortest log is the likeliest; over one day all orders give the same seconds.
        let order = possible.iter().copied().min_by_key(|&order| span(order, runs)).unwrap_or(first);
        let spans: Vec<i64> = possible.iter().map(|&order| span(order, runs)).collect();
        let ways: Vec<String> = possible
            .iter()
            .filter_map(|&order| Some(format!("{} {}", date_text(runs.first()?.days[order]?), DateOrder::ALL[order])))
            .collect();
        let doubt = if spans.iter().all(|span| *span == spans[0]) {
            "seconds since the first row are the same either way".to_owned()
        } else {
            format!("rows on other days are placed as if it were written {}", DateOrder::ALL[order])
        };
        let text = runs.first().map(|run| &*run.text).unwrap_or_default();
        let message = format!("`{text}` may be {}; {doubt}; name the order to date the log", ways.join(" or "));
        let finding = Finding::new(Severity::Warning, "date_order_open", message).in_column(column);
        let finding = runs.first().map(|run| finding.at_row(run.row));
        Ok(Self { order, open: true, possible, finding })
    }

    /// Turns times of day into nanoseconds since 1970-01-01, by the order in use.
    pub(super) fn apply(&self, runs: &[DateRun], ns: &mut [i64]) {
        for (i, run) in runs.iter().enumerate() {
            let end = runs.get(i + 1).map_or(ns.len(), |next| next.first);
            let day = run.days[self.order].unwrap_or(0);
            ns[run.first..end].iter_mut().for_each(|ns| *ns += i64::from(day) * DAY);
        }
    }

    /// How the first stamp reads day first and month first, where that is open. `ns`: after [`Dates::apply`].
    pub(super) fn readings(&self, runs: &[DateRun], ns: &[i64]) -> Option<(String, String)> {
        if !(self.open && self.possible.starts_with(&[0, 1])) {
            return None;
        }
        let (run, ns) = (runs.first()?, ns.first()?);
        let base = i64::from(run.days[self.order]?) * DAY;
        let read = |order: usize| Some(stamp_text(i64::from(run.days[order]?) * DAY + ns - base));
        Some((read(0)?, read(1)?))
    }
}

/// Whether every change of the date is one usual step of the clock, give or take a minute.
fn runs_through(order: usize, runs: &[DateRun], ns: &[i64]) -> bool {
    runs.windows(2).all(|pair| {
        let (Some(before), Some(after)) = (pair[0].days[order], pair[1].days[order]) else { return false };
        let at = pair[1].first;
        let (Some(last), Some(first)) = (at.checked_sub(1).and_then(|i| ns.get(i)), ns.get(at)) else { return false };
        let step = i64::from(after - before) * DAY + first - last;
        let usual =
            at.checked_sub(2).and_then(|i| ns.get(i)).map_or(0, |earlier| (last - earlier).clamp(0, 600 * SECOND));
        (0..=60 * SECOND + 2 * usual).contains(&step)
    })
}

/// Days from the earliest to the latest date.
fn span(order: usize, runs: &[DateRun]) -> i64 {
    let days = || runs.iter().filter_map(|run| run.days[order]).map(i64::from);
    days().max().unwrap_or(0) - days().min().unwrap_or(0)
}

/// For each order the first date that does not fit it.
fn clash(runs: &[DateRun]) -> String {
    let misfit = |(i, order): (usize, DateOrder)| {
        let run = runs.iter().find(|run| run.days[i].is_none())?;
        Some(format!("row {} `{}` is not written {order}", run.row, run.text))
    };
    DateOrder::ALL.into_iter().take(2).enumerate().filter_map(misfit).collect::<Vec<_>>().join(", ")
}

fn date_text(day: i32) -> String {
    stamp_text(i64::from(day) * DAY)[..10].to_owned()
}

/// `2025-05-04T13:12:02`, with the fraction where there is one.
fn stamp_text(ns: i64) -> String {
    jiff::Timestamp::from_nanosecond(i128::from(ns))
        .map(|instant| instant.to_string().trim_end_matches('Z').to_owned())
        .unwrap_or_else(|_| "----------".to_owned())
}

#[cfg(test)]
mod tests {
    use super::super::stamp::read_date;
    use super::*;

    /// Resolves dates of one row each, at these seconds of the day.
    fn resolve(rows: &[(&str, i64)]) -> Result<(Dates, Vec<DateRun>, Vec<i64>), RecorderError> {
        let mut ns: Vec<i64> = rows.iter().map(|(_, s)| s * SECOND).collect();
        let runs: Vec<DateRun> = rows
            .iter()
            .enumerate()
            .map(|(i, (text, _))| DateRun {
                first: i,
                row: i as u64 + 2,
                text: (*text).into(),
                days: read_date(text.as_bytes()),
            })
            .collect();
        let dates = Dates::resolve(Path::new("x.csv"), "DATE", &runs, &ns)?;
        dates.apply(&runs, &mut ns);
        Ok((dates, runs, ns))
    }

    #[test]
    fn a_field_above_twelve_decides() {
        let (dates, ..) = resolve(&[("4/5/2025", 0), ("13/5/2025", 0)]).unwrap();
        assert_eq!((dates.order, dates.open), (0, false));
        let (dates, ..) = resolve(&[("5/4/2025", 0), ("5/13/2025", 0)]).unwrap();
        assert_eq!((dates.order, dates.open), (1, false));
        assert!(matches!(resolve(&[("4/13/2025", 0), ("13/4/2025", 0)]), Err(RecorderError::DateClash { .. })));
    }

    #[test]
    fn equal_fields_and_leading_years_are_not_open() {
        assert!(!resolve(&[("5/5/2025", 0)]).unwrap().0.open);
        assert!(!resolve(&[("2025-05-04", 0)]).unwrap().0.open);
    }

    #[test]
    fn an_open_date_reads_both_ways() {
        let (dates, runs, ns) = resolve(&[("4/5/2025", 47_522)]).unwrap();
        assert!(dates.open);
        let both = ("2025-05-04T13:12:02".to_owned(), "2025-04-05T13:12:02".to_owned());
        assert_eq!(dates.readings(&runs, &ns), Some(both));
    }

    #[test]
    fn midnight_decides_and_is_one_step() {
        for (after, order) in [("5/5/2025", 0), ("4/6/2025", 1)] {
            let (dates, _, ns) = resolve(&[("4/5/2025", 86_399), (after, 0)]).unwrap();
            assert_eq!((dates.order, dates.open), (order, false), "{after}");
            assert_eq!(ns[1] - ns[0], SECOND, "{after}");
        }
    }

    #[test]
    fn a_gap_of_a_day_does_not_decide() {
        let (dates, _, ns) = resolve(&[("4/5/2025", 36_000), ("5/5/2025", 32_400)]).unwrap();
        assert!(dates.open);
        assert_eq!(ns[1] - ns[0], 23 * 3600 * SECOND, "the shorter of the two");
    }

    #[test]
    fn years_of_two_digits() {
        assert!(resolve(&[("04/05/06", 0)]).unwrap().0.open);
        assert!(resolve(&[("24/05/13", 0)]).unwrap().0.open, "24 May 2013 or 13 May 2024");
        assert!(!resolve(&[("24/05/40", 0)]).unwrap().0.open);
    }
}

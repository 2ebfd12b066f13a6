//! Reads the clock of every row, and settles it when all rows are known.
//!
//! All clocks are counted in whole nanoseconds, so that equal stamps are equal and steps are exact.

use super::super::{Clock, ClockKind, Part, RecorderError};
use super::advance::{Advance, advance};
use super::cells::trim;
use super::clock_columns::ClockColumns;
use super::dates::{DateRun, Dates};
use super::marks::{Marks, value};
use super::options::{ClockOptions, CsvOptions};
use super::parts::{self, Chosen};
use super::record::Record;
use super::sniff::Layout;
use super::stamp::{DAY, DateOrder, SECOND, TimeOfDay, read_date, read_time, split_stamp};
use super::zones;
use crate::finding::{Finding, Severity};
use crate::time::{Count, unix_ns_of_gps};
use std::path::Path;

/// The clock of the rows taken so far.
pub(super) struct ClockReader {
    columns: ClockColumns,
    /// What the header calls them.
    names: Vec<String>,
    /// How the numbers of the time column are written.
    marks: Marks,
    order: Option<DateOrder>,
    utc_by_header: bool,
    /// Whether stamps carry a zone; settled by the first.
    zoned: Option<bool>,
    /// Nanoseconds a row: since its day began where there is a date, else since midnight or power-up.
    ns: Vec<i64>,
    /// The rows' stamps as written, one after the other, and where each ends.
    texts: Vec<u8>,
    ends: Vec<usize>,
    dates: Vec<DateRun>,
    seconds_written: bool,
    /// First date that could not be taken, for the message when none could.
    refused_date: Option<(u64, String)>,
}

/// A settled clock.
pub(super) struct Settled {
    /// How the log's clock is described.
    pub(super) clock: Clock,
    /// The parts without a common clock; none where there is but one.
    pub(super) parts: Vec<Part>,
    /// Seconds since the first kept row, one for each kept row.
    pub(super) times: Vec<f64>,
    /// Which rows were kept; none where all were.
    pub(super) kept: Option<Vec<usize>>,
    /// What was odd.
    pub(super) findings: Vec<Finding>,
}

/// Nanoseconds of 1024 weeks, after which a ten-bit week begins anew.
const ROUND: i64 = 1024 * 7 * DAY;

impl ClockReader {
    pub(super) fn new(columns: ClockColumns, layout: &Layout, order: Option<DateOrder>) -> Self {
        Self {
            utc_by_header: columns.says_utc(&layout.columns),
            marks: match columns {
                ClockColumns::Counter { column, .. }
                | ClockColumns::SheetDays { time: column, .. }
                | ClockColumns::GpsWeek { time: column, .. } => layout.columns[column].marks,
                _ => Marks::default(),
            },
            names: (layout.columns.iter().enumerate())
                .filter(|(i, _)| columns.contains(*i))
                .map(|(_, head)| head.name.clone())
                .collect(),
            columns,
            order,
            zoned: None,
            ns: Vec::new(),
            texts: Vec::new(),
            ends: Vec::new(),
            dates: Vec::new(),
            seconds_written: false,
            refused_date: None,
        }
    }

    /// Takes a row's stamp; false where there is none that can be read.
    pub(super) fn take(&mut self, record: &Record, row: u64) -> bool {
        let cell = |column: usize| record.get(column).map(trim).unwrap_or_default();
        let taken = match self.columns {
            ClockColumns::Stamp(column) => split_stamp(cell(column))
                .and_then(|(date, time, basic)| self.take_dated(date, read_time(time, basic)?, row)),
            ClockColumns::DateAndTime { date, time } => {
                read_time(cell(time), false).and_then(|time| self.take_dated(cell(date), time, row))
            }
            ClockColumns::TimeOfDay(column) => {
                read_time(cell(column), false).filter(|t| t.seconds && !t.leap).map(|t| self.push_time(t))
            }
            ClockColumns::Counter { column, count } => counted(cell(column), count.step_ns(), self.marks)
                .and_then(|ns| count.clock_ns(ns))
                .map(|ns| self.push_count(ns)),
            ClockColumns::SheetDays { date, time, count } => {
                let day = value(cell(date), self.marks).filter(|d| d.fract() == 0.0 && (1.0..1e5).contains(d));
                let part = counted(cell(time), DAY, self.marks).filter(|ns| (0..DAY).contains(ns));
                day.zip(part)
                    .and_then(|(day, part)| count.clock_ns(day as i64 * DAY + part))
                    .map(|ns| self.push_count(ns))
            }
            ClockColumns::GpsWeek { week, time, count_ns } => {
                let week = value(cell(week), Marks::Point).filter(|w| w.fract() == 0.0 && (0.0..10_000.0).contains(w));
                let time = counted(cell(time), count_ns, self.marks).filter(|ns| (0..=7 * DAY).contains(ns));
                week.zip(time).map(|(week, ns)| self.push_count(week as i64 * 7 * DAY + ns))
            }
        };
        if taken.is_none() {
            return false;
        }
        match self.columns {
            ClockColumns::DateAndTime { date: first, time }
            | ClockColumns::SheetDays { date: first, time, .. }
            | ClockColumns::GpsWeek { week: first, time, .. } => {
                self.texts.extend_from_slice(cell(first));
                self.texts.push(b' ');
                self.texts.extend_from_slice(cell(time));
            }
            ClockColumns::Stamp(c) | ClockColumns::TimeOfDay(c) | ClockColumns::Counter { column: c, .. } => {
                self.texts.extend_from_slice(cell(c));
            }
        }
        self.ends.push(self.texts.len());
        true
    }

    fn take_dated(&mut self, date: &[u8], time: TimeOfDay, row: u64) -> Option<()> {
        if self.zoned.is_some_and(|zoned| zoned != time.zone.is_some()) {
            return None;
        }
        let same = self.dates.last().is_some_and(|run| run.text.as_bytes() == date);
        let days = if same { self.dates.last()?.days } else { self.days(date, row)? };
        // A leap second is real on one day of the calendar only, so its date must not be open.
        if time.leap && !(days[0] == days[1] && days[0].is_some_and(|day| time.on(day).is_some())) {
            return None;
        }
        if !same {
            let text = String::from_utf8_lossy(date).into();
            self.dates.push(DateRun { first: self.ns.len(), row, text, days });
        }
        self.zoned = Some(time.zone.is_some());
        self.push_time(time);
        Some(())
    }

    /// The day under each order; none where no order, or not the one that the owner named, gives a day.
    fn days(&mut self, date: &[u8], row: u64) -> Option<[Option<i32>; 3]> {
        let mut days = read_date(date);
        for (day, order) in days.iter_mut().zip(DateOrder::ALL) {
            // A date that begins with its year means the same whatever order the owner named.
            let named = self.order.is_none_or(|named| named == order);
            *day = day.filter(|_| named || year_leads(date));
        }
        if days.iter().all(Option::is_none) {
            self.refused_date.get_or_insert_with(|| (row, String::from_utf8_lossy(date).into_owned()));
            return None;
        }
        Some(days)
    }

    fn push_count(&mut self, ns: i64) {
        self.seconds_written = true;
        self.ns.push(ns);
    }

    fn push_time(&mut self, time: TimeOfDay) {
        self.seconds_written |= time.seconds;
        self.ns.push(time.ns - time.zone.unwrap_or(0));
    }

    /// Rows taken.
    pub(super) fn len(&self) -> usize {
        self.ns.len()
    }

    /// Orders the dates, finds the instants, chooses the part of the log that has one clock, drops rows that do not advance
    /// it, and counts seconds from the first row.
    ///
    /// `rows` holds the physical line of every row taken, `headed` the indices of rows right under a header written again.
    pub(super) fn settle(
        mut self,
        file: &Path,
        layout: &Layout,
        rows: &[u64],
        headed: &[usize],
        options: &CsvOptions,
    ) -> Result<Settled, RecorderError> {
        let mut findings = Vec::new();
        let mut readings = None;
        let mut certain = true;
        let mut dated = false;
        match self.columns {
            ClockColumns::Stamp(column) | ClockColumns::DateAndTime { date: column, .. } => {
                let dates = Dates::resolve(file, &layout.columns[column].name, &self.dates, &self.ns)?;
                dates.apply(&self.dates, &mut self.ns);
                dated = true;
                certain = !dates.open;
                readings = dates.readings(&self.dates, &self.ns);
                findings.extend(dates.finding);
            }
            ClockColumns::TimeOfDay(_) => findings.extend(unwrap_midnights(&mut self.ns, rows)),
            ClockColumns::Counter { count, column } => {
                findings.extend(self.about_the_count(count, &layout.columns[column].name, rows, options));
                dated = matches!(count, Count::Sheet1900 | Count::Sheet1904);
                if let Count::PowerUp(count_ns) = count {
                    findings.extend(parts::carry_on(&mut self.ns, count_ns, rows));
                }
            }
            ClockColumns::SheetDays { date, count, .. } => {
                findings.extend(self.about_the_count(count, &layout.columns[date].name, rows, options));
                dated = true;
            }
            ClockColumns::GpsWeek { .. } => {
                findings.extend(self.carry_rounds(rows));
                let (finding, known) = self.carry_weeks(rows, options.clock.gps_rollovers);
                findings.extend(finding);
                certain = known;
            }
        }
        findings.extend(self.unused(options));
        let mut live: Vec<usize> = (0..self.ns.len()).collect();
        let (kind, is_utc) = self.kind(dated);
        if let (Some(zone), false, true, true) = (&options.zone, is_utc, dated, certain) {
            let instants = zones::instants(&self.ns, rows, zone, &|i| self.text(i));
            certain = instants.certain;
            findings.extend(instants.findings);
            (self.ns, live) = (instants.ns, instants.live);
            if live.is_empty() {
                let (row, found) = (rows.first().copied().unwrap_or(0), self.text(0));
                return Err(RecorderError::LocalTimeNever { file: file.to_owned(), row, found });
            }
        }
        if options.zone.is_some() && (is_utc || !dated) {
            let why = if is_utc { "the stamps themselves are UTC or state their zone" } else { "the log has no dates" };
            let message = format!("the time zone that was stated is not used: {why}");
            findings.push(Finding::new(Severity::Note, "zone_unused", message));
        }
        let is_count = kind == ClockKind::Counter;
        let of_live = |of: &[i64]| live.iter().map(|&i| of[i]).collect::<Vec<_>>();
        let live_ns = of_live(&self.ns);
        let live_rows: Vec<u64> = live.iter().map(|&i| rows[i]).collect();
        let headed: Vec<usize> = headed.iter().map(|&i| live.partition_point(|&l| l < i)).collect();
        let text = |i: usize| self.text(live[i]);
        let breaks = parts::breaks(&live_ns, &headed, is_count);
        let Chosen { range: part, parts, findings: broken } =
            parts::choose(&live_rows, &breaks, options.clock.power_up, &text)
                .map_err(|parts| RecorderError::PowerUp { file: file.to_owned(), parts })?;
        findings.extend(broken);
        let in_part = |i: usize| text(part.start + i);
        let Advance { kept, findings: stuck } = advance(&live_ns[part.clone()], &live_rows[part.clone()], &in_part);
        findings.extend(stuck);
        let kept: Vec<usize> = kept.into_iter().map(|i| live[part.start + i]).collect();
        let all = kept.len() == self.ns.len();
        let (first, last) = (kept.first().copied().unwrap_or(0), kept.last().copied().unwrap_or(0));
        let start = self.ns[first];
        let times = kept.iter().map(|&i| (self.ns[i] - start) as f64 / SECOND as f64).collect();
        let known = certain && (is_utc || (dated && options.zone.is_some()));
        let unix = if kind == ClockKind::Gps { unix_ns_of_gps(start) } else { start };
        let first_utc = known.then(|| jiff::Timestamp::from_nanosecond(i128::from(unix)).ok()).flatten();
        let clock = Clock {
            kind,
            columns: self.names.clone(),
            first: self.text(first),
            last: self.text(last),
            first_utc,
            resolution_s: self.resolution(&kept),
            date_readings: readings,
        };
        Ok(Settled { clock, times, parts, kept: (!all).then_some(kept), findings })
    }

    /// What the owner states about a clock of another kind than this log has.
    fn unused(&self, options: &CsvOptions) -> Option<Finding> {
        let ClockOptions { date_column, week_column, counts, gps_rollovers, .. } = &options.clock;
        let is = |fits: bool, key, stated: bool| (stated && !fits).then_some(key);
        let weeks = matches!(self.columns, ClockColumns::GpsWeek { .. });
        let two = matches!(self.columns, ClockColumns::DateAndTime { .. });
        let sheet = matches!(self.columns, ClockColumns::SheetDays { .. });
        let keys: Vec<&str> = [
            is(two || matches!(self.columns, ClockColumns::Stamp(_)), "date_order", options.date_order.is_some()),
            is(two || sheet, "date_column", date_column.is_some()),
            is(weeks, "week_column", week_column.is_some()),
            is(weeks, "gps_rollovers", gps_rollovers.is_some()),
            is(sheet || weeks || matches!(self.columns, ClockColumns::Counter { .. }), "counts", counts.is_some()),
        ]
        .into_iter()
        .flatten()
        .collect();
        let kind = match self.columns {
            ClockColumns::Stamp(_) => "stamps with date and time",
            ClockColumns::DateAndTime { .. } => "date and time in two columns",
            ClockColumns::TimeOfDay(_) => "times of day",
            ClockColumns::Counter { .. } => "a count",
            ClockColumns::SheetDays { .. } => "a spreadsheet's days and parts of a day",
            ClockColumns::GpsWeek { .. } => "GPS weeks and times of week",
        };
        let message = format!("{} has no effect here: the log's clock is {kind}; take it out", keys.join(", "));
        (!keys.is_empty()).then(|| Finding::new(Severity::Warning, "statement_unused", message))
    }

    /// What the clock counts, and whether that makes its times instants.
    fn kind(&self, dated: bool) -> (ClockKind, bool) {
        match self.columns {
            ClockColumns::Counter { count: Count::PowerUp(_), .. } => (ClockKind::Counter, false),
            ClockColumns::Counter { count: Count::Unix(_), .. } => (ClockKind::Utc, true),
            ClockColumns::Counter { count: Count::Gps(_), .. } | ClockColumns::GpsWeek { .. } => (ClockKind::Gps, true),
            _ if self.zoned == Some(true) || (dated && self.utc_by_header) => (ClockKind::Utc, true),
            _ => (ClockKind::Local, false),
        }
    }

    /// How a count was understood that no name or unit explains.
    fn about_the_count(&self, count: Count, column: &str, rows: &[u64], options: &CsvOptions) -> Option<Finding> {
        if options.clock.counts.is_some() {
            return None;
        }
        let first = self.ns.first().copied()?;
        let instant =
            |ns: i64| jiff::Timestamp::from_nanosecond(i128::from(ns)).map(|t| t.to_string()).unwrap_or_default();
        let (severity, code, message) = match count {
            Count::Unix(_) | Count::Gps(_) => {
                let since = if matches!(count, Count::Gps(_)) { "the epoch of GPS" } else { "1970" };
                let first = instant(count.unix_ns(first)?);
                let message = format!("`{}` counts from {since}, which makes it {first}", self.text(0));
                (Severity::Note, "count_since_epoch", message)
            }
            Count::Sheet1900 => {
                let [older, newer] = [first, first + 1462 * DAY].map(|ns| instant(ns).replace('Z', ""));
                let message = format!(
                    "`{}` is taken as a spreadsheet's day, {older} if that counts from 1900; from 1904 it would be {newer}: \
                     counts = \"days since 1904\" in the flight file",
                    self.text(0)
                );
                (Severity::Warning, "spreadsheet_days", message)
            }
            _ => return None,
        };
        Some(Finding::new(severity, code, message).in_column(column).at_row(rows.first().copied()?))
    }

    /// Weeks of ten bits that begin anew within the log are carried on.
    fn carry_rounds(&mut self, rows: &[u64]) -> Vec<Finding> {
        let (mut carried, mut last) = (0, None);
        let mut findings = Vec::new();
        for (ns, &row) in self.ns.iter_mut().zip(rows) {
            // The last week of a round, then its first: a fall of all the weeks but one or two.
            if last.is_some_and(|last| (ROUND - 14 * DAY..ROUND).contains(&(last - *ns))) {
                carried += ROUND;
                let message = "the ten-bit GPS week begins anew here: it is carried on";
                findings.push(Finding::new(Severity::Note, "gps_week_runs_over", message).at_row(row));
            }
            last = Some(*ns);
            *ns += carried;
        }
        findings
    }

    /// Weeks of ten bits begin anew after 1024: which of the rounds it is, only the owner may know. Whether it is known.
    fn carry_weeks(&mut self, rows: &[u64], rollovers: Option<u8>) -> (Option<Finding>, bool) {
        // Or a few days more, where the log itself runs over.
        let short = self.ns.first().is_none_or(|ns| *ns < ROUND);
        if !short {
            return (None, true);
        }
        if let Some(n) = rollovers {
            self.ns.iter_mut().for_each(|ns| *ns += i64::from(n.min(9)) * ROUND);
            return (None, true);
        }
        let (Some(&first), Some(&row)) = (self.ns.first(), rows.first()) else { return (None, true) };
        let years = [1, 2].map(|n| {
            let unix = unix_ns_of_gps(first + n * ROUND);
            jiff::Timestamp::from_nanosecond(i128::from(unix)).map(|t| t.to_string()).unwrap_or_default()
        });
        let message = format!(
            "a week below 1024 has ten bits, which begin anew every 1024 weeks: `{}` may be {} or {}; gps_rollovers = 1 or 2 \
             in the flight file dates the log",
            self.text(0),
            years[0],
            years[1]
        );
        (Some(Finding::new(Severity::Warning, "gps_week_open", message).at_row(row)), false)
    }

    /// The error when no row could be taken because of its date.
    pub(super) fn date_error(&self, file: &Path, layout: &Layout) -> Option<RecorderError> {
        let (row, found) = self.refused_date.clone()?;
        let (ClockColumns::Stamp(column) | ClockColumns::DateAndTime { date: column, .. }) = self.columns else {
            return None;
        };
        let column = layout.columns[column].name.clone();
        Some(RecorderError::DateOrder { file: file.to_owned(), row, column, found, order: self.order? })
    }

    fn text(&self, i: usize) -> String {
        let start = i.checked_sub(1).and_then(|i| self.ends.get(i)).copied().unwrap_or(0);
        let end = self.ends.get(i).copied().unwrap_or(start);
        String::from_utf8_lossy(&self.texts[start..end]).into_owned()
    }

    /// Seconds of the last decimal place that ever differs from zero, at most one second; a minute where no seconds are
    /// written. Zeros that never change are no sign of a finer clock.
    fn resolution(&self, kept: &[usize]) -> f64 {
        if !self.seconds_written {
            return 60.0;
        }
        let mut step = SECOND;
        for &i in kept {
            while self.ns[i] % step != 0 {
                step /= 10;
            }
        }
        // Dividing by the whole number of steps a second gives the nearest number to 0.1, 0.01 and so on.
        1.0 / (SECOND / step) as f64
    }
}

/// Whether a date begins with a year of four digits.
fn year_leads(date: &[u8]) -> bool {
    date.len() > 4 && date[..4].iter().all(u8::is_ascii_digit)
}

/// A count in nanoseconds: exact for plain decimals, rounded for numbers with an exponent or groups of thousands.
fn counted(cell: &[u8], count_ns: i64, marks: Marks) -> Option<i64> {
    let point = if marks == Marks::Comma { b',' } else { b'.' };
    let (negative, figures) = cell.strip_prefix(b"-").map_or((false, cell), |rest| (true, rest));
    let mut halves = figures.splitn(2, |b| *b == point);
    let (whole, part) = (halves.next()?, halves.next().unwrap_or_default());
    let plain = |text: &[u8]| text.iter().all(u8::is_ascii_digit);
    let ns = if !figures.is_empty() && whole.len() + part.len() <= 26 && plain(whole) && plain(part) {
        if whole.is_empty() && part.is_empty() {
            return None;
        }
        let figures = || whole.iter().chain(part).map(|b| b - b'0');
        // Nearly every count fits a word.
        let short = (whole.len() + part.len() <= 18).then(|| figures().fold(0, |n: i64, f| n * 10 + i64::from(f)));
        let scaled = match short.and_then(|mantissa| mantissa.checked_mul(count_ns)) {
            Some(scaled) => scaled / 10_i64.pow(part.len() as u32),
            None => {
                let mantissa = figures().fold(0, |n: i128, f| n * 10 + i128::from(f));
                let scaled = mantissa.checked_mul(i128::from(count_ns))? / 10_i128.pow(part.len() as u32);
                i64::try_from(scaled).ok()?
            }
        };
        if negative { -scaled } else { scaled }
    } else {
        let ns = (value(cell, marks)? * count_ns as f64).round();
        (ns.abs() < 9e18).then_some(ns as i64)?
    };
    // Half the range, so that the difference of any two counts fits.
    (ns.abs() < i64::MAX / 2).then_some(ns)
}

/// A time of day that falls by more than half a day has passed midnight (common practice, no source).
fn unwrap_midnights(ns: &mut [i64], rows: &[u64]) -> Vec<Finding> {
    let mut findings = Vec::new();
    let (mut days, mut before) = (0, None);
    for (value, &row) in ns.iter_mut().zip(rows) {
        if before.is_some_and(|before| *value < before - DAY / 2) {
            days = i64::saturating_add(days, DAY);
            let message = "the time of day begins anew here, and the log has no dates: taken as midnight";
            findings.push(Finding::new(Severity::Note, "midnight", message).at_row(row));
        }
        before = Some(*value);
        *value = value.saturating_add(days);
    }
    findings
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_exact() {
        assert_eq!(counted(b"0.1", SECOND, Marks::Point), Some(100_000_000));
        assert_eq!(counted(b"123456.7", 1_000_000, Marks::Point), Some(123_456_700_000));
        assert_eq!(counted(b"-2", SECOND, Marks::Point), Some(-2 * SECOND));
        assert_eq!(counted(b"0,25", SECOND, Marks::Comma), Some(SECOND / 4));
        assert_eq!(counted(b"1781512200123456789", 1, Marks::Point), Some(1_781_512_200_123_456_789));
        assert_eq!(counted(b"1.5e3", SECOND, Marks::Point), Some(1500 * SECOND));
        for text in ["", "-", ".", "x", "1,5", "99999999999999999999", "nan"] {
            assert_eq!(counted(text.as_bytes(), SECOND, Marks::Point), None, "{text}");
        }
    }

    #[test]
    fn midnight_without_dates() {
        let mut ns = [DAY - 2 * SECOND, DAY - SECOND, 0, SECOND];
        let found = unwrap_midnights(&mut ns, &[2, 3, 4, 5]);
        assert_eq!(ns, [DAY - 2 * SECOND, DAY - SECOND, DAY, DAY + SECOND]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].row, Some(4));
    }
}

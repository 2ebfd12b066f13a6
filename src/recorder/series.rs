//! Moments with values: what formats that are not tables have in common.
//!
//! A *moment* is one stamp of the log; records of several kinds may belong to it. Moments that do not advance the clock are
//! refused by the rule of tables (`csv::advance`), with every record that belongs to them.

use super::csv::{Advance, DAY, RowList, SECOND, advance};
use super::{Clock, ClockKind, Format, RecorderError, Recording, date_findings, usual_step};
use crate::finding::{Finding, Severity};
use crate::signal::{Channel, Kind, Samples, StateRules};
use std::path::Path;

/// A channel's fixed side: name, unit and how it behaves between records.
pub(super) type Head = (&'static str, Option<&'static str>, Kind);

/// A channel in the making: its values with the index of their moments.
struct Column {
    name: String,
    unit: Option<&'static str>,
    kind: Kind,
    values: Vec<(usize, f64)>,
}

/// Moments in the order of the file.
#[derive(Default)]
pub(super) struct Series {
    /// Nanoseconds, since 1970 where the log has a date.
    pub(super) ns: Vec<i64>,
    /// Physical line of each moment's first record.
    pub(super) rows: Vec<u64>,
    /// How many records belong to each.
    pub(super) records: Vec<usize>,
    columns: Vec<Column>,
}

/// What became of the moments.
pub(super) struct Settled {
    /// Records in moments that were kept, and in moments that were not.
    pub(super) read: usize,
    pub(super) refused: usize,
    /// First and last moment kept.
    pub(super) first_ns: i64,
    pub(super) last_ns: i64,
    /// Seconds of the clock's last digit that ever changes.
    pub(super) resolution_s: f64,
    pub(super) channels: Vec<Channel>,
    pub(super) findings: Vec<Finding>,
    /// First line and seconds of each moment kept.
    rows: Vec<u64>,
    seconds: Vec<f64>,
}

impl Series {
    /// Begins a moment; its records are counted by [`Series::count`].
    pub(super) fn begin(&mut self, ns: i64, row: u64) {
        self.ns.push(ns);
        self.rows.push(row);
        self.records.push(0);
    }

    /// One more record belongs to the last moment.
    pub(super) fn count(&mut self) {
        if let Some(records) = self.records.last_mut() {
            *records += 1;
        }
    }

    /// A value of the last moment; the first one counts where several records state it.
    pub(super) fn put(&mut self, (name, unit, kind): (&str, Option<&'static str>, Kind), value: Option<f64>) {
        let (Some(moment), Some(value)) = (self.ns.len().checked_sub(1), value) else { return };
        let at = self.columns.iter().position(|c| c.name == name).unwrap_or_else(|| {
            self.columns.push(Column { name: name.to_owned(), unit, kind, values: Vec::new() });
            self.columns.len() - 1
        });
        let values = &mut self.columns[at].values;
        if values.last().is_none_or(|(last, _)| *last != moment) {
            values.push((moment, value));
        }
    }

    /// Leaves a channel out.
    pub(super) fn drop_column(&mut self, name: &str) {
        self.columns.retain(|c| c.name != name);
    }

    /// The values of a channel.
    pub(super) fn values(&self, name: &str) -> impl Iterator<Item = f64> {
        self.columns.iter().filter(move |c| c.name == name).flat_map(|c| c.values.iter().map(|(_, value)| *value))
    }

    /// Refuses what does not advance the clock, and counts seconds from `start` or from the first moment kept.
    /// `barred`: moments that are refused for another reason, which the caller reports.
    pub(super) fn settle(self, start: Option<i64>, barred: &[bool]) -> Settled {
        let open: Vec<usize> = (0..self.ns.len()).filter(|&i| !barred.get(i).copied().unwrap_or(false)).collect();
        let ns: Vec<i64> = open.iter().map(|&i| self.ns[i]).collect();
        let rows: Vec<u64> = open.iter().map(|&i| self.rows[i]).collect();
        let Advance { kept, findings } = advance(&ns, &rows, &|i| stamp(ns[i], ns[i].abs() >= 365 * DAY));
        let kept: Vec<usize> = kept.iter().map(|&i| open[i]).collect();
        let first_ns = kept.first().map_or(0, |&i| self.ns[i]);
        let last_ns = kept.last().map_or(0, |&i| self.ns[i]);
        let zero = start.unwrap_or(first_ns);
        let mut place = vec![None; self.ns.len()];
        kept.iter().enumerate().for_each(|(k, &i)| place[i] = Some(k));
        let seconds: Vec<f64> = kept.iter().map(|&i| (self.ns[i] - zero) as f64 / SECOND as f64).collect();
        let usual = usual_step(&seconds).unwrap_or(1.0);
        let mut step = SECOND;
        for &i in &kept {
            while self.ns[i] % step != 0 {
                step /= 10;
            }
        }
        let read = kept.iter().map(|&i| self.records[i]).sum();
        let channels = self.columns.into_iter().map(|column| {
            let (times, values): (Vec<f64>, Vec<f64>) =
                column.values.iter().filter_map(|&(i, value)| Some((seconds[place[i]?], value))).unzip();
            let rules = StateRules::for_interval(usual_step(&times).unwrap_or(usual));
            let missing = kept.len() - times.len();
            Channel {
                origin: crate::signal::Origin::Recorded,
                name: column.name,
                unit: column.unit.map(str::to_owned),
                kind: column.kind,
                times: times.into(),
                samples: Samples::Numbers(values),
                missing,
                breaks: Vec::new(),
                rules,
            }
        });
        Settled {
            read,
            channels: channels.collect(),
            refused: self.records.iter().sum::<usize>() - read,
            first_ns,
            last_ns,
            resolution_s: 1.0 / (SECOND / step) as f64,
            findings,
            rows: kept.iter().map(|&i| self.rows[i]).collect(),
            seconds,
        }
    }
}

/// Tells which date a log has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dated {
    /// Date and time of UTC.
    Utc,
    /// Times of day of UTC without a date.
    TimeOfDay,
    /// Date and time of a zone that the log does not name.
    Local,
}

/// What the file held besides moments.
pub(super) struct Rest {
    pub(super) refused: usize,
    pub(super) skipped: usize,
    pub(super) findings: Vec<Finding>,
}

/// Puts a recording together.
pub(super) fn recording(
    path: &Path,
    format: Format,
    dated: Dated,
    zone: Option<&jiff::tz::TimeZone>,
    settled: Settled,
    rest: Rest,
) -> Result<Recording, RecorderError> {
    let mut findings = rest.findings;
    findings.extend(settled.findings);
    if zone.is_some() && dated != Dated::Local {
        let message = "the time zone that was stated is not used: the log counts UTC".to_owned();
        findings.push(Finding::new(Severity::Note, "zone_unused", message));
    }
    let first = jiff::Timestamp::from_nanosecond(i128::from(settled.first_ns)).ok();
    let first_utc = match dated {
        Dated::Utc => first,
        Dated::TimeOfDay => None,
        Dated::Local => first.zip(zone).and_then(|(first, zone)| {
            let local = jiff::tz::Offset::UTC.to_datetime(first);
            let instant = zone.to_ambiguous_timestamp(local).unambiguous().ok();
            if instant.is_none() {
                let message = format!("{local} comes twice or never in the zone that was stated: no instant is known");
                findings.push(Finding::new(Severity::Warning, "local_time_open", message));
            }
            instant
        }),
    };
    let text = |ns| {
        let zulu = if dated == Dated::Local { "" } else { "Z" };
        format!("{}{zulu}", stamp(ns, dated != Dated::TimeOfDay))
    };
    findings.sort_by_key(|finding| finding.row);
    date_findings(&mut findings, &settled.rows, &settled.seconds);
    Ok(Recording {
        file: path.to_owned(),
        format,
        rows_read: settled.read,
        rows_refused: settled.refused + rest.refused,
        rows_left_out: rest.skipped,
        clock: Clock {
            kind: if dated == Dated::Local { ClockKind::Local } else { ClockKind::Utc },
            first: text(settled.first_ns),
            last: text(settled.last_ns),
            first_utc,
            resolution_s: settled.resolution_s,
            date_readings: None,
            columns: Vec::new(),
        },
        parts: Vec::new(),
        channels: settled.channels,
        findings,
    })
}

/// A moment as text.
pub(super) fn stamp(ns: i64, dated: bool) -> String {
    match jiff::Timestamp::from_nanosecond(i128::from(ns)) {
        Ok(moment) if dated => moment.to_string().trim_end_matches('Z').to_owned(),
        Ok(moment) => moment.to_string().split_once('T').map_or("", |(_, time)| time).trim_end_matches('Z').to_owned(),
        Err(_) => format!("{ns} ns"),
    }
}

/// Rows of one kind as a finding; none where there are none.
pub(super) fn tell(rows: &RowList, severity: Severity, code: &'static str, why: &str) -> Option<Finding> {
    rows.first().map(|row| Finding::new(severity, code, format!("{rows}: {why}")).at_row(row))
}

/// The physical lines of a file with their numbers from 1; LF, CR LF and CR end a line. Blanks at their ends may be fields.
pub(super) fn lines(bytes: &[u8]) -> impl Iterator<Item = (u64, &[u8])> {
    let end = if bytes.contains(&b'\n') { b'\n' } else { b'\r' };
    (1..).zip(bytes.split(move |b| *b == end).map(|line| line.strip_suffix(b"\r").unwrap_or(line)))
}

/// Days since 1970-01-01; none outside the years that nanoseconds since then can count.
pub(super) fn day_number(year: i16, month: i8, day: i8) -> Option<i64> {
    (1700..2200).contains(&year).then_some(())?;
    let date = jiff::civil::Date::new(year, month, day).ok()?;
    Some(date.duration_since(jiff::civil::date(1970, 1, 1)).as_hours() / 24)
}

/// Two-digit years: 80 to 99 are of the 20th century, the others of the 21st (common practice, no source).
pub(super) fn short_date(ddmmyy: &[u8]) -> Option<i64> {
    let two = |at: usize| two_digits(ddmmyy.get(at..at + 2)?);
    let (day, month, year) = (two(0)?, two(2)?, i16::from(two(4)?));
    (ddmmyy.len() == 6).then_some(())?;
    day_number(if year < 80 { 2000 + year } else { 1900 + year }, month, day)
}

/// A number of two digits.
pub(super) fn two_digits(text: &[u8]) -> Option<i8> {
    match text {
        [a @ b'0'..=b'9', b @ b'0'..=b'9'] => i8::try_from((a - b'0') * 10 + (b - b'0')).ok(),
        _ => None,
    }
}

/// `hhmmss` with an optional fraction: nanoseconds since midnight, and whether the second is a leap second's 60.
pub(super) fn clock_time(text: &[u8]) -> Option<(i64, bool)> {
    let (whole, part) = text.split_at_checked(6)?;
    let two = |at: usize| two_digits(&whole[at..at + 2]).map(i64::from);
    let (hour, minute, second) = (two(0)?, two(2)?, two(4)?);
    let figures = match part {
        [] => part,
        [b'.', figures @ ..] if figures.iter().all(u8::is_ascii_digit) => figures,
        _ => return None,
    };
    let fraction = (0..9).fold(0, |ns, i| ns * 10 + figures.get(i).map_or(0, |b| i64::from(b - b'0')));
    let leap = (hour, minute, second, fraction) == (23, 59, 60, 0);
    (hour < 24 && minute < 60 && (second < 60 || leap))
        .then_some((((hour * 60 + minute) * 60 + second) * SECOND + fraction, leap))
}

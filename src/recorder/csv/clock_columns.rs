//! Which columns are the clock.

use super::cells::{is_missing, number, trim, words};
use super::sniff::{Head, Layout};
use super::stamp::{SECOND, is_date, is_stamp, read_date, read_time, split_stamp};
use crate::units::{Dimension, Unit};

/// The columns that the clock is read from.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum ClockColumns {
    /// Date and time in one cell.
    Stamp(usize),
    /// Date and time of day in two columns.
    DateAndTime { date: usize, time: usize },
    /// A time of day without a date.
    TimeOfDay(usize),
    /// A counter, with the nanoseconds of one count.
    Counter { column: usize, count_ns: i64 },
}

/// Why there is no clock.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum NoClock {
    /// No column holds times.
    NoColumn,
    /// A column counts, in a unit that is not stated.
    NoUnit(usize),
}

impl ClockColumns {
    /// The clock that dates its rows best: stamps with a zone, stamps, date and time, a counter, a time of day alone.
    /// Among equals one that names UTC, then the first.
    pub(super) fn find(layout: &Layout) -> Result<Self, NoClock> {
        let all = 0..layout.columns.len();
        let first = |test: &dyn Fn(&[u8]) -> bool| {
            let holding: Vec<usize> = all.clone().filter(|&i| mostly(layout, i, test)).collect();
            holding.iter().copied().find(|&i| names_utc(&layout.columns[i])).or(holding.first().copied())
        };
        if let Some(column) = first(&is_zoned_stamp).or_else(|| first(&is_stamp)) {
            return Ok(Self::Stamp(column));
        }
        let time = first(&|cell| read_time(cell, false).is_some());
        let dated = first(&is_date).or_else(|| {
            // Eight digits may be any number: the name must say that they are a date.
            let named = |i: &usize| words(&layout.columns[*i].name).iter().any(|w| w == "date");
            all.clone().filter(named).find(|&i| mostly(layout, i, &|cell| read_date(cell)[0].is_some()))
        });
        if let (Some(date), Some(time)) = (dated, time) {
            return Ok(Self::DateAndTime { date, time });
        }
        if let Some(column) = all.clone().find(|&i| is_counter(layout, i)) {
            let head = &layout.columns[column];
            return match head.unit.or_else(|| unit_in_name(&head.name)) {
                Some(unit) => Ok(Self::Counter { column, count_ns: nanoseconds(unit) }),
                None => Err(NoClock::NoUnit(column)),
            };
        }
        // Without a date 05:30 may as well be minutes and seconds.
        let alone = first(&|cell| read_time(cell, false).is_some_and(|time| time.seconds));
        alone.map(Self::TimeOfDay).ok_or(NoClock::NoColumn)
    }

    /// Whether a column belongs to the clock.
    pub(super) fn contains(&self, column: usize) -> bool {
        match *self {
            Self::Stamp(c) | Self::TimeOfDay(c) | Self::Counter { column: c, .. } => c == column,
            Self::DateAndTime { date, time } => date == column || time == column,
        }
    }

    /// Whether the header says that the clock shows UTC.
    pub(super) fn says_utc(&self, columns: &[Head]) -> bool {
        match *self {
            Self::Stamp(column) | Self::TimeOfDay(column) => names_utc(&columns[column]),
            Self::DateAndTime { time, .. } => names_utc(&columns[time]),
            Self::Counter { .. } => false,
        }
    }
}

fn names_utc(head: &Head) -> bool {
    let utc = |text: &str| words(text).iter().any(|w| matches!(w.as_str(), "utc" | "gmt" | "zulu"));
    utc(&head.name) || head.unit_text.as_deref().is_some_and(utc)
}

/// Whether most cells that hold something in the sample pass a test.
fn mostly(layout: &Layout, column: usize, test: &dyn Fn(&[u8]) -> bool) -> bool {
    let cells = layout.sample.iter().filter_map(|r| r.get(column)).map(trim).filter(|cell| !is_missing(cell));
    let (passed, all) = cells.fold((0, 0), |(passed, all), cell| (passed + usize::from(test(cell)), all + 1));
    passed * 2 > all
}

fn is_zoned_stamp(cell: &[u8]) -> bool {
    is_stamp(cell)
        && split_stamp(cell).and_then(|(_, time, basic)| read_time(time, basic)).is_some_and(|time| time.zone.is_some())
}

/// Rule (common practice, no source): every word of the name is about time, its unit is none or one of time, and the
/// numbers of the sample rise more often than they fall.
fn is_counter(layout: &Layout, column: usize) -> bool {
    const KEY: &[&str] = &[
        "time",
        "t",
        "timestamp",
        "uptime",
        "elapsed",
        "clock",
        "runtime",
        "s",
        "sec",
        "secs",
        "seconds",
        "ms",
        "msec",
        "millis",
        "milliseconds",
        "us",
        "usec",
        "micros",
        "microseconds",
    ];
    const OTHER: &[&str] =
        &["since", "from", "power", "on", "up", "start", "boot", "log", "logger", "system", "sys", "run"];
    let head = &layout.columns[column];
    let words = words(&head.name);
    let (key, other) = (|w: &String| KEY.contains(&w.as_str()), |w: &String| OTHER.contains(&w.as_str()));
    if !words.iter().any(key) || !words.iter().all(|w| key(w) || other(w)) {
        return false;
    }
    if head.unit.is_some_and(|unit| unit.dimension != Dimension::Time) {
        return false;
    }
    let values: Vec<f64> = layout.sample.iter().filter_map(|r| number(trim(r.get(column)?))).collect();
    let falls = values.windows(2).filter(|pair| pair[1] < pair[0]).count();
    let rises = values.windows(2).filter(|pair| pair[1] > pair[0]).count();
    mostly(layout, column, &|cell| number(cell).is_some()) && (values.len() < 2 || rises > falls)
}

fn unit_in_name(name: &str) -> Option<&'static Unit> {
    let words = words(name);
    words.iter().rev().filter_map(|w| Unit::parse(w).ok()).find(|unit| unit.dimension == Dimension::Time)
}

fn nanoseconds(unit: &Unit) -> i64 {
    // Both are units of time, so the conversion cannot fail; every such unit is a whole number of nanoseconds.
    Unit::parse("s").and_then(|second| unit.convert(SECOND as f64, second)).map_or(0, |ns| ns.round() as i64)
}

#[cfg(test)]
mod tests {
    use super::super::sniff::layout;
    use super::*;

    fn find(text: &str) -> Result<ClockColumns, NoClock> {
        ClockColumns::find(&layout(text.as_bytes()).unwrap())
    }

    #[test]
    fn clocks() {
        use ClockColumns::{Counter, DateAndTime, Stamp, TimeOfDay};
        let counter = |column, count_ns| Ok(Counter { column, count_ns });
        assert_eq!(find("n,utc\n1,2025-04-05T10:00:00Z\n"), Ok(Stamp(1)));
        assert_eq!(find("a,b\n2025-04-05 10:00:00,2025-04-05T08:00:00Z\n"), Ok(Stamp(1)), "the one with a zone");
        assert_eq!(find("DATE,TIME,x\n4/5/2025,13:12:02,1\n"), Ok(DateAndTime { date: 0, time: 1 }));
        assert_eq!(find("DATE,TIME,x\n04/05/25,13:12:02,1\n"), Ok(DateAndTime { date: 0, time: 1 }));
        assert_eq!(find("date,time,x\n20250405,13:12:02,1\n"), Ok(DateAndTime { date: 0, time: 1 }));
        assert_eq!(
            find("local date,local time,UTC date,UTC time\n4/5/2025,13:12:02,4/5/2025,20:12:02\n"),
            Ok(DateAndTime { date: 2, time: 3 })
        );
        assert_eq!(find("x,TIME\n1,13:12:02\n"), Ok(TimeOfDay(1)));
        assert_eq!(find("x,ELAPSED\n1,05:30\n1,05:31\n"), Err(NoClock::NoColumn), "hours or minutes?");
        for head in ["time_ms", "ms", "millis", "t [ms]", "time (ms)", "uptime_ms", "time since power-on [ms]"] {
            assert_eq!(find(&format!("x,{head}\n1,100\n1,200\n")), counter(1, 1_000_000), "{head}");
        }
        assert_eq!(find("t [s],x\n0.1,1\n0.2,1\n"), counter(0, SECOND));
        assert_eq!(find("time,x\ns,kt\n0.1,1\n0.2,1\n"), counter(0, SECOND));
        assert_eq!(find("uptime,x\n1,2\n2,2\n"), Err(NoClock::NoUnit(0)));
        assert_eq!(find("MIN,POWER\n1,2\n2,2\n"), Err(NoClock::NoColumn));
        assert_eq!(find("t [kt],x\n1,2\n2,2\n"), Err(NoClock::NoColumn));
    }
}

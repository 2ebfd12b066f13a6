//! Which columns are the clock, and what they count.

use super::cells::{is_missing, plain_figures, trim, words};
use super::header::Head;
use super::marks::Marks;
use super::options::ClockOptions;
use super::sniff::Layout;
use super::stamp::{SECOND, is_date, is_stamp, read_date, read_time, split_stamp};
use crate::time::Count;
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
    /// A count.
    Counter { column: usize, count: Count },
    /// A spreadsheet's whole day, and the part of it that has passed.
    SheetDays { date: usize, time: usize, count: Count },
    /// The week of the GPS, and the time since it began in counts of so many nanoseconds.
    GpsWeek { week: usize, time: usize, count_ns: i64 },
}

/// Why there is no clock.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum NoClock {
    /// No column holds times.
    NoColumn,
    /// A column counts, in a unit that is not stated.
    NoUnit(usize),
    /// A column counts, but its decimal mark is open.
    NoDecimal(usize),
    /// The owner names a column that is not there.
    NotThere(String),
    /// A column holds times of two numbers, and there is no date.
    NoSeconds(usize),
    /// The owner names a column that holds no times.
    NoTimes(usize),
}

impl ClockColumns {
    /// The clock that dates its rows best: stamps with a zone, stamps, date and time, GPS week and time, a count, a time of
    /// day alone. Among equals one that names UTC, then the first. What the owner states comes before all that is found.
    pub(super) fn find(layout: &Layout, stated: &ClockOptions) -> Result<Self, NoClock> {
        let place = |name: &Option<String>| match name {
            None => Ok(None),
            Some(name) => {
                let at = layout.columns.iter().position(|c| c.name == *name && !name.is_empty());
                at.map(Some).ok_or_else(|| NoClock::NotThere(name.clone()))
            }
        };
        let (date, time) = (place(&stated.date_column)?, place(&stated.time_column)?);
        let week = place(&stated.week_column)?;
        let of_figures = |i| mostly(layout, i, &|cell| plain_figures(cell, b'.').is_some());
        let of_figures = (0..layout.columns.len()).map(of_figures).collect::<Vec<_>>();
        let look = Look { layout, stated, only: time, of_figures: &of_figures };
        if let (Some(week), Some(time)) = (week, time) {
            return Ok(Self::GpsWeek { week, time, count_ns: look.week_count(time) });
        }
        match (date, time, stated.counts) {
            (Some(date), Some(time), Some(count @ (Count::Sheet1900 | Count::Sheet1904))) => {
                return Ok(Self::SheetDays { date, time, count });
            }
            (_, Some(column), Some(count)) => return Ok(Self::Counter { column, count }),
            _ => {}
        }
        if let (Some(date), Some(time)) = (date, time) {
            return Ok(Self::DateAndTime { date, time });
        }
        if date.is_none()
            && let Some(column) = look.first(&is_zoned_stamp).or_else(|| look.first(&is_stamp))
        {
            return Ok(Self::Stamp(column));
        }
        let time_of_day = look.first(&|cell| read_time(cell, false).is_some());
        if let Some(time) = time_of_day
            && let Some(date) = date.or_else(|| look.date())
            && time != date
        {
            return Ok(Self::DateAndTime { date, time });
        }
        if let Some((week, time)) = look.gps_week() {
            return Ok(Self::GpsWeek { week, time, count_ns: look.week_count(time) });
        }
        if let Some(column) = look.sheet() {
            return Ok(Self::Counter { column, count: Count::Sheet1900 });
        }
        if let Some((date, time)) = look.sheet_days() {
            return Ok(Self::SheetDays { date, time, count: Count::Sheet1900 });
        }
        if let Some(column) = look.counter() {
            return look.count(column).map(|count| Self::Counter { column, count });
        }
        // Without a date 05:30 may as well be minutes and seconds.
        let alone = look.first(&|cell| read_time(cell, false).is_some_and(|time| time.seconds));
        if let Some(column) = alone {
            return Ok(Self::TimeOfDay(column));
        }
        if let Some(column) = look.foreign() {
            return look.count(column).map(|count| Self::Counter { column, count });
        }
        Err(match (time_of_day, time) {
            (Some(column), _) => NoClock::NoSeconds(column),
            (None, Some(column)) => NoClock::NoTimes(column),
            (None, None) => NoClock::NoColumn,
        })
    }

    /// Whether a column belongs to the clock.
    pub(super) fn contains(&self, column: usize) -> bool {
        match *self {
            Self::Stamp(c) | Self::TimeOfDay(c) | Self::Counter { column: c, .. } => c == column,
            Self::DateAndTime { date, time } | Self::SheetDays { date, time, .. } => date == column || time == column,
            Self::GpsWeek { week, time, .. } => week == column || time == column,
        }
    }

    /// Whether the header says that the clock shows UTC.
    pub(super) fn says_utc(&self, columns: &[Head]) -> bool {
        match *self {
            Self::Stamp(column) | Self::TimeOfDay(column) => names_utc(&columns[column]),
            Self::DateAndTime { time, .. } | Self::SheetDays { time, .. } => names_utc(&columns[time]),
            Self::Counter { .. } | Self::GpsWeek { .. } => false,
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

/// A look at the columns of a table.
struct Look<'a> {
    layout: &'a Layout,
    stated: &'a ClockOptions,
    /// The one column that the owner names.
    only: Option<usize>,
    /// Whether most cells of a column are plain figures, and so no dates or times.
    of_figures: &'a [bool],
}

/// Unix seconds of the years 2000 to 2100: what is far from them is no date of a flight.
const YEARS: std::ops::Range<f64> = 946_684_800.0..4_102_444_800.0;

impl Look<'_> {
    fn columns(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.layout.columns.len()).filter(|i| self.only.is_none_or(|only| only == *i))
    }

    /// The first column of which most cells pass a test for dates or times; before it one that names UTC.
    fn first(&self, test: &dyn Fn(&[u8]) -> bool) -> Option<usize> {
        let holds = |i: &usize| !self.of_figures[*i] && mostly(self.layout, *i, test);
        let holding: Vec<usize> = self.columns().filter(holds).collect();
        holding.iter().copied().find(|&i| names_utc(&self.layout.columns[i])).or(holding.first().copied())
    }

    fn date(&self) -> Option<usize> {
        let anywhere = Look { only: None, ..*self };
        anywhere.first(&is_date).or_else(|| {
            // Eight digits may be any number: the name must say that they are a date.
            let named = |i: &usize| self.words(*i).iter().any(|w| w == "date");
            let dated = |&i: &usize| mostly(self.layout, i, &|cell| read_date(cell)[0].is_some());
            anywhere.columns().filter(named).find(dated)
        })
    }

    fn words(&self, column: usize) -> Vec<String> {
        words(&self.layout.columns[column].name)
    }

    fn values(&self, column: usize) -> Vec<f64> {
        self.layout.sample.iter().filter_map(|r| self.layout.number(r, column)).collect()
    }

    fn holds_numbers(&self, column: usize) -> bool {
        let filled = |r: &&super::record::Record| r.get(column).is_some_and(|cell| !is_missing(trim(cell)));
        2 * self.values(column).len() > self.layout.sample.iter().filter(filled).count()
    }

    /// Columns named for the week of the GPS and for the time of week.
    fn gps_week(&self) -> Option<(usize, usize)> {
        let all = Look { only: None, ..*self };
        let named = |names: &[&str]| {
            let has = |&i: &usize| all.words(i).iter().any(|w| names.contains(&w.as_str())) && all.holds_numbers(i);
            all.columns().find(has)
        };
        let week = named(&["week", "wn", "gpsweek"])?;
        let time = named(&["tow", "itow", "gpstow"]).or_else(|| {
            let spelt = |i: &usize| *i != week && all.words(*i).ends_with(&["week", "seconds"].map(str::to_owned));
            let of_week =
                |i: &usize| *i != week && ["time", "of", "week"].iter().all(|w| all.words(*i).iter().any(|v| v == w));
            all.columns().find(|i| of_week(i) || spelt(i))
        })?;
        // "Time of week" holds the word week too.
        (week != time).then_some((week, time))
    }

    /// Nanoseconds of one count of the time of week: by its unit, else seconds, unless a week has too few of them.
    fn week_count(&self, column: usize) -> i64 {
        let head = &self.layout.columns[column];
        let stated = match self.stated.counts {
            Some(count) => Some(count.step_ns()),
            None => head.unit.or_else(|| unit_in_name(&head.name)).map(nanoseconds),
        };
        let too_many = self.values(column).iter().any(|v| *v > 604_800.0);
        stated.unwrap_or(if too_many { SECOND / 1000 } else { SECOND })
    }

    /// A column that counts time.
    ///
    /// Rule (common practice, no source): every word of the name is about time, its unit is none or one of time, and the
    /// numbers of the sample rise more often than they fall. Where the owner names the column, the name does not matter.
    fn counter(&self) -> Option<usize> {
        let named = self.only.is_some();
        let first = |open: bool| {
            let marks = |i: &usize| !open || self.layout.columns[*i].marks == Marks::Open;
            self.columns()
                .filter(marks)
                .find(|&i| (named || counts_by_name(&self.layout.columns[i])) && self.rises(i, open))
        };
        first(false).or_else(|| first(true))
    }

    /// The column that counts time under a name that is not known, as one in another language (`Zeit [s]`).
    ///
    /// Rule (common practice, no source): its unit is one of time, and it is the only such column that rises in every row.
    fn foreign(&self) -> Option<usize> {
        let counts = |i: &usize| {
            let values = self.values(*i);
            let head = &self.layout.columns[*i];
            head.unit.is_some_and(|unit| unit.dimension == Dimension::Time)
                && values.len() > 1
                && values.len() == self.layout.sample.len()
                && values.windows(2).all(|pair| pair[1] > pair[0])
        };
        let mut found = self.columns().filter(counts);
        found.next().filter(|_| found.next().is_none())
    }

    fn rises(&self, column: usize, open: bool) -> bool {
        if self.layout.columns[column].unit.is_some_and(|unit| unit.dimension != Dimension::Time) {
            return false;
        }
        if open {
            return counts_by_name(&self.layout.columns[column]);
        }
        let values = self.values(column);
        let falls = values.windows(2).filter(|pair| pair[1] < pair[0]).count();
        let rises = values.windows(2).filter(|pair| pair[1] > pair[0]).count();
        self.holds_numbers(column) && (values.len() < 2 || rises > falls)
    }

    /// What a column counts: by its unit, and since 1970 or since the epoch of GPS where the numbers or the name say so.
    ///
    /// Rule. A count is one of Unix time where, in the unit that is stated, it falls into the years 2000 to 2100: no logger
    /// has been switched on for thirty years. Without a unit the size of the numbers says which of s, ms, us and ns it is,
    /// if the steps are then no longer than a minute. A name with `gps` in it makes it GPS time.
    fn count(&self, column: usize) -> Result<Count, NoClock> {
        if let Some(count) = self.stated.counts {
            return Ok(count);
        }
        let head = &self.layout.columns[column];
        if head.marks == Marks::Open {
            return Err(NoClock::NoDecimal(column));
        }
        let values = self.values(column);
        let first = values.first().copied().unwrap_or(0.0);
        let gps = self.words(column).iter().any(|w| w == "gps");
        let dated = |ns: i64| {
            let seconds = first * ns as f64 / SECOND as f64;
            // The same years, counted from 1980.
            if gps { (631_000_000.0..3.8e9).contains(&seconds) } else { YEARS.contains(&seconds) }
        };
        let epoch = if gps { Count::Gps } else { Count::Unix };
        if let Some(unit) = head.unit.or_else(|| unit_in_name(&head.name)) {
            let ns = nanoseconds(unit);
            return Ok(if dated(ns) { epoch(ns) } else { Count::PowerUp(ns) });
        }
        let steps = super::super::usual_step(&values).unwrap_or(0.0);
        let fits = |ns: &i64| dated(*ns) && steps * (*ns as f64) <= 60.0 * SECOND as f64;
        [SECOND, 1_000_000, 1000, 1].into_iter().find(fits).map(epoch).ok_or(NoClock::NoUnit(column))
    }

    /// A column of spreadsheet days.
    ///
    /// Rule: named for date or time, without a unit or in days, between the years 2000 and 2100; most cells have five
    /// decimals or more, without which a day has no seconds; and the usual step is below 0.0005, which is 43 seconds of a
    /// day, but would be 2000 rows a second of a count of seconds.
    fn sheet(&self) -> Option<usize> {
        const NAMES: [&str; 9] = ["date", "time", "datetime", "timestamp", "stamp", "utc", "day", "days", "serial"];
        self.columns().find(|&i| {
            let head = &self.layout.columns[i];
            (self.only.is_some() || self.words(i).iter().any(|w| NAMES.contains(&w.as_str())))
                && head.unit.is_none_or(|unit| unit.symbol == "d")
                && self.values(i).iter().all(|v| SHEET_YEARS.contains(v))
                && self.holds_numbers(i)
                && mostly(self.layout, i, &has_five_decimals)
                && super::super::usual_step(&self.values(i)).is_none_or(|step| step.abs() < 0.0005)
        })
    }

    /// A column of a spreadsheet's whole days beside one of parts of a day: named for them, with the years and the decimals
    /// of the rule above.
    fn sheet_days(&self) -> Option<(usize, usize)> {
        let named =
            |i: usize, name: &str| self.words(i).iter().any(|w| w == name) && self.layout.columns[i].unit.is_none();
        let all = |i: usize, test: &dyn Fn(&f64) -> bool| self.holds_numbers(i) && self.values(i).iter().all(test);
        let is_part = |v: &f64| (0.0..1.0).contains(v);
        let time = self
            .columns()
            .find(|&i| named(i, "time") && all(i, &is_part) && mostly(self.layout, i, &has_five_decimals))?;
        let anywhere = Look { only: None, ..*self };
        let is_day = |v: &f64| v.fract() == 0.0 && SHEET_YEARS.contains(v);
        anywhere.columns().find(|&i| named(i, "date") && all(i, &is_day)).map(|date| (date, time))
    }
}

/// Days of a spreadsheet in the years 2000 to 2100, counted from 1900.
const SHEET_YEARS: std::ops::Range<f64> = 36_526.0..73_050.0;

/// A part of a day with fewer decimals has no seconds.
fn has_five_decimals(cell: &[u8]) -> bool {
    let figures = cell.iter().rev().take_while(|b| b.is_ascii_digit()).count();
    figures >= 5 && cell.len() > figures && matches!(cell[cell.len() - figures - 1], b'.' | b',')
}

/// Whether a column's name says that it counts time.
pub(super) fn counts_by_name(head: &Head) -> bool {
    const KEY: &[&str] = &[
        "time",
        "t",
        "timestamp",
        "uptime",
        "elapsed",
        "clock",
        "runtime",
        "unix",
        "unixtime",
        "epochtime",
        "epoch",
        "posix",
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
        "ns",
        "nanos",
        "nanoseconds",
    ];
    const OTHER: &[&str] =
        &["since", "from", "power", "on", "up", "start", "boot", "log", "logger", "system", "sys", "run", "gps", "utc"];
    let words = words(&head.name);
    let (key, other) = (|w: &String| KEY.contains(&w.as_str()), |w: &String| OTHER.contains(&w.as_str()));
    words.iter().any(key) && words.iter().all(|w| key(w) || other(w))
}

pub(super) fn unit_in_name(name: &str) -> Option<&'static Unit> {
    words(name).iter().rev().filter_map(|w| Unit::find(w)).find(|unit| unit.dimension == Dimension::Time)
}

pub(super) fn nanoseconds(unit: &Unit) -> i64 {
    // Both are units of time, so the conversion cannot fail; every such unit is a whole number of nanoseconds.
    Unit::parse("s").and_then(|second| unit.convert(SECOND as f64, second)).map_or(0, |ns| ns.round() as i64)
}

#[cfg(test)]
mod tests {
    use super::super::sniff::layout;
    use super::*;

    fn find(text: &str) -> Result<ClockColumns, NoClock> {
        ClockColumns::find(&layout(text.as_bytes(), &Default::default()).unwrap(), &ClockOptions::default())
    }

    #[test]
    fn clocks() {
        use ClockColumns::{Counter, DateAndTime, GpsWeek, Stamp, TimeOfDay};
        let counter = |column, count_ns| Ok(Counter { column, count: Count::PowerUp(count_ns) });
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
        assert_eq!(find("x,ELAPSED\n1,05:30\n1,05:31\n"), Err(NoClock::NoSeconds(1)), "hours or minutes?");
        for head in ["time_ms", "ms", "millis", "t [ms]", "time (ms)", "uptime_ms", "time since power-on [ms]"] {
            assert_eq!(find(&format!("x,{head}\n1,100\n1,200\n")), counter(1, 1_000_000), "{head}");
        }
        assert_eq!(find("t [s],x\n0.1,1\n0.2,1\n"), counter(0, SECOND));
        assert_eq!(find("time,x\ns,kt\n0.1,1\n0.2,1\n"), counter(0, SECOND));
        assert_eq!(find("uptime,x\n1,2\n2,2\n"), Err(NoClock::NoUnit(0)));
        assert_eq!(find("MIN,POWER\n1,2\n2,2\n"), Err(NoClock::NoColumn));
        assert_eq!(find("t [kt],x\n1,2\n2,2\n"), Err(NoClock::NoColumn));
        let unix = |count_ns| Ok(Counter { column: 0, count: Count::Unix(count_ns) });
        assert_eq!(find("timestamp,x\n1781512200,1\n1781512201,1\n"), unix(SECOND));
        assert_eq!(find("time,x\n1781512200000,1\n1781512200100,1\n"), unix(1_000_000));
        assert_eq!(find("unix [us],x\n1781512200000000,1\n1781512200100000,1\n"), unix(1000));
        assert_eq!(find("t_ns,x\n1781512200000000000,1\n1781512200100000000,1\n"), unix(1));
        assert_eq!(find("time_us,x\n1781512200,1\n1781512300,1\n"), counter(0, 1000), "half an hour since power-up");
        assert_eq!(find("uptime,x\n1781512200,1\n1781512300,1\n"), Err(NoClock::NoUnit(0)), "ms since power-up, or s?");
        let gps = |count_ns| Ok(GpsWeek { week: 0, time: 1, count_ns });
        assert_eq!(find("GPS Week,TOW [s],x\n2446,288018,1\n2446,288019,1\n"), gps(SECOND));
        assert_eq!(find("week,iTOW,x\n2446,288018000,1\n2446,288018100,1\n"), gps(1_000_000));
        assert_eq!(find("GPS Week,Time of Week,x\n2446,288018,1\n2446,288019,1\n"), gps(SECOND));
        let sheet = Ok(Counter { column: 0, count: Count::Sheet1900 });
        assert_eq!(find("Date,x\n46351.3541666667,1\n46351.3541782407,1\n"), sheet);
        assert_eq!(find("time,x\n46351.35,1\n46351.45,1\n"), Err(NoClock::NoUnit(0)), "seconds since power-up?");
    }
}

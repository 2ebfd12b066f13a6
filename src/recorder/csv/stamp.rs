//! The text of dates and times of day, in the forms that loggers write.

use crate::time::follows_leap_second;
use std::fmt;

pub(in crate::recorder) const SECOND: i64 = 1_000_000_000;
pub(in crate::recorder) const DAY: i64 = 86_400 * SECOND;

/// The order of day, month and year in dates such as 4/5/2025. Dates that begin with a four-digit year need none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// Day, month, year.
    DayFirst,
    /// Month, day, year.
    MonthFirst,
    /// Year, month, day (of use only for years of two digits).
    YearFirst,
}

impl DateOrder {
    pub(in crate::recorder) const ALL: [Self; 3] = [Self::DayFirst, Self::MonthFirst, Self::YearFirst];
}

impl fmt::Display for DateOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::DayFirst => "day first",
            Self::MonthFirst => "month first",
            Self::YearFirst => "year first",
        })
    }
}

/// A date as its text gives it, and the day (since 1970-01-01) that it is under each order of [`DateOrder::ALL`]: figures
/// with strokes, dashes or points between them, eight figures, a month by its name, or the day or week of the year as ISO
/// 8601 writes them (`2026-166`, `2026-W25-1`). A day of the week in front counts for nothing.
///
/// Two-digit years: 70 to 99 are of the 20th century, the others of the 21st (common practice, no source).
pub(in crate::recorder) fn read_date(text: &[u8]) -> [Option<i32>; 3] {
    let none = [None; 3];
    let Some(first) = text.first() else { return none };
    if !first.is_ascii_digit() || text.iter().any(|b| b.is_ascii_alphabetic()) {
        return [date_with_letters(text); 3];
    }
    if text.len() == 8 && text.iter().all(u8::is_ascii_digit) {
        let field = |range: std::ops::Range<usize>| digits(&text[range]);
        let day = day_number(field(0..4), field(4..6), field(6..8));
        return [day; 3];
    }
    if text.len() == 8 && text[4] == b'-' && text[5..].iter().all(u8::is_ascii_digit) {
        return [day_of_year(digits(&text[..4]), digits(&text[5..])); 3];
    }
    let Some(&separator) = text.iter().find(|b| !b.is_ascii_digit()) else { return none };
    if !matches!(separator, b'/' | b'-' | b'.') {
        return none;
    }
    let mut fields = text.split(|b| *b == separator);
    let (Some(a), Some(b), Some(c), None) = (fields.next(), fields.next(), fields.next(), fields.next()) else {
        return none;
    };
    let short = |f: &[u8]| matches!(f.len(), 1 | 2);
    match (a.len(), c.len()) {
        (4, 1 | 2) if short(b) => [day_number(digits(a), digits(b), digits(c)); 3],
        (1 | 2, 4) if short(b) => {
            let year = digits(c);
            [day_number(year, digits(b), digits(a)), day_number(year, digits(a), digits(b)), None]
        }
        (1 | 2, 2) if short(b) => [
            day_number(short_year(c), digits(b), digits(a)),
            day_number(short_year(c), digits(a), digits(b)),
            (a.len() == 2).then(|| day_number(short_year(a), digits(b), digits(c))).flatten(),
        ],
        _ => none,
    }
}

fn short_year(text: &[u8]) -> Option<i16> {
    digits(text).map(|y| if y < 70 { 2000 + y } else { 1900 + y })
}

/// `15 Jun 2026`, `15-JUN-26`, `June 15, 2026`, `Mon 15 Jun 2026`, `2026-Jun-15`, `2026-W25-1`, `2026W251`.
fn date_with_letters(text: &[u8]) -> Option<i32> {
    const MONTHS: [&[u8]; 12] = [
        b"january",
        b"february",
        b"march",
        b"april",
        b"may",
        b"june",
        b"july",
        b"august",
        b"september",
        b"october",
        b"november",
        b"december",
    ];
    const DAYS: [&[u8]; 7] = [b"monday", b"tuesday", b"wednesday", b"thursday", b"friday", b"saturday", b"sunday"];
    // The first three letters or more.
    let names = |list: &[&[u8]], word: &[u8]| {
        let begins =
            |name: &&[u8]| word.len() >= 3 && name.get(..word.len()).is_some_and(|n| n.eq_ignore_ascii_case(word));
        list.iter().position(begins)
    };
    // Words of letters and of figures, however they are parted or not.
    let mut fields: Vec<&[u8]> = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.first() {
        let kind = |b: &u8| (b.is_ascii_alphabetic(), b.is_ascii_digit());
        let end = rest.iter().position(|b| kind(b) != kind(first)).unwrap_or(rest.len());
        let (field, after) = rest.split_at(end);
        match first {
            b if b.is_ascii_alphanumeric() => fields.push(field),
            _ if field.iter().all(|b| matches!(b, b' ' | b'-' | b'/' | b'.' | b',')) => {}
            _ => return None,
        }
        rest = after;
    }
    match fields[..] {
        [year, w, week, day] if w.eq_ignore_ascii_case(b"w") => day_of_week(digits(year), digits(week), digits(day)),
        [year, w, both] if w.eq_ignore_ascii_case(b"w") && both.len() == 3 => {
            day_of_week(digits(year), digits(&both[..2]), digits(&both[2..]))
        }
        _ => {
            let fields = match fields.split_first() {
                Some((first, rest)) if names(&DAYS, first).is_some() => rest,
                _ => &fields[..],
            };
            let year = |f: &[u8]| if f.len() == 2 { short_year(f) } else { digits(f).filter(|_| f.len() == 4) };
            let month = |f: &[u8]| names(&MONTHS, f).and_then(|m| i16::try_from(m + 1).ok());
            match *fields {
                [y, m, d] if y.len() == 4 && month(m).is_some() => day_number(digits(y), month(m), digits(d)),
                [d, m, y] if month(m).is_some() => day_number(year(y), month(m), digits(d)),
                [m, d, y] => day_number(year(y), month(m), digits(d)),
                _ => None,
            }
        }
    }
}

fn day_of_year(year: Option<i16>, day: Option<i16>) -> Option<i32> {
    let first = day_number(year, Some(1), Some(1))?;
    let date = jiff::civil::Date::new(year?, 1, 1).ok()?;
    let day = day.filter(|d| (1..=date.days_in_year()).contains(d))?;
    Some(first + i32::from(day) - 1)
}

fn day_of_week(year: Option<i16>, week: Option<i16>, day: Option<i16>) -> Option<i32> {
    let weekday = jiff::civil::Weekday::from_monday_one_offset(day?.try_into().ok()?).ok()?;
    let date = jiff::civil::ISOWeekDate::new(year?, week?.try_into().ok()?, weekday).ok()?.date();
    day_number(Some(date.year()), Some(date.month().into()), Some(date.day().into()))
}

fn day_number(year: Option<i16>, month: Option<i16>, day: Option<i16>) -> Option<i32> {
    // Outside these years it is a slip or a clock that was never set; within them the difference of any two fits an i64.
    let year = year.filter(|y| (1900..2150).contains(y))?;
    let date = jiff::civil::Date::new(year, month?.try_into().ok()?, day?.try_into().ok()?).ok()?;
    i32::try_from(date.duration_since(jiff::civil::date(1970, 1, 1)).as_hours() / 24).ok()
}

fn digits(text: &[u8]) -> Option<i16> {
    let plain = (1..=4).contains(&text.len()) && text.iter().all(u8::is_ascii_digit);
    plain.then(|| text.iter().fold(0, |n, b| n * 10 + i16::from(b - b'0')))
}

/// A time of day as its text gives it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::recorder) struct TimeOfDay {
    /// Nanoseconds since midnight; a whole day for 24:00:00, and for the leap second 23:59:60.
    pub(in crate::recorder) ns: i64,
    /// Nanoseconds that local time is ahead of UTC, where the text says so.
    pub(in crate::recorder) zone: Option<i64>,
    /// Whether seconds are written.
    pub(in crate::recorder) seconds: bool,
    /// Whether the second is the 60th.
    pub(in crate::recorder) leap: bool,
}

/// Reads `h:mm[:ss[.fff]]` or `hhmmss[.fff]` (only with `basic`), then AM or PM, then `Z`, `+hh:mm`, `+hhmm` or `+hh`.
pub(in crate::recorder) fn read_time(text: &[u8], basic: bool) -> Option<TimeOfDay> {
    if !basic && !text.contains(&b':') {
        return None;
    }
    let (text, zone) = split_zone(text)?;
    let (text, half) = split_half(text);
    let (hour, minute, rest) = if basic && text.len() >= 6 && text[..6].iter().all(u8::is_ascii_digit) {
        (digits(&text[..2])?, digits(&text[2..4])?, Some(&text[4..]))
    } else {
        let mut fields = text.splitn(3, |b| *b == b':');
        let two = |f: &[u8]| digits(f).filter(|_| f.len() <= 2);
        let (hour, minute) = (two(fields.next()?)?, fields.next().filter(|f| f.len() == 2).and_then(digits)?);
        (hour, minute, fields.next())
    };
    let (second, fraction) = match rest {
        Some(rest) => (rest.get(..2).and_then(digits)?, read_fraction(&rest[2..])?),
        None => (0, 0),
    };
    let hour = match half {
        None => hour,
        Some(afternoon) if (1..=12).contains(&hour) => hour % 12 + if afternoon { 12 } else { 0 },
        Some(_) => return None,
    };
    let leap = second == 60;
    let midnight = hour == 24 && minute == 0 && second == 0 && fraction == 0;
    if minute > 59 || (hour > 23 && !midnight) || second > 60 || (leap && (fraction != 0 || zone.is_none())) {
        return None;
    }
    let ns = (i64::from(hour) * 3600 + i64::from(minute) * 60 + i64::from(second)) * SECOND + fraction;
    Some(TimeOfDay { ns, zone, seconds: rest.is_some(), leap })
}

impl TimeOfDay {
    /// The moment on `day` (since 1970-01-01) in nanoseconds: UTC where the text has a zone, else local.
    /// None for a second 60 that was never inserted.
    pub(in crate::recorder) fn on(self, day: i32) -> Option<i64> {
        let ns = i64::from(day) * DAY + self.ns - self.zone.unwrap_or(0);
        (!self.leap || follows_leap_second(ns.div_euclid(SECOND))).then_some(ns)
    }
}

/// The digits after the second, as nanoseconds; further ones are cut off.
fn read_fraction(text: &[u8]) -> Option<i64> {
    let Some((b'.' | b',', figures)) = text.split_first() else { return text.is_empty().then_some(0) };
    if figures.is_empty() || !figures.iter().all(u8::is_ascii_digit) {
        return None;
    }
    Some((0..9).fold(0, |ns, i| ns * 10 + figures.get(i).map_or(0, |b| i64::from(b - b'0'))))
}

fn split_zone(text: &[u8]) -> Option<(&[u8], Option<i64>)> {
    let named = text.len().checked_sub(3).map(|at| text.split_at(at));
    if let Some((rest, zone)) = named
        && (zone.eq_ignore_ascii_case(b"utc") || zone.eq_ignore_ascii_case(b"gmt"))
    {
        return Some((rest.trim_ascii_end(), Some(0)));
    }
    if let Some((b'Z' | b'z', rest)) = text.split_last() {
        return Some((rest.trim_ascii_end(), Some(0)));
    }
    let Some(at) = text.iter().position(|b| matches!(b, b'+' | b'-')) else { return Some((text, None)) };
    let (time, zone) = text.split_at(at);
    let (hours, minutes) = match zone.len() {
        3 => (&zone[1..3], &b"00"[..]),
        5 => (&zone[1..3], &zone[3..5]),
        6 if zone[3] == b':' => (&zone[1..3], &zone[4..6]),
        _ => return None,
    };
    let (hours, minutes) = (digits(hours).filter(|h| *h < 24)?, digits(minutes).filter(|m| *m < 60)?);
    let ahead = (i64::from(hours) * 60 + i64::from(minutes)) * 60 * SECOND;
    Some((time.trim_ascii_end(), Some(if zone[0] == b'-' { -ahead } else { ahead })))
}

/// Takes off AM (`Some(false)`) or PM (`Some(true)`), with or without points.
fn split_half(text: &[u8]) -> (&[u8], Option<bool>) {
    for (ending, afternoon) in [(&b"am"[..], false), (b"pm", true), (b"a.m.", false), (b"p.m.", true)] {
        if let Some((time, half)) = text.len().checked_sub(ending.len()).map(|at| text.split_at(at))
            && half.eq_ignore_ascii_case(ending)
        {
            return (time.trim_ascii_end(), Some(afternoon));
        }
    }
    (text, None)
}

/// Splits a stamp into the texts of date and time; whether a `T` stood between them.
///
/// The time begins with the figures before the first colon, or, where there is none, after the first `T` or blank that
/// figures follow.
pub(in crate::recorder) fn split_stamp(text: &[u8]) -> Option<(&[u8], &[u8], bool)> {
    let between = |b: &u8| matches!(b, b'T' | b't' | b' ' | b',' | b'_');
    let at = match text.iter().position(|b| *b == b':') {
        Some(colon) => text[..colon].iter().rposition(|b| !b.is_ascii_digit())?,
        None => {
            let follows = |i: &usize| text.get(i + 1).is_some_and(u8::is_ascii_digit);
            (1..text.len()).filter(|i| matches!(text[*i], b'T' | b't' | b' ')).find(follows)?
        }
    };
    if !between(&text[at]) {
        return None;
    }
    let date = text[..at].trim_ascii_end();
    Some((date.strip_suffix(b",").unwrap_or(date), &text[at + 1..], matches!(text[at], b'T' | b't')))
}

/// Whether a cell is a date by its looks; eight digits without a separator are not, for they may be any number.
pub(in crate::recorder) fn is_date(cell: &[u8]) -> bool {
    !cell.iter().all(u8::is_ascii_digit) && read_date(cell).iter().any(Option::is_some)
}

/// Whether a cell holds date and time.
pub(in crate::recorder) fn is_stamp(cell: &[u8]) -> bool {
    split_stamp(cell).is_some_and(|(date, time, basic)| {
        read_date(date).iter().any(Option::is_some) && read_time(time, basic).is_some()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Unix nanoseconds of a whole stamp, read as day first, and whether it has a zone.
    fn stamp(text: &str) -> Option<(i64, bool)> {
        let (date, time, basic) = split_stamp(text.as_bytes())?;
        let time = read_time(time, basic)?;
        Some((time.on(read_date(date)[0]?)?, time.zone.is_some()))
    }

    #[test]
    fn dates_under_each_order() {
        // Day numbers by Python's datetime: 2025-05-04 is day 20212, 2025-04-05 day 20183.
        assert_eq!(read_date(b"4/5/2025"), [Some(20212), Some(20183), None]);
        assert_eq!(read_date(b"2025-05-04"), [Some(20212); 3]);
        assert_eq!(read_date(b"20250504"), [Some(20212); 3]);
        assert_eq!(read_date(b"13.04.2025")[1], None);
        assert_eq!(read_date(b"25/05/04")[2], Some(20212));
        for text in [
            "",
            "4/5",
            "4/5/2025/1",
            "4-5/2025",
            "29.2.2026",
            "0/5/2025",
            "4/5/25000",
            "2026-366",
            "a/b/c",
            "4/5/1",
            "2026-W54-1",
        ] {
            assert_eq!(read_date(text.as_bytes())[0], None, "{text}");
        }
    }

    #[test]
    fn months_by_name_days_and_weeks_of_the_year() {
        for text in [
            "15 Jun 2026",
            "15-JUN-26",
            "15JUN2026",
            "June 15, 2026",
            "Jun 15 2026",
            "Mon, 15 Jun 2026",
            "2026-Jun-15",
            "2026-166",
            "2026-W25-1",
            "2026W251",
        ] {
            assert_eq!(read_date(text.as_bytes()), [Some(20_619); 3], "{text}");
        }
        for text in ["15 Jux 2026", "Ju 15 2026", "31 Feb 2026", "N37.20.16", "TEST 1", "E1", "15 Jun", "Jun 2026"] {
            assert_eq!(read_date(text.as_bytes()), [None; 3], "{text}");
        }
        for text in ["15 Oct 2026 08:30:00", "Mon 15 Jun 2026 08:30", "15/06/2026, 8:30 p.m.", "2026-06-15T083000Z"] {
            assert!(is_stamp(text.as_bytes()), "{text}");
        }
    }

    #[test]
    fn times() {
        let ns = |text: &[u8]| read_time(text, false).map(|t| t.ns);
        assert_eq!(ns(b"13:12:02"), Some(47_522 * SECOND));
        assert_eq!(ns(b"1:12:02 PM"), Some(47_522 * SECOND));
        assert_eq!(ns(b"12:00 am"), Some(0));
        assert_eq!(ns(b"1:12:02 p.m."), Some(47_522 * SECOND));
        assert_eq!(read_time(b"13:12:02 UTC", false).and_then(|t| t.zone), Some(0));
        assert_eq!(ns(b"13:12:02.0625"), Some(47_522 * SECOND + 62_500_000));
        for text in [
            "13",
            "13:5",
            "25:00:00",
            "13:60:00",
            "13:12:61",
            "13:12:60",
            "13:12:02.",
            "13:12:2",
            "130:12:02",
            "13:12:02 PM",
        ] {
            assert_eq!(ns(text.as_bytes()), None, "{text}");
        }
    }

    #[test]
    fn stamps_with_a_zone_are_utc() {
        assert_eq!(stamp("2026-06-15T08:30:00+01:30"), Some((1_781_506_800 * SECOND, true)));
        assert_eq!(stamp("15/6/2026 08:30"), Some((1_781_512_200 * SECOND, false)));
    }
}

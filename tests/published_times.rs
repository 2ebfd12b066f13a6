//! Times against tables that others made: `tests/published/`, each with its source in its first line.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use jiff::tz::TimeZone;
use jumpseat::recorder::{self, ClockOptions, CsvOptions, Options, RecorderError, Recording};
use jumpseat::time::{Count, follows_leap_second, gps_minus_utc, unix_ns_of_gps};

const SECOND: i64 = 1_000_000_000;

fn rows(table: &str) -> Vec<csv::StringRecord> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(table.as_bytes());
    reader.records().map(|row| row.expect("a row")).collect()
}

fn read(text: &str, csv: CsvOptions) -> Result<Recording, RecorderError> {
    let folder = tempfile::tempdir().expect("folder");
    let file = folder.path().join("x.csv");
    std::fs::write(&file, text).expect("log");
    recorder::read(&file, &Options { csv })
}

fn counting(count: Count, zone: Option<TimeZone>) -> CsvOptions {
    let clock = ClockOptions { time_column: Some("x".into()), counts: Some(count), ..ClockOptions::default() };
    CsvOptions { clock, zone, ..CsvOptions::default() }
}

/// The instant of a log of one row.
fn instant(cell: &str, csv: CsvOptions) -> Option<String> {
    let log = read(&format!("x,a\n{cell},1\n"), csv).ok()?;
    log.clock.first_utc.map(|t| t.to_string())
}

/// Exactly: GPS time, and both ways in which a log writes it.
#[test]
fn gps_time() {
    let table = rows(include_str!("published/gps_time.csv"));
    assert_eq!(table.len(), 20);
    for row in &table {
        let (utc, gps_s) = (&row[0], row[3].parse::<i64>().expect("seconds"));
        // A leap second reads as the second after it.
        let leap = utc.ends_with(":60Z");
        let unix = if leap { 1_483_228_800 } else { row[1].parse().expect("seconds") };
        assert_eq!(gps_minus_utc(gps_s), row[2].parse::<i64>().expect("seconds"), "{utc}");
        assert_eq!(unix_ns_of_gps(gps_s * SECOND), unix * SECOND, "{utc}");
        let expected = jiff::Timestamp::from_second(unix).expect("an instant").to_string();
        assert_eq!(instant(&row[3], counting(Count::Gps(SECOND), None)).as_ref(), Some(&expected), "{utc}");
        let (week, tow) = (row[4].parse::<i64>().expect("week"), &row[5]);
        let rollovers = u8::try_from(week / 1024).expect("few");
        assert_eq!(week % 1024, row[6].parse::<i64>().expect("week"), "{utc}");
        let clock = ClockOptions { gps_rollovers: Some(rollovers), ..ClockOptions::default() };
        let log =
            read(&format!("GPS Week,TOW [s],a\n{},{tow},1\n", &row[6]), CsvOptions { clock, ..CsvOptions::default() });
        let found = log.expect("a log").clock.first_utc.map(|t| t.to_string());
        // A week of round zero needs no rounds named; week 0 itself is below 1024 as well.
        assert_eq!(found.as_ref(), Some(&expected), "{utc}, week {week}");
    }
}

/// Exactly: every leap second, and none on the other days around them.
#[test]
fn leap_seconds() {
    let table = rows(include_str!("published/leap_seconds.csv"));
    assert_eq!(table.len(), 28);
    for row in &table {
        let unix: i64 = row[4].parse().expect("seconds");
        let inserted = &row[0] != "1972-01-01";
        assert_eq!(follows_leap_second(unix), inserted, "{}", &row[0]);
        assert!(!follows_leap_second(unix + 86_400) && !follows_leap_second(unix - 1), "{}", &row[0]);
        if let Ok(ahead) = row[3].parse::<i64>() {
            let since_epoch = unix - 315_964_800 + ahead;
            if since_epoch > 0 {
                assert_eq!(gps_minus_utc(since_epoch), ahead, "{}", &row[0]);
                assert_eq!(gps_minus_utc(since_epoch - 1), ahead - 1, "{}", &row[0]);
            }
        }
        let stamp = jiff::Timestamp::from_second(unix - 1).expect("an instant").to_string().replace(":59Z", ":60Z");
        let expected = inserted.then(|| jiff::Timestamp::from_second(unix).expect("an instant").to_string());
        assert_eq!(instant(&stamp, CsvOptions::default()), expected, "{stamp}");
    }
}

/// To the millisecond: spreadsheet days of both systems.
#[test]
fn spreadsheet_days() {
    let table = rows(include_str!("published/excel_serials.csv"));
    assert_eq!(table.len(), 16);
    for row in &table {
        for (column, count) in [(1, Count::Sheet1900), (2, Count::Sheet1904)] {
            let expected = row[column].parse::<jiff::civil::DateTime>().ok();
            // Beyond the year 2262 nanoseconds leave 64 bits, and no logger goes there.
            let expected = expected.filter(|date| date.year() < 2100);
            let found = instant(&row[0], counting(count, Some(TimeZone::UTC)));
            let expected = expected.map(|date| TimeZone::UTC.to_timestamp(date).expect("an instant").to_string());
            assert_eq!(found, expected, "{} in column {column}", &row[0]);
        }
    }
}

/// Exactly: both passes of an hour that comes twice, and the borders of one that never comes. Each row is put into a log
/// with its neighbours of a second before and after, because a stamp in a repeated hour alone is no instant.
#[test]
fn daylight_saving_edges() {
    let table = rows(include_str!("published/dst_edges.csv"));
    assert_eq!(table.len(), 18);
    for row in &table {
        let zone = TimeZone::get(&row[0]).expect("a zone");
        let utc: jiff::Timestamp = row[1].parse().expect("an instant");
        let options = || CsvOptions { zone: Some(zone.clone()), ..CsvOptions::default() };
        let local = |s: i64| {
            let at = utc.checked_add(jiff::SignedDuration::from_secs(s)).expect("near");
            zone.to_datetime(at).to_string()
        };
        assert_eq!(local(0), row[2], "the library's own zone data agree: {}", &row[1]);
        // Half a minute a row, over the two hours before and after: the log runs through whatever there is.
        let times: Vec<i64> = (-240..=240).map(|i| i * 30).collect();
        let stamps: Vec<String> = times.iter().map(|s| local(*s)).collect();
        let text = stamps.iter().fold("time,a\n".to_owned(), |text, stamp| text + stamp + ",1\n");
        let log = read(&text, options()).expect("a log");
        assert_eq!(log.rows_read, times.len(), "{}: {:?}", &row[1], log.findings);
        let first = log.clock.first_utc.expect("an instant").as_second();
        let at = first + log.channels[0].times[240].round() as i64;
        assert_eq!(at, utc.as_second(), "{}", &row[1]);
        // Alone it is an instant where it comes once only.
        let alone = read(&format!("time,a\n{},1\n", &row[2]), options()).expect("a log");
        let twice = alone.findings.iter().any(|f| f.code == "local_time_twice");
        assert_eq!(alone.clock.first_utc.is_none(), twice, "{}", &row[1]);
        assert!(twice || alone.clock.first_utc == Some(utc), "{}", &row[1]);
        assert!(twice || &row[5] == "0", "{}", &row[1]);
    }
}

/// The wall times that the table's first line calls never and twice.
#[test]
fn hours_that_never_come_or_come_twice() {
    for (zone, from, code) in [
        ("America/New_York", "2026-03-08T02", "never"),
        ("Europe/London", "2026-03-29T01", "never"),
        ("America/New_York", "2026-11-01T01", "local_time_twice"),
        ("Europe/London", "2026-10-25T01", "local_time_twice"),
    ] {
        for minute in ["00:00", "30:00", "59:59"] {
            let zone = Some(TimeZone::get(zone).expect("a zone"));
            let log = read(&format!("time,a\n{from}:{minute},1\n"), CsvOptions { zone, ..CsvOptions::default() });
            match log {
                Err(RecorderError::LocalTimeNever { row: 2, .. }) => assert_eq!(code, "never", "{from}:{minute}"),
                Err(error) => panic!("{error}"),
                Ok(log) => assert_eq!((log.findings[0].code, log.clock.first_utc), (code, None), "{from}:{minute}"),
            }
        }
    }
}

/// Exactly: the epochs of the counts that are read here.
#[test]
fn epochs() {
    let mut seen = 0;
    for row in &rows(include_str!("published/epochs.csv")) {
        let (count, zero) = match &row[0] {
            "Unix" => (Count::Unix(SECOND), "0"),
            "GPS" => (Count::Gps(SECOND), "0"),
            "Excel 1904 system" => (Count::Sheet1904, "0"),
            "Modified Julian Date" => (Count::Unix(86_400 * SECOND), "0"),
            _ => continue,
        };
        seen += 1;
        assert_eq!(instant(zero, counting(count, Some(TimeZone::UTC))).as_deref(), Some(&row[1]), "{}", &row[0]);
    }
    assert_eq!(seen, 4);
}

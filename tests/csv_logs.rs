//! The rules of the CSV reader, each on a small log of our own (invented numbers).
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use jumpseat::recorder::{self, ClockKind, CsvOptions, DateOrder, Options, RecorderError, Recording};
use jumpseat::signal::{Channel, Kind, Samples};
use proptest::prelude::*;
use std::io::Write;

fn try_read(bytes: &[u8], csv: CsvOptions) -> Result<Recording, RecorderError> {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(bytes).unwrap();
    recorder::read(file.path(), &Options { csv })
}

fn read(text: &str) -> Recording {
    try_read(text.as_bytes(), CsvOptions::default()).unwrap()
}

fn error(text: &str) -> String {
    try_read(text.as_bytes(), CsvOptions::default()).unwrap_err().to_string()
}

fn numbers(channel: &Channel) -> &[f64] {
    match &channel.samples {
        Samples::Numbers(values) => values,
        Samples::Texts(texts) => panic!("{} holds texts {texts:?}", channel.name),
    }
}

fn texts(channel: &Channel) -> Vec<&str> {
    match &channel.samples {
        Samples::Texts(texts) => texts.iter().map(|t| &**t).collect(),
        Samples::Numbers(values) => panic!("{} holds numbers {values:?}", channel.name),
    }
}

fn codes(recording: &Recording) -> Vec<(&'static str, Option<u64>)> {
    recording.findings.iter().map(|f| (f.code, f.row)).collect()
}

#[test]
fn units_from_header_row_and_owner() {
    let log = read("t [s],IAS (kt),OAT [C]\n0,40,15\n1,41,15\n");
    let units: Vec<_> = log.channels.iter().map(|c| c.unit.as_deref()).collect();
    assert_eq!(units, [Some("kt"), Some("°C")]);
    let log = read("time,IAS,OAT\nms,kt,C\n0,40,15\n500,41,15\n");
    assert_eq!((log.channels[0].unit.as_deref(), log.channels[0].times[1]), (Some("kt"), 0.5));
    assert_eq!((log.rows_read, log.rows_refused), (2, 0), "the units row is no data row");
    let options =
        |column: &str, unit: &str| CsvOptions { units: vec![(column.into(), unit.into())], ..CsvOptions::default() };
    let text = b"uptime,FUEL,IAS [kt]\n1,10,40\n2,10,41\n";
    let both = CsvOptions {
        units: vec![("uptime".into(), "min".into()), ("FUEL".into(), "gal".into())],
        ..CsvOptions::default()
    };
    let log = try_read(text, both).unwrap();
    assert_eq!((log.channels[0].unit.as_deref(), log.channels[0].times[1]), (Some("US gal"), 60.0));
    let fails = |column, unit| try_read(text, options(column, unit)).unwrap_err().to_string();
    assert!(fails("FUELL", "gal").contains("nearest is `FUEL`"));
    assert!(fails("FUEL", "gallonz").contains("the nearest is `gallon"), "{}", fails("FUEL", "gallonz"));
    assert!(fails("IAS", "mph").contains("the log says kt"));
    assert!(fails("FUEL", "gal").contains("uptime=ms"), "a counter without a unit is not guessed");
}

#[test]
fn stamps_with_zone_are_utc() {
    let log = read("time,x\n2026-06-15T08:30:00.5+02:00,1\n2026-06-15T06:30:01Z,2\n");
    assert_eq!((log.clock.kind, log.clock.resolution_s), (ClockKind::Utc, 0.1));
    assert_eq!(log.clock.first_utc.unwrap().to_string(), "2026-06-15T06:30:00.5Z");
    assert_eq!(*log.channels[0].times, [0.0, 0.5]);
    let log = read("UTC date,UTC time,x\n2026-06-15,06:30:00,1\n2026-06-15,06:30:01,1\n");
    assert_eq!((log.clock.kind, log.clock.first_utc.unwrap().as_second()), (ClockKind::Utc, 1_781_505_000));
}

#[test]
fn stamps_without_zone_are_no_instant() {
    let log = read("time,x\n2026-06-15T08:30:00,1\n2026-06-15T08:30:01,2\n");
    assert_eq!((log.clock.kind, log.clock.first_utc), (ClockKind::Local, None));
    let zone = Some(jiff::tz::TimeZone::fixed(jiff::tz::Offset::from_seconds(7200).unwrap()));
    let log = try_read(b"time,x\n2026-06-15T08:30,1\n", CsvOptions { zone, ..CsvOptions::default() }).unwrap();
    assert_eq!((log.clock.kind, log.clock.resolution_s), (ClockKind::Local, 60.0));
    assert_eq!(log.clock.first_utc.unwrap().to_string(), "2026-06-15T06:30:00Z");
}

/// Stamps of the table `published/rfc3339_timestamps.csv` (RFC 3339 section 5.8; ISO 8601), its source in its first line.
#[test]
fn published_stamps() {
    let table = include_str!("published/rfc3339_timestamps.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(table.as_bytes());
    let mut seen = 0;
    for row in reader.records().map(Result::unwrap) {
        let (text, unix) = (row[0].to_owned(), row[1].split(' ').next().unwrap_or_default().to_owned());
        let log = try_read(format!("time,x\n\"{text}\",1\n").as_bytes(), CsvOptions::default());
        let instant = log.as_ref().ok().and_then(|log| log.clock.first_utc);
        seen += 1;
        if unix.is_empty() || unix == "invalid" {
            assert_eq!(instant, None, "{text}");
            continue;
        }
        let ours = instant.unwrap_or_else(|| panic!("{text}: {log:?}")).as_nanosecond();
        let expected = unix.parse::<f64>().unwrap();
        // The table has hundredths of a second at most.
        assert_eq!(ours / 10_000_000, (expected * 100.0).round() as i128, "{text}");
    }
    assert_eq!(seen, 22, "the whole table was read");
}

#[test]
fn midnight_is_one_step_under_either_order() {
    for (after, reading) in [("5/5/2025", "2025-05-04"), ("4/6/2025", "2025-04-05")] {
        let log = read(&format!("DATE,TIME,x\n4/5/2025,23:59:58,1\n4/5/2025,23:59:59,2\n{after},00:00:00,3\n"));
        assert_eq!(*log.channels[0].times, [0.0, 1.0, 2.0], "{after}");
        assert_eq!(codes(&log), [("date_order_by_midnight", Some(4))]);
        let zone = Some(jiff::tz::TimeZone::UTC);
        let text = format!("DATE,TIME,x\n4/5/2025,23:59:58,1\n{after},00:00:00,3\n");
        let log = try_read(text.as_bytes(), CsvOptions { zone, ..CsvOptions::default() }).unwrap();
        assert_eq!(log.clock.first_utc.unwrap().to_string()[..10], *reading);
    }
}

#[test]
fn the_named_order_must_fit() {
    let text = b"DATE,TIME,x\n13/5/2025,10:00:00,1\n14/5/2025,10:00:01,2\n";
    let order = |order| CsvOptions { date_order: Some(order), ..CsvOptions::default() };
    let message = try_read(text, order(DateOrder::MonthFirst)).unwrap_err().to_string();
    assert!(message.contains("row 2, column `DATE`: `13/5/2025` is no date that is written month first"), "{message}");
    assert!(try_read(text, order(DateOrder::DayFirst)).is_ok());
    let iso = b"time,x\n2025-05-13T10:00:00,1\n";
    assert!(try_read(iso, order(DateOrder::MonthFirst)).is_ok(), "a leading year needs no order");
    let clash = error("DATE,TIME,x\n13/5/2025,10:00:00,1\n5/14/2025,10:00:01,2\n");
    assert!(
        clash.contains("row 3 `5/14/2025` is not written day first, row 2 `13/5/2025` is not written month first"),
        "{clash}"
    );
}

#[test]
fn missing_cells_and_odd_cells() {
    let log = read("t [s],a,b\n0,1,NA\n1,,2\n2,N/A,3\n3,---,4\n4,5,oops\n5,6,inf\n");
    let [a, b] = &log.channels[..] else { panic!() };
    assert_eq!((numbers(a), &*a.times, a.missing), (&[1.0, 5.0, 6.0][..], &[0.0, 4.0, 5.0][..], 3));
    assert_eq!((numbers(b), &*b.times, b.missing), (&[2.0, 3.0, 4.0][..], &[1.0, 2.0, 3.0][..], 3));
    assert_eq!(codes(&log), [("cells_missing", Some(2)), ("cells_missing", Some(3)), ("not_a_number", Some(6))]);
    assert_eq!(log.findings[1].message, "3 of 6 cells are missing: rows 3 to 5");
    assert_eq!(log.findings[2].message, "row 6: not a number, taken as missing: `oops`");
}

#[test]
fn codes_keep_their_zeros() {
    let log = read("t [s],XPDR,COM1 [MHz],HDG [deg],GEAR,DOOR\n0,0021,118.005,359,1,OPEN\n1,7000,121.500,001,0,SHUT\n");
    assert_eq!(texts(&log.channels[0]), ["0021", "7000"]);
    assert_eq!(texts(&log.channels[1]), ["118.005", "121.500"]);
    assert_eq!(texts(&log.channels[4]), ["OPEN", "SHUT"]);
    let kinds: Vec<_> = log.channels.iter().map(|c| c.kind).collect();
    assert_eq!(kinds, [Kind::Discrete, Kind::Discrete, Kind::Angle, Kind::Discrete, Kind::Discrete]);
}

/// Where the file's first part misleads about a column's kind, the whole column decides.
#[test]
fn a_column_that_changes_its_kind_later() {
    let mut text = "t [s],a,b\n".to_owned();
    for i in 0..2000 {
        let late = i > 700;
        text += &format!("{i},{},{}\n", if late { "N37.1" } else { "1" }, if late { "7" } else { "wait" });
    }
    let log = read(&text);
    assert_eq!(texts(&log.channels[0])[..2], ["1", "1"]);
    assert_eq!((numbers(&log.channels[1]).len(), log.channels[1].missing), (1299, 701));
}

#[test]
fn rows_of_another_width_are_refused_by_physical_number() {
    let log = read("t [s],a,b\r\nnote: x, y\r\n\r\n0,1,2\r\n1,\"1\r\n\",2\r\n2,1\r\n3,1,2,9\r\n\r\n4,1,2");
    assert_eq!((log.rows_read, log.rows_refused), (3, 3));
    let found: Vec<_> = log.findings.iter().map(|f| f.message.as_str()).collect();
    assert_eq!(found[0], "row 2: free text between header and data; refused");
    assert_eq!(found[1], "rows 7, 8: not 3 cells like the others; refused");
    assert_eq!(*log.channels[0].times, [0.0, 1.0, 4.0]);
}

#[test]
fn free_text_with_as_many_cells_is_refused() {
    let log = read("t [s],a,b\nmade, by, hand\n0,1,2\n1,1,2\nlogger, stopped, here\n2,1,2\n");
    assert_eq!(codes(&log), [("text_line", Some(2)), ("row_without_time", Some(5))]);
    assert_eq!((log.rows_read, log.rows_refused), (3, 2));
}

#[test]
fn a_damaged_first_row_is_no_free_text() {
    let log = read("DATE,TIME,x\n13/5/2025,10:00:00\n13/5/2025,10:00:01,1\n");
    assert_eq!(codes(&log), [("row_width", Some(2))]);
}

#[test]
fn an_open_quote_is_named() {
    let log = read("t [s],a,b\n0,1,2\n1,\"1,2\n2,1,2\n3,1,2\n");
    assert_eq!(codes(&log), [("row_width", Some(3)), ("open_quote", Some(3))]);
    assert!(log.findings[1].message.contains("in row 5"), "{}", log.findings[1].message);
}

#[test]
fn trailing_delimiters_are_no_columns() {
    for text in ["t [s],a\n0,1,\n1,2,\n", "t [s],a,\n0,1,\n1,2,\n", "t [s],a,\n0,1\n1,2\n"] {
        let log = read(text);
        assert_eq!((log.channels.len(), log.rows_read, log.findings.len()), (1, 2, 0), "{text}");
    }
}

#[test]
fn clocks_that_do_not_advance() {
    let log = read("time_ms,a\n0,1\n100,2\n100,3\n200,4\n150,5\n300,6\n");
    assert_eq!(numbers(&log.channels[0]), [1.0, 2.0, 4.0, 6.0]);
    assert_eq!(*log.channels[0].times, [0.0, 0.1, 0.2, 0.3]);
    assert_eq!(codes(&log), [("stamp_repeated", Some(4)), ("clock_back", Some(6))]);
    assert_eq!((log.rows_read, log.rows_refused), (4, 2));
    assert_eq!((log.clock.kind, log.clock.resolution_s, &*log.clock.last), (ClockKind::Counter, 0.1, "300"));
}

#[test]
fn encodings() {
    let table = "time;Öltemperatur (°C);Lampe\n2026-06-15 08:30:00;80;geöffnet\n2026-06-15 08:30:01;81;geschlossen\n";
    let utf16: Vec<u8> = [0xff, 0xfe].into_iter().chain(table.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    let marked = [b"\xef\xbb\xbf", table.as_bytes()].concat();
    let latin: Vec<u8> = table.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    let old_mac = table.replace('\n', "\r").into_bytes();
    for (bytes, note) in [(table.as_bytes().to_vec(), 0), (utf16, 1), (marked, 0), (latin, 1), (old_mac, 0)] {
        let log = try_read(&bytes, CsvOptions::default()).unwrap();
        assert_eq!((&*log.channels[0].name, log.channels[0].unit.as_deref()), ("Öltemperatur", Some("°C")));
        assert_eq!(texts(&log.channels[1]), ["geöffnet", "geschlossen"]);
        assert_eq!(log.findings.iter().filter(|f| f.code == "encoding").count(), note);
    }
}

#[test]
fn what_is_no_log() {
    let fails = |bytes: &[u8]| try_read(bytes, CsvOptions::default()).unwrap_err().to_string();
    assert!(fails(b"").contains("not a log: the file is empty"));
    assert!(fails(b"\n \n\n").contains("not a log: it holds only blanks"));
    assert!(fails(b"\0\0\0\x20ftypisom\0\0\0\0").contains("not a log: it is a film"));
    assert!(fails(&[0, 1, 2, 3, 200, 0, 9]).contains("not a log: its bytes are not text"));
    assert!(fails(b"a text\nof some lines\n").contains("not a log: its lines do not divide into columns"));
    assert!(fails(b"name,colour\nDunlin,grey\n").contains("no column holds times (columns: name, colour)"));
    assert!(fails(b"0,1,2\n1,2,3\n").contains("row 1: expected a header row"));
    assert!(fails(b"t [s],a\n").contains("row 1: a header without data rows"));
    assert!(fails(b"DATE,TIME,a\nfree text, two cells\n").contains("row 1: a header without data rows"));
    let missing = recorder::read(std::path::Path::new("no such file.csv"), &Options::default()).unwrap_err();
    assert!(missing.to_string().contains("no such file.csv: cannot be opened"));
}

#[test]
fn an_open_date_is_no_instant_even_with_a_zone() {
    let zone = Some(jiff::tz::TimeZone::UTC);
    let options = CsvOptions { zone, ..CsvOptions::default() };
    let log = try_read(b"DATE,TIME,x\n4/5/2025,13:12:02,1\n", options.clone()).unwrap();
    assert_eq!(log.clock.first_utc, None);
    let log = try_read(b"t [s],x\n0,1\n", options).unwrap();
    assert_eq!(codes(&log), [("zone_unused", None)]);
}

#[test]
fn a_gap_is_more_than_one_and_a_half_steps() {
    let summary = recorder::describe(&read("t [s],x\n0,1\n1,1\n2,1\n4,1\n5.4,1\n"));
    let gaps: Vec<_> = summary.channels[0].gaps.iter().map(|gap| (gap.from_s, gap.to_s)).collect();
    assert_eq!(gaps, [(2.0, 4.0)]);
}

/// The face of `inspect --json`: names and order of the keys.
#[test]
fn described_as_json() {
    let log = read("t [s],IAS [kt],DOOR\n0,40,OPEN\n1,NA,OPEN\n2,42,SHUT\n9,43,SHUT\n");
    let mut json = serde_json::to_value(recorder::describe(&log)).unwrap();
    json["file"] = "log.csv".into();
    let expected = serde_json::json!({
        "file": "log.csv", "kind": "log", "format": "csv", "rows_read": 4, "rows_refused": 0, "rows_left_out": 1,
        "clock": {"kind": "counter", "first": "0", "last": "9", "resolution_s": 1.0},
        "channels": [
            {"name": "IAS", "unit": "kt", "samples": 3, "missing": 1, "first_s": 0.0, "last_s": 9.0, "rate_hz": 0.5,
             "min": 40.0, "max": 43.0, "gaps": [{"from_s": 2.0, "to_s": 9.0}]},
            {"name": "DOOR", "unit": null, "samples": 4, "missing": 0, "first_s": 0.0, "last_s": 9.0, "rate_hz": 1.0,
             "min": null, "max": null, "gaps": [{"from_s": 2.0, "to_s": 9.0}]},
        ],
        "findings": [{"severity": "note", "row": 3, "at_s": 1.0, "column": "IAS", "code": "cells_missing",
                      "message": "1 of 4 cells are missing: row 3"}],
    });
    assert_eq!(json.to_string(), expected.to_string());
    let open = recorder::describe(&read("DATE,TIME,x\n4/5/2025,13:12:02,1\n"));
    let json = serde_json::to_value(open).unwrap();
    assert_eq!(json["clock"]["date_readings"], serde_json::json!(["2025-05-04T13:12:02", "2025-04-05T13:12:02"]));
}

proptest! {
    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = try_read(&bytes, CsvOptions::default());
    }

    /// Text that is nearly a log reaches further in than bytes do.
    #[test]
    fn no_text_makes_it_panic(cells in proptest::collection::vec(
        prop_oneof![
            Just("\n"), Just("\n"), Just("\r\n"), Just("\""), Just("NA"), Just("4/5/2025"), Just("31/12/99"), Just("13:12:02"),
            Just("24:00:00"), Just("0:0"), Just("1e300"), Just("-9223372036854775808"), Just("123.456"), Just("é"), Just("DATE"),
            Just("2026-06-30T23:59:60Z"), Just("2149-12-31 23:59"), Just("1900-01-01 00:00"), Just("kt"), Just("Z"), Just(" "),
        ], 0..60), head in prop_oneof![Just("t [s]"), Just("time_h"), Just("TIME"), Just("DATE,TIME")]) {
        let _ = try_read(format!("{head},a,b\n{}", cells.join(",")).as_bytes(), CsvOptions::default());
    }

    /// A table that we write comes back as it was, whatever separates and ends its lines.
    #[test]
    fn round_trip(
        rows in proptest::collection::vec((1u32..5000, proptest::option::of(-1e6f64..1e6), 0u8..4), 1..60),
        delimiter in prop_oneof![Just(","), Just(";"), Just("\t"), Just("|")],
        end in prop_oneof![Just("\n"), Just("\r\n")],
    ) {
        let mut text = ["time_ms", "OILP [psi]", "XPDR"].join(delimiter) + end;
        let mut ms = 0u64;
        let mut expected = Vec::new();
        for (step, value, code) in &rows {
            let value_text = value.map_or_else(|| "NA".to_owned(), |v| v.to_string());
            text += &([ms.to_string(), value_text, format!("00{code}1")].join(delimiter) + end);
            expected.extend(value.map(|v| (ms as f64 / 1000.0, v)));
            ms += u64::from(*step);
        }
        let log = read(&text);
        prop_assert_eq!((log.rows_read, log.rows_refused), (rows.len(), 0));
        let got: Vec<_> = log.channels[0].times.iter().copied().zip(numbers(&log.channels[0]).iter().copied()).collect();
        prop_assert_eq!(got, expected);
        let codes: Vec<_> = rows.iter().map(|(.., code)| format!("00{code}1")).collect();
        prop_assert_eq!(texts(&log.channels[1]), codes);
    }
}

/// Opening a pipe would wait for ever.
#[test]
fn folders_and_pipes_are_no_logs() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = folder.path().join("pipe.csv");
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    for path in [folder.path(), &pipe] {
        let refused = recorder::read(path, &Options::default()).unwrap_err().to_string();
        assert!(refused.contains("a folder or a pipe"), "{refused}");
    }
}

//! Two engine monitor records of real aeroplanes (`real/ORIGINS.md`: hoche, libjpiedm, CC BY 4.0).
//!
//! Every figure here was taken by Python's csv module, not by the reader under test.
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use jumpseat::finding::{Finding, Severity};
use jumpseat::recorder::{self, ClockKind, CsvOptions, DateOrder, Options, Recording};
use jumpseat::signal::{Channel, Kind, Samples};
use std::path::Path;

fn log(name: &str, csv: CsvOptions) -> Recording {
    recorder::read(&Path::new("tests/real/logs").join(name), &Options { csv }).unwrap()
}

fn twin() -> Recording {
    log("engine_monitor_twin_Flt53.csv", CsvOptions::default())
}

fn single() -> Recording {
    log("engine_monitor_single_Flt186.csv", CsvOptions::default())
}

fn channel<'a>(recording: &'a Recording, name: &str) -> &'a Channel {
    recording.channels.iter().find(|c| c.name == name).unwrap()
}

fn numbers<'a>(recording: &'a Recording, name: &str) -> &'a [f64] {
    match &channel(recording, name).samples {
        Samples::Numbers(values) => values,
        Samples::Texts(_) => panic!("{name} holds texts"),
    }
}

fn finding<'a>(recording: &'a Recording, code: &str, column: Option<&str>) -> &'a Finding {
    recording.findings.iter().find(|f| f.code == code && f.column.as_deref() == column).unwrap()
}

#[test]
fn twin_rows_and_clock() {
    let log = twin();
    assert_eq!((log.rows_read, log.rows_refused, log.channels.len()), (1276, 2, 51));
    let text = finding(&log, "text_line", None);
    assert_eq!((text.row, text.severity), (Some(2), Severity::Note));
    assert!(text.message.starts_with("rows 2, 3: "), "{}", text.message);
    let clock = &log.clock;
    assert_eq!((clock.kind, clock.resolution_s, clock.first_utc), (ClockKind::Local, 1.0, None));
    assert_eq!((&*clock.first, &*clock.last), ("3/4/2025 14:43:26", "3/4/2025 16:50:56"));
    assert_eq!(clock.date_readings, Some(("2025-04-03T14:43:26".into(), "2025-03-04T14:43:26".into())));
    let times = &channel(&log, "LRPM").times;
    assert!(times.iter().enumerate().all(|(i, t)| *t == 6.0 * i as f64));
    assert_eq!(log.duration_s(), 7650.0);
}

#[test]
fn twin_values() {
    let log = twin();
    // Index of the data row (row 4 of the file is 0), then left and right rpm, first EGT, right manifold pressure.
    for (i, left, right, egt, map) in [
        (0, 1480.0, 0.0, 747.0, 30.2),
        (8, 1297.0, 639.0, 969.0, 27.4),
        (640, 2582.0, 2001.0, 1212.0, 16.5),
        (1275, 249.0, 238.0, 771.0, 26.3),
    ] {
        let at = |name| numbers(&log, name)[i];
        assert_eq!((at("LRPM"), at("RRPM"), at("LE1"), at("RMAP")), (left, right, egt, map), "row {}", i + 4);
    }
    assert_eq!(numbers(&log, "LRPM").iter().sum::<f64>(), 2_633_652.0);
    assert_eq!(numbers(&log, "RRPM").iter().sum::<f64>(), 2_487_850.0);
}

#[test]
fn twin_absent_columns_are_named() {
    let log = twin();
    for name in ["BAT2", "SPD", "ALT", "LAT", "LNG", "MARK"] {
        assert_eq!((channel(&log, name).times.len(), channel(&log, name).missing), (0, 1276), "{name}");
        assert_eq!(finding(&log, "column_empty", Some(name)).severity, Severity::Note);
    }
    assert_eq!(log.findings.iter().filter(|f| f.severity > Severity::Note).count(), 1, "the open date alone");
    assert_eq!(finding(&log, "date_order_open", Some("DATE")).row, Some(4));
}

#[test]
fn single_rows_and_clock() {
    let log = single();
    assert_eq!((log.rows_read, log.rows_refused, log.channels.len()), (1743, 1, 38));
    assert_eq!(log.clock.date_readings, Some(("2025-05-04T13:12:02".into(), "2025-04-05T13:12:02".into())));
    assert!(channel(&log, "RPM").times.iter().enumerate().all(|(i, t)| *t == i as f64));
    assert_eq!(finding(&log, "text_line", None).message, "row 2: free text between header and data; refused");
}

#[test]
fn single_values_and_missing_cells() {
    let log = single();
    for (i, rpm, egt, flow) in
        [(0, 1089.0, 747.0, 5.1), (8, 992.0, 960.0, 4.0), (640, 2709.0, 1255.0, 29.7), (1742, 270.0, 932.0, 0.3)]
    {
        let at = |name| numbers(&log, name)[i];
        assert_eq!((at("RPM"), at("E1"), at("FF")), (rpm, egt, flow), "row {}", i + 3);
    }
    let speed = channel(&log, "SPD");
    assert_eq!((speed.missing, speed.times.len()), (80, 1663));
    assert_eq!(numbers(&log, "SPD").iter().sum::<f64>(), 124_608.0);
    assert!(std::sync::Arc::ptr_eq(&channel(&log, "RPM").times, &channel(&log, "E1").times), "times are shared");
    let missing = finding(&log, "cells_missing", Some("SPD"));
    assert_eq!(missing.row, Some(3));
    assert!(missing.message.starts_with("80 of 1743 cells are missing: rows 3 to"), "{}", missing.message);
    let Samples::Texts(latitudes) = &channel(&log, "LAT").samples else { panic!("positions are texts") };
    assert_eq!((latitudes.len(), &**latitudes.last().unwrap()), (1723, "N37.20.16"));
    assert_eq!(channel(&log, "LAT").kind, Kind::Discrete);
    assert_eq!(channel(&log, "SPD").kind, Kind::Continuous);
}

#[test]
fn the_owner_closes_what_is_open() {
    let zone = Some(jiff::tz::TimeZone::fixed(jiff::tz::Offset::from_seconds(-7 * 3600).unwrap()));
    let options = |date_order| CsvOptions { date_order: Some(date_order), zone: zone.clone(), ..CsvOptions::default() };
    for (order, utc) in [(DateOrder::MonthFirst, "2025-04-05T20:12:02Z"), (DateOrder::DayFirst, "2025-05-04T20:12:02Z")]
    {
        let log = log("engine_monitor_single_Flt186.csv", options(order));
        assert_eq!(log.clock.first_utc.map(|t| t.to_string()), Some(utc.into()));
        assert_eq!(log.clock.date_readings, None);
        assert!(log.findings.iter().all(|f| f.severity == Severity::Note), "{:?}", log.findings);
    }
}

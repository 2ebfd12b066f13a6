//! A log whose logger was switched off and on: its parts have no common clock, and each gets its own.
#![allow(clippy::expect_used, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::clock::{ClockId, Clocks, Moment};
use std::path::Path;
use std::process::{Command, Output};

/// Two seconds before a restart, and five after it: the count begins anew.
const RESTARTED: &str = "t [s],Volts\n500,20\n501,21\n502,22\nt [s],Volts\n0,24\n1,25\n2,26\n3,27\n4,28\n5,29\n";
const AIR: &str = "UTC,IAS\n2026-06-15T08:30:00Z,40\n2026-06-15T08:31:00Z,41\n2026-06-15T08:32:00Z,42\n";

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_jumpseat")).current_dir(folder).args(arguments).output().expect("started")
}

fn flight(folder: &Path, text: &str) {
    for (name, text) in [("air.csv", AIR), ("engine.csv", RESTARTED), ("flight.toml", text)] {
        std::fs::write(folder.join(name), text).expect("file");
    }
}

const BOTH: &str = "[[log]]\nname = \"air\"\nfile = \"air.csv\"\nreference = true\n
[[log]]\nname = \"before\"\nfile = \"engine.csv\"\npower_up = 1\n
[[log]]\nname = \"after\"\nfile = \"engine.csv\"\npower_up = 2\n";

#[test]
fn inspect_shows_every_part() {
    let folder = tempfile::tempdir().expect("folder");
    flight(folder.path(), "");
    let text = run(folder.path(), &["inspect", "engine.csv"]);
    let text = String::from_utf8_lossy(&text.stdout).into_owned();
    assert!(text.contains("part 1: 500 to 502, 3 rows in lines 2 to 4\n"), "{text}");
    assert!(text.contains("part 2: 0 to 5, 6 rows in lines 6 to 11, read here\n"), "{text}");
    let json = run(folder.path(), &["inspect", "--json", "engine.csv"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let expected = serde_json::json!([
        {"first_row": 2, "last_row": 4, "rows": 3, "first": "500", "last": "502", "read": false},
        {"first_row": 6, "last_row": 11, "rows": 6, "first": "0", "last": "5", "read": true},
    ]);
    assert_eq!(json[0]["parts"], expected);
}

#[test]
fn parts_are_never_joined_unasked() {
    let folder = tempfile::tempdir().expect("folder");
    flight(folder.path(), BOTH);
    let checked = run(folder.path(), &["check", "flight.toml"]);
    let said = String::from_utf8_lossy(&checked.stderr).into_owned();
    assert_eq!(checked.status.code(), Some(2), "{said}");
    for log in ["before", "after"] {
        assert!(said.contains(&format!("nothing joins the clock of the log `{log}`")), "{said}");
    }
    assert!(said.contains("[[clock.mark]]"), "{said}");
}

/// One mark for each part places it; what stands between them stays empty.
#[test]
fn each_part_has_its_own_clock() {
    let folder = tempfile::tempdir().expect("folder");
    let marks = "[[clock.mark]]\nair = 10\nbefore = 1\n[[clock.mark]]\nair = 62\nafter = 2\n";
    flight(folder.path(), &format!("{BOTH}{marks}"));
    let checked = run(folder.path(), &["check", "flight.toml"]);
    assert_eq!(checked.status.code(), Some(0), "{}", String::from_utf8_lossy(&checked.stderr));
    let path = folder.path().join("flight.toml");
    let flight = jumpseat::flight::open(&path).expect("a flight file");
    let logs: Vec<_> = flight
        .logs
        .iter()
        .map(|log| {
            let options = jumpseat::recorder::Options { csv: log.csv.clone() };
            jumpseat::recorder::read(&log.file, &options).expect("a log")
        })
        .collect();
    let clocks = Clocks {
        reference: 0,
        logs: logs.iter().map(jumpseat::session::dated).collect(),
        loggers: vec![0, 1, 1],
        films: 0,
    };
    let moment = |m: &jumpseat::flight::MarkEntry| Moment {
        times: m.logs_s.iter().enumerate().filter_map(|(i, t)| Some((ClockId::Log(i), (*t)?, 0.0))).collect(),
        sigma_s: 0.05,
        why: "mark".into(),
    };
    let moments: Vec<_> = flight.clock.marks.iter().map(moment).collect();
    let joined = clocks.join(jumpseat::clock::marks::evidence(&moments, ClockId::Log(0)));
    let at = |log: usize, session_s: f64| joined.logs[log].as_ref().expect("a fit").at(session_s);
    assert!((at(1, 10.0) - 1.0).abs() < 1e-9 && (at(2, 62.0) - 2.0).abs() < 1e-9);
    assert_eq!((logs[1].channels[0].times.len(), logs[2].channels[0].times.len()), (3, 6));
}

/// Keys that only a table can follow are told where the log is none, each with its line.
#[test]
fn keys_for_tables_are_told_on_other_formats() {
    let folder = tempfile::tempdir().expect("folder");
    let keys =
        "[[log]]\nname = \"gps\"\nfile = \"gps.log\"\nzone = \"Europe/London\"\nseparator = \"tab\"\npower_up = 1\n";
    flight(folder.path(), keys);
    let sentence = "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\n";
    std::fs::write(folder.path().join("gps.log"), sentence).expect("log");
    let json = run(folder.path(), &["check", "--json", "flight.toml"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let told: Vec<_> =
        json["findings"].as_array().expect("findings").iter().filter(|f| f["code"] == "key_for_tables").collect();
    let lines: Vec<_> =
        told.iter().map(|f| (f["line"].as_u64(), f["message"].as_str().unwrap_or_default().contains("nmea"))).collect();
    assert_eq!(lines, [(Some(5), true), (Some(6), true)], "{json}");
}

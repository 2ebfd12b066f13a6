//! Sessions for tests: of channels made by hand, and of an invented flight's files.
#![allow(
    dead_code,
    clippy::expect_used,
    reason = "each test takes what it needs, and stops at what is not as it must be"
)]

use jumpseat::clock::{ClockId, Clocks, Moment, OWNER_SIGMA_S, marks};
use jumpseat::flight;
use jumpseat::recorder::{self, Clock, ClockKind, Format, Options, Recording};
use jumpseat::session::{Session, SessionLog, dated};
use jumpseat::signal::{Channel, Kind, Origin, Samples, StateRules};
use std::path::Path;

/// One record every `step_s` seconds, none where there is none.
pub fn channel(
    name: &str,
    unit: Option<&str>,
    kind: Kind,
    (step_s, rules): (f64, StateRules),
    values: &[Option<f64>],
) -> Channel {
    let records: Vec<(f64, f64)> =
        values.iter().enumerate().filter_map(|(i, value)| Some((i as f64 * step_s, (*value)?))).collect();
    Channel {
        name: name.into(),
        unit: unit.map(Into::into),
        kind,
        times: records.iter().map(|r| r.0).collect(),
        samples: Samples::Numbers(records.iter().map(|r| r.1).collect()),
        missing: 0,
        breaks: Vec::new(),
        rules,
        origin: Origin::Recorded,
    }
}

/// A log of them on a clock that counts from zero.
pub fn recording(channels: Vec<Channel>) -> Recording {
    let clock = Clock {
        kind: ClockKind::Counter,
        first: "0".into(),
        last: "0".into(),
        first_utc: None,
        resolution_s: 0.001,
        date_readings: None,
        columns: Vec::new(),
    };
    Recording {
        file: "log.csv".into(),
        format: Format::Csv,
        rows_read: 0,
        rows_refused: 0,
        rows_left_out: 0,
        parts: Vec::new(),
        clock,
        channels,
        findings: Vec::new(),
    }
}

/// The two logs of an invented flight, joined by the marks of its flight file.
pub fn session(folder: &Path) -> Session {
    let file = flight::open(&folder.join("flight.toml")).expect("flight file");
    assert!(file.faults.is_empty(), "{:?}", file.faults);
    let mut logs: Vec<SessionLog> = Vec::new();
    for entry in &file.logs {
        let csv = entry.csv.clone();
        let recording = recorder::read(&entry.file, &Options { csv }).expect("log");
        logs.push(SessionLog { name: entry.name.clone(), part_of: entry.part_of.clone(), recording, fit: None });
    }
    let moments: Vec<Moment> = file.clock.marks.iter().map(|mark| moment(&mark.logs_s)).collect();
    let clocks = Clocks {
        reference: file.reference(),
        logs: logs.iter().map(|log| dated(&log.recording)).collect(),
        loggers: (0..logs.len()).collect(),
        films: 0,
    };
    let joined = clocks.join(marks::evidence(&moments, ClockId::Log(clocks.reference)));
    for (log, fit) in logs.iter_mut().zip(joined.logs) {
        log.fit = fit;
    }
    Session::join(logs, file.reference())
}

/// A mark on the logs' clocks.
fn moment(logs_s: &[Option<f64>]) -> Moment {
    let times = logs_s.iter().enumerate().filter_map(|(i, time)| Some((ClockId::Log(i), (*time)?, 0.0)));
    Moment { times: times.collect(), sigma_s: OWNER_SIGMA_S, why: "mark".into() }
}

//! Logs as loggers really write them, by clause: each with the exact findings that it must give and the exact counts.
//!
//! The numbers are invented. Every case holds the count law: read, refused and left out are all the rows that are not blank.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

#[path = "nasty_csv/case.rs"]
mod case;
#[path = "nasty_csv/dialects.rs"]
mod dialects;
#[path = "nasty_csv/times.rs"]
mod times;

use case::Case;
use dialects::dialects;
use jumpseat::flight;
use jumpseat::keyfile::Document;
use jumpseat::recorder::{self, CsvOptions, Options, RecorderError, Recording};
use jumpseat::signal::Samples;
use std::collections::BTreeMap;
use std::path::Path;
use times::times;

/// What the flight file's keys say.
fn options(keys: &str) -> CsvOptions {
    let file = format!("[[log]]\nname = \"x\"\nfile = \"x.csv\"\n{keys}\n");
    let flight = flight::read(Document::of(Path::new("flight.toml"), file));
    assert!(flight.faults.is_empty(), "{keys}: {:?}", flight.faults);
    flight.logs[0].csv.clone()
}

fn read(bytes: &[u8], keys: &str) -> Result<Recording, RecorderError> {
    let folder = tempfile::tempdir().expect("folder");
    let file = folder.path().join("x.csv");
    std::fs::write(&file, bytes).expect("log");
    recorder::read(&file, &Options { csv: options(keys) })
}

#[test]
fn nasty_logs() {
    let cases: Vec<Case> = dialects().into_iter().chain(times()).collect();
    assert!(cases.len() >= 90, "{}", cases.len());
    let mut clauses: BTreeMap<&str, usize> = BTreeMap::new();
    cases.iter().for_each(|case| *clauses.entry(case.clause).or_default() += 1);
    assert!(clauses.values().all(|&n| n >= 2), "a clause has less than two: {clauses:?}");
    let mut wrong = Vec::new();
    for case in &cases {
        let shown = String::from_utf8_lossy(&case.bytes).into_owned();
        let complain = |what: String| format!("{} [{}]: {what}\n{shown}", case.clause, case.keys);
        let log = match read(&case.bytes, case.keys) {
            Ok(log) => log,
            Err(error) => {
                wrong.push(complain(error.to_string()));
                continue;
            }
        };
        let counts = [log.rows_read, log.rows_refused, log.rows_left_out];
        let findings: Vec<_> = log.findings.iter().map(|f| (f.code, f.row.unwrap_or(0))).collect();
        let channel = log.channels.iter().find(|c| c.name == case.channel.0);
        let values: Option<Vec<(f64, f64)>> = channel.map(|c| match &c.samples {
            Samples::Numbers(values) => c.times.iter().copied().zip(values.iter().copied()).collect(),
            Samples::Texts(_) => Vec::new(),
        });
        let utc = log.clock.first_utc.map(|t| t.to_string()).unwrap_or_default();
        if counts != case.counts {
            wrong.push(complain(format!("counts {counts:?}, not {:?}: {:?}", case.counts, log.findings)));
        }
        if findings != case.findings {
            wrong.push(complain(format!("{:?}, not {:?}", log.findings, case.findings)));
        }
        if values.as_deref() != Some(case.channel.1) {
            wrong.push(complain(format!("{values:?}, not {:?}", case.channel)));
        }
        if utc != case.utc {
            wrong.push(complain(format!("the first instant is `{utc}`, not `{}`", case.utc)));
        }
    }
    assert!(wrong.is_empty(), "{} wrong\n{}", wrong.len(), wrong.join("\n"));
}

/// What cannot be read says what to do.
#[test]
fn refusals_name_their_cure() {
    for (text, keys, words) in [
        ("t [s];A\n1,234;1\n1,334;2\n", "", "set decimal = \"point\" or \"comma\""),
        ("t [s],A\n0,1\n", "header_row = 9", "row 9: the flight file says"),
        ("t [s],A\n0,1\n", "time_column = \"tt\"", "the log does not have it"),
        ("t [s],A,B\n0,1,x\n1,2,y\n", "time_column = \"B\"", "holds no times (first value `x`)"),
        ("t [s],A\n0,1\n1,1\n", "power_up = 2", "1 parts"),
        ("time,A\n2026-03-29 01:30:00,1\n", "zone = \"Europe/London\"", "never comes in the zone"),
        ("time,A\n00:58,1\n00:59,2\n01:00,3\n", "", "hours and minutes, or minutes and seconds"),
        ("time,A\n1234567,1\n1234667,1\n", "", "state it, for example time=ms"),
    ] {
        let message = read(text.as_bytes(), keys).map(|log| log.findings).expect_err(text).to_string();
        assert!(message.contains(words), "{text}: {message}");
    }
}

//! Receivers' sentences, tracks and flight recorders' files as they really come, two or more for each clause: each with the exact findings
//! that it must give, the exact counts and one channel's numbers.
//!
//! The layouts are those of `tests/published/nmea_sentences.csv`, `igc_records.csv` and the schema of GPX 1.1; the numbers are invented.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

#[allow(dead_code, reason = "the tables of nasty_csv need more")]
#[path = "nasty_csv/case.rs"]
mod case;
#[path = "nasty_formats/igc.rs"]
mod igc;
#[path = "nasty_formats/nmea.rs"]
mod nmea;
#[path = "nasty_formats/tracks.rs"]
mod tracks;

use case::Case;
use jumpseat::recorder::{self, Options};
use jumpseat::signal::Samples;
use std::collections::BTreeMap;

#[test]
fn nasty_receivers_tracks_and_recorders() {
    let cases: Vec<Case> = nmea::cases().into_iter().chain(tracks::cases()).chain(igc::cases()).collect();
    let mut clauses: BTreeMap<&str, usize> = BTreeMap::new();
    cases.iter().for_each(|case| *clauses.entry(case.clause).or_default() += 1);
    assert!(clauses.values().all(|&n| n >= 2), "a clause has less than two: {clauses:?}");
    let folder = tempfile::tempdir().expect("folder");
    let mut wrong = Vec::new();
    for case in &cases {
        let file = folder.path().join("x.log");
        std::fs::write(&file, &case.bytes).expect("log");
        let shown = String::from_utf8_lossy(&case.bytes).into_owned();
        let mut complain = |what: String| wrong.push(format!("{}: {what}\n{shown}", case.clause));
        let log = match recorder::read(&file, &Options::default()) {
            Ok(log) => log,
            Err(error) => {
                complain(error.to_string());
                continue;
            }
        };
        let counts = [log.rows_read, log.rows_refused, log.rows_left_out];
        let findings: Vec<_> = log.findings.iter().map(|f| (f.code, f.row.unwrap_or(0))).collect();
        let channel = log.channels.iter().find(|c| c.name == case.channel.0);
        let values: Vec<(f64, f64)> = match channel.map(|c| (&c.samples, &c.times)) {
            Some((Samples::Numbers(values), times)) => times.iter().copied().zip(values.iter().copied()).collect(),
            _ => Vec::new(),
        };
        let near = |(a, b): (&(f64, f64), &(f64, f64))| a.0 == b.0 && (a.1 - b.1).abs() < 1e-9;
        let utc = log.clock.first_utc.map(|t| t.to_string()).unwrap_or_default();
        if counts != case.counts || findings != case.findings || utc != case.utc {
            complain(format!(
                "{counts:?}, not {:?}; {findings:?}, not {:?}; `{utc}`, not `{}`; {:?}",
                case.counts, case.findings, case.utc, log.findings
            ));
        }
        let wanted = case.channel.1;
        if values.len() != wanted.len() || !values.iter().zip(wanted).all(near) {
            complain(format!("{values:?}, not {:?}", case.channel));
        }
    }
    assert!(wrong.is_empty(), "{} wrong\n{}", wrong.len(), wrong.join("\n"));
}

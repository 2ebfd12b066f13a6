//! What channels that are computed cost on a long log: no rule may go over all records again for each of them, and all rules
//! together may not cost many times what reading the log costs.
//!
//! What counts is the time that this thread had the processor, and only in proportion: twice the rows against once, computing
//! against reading, the least of several rounds in turn. So neither the machine nor what else runs on it decides.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops at the first thing that is not as it must be"
)]

#[path = "benches/long_logs/mod.rs"]
mod long_logs;

use jumpseat::recorder::{self, Options};
use jumpseat::session::{Basis, DERIVED, Session};
use long_logs::{Kind, RATE};
use rustix::time::{ClockId, clock_gettime};
use std::path::Path;

/// All that the owner can state, so that every rule works.
fn basis() -> Basis {
    Basis {
        settings_hpa: vec![(0.0, 1013.0), (60.0, 1009.0)],
        field_elevation_ft: Some(300.0),
        position_error_kt: vec![(20.0, 22.0), (60.0, 61.0), (120.0, 119.0)],
        slowest_kt: 20.0,
        rotor_rpm_at_100: Some(530.0),
        engine_rpm_at_100: Some(2700.0),
        fuel_at_start_l: Some(150.0),
        fuel_density_kg_m3: Some(720.0),
        fuel_reserve_l: Some(20.0),
        flow_in_flight_l_h: Some(20.0),
        ..Basis::default()
    }
}

/// Seconds of the processor that reading the log and computing its channels takes, and how many were computed.
fn cost(log: &Path) -> (f64, f64, usize) {
    let now = || {
        let time = clock_gettime(ClockId::ThreadCPUTime);
        time.tv_sec as f64 + time.tv_nsec as f64 / 1e9
    };
    let start = now();
    let recording = recorder::read(log, &Options::default()).expect("a log");
    let read = now();
    let session = Session::of(recording).derived(&basis());
    (
        read - start,
        now() - read,
        session.channels().filter(|(_, name, _)| name.starts_with(&format!("{DERIVED}."))).count(),
    )
}

#[test]
fn rules_take_a_long_log_in_one_go() {
    let folder = tempfile::tempdir().expect("folder");
    let (short, long) = (folder.path().join("short.csv"), folder.path().join("long.csv"));
    let rows = 3 * 60 * RATE;
    long_logs::write(&short, Kind::Plain, rows).expect("log");
    long_logs::write(&long, Kind::Plain, 3 * rows).expect("log");
    let (mut once, mut thrice, mut reading) = (f64::INFINITY, f64::INFINITY, f64::INFINITY);
    for _ in 0..5 {
        let (_, computing, computed) = cost(&short);
        assert!(computed >= 10, "only {computed} channels were computed");
        once = once.min(computing);
        let (read, computing, _) = cost(&long);
        (reading, thrice) = (reading.min(read), thrice.min(computing));
    }
    // A rule that goes over all records for each of them takes nine times as long for thrice the rows.
    assert!(thrice < 4.0 * once, "thrice the rows take {:.1} times as long", thrice / once);
    assert!(thrice < MOST * reading, "computing takes {:.1} times what reading takes", thrice / reading);
    println!("thrice the rows: {:.2} times; beside reading: {:.2} times", thrice / once, thrice / reading);
}

/// How many times what reading a log of forty columns takes all channels computed from it may take.
const MOST: f64 = 12.0;

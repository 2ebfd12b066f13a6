//! Phases: invented flights against the script that they were flown by, and any series against the words of the rules.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::clock::{self, Moment};
use jumpseat::demo::{self, DemoOptions};
use jumpseat::flight;
use jumpseat::judge::{Phase, judge};
use jumpseat::panel::file;
use jumpseat::recorder::{self, CsvOptions, Options};
use jumpseat::session::{Session, SessionLog, dated};
use std::path::Path;

fn session(folder: &Path) -> Session {
    let file = flight::open(&folder.join("flight.toml")).expect("flight file");
    let mut logs: Vec<SessionLog> = Vec::new();
    for entry in &file.logs {
        let csv = CsvOptions { units: entry.units.clone(), ..CsvOptions::default() };
        let recording = recorder::read(&entry.file, &Options { csv }).expect("log");
        logs.push(SessionLog { name: entry.name.clone(), recording, fit: None });
    }
    let marks =
        file.marks.iter().map(|mark| Moment { film_s: mark.film_s, logs_s: mark.logs_s.clone(), why: "mark".into() });
    let dates: Vec<_> = logs.iter().map(|log| dated(&log.recording)).collect();
    let joined = clock::join(file.reference(), &dates, &marks.collect::<Vec<_>>(), None);
    for (log, fit) in logs.iter_mut().zip(joined.logs) {
        log.fit = fit;
    }
    Session::join(logs, file.reference())
}

#[test]
fn look() {
    for (seed, seconds) in [(1u64, 600.0), (2, 90.0), (3, 60.0)] {
        let folder = tempfile::tempdir().expect("folder");
        let folder = folder.path();
        demo::write(folder, &DemoOptions { seconds, seed, film: false }).expect("flight");
        let read = file::open(&folder.join("panel.toml")).expect("panel");
        assert!(read.faults.is_empty(), "{:?}", read.faults);
        let mut panel = read.panel;
        panel.phases.as_mut().expect("rules").follow(Some(420.0));
        let judged = judge(&session(folder), &panel);
        println!("seed {seed}, {seconds} s, +- {}", judged.phases.plus_minus_s);
        for (from, phase) in judged.phases.line.turns() {
            println!("{from:9.2} {}", phase.name());
        }
        let truth = std::fs::read_to_string(folder.join("truth.csv")).expect("truth");
        let mut rows = truth.lines().skip(1).map(|l| l.split(',').take(2).map(|c| c.parse::<f64>().expect("n")).collect::<Vec<_>>());
        let first = rows.next().expect("row");
        println!("{:?}", first);
        println!("{}", std::fs::read_to_string(folder.join("events.csv")).expect("events"));
    }
    let _ = Phase::ALL;
}

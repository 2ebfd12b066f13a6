//! A hundred invented flights: every reading against the closed form that it came from.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

#[path = "truth/mod.rs"]
mod truth;

use jumpseat::demo::{self, DemoOptions};
use std::process::Command;
use truth::{ENGINE_CLOCK_S, STEP_S, Truth, interval, is_lamp, resolution};

#[derive(Default)]
struct Seen {
    measured: usize,
    held: usize,
    nothing: usize,
    derived: usize,
    worst: f64,
}

#[test]
fn a_hundred_flights_read_as_they_were_flown() {
    let mut seen = Seen::default();
    for seed in 1..=100u32 {
        // Compressed flights of all lengths, and one at true pace.
        let seconds = if seed == 100 { 600.0 } else { 60.0 + f64::from(seed % 31) };
        one_flight(seed.into(), seconds, &mut seen);
    }
    println!(
        "{} measured readings, worst at {:.2} of its tolerance; {} held, {} without a number",
        seen.measured, seen.worst, seen.held, seen.nothing
    );
    assert!(seen.measured > 500_000 && seen.held > 100 && seen.nothing > 100 && seen.derived > 100_000);
}

fn one_flight(seed: u64, seconds: f64, seen: &mut Seen) {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo::write(folder, &DemoOptions { seconds, seed, film: false }).expect("flight");
    let output = Command::new(env!("CARGO_BIN_EXE_jumpseat"))
        .current_dir(folder)
        .args(["readings", "flight.toml", "-o", "readings.csv", "--every", "0.25s", "--quiet"])
        .output()
        .expect("started");
    assert!(output.status.success(), "seed {seed}: {}", String::from_utf8_lossy(&output.stderr));
    let truth = Truth::read(folder);
    let (air_clock, true_clock) = (truth.column("air_s"), truth.column("true_s"));
    let events = std::fs::read_to_string(folder.join("events.csv")).expect("events");
    let drop_out = events.lines().find(|l| l.starts_with("sensor drop-out")).expect("a drop-out");
    let drop_out: Vec<f64> = drop_out.split(',').skip(1).map(|c| c.parse().expect("number")).collect();

    let text = std::fs::read_to_string(folder.join("readings.csv")).expect("readings");
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().expect("header").split(',').collect();
    assert_eq!(header[..3], ["session_s", "utc", "film_s"]);
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), header.len());
        let session: f64 = cells[0].parse().expect("time");
        let place = truth.at_clock(air_clock, session);
        for i in (3..header.len()).step_by(2) {
            let (channel, state) = (header[i], cells[i + 1]);
            let at = || format!("seed {seed}, {channel} at {session} s");
            let is_dropped = channel.starts_with("engine.Oil P");
            let now = truth.value(true_clock, place);
            let within = now.is_some_and(|t| t > drop_out[0] + 0.3 && t < drop_out[1] - 0.3);
            if is_dropped && within {
                assert_ne!(state, "measured", "{}", at());
            }
            match (state, cells[i].parse::<f64>()) {
                ("measured", Ok(value)) => {
                    // The logs begin before the truth and end after it by nothing: every measured moment has its truth.
                    let column = truth.column(channel);
                    let clock_s = if channel.starts_with("air.") { 0.0 } else { ENGINE_CLOCK_S };
                    if is_lamp(channel) {
                        let back = (interval(channel) + clock_s) / STEP_S;
                        let could = truth.values(column, place - back, place + clock_s / STEP_S);
                        assert!(could.contains(&value), "{}: {value}", at());
                    } else if let Some(real) = truth.value(column, place) {
                        let tolerance = truth.tolerance(column, place, resolution(channel), interval(channel), clock_s);
                        let off = (value - real).abs();
                        assert!(off <= tolerance, "{}: read {value}, true {real}, tolerance {tolerance}", at());
                        seen.worst = seen.worst.max(off / tolerance);
                    }
                    seen.measured += 1;
                }
                // Computed channels have tests of their own; the split is the truth's difference.
                ("derived", Ok(value)) => {
                    assert!(channel.starts_with("calc."), "{}", at());
                    if channel == "calc.Needle Split [%]" {
                        let of = |name: &str| {
                            let column = truth.column(name);
                            let (fine, dt) = (resolution(name), interval(name));
                            (truth.value(column, place), truth.tolerance(column, place, fine, dt, ENGINE_CLOCK_S))
                        };
                        if let ((Some(rotor), a), (Some(engine), b)) = (of("engine.Rotor [%]"), of("engine.Engine [%]"))
                        {
                            let off = (value - (rotor - engine)).abs();
                            assert!(off <= a + b, "{}: {value}, true {}", at(), rotor - engine);
                        }
                    }
                    seen.derived += 1;
                }
                ("held", Ok(_)) => seen.held += 1,
                ("stale" | "invalid", Err(_)) => {
                    assert!(cells[i].is_empty(), "{}: {}", at(), cells[i]);
                    seen.nothing += 1;
                }
                other => panic!("{}: {other:?}", at()),
            }
        }
    }
}

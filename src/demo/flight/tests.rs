use super::dunlin::{AIR, DROPPED, ENGINE};
use super::script::{self, DROP_OUT, Span};
use super::*;
use crate::recorder;
use std::collections::HashMap;

const NINETY: DemoOptions = DemoOptions { seconds: 90.0, seed: 1, film: false };

fn with_seed(seed: u64) -> DemoOptions {
    DemoOptions { seed, ..NINETY }
}

fn written(options: &DemoOptions) -> HashMap<&'static str, String> {
    let flight = Flight::invent(options).unwrap();
    let file = |(name, writer): (&'static str, Writer)| {
        let mut bytes = Vec::new();
        writer(&flight, &mut bytes).unwrap();
        (name, String::from_utf8(bytes).unwrap())
    };
    FILES.into_iter().map(file).collect()
}

/// Names and rows of a table; an empty cell is none.
fn table(text: &str) -> (Vec<&str>, Vec<Vec<Option<f64>>>) {
    let mut lines = text.lines();
    let names = lines.next().unwrap().split(',').collect();
    let row = |line: &str| line.split(',').map(|cell| cell.parse().ok()).collect();
    (names, lines.map(row).collect())
}

fn tenths_of_stamp(line: &str) -> f64 {
    let number = |from: usize, to: usize| line[from..to].parse::<f64>().unwrap();
    (number(11, 13) * 3600.0 + number(14, 16) * 60.0 + number(17, 21)) * 10.0
}

#[test]
fn the_seed_decides_every_byte() {
    let (one, again, two) = (written(&NINETY), written(&NINETY), written(&with_seed(2)));
    assert_eq!(one, again);
    for (name, text) in &one {
        // The panel is the aircraft's, whatever it does.
        assert_eq!(*text == two[name], *name == "panel.toml", "{name}");
    }
}

/// The values are published with the generator's reference code; from memory.
#[test]
fn the_generator_is_split_mix() {
    let mut chance = Chance::new(1_234_567);
    let first: Vec<u64> = (0..3).map(|_| chance.next()).collect();
    assert_eq!(first, [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]);
}

/// Every logged cell, by its own stamp alone, against the written truth between whose rows it lies.
#[test]
fn the_truth_holds_every_logged_cell() {
    for (seed, seconds) in [(1, 90.0), (2, 60.0), (3, 137.5), (4, 660.0)] {
        let files = written(&DemoOptions { seconds, seed, film: false });
        let (names, truth) = table(&files["truth.csv"]);
        let column = |name: &str| {
            let found = names.iter().position(|n| *n == name || n.starts_with(&format!("{name} [")));
            found.unwrap_or_else(|| panic!("{name} is not in the truth"))
        };
        let air_s: Vec<f64> = files["air.csv"].lines().skip(1).map(tenths_of_stamp).collect();
        let air_s: Vec<f64> = air_s.iter().map(|tenths| (tenths - air_s[0]) / 10.0).collect();
        let (_, air) = table(&files["air.csv"]);
        let (_, engine) = table(&files["engine.csv"]);
        let engine = &engine[1..];
        let engine_s: Vec<f64> = engine.iter().map(|row| (row[0].unwrap() - engine[0][0].unwrap()) / 1000.0).collect();
        let mut missing = 0;
        for (log, columns, rows, seconds) in
            [("air", &AIR[..], &air[..], air_s), ("engine", &ENGINE[..], engine, engine_s)]
        {
            let clock = column(&format!("{log}_s"));
            for (row, s) in rows.iter().zip(seconds) {
                let after = truth.partition_point(|r| r[clock].unwrap() <= s).clamp(1, truth.len() - 1);
                let (r0, r1) = (&truth[after - 1], &truth[after]);
                let u = (s - r0[clock].unwrap()) / (r1[clock].unwrap() - r0[clock].unwrap());
                for (i, described) in columns.iter().enumerate() {
                    let at = column(&format!("{log}.{}", described.name));
                    let (v0, v1) = (r0[at].unwrap(), r1[at].unwrap());
                    let Some(logged) = row[i + 1] else {
                        let t = r0[0].unwrap();
                        let events = files["events.csv"].lines().find(|l| l.starts_with("sensor drop-out")).unwrap();
                        let ends: Vec<f64> = events.split(',').skip(1).map(|cell| cell.parse().unwrap()).collect();
                        assert!(described.name == DROPPED && (ends[0] - 0.01..=ends[1]).contains(&t), "{t}");
                        missing += 1;
                        continue;
                    };
                    if described.step == 1.0 && described.unit.is_empty() {
                        assert!(logged == v0 || logged == v1, "{log}.{} at {s}: {logged}", described.name);
                        continue;
                    }
                    let mut off = (logged - (v0 + u * (v1 - v0))).abs();
                    if described.unit == "deg" {
                        off = off.min((off - 360.0).abs()).min((logged - v0).abs());
                    }
                    // Half a step, and the bow of the truth between its rows.
                    let bow = 0.02 * (v1 - v0).abs() + 0.005 * described.step;
                    assert!(
                        off <= 0.5 * described.step + bow,
                        "seed {seed}: {log}.{} at {s}: off {off}",
                        described.name
                    );
                }
            }
        }
        let dropped = (DROP_OUT.1 - DROP_OUT.0) * 10.0 * (seconds / 600.0).min(1.0);
        assert!((f64::from(missing) - dropped).abs() <= 1.0, "{missing} cells are missing, expected {dropped}");
    }
}

#[test]
fn clocks_disagree_by_an_offset_and_a_rate() {
    let mut offsets = Vec::new();
    for seed in 0..100 {
        let flight = Flight::invent(&with_seed(seed)).unwrap();
        let clocks = &flight.clocks;
        let offset = clocks.engine.at(clocks.air.time(0.0));
        assert!((10.0..60.0).contains(&offset), "{offset}");
        let rate = (clocks.engine.at(1e6) - clocks.engine.at(0.0)) / (clocks.air.at(1e6) - clocks.air.at(0.0));
        assert!((rate - 1.0).abs() <= 50.1e-6 && rate != 1.0, "{rate}");
        let (start, first) = (flight.script.span(script::ENGINE_START).0, clocks.air.time(0.0));
        assert!(first < start && clocks.film.time(0.0) < start && clocks.air_end < clocks.engine_end);
        assert!((clocks.air.time(clocks.air.at(start)) - start).abs() < 1e-9);
        offsets.push(offset);
    }
    let (least, most) = offsets.iter().fold((f64::MAX, f64::MIN), |(a, b), o| (a.min(*o), b.max(*o)));
    assert!(most - least > 15.0, "offsets from {least} to {most}");
}

/// Goes through a span in 200 steps, a part of it left out at both ends.
fn through(flight: &Flight, (from, to): Span, mut look: impl FnMut(f64, &[f64; 16])) {
    for i in 1..200 {
        let t = flight.script.time(from + (to - from) * f64::from(i) / 200.0);
        look(t, &flight.dunlin.engine(t));
    }
}

#[test]
fn rotor_and_engine_keep_to_the_phase() {
    for (seed, seconds) in [(1, 90.0), (7, 60.0), (8, 300.0), (9, 4000.0)] {
        let flight = Flight::invent(&DemoOptions { seconds, seed, film: false }).unwrap();
        through(&flight, (0.0, 600.0), |t, v| {
            let lamps: Vec<f64> = v[13..16].iter().copied().filter(|lamp| *lamp != 0.0).collect();
            assert_eq!(lamps, [1.0], "clutch lamps at {t}");
        });
        through(&flight, (0.0, 20.0), |_, v| assert_eq!((v[0], v[1], v[6], v[15]), (0.0, 0.0, 12.0, 1.0)));
        through(&flight, (48.0, 62.0), |_, v| assert_eq!((v[0], v[1]), (0.0, 62.0)));
        through(&flight, script::CLUTCH_ENGAGING, |t, v| {
            assert!(v[0] <= v[1] + 1e-9 && v[14] == 1.0, "engaging at {t}: {v:?}");
        });
        for joined in [(92.0, 350.0), (383.0, 430.0), (440.0, 566.0)] {
            through(&flight, joined, |t, v| assert!((v[0] - v[1]).abs() < 1e-9 && v[13] == 1.0, "at {t}: {v:?}"));
        }
        let mut split = 0.0_f64;
        through(&flight, script::AUTOROTATION, |t, v| {
            assert!(v[0] >= v[1] && v[0] > 96.0 && v[0] < 106.0, "autorotation at {t}: {v:?}");
            split = split.max(v[0] - v[1]);
        });
        assert!(split > 30.0, "the engine idles: {split}");
        split = 0.0;
        through(&flight, script::SLIPPING, |t, v| {
            assert!(v[1] >= v[0] && v[13] == 1.0 && v[1] < 105.5, "slipping at {t}: {v:?}");
            split = split.max(v[1] - v[0]);
        });
        assert!((5.0..9.0).contains(&split), "several percent: {split}");
        through(&flight, script::RUN_DOWN, |t, v| assert!(v[0] >= v[1], "run-down at {t}: {v:?}"));
    }
}

/// The scripted moments are what the channels say: conditions begin and end where the values cross, and nowhere else.
#[test]
fn events_are_what_the_channels_show() {
    for seed in 0..20 {
        let flight = Flight::invent(&with_seed(seed)).unwrap();
        let events: HashMap<_, _> =
            flight.dunlin.events().into_iter().map(|(name, from, to)| (name, (from, to))).collect();
        let flown = flight.script.span((140.0, 550.0));
        let mut t = flown.0;
        while t < flown.1 {
            let v = flight.dunlin.engine(t);
            let during = |name: &str, soon: f64| {
                let (from, to) = events[name];
                (from + soon..to - soon).contains(&t)
            };
            for (name, holds) in [
                ("low rotor", v[0] < 95.0),
                ("low rotor lamp", v[9] == 1.0),
                ("rotor ahead", v[0] - v[1] > 2.0),
                ("slipping", v[1] - v[0] > 2.0),
                ("chip light", v[12] == 1.0),
            ] {
                assert!(holds || !during(name, 1e-3), "seed {seed}: {name} at {t}: {v:?}");
                assert!(!holds || during(name, -1e-3), "seed {seed}: {name} at {t}, unannounced: {v:?}");
            }
            t += 0.01;
        }
        let (rule, lamp) = (events["low rotor"], events["low rotor lamp"]);
        assert!(rule.0 < lamp.0 && lamp.1 < rule.1 && lamp.1 - lamp.0 > 0.3, "the lamp trips below the rule");
    }
}

#[test]
fn the_flight_ends_where_it_began() {
    for seconds in [60.0, 90.0, 600.0, 5000.0] {
        let flight = Flight::invent(&DemoOptions { seconds, seed: 5, film: false }).unwrap();
        let (first, last) = (flight.dunlin.air(0.0), flight.dunlin.air(flight.script.end()));
        assert!((first[1] - 420.0).abs() < 1e-6 && (last[1] - 420.0).abs() < 1e-6, "{first:?} {last:?}");
        assert_eq!((first[3], last[3], first[6], last[6]), (0.0, 0.0, 0.0, 0.0));
        // ICAO Doc 7488/3: 30 ft of pressure altitude for a hectopascal near sea level; 29.87 inHg is 1.7 hPa low.
        assert!((first[2] - first[1] - 47.0).abs() < 2.0, "{first:?}");
        let fuel = flight.dunlin.engine(flight.script.end())[7];
        assert!((2.9..flight.dunlin.fuel_at_start).contains(&fuel), "{fuel}");
        assert!((flight.script.end() - flight.script.time(0.0) - seconds).abs() < 1e-9);
    }
}

#[test]
fn vertical_speed_is_the_slope_of_the_altitude_and_flow_that_of_the_fuel() {
    let flight = Flight::invent(&with_seed(6)).unwrap();
    through(&flight, (0.0, 600.0), |t, v| {
        let (before, after) = (flight.dunlin.air(t - 1e-4), flight.dunlin.air(t + 1e-4));
        let slope = (after[1] - before[1]) / 2e-4 * 60.0;
        assert!((slope - flight.dunlin.air(t)[3]).abs() < 1.0, "at {t}: {slope}");
        let (before, after) = (flight.dunlin.engine(t - 1e-4)[7], flight.dunlin.engine(t + 1e-4)[7]);
        // The float in the tank moves too: 0.08 US gal in 2.3 s.
        assert!(((before - after) / 2e-4 - v[2] / 3600.0).abs() < 0.23, "at {t}");
    });
}

/// The program's own reader takes both logs without a remark, but for the drop-out.
#[test]
fn the_logs_can_be_read() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), &NINETY).unwrap();
    let truth = written(&NINETY)["truth.csv"].lines().next().unwrap().to_owned();
    for (name, kind, hz) in [("air", recorder::ClockKind::Utc, 5.0), ("engine", recorder::ClockKind::Counter, 10.0)] {
        let log =
            recorder::csv::read(&folder.path().join(format!("{name}.csv")), &recorder::csv::CsvOptions::default());
        let log = log.unwrap();
        assert_eq!((log.clock.kind, log.rows_refused), (kind, 0));
        assert!((log.duration_s() - (log.rows_read - 1) as f64 / hz).abs() < 1e-6);
        for channel in &log.channels {
            let unit = channel.unit.map(|unit| format!(" [{}]", unit.symbol)).unwrap_or_default();
            let column = format!("{name}.{}{unit}", channel.name);
            assert!(truth.split(',').any(|c| c == column), "{column} is not in the truth");
        }
        let codes: Vec<&str> = log.findings.iter().map(|finding| finding.code).collect();
        assert!(codes.len() <= 1, "{name}: {:?}", log.findings);
    }
}

#[test]
fn the_files_say_that_their_rules_are_shortened() {
    let (short, full) = (written(&NINETY), written(&DemoOptions { seconds: 600.0, ..NINETY }));
    assert!(short["panel.toml"].contains("shortened") && short["flight.toml"].contains("shortened"));
    assert!(full["panel.toml"].contains("true pace") && full["flight.toml"].contains("true pace"));
    assert!(short["panel.toml"].contains("\nfor = 0.75\n") && full["panel.toml"].contains("\nfor = 5.00\n"));
    assert!(!short["panel.toml"].contains('@'));
}

#[test]
fn marks_show_the_same_moment_on_every_clock() {
    for seed in 0..100 {
        let options = DemoOptions { film: true, ..with_seed(seed) };
        let (flight, text) = (Flight::invent(&options).unwrap(), written(&options)["flight.toml"].clone());
        let values = |key: &str| -> Vec<f64> {
            let lines = text.lines().filter_map(|line| line.strip_prefix(key)?.strip_prefix(" = "));
            let seconds = |time: &str| {
                time.trim_matches('"').split(':').fold(0.0, |sum, part| sum * 60.0 + part.parse::<f64>().unwrap())
            };
            lines.map(seconds).collect()
        };
        let clocks = &flight.clocks;
        let marks = [("air", clocks.air), ("engine", clocks.engine), ("film", clocks.film)].map(|(key, clock)| {
            let times: Vec<f64> = values(key).into_iter().map(|s| clock.time(s)).collect();
            assert_eq!(times.len(), 2, "{key}");
            times
        });
        for (i, moment) in [script::LIGHT_OFF, script::RUN_DOWN.0].into_iter().enumerate() {
            for times in &marks {
                assert!((times[i] - flight.script.time(moment)).abs() < 0.02, "seed {seed}: {text}");
            }
        }
        assert!(text.contains("file = \"cockpit.mp4\""));
    }
    assert!(!written(&NINETY)["flight.toml"].contains("film"));
}

#[test]
fn refuses_what_it_cannot_do() {
    let folder = tempfile::tempdir().unwrap();
    for seconds in [59.9, 10_801.0, f64::NAN, -1.0] {
        assert!(matches!(write(folder.path(), &DemoOptions { seconds, ..NINETY }), Err(DemoError::Seconds { .. })));
    }
    let mine = folder.path().join("flight.toml");
    fs::write(&mine, "title = \"mine\"\n").unwrap();
    let refused = write(folder.path(), &NINETY).unwrap_err();
    assert!(matches!(&refused, DemoError::Exists { file } if *file == mine), "{refused}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "nothing else was written");
    let below_a_file = write(&mine.join("demo"), &NINETY).unwrap_err();
    assert!(matches!(below_a_file, DemoError::Write { .. }), "{below_a_file}");
}

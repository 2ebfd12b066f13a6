use super::dunlin::{AIR, DROPPED, ENGINE};
use super::script::{self, Span};
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

/// The written truth, row by row.
struct Truth<'a> {
    names: Vec<&'a str>,
    rows: Vec<Vec<Option<f64>>>,
}

impl Truth<'_> {
    fn column(&self, name: &str) -> usize {
        let found = self.names.iter().position(|n| *n == name || n.starts_with(&format!("{name} [")));
        found.unwrap_or_else(|| panic!("{name} is not in the truth"))
    }

    fn value(&self, row: usize, column: usize) -> f64 {
        self.rows[row][column].unwrap()
    }

    /// The row before which a clock shows `s`, at least two rows from either end.
    fn after(&self, clock: usize, s: f64) -> usize {
        self.rows.partition_point(|r| r[clock].unwrap() <= s).clamp(2, self.rows.len() - 2)
    }
}

/// Every cell of a log, by its own stamp alone, against the written truth between whose rows it lies; how many are empty.
fn compare(truth: &Truth, log: &str, columns: &[super::dunlin::Column], rows: &[(f64, Vec<Option<f64>>)]) -> usize {
    let clock = truth.column(&format!("{log}_s"));
    let mut missing = 0;
    for (i, described) in columns.iter().enumerate() {
        let at = truth.column(&format!("{log}.{}", described.name));
        for (s, row) in rows {
            let Some(logged) = row[i] else {
                assert_eq!(described.name, DROPPED);
                missing += 1;
                continue;
            };
            let after = truth.after(clock, *s);
            let [a, v0, v1, b] = [2, 1, 0, -1].map(|back| truth.value(after.wrapping_add_signed(-back), at));
            if described.unit.is_empty() {
                assert!(logged == v0 || logged == v1, "{log}.{} at {s}: {logged}", described.name);
                continue;
            }
            // A direction goes the shorter way from each value to the next.
            let near = |v: f64| if described.unit == "deg" { v - 360.0 * ((v - v0) / 360.0).round() } else { v };
            let [a, v1, b, logged] = [a, v1, b, logged].map(near);
            let (s0, s1) = (truth.value(after - 1, clock), truth.value(after, clock));
            let expected = v0 + (s - s0) / (s1 - s0) * (v1 - v0);
            // Half a step of the logger, and what the truth bows between two rows: an eighth of the second difference,
            // twice as much for where the bow itself changes.
            let bow = 0.25 * (a - 2.0 * v0 + v1).abs().max((v0 - 2.0 * v1 + b).abs());
            let off = (logged - expected).abs();
            assert!(off <= 0.5 * described.step + bow + 1e-9, "{log}.{} at {s}: off {off}", described.name);
        }
    }
    missing
}

#[test]
fn the_truth_holds_every_logged_cell() {
    for (seed, seconds) in [(1, 90.0), (2, 60.0), (3, 137.5), (4, 660.0)] {
        let files = written(&DemoOptions { seconds, seed, film: false });
        let (names, rows) = table(&files["truth.csv"]);
        let truth = Truth { names, rows };
        let stamps: Vec<f64> = files["air.csv"].lines().skip(1).map(tenths_of_stamp).collect();
        let air = stamps
            .iter()
            .zip(table(&files["air.csv"]).1)
            .map(|(tenths, row)| ((tenths - stamps[0]) / 10.0, row[1..].to_vec()));
        assert_eq!(compare(&truth, "air", &AIR, &air.collect::<Vec<_>>()), 0);
        let (_, rows) = table(&files["engine.csv"]);
        let first = rows[1][0].unwrap();
        // The first row holds the units.
        let engine: Vec<_> =
            rows[1..].iter().map(|row| ((row[0].unwrap() - first) / 1000.0, row[1..].to_vec())).collect();
        let missing = compare(&truth, "engine", &ENGINE, &engine);

        let dropped = files["events.csv"].lines().find_map(|line| line.strip_prefix("sensor drop-out,")).unwrap();
        let ends: Vec<f64> = dropped.split(',').map(|cell| cell.parse().unwrap()).collect();
        let oil_p = ENGINE.iter().position(|column| column.name == DROPPED).unwrap();
        let (true_s, clock) = (truth.column("true_s"), truth.column("engine_s"));
        for (s, row) in &engine {
            let t = truth.value(truth.after(clock, *s) - 1, true_s);
            assert!(row[oil_p].is_some() || (ends[0] - 0.011..ends[1]).contains(&t), "empty at {t}: {ends:?}");
        }
        assert!((missing as f64 - 10.0 * (ends[1] - ends[0])).abs() <= 1.0, "{missing} cells are missing: {ends:?}");
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
            let unit = channel.unit.as_ref().map(|unit| format!(" [{unit}]")).unwrap_or_default();
            let column = format!("{name}.{}{unit}", channel.name);
            assert!(truth.split(',').any(|c| c == column), "{column} is not in the truth");
        }
        let told: Vec<_> = log.findings.iter().map(|finding| (finding.code, finding.column.as_deref())).collect();
        let expected = [("cells_missing", Some(DROPPED))];
        assert_eq!(told, expected[..usize::from(name == "engine")]);
    }
}

/// Whether two boxes `[left, bottom, right, top]` share a point.
fn meet(a: [f64; 4], b: [f64; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// Places in the panel's text, in modules from the lower left corner of a 16:9 picture; as boxes, discs too, which is
/// stricter than needed but where two discs nestle.
#[test]
fn instruments_keep_clear_of_each_other_and_show_what_is_logged() {
    use crate::panel::DiscSize;
    let width = 16.0 / 9.0;
    let panel = &written(&NINETY)["panel.toml"];
    let mut boxes: Vec<(String, [f64; 4], Option<f64>)> = Vec::new();
    for part in panel.split("[[instrument]]").skip(1) {
        let value = |key: &str| {
            let (_, rest) = part.split_once(&format!("{key} = ")).unwrap_or_else(|| panic!("no {key} in {part}"));
            rest.split([',', '\n', '}']).next().unwrap().trim().trim_matches('"').to_owned()
        };
        let number = |key: &str| value(key).parse::<f64>().unwrap();
        let size = match value("size").as_str() {
            "XL" => DiscSize::Xl,
            "L" => DiscSize::L,
            "M" => DiscSize::M,
            _ => DiscSize::S,
        };
        let x = match value("side").as_str() {
            "left" => number("from_side"),
            "right" => width - number("from_side"),
            _ => 0.5 * width + number("from_side"),
        };
        let radius = 0.5 * size.diameter_m();
        // A tile and a bar of middle size, as `draw` makes them.
        let (dx, dy, disc) = match value("kind").as_str() {
            "tile" => (0.0825, 0.037, None),
            "bar" => (0.5 * number("width"), 0.037, None),
            _ => (radius, radius, Some(radius)),
        };
        let y = number("from_bottom");
        boxes.push((value("name"), [x - dx, y - dy, x + dx, y + dy], disc));
    }
    assert_eq!(boxes.len(), 11);
    let clear = [0.29 * width, 0.255, 0.71 * width, 0.53];
    for (i, (name, a, disc)) in boxes.iter().enumerate() {
        assert!(a[0] > 0.0 && a[1] > 0.0 && a[2] < width && a[3] < 1.0 && !meet(*a, clear), "{name}: {a:?}");
        for (other, b, other_disc) in &boxes[..i] {
            let apart = match (disc, other_disc) {
                (Some(r), Some(s)) => 0.5 * (a[0] + a[2] - b[0] - b[2]).hypot(a[1] + a[3] - b[1] - b[3]) > r + s,
                _ => !meet(*a, *b),
            };
            assert!(apart, "{name} {a:?} meets {other} {b:?}");
        }
    }
    let setting = format!("setting = \"{} inHg\"", super::dunlin::SETTING_INHG);
    assert!(panel.contains(&setting), "the window shows what the flight was flown with");
    let keys = ["channel = ", "rotor = ", "engine = "];
    for channel in panel.lines().filter_map(|line| keys.iter().find_map(|key| line.strip_prefix(key))) {
        let (log, column) = channel.trim_matches('"').split_once('.').unwrap();
        let columns = if log == "air" { &AIR[..] } else { &ENGINE[..] };
        assert!(columns.iter().any(|c| c.name == column), "{channel}");
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

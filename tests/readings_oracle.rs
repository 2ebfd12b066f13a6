//! `jumpseat readings` against `tests/oracle/readings.py`, which reads the same logs and computes the same channels by general libraries and
//! in other ways (its head names them and the sources). The numbers that it wrote are in `tests/oracle/expected`.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use std::collections::{HashMap, HashSet};
use std::path::Path;
use std::process::Command;

/// The flights, the step between rows, how many numbers of computed channels are compared at least, and what the program computes beyond the
/// script.
const FLIGHTS: [(&str, f64, usize, &[&str]); 7] = [
    ("demo", 0.83, 1900, &[]),
    ("pressures", 2.3, 3100, &[]),
    ("pilots_dials", 2.3, 1600, &[]),
    ("engine_single", 37.7, 230, &[]),
    ("igc", 211.3, 250, &[]),
    // Its windows begin just where a record stands: the last place of a float decides.
    ("nmea", 0.5, 50, &["calc.Turn Rate [deg/s]"]),
    ("gpx", 101.9, 45, &[]),
];

/// How far a number may be off, and why. Ours are written with four places and the script's with five: no two roundings are further apart than
/// 0.00006, and what the libraries solve by search is good to far less.
fn tolerance(channel: &str) -> f64 {
    match channel.split(" [").next().unwrap_or(channel) {
        // Two formulae for the vapour: Magnus here, Bolton (1980) there. They differ by less than 0.1 % at these dew points.
        "calc.Density Altitude" => 0.1,
        // The inch of mercury is the conventional one here (3386.389 Pa) and that at 32 degF there (3386.38...): 0.003 ft at 29.71.
        "calc.Indicated Altitude" => 0.005,
        // The model is computed in f32 here; its official test values are kept to 0.005 degrees (tests/published_magnetic.rs).
        "calc.Variation" | "calc.Heading True" | "calc.Track Magnetic" => 0.005,
        // At 85 kt of airspeed 0.005 degrees of heading are 0.0075 kt, which are 0.03 degrees of a wind of 14 kt.
        "calc.Wind From True" => 0.03,
        "calc.Wind Speed" | "calc.Wind Sigma" => 0.0075,
        name if name.ends_with("Latitude") || name.ends_with("Longitude") => 1.1e-7,
        _ => 6.5e-5,
    }
}

/// A table as its columns by name.
fn columns(text: &str) -> (Vec<String>, HashMap<String, Vec<String>>) {
    let mut table = csv::Reader::from_reader(text.as_bytes());
    let names: Vec<String> = table.headers().expect("header").iter().map(str::to_owned).collect();
    let mut columns = vec![Vec::new(); names.len()];
    for row in table.records() {
        for (column, cell) in columns.iter_mut().zip(&row.expect("row")) {
            column.push(cell.to_owned());
        }
    }
    (names.clone(), names.into_iter().zip(columns).collect())
}

fn jumpseat(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_jumpseat")).args(arguments).output().expect("the program starts");
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("text")
}

/// The largest difference in units of its tolerance, and the largest among computed channels alone; how many of those were compared.
fn compare(name: &str, every: f64, beyond: &[&str], flight: &Path) -> usize {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/expected");
    let expected = std::fs::read_to_string(folder.join(format!("{name}.csv"))).expect("the script's numbers");
    let flight = flight.to_str().expect("path");
    let found = jumpseat(&["readings", flight, "-o", "-", "--quiet", "--every", &format!("{every}s")]);
    let ((names, expected), (ours, found)) = (columns(&expected), columns(&found));
    assert_eq!(found["session_s"], expected["session_s"], "{name}: other rows");
    let computed: HashSet<&str> =
        ours.iter().map(String::as_str).filter(|n| n.starts_with("calc.") && !n.ends_with(".state")).collect();
    let checked: HashSet<&str> = names.iter().map(String::as_str).chain(beyond.iter().copied()).collect();
    let unchecked: Vec<_> = computed.difference(&checked).collect();
    assert!(unchecked.is_empty(), "{name}: the script does not compute {unchecked:?}");
    let mut compared = 0;
    for channel in &names[1..] {
        let bare = channel.split(" [").next().unwrap_or(channel);
        let is_direction = ["Heading", "Track", "True", "Magnetic"].iter().any(|end| bare.ends_with(end));
        let column = found.get(channel).unwrap_or_else(|| panic!("{name}: no {channel} in {ours:?}"));
        let states = &found[&format!("{bare}.state")];
        for (i, (theirs, own)) in expected[channel].iter().zip(column).enumerate() {
            let place = format!("{name}: {channel} at {} s", expected["session_s"][i]);
            let (Ok(theirs), Ok(own)) = (theirs.parse::<f64>(), own.parse::<f64>()) else {
                assert_eq!(theirs, own, "{place}: one has a number and the other has none");
                continue;
            };
            let off = (own - theirs).abs();
            let off = if is_direction { off.min(360.0 - off) } else { off };
            assert!(off <= tolerance(channel), "{place}: {own}, the script says {theirs}");
            let fresh = if bare.starts_with("calc.") { "derived" } else { "measured" };
            assert!([fresh, "held"].contains(&states[i].as_str()), "{place}: {}", states[i]);
            compared += usize::from(bare.starts_with("calc."));
        }
    }
    compared
}

#[test]
fn readings_are_what_general_libraries_make_of_the_same_logs() {
    let folder = tempfile::tempdir().expect("folder");
    let demo = folder.path().join("dunlin");
    jumpseat(&["demo", demo.to_str().expect("path"), "--no-film"]);
    for (name, every, least, beyond) in FLIGHTS {
        let own = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle").join(format!("{name}.toml"));
        let flight = if name == "demo" { demo.join("flight.toml") } else { own };
        let compared = compare(name, every, beyond, &flight);
        assert!(compared >= least, "{name}: only {compared} numbers were computed");
    }
}

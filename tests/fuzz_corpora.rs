//! The corpora of the fuzz targets (`tests/fuzz`) once more, through the same checks: what fuzzing found stays found.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

#[path = "fuzz/checks.rs"]
mod checks;
#[cfg(feature = "codec")]
#[path = "fuzz/clips.rs"]
mod clips;

use std::path::Path;

fn replay(target: &str, check: fn(&[u8])) {
    let folder = Path::new("tests/fuzz/corpus").join(target);
    let mut files: Vec<_> = std::fs::read_dir(&folder).expect("a corpus").flatten().map(|entry| entry.path()).collect();
    files.sort();
    assert!(files.len() >= 30, "{}: {} files", folder.display(), files.len());
    let mut bytes = 0;
    for file in files {
        let input = std::fs::read(&file).expect("an input");
        bytes += input.len();
        if std::panic::catch_unwind(|| check(&input)).is_err() {
            panic!("{} does not pass; the fault stands above", file.display());
        }
    }
    assert!(bytes < 120_000, "{}: {bytes} bytes; minimise it", folder.display());
}

#[test]
fn tables() {
    replay("csv", checks::csv);
}

#[test]
fn sentences() {
    replay("nmea", checks::nmea);
}

#[test]
fn tracks() {
    replay("gpx", checks::gpx);
}

#[test]
fn records() {
    replay("igc", checks::igc);
}

#[test]
fn flight_files() {
    replay("flight", checks::flight);
}

#[test]
fn panel_files() {
    replay("panel", checks::panel);
}

#[cfg(feature = "codec")]
#[test]
fn whole_clips() {
    replay("clip", clips::clip);
}

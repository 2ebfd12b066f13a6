//! What the owner's flight file makes of channels, from the file to `check` and `readings`: calibrations of sensors, one quantity in two logs, formulae.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

#[path = "owners_channels/calibration.rs"]
mod calibration;
#[path = "owners_channels/formulae.rs"]
mod formulae;
#[path = "owners_channels/two_logs.rs"]
mod two_logs;

use std::path::Path;
use std::process::{Command, Output};

fn run(folder: &Path, arguments: &str) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_jumpseat"));
    command.current_dir(folder).args(arguments.split_whitespace()).output().expect("the program starts")
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// What `check` says of `flight.toml`.
fn check(folder: &Path) -> String {
    said(&run(folder, "check flight.toml"))
}

/// The rows that `readings` writes for `flight.toml`, the header among them, and what it says.
fn readings(folder: &Path) -> (Vec<Vec<String>>, String) {
    let output = run(folder, "readings flight.toml -o - --every 1s");
    let said = said(&output);
    assert!(output.status.success(), "{said}");
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(&*output.stdout);
    let rows = reader.records().map(|row| row.expect("a row").iter().map(str::to_owned).collect());
    (rows.collect(), said)
}

/// The cells under a channel's name (with its unit): value and state, one pair a row.
fn column(rows: &[Vec<String>], name: &str) -> Vec<(String, String)> {
    let i = rows[0].iter().position(|head| head == name).unwrap_or_else(|| panic!("no {name} in {:?}", rows[0]));
    rows[1..].iter().map(|row| (row[i].clone(), row[i + 1].clone())).collect()
}

fn write(folder: &Path, name: &str, text: &str) {
    std::fs::write(folder.join(name), text).expect("a file");
}

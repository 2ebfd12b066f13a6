//! Opening a long flight: three hours at 50 Hz with 40 channels, and three hours at 10 Hz of a receiver; reports only.
//!
//! `cargo bench --bench long [-- WORD]`: the program itself is run on each log, `inspect` first, then `check` of a flight file with a
//! panel that names recorded and computed channels, then `readings` of everything. Time and greatest memory are those of the process
//! that ran, by the kernel's account (`wait4`). The aim is 3 s and 600 MB for a log to open.

#![allow(clippy::expect_used, reason = "a bench stops at the first thing that is not as it must be")]

mod long_logs;

use long_logs::{Kind, RATE};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

const SECONDS: u32 = 3 * 3600;

fn main() {
    let asked = std::env::args().skip(1).find(|a| !a.starts_with("--"));
    let folder = tempfile::tempdir().expect("folder");
    let wanted = |name: &str| asked.as_ref().is_none_or(|word| name.contains(word.as_str()));
    println!("{:18} {:>5}  {:26} {:26} {:26}", "", "MB", "inspect", "check with a panel", "readings of everything");
    for (kind, name) in Kind::ALL.into_iter().filter(|(_, name)| wanted(name)) {
        let log = folder.path().join("long.csv");
        long_logs::write(&log, kind, SECONDS * RATE).expect("log");
        open(name, &log);
    }
    for (name, encoding) in [("UTF-16", 2), ("Windows-1252", 1)].into_iter().filter(|(name, _)| wanted(name)) {
        let log = folder.path().join("long.csv");
        long_logs::write(&log, Kind::Plain, SECONDS * RATE).expect("log");
        let text = std::fs::read_to_string(&log).expect("log");
        let bytes: Vec<u8> = match encoding {
            2 => text.encode_utf16().flat_map(u16::to_le_bytes).collect(),
            // The one character beyond ASCII has its Unicode number there.
            _ => text.chars().map(|c| u8::try_from(u32::from(c)).expect("a character of the encoding")).collect(),
        };
        std::fs::write(&log, bytes).expect("log");
        drop(text);
        open(name, &log);
    }
    type Writer = fn(&Path, u32) -> std::io::Result<()>;
    let receivers: [(&str, Writer); 3] = [("NMEA", long_logs::nmea), ("GPX", long_logs::gpx), ("IGC", long_logs::igc)];
    for (name, write) in receivers.into_iter().filter(|(name, _)| wanted(name)) {
        let log = folder.path().join("long.txt");
        write(&log, SECONDS * 10).expect("log");
        open(name, &log);
    }
}

/// Opens a log in three ways and prints what each costs.
fn open(name: &str, log: &Path) {
    let folder = log.parent().expect("folder");
    let flight = folder.join("flight.toml");
    let file = log.file_name().expect("name").to_string_lossy();
    let is_table = file.ends_with("csv");
    let channels = if is_table { ["long.IAS", "calc.Vertical Speed"] } else { ["long.Latitude", "calc.Ground Speed"] };
    let dial = |(i, channel): (usize, &str)| {
        format!(
            "[[instrument]]\nname = \"dial {i}\"\nkind = \"tile\"\nchannel = \"{channel}\"\n\
             place = {{ side = \"left\", from_side = 0.{i}5, from_bottom = 0.2, size = \"S\" }}\n"
        )
    };
    let panel: String = channels.into_iter().enumerate().map(|(i, channel)| dial((i + 1, channel))).collect();
    std::fs::write(folder.join("panel.toml"), format!("title = \"Long\"\n{panel}")).expect("panel");
    let text = format!("title = \"Long\"\npanel = \"panel.toml\"\n[[log]]\nname = \"long\"\nfile = \"{file}\"\n");
    std::fs::write(&flight, text).expect("flight");
    let megabytes = std::fs::metadata(log).expect("log").len() as f64 / 1e6;
    let inspect = run(Command::new(PROGRAM).arg("inspect").arg(log), true);
    // The flight file names no film, so that `check` has something to say.
    let check = run(Command::new(PROGRAM).arg("check").arg(&flight), false);
    let output = folder.join("readings.csv");
    let mut readings = Command::new(PROGRAM);
    readings.args(["readings", "--every", "60s", "--overwrite", "-o"]).arg(&output).arg(&flight);
    let readings = run(&mut readings, true);
    println!("{name:18} {megabytes:5.0}  {inspect:26} {check:26} {readings:26}");
}

const PROGRAM: &str = env!("CARGO_BIN_EXE_jumpseat");

/// Runs a command to its end: seconds on the wall, seconds of the processor, greatest resident memory.
fn run(command: &mut Command, must_succeed: bool) -> String {
    let start = Instant::now();
    let timed = Command::new("/usr/bin/time")
        .args(["-f", "%U %S %M"])
        .arg(command.get_program())
        .args(command.get_args())
        .stdout(Stdio::null())
        .output()
        .expect("GNU time is installed");
    let wall = start.elapsed().as_secs_f64();
    let said = String::from_utf8_lossy(&timed.stderr);
    assert!(timed.status.success() || !must_succeed, "{said}");
    let figures: Vec<f64> = said.lines().last().unwrap_or_default().split(' ').filter_map(|f| f.parse().ok()).collect();
    let [user, system, kilobytes] = figures[..] else { return said.into_owned() };
    format!("{wall:.2} s ({:.2}) {:4.0} MB", user + system, kilobytes / 1e3)
}

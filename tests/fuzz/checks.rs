//! What must hold of every reader, whatever the bytes: the fuzz targets and `tests/fuzz_corpora.rs` hold the same.
//!
//! No panic; read, refused and left out are what is in the file; what is refused is told; times rise, numbers are finite;
//! nothing is held that the bytes do not pay for; every fault of a written file can be shown with its caret.
#![allow(
    dead_code,
    clippy::expect_used,
    clippy::panic,
    reason = "each target takes its own check, and stops at a fault"
)]

use jumpseat::flight;
use jumpseat::keyfile::{Document, Fault};
use jumpseat::panel;
use jumpseat::recorder::{self, CsvOptions, Format, Options, Recording};
use jumpseat::session::Session;
use jumpseat::signal::Samples;
use std::path::Path;

/// What parts the keys of a flight file from the table that they are about; a table without it is read without keys.
const KEYS_END: u8 = 0x1f;

/// A table, with keys of the flight file before it or not.
pub fn csv(bytes: &[u8]) {
    let (keys, table) = match bytes.iter().position(|b| *b == KEYS_END) {
        Some(at) => (&bytes[..at], &bytes[at + 1..]),
        None => (&bytes[..0], bytes),
    };
    let Some(options) = options(keys) else { return };
    let read = with_file(table, |file| recorder::csv::read(file, &options).map_err(|e| e.to_string()));
    let Some(log) = sound(table, read) else { return };
    // The reader's own words tell when the lines cannot be counted from outside: other encodings, and quoted line breaks.
    if table.contains(&b'"') || log.findings.iter().any(|f| f.code == "encoding") {
        return;
    }
    let end = if table.contains(&b'\n') { b'\n' } else { b'\r' };
    let lines = || table.split(|b| *b == end).map(|l| l.iter().filter(|b| **b != 0).copied().collect::<Vec<u8>>());
    let lines = || {
        lines()
            .enumerate()
            .map(|(i, l)| l.strip_prefix(b"\xef\xbb\xbf").filter(|_| i == 0).map(<[u8]>::to_vec).unwrap_or(l))
    };
    let written = lines().filter(|l| !l.trim_ascii().is_empty()).count();
    // A line of separators alone is a row of empty cells, or of none where blanks part them.
    let most = lines().filter(|l| !l.is_empty()).count();
    assert!(
        (written..=most).contains(&present(&log)),
        "{} of {written} to {most} rows: {:?}",
        present(&log),
        log.findings
    );
}

/// Sentences as they come, and once more with checksums that fit.
pub fn nmea(bytes: &[u8]) {
    if !bytes.starts_with(b"$") {
        return;
    }
    for bytes in [bytes.to_vec(), summed(bytes)] {
        let Some(log) = any_log(&bytes).filter(|log| log.format == Format::Nmea) else { continue };
        let sentences = |line: &[u8]| {
            let starts = (0..line.len()).filter(|&i| i == 0 || matches!(line[i], b'$' | b'!'));
            let starts: Vec<usize> = starts.chain([line.len()]).collect();
            starts.windows(2).filter(|w| !line[w[0]..w[1]].trim_ascii().is_empty()).count()
        };
        let count = |line: &[u8]| if line.starts_with(b"#") { 1 } else { sentences(line) };
        assert_eq!(present(&log), lines(&bytes).map(count).sum::<usize>(), "{:?}", log.findings);
    }
}

/// Tracks.
pub fn gpx(bytes: &[u8]) {
    if !bytes.starts_with(b"<") {
        return;
    }
    let Some(log) = any_log(bytes).filter(|log| log.format == Format::Gpx) else { return };
    let named = |name: &[u8]| bytes.windows(name.len()).filter(|w| *w == name).count();
    assert!(present(&log) <= named(b"trkpt") + named(b"wpt") + named(b"rtept"), "{:?}", log.findings);
}

/// A flight recorder's records.
pub fn igc(bytes: &[u8]) {
    if !bytes.starts_with(b"A") {
        return;
    }
    let Some(log) = any_log(bytes).filter(|log| log.format == Format::Igc) else { return };
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    assert_eq!(present(&log), lines(bytes).filter(|l| !l.trim_ascii().is_empty()).count(), "{:?}", log.findings);
}

/// A flight file.
pub fn flight(bytes: &[u8]) {
    let Ok(text) = String::from_utf8(bytes.to_vec()) else { return };
    let flight = flight::read(Document::of(Path::new("flight.toml"), text));
    faults(&flight.document.text, &flight.faults);
    assert!(!flight.logs.is_empty() || !flight.faults.is_empty(), "a flight without a log passes");
    for mark in &flight.clock.marks {
        assert_eq!((mark.logs_s.len(), mark.films_s.len()), (flight.logs.len(), flight.films.len()));
        assert!(mark.films_s.iter().chain(&mark.logs_s).flatten().all(|t| t.is_finite()), "{mark:?}");
    }
}

/// A panel file.
pub fn panel(bytes: &[u8]) {
    let Ok(text) = String::from_utf8(bytes.to_vec()) else { return };
    let panel = panel::file::read(Document::of(Path::new("panel.toml"), text));
    faults(&panel.document.text, &panel.faults);
    assert_eq!(panel.lines.len(), panel.panel.instruments.len());
    for (instrument, lines) in panel.panel.instruments.iter().zip(&panel.lines) {
        // Hands without a channel (a clock, a strip of phases) have no line.
        let hands = instrument.face.hands().iter().filter(|hand| !hand.channel.is_empty()).count();
        assert_eq!(hands, lines.channels.len(), "{instrument:?}");
    }
}

/// Faults that can be shown, at places that are there.
fn faults(text: &str, faults: &[Fault]) {
    for fault in faults {
        assert!(fault.line >= 1 && fault.line <= 1 + text.matches('\n').count(), "{fault:?}");
        assert!(text.get(fault.place.clone()).is_some(), "{fault:?}");
        assert!(!fault.message.is_empty(), "{fault:?}");
    }
    // One of each kind is enough to see.
    let mut shown: Vec<&str> = Vec::new();
    for fault in faults {
        if !shown.contains(&fault.code) {
            shown.push(fault.code);
            assert!(!fault.with_caret(text, false).is_empty());
        }
    }
}

/// What keys of the flight file say of a table; none where they are no sound keys.
fn options(keys: &[u8]) -> Option<CsvOptions> {
    let keys = std::str::from_utf8(keys).ok()?;
    let text = format!("[[log]]\nname = \"x\"\nfile = \"x.csv\"\n{keys}\n");
    let flight = flight::read(Document::of(Path::new("flight.toml"), text));
    flight.faults.is_empty().then(|| flight.logs.first().map(|log| log.csv.clone())).flatten()
}

fn any_log(bytes: &[u8]) -> Option<Recording> {
    sound(bytes, with_file(bytes, |file| recorder::read(file, &Options::default()).map_err(|e| e.to_string())))
}

fn present(log: &Recording) -> usize {
    log.rows_read + log.rows_refused + log.rows_left_out
}

/// What holds of every log; none where it was refused.
fn sound(bytes: &[u8], read: Result<Recording, String>) -> Option<Recording> {
    let log = match read {
        Ok(log) => log,
        Err(message) => {
            assert!(!message.is_empty());
            return None;
        }
    };
    let mut held = 0;
    for channel in &log.channels {
        let rising = channel.times.windows(2).all(|pair| pair[0] < pair[1]);
        assert!(rising && channel.times.iter().all(|t| t.is_finite()), "{}: {:?}", channel.name, channel.times);
        held += channel.times.len();
        let samples = match &channel.samples {
            Samples::Numbers(values) => {
                assert!(values.iter().all(|v| v.is_finite()), "{}: {values:?}", channel.name);
                values.len()
            }
            Samples::Texts(texts) => texts.len(),
        };
        assert_eq!(samples, channel.times.len(), "{}", channel.name);
    }
    assert!(held <= bytes.len(), "{held} values from {} bytes", bytes.len());
    assert!(log.rows_read > 0, "{:?}", log.findings);
    assert!(log.rows_refused == 0 || !log.findings.is_empty(), "{} rows refused in silence", log.rows_refused);
    let lines = 2 + bytes.iter().filter(|b| matches!(b, b'\n' | b'\r')).count() as u64;
    assert!(log.findings.iter().filter_map(|f| f.row).all(|row| (1..=lines).contains(&row)), "{:?}", log.findings);
    assert!(log.clock.resolution_s.is_finite() && log.clock.resolution_s > 0.0, "{:?}", log.clock);
    let parts = &log.parts;
    assert!(parts.is_empty() || parts.iter().filter(|part| part.read).count() == 1, "{parts:?}");
    assert!(parts.iter().map(|part| part.rows).sum::<usize>() <= present(&log), "{parts:?}");
    assert!(parts.windows(2).all(|pair| pair[0].last_row < pair[1].first_row), "{parts:?}");
    let summary = recorder::describe(&log);
    assert_eq!(summary.channels.len(), log.channels.len());
    let (first, last) = Session::of(log.clone()).span();
    assert!(first.0.is_finite() && last.0.is_finite() && first <= last, "{first:?} to {last:?}");
    Some(log)
}

/// Lines as the formats of sentences and records end them.
fn lines(bytes: &[u8]) -> impl Iterator<Item = &[u8]> {
    let end = if bytes.contains(&b'\n') { b'\n' } else { b'\r' };
    bytes.split(move |b| *b == end).map(<[u8]>::trim_ascii)
}

/// Every sentence that has a star gets the checksum that fits.
fn summed(bytes: &[u8]) -> Vec<u8> {
    let mut out = bytes.to_vec();
    let mut start = None;
    for i in 0..bytes.len() {
        match (bytes[i], start) {
            (b'$' | b'!', _) => start = Some(i + 1),
            (b'*', Some(from)) => {
                let sum = format!("{:02X}", bytes[from..i].iter().fold(0, |sum, b| sum ^ b));
                let room = out.len().min(i + 3);
                out[i + 1..room].copy_from_slice(&sum.as_bytes()[..room - i - 1]);
                start = None;
            }
            _ => (),
        }
    }
    out
}

/// The readers open files: each thread has one, in memory where the system has a place for that.
fn with_file<T>(bytes: &[u8], read: impl FnOnce(&Path) -> T) -> T {
    let memory = Path::new("/dev/shm");
    let folder = if memory.is_dir() { memory.to_owned() } else { std::env::temp_dir() };
    let file = folder.join(format!("jumpseat-fuzz-{}-{:?}", std::process::id(), std::thread::current().id()));
    std::fs::write(&file, bytes).expect("a file to read");
    let made = read(&file);
    std::fs::remove_file(&file).expect("removed");
    made
}

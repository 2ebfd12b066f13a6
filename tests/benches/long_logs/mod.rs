//! Long logs of invented numbers.

#![allow(dead_code, reason = "each bench needs some of them")]

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;

/// What a table's rows look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// An engine log: a count of milliseconds and numbers of three to six figures.
    Plain,
    /// Semicolons and decimal commas.
    Commas,
    /// Every cell in quotes.
    Quoted,
    /// Three of four cells hold something once in ten rows, as those of a slower sensor do.
    Sparse,
    /// One cell in a hundred is missing, in each column on its own.
    Holes,
    /// Every fourth column holds words, every eighth another one in every row.
    Texts,
    /// A date and a time in front.
    Stamps,
    /// Numbers with seven decimals.
    Fine,
}

impl Kind {
    /// All, with what to call them.
    pub const ALL: [(Self, &str); 8] = [
        (Self::Plain, "plain"),
        (Self::Commas, "decimal commas"),
        (Self::Quoted, "quoted"),
        (Self::Sparse, "many empty cells"),
        (Self::Holes, "holes"),
        (Self::Texts, "texts"),
        (Self::Stamps, "date and time"),
        (Self::Fine, "seven decimals"),
    ];

    /// The byte between two cells.
    pub fn separator(self) -> char {
        if self == Self::Commas { ';' } else { ',' }
    }
}

/// Columns of such a table.
pub const COLUMNS: u32 = 40;
/// Rows a second.
pub const RATE: u32 = 50;

/// The first columns are those that channels are derived from; the others turn a helicopter's log into a wide one.
const NAMES: [&str; 13] = [
    "IAS [kt]",
    "Pressure Altitude [ft]",
    "OAT [°C]",
    "True Heading [deg]",
    "Latitude [deg]",
    "Longitude [deg]",
    "NR [%]",
    "NE [%]",
    "Torque [%]",
    "Fuel Flow [L/h]",
    "MAG Heading [deg]",
    "Dew Point [°C]",
    "Manifold Pressure [inHg]",
];

/// Writes a log of so many rows.
pub fn write(file: &Path, kind: Kind, rows: u32) -> io::Result<()> {
    let mut out = BufWriter::new(File::create(file)?);
    let separator = kind.separator();
    let quote = if kind == Kind::Quoted { "\"" } else { "" };
    let stamped = kind == Kind::Stamps;
    write!(out, "{}", if stamped { "date,time" } else { "time_ms" })?;
    let first = if stamped { 2 } else { 1 };
    for column in first..COLUMNS {
        match NAMES.get((column - first) as usize) {
            Some(name) => write!(out, "{separator}{name}")?,
            None => write!(out, "{separator}c{column}{}", if kind == Kind::Texts { "" } else { " [V]" })?,
        }
    }
    for row in 0..rows {
        let ms = row * (1000 / RATE);
        if stamped {
            let (h, m, s) = (8 + ms / 3_600_000, ms / 60_000 % 60, ms / 1000 % 60);
            write!(out, "\n2026-06-15,{h:02}:{m:02}:{s:02}.{:03}", ms % 1000)?;
        } else {
            write!(out, "\n{quote}{ms}{quote}")?;
        }
        for column in first..COLUMNS {
            write!(out, "{separator}{quote}")?;
            cell(&mut out, kind, row, column, (column - first) as usize)?;
            write!(out, "{quote}")?;
        }
    }
    writeln!(out)?;
    out.flush()
}

fn cell(out: &mut impl Write, kind: Kind, row: u32, column: u32, place: usize) -> io::Result<()> {
    let chance = row.wrapping_mul(2_654_435_761).wrapping_add(column * 977_777) >> 12;
    let missing = match kind {
        Kind::Sparse => !column.is_multiple_of(4) && !row.is_multiple_of(10),
        Kind::Holes => chance.is_multiple_of(100),
        _ => false,
    };
    if missing {
        return Ok(());
    }
    if kind == Kind::Texts && place >= NAMES.len() && column.is_multiple_of(4) {
        return if column.is_multiple_of(8) {
            write!(out, "word {chance}")
        } else {
            write!(out, "MODE {}", row / 500 % 4)
        };
    }
    let t = f64::from(row) / f64::from(RATE);
    let (sin, cos) = ((t / 30.0).sin(), (t / 47.0).cos());
    let fixed = match place {
        0 => 70.0 + 20.0 * sin,
        1 => 1500.0 + 500.0 * cos,
        2 => 15.0 - 2.0 * cos,
        3 | 10 => (t * 1.3) % 360.0,
        4 => return write!(out, "{}", point(kind, format!("{:.7}", 51.0 + 0.05 * sin))),
        5 => return write!(out, "{}", point(kind, format!("{:.7}", -1.0 + 0.05 * cos))),
        6 => 100.0 + sin,
        7 => 99.0 + cos,
        8 => 60.0 + 10.0 * sin,
        9 => 45.0 + 3.0 * cos,
        11 => 8.0 + cos,
        12 => 25.0 + sin,
        _ => f64::from(chance % 100_000) / 100.0,
    };
    let decimals = if kind == Kind::Fine { 7 } else { 2 };
    write!(out, "{}", point(kind, format!("{fixed:.decimals$}")))
}

fn point(kind: Kind, number: String) -> String {
    if kind == Kind::Commas { number.replace('.', ",") } else { number }
}

/// Writes sentences of a receiver, ten moments a second.
pub fn nmea(file: &Path, moments: u32) -> io::Result<()> {
    let mut out = BufWriter::new(File::create(file)?);
    for i in 0..moments {
        let (h, m, s, tenth) = (8 + i / 36_000, i / 600 % 60, i / 10 % 60, i % 10);
        let time = format!("{h:02}{m:02}{s:02}.{tenth}00");
        let place =
            format!("51{:02}.{:04},N,001{:02}.{:04},W", i / 10_000 % 60, i % 10_000, i / 20_000 % 60, i % 10_000);
        for sentence in [
            format!("GPRMC,{time},A,{place},072.5,123.4,150626,,,A"),
            format!("GPGGA,{time},{place},1,09,0.9,{}.3,M,47.0,M,,", 400 + i % 900),
            "GPVTG,123.4,T,,M,072.5,N,134.3,K,A".to_owned(),
            "GPGSA,A,3,01,02,03,04,05,06,07,08,09,,,,1.6,0.9,1.3".to_owned(),
        ] {
            let sum = sentence.bytes().fold(0, |sum, byte| sum ^ byte);
            write!(out, "${sentence}*{sum:02X}\r\n")?;
        }
    }
    out.flush()
}

/// Writes a track, ten points a second.
pub fn gpx(file: &Path, points: u32) -> io::Result<()> {
    let mut out = BufWriter::new(File::create(file)?);
    out.write_all(
        b"<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" xmlns=\"http://www.topografix.com/GPX/1/1\"><trk><trkseg>\n",
    )?;
    for i in 0..points {
        let (h, m, s, tenth) = (8 + i / 36_000, i / 600 % 60, i / 10 % 60, i % 10);
        let t = f64::from(i) / 10.0;
        let (lat, lon) = (51.0 + 0.05 * (t / 300.0).sin(), -1.0 + 0.05 * (t / 470.0).cos());
        writeln!(
            out,
            "<trkpt lat=\"{lat:.7}\" lon=\"{lon:.7}\"><ele>{}.5</ele><time>2026-06-15T{h:02}:{m:02}:{s:02}.{tenth}Z</time>\
             <extensions><hr>{}</hr></extensions></trkpt>",
            400 + i % 900,
            60 + i % 90
        )?;
    }
    out.write_all(b"</trkseg></trk></gpx>\n")?;
    out.flush()
}

/// Writes a flight recorder's file. Its fixes have whole seconds: a fix a second, and lines enough for ten.
pub fn igc(file: &Path, lines: u32) -> io::Result<()> {
    let mut out = BufWriter::new(File::create(file)?);
    out.write_all(b"AXXXABC\r\nHFDTE150626\r\nI023638FXA3940SIU\r\n")?;
    for i in 0..lines / 10 {
        let (h, m, s) = (8 + i / 3600, i / 60 % 60, i % 60);
        write!(
            out,
            "B{h:02}{m:02}{s:02}51{:05}N001{:05}WA{:05}{:05}03509\r\n",
            i * 3 % 60_000,
            i * 2 % 60_000,
            i % 900,
            i % 900
        )?;
        for _ in 0..9 {
            out.write_all(b"LXXX a remark of the maker, as long as a fix\r\n")?;
        }
    }
    out.flush()
}

//! NMEA 0183 sentences as published, and edge cases: `published/nmea_sentences.csv`, `published/nmea_edge_cases.csv` (their
//! first lines name the sources; values recomputed there and equal to two public decoders).
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use jumpseat::recorder::{self, Format, Options, Recording};
use jumpseat::signal::Samples;
use std::io::Write;

fn read(text: &str) -> Result<Recording, String> {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(text.as_bytes()).unwrap();
    recorder::read(file.path(), &Options::default()).map_err(|error| error.to_string())
}

fn value(log: &Recording, name: &str) -> Option<f64> {
    let channel = log.channels.iter().find(|c| c.name == name)?;
    match &channel.samples {
        Samples::Numbers(values) => values.first().copied(),
        Samples::Texts(_) => panic!("{name} holds texts"),
    }
}

fn rows(file: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(file).unwrap();
    reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect()
}

#[test]
fn published_sentences() {
    // Gives sentences without a time a moment to stand in, and holds no value itself.
    let body = "GPZDA,000000.00,01,01,2020,00,00";
    let clock = format!("${body}*{:02X}\n", body.bytes().fold(0, |sum, b| sum ^ b));
    let rows = rows("tests/published/nmea_sentences.csv");
    assert_eq!(rows.len(), 27);
    for row in rows {
        let cell = |i: usize| row[i].as_str();
        let (kind, timed) = (cell(3), !cell(4).is_empty());
        let log = read(&format!("{}{}\n", if timed { "" } else { &clock }, cell(0))).unwrap();
        assert_eq!(log.format, Format::Nmea);
        let other = |key: &str| {
            let found = cell(11).split(' ').find_map(|part| part.strip_prefix(key)?.strip_prefix('='));
            found.filter(|text| !text.is_empty()).map(str::to_owned)
        };
        assert!(log.findings.iter().all(|f| !matches!(f.code, "checksum" | "bad_field")), "{row:?} {:?}", log.findings);
        if timed {
            let time = cell(4).trim_end_matches('0').trim_end_matches('.');
            let first = log.clock.first.trim_end_matches('Z');
            assert!(first.starts_with(cell(5)) && first.contains(time), "{row:?} {first}");
        }
        let void = other("status").as_deref() == Some("V") || other("quality").as_deref() == Some("0");
        let near = |name: &str, text: Option<String>| {
            let wanted = text.filter(|t| !t.is_empty() && !void).map(|t| {
                let digits = t.trim_end_matches(['E', 'W']);
                digits.parse::<f64>().unwrap() * if t.ends_with('W') { -1.0 } else { 1.0 }
            });
            let found = value(&log, name);
            let same = match (found, wanted) {
                (Some(a), Some(b)) => (a - b).abs() < 1e-9,
                (None, None) => true,
                _ => false,
            };
            assert!(same, "{name}: {found:?}, not {wanted:?}: {row:?}");
        };
        let text = |i: usize| Some(cell(i).to_owned());
        near("Latitude", text(6));
        near("Longitude", text(7));
        near("Ground Speed", text(8));
        near("Track True", text(9));
        near("GNSS Altitude MSL", text(10));
        near("Geoid Separation", other("geoid"));
        near("Magnetic Variation", other("variation"));
        near("Track Magnetic", other("track_mag"));
        near("HDOP", other("hdop"));
        near("PDOP", other("pdop"));
        near("VDOP", other("vdop"));
        near("Heading True", other("heading_true"));
        near("Heading Magnetic", other("heading_mag"));
        match kind {
            "MWV" => {
                near("Wind Angle Relative", other("angle"));
                let factor = if other("unit").as_deref() == Some("K") { 1.0 / 1.852 } else { 1.0 };
                near("Wind Speed Relative", other("speed").map(|s| (s.parse::<f64>().unwrap() * factor).to_string()));
            }
            "VHW" => near("Water Speed", other("kt")),
            "XDR" => assert!(log.findings.iter().any(|f| f.message.contains("1 XDR"))),
            _ => (),
        }
    }
}

#[test]
fn edge_cases() {
    let rows = rows("tests/published/nmea_edge_cases.csv");
    assert_eq!(rows.len(), 9);
    // A whole sentence before each, so that there is a log at all; with a checksum only where the case has one.
    let wanted: [Option<&str>; 9] = [
        Some("checksum"),
        Some("no_checksum"),
        Some("checksum"),
        None,
        Some("bad_field"),
        Some("bad_field"),
        Some("bad_field"),
        None,
        None,
    ];
    for (row, wanted) in rows.iter().zip(wanted) {
        let body = "GPZDA,123518.00,31,12,2016,00,00";
        let sum =
            if row[0].contains('*') { format!("*{:02X}", body.bytes().fold(0, |s, b| s ^ b)) } else { String::new() };
        let log = read(&format!("${body}{sum}\n{}\n", row[0])).unwrap();
        let codes: Vec<_> = log.findings.iter().filter(|f| f.row == Some(2)).map(|f| f.code).collect();
        match wanted {
            // The file's sentences have no checksum, both of them.
            Some("no_checksum") => assert_eq!(log.rows_refused, 0, "{row:?}"),
            Some(code) => assert_eq!((codes, log.rows_refused), (vec![code], 1), "{row:?}"),
            None => assert!(log.findings.iter().all(|f| f.code != "bad_field" && f.code != "second_60"), "{row:?}"),
        }
    }
    let leap = read(&format!("{}\n", rows[3][0])).unwrap();
    assert_eq!(leap.clock.first_utc.unwrap().to_string(), "2017-01-01T00:00:00Z", "23:59:60 is the second before");
    let zero = read(&format!("{}\n", rows[8][0])).unwrap();
    assert_eq!((value(&zero, "Latitude"), value(&zero, "Longitude")), (Some(0.0), Some(0.0)));
}

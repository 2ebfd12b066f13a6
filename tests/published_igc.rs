//! IGC records as published: `published/igc_records.csv` and `published/igc_headers.csv` (their first lines name the sources).
#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

use jumpseat::recorder::{self, Options, Recording};
use jumpseat::signal::Samples;
use std::io::Write;

fn read(text: &str) -> Recording {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(text.as_bytes()).unwrap();
    recorder::read(file.path(), &Options::default()).unwrap_or_else(|error| panic!("{error}\n{text}"))
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

const FIX: &str = "B1101355206343N00006198WA0058700558";

#[test]
fn published_fixes() {
    let rows = rows("tests/published/igc_records.csv");
    assert_eq!(rows.len(), 14);
    for row in &rows {
        let extensions = if row[7].is_empty() { "" } else { "I033638FXA3940SIU4143ENL\r\n" };
        let log = read(&format!("AXXXABC\r\nHFDTE160701\r\n{extensions}{}\r\n", row[0]));
        assert_eq!((log.rows_read, log.rows_refused), (1, 0));
        assert_eq!(log.clock.first, format!("2001-07-16T{}Z", row[1]));
        let valid = row[4] == "A";
        let near = |name: &str, text: &str| {
            let wanted = Some(text.parse::<f64>().unwrap()).filter(|_| valid || name.starts_with("Pressure"));
            let found = value(&log, name);
            assert_eq!(found.is_some(), wanted.is_some(), "{name} {row:?}");
            assert!(found.zip(wanted).is_none_or(|(a, b)| (a - b).abs() < 1e-9), "{name} {found:?} {row:?}");
        };
        near("Latitude", &row[2]);
        near("Longitude", &row[3]);
        near("Pressure Altitude 1013 hPa", &row[5]);
        near("GNSS Altitude Ellipsoid", &row[6]);
        for part in row[7].split(' ').filter(|p| !p.is_empty()) {
            let (code, digits) = part.split_once('=').unwrap();
            let name = match code {
                "FXA" => "Fix Accuracy",
                "SIU" => "Satellites",
                _ => "ENL digits",
            };
            assert_eq!(value(&log, name), digits.parse().ok(), "{row:?}");
        }
    }
}

#[test]
fn the_rough_example_is_survived_and_told() {
    let fixes: Vec<String> =
        rows("tests/published/igc_records.csv").into_iter().take(10).map(|r| r[0].clone()).collect();
    let log = read(&format!("AXXXABC\r\nHFDTE160701\r\nI033638FXA3940SIU4143ENL\r\n{}\r\n", fixes.join("\r\n")));
    // The jump to 22:02:48 and the doubled fix: whichever is refused, both are named.
    assert_eq!((log.rows_read + log.rows_refused, log.rows_left_out), (10, 3));
    let codes: Vec<_> = log.findings.iter().map(|f| f.code).collect();
    assert!(codes.iter().any(|c| matches!(*c, "stamp_ahead" | "clock_back")), "{codes:?}");
}

#[test]
fn published_headers() {
    let rows = rows("tests/published/igc_headers.csv");
    let of = |start: &str| rows.iter().map(|r| r[0].as_str()).filter(|r| r.starts_with(start)).collect::<Vec<_>>();
    for (header, date) in of("HFDTE").into_iter().zip(["2001-07-16", "2009-07-28", "2023-04-28", "2019-04-15"]) {
        let log = read(&format!("AXXXABC\n{header}\n{FIX}\n"));
        assert!(log.clock.first.starts_with(date), "{header}: {}", log.clock.first);
    }
    let log = read(&format!("AXXXABC\nHFDTE150419\n{}\n{}\n{FIX}\n", of("HFALG")[0], of("HFTZN")[0]));
    assert_eq!(value(&log, "GNSS Altitude Geoid"), Some(558.0));
    assert_eq!(log.clock.first, "2019-04-15T11:01:35Z", "a time zone changes no B record");
    let eight = of("I08")[0];
    let fix = of("B09")[0];
    let log = read(&format!("AXXXABC\nHFDTE150419\n{eight}\n{fix}\n"));
    for (code, digits) in [
        ("ENL", 1.0),
        ("TAS", 14577.0),
        ("GSP", 15293.0),
        ("TRT", 177.0),
        ("VAT", 593.0),
        ("OAT", 277.0),
        ("ACZ", 90.0),
    ] {
        assert_eq!(value(&log, &format!("{code} digits")), Some(digits), "{code}");
    }
    assert_eq!(value(&log, "Fix Accuracy"), Some(6.0));
    let eighteen = of("I18")[0];
    let log = read(&format!("AXXXABC\nHFDTE150419\n{eighteen}\n{FIX}{:>69}\n", "12345"));
    assert_eq!(value(&log, "FLE digits"), Some(12345.0), "bytes 100 to 104");
    let log = read(&format!("AXXXABC\nHFDTE150419\n{}\n{FIX}\n{}\n", of("J")[0], of("K")[0]));
    assert_eq!(value(&log, "HDT digits"), Some(90.0));
    // Every row of the table, whatever its letter, is counted and refuses nothing else.
    for row in rows.iter().filter(|r| !matches!(&r[0][..1], "B" | "K")) {
        let fix = if row[0].starts_with('I') { format!("{FIX}{:69}", "") } else { FIX.to_owned() };
        let log = read(&format!("AXXXABC\nHFDTE150419\n{}\n{fix}\n", row[0]));
        assert_eq!((log.rows_read, log.rows_refused, log.rows_left_out), (1, 0, 3), "{row:?}");
    }
}

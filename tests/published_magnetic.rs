//! Magnetic variation against the official test values of the World Magnetic Model, whose source is in the table's first line.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test stops at the first thing that is not as it must be"
)]

use jumpseat::air::{NoVariation, WEAKEST_NT, variation_deg};

/// Decimal year, height in km, latitude, longitude, declination, horizontal field in nT, change of the declination a year.
fn rows() -> Vec<[f64; 7]> {
    let table = include_str!("published/wmm2025_test_values.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(table.as_bytes());
    let number = |row: &csv::StringRecord, i: usize| row[i].parse::<f64>().unwrap();
    reader.records().map(|row| row.unwrap()).map(|row| [0, 1, 2, 3, 4, 6, 11].map(|i| number(&row, i))).collect()
}

/// The day that holds a decimal year.
fn day(year: f64) -> (i32, u16) {
    (year as i32, 1 + (year.fract() * 365.0) as u16)
}

#[test]
fn all_hundred_rows() {
    let rows = rows();
    assert_eq!(rows.len(), 100);
    let mut without_compass = 0;
    for [year, km, latitude, longitude, declination, horizontal, change] in rows {
        let found = variation_deg(latitude, longitude, km * 1000.0, day(year));
        if horizontal < WEAKEST_NT {
            assert_eq!(found, Err(NoVariation::NoCompass), "{latitude} {longitude}");
            without_compass += 1;
            continue;
        }
        // Printed to 0.01 degrees; the model is asked for the middle of a year by a whole day.
        let off = (found.unwrap() - declination + 540.0).rem_euclid(360.0) - 180.0;
        let tolerance = 0.006 + change.abs() * 0.5 / 365.0;
        assert!(off.abs() <= tolerance, "{latitude} {longitude} in {year}: {found:?}, the table says {declination}");
    }
    assert!((1..20).contains(&without_compass), "{without_compass}");
}

/// The model of 2025 holds to the end of 2029, that of 2020 before it.
#[test]
fn other_years_are_refused() {
    let at = |day| variation_deg(46.0, 7.0, 0.0, day);
    assert_eq!([at((2019, 365)), at((2030, 1))], [Err(NoVariation::OutOfYears); 2]);
    assert_eq!([at((2025, 366)), variation_deg(91.0, 7.0, 0.0, (2026, 1))], [Err(NoVariation::NoPlace); 2]);
    assert!([at((2020, 1)), at((2029, 365))].iter().all(Result::is_ok));
}

/// A height above the sea serves for one above the ellipsoid: they differ by 100 m or so (EGM96: -107 to 85 m).
#[test]
fn the_datum_of_the_height_does_not_matter() {
    for [year, km, latitude, longitude, ..] in rows().into_iter().filter(|row| row[2].abs() <= 60.0) {
        let at = |metres: f64| variation_deg(latitude, longitude, km * 1000.0 + metres, day(year)).unwrap();
        let moved = (at(100.0) - at(0.0)).abs();
        assert!(moved < 0.005, "{latitude} {longitude}: {moved}");
    }
}

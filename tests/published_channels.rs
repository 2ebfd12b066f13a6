//! What a channel says between its records, and what a calibration makes of them, against tables whose sources are in their first lines.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test stops at the first thing that is not as it must be"
)]

use jumpseat::session::{Calibration, Curve};
use jumpseat::signal::{Channel, Cursor, Kind, Origin, Samples, StateRules};

/// The first columns of a table.
fn rows<const N: usize>(text: &str) -> Vec<[f64; N]> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let rows = reader.records().map(|row| row.unwrap());
    rows.map(|row| std::array::from_fn(|i| row[i].parse().unwrap())).collect()
}

fn by_table(points: Vec<(f64, f64)>) -> Calibration {
    Calibration { column: "x".into(), unit: None, curve: Curve::Table(points), source: String::new() }
}

/// The shorter way from one heading to the next; exactly half a turn goes to the left.
#[test]
fn headings_between_two_records() {
    let table = rows::<5>(include_str!("published/heading_interpolation.csv"));
    assert_eq!(table.len(), 11);
    for [from, to, fraction, _, wanted] in table {
        let channel = Channel {
            name: "Heading".into(),
            unit: Some("deg".into()),
            kind: Kind::Angle,
            times: [0.0, 1.0].into(),
            samples: Samples::Numbers(vec![from, to]),
            missing: 0,
            breaks: Vec::new(),
            rules: StateRules::for_interval(1.0),
            origin: Origin::Recorded,
        };
        let found = channel.reading_at(fraction, &mut Cursor::default()).number().unwrap();
        // The table's fractions have nine digits.
        let off = (found - wanted + 540.0).rem_euclid(360.0) - 180.0;
        assert!(off.abs() < 1e-6 && (0.0..360.0).contains(&found), "{from} to {to} at {fraction}: {found}");
    }
}

/// Straight lines through seven knots, which the table's first line names (numpy's interp).
#[test]
fn straight_lines_between_the_points_of_a_table() {
    let knots = [(0.0, 0.0), (1.0, 0.0), (2.5, 1.0), (3.0, 5.0), (4.2, 5.0), (6.0, 4.5), (7.0, 10.0)];
    let calibration = by_table(knots.to_vec());
    let table = rows::<2>(include_str!("published/interpolation.csv"));
    assert_eq!(table.len(), 20);
    for [x, linear] in table {
        let found = calibration.value(x).unwrap();
        assert!((found - linear).abs() < 1e-9, "{x}: {found}, not {linear}");
    }
    assert_eq!([calibration.value(-0.001), calibration.value(7.001)], [None; 2]);
}

/// A type K thermocouple by the reference function of NIST Monograph 175: a table at every 100 degrees gives the temperatures between them to
/// within a degree, the sagitta of the curve over such a step.
#[test]
fn a_thermocouple_by_its_table() {
    let table = rows::<3>(include_str!("published/thermocouple_k.csv"));
    assert_eq!(table.len(), 32);
    let whole = by_table(table.iter().map(|row| (row[2], row[0])).collect());
    let hundreds = table.iter().filter(|row| (0.0..=1100.0).contains(&row[0]) && row[0] % 100.0 == 0.0);
    let coarse = by_table(hundreds.map(|row| (row[2], row[0])).collect());
    let mut between = 0;
    for [celsius, _, millivolts] in table {
        assert!((whole.value(millivolts).unwrap() - celsius).abs() < 1e-9, "{celsius}");
        if (0.0..=1100.0).contains(&celsius) {
            let found = coarse.value(millivolts).unwrap();
            assert!((found - celsius).abs() < 1.0, "{celsius}: {found}");
            between += usize::from(found != celsius);
        }
    }
    assert!(between >= 10, "{between} rows lie between the hundreds");
    assert_eq!(whole.value(60.0), None, "beyond 1300 degrees the table says nothing");
}

//! Unit factors against a table that this crate did not make.
#![allow(missing_docs, clippy::unwrap_used)]

use jumpseat::units::Unit;

/// Source of the factors: the head of the table itself (definitions; NIST SP 811; cross-checked with Pint 0.25.3).
const FACTORS: &str = include_str!("published/unit_factors.csv");

/// Rows of no use here: no log says at which temperature its mercury stands, a rotation is kept apart from a tone, and no density
/// but fuel's is stated, nobody's in slugs.
const NOT_HERE: [(&str, &str); 4] =
    [("inHg (32 F)", "Pa"), ("inHg (60 F)", "Pa"), ("rpm", "Hz"), ("slug/ft3", "kg/m3")];

/// The table's names where they are not spellings that a logger would use.
fn named(text: &str) -> &'static Unit {
    let spelling = match text {
        "inHg (conventional)" => "inHg",
        "hp (550 ft lbf/s)" => "hp",
        "g_n" => "g",
        "metric hp (PS)" => "PS",
        other => other,
    };
    Unit::parse(spelling).unwrap()
}

#[test]
fn factors_of_the_table() {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(FACTORS.as_bytes());
    let (mut rows, mut left_out) = (0, Vec::new());
    for row in reader.records() {
        let row = row.unwrap();
        if let Some((from, _)) = NOT_HERE.iter().find(|(from, to)| (*from, *to) == (&row[0], &row[1])) {
            left_out.push(*from);
            continue;
        }
        let (from, to, factor) = (named(&row[0]), named(&row[1]), row[2].parse::<f64>().unwrap());
        let ours = from.convert(1.0, to).unwrap();
        // The table prints 14 digits or more.
        assert!((ours / factor - 1.0).abs() < 5e-15, "1 {from} = {ours} {to}, the table says {factor}");
        rows += 1;
    }
    assert_eq!((rows, left_out.len()), (33, NOT_HERE.len()), "the whole table was read");
    // A tone may be any multiple of a shaft's turning.
    assert!(named("rpm").convert(1.0, named("Hz")).is_err());
}

/// The fixed points named in the head of the full table: -40 C = -40 F; 0 C = 32 F; 15 C = 59 F; 100 C = 212 F;
/// 800 C = 1472 F; K = C + 273.15; R = 1.8 K. Exact, not near.
#[test]
fn temperatures() {
    let convert = |value, from, to| named(from).convert(value, named(to)).unwrap();
    for (c, f) in [(-40.0, -40.0), (0.0, 32.0), (15.0, 59.0), (100.0, 212.0), (800.0, 1472.0)] {
        assert_eq!(convert(c, "°C", "°F"), f);
        assert_eq!(convert(f, "°F", "°C"), c);
    }
    assert_eq!(convert(0.0, "°C", "K"), 273.15);
    assert_eq!(convert(300.0, "K", "°R"), 540.0);
}

//! One quantity in two logs: both kept, one preferred, their difference told.

use super::{check, column, readings, write};
use std::path::Path;

/// Two logs of one flight. The second counts in km/h, ten times a second, half a knot more, and three knots for its last second.
fn flight(folder: &Path, prefer: &str) {
    let logs =
        ["air", "efis"].map(|name| format!("[[log]]\nname = \"{name}\"\nfile = \"{name}.csv\"\nutc_offset = \"Z\"\n"));
    write(folder, "flight.toml", &format!("{prefer}\n{}", logs.concat()));
    let mut air = "utc,IAS (kt),GPS Altitude (ft)\n".to_owned();
    let mut efis = "utc,Indicated Airspeed (km/h),AltMSL (ft)\n".to_owned();
    for i in 0..=400 {
        let (seconds, tenth) = (i / 10, i % 10);
        let knots = 40.0 + f64::from(i) * 0.1;
        if tenth == 0 {
            air += &format!("2026-05-02T09:00:{seconds:02}Z,{knots:.2},900\n");
        }
        let more = if i > 390 { 3.0 } else { 0.5 };
        efis += &format!("2026-05-02T09:00:{seconds:02}.{tenth}Z,{:.4},1050\n", (knots + more) * 1.852);
    }
    write(folder, "air.csv", &air);
    write(folder, "efis.csv", &efis);
}

/// 41 records of the sparser log: forty differ by 0.5 kt and the last by 3.
const DIFFERENCE: &str = "median +0.500 kt, 95 % within 0.500, at most 3.000, at 41 moments in 40 s";

#[test]
fn both_are_kept_and_the_owner_chooses() {
    let folder = tempfile::tempdir().expect("folder");
    flight(folder.path(), "prefer = [\"air.IAS\"]");
    let (rows, said) = readings(folder.path());
    assert_eq!(column(&rows, "air.IAS [kt]")[10].0, "50.0000");
    assert_eq!(column(&rows, "efis.Indicated Airspeed [km/h]")[10].0, format!("{:.4}", 50.5 * 1.852));
    let told = "`air.IAS` is preferred, by `prefer`; `efis.Indicated Airspeed` less `air.IAS`: ";
    assert!(said.contains(&format!("{told}{DIFFERENCE}")), "{said}");
    let checked = check(folder.path());
    assert!(checked.contains(DIFFERENCE), "{checked}");
    assert!(!said.contains("AltMSL"), "two altitudes from satellites may have two datums: {said}");
}

#[test]
fn else_the_one_with_more_records_and_else_the_first() {
    let folder = tempfile::tempdir().expect("folder");
    flight(folder.path(), "");
    let (_, said) = readings(folder.path());
    let told = "`efis.Indicated Airspeed` is preferred, for it has 401 records and the other 41; `air.IAS` less";
    assert!(said.contains(told) && said.contains("median -0.926 km/h"), "{said}");
    let air = std::fs::read_to_string(folder.path().join("air.csv")).expect("a log");
    write(folder.path(), "efis.csv", &air);
    let (_, said) = readings(folder.path());
    assert!(said.contains("`air.IAS` is preferred, for its log stands first"), "{said}");
    assert!(said.contains("median +0.000 kt"), "{said}");
}

/// What is computed comes from the preferred one: a table of position errors that adds five knots.
#[test]
fn computed_channels_take_the_preferred_one() {
    let folder = tempfile::tempdir().expect("folder");
    for (prefer, wanted) in [("prefer = [\"air\"]", 55.0), ("prefer = [\"efis\"]", 55.5), ("", 55.5)] {
        flight(folder.path(), prefer);
        let file = std::fs::read_to_string(folder.path().join("flight.toml")).expect("a file");
        write(folder.path(), "flight.toml", &format!("{file}[conditions]\nposition_error = [[20, 25], [90, 95]]\n"));
        let (rows, _) = readings(folder.path());
        let found: f64 = column(&rows, "calc.Calibrated Airspeed [kt]")[10].0.parse().expect("a number");
        assert!((found - wanted).abs() < 1e-3, "{prefer}: {found}");
    }
}

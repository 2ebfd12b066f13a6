//! Sensors' numbers and what they stand for.

use super::{check, column, readings, write};
use std::path::Path;

/// E.m.f. of a type K thermocouple in mV at degrees Celsius: NIST Monograph 175 (ITS-90), as printed to three decimals.
const TYPE_K: &str = "[[0, 0], [4.096, 100], [8.138, 200], [12.209, 300], [16.397, 400], [20.644, 500]]";

fn flight(folder: &Path, calibration: &str) {
    let head = "[[log]]\nname = \"engine\"\nfile = \"engine.csv\"\n\n[[log.calibration]]\n";
    write(folder, "flight.toml", &format!("{head}{calibration}\n"));
    let log = "time_s,EGT sensor,Note\n0,0,a\n1,4.096,b\n2,14.303,c\n3,20.644,d\n4,25.0,e\n5,20.644,f\n";
    write(folder, "engine.csv", log);
}

#[test]
fn a_table_turns_millivolts_into_degrees() {
    let folder = tempfile::tempdir().expect("folder");
    let source = "source = \"NIST Monograph 175\"";
    flight(folder.path(), &format!("column = \"EGT sensor\"\nunit = \"degC\"\ntable = {TYPE_K}\n{source}"));
    let (rows, said) = readings(folder.path());
    let found = column(&rows, "engine.EGT sensor [°C]");
    // 14.303 mV is half way from 12.209 to 16.397. What lies outside the table has no value of its own.
    let wanted = ["0.0000", "100.0000", "350.0000", "500.0000", "500.0000", "500.0000"];
    let states = ["measured", "measured", "measured", "measured", "held", "measured"];
    assert!(found.iter().map(|f| (&*f.0, &*f.1)).eq(wanted.into_iter().zip(states)), "{found:?}");
    let checked = check(folder.path());
    for words in ["calibrated by a table of 6 points", "NIST Monograph 175", "1 of 6 records lie outside the table"] {
        assert!(said.contains(words), "{said}");
        assert!(checked.contains(words), "{checked}");
    }
}

#[test]
fn a_straight_line_and_its_unit() {
    let folder = tempfile::tempdir().expect("folder");
    flight(folder.path(), "column = \"EGT sensor\"\nunit = \"psi\"\nfactor = 2.5\noffset = -1");
    let (rows, said) = readings(folder.path());
    let found = column(&rows, "engine.EGT sensor [psi]");
    let wanted = ["-1.0000", "9.2400", "34.7575", "50.6100", "61.5000", "50.6100"];
    assert!(found.iter().map(|f| (&*f.0, &*f.1)).eq(wanted.map(|value| (value, "measured"))), "{found:?}");
    assert!(said.contains("calibrated by 2.5 x recorded -1 psi"), "{said}");
}

/// 0 to 1023 counts round the card: between 350 and 10 degrees lies north, not south.
#[test]
fn a_calibrated_heading_goes_the_shorter_way() {
    let folder = tempfile::tempdir().expect("folder");
    let head =
        "[[log]]\nname = \"air\"\nfile = \"air.csv\"\n[[log.calibration]]\ncolumn = \"Heading\"\nunit = \"deg\"\n";
    write(folder.path(), "flight.toml", &format!("{head}factor = 0.5\noffset = 10\n"));
    write(folder.path(), "air.csv", "time_s,Heading\n0,680\n2,720\n4,760\n");
    let (rows, _) = readings(folder.path());
    let found = column(&rows, "air.Heading [deg]");
    let wanted = ["350.0000", "0.0000", "10.0000", "20.0000", "30.0000"];
    assert!(found.iter().map(|f| &*f.0).eq(wanted), "{found:?}");
}

#[test]
fn texts_are_not_calibrated() {
    let folder = tempfile::tempdir().expect("folder");
    flight(folder.path(), "column = \"Note\"\nfactor = 2");
    assert!(check(folder.path()).contains("the column `Note` holds texts"));
}

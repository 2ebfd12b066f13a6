//! Channels of the owner's own formulae.

use super::{check, column, readings, write};
use std::path::Path;

fn flight(folder: &Path, formulae: &str) {
    let logs = ["air", "engine"]
        .map(|name| format!("[[log]]\nname = \"{name}\"\nfile = \"{name}.csv\"\nutc_offset = \"Z\"\n"));
    write(folder, "flight.toml", &format!("{}{formulae}", logs.concat()));
    let (mut air, mut engine) = ("utc,IAS (kt)\n".to_owned(), "utc,Fuel (US gal),FF (gph),Radio\n".to_owned());
    for i in 0..20 {
        air += &format!("2026-05-02T09:00:{i:02}Z,{}\n", 40 + i);
        // The gauge says nothing from 8 to 11 s.
        let gauge = if (8..12).contains(&i) { String::new() } else { format!("{}", 14 - i / 2) };
        engine += &format!("2026-05-02T09:00:{i:02}Z,{gauge},{},TWR\n", if i == 4 { 0 } else { 8 });
    }
    write(folder, "air.csv", &air);
    write(folder, "engine.csv", &engine);
}

#[test]
fn it_has_its_unit_and_its_state() {
    let folder = tempfile::tempdir().expect("folder");
    let first = "[[formula]]\nname = \"Time Left\"\nunit = \"min\"\nexpression = \"({engine.Fuel} - 2[US gal]) / {engine.FF}\"\n";
    let second = "[[formula]]\nname = \"Way Left\"\nunit = \"km\"\nexpression = '{calc.Time Left} * {air.IAS}'\n";
    flight(folder.path(), &format!("{first}{second}"));
    let (rows, _) = readings(folder.path());
    let (time, way) = (column(&rows, "calc.Time Left [min]"), column(&rows, "calc.Way Left [km]"));
    // (14 - 2) US gal at 8 an hour are 90 minutes; with 40 kt that are 60 nautical miles of 1852 m.
    assert_eq!(time[0], ("90.0000".into(), "derived".into()));
    assert_eq!(way[0], ("111.1200".into(), "derived".into()));
    // No flow: no time. The last value is held a second, as that of a cell without a number is; then there is none.
    assert_eq!(time[4].1, "held");
    assert_eq!(time[11], (String::new(), "stale".into()), "{:?}", &time[7..13]);
    assert_eq!(way[11], (String::new(), "stale".into()), "{:?}", &way[7..13]);
    assert_eq!(time[12], ("45.0000".into(), "derived".into()), "(8 - 2) US gal at 8 an hour");
}

#[test]
fn a_fault_is_shown_where_it_stands() {
    let folder = tempfile::tempdir().expect("folder");
    for (expression, unit, words, caret) in [
        ("3 * ({air.IAS} + {engine.Fuel})", "kt", "`air.IAS` (speed) and `engine.Fuel` (volume) cannot be added", 25),
        ("{air.IAS} * {engine.Fuell}", "kt", "no log has the channel `engine.Fuell`", 14),
        ("{air.IAS} * {engine.Radio}", "kt", "`engine.Radio` holds texts", 14),
        ("{air.IAS} / {engine.FF}", "kt", "it cannot be written in kt", 23),
    ] {
        let formula = format!("[[formula]]\nname = \"x\"\nunit = \"{unit}\"\nexpression = \"{expression}\"\n");
        flight(folder.path(), &formula);
        let said = check(folder.path());
        assert!(said.contains(words), "{said}");
        assert!(said.contains(&format!(" {} ", "^".repeat(caret))), "no caret of {caret}: {said}");
    }
}

#[test]
fn no_name_is_given_twice() {
    let folder = tempfile::tempdir().expect("folder");
    let formula = "[[formula]]\nname = \"Fuel Used\"\nunit = \"L\"\nexpression = \"2 * {engine.Fuel}\"\n";
    flight(folder.path(), formula);
    assert!(check(folder.path()).contains("`calc.Fuel Used` is computed already"));
}

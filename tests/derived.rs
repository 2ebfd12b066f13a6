//! Channels that no logger recorded, from a log's text to the reading: against published tables and flights made by hand.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops at the first thing that is not as it must be"
)]

use jumpseat::recorder::{self, Options};
use jumpseat::session::{Basis, Session};
use jumpseat::signal::{Cursor, State};
use jumpseat::time::SessionTime;
use std::fmt::Write;

fn session(header: &str, rows: impl Iterator<Item = String>, basis: &Basis) -> Session {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().join("log.csv");
    std::fs::write(&path, format!("{header}\n{}\n", rows.collect::<Vec<_>>().join("\n"))).expect("log");
    Session::of(recorder::read(&path, &Options::default()).expect("a log")).derived(basis)
}

fn at(session: &Session, name: &str, time: f64) -> (Option<f64>, State) {
    let id = session.find(name).unwrap_or_else(|| panic!("no channel {name}"));
    let reading = session.reading(id, SessionTime(time), &mut Cursor::default());
    (reading.number(), reading.state)
}

fn value(session: &Session, name: &str, time: f64) -> f64 {
    at(session, name, time).0.unwrap_or_else(|| panic!("{name} says nothing at {time} s"))
}

fn table(text: &str, columns: &[&str]) -> Vec<Vec<f64>> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let of = |name: &&str| header.iter().position(|h| h == *name).expect("a column");
    let columns: Vec<usize> = columns.iter().map(of).collect();
    reader
        .records()
        .map(|row| row.unwrap())
        .map(|row| columns.iter().map(|&i| row[i].parse().unwrap()).collect())
        .collect()
}

/// The rows of the table of airspeeds (its source is in its first line) written as a log in other units.
#[test]
fn airspeeds_of_a_log_are_those_of_the_table() {
    let columns = ["pressure_alt_ft", "temp_C", "cas_kt", "tas_kt", "eas_kt"];
    let rows = table(include_str!("published/airspeeds.csv"), &columns);
    let line = |(i, row): (usize, &Vec<f64>)| {
        let (metres, fahrenheit) = (row[0] * 0.3048, row[1] * 1.8 + 32.0);
        format!("{i},{:.6},{metres:.6},{fahrenheit:.6}", row[2] * 1852.0 / 1609.344)
    };
    let header = "time_s,IAS (mph),Pressure Altitude (m),OAT (degF)";
    let session = session(header, rows.iter().enumerate().map(line), &Basis::default());
    // Slower ones say nothing.
    for (i, row) in rows.iter().enumerate().filter(|(_, row)| row[2] >= 20.0) {
        let (tas, eas) =
            (value(&session, "calc.True Airspeed", i as f64), value(&session, "calc.Equivalent Airspeed", i as f64));
        assert!((tas - row[3]).abs() < 1e-3 && (eas - row[4]).abs() < 1e-3, "{row:?}: {tas}, {eas}");
    }
}

/// Static pressures of the standard atmosphere read back as its altitudes, which are density altitudes too.
#[test]
fn altitudes_of_a_log_are_those_of_the_standard_atmosphere() {
    let rows = table(include_str!("published/std_atmosphere.csv"), &["geopotential_ft", "pressure_hPa", "temp_C"]);
    let rows: Vec<&Vec<f64>> = rows.iter().filter(|row| row[0] <= 30_000.0).collect();
    let line = |(i, row): (usize, &&Vec<f64>)| format!("{i},{:.4},{:.4}", row[1], row[2]);
    let settings_hpa = vec![(5.0, 1023.0)];
    let basis = Basis { settings_hpa, ..Basis::default() };
    let session = session("time_s,Static Pressure (hPa),OAT (degC)", rows.iter().enumerate().map(line), &basis);
    for (i, row) in rows.iter().enumerate() {
        let pressure = value(&session, "calc.Pressure Altitude", i as f64);
        let density = value(&session, "calc.Density Altitude", i as f64);
        assert!((pressure - row[0]).abs() < 0.2 && (density - row[0]).abs() < 1.5, "{row:?}: {pressure}, {density}");
    }
    assert_eq!(at(&session, "calc.Indicated Altitude", 4.0).1, State::Invalid, "before the first setting");
    // 1023 hPa lies 9.75 hPa above the standard: by the table of settings 27.16 ft a hectopascal there.
    let raised = value(&session, "calc.Indicated Altitude", 6.0) - value(&session, "calc.Pressure Altitude", 6.0);
    assert!((raised - 265.5).abs() < 2.0, "{raised}");
}

/// A flight in a circle at 100 kt and 3 degrees a second in a wind from 330 at 20 kt, its positions on the ellipsoid.
#[test]
fn a_circle_in_the_wind() {
    let (mut lat, mut lon) = (46.0_f64, 7.0_f64);
    let mut lines = Vec::new();
    let (wind_e, wind_n) = (-20.0 * 330_f64.to_radians().sin(), -20.0 * 330_f64.to_radians().cos());
    let mut truth = Vec::new();
    for i in 0..1800 {
        let t = f64::from(i) * 0.1;
        // Straight for a minute, then round.
        let heading = if t < 60.0 { 90.0 } else { (90.0 + 3.0 * (t - 60.0)).rem_euclid(360.0) };
        let (sin, cos) = heading.to_radians().sin_cos();
        let (east, north) = (100.0 * sin + wind_e, 100.0 * cos + wind_n);
        lines.push(format!("{t:.1},{lat:.9},{lon:.9},{heading:.4},100.0,1000,10"));
        truth.push((t, east.hypot(north), east.atan2(north).to_degrees().rem_euclid(360.0)));
        // The radii of curvature of WGS 84, as any text on map projections has them.
        let e2 = 0.006_694_379_990_14;
        let w2 = 1.0 - e2 * lat.to_radians().sin().powi(2);
        let (m, n) = (6_378_137.0 * (1.0 - e2) / w2.powf(1.5), 6_378_137.0 / w2.sqrt());
        let step = 0.1 * 1852.0 / 3600.0;
        lat += (north * step / m).to_degrees();
        lon += (east * step / (n * lat.to_radians().cos())).to_degrees();
    }
    let header = "time_s,Latitude (deg),Longitude (deg),Heading True (deg),TAS (kt),Pressure Altitude (ft),OAT (degC)";
    let session = session(header, lines.into_iter(), &Basis::default());
    for &(t, speed, track) in truth.iter().filter(|row| row.0 > 3.0 && row.0 < 57.0 || row.0 > 64.0 && row.0 < 175.0) {
        let (found, way) = (value(&session, "calc.Ground Speed", t), value(&session, "calc.Track", t));
        let apart = ((way - track + 540.0).rem_euclid(360.0) - 180.0).abs();
        assert!((found - speed).abs() < 0.2 && apart < 0.2, "{t} s: {found} kt on {way}, it was {speed} on {track}");
    }
    // 120 kt and 3 degrees a second are 18 degrees of bank in the instrument texts; 100 kt are 15.36.
    assert!((value(&session, "calc.Turn Rate", 120.0) - 3.0).abs() < 0.01);
    assert!((value(&session, "calc.Bank in a Coordinated Turn", 120.0) - 15.36).abs() < 0.05);
    let (from, speed) = (value(&session, "calc.Wind From True", 30.0), value(&session, "calc.Wind Speed", 30.0));
    assert!((from - 330.0).abs() < 0.5 && (speed - 20.0).abs() < 0.2, "{from} at {speed}");
    assert!(value(&session, "calc.Wind Sigma", 30.0) < 0.2);
    assert_ne!(at(&session, "calc.Wind Speed", 120.0).1, State::Derived, "no wind is taken in a turn");
}

#[test]
fn a_steady_climb_and_a_gap() {
    let line = |i: i32| format!("{},{}", f64::from(i) * 0.5, 1000 + 5 * i);
    let rows = (0..200).filter(|i| !(80..120).contains(i)).map(line);
    let session = session("time_s,Pressure Altitude (ft)", rows, &Basis::default());
    for t in [2.0, 20.25, 38.0, 62.0, 98.0] {
        let found = value(&session, "calc.Vertical Speed", t);
        assert!((found - 600.0).abs() < 0.5, "{t} s: {found}");
    }
    let state = |t| at(&session, "calc.Vertical Speed", t).1;
    assert_eq!([state(39.7), state(45.0), state(59.9)], [State::Held, State::Stale, State::Stale]);
}

/// 13 US gallons an hour for an hour; a gap of ten minutes adds nothing.
#[test]
fn fuel_by_flow() {
    let rows = (0..=3600).filter(|i| !(1000..1600).contains(i)).map(|i| format!("{i},13.0"));
    let basis = Basis { fuel_at_start_l: Some(20.0 * 3.785411784), ..Basis::default() };
    let session = session("time_s,Fuel Flow (gph)", rows, &basis);
    let gallons = |name| value(&session, name, 3600.0) / 3.785411784;
    let flown = 13.0 * (3600.0 - 601.0) / 3600.0;
    assert!((gallons("calc.Fuel Used") - flown).abs() < 1e-6, "{}", gallons("calc.Fuel Used"));
    assert!((gallons("calc.Fuel Left by Flow") - (20.0 - flown)).abs() < 1e-6);
}

/// What was recorded is not computed, what cannot be known is not made up, and slow airspeeds say nothing.
#[test]
fn nothing_is_made_up() {
    let mut text = String::new();
    for i in 0..60 {
        writeln!(text, "{i},{},{},102.0,99.5", if i < 30 { 12 } else { 60 }, 510).unwrap();
    }
    let rows = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>().into_iter();
    let header = "time_s,IAS (kt),Rotor (rpm),Engine (%),Volts (V)";
    let bare = session(header, rows(&text), &Basis::default());
    let names: Vec<String> = bare.channels().map(|(_, name, _)| name).filter(|n| n.starts_with("calc.")).collect();
    assert_eq!(names, [""; 0], "no altitude, no temperature, no owner's figure");
    let basis = Basis {
        rotor_rpm_at_100: Some(500.0),
        position_error_kt: vec![(10.0, 15.0), (100.0, 105.0)],
        slowest_kt: 30.0,
        ..Basis::default()
    };
    let stated = session(header, rows(&text), &basis);
    assert_eq!(at(&stated, "calc.Rotor Percent", 5.0), (Some(102.0), State::Derived));
    assert_eq!(at(&stated, "calc.Calibrated Airspeed", 5.0).0, None);
    assert_eq!(at(&stated, "calc.Calibrated Airspeed", 45.0), (Some(65.0), State::Derived));
}

/// Only what is named is computed, and it does not depend on what else is: asked for alone, each channel is that of the whole session.
#[test]
fn a_channel_that_is_asked_for_alone_is_the_same() {
    let logs = [
        "time_s,IAS [kt],Static Pressure [hPa],OAT [degC],True Heading [deg],Latitude [deg],Longitude [deg],\
         NR [rpm],Engine RPM [rpm],Fuel Flow [L/h]",
        "time_s,IAS [kt],Indicated Altitude [ft],Dew Point [degC],True Heading [deg],Latitude [deg],Longitude [deg],\
         NR [%],Engine RPM [%],Fuel Flow [L/h]",
    ];
    let basis = Basis {
        settings_hpa: vec![(0.0, 1011.0)],
        oat_c: Some(12.0),
        field_elevation_ft: Some(420.0),
        position_error_kt: vec![(0.0, 2.0), (150.0, 151.0)],
        slowest_kt: 20.0,
        rotor_rpm_at_100: Some(400.0),
        engine_rpm_at_100: Some(2700.0),
        fuel_at_start_l: Some(50.0),
    };
    let mut seen = std::collections::BTreeSet::new();
    for (log, header) in logs.into_iter().enumerate() {
        let row = |i: i32| {
            let t = f64::from(i) / 5.0;
            let (sin, cos) = (t / 20.0).sin_cos();
            let height = if log == 0 { 950.0 + 20.0 * cos } else { 1800.0 + 300.0 * cos };
            let (lat, lon) = (51.0 + 4e-4 * t, -1.0 + 1e-4 * t);
            let speeds = if log == 0 { [398.0 + sin, 2690.0] } else { [99.5 + sin, 99.0] };
            let [rotor, engine] = speeds;
            format!(
                "{t},{},{height},{},{},{lat:.7},{lon:.7},{rotor},{engine},{}",
                85.0 + 5.0 * sin,
                9.0 + cos,
                3.0 + cos,
                40.0 + cos
            )
        };
        let whole = session(header, (0..500).map(row), &basis);
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("log.csv");
        std::fs::write(&path, format!("{header}\n{}\n", (0..500).map(row).collect::<Vec<_>>().join("\n")))
            .expect("log");
        let recording = recorder::read(&path, &Options::default()).expect("a log");
        let derived = |session: &Session| {
            let computed = session.channels().filter(|(_, name, _)| name.starts_with("calc."));
            computed.map(|(_, name, channel)| (name, channel.clone())).collect::<Vec<_>>()
        };
        let all = derived(&whole);
        for (name, channel) in &all {
            let alone = derived(&Session::of(recording.clone()).derived_for(&basis, std::slice::from_ref(name)));
            let found = alone.iter().find(|(found, _)| found == name);
            assert_eq!(found.map(|(_, c)| c), Some(channel), "{name}");
            assert!(alone.len() < all.len(), "{name}: not everything is computed");
        }
        let none = derived(&Session::of(recording.clone()).derived_for(&basis, &["log.IAS".to_owned()]));
        assert!(none.iter().all(|(name, _)| !name.contains("Wind") && !name.contains("Vertical")), "{none:?}");
        let unknown = derived(&Session::of(recording).derived_for(&basis, &["calc.Vertical Sped".to_owned()]));
        assert_eq!(unknown.len(), all.len(), "for who names what is not there must be told what there is");
        seen.extend(all.into_iter().map(|(name, _)| name));
    }
    for name in
        ["Wind Sigma", "Bank in a Coordinated Turn", "Vertical Speed", "Track", "Density Altitude", "Fuel Left by Flow"]
    {
        assert!(seen.contains(&format!("calc.{name}")), "{name} of {seen:?}");
    }
}

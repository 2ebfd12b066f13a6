//! Channels that no logger recorded, from a log's text to the reading: against published tables and flights made by hand.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test stops at the first thing that is not as it must be"
)]

use jumpseat::clock::ClockFit;
use jumpseat::recorder::{self, Options};
use jumpseat::session::{Basis, Session, SessionLog};
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
    // 1 / cos(15.36 degrees).
    assert!((value(&session, "calc.Load Factor in a Coordinated Turn", 120.0) - 1.0371).abs() < 0.0005);
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
    let at_work = ["calc.Engine Time", "calc.Electrical Time"];
    assert_eq!(names, at_work, "no altitude, no temperature, no owner's figure");
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
        fuel_reserve_l: Some(5.0),
        flow_in_flight_l_h: Some(2.0),
        fuel_density_kg_m3: None,
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

/// The official test values of the World Magnetic Model (their source is in the table's first line) as the fixes of one log: one a second,
/// all on the first day of 2025.
#[test]
fn a_true_heading_is_the_magnetic_one_and_the_variation() {
    let columns = ["decimal_year", "height_km", "lat_deg", "lon_deg", "decl_deg", "H_nT"];
    let rows = table(include_str!("published/wmm2025_test_values.csv"), &columns);
    let rows: Vec<&Vec<f64>> = rows.iter().filter(|row| row[0] == 2025.0 && row[5] > 2000.0).collect();
    let line = |(i, row): (usize, &&Vec<f64>)| {
        format!("2025-01-01T00:00:{i:02}Z,{},{},{},100,350", row[2], row[3], row[1] * 1000.0)
    };
    assert!(rows.len() >= 9, "{}", rows.len());
    let header = "utc,Latitude (deg),Longitude (deg),GPS Altitude (m),Heading Magnetic (deg),Track True (deg)";
    let log = session(header, rows.iter().enumerate().map(line), &Basis::default());
    for (i, row) in rows.iter().enumerate() {
        let (t, east) = (i as f64, row[4]);
        assert!((value(&log, "calc.Variation", t) - east).abs() < 0.006, "{row:?}");
        for (name, wanted) in [("calc.Heading True", 100.0 + east), ("calc.Track Magnetic", 350.0 - east)] {
            let found = value(&log, name, t);
            let off = (found - wanted + 540.0).rem_euclid(360.0) - 180.0;
            assert!(off.abs() < 0.006 && (0.0..360.0).contains(&found), "{name}: {found}, {row:?}");
        }
    }
    // A bare heading and a bare track do not say their north; a log without a date has no variation, nor has one of 2019.
    for (stamp, header) in [
        ("2025-01-01T00:00:", "utc,Latitude (deg),Longitude (deg),Heading (deg),Track (deg)"),
        ("2019-01-01T00:00:", "utc,Latitude (deg),Longitude (deg),Heading Magnetic (deg),Track True (deg)"),
        ("", "time_s,Latitude (deg),Longitude (deg),Heading Magnetic (deg),Track True (deg)"),
    ] {
        let zone = if stamp.is_empty() { "" } else { "Z" };
        let rows = (0..30).map(|i| format!("{stamp}{i:02}{zone},46.0,7.0,100,350"));
        let log = session(header, rows, &Basis::default());
        assert_eq!(log.find("calc.Variation").is_some(), stamp.starts_with("2025"), "{stamp}");
        assert_eq!([log.find("calc.Heading True"), log.find("calc.Track Magnetic")], [None; 2], "{stamp}");
        let told = log.remarks().iter().any(|remark| remark.message.contains("not computed for 2019"));
        assert_eq!(told, stamp.starts_with("2019"), "{stamp}");
    }
}

/// 30 litres an hour from 60 litres on, a reserve of 10, 60 kt over the ground; then idling on the ground at 10 litres an hour.
#[test]
fn endurance_and_range_in_flight() {
    let flies = |i: i32| i < 1200;
    let flow = |i: i32| if flies(i) { 30.0 } else { 10.0 };
    let rows = (0..=1500).map(|i| {
        let used = f64::from(i.min(1200)) / 120.0 + f64::from((i - 1200).max(0)) / 360.0;
        format!("{i},{},{:.6},{}", flow(i), 58.0 - used, if i < 900 { 60 } else { 10 })
    });
    let header = "time_s,Fuel Flow (L/h),Fuel (L),Ground Speed (kt)";
    let basis = Basis {
        fuel_at_start_l: Some(60.0),
        fuel_reserve_l: Some(10.0),
        flow_in_flight_l_h: Some(20.0),
        ..Basis::default()
    };
    let lines: Vec<String> = rows.collect();
    let log = session(header, lines.iter().cloned(), &basis);
    // After ten minutes five litres have gone: 45 above the reserve last 90 minutes. The gauge says two less: 86.
    for (name, wanted) in [
        ("calc.Endurance by Flow", 90.0),
        ("calc.Endurance by Gauge", 86.0),
        ("calc.Range by Flow", 90.0),
        ("calc.Range by Gauge", 86.0),
        ("calc.Fuel Used by Gauge", 4.5),
    ] {
        let found = value(&log, name, 600.0);
        assert!((found - wanted).abs() < 0.01, "{name}: {found}");
    }
    assert_eq!(at(&log, "calc.Endurance by Flow", 59.0).0, None, "no mean of a minute yet");
    assert!(
        at(&log, "calc.Range by Flow", 1000.0).0.is_none() && at(&log, "calc.Endurance by Flow", 1000.0).0.is_some()
    );
    assert_eq!(at(&log, "calc.Endurance by Flow", 1400.0).0, None, "idling on the ground promises nothing");
    let unsaid = session(header, lines.iter().cloned(), &Basis { flow_in_flight_l_h: None, ..basis.clone() });
    assert_eq!(unsaid.find("calc.Endurance by Flow").or(unsaid.find("calc.Endurance by Gauge")), None);
    let low = session(header, lines.into_iter(), &Basis { fuel_reserve_l: Some(57.0), ..basis });
    assert_eq!(value(&low, "calc.Endurance by Flow", 600.0), 0.0, "below the reserve there is none left");
}

/// The rows of `published/fuel.csv` (its source is in its first line): a flow and a gauge in pounds last as long as in gallons, by the density alone.
#[test]
fn fuel_that_is_weighed() {
    for row in table(
        include_str!("published/fuel.csv"),
        &["density_kg_m3", "lb_of_26.4_usgal", "endurance_h_26.4_usgal_at_13_usgal_h"],
    ) {
        let [density, pounds, hours] = row[..] else { panic!("{row:?}") };
        let flow = pounds * 13.0 / 26.4;
        let rows = || (0..=120).map(|i| format!("{i},{flow:.6},{pounds:.6}"));
        let header = "time_s,Fuel Flow (lb/h),Fuel (lb)";
        let basis = Basis {
            fuel_at_start_l: Some(26.4 * 3.785411784),
            flow_in_flight_l_h: Some(1.0),
            fuel_density_kg_m3: Some(density),
            ..Basis::default()
        };
        let log = session(header, rows(), &basis);
        // The first minute has been flown; of a gauge the mean is half a minute old.
        for (name, minutes) in
            [("calc.Endurance by Flow", 60.0 * hours - 1.0), ("calc.Endurance by Gauge", 60.0 * hours - 0.5)]
        {
            let found = value(&log, name, 60.0);
            assert!((found / minutes - 1.0).abs() < 1e-5, "{name}: {found}, not {minutes}");
        }
        let unsaid = session(header, rows(), &Basis { fuel_density_kg_m3: None, ..basis });
        assert_eq!(unsaid.find("calc.Fuel Used"), None, "a density is never assumed");
    }
}

/// Rotor and engine from 100 s to 400 s, with a gap of a minute; the bus all the time.
#[test]
fn times_at_work() {
    let rows = (0..=500).filter(|i| !(200..260).contains(i)).map(|i| {
        let speed = if (100..400).contains(&i) { 98 } else { 1 };
        format!("{i},{speed},{speed},28")
    });
    let log = session("time_s,Rotor (%),Engine (%),Volts (V)", rows, &Basis::default());
    for (name, seconds) in [("calc.Rotor Time", 239.0), ("calc.Engine Time", 239.0), ("calc.Electrical Time", 439.0)] {
        let found = value(&log, name, 500.0) * 60.0;
        assert!((found - seconds).abs() < 1e-6, "{name}: {found}");
    }
    let figures = log.figures().join("\n");
    for words in [
        "calc.Rotor Time: 4.0 min, at least, for 61 s are not recorded, rotor at 2 % or more",
        "Electrical Time: 7.3 min",
    ] {
        assert!(figures.contains(words), "{figures}");
    }
}

/// Speeds that were logged in rpm are split in percent by the owner's figures, but only where one logger wrote both.
#[test]
fn needles_of_two_loggers_are_not_split() {
    let folder = tempfile::tempdir().expect("folder");
    let log = |name: &str, header: &str| {
        let rows: String = (0..20).map(|i| format!("{i},500,5940\n")).collect();
        let path = folder.path().join(format!("{name}.csv"));
        std::fs::write(&path, format!("{header}\n{rows}")).expect("log");
        let recording = recorder::read(&path, &Options::default()).expect("a log");
        SessionLog { name: name.to_owned(), part_of: None, recording, fit: Some(ClockFit::same()) }
    };
    let basis = Basis { rotor_rpm_at_100: Some(500.0), engine_rpm_at_100: Some(6000.0), ..Basis::default() };
    let one = Session::join(vec![log("a", "t_s,Rotor (rpm),Engine (rpm)")], 0).derived(&basis);
    assert!((value(&one, "calc.Needle Split", 5.0) - 1.0).abs() < 1e-9);
    let two = vec![log("a", "t_s,Rotor (rpm),x"), log("b", "t_s,x,Engine (rpm)")];
    let two = Session::join(two, 0).derived(&basis);
    assert!((value(&two, "calc.Engine Percent", 5.0) - 99.0).abs() < 1e-9);
    assert_eq!(two.find("calc.Needle Split"), None, "two clocks make a split of their own");
}

/// A body at rest feels 1 g, however the sensor is turned: 0.6, 0.8 and 0 of it along its axes.
#[test]
fn what_a_body_feels() {
    let rows = (0..10).map(|i| format!("{i},{},{},0", 0.6 * 9.80665, -0.8 * 9.80665));
    let log = session("time_s,Accel X (m/s2),Accel Y (m/s2),Accel Z (m/s2)", rows, &Basis::default());
    assert!((value(&log, "calc.Total Acceleration", 5.0) - 1.0).abs() < 1e-9);
    let rows = (0..10).map(|i| format!("{i},1.0"));
    let single = session("time_s,Accel Z (g)", rows, &Basis::default());
    assert_eq!(single.find("calc.Total Acceleration"), None);
}

//! Air data against tables that this crate did not make. Each table's first line names its source and how it was obtained.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test stops at the first thing that is not as it must be"
)]

use jumpseat::air::{
    Air, Airspeeds, Aloft, bank_deg, blade_passage_hz, calibrated_kt, density_altitude_ft, endurance_h, ground,
    heading_for, impact_pressure_hpa, indicated_altitude_ft, load_factor, mass_kg, percent, pressure_altitude_ft,
    radius_m, rpm, standard, tip_speed_m_s, turn_rate_deg_s, wind_from,
};

/// Rows of a table by the names of its columns; a cell that is no number is none.
struct Table {
    names: Vec<String>,
    rows: Vec<Vec<Option<f64>>>,
}

impl Table {
    fn of(text: &str) -> Self {
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        let names = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let rows = reader.records().map(|row| row.unwrap().iter().map(|cell| cell.parse().ok()).collect());
        Self { names, rows: rows.collect() }
    }

    /// Every row as the numbers of some columns; a row that lacks one of them is left out.
    fn numbers<const N: usize>(&self, columns: [&str; N]) -> Vec<[f64; N]> {
        let of = |name: &str| self.names.iter().position(|n| n == name).expect("a column of the table");
        let columns = columns.map(of);
        let whole = |row: &Vec<Option<f64>>| {
            let cells = columns.map(|i| row[i]);
            cells.iter().all(Option::is_some).then(|| cells.map(Option::unwrap))
        };
        self.rows.iter().filter_map(whole).collect()
    }
}

fn near(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((found - expected).abs() <= tolerance, "{what}: {found}, the table says {expected}");
}

/// Relative to the printed value, whose last digit decides.
fn close(found: f64, expected: f64, share: f64, what: &str) {
    near(found, expected, share * expected.abs(), what);
}

#[test]
fn the_standard_atmosphere() {
    let table = Table::of(include_str!("published/std_atmosphere.csv"));
    let rows = table.numbers([
        "geopotential_ft",
        "temp_K",
        "pressure_hPa",
        "density_kg_m3",
        "sound_kt",
        "sigma_rho_over_rho0",
    ]);
    assert_eq!(rows.len(), 83);
    for [ft, k, hpa, rho, sound, sigma] in rows {
        let what = format!("{ft} ft");
        let air = standard(ft).unwrap();
        near(air.temperature_c + 273.15, k, 1e-4, &what);
        close(air.pressure_hpa, hpa, 1e-5, &what);
        close(air.density(), rho, 1e-5, &what);
        close(air.sound_kt(), sound, 1e-5, &what);
        close(air.sigma(), sigma, 1e-5, &what);
        near(pressure_altitude_ft(air.pressure_hpa).unwrap(), ft, 1e-3, &what);
    }
    assert!(standard(70_000.0).is_none() && pressure_altitude_ft(0.0).is_none());
}

#[test]
fn airspeeds() {
    let table = Table::of(include_str!("published/airspeeds.csv"));
    let rows = table.numbers(["pressure_alt_ft", "temp_C", "cas_kt", "qc_hPa", "mach", "eas_kt", "tas_kt"]);
    assert_eq!(rows.len(), 69);
    for [ft, c, cas, qc, mach, eas, tas] in rows {
        let what = format!("{cas} kt at {ft} ft, {c} C");
        let speeds = Airspeeds::new(cas, ft, c).unwrap();
        near(impact_pressure_hpa(cas), qc, 1e-6, &what);
        near(calibrated_kt(qc).unwrap(), cas, 1e-4, &what);
        near(speeds.mach, mach, 1e-7, &what);
        near(speeds.equivalent_kt, eas, 1e-4, &what);
        near(speeds.true_kt, tas, 1e-4, &what);
    }
    assert!(calibrated_kt(-0.1).is_none() && Airspeeds::new(800.0, 30_000.0, -45.0).is_none());
}

/// 0.05 ft: settings are printed to 0.0001 hPa, of which 29 make a foot. The US National Weather Service's own formula is another one:
/// within 2.5 ft of ours below 6000 ft.
#[test]
fn altimeter_settings() {
    let table = Table::of(include_str!("published/altimeter_setting.csv"));
    let rows = table.numbers([
        "elevation_or_indicated_ft",
        "setting_hPa",
        "static_pressure_hPa",
        "pressure_alt_ft",
        "nws_pressure_alt_ft",
    ]);
    assert_eq!(rows.len(), 36);
    for [elevation, setting, pressure, expected, nws] in rows {
        let what = format!("{setting} hPa, {elevation} ft");
        let found = pressure_altitude_ft(pressure).unwrap();
        near(found, expected, 0.05, &what);
        near(found, nws, if expected < 6000.0 { 2.5 } else { 4.0 }, &what);
        near(indicated_altitude_ft(found, setting).unwrap(), elevation, 0.05, &what);
    }
    assert!(indicated_altitude_ft(0.0, 900.0).is_none(), "no window shows that");
}

#[test]
fn density_altitudes() {
    let table = Table::of(include_str!("published/density_altitude.csv"));
    let rows = table.numbers(["station_pressure_hPa", "temp_C", "da_dry_ft"]);
    assert_eq!(rows.len(), 21);
    for [pressure_hpa, temperature_c, dry] in rows {
        let air = Air { pressure_hpa, temperature_c };
        near(density_altitude_ft(air, None).unwrap(), dry, 1.0, &format!("{air:?}"));
    }
    let columns = ["station_pressure_hPa", "temp_C", "dewpoint_C", "da_ft", "da_metpy_ft", "da_nws_ft"];
    let wet = table.numbers(columns);
    assert!(wet.len() >= 8, "{}", wet.len());
    for [pressure_hpa, temperature_c, dew, expected, metpy, nws] in wet {
        let air = Air { pressure_hpa, temperature_c };
        let found = density_altitude_ft(air, Some(dew)).unwrap();
        let what = format!("{air:?}, dew point {dew}");
        near(found, expected, 1.0, &what);
        // Other formulae of the vapour's pressure.
        near(found, metpy, 3.0, &what);
        near(found, nws, 20.0, &what);
    }
    let air = Air { pressure_hpa: 1000.0, temperature_c: 10.0 };
    assert!(density_altitude_ft(air, Some(12.0)).is_none(), "a dew point above the temperature");
}

#[test]
fn wind_triangles() {
    let table = Table::of(include_str!("published/wind_triangle.csv"));
    let rows = table.numbers(["course_deg", "tas_kt", "wind_from_deg", "wind_kt", "heading_deg", "gs_kt"]);
    assert_eq!(rows.len(), 14);
    let around = |a: f64, b: f64| ((a - b + 540.0).rem_euclid(360.0) - 180.0).abs();
    for [course, tas, from_deg, speed, heading, gs] in rows {
        let (what, wind) = (format!("course {course}, wind {from_deg}/{speed}"), Aloft { from_deg, speed });
        let (found_heading, found_gs) = heading_for(course, tas, wind).unwrap();
        assert!(around(found_heading, heading) < 1e-3, "{what}: {found_heading} for {heading}");
        near(found_gs, gs, 1e-3, &what);
        let (track, over) = ground(heading, tas, wind);
        assert!(around(track, course) < 1e-3, "{what}: {track}");
        near(over, gs, 1e-3, &what);
    }
    let table = Table::of(include_str!("published/wind_from_tracks.csv"));
    let rows = table.numbers(["heading_deg", "tas_kt", "track_deg", "gs_kt", "wind_from_deg", "wind_kt"]);
    assert_eq!(rows.len(), 8);
    for [heading, tas, track, gs, from, speed] in rows {
        let found = wind_from(heading, tas, track, gs);
        near(found.speed, speed, 1e-3, "speed");
        assert!(speed < 0.01 || around(found.from_deg, from) < 0.01, "{found:?} for {from}");
    }
    assert!(heading_for(0.0, 20.0, Aloft { from_deg: 90.0, speed: 30.0 }).is_none());
}

#[test]
fn turns() {
    let table = Table::of(include_str!("published/turns.csv"));
    let rows = table.numbers(["tas_kt", "turn_rate_deg_s", "bank_deg", "radius_m", "load_factor", "hb_radius_ft"]);
    assert_eq!(rows.len(), 25);
    for [tas, rate, bank, radius, load, handbook] in rows {
        let what = format!("{tas} kt, {rate} deg/s");
        close(bank_deg(tas, rate), bank, 1e-4, &what);
        close(turn_rate_deg_s(tas, bank).unwrap(), rate, 1e-4, &what);
        close(radius_m(tas, rate).unwrap(), radius, 1e-4, &what);
        close(load_factor(bank), load, 1e-4, &what);
        // The handbook's rounded constants.
        close(radius_m(tas, rate).unwrap() / 0.3048, handbook, 4e-3, &what);
    }
}

#[test]
fn rotor_engine_and_fuel() {
    let table = Table::of(include_str!("published/rotor_engine.csv"));
    let rows =
        table.numbers(["rpm_at_100", "percent", "blades", "diameter_m", "rpm", "blade_pass_hz", "tip_speed_m_s"]);
    assert_eq!(rows.len(), 12);
    for [at_100, share, blades, diameter, speed, passage, tip] in rows {
        close(rpm(share, at_100), speed, 1e-5, "rpm");
        close(percent(speed, at_100).unwrap(), share, 1e-5, "percent");
        close(blade_passage_hz(speed, blades as u32), passage, 1e-5, "blade passage");
        close(tip_speed_m_s(speed, diameter), tip, 1e-5, "tip speed");
    }
    let table = Table::of(include_str!("published/fuel.csv"));
    let rows =
        table.numbers(["density_kg_m3", "lb_of_26.4_usgal", "l_of_100_kg", "endurance_h_26.4_usgal_at_13_usgal_h"]);
    assert_eq!(rows.len(), 8);
    for [density, pounds, litres, hours] in rows {
        // A US gallon is 3.785411784 l and a pound 0.45359237 kg by definition.
        close(mass_kg(26.4 * 3.785411784, density) / 0.45359237, pounds, 1e-5, "mass");
        close(mass_kg(litres, density), 100.0, 1e-5, "mass");
        close(endurance_h(26.4, 13.0).unwrap(), hours, 1e-5, "endurance");
    }
    assert!(percent(400.0, 0.0).is_none() && endurance_h(10.0, 0.0).is_none());
}

/// Printed answers of handbooks and texts; the sources are those of `published/worked_examples.csv`.
#[test]
fn worked_examples() {
    let inhg = 33.86389;
    // FAA-H-8083-25, pressure altitude of a field at sea level with 29.7 inHg: 205 ft.
    near(pressure_altitude_ft(29.7 * inhg).unwrap(), 205.0, 5.0, "29.7 inHg");
    // The same, density altitude sample problem 1: elevation 5883 ft, 30.10 inHg: 5718 ft; at 70 F about 7700 ft on its chart.
    let station = standard(5718.0).unwrap().pressure_hpa;
    let air = Air { pressure_hpa: station, temperature_c: (70.0 - 32.0) / 1.8 };
    near(density_altitude_ft(air, None).unwrap(), 7700.0, 50.0, "sample problem 1");
    // A ground school's answer: heading 020, TAS 120, wind 090/10: 015 and 117 kt.
    let (track, speed) = ground(20.0, 120.0, Aloft { from_deg: 90.0, speed: 10.0 });
    near(track, 15.0, 1.0, "track");
    near(speed, 117.0, 1.0, "ground speed");
    // A computer text of the US Navy, example 16: TAS 165, GS 146, heading 104, course 94: 34 from 154 on its plotter.
    let wind = wind_from(104.0, 165.0, 94.0, 146.0);
    near(wind.speed, 34.0, 1.0, "example 16");
    near(wind.from_deg, 154.0, 1.0, "example 16");
    // Instrument texts: 120 kt and 3 degrees a second, 18 degrees of bank.
    near(bank_deg(120.0, 3.0), 18.0, 1.0, "standard rate");
}

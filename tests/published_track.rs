//! Distances on the flat map of the ground track against geodesics on the ellipsoid, in `published/geodesic_metres.csv`; and the way from a
//! log to the map.
#![allow(clippy::expect_used, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::air::metres_a_degree;
use jumpseat::judge::Judged;
use jumpseat::panel::{DiscSize, Face, Instrument, Panel, Place, Side, Track};
use jumpseat::readout::{Notice, Readout, local_metres};
use jumpseat::recorder::{self, Options};
use jumpseat::session::Session;
use jumpseat::time::SessionTime;

#[test]
fn metres_are_those_of_the_ellipsoid() {
    let table = std::fs::read_to_string("tests/published/geodesic_metres.csv").expect("the table");
    let mut rows = 0;
    for line in table.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let row: Vec<f64> = line.split(',').map(|cell| cell.parse().expect("a number")).collect();
        let [latitude, longitude, to_latitude, to_longitude, metres] = row[..] else { unreachable!("five columns") };
        let (east, north) = local_metres((latitude, longitude), (to_latitude, to_longitude));
        let found = east.hypot(north);
        // Eleven kilometres along a parallel are a little longer than the geodesic.
        assert!((found / metres - 1.0).abs() < 3e-5, "{line}: {found:.3}");
        assert!((to_longitude == longitude) == (east == 0.0) && east >= 0.0 && north >= 0.0, "{line}: {east} {north}");
        rows += 1;
    }
    assert_eq!(rows, 20);
}

/// Short lines of Karney's test set and of geographiclib (the table's first line): length and direction at their start.
#[test]
fn short_geodesics_lie_straight_on_the_map() {
    let table = std::fs::read_to_string("tests/published/geod_lines.csv").expect("the table");
    let mut rows = 0;
    for line in table.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let row: Vec<f64> = line.rsplit(',').take(9).map(|cell| cell.parse().expect("a number")).collect();
        let [_, _, metres, _, to_longitude, to_latitude, azimuth, longitude, latitude] = row[..] else {
            unreachable!()
        };
        if !(1.0..2000.0).contains(&metres) {
            continue;
        }
        let (east, north) = local_metres((latitude, longitude), (to_latitude, to_longitude));
        let (a, b) = metres_a_degree(latitude);
        let by_degrees = ((to_longitude - longitude) * b, (to_latitude - latitude) * a);
        for (east, north) in [(east, north), by_degrees] {
            // The scale is that of the line's start; half of the meridians' convergence turns it.
            let (found, way) = (east.hypot(north), east.atan2(north).to_degrees().rem_euclid(360.0));
            assert!((found / metres - 1.0).abs() < 2e-4, "{line}: {found}");
            assert!(((way - azimuth + 540.0).rem_euclid(360.0) - 180.0).abs() < 0.01, "{line}: {way}");
        }
        rows += 1;
    }
    assert!(rows >= 10, "{rows}");
}

#[test]
fn the_way_comes_from_the_log_with_its_gaps() {
    let folder = tempfile::tempdir().expect("folder");
    let file = folder.path().join("air.csv");
    let mut log = "time_s,Lat [deg],Lon [deg]\n".to_owned();
    for t in (0..60).filter(|t| !(20..30).contains(t)) {
        // East over the 180th meridian at the equator, a thousandth of a degree a second.
        let lon = 179.97 + 0.001 * f64::from(t);
        log += &format!("{t},0.0,{:.6}\n", if lon > 180.0 { lon - 360.0 } else { lon });
    }
    std::fs::write(&file, log).expect("log");
    let session = Session::of(recorder::read(&file, &Options::default()).expect("a log"));
    let face = Face::Track(Track { latitude: "air.Lat".into(), longitude: "air.Lon".into() });
    let place = Place { side: Side::Left, from_side_m: 0.2, from_bottom_m: 0.2, size: DiscSize::M };
    let panel = Panel { instruments: vec![Instrument::new("track", place, face)], ..Panel::default() };
    let judged = Judged::default();
    let state = Readout::new(&session, &judged, &panel).at(SessionTime(45.5), Notice::Bare);
    let track = state.instruments[0].ground.clone().expect("a way");
    let breaks: Vec<f64> = track.points.iter().filter(|p| !p.joined).map(|p| p.time_s).collect();
    assert_eq!(breaks, [0.0, 30.0], "the way starts anew after the gap");
    // One thousandth of a degree of the equator, a circle of 6378137 m (WGS 84).
    let step = 6_378_137.0 * 0.001_f64.to_radians();
    for (t, steps) in [(0.0, 0.0), (10.5, 10.5), (25.0, 19.0), (45.5, 45.5)] {
        let (east, north) = track.at(t).expect("a place");
        assert!((east - steps * step).abs() < 0.5 && north.abs() < 1e-6, "{t} s: {east} {north}");
    }
    assert_eq!(track.at(-0.1), None, "nowhere before the first fix");
}

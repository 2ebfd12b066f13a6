//! The way over the ground, turning, and the wind.

use super::maker::{Input, Maker, Named, slopes};
use super::{SLOWEST_TRACK_KT, magnetic};
use crate::air;
use crate::meaning::Meaning;
use crate::signal::{Cursor, Kind, StateRules, shorter_way};

/// Half of the time over which speeds and rates are taken, in seconds.
const HALF_S: f64 = 1.0;
/// Metres a second to knots.
const TO_KT: f64 = 3600.0 / 1852.0;
/// Only faster than this is a turn taken for a coordinated one, in knots (common practice, no source).
const SLOWEST_TURN_KT: f64 = 30.0;
/// A wind is taken only faster than this through the air, in knots, and with less bank than this, in degrees (common practice, no
/// source).
const SLOWEST_WIND_KT: f64 = 40.0;
const STEEPEST_WIND_DEG: f64 = 5.0;
/// Half of the time over which a wind is the mean, in seconds.
const WIND_HALF_S: f64 = 10.0;

/// What comes of positions, and what is made from that.
const OVER_THE_GROUND: [&str; 5] = ["Ground Speed", "Track", "Track Magnetic", "Range by Flow", "Range by Gauge"];
const TURNING: [&str; 3] = ["Turn Rate", "Bank in a Coordinated Turn", "Load Factor in a Coordinated Turn"];
const TOTAL_ACCELERATION: &str = "Total Acceleration";
const WIND: [&str; 3] = ["Wind From True", "Wind Speed", "Wind Sigma"];

const fn named(name: &'static str, unit: &'static str, kind: Kind) -> Named {
    Named { name, unit, kind }
}

pub(super) fn add(maker: &mut Maker<'_>) {
    let [turning_is_wanted, wind_is_wanted] = [maker.wants(&TURNING), maker.wants(&WIND)];
    if maker.wants(&OVER_THE_GROUND) || turning_is_wanted || wind_is_wanted {
        over_the_ground(maker);
    }
    if turning_is_wanted {
        turning(maker);
    }
    if maker.wants(&magnetic::MADE) || wind_is_wanted {
        magnetic::add(maker);
    }
    if maker.wants(&[TOTAL_ACCELERATION]) {
        total_acceleration(maker);
    }
    if wind_is_wanted {
        wind(maker);
    }
}

/// Ground speed and track from positions. A track is left out where it would be noise.
fn over_the_ground(maker: &mut Maker<'_>) {
    let (Some(latitude), Some(longitude)) =
        (maker.input(Meaning::Latitude, "deg"), maker.input(Meaning::Longitude, "deg"))
    else {
        return;
    };
    let (latitudes, rules) = maker.records(latitude);
    let (longitudes, _) = maker.records(longitude);
    let half = HALF_S.max(rules.joined_s);
    let north = slopes(&latitudes, half, rules.joined_s, |a, b| b - a);
    let east = slopes(&longitudes, half, rules.joined_s, shorter_way);
    let (mut speeds, mut tracks) = (Vec::new(), Vec::new());
    let (mut places, mut easts) = (latitudes.iter(), east.iter().peekable());
    for (time, north) in north {
        let Some(&(_, latitude)) = places.by_ref().find(|place| place.0 == time) else { break };
        while easts.peek().is_some_and(|east| east.0 < time) {
            easts.next();
        }
        let Some(&&(_, east)) = easts.peek().filter(|east| east.0 == time) else { continue };
        let (a, b) = air::metres_a_degree(latitude);
        let (north, east) = (north * a * TO_KT, east * b * TO_KT);
        let speed = north.hypot(east);
        speeds.push((time, speed));
        if speed >= SLOWEST_TRACK_KT {
            tracks.push((time, east.atan2(north).to_degrees().rem_euclid(360.0)));
        }
    }
    let wanted = latitudes.len();
    if !maker.has(Meaning::GroundSpeed) {
        maker.put(named(OVER_THE_GROUND[0], "kt", Kind::Continuous), speeds, rules, wanted);
    }
    if !maker.has(Meaning::Track) {
        maker.put(named(OVER_THE_GROUND[1], "deg", Kind::Angle), tracks, rules, wanted);
    }
}

/// A heading, whatever its north: turning is the same from any.
fn heading(maker: &Maker<'_>) -> Option<Input> {
    let kinds = [Meaning::MagneticHeading, Meaning::TrueHeading, Meaning::Heading];
    kinds.into_iter().find_map(|meaning| maker.input(meaning, "deg"))
}

/// Turn rate from the heading, or else from the track; bank of the coordinated turn from that, in forward flight alone.
fn turning(maker: &mut Maker<'_>) {
    let Some(direction) = heading(maker).or_else(|| maker.input(Meaning::Track, "deg")) else { return };
    let (records, rules) = maker.records(direction);
    let half = HALF_S.max(rules.joined_s);
    let rates = slopes(&records, half, rules.joined_s, shorter_way);
    let speed = maker.input(Meaning::TrueAirspeed, "kt");
    let mut cursor = Cursor::default();
    let banks: Vec<(f64, f64)> = rates
        .iter()
        .filter_map(|&(time, rate)| {
            let kt = maker.at(speed?, time, &mut cursor).filter(|kt| *kt >= SLOWEST_TURN_KT)?;
            Some((time, air::bank_deg(kt, rate)))
        })
        .collect();
    let wanted = records.len();
    maker.put(named(TURNING[0], "deg/s", Kind::Continuous), rates, rules, wanted);
    let factors: Vec<(f64, f64)> = banks.iter().map(|&(time, bank)| (time, air::load_factor(bank))).collect();
    maker.put(named(TURNING[1], "deg", Kind::Continuous), banks, rules, wanted);
    maker.put(named(TURNING[2], "g", Kind::Continuous), factors, rules, wanted);
}

/// What a body feels, from three accelerations along and across: 1 g at rest, whatever the signs and the order of the axes. A single one does
/// not say whether gravity is in it.
fn total_acceleration(maker: &mut Maker<'_>) {
    const AXES: [[&str; 3]; 3] = [
        ["Acceleration X", "Acceleration Y", "Acceleration Z"],
        ["Accel X", "Accel Y", "Accel Z"],
        ["Acc X", "Acc Y", "Acc Z"],
    ];
    for axes in AXES {
        if let [Some(x), Some(y), Some(z)] = axes.map(|name| maker.called(name, "g")) {
            let name = named(TOTAL_ACCELERATION, "g", Kind::Continuous);
            maker.add(name, [x, y, z], |_, [x, y, z]| Some(x.hypot(y).hypot(z)));
            return;
        }
    }
}

/// The wind as the mean over 20 s of what heading, true airspeed, track and ground speed say, with the standard deviation of its parts.
/// Only a true heading will do: what a magnetic one is off by is not guessed.
fn wind(maker: &mut Maker<'_>) {
    let inputs = [
        maker.input(Meaning::TrueHeading, "deg"),
        maker.input(Meaning::TrueAirspeed, "kt"),
        maker.input(Meaning::Track, "deg"),
        maker.input(Meaning::GroundSpeed, "kt"),
    ];
    let [Some(heading), Some(speed), Some(track), Some(ground)] = inputs else { return };
    let (records, rules) = maker.records(heading);
    let half = HALF_S.max(rules.joined_s);
    let rates = slopes(&records, half, rules.joined_s, shorter_way);
    let mut cursors = [Cursor::default(); 4];
    let single = |&(time, rate): &(f64, f64)| {
        let hdg = maker.at(heading, time, &mut cursors[0])?;
        let kt = maker.at(speed, time, &mut cursors[1]).filter(|kt| *kt >= SLOWEST_WIND_KT)?;
        let (trk, gs) = (maker.at(track, time, &mut cursors[2])?, maker.at(ground, time, &mut cursors[3])?);
        let level = air::bank_deg(kt, rate).abs() < STEEPEST_WIND_DEG;
        let wind = air::wind_from(hdg, kt, trk, gs);
        let (sin, cos) = wind.from_deg.to_radians().sin_cos();
        level.then_some((time, wind.speed * sin, wind.speed * cos))
    };
    let singles: Vec<(f64, f64, f64)> = rates.iter().filter_map(single).collect();
    let (mut from, mut speeds, mut sigmas) = (Vec::new(), Vec::new(), Vec::new());
    let (mut start, mut end) = (0, 0);
    for &(time, ..) in &singles {
        while singles[start].0 < time - WIND_HALF_S {
            start += 1;
        }
        while end < singles.len() && singles[end].0 <= time + WIND_HALF_S {
            end += 1;
        }
        let window = &singles[start..end];
        let spans = window.last().zip(window.first()).map_or(0.0, |(last, first)| last.0 - first.0);
        if window.len() < 3 || spans < 2.0 * WIND_HALF_S - 2.0 * rules.joined_s {
            continue;
        }
        let n = window.len() as f64;
        let (east, north) = (window.iter().map(|w| w.1).sum::<f64>() / n, window.iter().map(|w| w.2).sum::<f64>() / n);
        let spread = window.iter().map(|w| (w.1 - east).powi(2) + (w.2 - north).powi(2)).sum::<f64>() / (n - 1.0);
        from.push((time, east.atan2(north).to_degrees().rem_euclid(360.0)));
        speeds.push((time, east.hypot(north)));
        sigmas.push((time, (spread / 2.0).sqrt()));
    }
    put_wind(maker, [from, speeds, sigmas], rules, records.len());
}

fn put_wind(maker: &mut Maker<'_>, [from, speeds, sigmas]: [Vec<(f64, f64)>; 3], rules: StateRules, wanted: usize) {
    maker.put(named(WIND[0], "deg", Kind::Angle), from, rules, wanted);
    maker.put(named(WIND[1], "kt", Kind::Continuous), speeds, rules, wanted);
    maker.put(named(WIND[2], "kt", Kind::Continuous), sigmas, rules, wanted);
}

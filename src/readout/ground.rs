//! Where an aircraft has been, in metres on a flat map.

use crate::session::{ChannelId, Session};
use crate::signal::{Cursor, State};
use crate::time::SessionTime;

/// Half the longer axis of the Earth's ellipsoid in metres, and its flattening (WGS 84: NGA.STND.0036, table 3.1).
const AXIS_M: f64 = 6_378_137.0;
const FLATTENING: f64 = 1.0 / 298.257_223_563;
/// A map holds about so many points that can be told apart along one side.
const FINEST: f64 = 2000.0;

/// The way over the ground.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GroundTrack {
    /// In the order of time, thinned to what can be told apart on a small map.
    pub points: Vec<GroundPoint>,
    /// Least and greatest east, least and greatest north, in metres.
    pub extent_m: [(f64, f64); 2],
}

/// A point of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundPoint {
    /// Session time in seconds.
    pub time_s: f64,
    /// Metres east and north of the middle of the flight.
    pub at_m: (f64, f64),
    /// Whether the way from the point before was recorded.
    pub joined: bool,
}

/// Metres east and north from one position to another, both as latitude and longitude in degrees: a plane that touches the
/// ellipsoid at the first. Within 25 km and 60 degrees of latitude it is off by less than 0.7 % (the plane's parallels are
/// all as long as its middle one).
pub fn local_metres(from: (f64, f64), to: (f64, f64)) -> (f64, f64) {
    let (sin, cos) = from.0.to_radians().sin_cos();
    let squared = FLATTENING * (2.0 - FLATTENING);
    let w = 1.0 - squared * sin * sin;
    // Radii of curvature across and along the meridian.
    let (across, along) = (AXIS_M / w.sqrt(), AXIS_M * (1.0 - squared) / w.powf(1.5));
    let east = (to.1 - from.1 + 540.0).rem_euclid(360.0) - 180.0;
    (east.to_radians() * across * cos, (to.0 - from.0).to_radians() * along)
}

impl GroundTrack {
    /// The records of two channels in degrees; those that are no position on Earth are left out.
    pub(super) fn new(session: &Session, latitude: ChannelId, longitude: ChannelId) -> Self {
        let Some((channel, fit)) = session.channel(latitude).zip(session.fit(latitude)) else { return Self::default() };
        let (mut here, mut there, mut between) = (Cursor::default(), Cursor::default(), Cursor::default());
        let mut fixes: Vec<(f64, (f64, f64), bool)> = Vec::with_capacity(channel.times.len());
        let mut last = f64::NEG_INFINITY;
        for &time in &*channel.times {
            let now = SessionTime(fit.inverse(time));
            let (north, east) =
                (session.reading(latitude, now, &mut here), session.reading(longitude, now, &mut there));
            let position = north.number().zip(east.number().filter(|_| east.state == State::Measured));
            let sound = |p: &(f64, f64)| p.0.abs() <= 90.0 && p.1.abs() <= 360.0;
            let Some(position) = position.filter(sound) else {
                last = f64::NEG_INFINITY;
                continue;
            };
            let middle = SessionTime(fit.inverse((time + last) / 2.0));
            let joined = time - last <= channel.rules.joined_s
                && session.reading(longitude, middle, &mut between).state == State::Measured;
            fixes.push((now.0, position, joined));
            last = time;
        }
        let Some(&(_, origin, _)) = fixes.first() else { return Self::default() };
        // The plane touches the ground in the middle of the flight's latitudes.
        let ends = fixes.iter().fold((f64::MAX, f64::MIN), |(low, high), fix| (low.min(fix.1.0), high.max(fix.1.0)));
        let origin = ((ends.0 + ends.1) / 2.0, origin.1);
        let points: Vec<GroundPoint> = fixes
            .into_iter()
            .map(|(time_s, position, joined)| GroundPoint { time_s, at_m: local_metres(origin, position), joined })
            .collect();
        Self::of(points)
    }

    /// A way through these points.
    pub fn of(points: Vec<GroundPoint>) -> Self {
        let ends = |side: fn(&GroundPoint) -> f64| {
            points.iter().map(side).fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)))
        };
        let extent_m = if points.is_empty() { [(0.0, 0.0); 2] } else { [ends(|p| p.at_m.0), ends(|p| p.at_m.1)] };
        let finest = extent_m.map(|(low, high)| high - low).into_iter().fold(0.0, f64::max) / FINEST;
        let mut kept: Vec<GroundPoint> = Vec::new();
        for (i, point) in points.iter().enumerate() {
            let ends_here = points.get(i + 1).is_none_or(|next| !next.joined);
            let far =
                kept.last().is_none_or(|last| (point.at_m.0 - last.at_m.0).hypot(point.at_m.1 - last.at_m.1) > finest);
            if !point.joined || ends_here || far {
                kept.push(*point);
            }
        }
        Self { points: kept, extent_m }
    }

    /// Where the aircraft was at a session time in seconds: between two joined points, or at the last one before.
    pub fn at(&self, time_s: f64) -> Option<(f64, f64)> {
        let after = self.points.partition_point(|point| point.time_s <= time_s);
        let here = self.points.get(after.checked_sub(1)?)?;
        let Some(next) = self.points.get(after).filter(|next| next.joined) else { return Some(here.at_m) };
        let share = (time_s - here.time_s) / (next.time_s - here.time_s);
        let between = |a: f64, b: f64| a + (b - a) * share;
        Some((between(here.at_m.0, next.at_m.0), between(here.at_m.1, next.at_m.1)))
    }
}

//! The wind triangle. All directions of one call are from the same north.

/// A wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aloft {
    /// The direction that it blows from, 0 to 360 degrees.
    pub from_deg: f64,
    /// Its speed, in the unit of the other speeds.
    pub speed: f64,
}

/// The wind as the difference of the way through the air (heading, true airspeed) and the way over the ground (track, ground
/// speed). At 100 kt a heading error of one degree moves it by 1.75 kt.
pub fn wind_from(heading_deg: f64, true_airspeed: f64, track_deg: f64, ground_speed: f64) -> Aloft {
    let (air, ground) = (vector(heading_deg, true_airspeed), vector(track_deg, ground_speed));
    let (east, north) = (air.0 - ground.0, air.1 - ground.1);
    Aloft { from_deg: direction(east, north), speed: east.hypot(north) }
}

/// Track in degrees and ground speed of a heading and true airspeed in a wind.
pub fn ground(heading_deg: f64, true_airspeed: f64, wind: Aloft) -> (f64, f64) {
    let (air, wind) = (vector(heading_deg, true_airspeed), vector(wind.from_deg, wind.speed));
    let (east, north) = (air.0 - wind.0, air.1 - wind.1);
    (direction(east, north), east.hypot(north))
}

/// Heading in degrees and ground speed that keep a course in a wind; none where the wind is too strong for the airspeed.
pub fn heading_for(course_deg: f64, true_airspeed: f64, wind: Aloft) -> Option<(f64, f64)> {
    let angle = (wind.from_deg - course_deg).to_radians();
    let sine = wind.speed * angle.sin() / true_airspeed;
    let correction = sine.asin();
    let speed = true_airspeed * correction.cos() - wind.speed * angle.cos();
    (sine.abs() <= 1.0 && speed > 0.0).then(|| ((course_deg + correction.to_degrees()).rem_euclid(360.0), speed))
}

/// East and north parts.
fn vector(deg: f64, length: f64) -> (f64, f64) {
    let (sin, cos) = deg.to_radians().sin_cos();
    (length * sin, length * cos)
}

fn direction(east: f64, north: f64) -> f64 {
    east.atan2(north).to_degrees().rem_euclid(360.0)
}

//! Speeds of rotor and engine. Their figures at 100 percent are the owner's.

/// Percent of the speed that the owner calls 100; none where that is no speed.
pub fn percent(rpm: f64, rpm_at_100: f64) -> Option<f64> {
    (rpm_at_100 > 0.0).then(|| 100.0 * rpm / rpm_at_100)
}

/// Revolutions a minute at a percentage.
pub fn rpm(percent: f64, rpm_at_100: f64) -> f64 {
    percent / 100.0 * rpm_at_100
}

/// How often a second a blade passes.
pub fn blade_passage_hz(rpm: f64, blades: u32) -> f64 {
    rpm / 60.0 * f64::from(blades)
}

/// Speed of a blade's tip in m/s in a hover: `pi D n`.
pub fn tip_speed_m_s(rpm: f64, diameter_m: f64) -> f64 {
    std::f64::consts::PI * diameter_m * rpm / 60.0
}

/// Standard deviation of the difference of rotor and engine in percent: of both sensors, and of the time between their clocks while
/// the speeds change (`rate`, percent a second).
pub fn split_sigma_percent(rotor_sigma: f64, engine_sigma: f64, rate: f64, clock_sigma_s: f64) -> f64 {
    rotor_sigma.hypot(engine_sigma).hypot(rate * clock_sigma_s)
}

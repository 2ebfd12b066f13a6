//! The level, coordinated turn. Only forward flight is one: a helicopter that turns on the spot has no bank by this.

use super::{G, KT};

/// Bank in degrees of a coordinated level turn: `tan(bank) = V w / g`.
pub fn bank_deg(true_airspeed_kt: f64, turn_rate_deg_s: f64) -> f64 {
    (true_airspeed_kt * KT * turn_rate_deg_s.to_radians() / G).atan().to_degrees()
}

/// Turn rate in degrees a second of a coordinated level turn at a bank; none for no speed.
pub fn turn_rate_deg_s(true_airspeed_kt: f64, bank_deg: f64) -> Option<f64> {
    (true_airspeed_kt > 0.0).then(|| (G * bank_deg.to_radians().tan() / (true_airspeed_kt * KT)).to_degrees())
}

/// Radius in metres of a turn; none where there is no turning.
pub fn radius_m(true_airspeed_kt: f64, turn_rate_deg_s: f64) -> Option<f64> {
    (turn_rate_deg_s != 0.0).then(|| true_airspeed_kt * KT / turn_rate_deg_s.to_radians().abs())
}

/// Load factor of a coordinated level turn: `1 / cos(bank)`.
pub fn load_factor(bank_deg: f64) -> f64 {
    1.0 / bank_deg.to_radians().cos()
}

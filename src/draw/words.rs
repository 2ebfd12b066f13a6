//! Numbers and ages as they are written on an instrument.

pub(super) use crate::readout::words::{number, old};

/// The same with its sign, but for zero: a rate says which way it goes.
pub(super) fn signed(value: f64, decimals: u8) -> String {
    let text = number(value, decimals);
    let zero = text.bytes().all(|b| matches!(b, b'0' | b'.'));
    if value > 0.0 && !zero { format!("+{text}") } else { text }
}

/// A direction in whole degrees, three figures; north is 360 (common practice, no source).
pub(super) fn direction(degrees: f64) -> String {
    let whole = degrees.rem_euclid(360.0).round();
    if whole.is_finite() { format!("{:03}\u{b0}", if whole < 1.0 { 360.0 } else { whole }) } else { String::new() }
}

/// How long a value has been held, to a tenth of a second below ten seconds.
pub(super) fn held(age_s: f64) -> String {
    if (age_s * 10.0).round() < 100.0 { format!("held {age_s:.1} s") } else { format!("held {age_s:.0} s") }
}

/// A shorter way to write a unit, where there is one.
pub(super) fn short_unit(unit: &str) -> Option<&'static str> {
    match unit {
        "US gal/h" => Some("gph"),
        "ft/min" => Some("fpm"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rates_have_a_sign() {
        assert_eq!([350.0, -850.0, 0.3, -0.3].map(|v| signed(v, 0)), ["+350", "\u{2212}850", "0", "0"]);
        assert_eq!(signed(0.26, 1), "+0.3");
    }

    #[test]
    fn directions_have_three_figures() {
        let written = [0.0, 0.4, 7.2, 94.0, 359.7, -1.0, 370.0].map(direction);
        assert_eq!(
            written,
            ["360\u{b0}", "360\u{b0}", "007\u{b0}", "094\u{b0}", "360\u{b0}", "359\u{b0}", "010\u{b0}"]
        );
    }

    #[test]
    fn ages() {
        assert_eq!(held(0.6), "held 0.6 s");
        assert_eq!(held(9.97), "held 10 s");
    }
}

//! Numbers and ages as they are written on an instrument.

/// Value beyond which plain digits would no longer fit on any face.
const LONGEST: f64 = 1e7;

/// A value with this many digits after the point. There is no "minus zero".
pub(super) fn number(value: f64, decimals: u8) -> String {
    if value.abs() >= LONGEST {
        return minus(format!("{value:.2e}"));
    }
    let text = format!("{value:.*}", usize::from(decimals));
    let zero = text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
    if zero { text.trim_start_matches('-').to_owned() } else { minus(text) }
}

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

fn minus(text: String) -> String {
    text.replace('-', "\u{2212}")
}

/// How long a value has been held, to a tenth of a second below ten seconds.
pub(super) fn held(age_s: f64) -> String {
    if (age_s * 10.0).round() < 100.0 { format!("held {age_s:.1} s") } else { format!("held {age_s:.0} s") }
}

/// How old the last record is, in whole units that have passed; long and short form.
pub(super) fn old(age_s: f64) -> [String; 2] {
    let (count, unit) = match age_s {
        s if s < 100.0 => (s, "s"),
        s if s < 6000.0 => (s / 60.0, "min"),
        s => (s / 3600.0, "h"),
    };
    if !count.is_finite() {
        return ["old".to_owned(), "old".to_owned()];
    }
    let count = count.max(0.0).floor();
    [format!("{count:.0} {unit} old"), format!("{count:.0} {unit}")]
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
    fn numbers() {
        assert_eq!(number(57.6, 0), "58");
        assert_eq!(number(-0.04, 1), "0.0", "never minus zero");
        assert_eq!(number(-12.34, 1), "\u{2212}12.3");
        assert_eq!(number(1e300, 0), "1.00e300");
    }

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
        assert_eq!(old(9.9), ["9 s old", "9 s"]);
        assert_eq!(old(125.0)[0], "2 min old");
        assert_eq!(old(f64::INFINITY)[0], "old");
    }
}

//! Numbers and times as they are written, on a picture and in the ledger alike.

/// Value beyond which plain digits would no longer fit on any face.
const LONGEST: f64 = 1e7;

/// A value with this many digits after the point. There is no "minus zero".
pub(crate) fn number(value: f64, decimals: u8) -> String {
    if value.abs() >= LONGEST {
        return minus(format!("{value:.2e}"));
    }
    let text = format!("{value:.*}", usize::from(decimals));
    let zero = text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
    if zero { text.trim_start_matches('-').to_owned() } else { minus(text) }
}

fn minus(text: String) -> String {
    text.replace('-', "\u{2212}")
}

/// How old the last record is, in whole units that have passed; long and short form.
pub(crate) fn old(age_s: f64) -> [String; 2] {
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

/// How long something has lasted, in whole units that have passed: `40 s`, `2 min 40 s`. Always with its units: a bare
/// 2:40 beside a fuel value would read as endurance.
pub(crate) fn lasted(seconds: f64) -> String {
    let whole = seconds.max(0.0).floor();
    if whole < 60.0 {
        format!("{whole:.0} s")
    } else {
        format!("{:.0} min {:.0} s", (whole / 60.0).floor(), whole % 60.0)
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
    fn times_have_units() {
        assert_eq!(old(9.9), ["9 s old", "9 s"]);
        assert_eq!(old(125.0)[0], "2 min old");
        assert_eq!(old(f64::INFINITY)[0], "old");
        let written = [-0.2, 59.99, 60.0, 160.4, 4000.0].map(lasted);
        assert_eq!(written, ["0 s", "59 s", "1 min 0 s", "2 min 40 s", "66 min 40 s"]);
    }
}

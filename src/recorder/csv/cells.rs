//! One cell: a number, a word for "nothing", or a text; and the words of a column's name.

/// Without the blanks around it.
pub(super) fn trim(cell: &[u8]) -> &[u8] {
    cell.trim_ascii()
}

/// The finite number that a whole (trimmed) cell writes. `inf` and `nan` are none.
pub(super) fn number(cell: &[u8]) -> Option<f64> {
    let digits = cell.strip_prefix(b"+").filter(|rest| rest.first().is_some_and(|b| *b != b'-' && *b != b'+'));
    let cell = digits.unwrap_or(cell);
    match fast_float2::parse_partial::<f64, _>(cell) {
        Ok((value, length)) if length == cell.len() && value.is_finite() => Some(value),
        _ => None,
    }
}

/// Whether a (trimmed) cell says that there is nothing: empty, NA, N/A, #N/A, NaN, null, infinity, or only dashes, stars
/// or question marks.
pub(super) fn is_missing(cell: &[u8]) -> bool {
    const WORDS: [&[u8]; 7] = [b"na", b"n/a", b"#n/a", b"nan", b"null", b"inf", b"infinity"];
    let Some(&first) = cell.first() else { return true };
    if first.is_ascii_digit() {
        return false;
    }
    let unsigned = cell.strip_prefix(b"-").or(cell.strip_prefix(b"+")).unwrap_or(cell);
    (matches!(first, b'-' | b'*' | b'?') && cell.iter().all(|b| *b == first))
        || WORDS.iter().any(|word| unsigned.eq_ignore_ascii_case(word))
}

/// The words of a column's name in lower case: `UTCDate`, `utc_date` and `UTC date` are all `utc`, `date`.
pub(super) fn words(name: &str) -> Vec<String> {
    let chars: Vec<char> = name.chars().collect();
    let mut words = vec![String::new()];
    for (i, &c) in chars.iter().enumerate() {
        if !c.is_alphanumeric() {
            words.push(String::new());
            continue;
        }
        let after_lower = i > 0 && chars[i - 1].is_lowercase();
        let before_lower = i > 0 && chars[i - 1].is_uppercase() && chars.get(i + 1).is_some_and(|n| n.is_lowercase());
        if c.is_uppercase() && (after_lower || before_lower) {
            words.push(String::new());
        }
        if let Some(word) = words.last_mut() {
            word.extend(c.to_lowercase());
        }
    }
    words.retain(|w| !w.is_empty());
    words
}

/// Whether the column holds codes, whose zeros carry meaning: a transponder code (0021) or a radio channel (118.005).
///
/// Rule (common practice, no source): every word of the name belongs to radios and transponders, one of them names the
/// device, and the unit is none or that of a radio frequency. `COM1 ACT` is one, `XPDR ALT [ft]` is not.
pub(super) fn holds_codes(name: &str, unit: Option<&str>) -> bool {
    const DEVICE: &[&str] =
        &["xpdr", "xpndr", "xponder", "transponder", "squawk", "sqk", "ssr", "com", "nav", "adf", "freq", "frequency"];
    const OTHER: &[&str] =
        &["code", "active", "act", "standby", "stby", "sby", "radio", "vhf", "uhf", "channel", "mode"];
    let words = words(name);
    let words: Vec<&str> = words.iter().map(|w| w.trim_end_matches(|c: char| c.is_ascii_digit())).collect();
    words.iter().all(|w| w.is_empty() || DEVICE.contains(w) || OTHER.contains(w))
        && words.iter().any(|w| DEVICE.contains(w))
        && matches!(unit, None | Some("kHz" | "MHz"))
}

/// Whether the column is a direction in degrees, which goes from 359 to 0 without passing 180.
///
/// Rule (common practice, no source): by the words of its name; a deviation or an error is none.
pub(super) fn is_direction(name: &str) -> bool {
    const DIRECTION: &[&str] =
        &["hdg", "heading", "track", "trk", "course", "crs", "cog", "bearing", "brg", "direction", "dir", "azimuth"];
    const NOT: &[&str] = &["error", "err", "deviation", "dev", "rate", "distance", "dist", "cross"];
    let words = words(name);
    words.iter().any(|w| DIRECTION.contains(&w.as_str())) && !words.iter().any(|w| NOT.contains(&w.as_str()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers() {
        for (text, value) in [("1", 1.0), ("-0.5", -0.5), ("+3.25", 3.25), (".5", 0.5), ("1e3", 1000.0), ("0021", 21.0)]
        {
            assert_eq!(number(text.as_bytes()), Some(value), "{text}");
        }
        for text in ["", "inf", "-inf", "NaN", "1,5", "12kt", "+-1", "0x10", "1 2", "1e999", "--", "N37.20.16", "+"] {
            assert_eq!(number(text.as_bytes()), None, "{text}");
        }
    }

    #[test]
    fn nothing() {
        for text in ["", "NA", "n/a", "NaN", "nan", "---", "-", "null", "inf", "-inf", "+INF", "****", "??", "#N/A"] {
            assert!(is_missing(text.as_bytes()), "{text}");
        }
        for text in ["0", "-1", "NAV", "OFF", "none of it", "-*", "info"] {
            assert!(!is_missing(text.as_bytes()), "{text}");
        }
    }

    #[test]
    fn words_of_a_name() {
        for name in ["UTCDate", "utc_date", "UTC date", "utcDate", "Utc-Date"] {
            assert_eq!(words(name), ["utc", "date"], "{name}");
        }
        assert_eq!(words("time (ms)"), ["time", "ms"]);
        assert_eq!(words("E1"), ["e1"]);
    }

    #[test]
    fn codes_and_directions_by_name() {
        for name in ["XPDR", "SQUAWK", "COM1", "COM1 ACT", "com_freq", "XPDR code", "FREQ"] {
            assert!(holds_codes(name, None), "{name}");
        }
        assert!(holds_codes("COM2", Some("MHz")));
        for (name, unit) in
            [("XPDR ALT", None), ("COM volts", Some("V")), ("NAV", Some("deg")), ("MODE", None), ("IAS", None)]
        {
            assert!(!holds_codes(name, unit), "{name}");
        }
        for name in ["HDG", "Heading mag", "GPS Track", "COURSE", "wind_dir"] {
            assert!(is_direction(name), "{name}");
        }
        for name in ["course deviation", "pitch", "HDG rate", "trackball"] {
            assert!(!is_direction(name), "{name}");
        }
    }
}

//! One cell: a number, a word for "nothing", or a text; and the words of a column's name.

use std::ops::Range;

/// Without the blanks around it.
pub(super) fn trim(cell: &[u8]) -> &[u8] {
    cell.trim_ascii()
}

/// The number that up to sixteen plain figures write, one of which may be a decimal mark: nearly every cell, and three times as
/// fast as the general way. None for any other text.
#[inline]
pub(super) fn plain_figures(cell: &[u8], mark: u8) -> Option<f64> {
    figures_in(cell, 0..cell.len(), mark)
}

/// [`plain_figures`] of a cell within a text.
///
/// The figures are taken all at once, as the bytes of one word: how many there are, and where the mark stands, differs from
/// cell to cell, and a branch for each would often be guessed wrong. What stands before the cell in the text makes that word
/// full, and is shifted out. Both the figures and the power of ten are exact, and so their quotient is the nearest number
/// there is.
#[inline(always)]
pub(super) fn figures_in(text: &[u8], cell: Range<usize>, mark: u8) -> Option<f64> {
    const TENS: [f64; 16] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
    let text = text.get(..cell.end)?;
    let minus = *text.get(cell.start)? == b'-';
    let length = cell.len() - usize::from(minus);
    let (whole, decimals) = match length {
        1..=8 => eight_at_end(text, length, mark)?,
        9..=16 => sixteen_at_end(text, length, mark)?,
        _ => return None,
    };
    let value = whole as f64 / TENS[decimals];
    Some(if minus { -value } else { value })
}

/// One to eight figures with or without a mark: the whole number they make without it, and how many follow it.
#[inline(always)]
fn eight_at_end(text: &[u8], length: usize, mark: u8) -> Option<(i64, usize)> {
    const fn each(byte: u8) -> u64 {
        u64::from_ne_bytes([byte; 8])
    }
    let below = 64 - 8 * length;
    let word = match text.last_chunk() {
        Some(last) => u64::from_le_bytes(*last),
        None => text.iter().fold(0, |word, &byte| (word >> 8) | (u64::from(byte) << 56)),
    };
    // Figures as numbers of one byte each, the last in the highest byte, zeros below the first.
    let word = ((word >> below) ^ (each(b'0') >> below)) << below;
    let mark = mark ^ b'0';
    let other = word ^ each(mark);
    // The lowest bit set is that of the first mark; with none there is none.
    let marks = other.wrapping_sub(each(1)) & !other & each(0x80);
    let (word, decimals) = if marks == 0 {
        (word, 0)
    } else {
        let at = marks.trailing_zeros() & !7;
        let before = word & ((1 << at) - 1);
        // What stands before the mark moves into its place. A second mark is no figure.
        ((word ^ before ^ (u64::from(mark) << at)) | (before << 8), 7 - at as usize / 8)
    };
    let beyond_nine = (word.wrapping_add(each(0x76)) | word) & each(0x80);
    (beyond_nine == 0 && (marks == 0 || decimals > 0)).then(|| (i64::from(eight_figures(word)), decimals))
}

/// The same for nine to sixteen, as long as the number is exact.
#[inline(never)]
fn sixteen_at_end(text: &[u8], length: usize, mark: u8) -> Option<(i64, usize)> {
    const fn each(byte: u8) -> u128 {
        u128::from_ne_bytes([byte; 16])
    }
    let below = 128 - 8 * length;
    let word = match text.last_chunk() {
        Some(last) => u128::from_le_bytes(*last),
        None => text.iter().fold(0, |word, &byte| (word >> 8) | (u128::from(byte) << 120)),
    };
    let word = ((word >> below) ^ (each(b'0') >> below)) << below;
    let mark = mark ^ b'0';
    let other = word ^ each(mark);
    let marks = other.wrapping_sub(each(1)) & !other & each(0x80);
    let (word, decimals) = if marks == 0 {
        (word, 0)
    } else {
        let at = marks.trailing_zeros() & !7;
        let before = word & ((1 << at) - 1);
        ((word ^ before ^ (u128::from(mark) << at)) | (before << 8), 15 - at as usize / 8)
    };
    let beyond_nine = (word.wrapping_add(each(0x76)) | word) & each(0x80);
    let whole = i64::from(eight_figures(word as u64)) * 100_000_000 + i64::from(eight_figures((word >> 64) as u64));
    (beyond_nine == 0 && (marks == 0 || decimals > 0) && whole < 1 << 53).then_some((whole, decimals))
}

/// The number that eight figures of one byte each make: pairs of figures, then pairs of pairs, then both halves.
#[inline(always)]
fn eight_figures(word: u64) -> u32 {
    let twos = (word.wrapping_mul(10) + (word >> 8)) & 0x00ff_00ff_00ff_00ff;
    let fours = (twos.wrapping_mul(100) + (twos >> 16)) & 0x0000_ffff_0000_ffff;
    (fours.wrapping_mul(10_000) + (fours >> 32)) as u32
}

/// The finite number that a whole (trimmed) cell writes. `inf` and `nan` are none.
#[inline]
pub(super) fn number(cell: &[u8]) -> Option<f64> {
    plain_figures(cell, b'.').or_else(|| any_number(cell))
}

#[inline(never)]
fn any_number(cell: &[u8]) -> Option<f64> {
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

    /// Figure by figure, as one reads them.
    fn one_by_one(cell: &[u8], mark: u8) -> Option<f64> {
        let text = std::str::from_utf8(cell).ok()?;
        let figures = text.strip_prefix('-').unwrap_or(text);
        let (whole, part) = figures.split_once(char::from(mark)).map_or((figures, None), |(w, p)| (w, Some(p)));
        let plain = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
        let whole_is_plain = plain(whole) || (whole.is_empty() && part.is_some());
        let all: String = figures.chars().filter(char::is_ascii_digit).collect();
        let exact = figures.len() <= 16 && all.parse::<u64>().is_ok_and(|n| n < 1 << 53);
        let fits = whole_is_plain && part.is_none_or(plain) && exact;
        fits.then(|| text.replacen(char::from(mark), ".", 1).parse().ok()).flatten()
    }

    proptest::proptest! {
        /// The quick way gives what the general way gives, to the last bit.
        #[test]
        fn quick_numbers_are_exact(text in "-?[0-9]{1,15}|-?[0-9]{1,4}[.][0-9]{1,3}|-?[0-9]{1,7}[.][0-9]{1,8}") {
            let expected: f64 = text.parse().unwrap();
            proptest::prop_assert_eq!(plain_figures(text.as_bytes(), b'.').map(f64::to_bits), Some(expected.to_bits()));
            let with_comma = text.replace('.', ",");
            proptest::prop_assert_eq!(plain_figures(with_comma.as_bytes(), b','), Some(expected));
        }

        /// Whatever a cell holds, the quick way takes what it should and nothing else.
        #[test]
        fn quick_numbers_are_numbers(cell in proptest::collection::vec(
            proptest::prop_oneof![8 => b'0'..=b'9', 1 => proptest::sample::select(&b".,-+/: e"[..]), 1 => 0u8..], 0..20)) {
            for mark in [b'.', b','] {
                let (quick, slow) = (plain_figures(&cell, mark), one_by_one(&cell, mark));
                proptest::prop_assert_eq!(quick.map(f64::to_bits), slow.map(f64::to_bits), "{:?}", cell);
            }
        }
    }

    /// Every byte in every place of a number of every length.
    #[test]
    fn one_byte_can_spoil_a_number() {
        for length in 1..=17 {
            for place in 0..length {
                for byte in 0..=u8::MAX {
                    let mut cell: Vec<u8> = (0..length).map(|i| b'0' + (i * 7 + 3) as u8 % 10).collect();
                    cell[place] = byte;
                    let (quick, slow) = (plain_figures(&cell, b'.'), one_by_one(&cell, b'.'));
                    assert_eq!(quick.map(f64::to_bits), slow.map(f64::to_bits), "{cell:?}");
                }
            }
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

//! Film time as a person types and reads it: `[[h:]m:]s[.fff]`.

use super::FilmTime;

/// Why a text is not a film time.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is not a film time: {why}; write [[h:]m:]s[.fff], for example 75.5 or 1:15.5")]
pub struct FilmTimeError {
    /// The offending text.
    pub text: String,
    /// What is wrong with it.
    pub why: &'static str,
}

/// Reads `[[h:]m:]s[.fff]`. After a colon minutes and seconds stay below 60.
pub fn parse_film_time(text: &str) -> Result<FilmTime, FilmTimeError> {
    let fail = |why| FilmTimeError { text: text.to_owned(), why };
    let fields: Vec<&str> = text.split(':').collect();
    let Some((seconds, larger)) = fields.split_last().filter(|(_, l)| l.len() <= 2) else {
        return Err(fail("more than hours, minutes and seconds"));
    };
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    let plain = match seconds.split_once('.') {
        Some((whole, fraction)) => digits(whole) && digits(fraction),
        None => digits(seconds),
    };
    if !plain || !larger.iter().all(|s| digits(s)) {
        return Err(fail("only digits, colons and one decimal point are allowed"));
    }
    let mut total = 0.0;
    for (i, field) in fields.iter().enumerate() {
        let number: f64 = field.parse().map_err(|_| fail("not a number"))?;
        if i > 0 && number >= 60.0 {
            return Err(fail("minutes and seconds after a colon stay below 60"));
        }
        total = total * 60.0 + number;
    }
    Ok(FilmTime(total))
}

/// Writes a film time as `h:mm:ss.fff`, or `m:ss.fff` below one hour.
pub fn format_film_time(time: FilmTime) -> String {
    let sign = if time.0 < 0.0 { "-" } else { "" };
    let ms = (time.0.abs() * 1000.0).round() as u64;
    let (h, m, s, f) = (ms / 3_600_000, ms / 60_000 % 60, ms / 1000 % 60, ms % 1000);
    if h > 0 { format!("{sign}{h}:{m:02}:{s:02}.{f:03}") } else { format!("{sign}{m}:{s:02}.{f:03}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_the_manual_says() {
        for (text, seconds) in [("75.5", 75.5), ("1:15.5", 75.5), ("1:02:03.25", 3723.25), ("0", 0.0), ("90", 90.0)] {
            assert_eq!(parse_film_time(text), Ok(FilmTime(seconds)), "{text}");
        }
    }

    #[test]
    fn refuses_what_is_no_time() {
        for text in ["", "-1", "1:60", "1:2:3:4", "1.", ".5", "1e3", "inf", "1:60:00", "a", "1:-2", "1.5:00"] {
            assert!(parse_film_time(text).is_err(), "{text}");
        }
    }

    #[test]
    fn writes_what_it_reads() {
        assert_eq!(format_film_time(FilmTime(3723.25)), "1:02:03.250");
        assert_eq!(format_film_time(FilmTime(59.9996)), "1:00.000");
        assert_eq!(format_film_time(FilmTime(-0.5)), "-0:00.500");
    }
}

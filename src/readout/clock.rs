//! The time on a clock.

use crate::panel::Shows;
use crate::session::Session;
use crate::signal::{Reading, State};
use crate::time::{FilmTime, SessionTime};

const DAY_S: i64 = 86_400;

/// The time as it is written, as a hand without a number and its text. Unknown times are invalid, never guessed.
pub(super) fn shown(
    shows: Shows,
    session: &Session,
    time: SessionTime,
    film: Option<FilmTime>,
) -> (Vec<Reading>, String) {
    let of_day = |ahead_s: i32| {
        let utc = session.utc(time)?.as_nanosecond().div_euclid(1_000_000_000);
        let seconds = (i64::try_from(utc).ok()? + i64::from(ahead_s)).rem_euclid(DAY_S);
        Some(format!("{:02}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60))
    };
    let text = match shows {
        Shows::Utc => of_day(0),
        Shows::Local { ahead_s } => of_day(ahead_s),
        Shows::Film => film.and_then(|film| elapsed(film.0)),
        Shows::Session => elapsed(time.0),
    };
    let known = Reading { value: None, state: State::Measured, age_s: 0.0 };
    (vec![if text.is_some() { known } else { Reading::INVALID }], text.unwrap_or_default())
}

/// Whole seconds that have passed since zero, as `h:mm:ss`; before zero, those that are left, with a sign.
fn elapsed(seconds: f64) -> Option<String> {
    // A frame's time may lie a rounding error before its second.
    let whole = (seconds + 1e-6).floor();
    if !(-1e9..1e9).contains(&whole) {
        return None;
    }
    let (sign, s) = (if whole < 0.0 { "\u{2212}" } else { "" }, whole.abs() as i64);
    Some(format!("{sign}{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60))
}

#[cfg(test)]
mod tests {
    use super::elapsed;

    #[test]
    fn seconds_as_a_clock_writes_them() {
        let of = |s| elapsed(s).unwrap_or_default();
        assert_eq!([of(0.0), of(372.99), of(3_600.0)], ["0:00:00", "0:06:12", "1:00:00"]);
        assert_eq!([of(-0.2), of(-61.0)], ["\u{2212}0:00:01", "\u{2212}0:01:01"]);
        assert_eq!(elapsed(f64::NAN), None);
    }
}

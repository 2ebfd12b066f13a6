//! The drive: whether rotor and engine turn as one, and which of them is ahead.

use super::said::Said;
use super::timeline::Timeline;
use crate::panel::{DriveRule, Power};

/// What the difference of rotor and engine says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Drive {
    /// There is no rule, or the two speeds are not known well enough: stale, or from two clocks whose error may be all of it.
    #[default]
    NotJudged,
    /// No difference that counts.
    Together,
    /// A difference that counts, but that nothing is called: it has not lasted yet, or the engine is ahead while the clutch is
    /// not known to be engaged, as in a start.
    Apart,
    /// The rotor is ahead: freewheeling, in a practice autorotation or in the run-down. Not a fault.
    RotorAhead,
    /// The engine is ahead although the clutch is engaged: the drive slips.
    Slipping,
}

impl Drive {
    /// The word in the ledger.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotJudged => "not_judged",
            Self::Together => "together",
            Self::Apart => "apart",
            Self::RotorAhead => "rotor_ahead",
            Self::Slipping => "slipping",
        }
    }

    /// Which of the rotor's limits are in force; none where that is not known. A drive that slips is neither.
    pub const fn power(self) -> Option<Power> {
        match self {
            Self::Together => Some(Power::On),
            Self::RotorAhead => Some(Power::Off),
            Self::NotJudged | Self::Apart | Self::Slipping => None,
        }
    }
}

/// A difference counts once it has been larger than the rule says for its time, without a break in the data.
///
/// Of two loggers' records it must pass `three_sigma` of that moment as well, which is 0 for one logger's. Where that is more than the rule
/// asks for, a smaller difference is not judged: it may be none, or one that the clocks hide.
///
/// A rotor ahead is called so whatever the clutch does: it is never an alarm. Slipping needs a clutch that is known to be
/// engaged, since an engine that turns up before the clutch is nothing.
pub(super) fn judge(
    rule: &DriveRule,
    rotor: &[(f64, Said)],
    engine: &[(f64, Said)],
    clutch: &[(f64, Said)],
    three_sigma: impl Fn(f64) -> f64,
) -> Timeline<Drive> {
    let mut times: Vec<f64> = [rotor, engine, clutch].into_iter().flatten().map(|step| step.0).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let mut line = Timeline::new(Drive::NotJudged);
    let mut since: Option<(Drive, f64)> = None;
    let (mut rotor, mut engine, mut clutch) = (Steps::new(rotor), Steps::new(engine), Steps::new(clutch));
    for (i, &time) in times.iter().enumerate() {
        let end = times.get(i + 1).copied().unwrap_or(f64::INFINITY);
        let engaged = clutch.at(time).map(|said| said != 0.0);
        let hidden = three_sigma(time);
        let found = match (rotor.at(time), engine.at(time)) {
            (Some(rotor), Some(engine)) if hidden > rule.apart && (rotor - engine).abs() <= hidden => Drive::NotJudged,
            (Some(rotor), Some(engine)) if rotor - engine > rule.apart => Drive::RotorAhead,
            (Some(rotor), Some(engine)) if engine - rotor > rule.apart && engaged == Some(true) => Drive::Slipping,
            (Some(rotor), Some(engine)) if engine - rotor > rule.apart => Drive::Apart,
            (Some(_), Some(_)) => Drive::Together,
            _ => Drive::NotJudged,
        };
        if !matches!(found, Drive::RotorAhead | Drive::Slipping) {
            since = None;
            line.turn(time, found);
            continue;
        }
        let from = match since {
            Some((same, from)) if same == found => from,
            _ => {
                line.turn(time, Drive::Apart);
                time
            }
        };
        since = Some((found, from));
        let due = (from + rule.seconds).max(time);
        if due < end {
            line.turn(due, found);
        }
    }
    line
}

/// A channel's steps, asked in the order of their times.
struct Steps<'a> {
    steps: &'a [(f64, Said)],
    next: usize,
}

impl<'a> Steps<'a> {
    fn new(steps: &'a [(f64, Said)]) -> Self {
        Self { steps, next: 0 }
    }

    /// The value that counts at a time; none where there is none.
    fn at(&mut self, time: f64) -> Option<f64> {
        while self.steps.get(self.next).is_some_and(|step| step.0 <= time) {
            self.next += 1;
        }
        match self.next.checked_sub(1).and_then(|i| self.steps.get(i)) {
            Some((_, Said::Value(value))) => Some(*value),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::panel::Severity;

    fn rule() -> DriveRule {
        DriveRule { apart: 2.0, seconds: 1.0, clutch: None, severity: Severity::Warning, source: String::new() }
    }

    fn steps(values: &[f64]) -> Vec<(f64, Said)> {
        values.iter().enumerate().map(|(i, &v)| (i as f64 * 0.5, Said::Value(v))).collect()
    }

    fn words(rotor: &[f64], engine: &[f64], clutch: &[f64]) -> Vec<&'static str> {
        let line = judge(&rule(), &steps(rotor), &steps(engine), &steps(clutch), |_| 0.0);
        (0..rotor.len()).map(|i| line.at(i as f64 * 0.5).word()).collect()
    }

    #[test]
    fn the_words_go_by_the_sign_and_the_clutch() {
        let (low, high) = ([95.0; 6], [100.0; 6]);
        let late = |word| ["apart", "apart", word, word, word, word];
        assert_eq!(words(&high, &low, &[1.0; 6]), late("rotor_ahead"));
        assert_eq!(words(&high, &low, &[]), late("rotor_ahead"), "nobody says that the clutch is out");
        assert_eq!(words(&low, &high, &[1.0; 6]), late("slipping"));
        for clutch in [&[0.0; 6][..], &[]] {
            assert_eq!(words(&low, &high, clutch), ["apart"; 6], "an engine ahead before the clutch is engaged");
        }
        assert_eq!(words(&high, &low, &[0.0; 6]), late("rotor_ahead"), "the run-down, with the clutch out");
        assert_eq!(words(&[98.5; 6], &high, &[1.0; 6]), ["together"; 6], "not far enough apart");
    }

    #[test]
    fn what_two_clocks_may_hide_is_not_judged() {
        // Five percent apart; the clocks may hide eight for the first two seconds, then four, then one.
        let hidden = |t: f64| {
            if t < 2.0 {
                8.0
            } else if t < 4.0 {
                4.0
            } else {
                1.0
            }
        };
        let words = |rotor: f64, engine: f64| -> Vec<&'static str> {
            let line = judge(&rule(), &steps(&[rotor; 12]), &steps(&[engine; 12]), &steps(&[1.0; 12]), hidden);
            [0.0, 2.0, 3.0, 4.5].map(|t| line.at(t).word()).to_vec()
        };
        assert_eq!(words(95.0, 100.0), ["not_judged", "apart", "slipping", "slipping"]);
        assert_eq!(words(100.0, 95.0), ["not_judged", "apart", "rotor_ahead", "rotor_ahead"]);
        // Nor may be said that they turn together where more could hide than the rule allows.
        assert_eq!(words(100.0, 100.0), ["not_judged", "not_judged", "not_judged", "together"]);
    }

    #[test]
    fn a_difference_must_last_and_a_gap_starts_it_anew() {
        let rotor = [100.0, 100.0, 95.0, 95.0, 100.0, 95.0, 95.0, 95.0];
        let expected = ["together", "together", "apart", "apart", "together", "apart", "apart", "slipping"];
        assert_eq!(words(&rotor, &[100.0; 8], &[1.0; 8]), expected);
        let mut broken = steps(&[95.0; 8]);
        broken[3].1 = Said::Stale;
        let line = judge(&rule(), &broken, &steps(&[100.0; 8]), &steps(&[1.0; 8]), |_| 0.0);
        let at: Vec<_> = (0..8).map(|i| line.at(f64::from(i) * 0.5)).collect();
        use Drive::{Apart, NotJudged, Slipping};
        assert_eq!(at, [Apart, Apart, Slipping, NotJudged, Apart, Apart, Slipping, Slipping]);
    }
}

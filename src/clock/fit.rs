//! The straight line from one clock to another.

use super::evidence::EvidenceKind;
use crate::time::{FilmTime, LogTime};
use serde::Serialize;

/// A piece of evidence after the fit, seen from one pair of clocks.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Weighed {
    /// Its kind.
    pub kind: EvidenceKind,
    /// The offset that it speaks for: time on the other clock at time 0 of the first, in seconds, at the fit's rate.
    pub offset_s: f64,
    /// Its standard deviation in seconds, with that of the clocks between the two.
    pub sigma_s: f64,
    /// Whether the fit rests on it.
    pub used: bool,
    /// Where it comes from; where it is not used, why not.
    pub why: String,
    /// Its time on the clock that is mapped from, in seconds.
    pub from_s: f64,
    /// Its time on the clock that is mapped to, in seconds.
    pub to_s: f64,
    /// How far it lies from the fit, in seconds.
    pub residual_s: f64,
}

/// One clock's time as a line over another's, usually log time over film time, with its uncertainty:
/// `log = pivot + offset_at_pivot + rate * (film - pivot)`.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockFit {
    /// Film time in the middle of the evidence, in seconds.
    pub pivot_s: f64,
    /// Log time minus film time at the pivot, in seconds.
    pub offset_at_pivot_s: f64,
    /// Log seconds a film second.
    pub rate: f64,
    /// Covariance of offset (s^2) and rate.
    pub cov: [[f64; 2]; 2],
    /// What it rests on, and what was refused.
    pub evidence: Vec<Weighed>,
}

impl ClockFit {
    /// A clock on itself.
    pub const fn same() -> Self {
        Self { pivot_s: 0.0, offset_at_pivot_s: 0.0, rate: 1.0, cov: [[0.0; 2]; 2], evidence: Vec::new() }
    }

    /// The time on the clock that is mapped to.
    pub fn at(&self, from_s: f64) -> f64 {
        self.pivot_s + self.offset_at_pivot_s + self.rate * (from_s - self.pivot_s)
    }

    /// The time on the clock that is mapped from.
    pub fn inverse(&self, to_s: f64) -> f64 {
        self.pivot_s + (to_s - self.pivot_s - self.offset_at_pivot_s) / self.rate
    }

    /// Standard deviation of [`ClockFit::at`], in seconds; grows away from the pivot.
    pub fn sigma(&self, from_s: f64) -> f64 {
        let d = from_s - self.pivot_s;
        (self.cov[0][0] + 2.0 * d * self.cov[0][1] + d * d * self.cov[1][1]).max(0.0).sqrt()
    }

    /// The greatest standard deviation between two times, in seconds: a parabola's, so that of one of the ends.
    pub fn sigma_within(&self, from_s: f64, to_s: f64) -> f64 {
        self.sigma(from_s).max(self.sigma(to_s))
    }

    /// Log time at a film time.
    pub fn log_time(&self, film: FilmTime) -> LogTime {
        LogTime(self.at(film.0))
    }

    /// Film time at a log time.
    pub fn film_time(&self, log: LogTime) -> FilmTime {
        FilmTime(self.inverse(log.0))
    }

    /// Log time at film time 0, in seconds.
    pub fn offset_s(&self) -> f64 {
        self.log_time(FilmTime(0.0)).0
    }

    /// Standard deviation of the log time that the fit gives for a film time, in seconds.
    pub fn sigma_at(&self, film: FilmTime) -> f64 {
        self.sigma(film.0)
    }

    /// Root mean square of what the used evidence lies from the line, in seconds; none without any.
    pub fn residual_s(&self) -> Option<f64> {
        let used: Vec<f64> = self.evidence.iter().filter(|e| e.used).map(|e| e.residual_s.powi(2)).collect();
        (!used.is_empty()).then(|| (used.iter().sum::<f64>() / used.len() as f64).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ways_agree_and_sigma_grows() {
        let fit = ClockFit {
            pivot_s: 100.0,
            offset_at_pivot_s: -3.5,
            rate: 1.0 + 20e-6,
            cov: [[0.01, 0.0], [0.0, 41e-6 * 41e-6]],
            evidence: vec![],
        };
        assert_eq!(fit.log_time(FilmTime(100.0)), LogTime(96.5));
        let there = fit.log_time(FilmTime(3700.0));
        assert!((there.0 - (3696.5 + 3600.0 * 20e-6)).abs() < 1e-9);
        assert!((fit.film_time(there).0 - 3700.0).abs() < 1e-9);
        assert_eq!(fit.sigma_at(FilmTime(100.0)), 0.1);
        assert!(fit.sigma_at(FilmTime(3700.0)) > 0.17);
        assert_eq!(fit.sigma_within(50.0, 3700.0), fit.sigma(3700.0));
    }
}

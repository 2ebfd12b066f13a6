//! A line through moments that are known on both clocks.

use super::fit::{ClockFit, Evidence, EvidenceKind, QUARTZ_RATE_SIGMA};

/// One moment on two clocks.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Its time on the clock that is mapped from, in seconds.
    pub from_s: f64,
    /// Its time on the clock that is mapped to, in seconds.
    pub to_s: f64,
    /// Standard deviation of the pair, in seconds.
    pub sigma_s: f64,
    /// Where it comes from.
    pub why: String,
}

/// How many sigma the marks' own rate must lie from 1 before it is believed against two working quartz clocks.
const CONTRADICTION: f64 = 4.0;

/// The weighted least-squares line through marks; none without any.
///
/// One mark gives the offset. Two or more give the rate too, joined with what is known of quartz clocks (a rate of 1, give or take
/// 41 parts in a million) in proportion to their weights, so that marks a minute apart do not claim a rate that they
/// cannot know. Marks that contradict it by more than four sigma win alone: a clock may run wrong.
pub fn from_marks(marks: &[Mark]) -> Option<ClockFit> {
    let weight = |m: &Mark| 1.0 / (m.sigma_s * m.sigma_s);
    let total: f64 = marks.iter().map(weight).sum();
    if marks.is_empty() || !total.is_finite() {
        return None;
    }
    let mean = |value: fn(&Mark) -> f64| marks.iter().map(|m| weight(m) * value(m)).sum::<f64>() / total;
    let (pivot, there) = (mean(|m| m.from_s), mean(|m| m.to_s));
    let spread: f64 = marks.iter().map(|m| weight(m) * (m.from_s - pivot).powi(2)).sum();
    let (rate, variance) = if spread > 0.0 {
        let own = marks.iter().map(|m| weight(m) * (m.from_s - pivot) * (m.to_s - there)).sum::<f64>() / spread;
        let quartz = 1.0 / (QUARTZ_RATE_SIGMA * QUARTZ_RATE_SIGMA);
        if (own - 1.0).abs() > CONTRADICTION * (1.0 / spread + 1.0 / quartz).sqrt() {
            (own, 1.0 / spread)
        } else {
            ((own * spread + quartz) / (spread + quartz), 1.0 / (spread + quartz))
        }
    } else {
        (1.0, QUARTZ_RATE_SIGMA * QUARTZ_RATE_SIGMA)
    };
    let evidence = marks.iter().map(|m| Evidence {
        kind: EvidenceKind::Mark,
        offset_s: m.to_s - rate * m.from_s,
        sigma_s: m.sigma_s,
        used: true,
        why: m.why.clone(),
    });
    Some(ClockFit {
        pivot_s: pivot,
        offset_at_pivot_s: there - pivot,
        rate,
        cov: [[1.0 / total, 0.0], [0.0, variance]],
        evidence: evidence.collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mark(from_s: f64, to_s: f64, sigma_s: f64) -> Mark {
        Mark { from_s, to_s, sigma_s, why: String::new() }
    }

    #[test]
    fn one_mark_gives_the_offset_and_no_rate() {
        let fit = from_marks(&[mark(10.0, 25.0, 0.05)]).expect("fit");
        assert_eq!((fit.at(10.0), fit.rate, fit.sigma(10.0)), (25.0, 1.0, 0.05));
        assert_eq!(from_marks(&[]), None);
    }

    #[test]
    fn near_marks_do_not_claim_a_rate_but_far_ones_do() {
        let near = from_marks(&[mark(0.0, 5.0, 0.05), mark(60.0, 65.04, 0.05)]).expect("fit");
        assert!((near.rate - 1.0).abs() < 2e-6, "{}", near.rate);
        // A day apart, 0.05 s are 0.8 ppm.
        let far = from_marks(&[mark(0.0, 5.0, 0.05), mark(86400.0, 86405.0 + 86400.0 * 30e-6, 0.05)]).expect("fit");
        assert!((far.rate - 1.0 - 30e-6).abs() < 0.1e-6, "{}", far.rate);
    }

    #[test]
    fn a_clock_that_runs_wrong_is_believed() {
        let fit = from_marks(&[mark(0.0, 0.0, 0.05), mark(100.0, 102.0, 0.05)]).expect("fit");
        assert!((fit.rate - 1.02).abs() < 1e-12);
    }
}

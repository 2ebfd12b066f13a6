//! An offset alone: named by the owner, or from the dates that camera and logger wrote.

use super::fit::{ClockFit, Evidence, EvidenceKind, QUARTZ_RATE_SIGMA};

/// How well a person names a moment in a film by eye (common practice, no source).
pub(super) const OWNER_SIGMA_S: f64 = 0.05;

/// The owner says: at film time 0 the logger's clock stood at `offset_s`.
pub fn from_owner(offset_s: f64) -> ClockFit {
    offset_fit(Evidence {
        kind: EvidenceKind::Mark,
        offset_s,
        sigma_s: OWNER_SIGMA_S,
        used: true,
        why: "offset given by the owner".into(),
    })
}

/// The clip says when it was made, the log when it began; both in UTC.
///
/// Creation stamps of MP4 and MOV are cut to whole seconds, so the film began up to one second after its stamp: the middle
/// is taken, with the standard deviation of a uniform second, joined with the log's own resolution. A camera clock that
/// was set wrong shows in neither.
pub fn from_creation_time(created: jiff::Timestamp, log_start: jiff::Timestamp, log_resolution_s: f64) -> ClockFit {
    let cut_s = if created.subsec_nanosecond() == 0 { 1.0 } else { 0.0 };
    let between = created.duration_since(log_start).as_secs_f64();
    let sigma_s = (cut_s * cut_s / 12.0 + log_resolution_s * log_resolution_s / 12.0).sqrt().max(0.01);
    offset_fit(Evidence {
        kind: EvidenceKind::Timestamp,
        offset_s: between + cut_s / 2.0,
        sigma_s,
        used: true,
        why: "the clip's creation time against the log's UTC".into(),
    })
}

fn offset_fit(evidence: Evidence) -> ClockFit {
    ClockFit {
        pivot_s: 0.0,
        offset_at_pivot_s: evidence.offset_s,
        rate: 1.0,
        cov: [[evidence.sigma_s * evidence.sigma_s, 0.0], [0.0, QUARTZ_RATE_SIGMA * QUARTZ_RATE_SIGMA]],
        evidence: vec![evidence],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::{FilmTime, LogTime};

    #[test]
    fn owner_offset_is_log_time_at_film_zero() {
        assert_eq!(from_owner(12.5).log_time(FilmTime(2.0)), LogTime(14.5));
    }

    #[test]
    fn whole_second_stamps_are_taken_in_their_middle() {
        let created = "2026-05-02T09:00:10Z".parse().expect("instant");
        let log = "2026-05-02T09:00:00.25Z".parse().expect("instant");
        let fit = from_creation_time(created, log, 0.25);
        assert!((fit.offset_s() - 10.25).abs() < 1e-9, "{}", fit.offset_s());
        assert!((fit.sigma_at(FilmTime(0.0)) - 0.2976).abs() < 1e-3);
        let fine = "2026-05-02T09:00:10.5Z".parse().expect("instant");
        assert!((from_creation_time(fine, log, 0.25).offset_s() - 10.25).abs() < 1e-9);
    }
}

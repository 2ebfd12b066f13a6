//! Several logs and a film on one clock: that of the reference log.

use super::fit::{ClockFit, Evidence, EvidenceKind, QUARTZ_RATE_SIGMA};
use super::marks::{Mark, from_marks};
use super::offset::{OWNER_SIGMA_S, from_creation_time};

/// One moment on several clocks, in seconds: film time, and time since each log's first sample.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// Film time, if the moment is known in the film.
    pub film_s: Option<f64>,
    /// One entry a log.
    pub logs_s: Vec<Option<f64>>,
    /// Its name in messages, e.g. `mark 2`.
    pub why: String,
}

/// What a log's own dates say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dated {
    /// Instant of its first sample, if it knows UTC.
    pub start: Option<jiff::Timestamp>,
    /// Seconds of its stamps' last digit.
    pub resolution_s: f64,
}

/// The clocks of a flight on the reference log's.
#[derive(Debug, Clone, PartialEq)]
pub struct Joined {
    /// Session time to each log's time; none for a log that nothing joins. The reference's own is the identity.
    pub logs: Vec<Option<ClockFit>>,
    /// Film time to session time; none where nothing joins them.
    pub film: Option<ClockFit>,
}

/// Joins the clocks. `created` is the instant at which the film began, if the clip says so.
///
/// Marks come before dates. A log without a common mark with the reference is joined through the film, if both have marks
/// with it; then by UTC, if both know it. A film without marks is joined by its creation time and the reference's UTC.
pub fn join(reference: usize, dated: &[Dated], moments: &[Moment], created: Option<jiff::Timestamp>) -> Joined {
    let film_on_reference = from_marks(&pairs(moments, |m| m.film_s, |m| log(m, reference)));
    let fit = |i: usize| {
        if i == reference {
            return Some(identity());
        }
        let direct = from_marks(&pairs(moments, |m| log(m, reference), |m| log(m, i)));
        direct
            .or_else(|| {
                let film = film_on_reference.as_ref()?;
                from_marks(&pairs(moments, |m| m.film_s.map(|t| film.at(t)), |m| log(m, i)))
            })
            .or_else(|| by_utc(dated.get(reference)?, dated.get(i)?))
    };
    let logs: Vec<Option<ClockFit>> = (0..dated.len()).map(fit).collect();
    // A mark between the film and another log says as much, once that log is joined.
    let session = |m: &Moment| {
        log(m, reference).or_else(|| {
            let joined = logs.iter().enumerate().find_map(|(i, fit)| Some((log(m, i)?, fit.as_ref()?)));
            joined.map(|(t, fit)| fit.inverse(t))
        })
    };
    let film = from_marks(&pairs(moments, |m| m.film_s, session)).or_else(|| {
        let reference = dated.get(reference)?;
        Some(from_creation_time(created?, reference.start?, reference.resolution_s))
    });
    Joined { logs, film }
}

fn log(moment: &Moment, i: usize) -> Option<f64> {
    moment.logs_s.get(i).copied().flatten()
}

/// The moments that are known on both clocks.
fn pairs(moments: &[Moment], from: impl Fn(&Moment) -> Option<f64>, to: impl Fn(&Moment) -> Option<f64>) -> Vec<Mark> {
    let pair = |m: &Moment| {
        let (from_s, to_s) = (from(m)?, to(m)?);
        Some(Mark { from_s, to_s, sigma_s: OWNER_SIGMA_S, why: m.why.clone() })
    };
    moments.iter().filter_map(pair).collect()
}

fn identity() -> ClockFit {
    ClockFit { pivot_s: 0.0, offset_at_pivot_s: 0.0, rate: 1.0, cov: [[0.0; 2]; 2], evidence: Vec::new() }
}

/// Two loggers that both know UTC; how well they were set is not known, only how fine they write.
fn by_utc(reference: &Dated, other: &Dated) -> Option<ClockFit> {
    let offset_s = reference.start?.duration_since(other.start?).as_secs_f64();
    let sigma_s = ((reference.resolution_s.powi(2) + other.resolution_s.powi(2)) / 12.0).sqrt().max(0.01);
    let why = "both logs know UTC".into();
    Some(ClockFit {
        pivot_s: 0.0,
        offset_at_pivot_s: offset_s,
        rate: 1.0,
        cov: [[sigma_s * sigma_s, 0.0], [0.0, QUARTZ_RATE_SIGMA * QUARTZ_RATE_SIGMA]],
        evidence: vec![Evidence { kind: EvidenceKind::Timestamp, offset_s, sigma_s, used: true, why }],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(film_s: Option<f64>, logs_s: &[Option<f64>]) -> Moment {
        Moment { film_s, logs_s: logs_s.to_vec(), why: "mark".into() }
    }

    const UNDATED: Dated = Dated { start: None, resolution_s: 0.1 };

    #[test]
    fn a_log_is_joined_through_the_film() {
        let moments = [moment(Some(10.0), &[Some(50.0), None]), moment(Some(12.0), &[None, Some(7.0)])];
        let joined = join(0, &[UNDATED, UNDATED], &moments, None);
        let (film, engine) = (joined.film.expect("film"), joined.logs[1].clone().expect("log"));
        assert!((film.at(0.0) - 40.0).abs() < 1e-9);
        assert!((engine.at(52.0) - 7.0).abs() < 1e-9);
    }

    #[test]
    fn a_film_is_joined_through_a_log_that_is_not_the_reference() {
        let moments = [moment(None, &[Some(100.0), Some(20.0)]), moment(Some(3.0), &[None, Some(21.0)])];
        let joined = join(0, &[UNDATED, UNDATED], &moments, None);
        assert!((joined.film.expect("film").at(3.0) - 101.0).abs() < 1e-9);
    }

    #[test]
    fn dates_serve_where_marks_are_missing_and_nothing_is_made_up() {
        let at = |text: &str| Dated { start: Some(text.parse().expect("instant")), resolution_s: 0.2 };
        let dated = [at("2026-05-02T09:00:10Z"), at("2026-05-02T09:00:00Z"), UNDATED];
        let joined = join(0, &dated, &[], None);
        assert!((joined.logs[1].clone().expect("log").at(0.0) - 10.0).abs() < 1e-9);
        assert_eq!((joined.logs[2].clone(), joined.film), (None, None));
    }
}

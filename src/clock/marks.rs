//! Evidence that the owner names: one moment on several clocks.

use super::evidence::{ClockId, Evidence, EvidenceKind};

/// How well a person names a moment in a film by eye, in seconds (common practice, no source): a frame and a half.
pub const OWNER_SIGMA_S: f64 = 0.05;

/// One moment on several clocks.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// Its time on each clock on which it is known, in seconds, and what is not known of that time beyond the owner's eye
    /// (standard deviation, in seconds): half a record's step for an event in a log.
    pub times: Vec<(ClockId, f64, f64)>,
    /// How well the owner saw it: standard deviation between two of the times, in seconds.
    pub sigma_s: f64,
    /// Its name in messages, e.g. `mark 2`.
    pub why: String,
}

/// The moments as pairs of times: each clock of a moment with the reference, or with the moment's first where that is not
/// among them.
pub fn evidence(moments: &[Moment], reference: ClockId) -> Vec<Evidence> {
    let mut all = Vec::new();
    for moment in moments {
        let hub = moment.times.iter().position(|(clock, ..)| *clock == reference).unwrap_or(0);
        let Some(&(clock, at, own)) = moment.times.get(hub) else { continue };
        for &(other, time, others) in moment.times.iter().filter(|(other, ..)| *other != clock) {
            let sigma = moment.sigma_s.hypot(own).hypot(others);
            all.push(Evidence::new(EvidenceKind::Mark, (other, time), (clock, at), sigma, moment.why.clone()));
        }
    }
    all
}

/// The owner says: at film time 0 the logger's clock stood at `offset_s`.
pub fn from_owner(film: ClockId, log: ClockId, offset_s: f64) -> Evidence {
    Evidence::new(EvidenceKind::Mark, (film, 0.0), (log, offset_s), OWNER_SIGMA_S, "offset given by the owner")
}

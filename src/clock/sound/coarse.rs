//! Where the changes of a track are those of a recorded speed, to a tenth of a second.
//!
//! Of all shifts, the one at which the recorded changes explain most of the heard ones: for which the sum of squares of what is
//! left over is least, out of two correlations over every shift at once. Changes, and not the frequencies themselves, because a
//! track that jumps from one harmonic to another is then wrong for a second only.

use super::Track;
use super::recorded::Recorded;
use crate::signal::cross_correlation;

/// Changes are taken over so many steps of a track, one second: half before, half after. Greater ones are jumps of the track.
const HALF: usize = 5;
const JUMP: f64 = 0.3;
/// What a track is uncertain by at least, as a fraction: a fifth of a bin at 100 Hz.
const LEAST_NOISE: f64 = 0.001;
/// A recorded speed that never changes by more than this in a second gives nothing to match.
const FLAT: f64 = 0.004;
/// The changes explained, over what noise alone explains of them (chi squared of about so many degrees of freedom).
const LEAST_GAIN: f64 = 60.0;
/// Least normalised correlation of the changes, and the greatest share of the gain that another place may have.
const LEAST_CORRELATION: f64 = 0.7;
const NEXT_GAIN: f64 = 0.6;
/// Places within so many seconds are one peak.
const SAME_PEAK_S: f64 = 4.0;

/// Where a track fits a speed best.
pub(super) struct Coarse {
    /// Log's time less the film's.
    pub(super) offset_s: f64,
    /// Twice the logarithm of how much likelier the heard changes are with the recorded ones than without.
    pub(super) gain: f64,
    pub(super) correlation: f64,
    /// Offset and gain of the best other place.
    next: (f64, f64),
    /// The gain over the offset at every offset that was tried, 1 at its peak.
    pub(super) profile: Vec<(f64, f64)>,
}

/// Whether a recorded speed changes at all.
pub(super) fn moves(recorded: &Recorded<'_>) -> bool {
    recorded.grid(0.1).1.windows(2 * HALF + 1).any(|w| (w[2 * HALF] - w[0]).abs() > FLAT)
}

/// Changes over a second, nothing where there is none to be had; and whether there is one.
fn changes(values: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let change = |i: usize| {
        let change = values.get(i + HALF)? - values.get(i.checked_sub(HALF)?)?;
        (change.abs() < JUMP).then_some(change)
    };
    let all: Vec<Option<f64>> = (0..values.len()).map(change).collect();
    (all.iter().map(|c| c.unwrap_or(0.0)).collect(), all.iter().map(|c| f64::from(u8::from(c.is_some()))).collect())
}

impl Coarse {
    pub(super) fn find(track: &Track, speed: &Recorded<'_>) -> Option<Self> {
        let heard: Vec<f64> = track.hz.iter().map(|hz| hz.ln()).collect();
        let (x, x_is) = changes(&heard);
        let (from, recorded) = speed.grid(track.step_s);
        let (y, _) = changes(&recorded);
        let squares = |values: &[f64]| values.iter().map(|v| v * v).collect::<Vec<f64>>();
        let both = cross_correlation(&x, &y);
        let recorded = cross_correlation(&x_is, &squares(&y));
        let still: Vec<f64> = x.iter().zip(&x_is).filter(|(_, is)| **is > 0.0).map(|(x, _)| x.abs()).collect();
        let noise = (1.4826 * super::median(still)).max(LEAST_NOISE);
        // A second's change shares its noise with those of the seconds beside it.
        let per_change = noise * noise * (2 * HALF) as f64;
        let gains: Vec<f64> = both.iter().zip(&recorded).map(|(b, r)| (2.0 * b - r) / per_change).collect();
        let offset = |n: usize| from - track.start_s + (n as f64 + 1.0 - x.len() as f64) * track.step_s;
        let best = (0..gains.len()).max_by(|a, b| gains[*a].total_cmp(&gains[*b]))?;
        let apart = (SAME_PEAK_S / track.step_s) as usize;
        let next = (0..gains.len()).filter(|n| n.abs_diff(best) > apart).max_by(|a, b| gains[*a].total_cmp(&gains[*b]));
        let heard_there = cross_correlation(&squares(&x), &vec![1.0; y.len()]);
        let correlation = both[best] / (heard_there[best] * recorded[best]).sqrt().max(1e-12);
        let profile = (0..gains.len()).map(|n| (offset(n), gains[n] / gains[best])).collect();
        let next = next.map_or((0.0, 0.0), |n| (offset(n), gains[n]));
        Some(Self { offset_s: offset(best), gain: gains[best], correlation, next, profile })
    }

    /// Why this place is none, if it is not.
    pub(super) fn holds(&self) -> Result<(), String> {
        let Self { offset_s, gain, correlation, next, .. } = self;
        if *gain < LEAST_GAIN {
            return Err("the tones that are heard do not change as the recorded speed does: nothing to match".into());
        }
        if *correlation < LEAST_CORRELATION {
            return Err(format!(
                "the tones follow no recorded speed: the changes correlate by {correlation:.2} at best"
            ));
        }
        if next.1 > NEXT_GAIN * gain {
            let text = "the sound fits the log in two places, at offsets of";
            return Err(format!("{text} {offset_s:.1} s and {:.1} s", next.0));
        }
        Ok(())
    }
}

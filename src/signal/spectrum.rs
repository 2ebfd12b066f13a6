//! Short-time spectra, and the peaks that stand out of them.

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};
use std::sync::Arc;

/// Makes power spectra of a sound that comes in portions, one every so many samples. Memory does not grow with its length.
pub struct Spectra {
    hz: f64,
    hop: usize,
    window: Vec<f32>,
    plan: Arc<dyn RealToComplex<f32>>,
    waiting: Vec<f32>,
    /// Samples that came before the first one waiting.
    padded: Vec<f32>,
    spectrum: Vec<Complex<f32>>,
    scratch: Vec<Complex<f32>>,
    power: Vec<f32>,
}

impl Spectra {
    /// Of a sound of `hz` samples a second: `length` samples under a Hann window, every `hop` samples, filled up with as many
    /// zeros, so that a line's peak is sampled finely enough to be read between bins.
    pub fn new(hz: u32, length: usize, hop: usize) -> Self {
        let plan = RealFftPlanner::new().plan_fft_forward(2 * length);
        let turn = std::f32::consts::TAU / length as f32;
        Self {
            hz: f64::from(hz),
            hop: hop.max(1),
            window: (0..length).map(|i| 0.5 - 0.5 * (turn * (i as f32 + 0.5)).cos()).collect(),
            waiting: Vec::new(),
            padded: plan.make_input_vec(),
            spectrum: plan.make_output_vec(),
            scratch: plan.make_scratch_vec(),
            power: vec![0.0; length + 1],
            plan,
        }
    }

    /// Hertz from one bin to the next.
    pub fn bin_hz(&self) -> f64 {
        self.hz / self.padded.len() as f64
    }

    /// Seconds from the first sample to the middle of the first spectrum, and from one spectrum to the next.
    pub fn times(&self) -> (f64, f64) {
        (0.5 * (self.window.len() - 1) as f64 / self.hz, self.hop as f64 / self.hz)
    }

    /// Takes samples and hands on the power of every spectrum that they complete.
    pub fn push(&mut self, samples: &[f32], mut to: impl FnMut(&[f32])) {
        self.waiting.extend_from_slice(samples);
        let mut start = 0;
        while let Some(part) = self.waiting.get(start..start + self.window.len()) {
            for ((out, sample), weight) in self.padded.iter_mut().zip(part).zip(&self.window) {
                *out = sample * weight;
            }
            self.padded[self.window.len()..].fill(0.0);
            // The lengths are the plan's own, so that it has nothing to refuse.
            let _ = self.plan.process_with_scratch(&mut self.padded, &mut self.spectrum, &mut self.scratch);
            self.power.iter_mut().zip(&self.spectrum).for_each(|(power, bin)| *power = bin.norm_sqr());
            to(&self.power);
            start += self.hop;
        }
        let gone = start.min(self.waiting.len());
        self.waiting.drain(..gone);
    }
}

/// A peak of a spectrum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// Where it stands.
    pub hz: f32,
    /// How far it rises over the mean level (of logarithms) around it, in decibels.
    pub rise_db: f32,
}

/// The peaks of a power spectrum that rise most over what lies within `around` bins of them; at most so many, by frequency.
///
/// A peak's place is that of the parabola through the logarithms of its three highest bins (J. O. Smith, Spectral Audio
/// Signal Processing, "Quadratic Interpolation of Spectral Peaks").
pub fn peaks(power: &[f32], bin_hz: f64, around: usize, most: usize) -> Vec<Peak> {
    // Silence is no peak.
    let log: Vec<f32> = power.iter().map(|p| (p + 1e-20).ln()).collect();
    let mut sums = Vec::with_capacity(log.len() + 1);
    sums.push(0.0);
    for value in &log {
        sums.push(sums.last().copied().unwrap_or(0.0) + f64::from(*value));
    }
    let mean = |i: usize| {
        let (from, to) = (i.saturating_sub(around), (i + around + 1).min(log.len()));
        ((sums[to] - sums[from]) / (to - from) as f64) as f32
    };
    let to_db = 10.0 / std::f32::consts::LN_10;
    let mut found: Vec<Peak> = Vec::new();
    for i in 1..log.len().saturating_sub(1) {
        let (a, b, c) = (log[i - 1], log[i], log[i + 1]);
        if b > a && b >= c {
            let beside = 0.5 * (a - c) / (a - 2.0 * b + c);
            let hz = (i as f64 + f64::from(beside)) * bin_hz;
            found.push(Peak { hz: hz as f32, rise_db: (b - mean(i)) * to_db });
        }
    }
    if found.len() > most {
        found.select_nth_unstable_by(most, |a, b| b.rise_db.total_cmp(&a.rise_db));
        found.truncate(most);
        found.sort_by(|a, b| a.hz.total_cmp(&b.hz));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    #[test]
    fn a_tone_stands_where_it_is_whatever_the_portions() {
        for hz in [61.3, 440.0, 2999.9] {
            let tone: Vec<f32> = (0..8000).map(|i| (TAU * hz * f64::from(i) / 8000.0).sin() as f32).collect();
            let mut counts = Vec::new();
            for portion in [1, 77, 8000] {
                let mut spectra = Spectra::new(8000, 2048, 500);
                let bin_hz = spectra.bin_hz();
                let mut count = 0;
                for part in tone.chunks(portion) {
                    spectra.push(part, |power| {
                        count += 1;
                        let best = peaks(power, bin_hz, 40, 1)[0];
                        assert!((f64::from(best.hz) - hz).abs() < 0.0005 * hz, "{} for {hz}", best.hz);
                        assert!(best.rise_db > 20.0, "{}", best.rise_db);
                    });
                }
                counts.push(count);
            }
            assert_eq!(counts, [12; 3]);
        }
    }

    #[test]
    fn silence_has_no_peaks() {
        let mut spectra = Spectra::new(8000, 256, 128);
        spectra.push(&[0.0; 1000], |power| assert_eq!(peaks(power, 1.0, 20, 9), []));
    }
}

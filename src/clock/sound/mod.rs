//! Evidence from a film's sound: the tones of rotor and engine, laid along the speeds that a logger recorded.
//!
//! The sound is heard once (`Listener`): of every short-time spectrum only its peaks are kept. Out of these come a few tracks
//! (`track`): the frequency of one comb of harmonics, and of the strongest line of each of a few bands, over time. A tone is so
//! many times the speed of its shaft, whichever tone it is: on a logarithmic scale track and recorded speed differ by nothing but
//! a constant. So no ratio of gears or blades has to be known (`lay`), and a multiple that was mistaken for another changes nothing.

mod coarse;
mod fine;
mod lay;
mod recorded;
mod track;

pub use lay::{Laid, Speed, lay};
pub use track::{Track, Voice};

use crate::signal::{Peak, Spectra, peaks};

/// Samples a second that are listened to: no tone above half of it matters here.
pub const HZ: u32 = 8000;
/// Samples of a spectrum, about half a second: harmonics 4 Hz apart are told apart.
const LENGTH: usize = 4096;
/// Samples from one spectrum to the next: a tenth of a second.
const HOP: usize = 800;
/// A peak is measured against what lies within so many hertz of it.
const AROUND_HZ: f64 = 100.0;
/// Peaks of a spectrum that are kept.
const PEAKS: usize = 64;

/// Takes a sound, one channel of [`HZ`] samples a second, in portions of any size. It keeps half a kilobyte for each spectrum.
pub struct Listener {
    spectra: Spectra,
    /// Peaks of all spectra, and where each spectrum's end.
    peaks: Vec<Peak>,
    ends: Vec<usize>,
}

impl Default for Listener {
    fn default() -> Self {
        Self { spectra: Spectra::new(HZ, LENGTH, HOP), peaks: Vec::new(), ends: Vec::new() }
    }
}

impl Listener {
    /// Takes samples.
    pub fn hear(&mut self, samples: &[f32]) {
        let bin_hz = self.spectra.bin_hz();
        let around = (AROUND_HZ / bin_hz) as usize;
        self.spectra.push(samples, |power| {
            self.peaks.extend(peaks(power, bin_hz, around, PEAKS));
            self.ends.push(self.peaks.len());
        });
    }

    /// The tones that were heard. `start_s`: the first sample's time in the film.
    pub fn tracks(&self, start_s: f64) -> Vec<Track> {
        let frames: Vec<&[Peak]> = (0..self.ends.len())
            .map(|i| &self.peaks[i.checked_sub(1).map_or(0, |before| self.ends[before])..self.ends[i]])
            .collect();
        let (first, step) = self.spectra.times();
        track::tracks(&frames, start_s + first, step)
    }
}

fn median(mut values: Vec<f64>) -> f64 {
    let middle = values.len() / 2;
    if values.is_empty() { 0.0 } else { *values.select_nth_unstable_by(middle, f64::total_cmp).1 }
}

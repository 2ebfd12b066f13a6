//! The frequency of a tone over time, out of the peaks of short-time spectra.
//!
//! Every spectrum's peaks are laid on a logarithmic scale of frequencies. The path over time along which they stand out most,
//! at a cost for every step to the side, is found by dynamic programming; where nothing stands out along it, nothing is heard.

use crate::signal::Peak;

/// One cell of the scale: half a percent.
const CELL: f64 = 0.005;
/// Most cells that a tone moves in a tenth of a second (20 % a second), and what each costs, in decibels.
const REACH: usize = 4;
const COST_DB: f32 = 0.6;
/// Peaks count up to so many decibels: a loud one is no surer than a clear one.
const MOST_DB: f32 = 25.0;
/// Bands of single lines, in hertz: blades, tail rotor and gears, turbines. A run-up from a quarter of the speed fits in each.
const BANDS: [(f64, f64); 3] = [(18.0, 220.0), (90.0, 1000.0), (450.0, 3700.0)];
/// Fundamentals of combs, and harmonics that count.
const COMB: (f64, f64) = (8.0, 110.0);
const HARMONICS: usize = 12;
/// A line is heard where it rises by so much, on the mean of a second. Paths through noise reach 8 dB (tests).
const HEARD_LINE_DB: f32 = 12.0;
/// The same for the mean of a comb's teeth over that between them.
const HEARD_COMB_DB: f32 = 4.0;
/// Shorter pieces of a tone are nothing that can be laid along anything.
const LEAST_S: f64 = 2.0;

/// What a track follows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Voice {
    /// The fundamental of a comb of harmonics, heard or not.
    Comb,
    /// A line of a band, in hertz.
    Line(f64, f64),
}

/// The frequency of a tone over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Track {
    /// What it is.
    pub voice: Voice,
    /// Film time of its first value, and the seconds from one to the next.
    pub start_s: f64,
    /// See `start_s`.
    pub step_s: f64,
    /// Hertz; NaN where nothing is heard.
    pub hz: Vec<f64>,
}

impl Track {
    /// The share of its length in which something is heard.
    pub fn heard(&self) -> f64 {
        self.hz.iter().filter(|hz| !hz.is_nan()).count() as f64 / self.hz.len().max(1) as f64
    }

    /// Film time of a value.
    pub fn time(&self, i: usize) -> f64 {
        self.start_s + self.step_s * i as f64
    }
}

/// The comb and the line of each band.
pub(super) fn tracks(frames: &[&[Peak]], start_s: f64, step_s: f64) -> Vec<Track> {
    let comb = (Voice::Comb, follow_comb(frames, step_s));
    let lines = BANDS.map(|(low, high)| (Voice::Line(low, high), follow_line(frames, (low, high), step_s)));
    std::iter::once(comb).chain(lines).map(|(voice, hz)| Track { voice, start_s, step_s, hz }).collect()
}

/// A logarithmic scale of frequencies.
struct Scale {
    low: f64,
    cells: usize,
}

impl Scale {
    fn new((low, high): (f64, f64)) -> Self {
        Self { low, cells: ((high / low).ln() / CELL) as usize + 1 }
    }

    fn cell(&self, hz: f64) -> Option<usize> {
        let cell = ((hz / self.low).ln() / CELL).round();
        (cell >= 0.0 && cell < self.cells as f64).then_some(cell as usize)
    }

    fn hz(&self, cell: f64) -> f64 {
        self.low * (CELL * cell).exp()
    }

    /// How much stands out in each cell, in decibels. A peak is known to a cell or so: its neighbours hold a share.
    fn lay(&self, peaks: &[Peak], row: &mut [f32]) {
        row.fill(0.0);
        for peak in peaks {
            let Some(at) = self.cell(f64::from(peak.hz)) else { continue };
            let rise = peak.rise_db.min(MOST_DB);
            let mut put = |cell: usize, share: f32| row[cell] = row[cell].max(share * rise);
            put(at, 1.0);
            if at > 0 {
                put(at - 1, 0.7);
            }
            if at + 1 < self.cells {
                put(at + 1, 0.7);
            }
        }
    }
}

fn follow_line(frames: &[&[Peak]], band: (f64, f64), step_s: f64) -> Vec<f64> {
    let scale = Scale::new(band);
    let (path, rises) = best_path(frames.len(), scale.cells, |i, row| scale.lay(frames[i], row));
    let near = |i: usize| {
        let hz = scale.hz(path[i] as f64);
        let near = frames[i].iter().filter(|p| (f64::from(p.hz) / hz).ln().abs() < 1.6 * CELL);
        near.max_by(|a, b| a.rise_db.total_cmp(&b.rise_db)).map_or(f64::NAN, |p| f64::from(p.hz))
    };
    heard_parts((0..path.len()).map(near).collect(), &rises, HEARD_LINE_DB, step_s)
}

fn follow_comb(frames: &[&[Peak]], step_s: f64) -> Vec<f64> {
    let scale = Scale::new(COMB);
    // The peaks' own scale, wide enough for the highest tooth.
    let all = Scale::new((COMB.0, COMB.1 * (HARMONICS as f64 + 1.0)));
    let shift = |multiple: f64| (multiple.ln() / CELL).round() as usize;
    let teeth: Vec<usize> = (1..=HARMONICS).map(|h| shift(h as f64)).collect();
    let between: Vec<usize> = (1..HARMONICS).map(|h| shift(h as f64 + 0.5)).collect();
    let mut peaks = vec![0.0; all.cells];
    let (path, rises) = best_path(frames.len(), scale.cells, |i, row| {
        all.lay(frames[i], &mut peaks);
        row.fill(0.0);
        for (shifts, share) in [(&teeth, 1.0 / HARMONICS as f32), (&between, -1.0 / HARMONICS as f32)] {
            for &by in shifts {
                row.iter_mut().zip(&peaks[by..]).for_each(|(sum, rise)| *sum += share * rise);
            }
        }
    });
    let fundamental = |i: usize| {
        let rough = scale.hz(path[i] as f64);
        let (mut sum, mut weights) = (0.0, 0.0);
        for h in 1..=HARMONICS {
            let hz = rough * h as f64;
            let near = frames[i].iter().filter(|p| (f64::from(p.hz) / hz).ln().abs() < 1.6 * CELL);
            if let Some(peak) = near.max_by(|a, b| a.rise_db.total_cmp(&b.rise_db)).filter(|p| p.rise_db > 6.0) {
                // The frequency of a line is known to so many hertz, of its fundamental to that over its number.
                let weight = (h * h) as f64 * 10f64.powf(f64::from(peak.rise_db.min(MOST_DB)) / 10.0);
                sum += weight * f64::from(peak.hz) / h as f64;
                weights += weight;
            }
        }
        sum / weights
    };
    heard_parts((0..path.len()).map(fundamental).collect(), &rises, HEARD_COMB_DB, step_s)
}

/// Which cell to take in each frame so that most stands out along the way, and what stands out there. `lay` fills a frame's row.
fn best_path(frames: usize, cells: usize, mut lay: impl FnMut(usize, &mut [f32])) -> (Vec<u16>, Vec<f32>) {
    let mut came_from = vec![0_i8; frames * cells];
    let mut row = vec![0.0; cells];
    // Room at both ends, so that no step leaves the scale.
    let mut sums = vec![f32::MIN; cells + 2 * REACH];
    sums[REACH..REACH + cells].fill(0.0);
    let mut next = vec![0.0; cells];
    let mut rows_at: Vec<f32> = Vec::new();
    for i in 0..frames {
        lay(i, &mut row);
        let from = &mut came_from[i * cells..][..cells];
        next.copy_from_slice(&sums[REACH..REACH + cells]);
        for by in (1..=REACH).flat_map(|by| [by as isize, -(by as isize)]) {
            let cost = COST_DB * by.unsigned_abs() as f32;
            let others = &sums[REACH.saturating_add_signed(by)..][..cells];
            for ((best, from), other) in next.iter_mut().zip(from.iter_mut()).zip(others) {
                let sum = other - cost;
                (*best, *from) = if sum > *best { (sum, by as i8) } else { (*best, *from) };
            }
        }
        let most = next.iter().copied().fold(f32::MIN, f32::max);
        for ((sum, best), rise) in sums[REACH..].iter_mut().zip(&next).zip(&row) {
            // Sums are held small, so that they stay exact however long the film is.
            *sum = best - most + rise;
        }
    }
    let last = (0..cells).max_by(|a, b| sums[REACH + a].total_cmp(&sums[REACH + b])).unwrap_or(0);
    let mut path = vec![0_u16; frames];
    let mut at = last;
    for i in (0..frames).rev() {
        path[i] = at as u16;
        at = at.saturating_add_signed(isize::from(came_from[i * cells + at]));
    }
    drop(came_from);
    for (i, cell) in path.iter().enumerate() {
        lay(i, &mut row);
        rows_at.push(row[usize::from(*cell)]);
    }
    (path, rows_at)
}

/// Takes out what is not heard: where the mean rise of a second is too low, and pieces that are too short.
fn heard_parts(mut hz: Vec<f64>, rises: &[f32], least_db: f32, step_s: f64) -> Vec<f64> {
    let half = (0.5 / step_s).round() as usize;
    for (i, value) in hz.iter_mut().enumerate() {
        let near = &rises[i.saturating_sub(half)..(i + half + 1).min(rises.len())];
        if near.iter().sum::<f32>() < least_db * near.len() as f32 {
            *value = f64::NAN;
        }
    }
    let least = (LEAST_S / step_s) as usize;
    let mut i = 0;
    while i < hz.len() {
        let end = hz[i..].iter().position(|v| v.is_nan() != hz[i].is_nan()).map_or(hz.len(), |n| i + n);
        if end - i < least {
            hz[i..end].fill(f64::NAN);
        }
        i = end;
    }
    hz
}

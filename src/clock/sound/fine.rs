//! Where exactly a track lies along a recorded speed, how sure that is, and whether the two belong together at all.
//!
//! A robust least-squares fit of the logarithm of frequency to that of speed, with one constant for the whole film and one shift
//! for each stretch in which the speed changes. Each moment is weighed by what is known to be wrong with it: the track's own
//! noise, the rounding of the log, the lines between its records, and a tone that sweeps through several bins while it is
//! measured. If track and log belong together, what is left over is that and no more, second by second; of another flight, it is not.

use super::recorded::Recorded;
use super::{HZ, LENGTH, Track, Voice, median};
use nalgebra::{DMatrix, DVector};

/// Residuals beyond this are those of another harmonic.
const JUMP: f64 = 0.06;
/// Slopes below this are steady, in shares of the speed a second.
pub(super) const FLAT: f64 = 0.004;
/// A stretch ends where the speed is steady for so long, and counts if it holds this share of what the best one says.
const STEADY_S: f64 = 60.0;
const LEAST_SHARE: f64 = 0.02;
/// Moments this many of their own deviations away do not count at all (the usual cut of J. W. Tukey's biweight).
const CUT: f64 = 4.685;
/// The shift's own uncertainty at each step of the fit, in seconds: at first only a coarse place is known.
const NEARER_S: [f64; 12] = [0.15, 0.15, 0.1, 0.07, 0.05, 0.03, 0.02, 0.01, 0.0, 0.0, 0.0, 0.0];
/// Steps of a track after which its errors are new: spectra overlap.
const APART: usize = 5;
/// Residuals are correlated over at most so many seconds.
const CORRELATED_S: f64 = 1.0;
/// No two quartz clocks drift apart by more: five times what each does.
pub(super) const MOST_DRIFT: f64 = 1.5e-4;
/// The fit's own deviations are on the safe side by this: set on invented flights of the seeds 401 to 600, judged on 1 to 400
/// (`tests/long`).
const SCALE: f64 = 0.95;
/// A tone that grows louder while it is measured says more of the end. By how much is fitted: seconds for each share of the speed
/// that it changes by in a second. Loudness goes with the square to the fourth power of speed, which makes two to four times the
/// variance of a window's weights (common practice, no source): so much, give or take.
const LOUDER_S2: (f64, f64) = (0.02, 0.015);
/// What the moment of a measurement is uncertain by where the tone sweeps through so many bins that its peak is a plateau.
const PLATEAU_S: f64 = 0.06;

/// Where a film has several stretches each is often one run-up or one run-down, whose loudness is not that of the others: the ends of
/// an invented flight of two hours lie 4 and 7 ms off.
const ONE_RAMP_S: f64 = 0.006;

/// What is fitted at one moment of a track.
struct Heard {
    t: f64,
    log: f64,
    /// Middle of the tone that is measured, in hertz.
    hz: f64,
    stretch: usize,
    /// Step of the track.
    step: usize,
}

/// A track laid along a speed.
pub(super) struct Fine {
    /// Middle, log's time less the film's, and its standard deviation, of each stretch.
    pub(super) stretches: Vec<(f64, f64, f64)>,
    /// Logarithm of hertz for one unit of the speed.
    pub(super) constant: f64,
    /// What is left over in a second (its median), in units of what may be at any moment: the root of the mean square of all
    /// seconds, and the worst.
    pub(super) misfit: (f64, f64),
    /// The share of the moments about changes that lie where they should.
    pub(super) agree: f64,
}

struct Fit<'a> {
    speed: &'a Recorded<'a>,
    heard: Vec<Heard>,
    /// Middle of each stretch, and the offset there.
    middles: &'a [f64],
    offsets: Vec<f64>,
    /// By how much the offset grows in a second, as the stretches have it: a stretch may last for hours.
    drift: f64,
    constant: f64,
    /// See `LOUDER_S2`.
    louder: f64,
    /// Variance of the track's own noise.
    noise: f64,
    weights: Vec<f64>,
    inverse: DMatrix<f64>,
}

/// The fine place near a coarse one; none where the speed is steady while the sound is heard.
pub(super) fn settle(track: &Track, speed: &Recorded<'_>, offset_s: f64) -> Option<Fine> {
    let (heard, middles) = moments(track, speed, offset_s);
    if middles.is_empty() {
        return None;
    }
    let count = middles.len();
    let mut fit = Fit {
        speed,
        constant: mode(heard.iter().map(|h| h.log - speed.seen(h.t + offset_s)).collect()),
        heard,
        middles: &middles,
        offsets: vec![offset_s; count],
        drift: 0.0,
        louder: LOUDER_S2.0,
        noise: 0.0,
        weights: Vec::new(),
        inverse: DMatrix::zeros(count + 2, count + 2),
    };
    NEARER_S.iter().for_each(|near| fit.step(*near));
    let seconds = (1.0 / track.step_s).round() as usize;
    let (misfit, agree) = fit.judge(seconds);
    let sigmas = fit.sigmas((CORRELATED_S / track.step_s) as usize);
    let stretches = middles.iter().zip(&fit.offsets).zip(sigmas).map(|((t, offset), sigma)| (*t, *offset, sigma));
    Some(Fine { stretches: stretches.collect(), constant: fit.constant, misfit, agree })
}

/// The moments at which both are there, and the middles of the stretches in which the speed changes.
fn moments(track: &Track, speed: &Recorded<'_>, offset_s: f64) -> (Vec<Heard>, Vec<f64>) {
    let mut heard: Vec<Heard> = Vec::new();
    // What a stretch says grows with the square of the slope.
    let mut stretches: Vec<(f64, f64, f64)> = Vec::new();
    for (step, hz) in track.hz.iter().enumerate() {
        let (t, log) = (track.time(step), hz.ln());
        let slope = speed.slope(t + offset_s);
        if log.is_nan() || slope.is_nan() {
            continue;
        }
        let middle = if track.voice == Voice::Comb { 6.0 * hz } else { *hz };
        heard.push(Heard { t, log, hz: middle, stretch: 0, step });
        if slope.abs() < FLAT {
            continue;
        }
        let (says, at) = (slope * slope, slope * slope * t);
        match stretches.last_mut() {
            Some((last, sum, moment)) if t - *last < STEADY_S => {
                (*last, *sum, *moment) = (t, *sum + says, *moment + at)
            }
            _ => stretches.push((t, says, at)),
        }
    }
    let most = stretches.iter().map(|s| s.1).fold(0.0, f64::max);
    stretches.retain(|s| s.1 >= LEAST_SHARE * most);
    let middles: Vec<f64> = stretches.iter().map(|(_, sum, moment)| moment / sum).collect();
    for h in &mut heard {
        let away = |i: &usize| (middles[*i] - h.t).abs();
        h.stretch = (0..middles.len()).min_by(|a, b| away(a).total_cmp(&away(b))).unwrap_or(0);
    }
    (heard, middles)
}

/// The middle of the hundredth in which most values lie.
fn mode(mut values: Vec<f64>) -> f64 {
    values.retain(|v| v.is_finite());
    values.sort_by(f64::total_cmp);
    let end = |i: usize| values.partition_point(|v| *v <= values[i] + 0.01);
    let best = (0..values.len()).max_by_key(|i| end(*i) - i);
    best.map_or(0.0, |i| median(values[i..end(i)].to_vec()))
}

/// Slope of the line through weighed points, by least squares; 0 where they do not spread.
fn slope_of(x: &[f64], y: &[f64], weights: &[f64]) -> f64 {
    let all: f64 = weights.iter().sum();
    let mean = |of: &[f64]| of.iter().zip(weights).map(|(v, w)| v * w).sum::<f64>() / all;
    let (middle, level) = (mean(x), mean(y));
    let points = || x.iter().zip(y).zip(weights).map(|((x, y), w)| (x - middle, y - level, w));
    let spread: f64 = points().map(|(x, _, w)| w * x * x).sum();
    if spread > 0.0 { points().map(|(x, y, w)| w * x * y).sum::<f64>() / spread } else { 0.0 }
}

impl Fit<'_> {
    /// The log's time of a moment of the film.
    fn log_s(&self, h: &Heard) -> f64 {
        h.t + self.offsets[h.stretch] + self.drift * (h.t - self.middles[h.stretch])
    }

    fn slope(&self, h: &Heard) -> f64 {
        let slope = self.speed.slope(self.log_s(h));
        if slope.is_nan() { 0.0 } else { slope }
    }

    /// NaN where nothing is recorded.
    fn residuals(&self) -> Vec<f64> {
        let expected = |h: &Heard| {
            let slope = self.slope(h);
            self.speed.seen(self.log_s(h)) + self.constant + self.louder * slope * slope
        };
        self.heard.iter().map(|h| h.log - expected(h)).collect()
    }

    /// Variance of each residual, if track and log belong together and the shift is known to `near_s`.
    fn variances(&self, near_s: f64) -> Vec<f64> {
        let of = |h: &Heard| {
            let slope = self.slope(h);
            // While it is measured, through how many of the bins that a window's line is wide.
            let swept = 0.25 * (h.hz * slope).abs() * (LENGTH as f64 / f64::from(HZ)).powi(2);
            let moment = (PLATEAU_S * swept.powi(2).min(1.0)).hypot(near_s);
            self.noise + self.speed.open(self.log_s(h)) + (slope * moment).powi(2)
        };
        self.heard.iter().map(of).collect()
    }

    /// The track's noise, from how its residuals bend between moments whose errors are new.
    fn noise(&self, rest: &[f64]) -> f64 {
        let bend = |i: usize| {
            let (a, b, c) = (i, i + APART, i + 2 * APART);
            (self.heard.get(c)?.step - self.heard[a].step == 2 * APART).then(|| rest[a] - 2.0 * rest[b] + rest[c])
        };
        let bends = (0..rest.len()).filter_map(bend).filter(|b| b.is_finite());
        (1.4826 * median(bends.map(f64::abs).collect())).powi(2) / 6.0
    }

    /// One step of the fit, with the shift known to `near_s` before it.
    fn step(&mut self, near_s: f64) {
        let rest = self.residuals();
        self.noise = self.noise(&rest);
        let variances = self.variances(near_s);
        let units: Vec<f64> = rest.iter().zip(&variances).map(|(r, v)| r / v.sqrt()).collect();
        let spread = (1.4826 * median(units.iter().filter(|u| u.is_finite()).map(|u| u.abs()).collect())).max(1.0);
        let count = self.offsets.len();
        let (mut matrix, mut right) = (DMatrix::zeros(count + 2, count + 2), DVector::zeros(count + 2));
        matrix[(count + 1, count + 1)] = LOUDER_S2.1.powi(-2);
        right[count + 1] = (LOUDER_S2.0 - self.louder) * LOUDER_S2.1.powi(-2);
        self.weights = vec![0.0; rest.len()];
        for (i, h) in self.heard.iter().enumerate() {
            let u = units[i] / (CUT * spread);
            if u.is_nan() || u.abs() >= 1.0 {
                continue;
            }
            let weight = (1.0 - u * u).powi(2) / variances[i];
            let slope = self.slope(h);
            self.weights[i] = weight;
            let parts = [(h.stretch, slope), (count, 1.0), (count + 1, slope * slope)];
            for (row, by) in parts {
                right[row] += weight * by * rest[i];
                parts.iter().for_each(|(column, other)| matrix[(row, *column)] += weight * by * other);
            }
        }
        // What no moment speaks of stays where it is.
        (0..count)
            .filter(|i| matrix[(*i, *i)] == 0.0)
            .collect::<Vec<_>>()
            .into_iter()
            .for_each(|i| matrix[(i, i)] = 1.0);
        let says: Vec<f64> = (0..count).map(|i| matrix[(i, i)]).collect();
        let Some(inverse) = matrix.try_inverse() else { return };
        let by = &inverse * right;
        self.offsets.iter_mut().enumerate().for_each(|(k, offset)| *offset += by[k].clamp(-0.5, 0.5));
        self.constant += by[count];
        self.louder += by[count + 1];
        self.drift = slope_of(self.middles, &self.offsets, &says).clamp(-MOST_DRIFT, MOST_DRIFT);
        self.inverse = inverse;
    }

    /// See `Fine::misfit` and `Fine::agree`.
    fn judge(&self, second: usize) -> ((f64, f64), f64) {
        let (rest, variances) = (self.residuals(), self.variances(0.0));
        let mut misfits: Vec<f64> = Vec::new();
        let mut start = 0;
        while start < rest.len() {
            let first = self.heard[start].step;
            let end = start + self.heard[start..].iter().take_while(|h| h.step < first + second).count();
            // Another harmonic of the same tone is no misfit; it must not be most of what there is.
            let same = (start..end).filter(|i| rest[*i].abs() < JUMP);
            let units: Vec<f64> = same.map(|i| rest[i] / variances[i].sqrt()).collect();
            if 2 * units.len() > second {
                misfits.push(median(units).abs());
            }
            start = end;
        }
        let mean_square = misfits.iter().map(|m| m * m).sum::<f64>() / misfits.len().max(1) as f64;
        let worst = misfits.into_iter().fold(0.0, f64::max);
        let moving = |i: &usize| self.slope(&self.heard[*i]).abs() > FLAT;
        let about: Vec<usize> = (0..rest.len()).filter(moving).collect();
        let agree = about.iter().filter(|i| self.weights[**i] > 0.0).count() as f64 / about.len().max(1) as f64;
        ((mean_square.sqrt(), worst), agree)
    }

    /// Standard deviations of the shifts: what the fit says, times how far the residuals scatter where the speed changes and how long
    /// they last (the weights of M. S. Bartlett, Periodogram Analysis and Continuous Spectra, Biometrika 37, 1950).
    fn sigmas(&self, reach: usize) -> Vec<f64> {
        let (rest, variances) = (self.residuals(), self.variances(0.0));
        // The last step may have brought a moment beside a gap.
        let counts = |i: usize| self.weights[i] > 0.0 && rest[i].is_finite() && self.slope(&self.heard[i]).abs() > FLAT;
        let unit = |i: usize| if counts(i) { rest[i] / variances[i].sqrt() } else { 0.0 };
        let units: Vec<f64> = (0..rest.len()).map(unit).collect();
        let lagged = |lag: usize| units.iter().zip(&units[lag.min(units.len())..]).map(|(a, b)| a * b).sum::<f64>();
        let share = |lag: usize| 1.0 - lag as f64 / (reach + 1) as f64;
        let sum = lagged(0) + (1..=reach).map(|lag| 2.0 * share(lag) * lagged(lag)).sum::<f64>();
        let scatter = sum.max(lagged(0)) / units.iter().filter(|unit| **unit != 0.0).count().max(1) as f64;
        let shape_s = if self.offsets.len() > 1 { ONE_RAMP_S } else { 0.0 };
        (0..self.offsets.len()).map(|k| (SCALE * (self.inverse[(k, k)] * scatter).sqrt()).hypot(shape_s)).collect()
    }
}

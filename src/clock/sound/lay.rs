//! Lays the tracks of tones along recorded speeds.
//!
//! The coarse place is where the recorded changes explain most of the heard ones: of all shifts that for which the sum of squares
//! of the changes left over is least, out of two correlations over every shift at once. Changes, and not the frequencies
//! themselves, because a track that jumps from one harmonic to another is then wrong for a second only. The fine place is a
//! robust least-squares fit of the logarithm of frequency to that of speed, with one constant for each unbroken piece of track
//! and one shift for each stretch in which the speed changes. Its covariance is estimated from the residuals with their
//! correlation in time (W. K. Newey, K. D. West, Econometrica 55, 1987), so that what is wrong for seconds counts as that.

use super::Track;
use crate::clock::{ClockId, Evidence, EvidenceKind};
use crate::signal::{Channel, Samples, cross_correlation};
use nalgebra::{DMatrix, DVector};

/// Changes are taken over so many steps of a track, one second: half before, half after. Greater ones are jumps of the track.
const HALF: usize = 5;
const JUMP: f64 = 0.3;
/// Speeds below this share of the usual one are not laid: no tone is heard there, and a sensor says least.
const LEAST_SPEED: f64 = 0.08;
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
/// Frequencies this close to the recorded speed agree with it, and so many must where the speed changes.
const AGREES: f64 = 0.015;
const MOST_AGREE: f64 = 0.75;
/// Tones that the owner names, and pieces of one track, may be off by this much.
const RATIO: f64 = 0.01;
/// A stretch ends where the speed is steady for so long, and counts if it holds this share of what the best one says.
const STEADY_S: f64 = 30.0;
const LEAST_SHARE: f64 = 0.02;
/// Residuals are correlated over at most so many seconds.
const CORRELATED_S: f64 = 6.0;
/// What the shape of the window and a logger's own delay leave open at least.
const LEAST_SIGMA_S: f64 = 0.005;

/// A speed that a logger recorded.
#[derive(Debug, Clone)]
pub struct Speed<'a> {
    /// The log's clock.
    pub clock: ClockId,
    /// What to call it.
    pub name: String,
    /// Its numbers, in any unit that is zero at rest.
    pub channel: &'a Channel,
    /// Hertz of tones for one unit of the speed, where the owner knows them; any tone will do where this is empty.
    pub tones: Vec<f64>,
}

/// A sound that was laid along a log.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// The pieces, one for each stretch in which the speed changes.
    pub evidence: Vec<Evidence>,
    /// The log's time less the film's, in seconds, and its standard deviation: the mean of the pieces.
    pub offset_s: f64,
    /// See `offset_s`.
    pub sigma_s: f64,
    /// Which speed of those given, and which track, match best.
    pub speed: usize,
    /// See `speed`.
    pub track: usize,
    /// Hertz of the tone for one unit of the speed.
    pub hz_per_unit: f64,
    /// Normalised correlation of the changes at the best place.
    pub correlation: f64,
    /// The gain over the offset in seconds at every offset that was tried, 1 at its peak.
    pub profile: Vec<(f64, f64)>,
}

/// Lays the tones of a film's sound along recorded speeds, whichever fit best. The error says why that cannot be done.
pub fn lay(film: ClockId, tracks: &[Track], speeds: &[Speed<'_>]) -> Result<Laid, String> {
    if tracks.iter().all(|track| track.heard() * track.hz.len() as f64 * track.step_s < 5.0) {
        return Err("no tone stands out of the sound".into());
    }
    let mut traces = Vec::new();
    for (i, speed) in speeds.iter().enumerate() {
        traces.extend(Trace::of(speed.channel).map(|trace| (i, trace)));
    }
    if traces.is_empty() {
        return Err("no rotor or engine speed was recorded".into());
    }
    let changes = |trace: &Trace| trace.grid(0.1).1.windows(2 * HALF + 1).any(|w| (w[2 * HALF] - w[0]).abs() > FLAT);
    traces.retain(|(_, trace)| changes(trace));
    if traces.is_empty() {
        return Err("the recorded speed is steady all through: nothing to match".into());
    }
    let pairs = traces.iter().flat_map(|(speed, trace)| {
        tracks.iter().enumerate().filter_map(move |(t, track)| Some((*speed, trace, t, track, Coarse::find(track, trace)?)))
    });
    let mut pairs: Vec<_> = pairs.collect();
    pairs.sort_by(|a, b| b.4.gain.total_cmp(&a.4.gain));
    let mut first = None;
    for (speed, trace, t, track, coarse) in pairs {
        match coarse.holds().and_then(|()| settle(film, &speeds[speed], trace, track, &coarse)) {
            Ok(laid) => return Ok(Laid { speed, track: t, ..laid }),
            Err(why) => {
                first.get_or_insert(why);
            }
        }
    }
    Err(first.unwrap_or_else(|| "film and log have too little in common".into()))
}

/// The logarithm of a recorded speed.
struct Trace<'a> {
    times: &'a [f64],
    logs: Vec<f64>,
    joined_s: f64,
}

impl<'a> Trace<'a> {
    fn of(channel: &'a Channel) -> Option<Self> {
        let Samples::Numbers(values) = &channel.samples else { return None };
        let least = LEAST_SPEED * channel.usual()?;
        let log = |v: &f64| if *v > least && *v > 0.0 { v.ln() } else { f64::NAN };
        let logs: Vec<f64> = values.iter().map(log).collect();
        Some(Self { times: &channel.times, logs, joined_s: channel.rules.joined_s })
    }

    /// NaN where nothing is recorded.
    fn at(&self, t: f64) -> f64 {
        let after = self.times.partition_point(|&time| time <= t);
        let (Some(before), true) = (after.checked_sub(1), after < self.times.len()) else { return f64::NAN };
        let (start, end) = (self.times[before], self.times[after]);
        if end - start > self.joined_s {
            return f64::NAN;
        }
        self.logs[before] + (self.logs[after] - self.logs[before]) * (t - start) / (end - start)
    }

    /// Its slope, over two tenths of a second.
    fn slope(&self, t: f64) -> f64 {
        (self.at(t + 0.1) - self.at(t - 0.1)) / 0.2
    }

    /// Evenly spaced from its first record on: that one's time, and the values.
    fn grid(&self, step: f64) -> (f64, Vec<f64>) {
        let (first, last) = (self.times.first().copied().unwrap_or(0.0), self.times.last().copied().unwrap_or(0.0));
        (first, (0..=((last - first) / step) as usize).map(|i| self.at(first + step * i as f64)).collect())
    }
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

fn median(mut values: Vec<f64>) -> f64 {
    let middle = values.len() / 2;
    if values.is_empty() { 0.0 } else { *values.select_nth_unstable_by(middle, f64::total_cmp).1 }
}

/// Where a track fits a speed best, to a tenth of a second.
struct Coarse {
    /// Log's time less the film's.
    offset_s: f64,
    gain: f64,
    correlation: f64,
    /// The gain of the best other place.
    next: (f64, f64),
    profile: Vec<(f64, f64)>,
}

impl Coarse {
    fn find(track: &Track, trace: &Trace<'_>) -> Option<Self> {
        let heard: Vec<f64> = track.hz.iter().map(|hz| hz.ln()).collect();
        let (x, x_is) = changes(&heard);
        let (from, recorded) = trace.grid(track.step_s);
        let (y, _) = changes(&recorded);
        let squares = |values: &[f64]| values.iter().map(|v| v * v).collect::<Vec<f64>>();
        let both = cross_correlation(&x, &y);
        let recorded = cross_correlation(&x_is, &squares(&y));
        let still: Vec<f64> = x.iter().zip(&x_is).filter(|(_, is)| **is > 0.0).map(|(x, _)| x.abs()).collect();
        let noise = (1.4826 * median(still)).max(LEAST_NOISE);
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

    fn holds(&self) -> Result<(), String> {
        let Self { offset_s, gain, correlation, next, .. } = self;
        if *gain < LEAST_GAIN {
            return Err("the tones that are heard do not change as the recorded speed does: nothing to match".into());
        }
        if *correlation < LEAST_CORRELATION {
            return Err(format!("the tones follow no recorded speed: the changes correlate by {correlation:.2} at best"));
        }
        if next.1 > NEXT_GAIN * gain {
            let text = "the sound fits the log in two places, at offsets of";
            return Err(format!("{text} {offset_s:.1} s and {:.1} s", next.0));
        }
        Ok(())
    }
}

/// What is fitted at one moment of a track.
struct Heard {
    t: f64,
    log: f64,
    piece: usize,
    stretch: usize,
}

/// The fine place, with all of its pieces.
fn settle(film: ClockId, speed: &Speed<'_>, trace: &Trace<'_>, track: &Track, coarse: &Coarse) -> Result<Laid, String> {
    let (heard, stretches) = moments(trace, track, coarse.offset_s);
    if stretches.is_empty() {
        return Err("the speed is steady while the sound is heard: nothing to match".into());
    }
    let mut fit = Fit::new(&heard, stretches.len(), coarse.offset_s);
    (0..12).for_each(|_| fit.step(trace, &heard));
    let rest = fit.residuals(trace, &heard);
    let moving = |h: &Heard| trace.slope(h.t + fit.offsets[h.stretch]).abs() > FLAT;
    let (mut agree, mut all) = (0, 0);
    for (h, rest) in heard.iter().zip(&rest).filter(|(h, _)| moving(h)) {
        let _ = h;
        agree += usize::from(rest.abs() < AGREES);
        all += 1;
    }
    if (agree as f64) < MOST_AGREE * all as f64 {
        let share = 100 * agree / all.max(1);
        return Err(format!("the tone that fits best follows `{}` in only {share} % of the time: another flight's sound?", speed.name));
    }
    let hz_per_unit = fit.constants[fit.longest].exp();
    let known = |tone: &f64| (tone / hz_per_unit).ln().abs() < RATIO;
    if !speed.tones.is_empty() && !speed.tones.iter().any(known) {
        return Err(format!("the tone of {hz_per_unit:.3} Hz for one unit of `{}` is none of those named", speed.name));
    }
    let sigmas = fit.sigmas(trace, &heard, &rest, track.step_s);
    let why = format!(
        "sound: a tone of {hz_per_unit:.3} Hz for one unit of {}, correlation {:.2}",
        speed.name, coarse.correlation
    );
    let pieces = || stretches.iter().zip(&fit.offsets).zip(&sigmas);
    let evidence = pieces().map(|((t, offset), sigma)| {
        Evidence::new(EvidenceKind::Sound, (film, *t), (speed.clock, t + offset), *sigma, why.clone())
    });
    let weight: f64 = sigmas.iter().map(|s| s.powi(-2)).sum();
    Ok(Laid {
        evidence: evidence.collect(),
        offset_s: pieces().map(|((_, offset), sigma)| offset * sigma.powi(-2)).sum::<f64>() / weight,
        sigma_s: weight.powf(-0.5),
        speed: 0,
        track: 0,
        hz_per_unit,
        correlation: coarse.correlation,
        profile: coarse.profile.clone(),
    })
}

/// The moments at which both are there, in pieces of track without a jump; and the middles of the stretches in which the speed
/// changes.
fn moments(trace: &Trace<'_>, track: &Track, offset_s: f64) -> (Vec<Heard>, Vec<f64>) {
    let mut heard: Vec<Heard> = Vec::new();
    let mut piece = 0;
    for (i, hz) in track.hz.iter().enumerate() {
        let (t, log) = (track.time(i), hz.ln());
        if log.is_nan() || trace.slope(t + offset_s).is_nan() {
            continue;
        }
        if let Some(last) = heard.last() {
            let expected = trace.at(t + offset_s) - trace.at(last.t + offset_s);
            let broken = t - last.t > 1.0 || (log - last.log - expected).abs() > 4.0 * AGREES;
            piece += usize::from(broken);
        }
        heard.push(Heard { t, log, piece, stretch: 0 });
    }
    // Pieces too short to hold a constant of their own say nothing.
    let mut lengths = vec![0; piece + 1];
    heard.iter().for_each(|h| lengths[h.piece] += 1);
    heard.retain(|h| lengths[h.piece] >= 4 * HALF);
    let mut names = vec![usize::MAX; piece + 1];
    let mut count = 0;
    for h in &mut heard {
        if names[h.piece] == usize::MAX {
            names[h.piece] = count;
            count += 1;
        }
        h.piece = names[h.piece];
    }
    // What a stretch says grows with the square of the slope.
    let mut stretches: Vec<(f64, f64, f64)> = Vec::new();
    for h in &heard {
        let slope = trace.slope(h.t + offset_s);
        if slope.abs() < FLAT {
            continue;
        }
        let (says, at) = (slope * slope, slope * slope * h.t);
        match stretches.last_mut() {
            Some((last, sum, moment)) if h.t - *last < STEADY_S => (*last, *sum, *moment) = (h.t, *sum + says, *moment + at),
            _ => stretches.push((h.t, says, at)),
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

/// Shifts and constants as far as they are known.
struct Fit {
    offsets: Vec<f64>,
    constants: Vec<f64>,
    /// The piece with most moments.
    longest: usize,
    /// Inverse of the normal equations' matrix, and the weight of each moment, of the last step.
    inverse: DMatrix<f64>,
    weights: Vec<f64>,
}

impl Fit {
    fn new(heard: &[Heard], stretches: usize, offset_s: f64) -> Self {
        let pieces = heard.last().map_or(0, |h| h.piece + 1);
        let length = |p: usize| heard.iter().filter(|h| h.piece == p).count();
        Self {
            offsets: vec![offset_s; stretches],
            constants: vec![f64::NAN; pieces],
            longest: (0..pieces).max_by_key(|p| length(*p)).unwrap_or(0),
            inverse: DMatrix::zeros(0, 0),
            weights: Vec::new(),
        }
    }

    fn residuals(&self, trace: &Trace<'_>, heard: &[Heard]) -> Vec<f64> {
        heard.iter().map(|h| h.log - trace.at(h.t + self.offsets[h.stretch]) - self.constants[h.piece]).collect()
    }

    /// One step of the fit: weights by Tukey's biweight of the residuals, and the shifts and constants that then fit best.
    fn step(&mut self, trace: &Trace<'_>, heard: &[Heard]) {
        let raw = |h: &Heard| h.log - trace.at(h.t + self.offsets[h.stretch]);
        if self.constants.iter().any(|c| c.is_nan()) {
            let pieces = self.constants.len();
            let of = |p: usize| median(heard.iter().filter(|h| h.piece == p).map(raw).filter(|r| !r.is_nan()).collect());
            self.constants = (0..pieces).map(of).collect();
        }
        let rest = self.residuals(trace, heard);
        let spread = 1.4826 * median(rest.iter().filter(|r| !r.is_nan()).map(|r| r.abs()).collect());
        let cut = 4.685 * spread.max(2.0 * LEAST_NOISE);
        let weight = |r: &f64| if r.abs() < cut { (1.0 - (r / cut).powi(2)).powi(2) } else { 0.0 };
        self.weights = rest.iter().map(weight).collect();
        let n = self.offsets.len() + self.constants.len();
        let (mut matrix, mut right) = (DMatrix::zeros(n, n), DVector::zeros(n));
        for ((h, rest), weight) in heard.iter().zip(&rest).zip(&self.weights) {
            let slope = trace.slope(h.t + self.offsets[h.stretch]);
            if *weight == 0.0 || slope.is_nan() {
                continue;
            }
            let (s, p) = (h.stretch, self.offsets.len() + h.piece);
            matrix[(s, s)] += weight * slope * slope;
            matrix[(s, p)] += weight * slope;
            matrix[(p, s)] += weight * slope;
            matrix[(p, p)] += weight;
            right[s] += weight * slope * rest;
            right[p] += weight * rest;
        }
        // What no moment speaks of stays where it is.
        (0..n).filter(|i| matrix[(*i, *i)] == 0.0).collect::<Vec<_>>().into_iter().for_each(|i| matrix[(i, i)] = 1.0);
        let Some(inverse) = matrix.try_inverse() else { return };
        let by = &inverse * right;
        for (k, offset) in self.offsets.iter_mut().enumerate() {
            *offset += by[k].clamp(-0.5, 0.5);
        }
        let stretches = self.offsets.len();
        self.constants.iter_mut().enumerate().for_each(|(k, constant)| *constant += by[stretches + k]);
        self.inverse = inverse;
    }

    /// Standard deviations of the shifts.
    fn sigmas(&self, trace: &Trace<'_>, heard: &[Heard], rest: &[f64], step_s: f64) -> Vec<f64> {
        let stretches = self.offsets.len();
        let n = self.inverse.nrows();
        // Each moment's part in each shift.
        let part = |k: usize, i: usize| {
            let h = &heard[i];
            let slope = trace.slope(h.t + self.offsets[h.stretch]);
            let rest = if rest[i].is_nan() || slope.is_nan() { 0.0 } else { rest[i] };
            let by_shift = if n > 0 { self.inverse[(k, h.stretch)] * slope } else { 0.0 };
            self.weights[i] * rest * (if slope.is_nan() { 0.0 } else { by_shift } + self.inverse[(k, stretches + h.piece)])
        };
        let reach = (CORRELATED_S / step_s) as usize;
        let sigma = |k: usize| {
            let parts: Vec<f64> = (0..heard.len()).map(|i| part(k, i)).collect();
            let lagged = |lag: usize| parts.iter().zip(&parts[lag.min(parts.len())..]).map(|(a, b)| a * b).sum::<f64>();
            let share = |lag: usize| 1.0 - lag as f64 / (reach + 1) as f64;
            let variance = lagged(0) + (1..=reach).map(|lag| 2.0 * share(lag) * lagged(lag)).sum::<f64>();
            variance.max(0.0).sqrt().hypot(LEAST_SIGMA_S)
        };
        (0..stretches).map(sigma).collect()
    }
}

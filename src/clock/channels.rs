//! Evidence from a quantity that two loggers recorded: one trace is laid along the other.
//!
//! The coarse place is the highest peak of the normalised cross-correlation over the records that both have; it must stand out
//! from every other. The fine place, and the rate where the traces can tell it, is where the coarser trace's records lie about the finer's
//! straight lines, of which each time the mean over a step of the coarser one is taken, so that every record counts; with a gain and an
//! offset of its own for the sensors. The residuals are weighed with the slope of the records' neighbours, whose noise is not theirs (an
//! instrumental variable): weighed with the lines' own noisy slope, the lag would be drawn to where the lines are smoothest. The covariance rests on how long the residuals last (a coarse digit, a
//! slow sensor), and on blocks of them where these say more than chance makes of so few: a trace may fit worse just where it moves.

use super::evidence::{ClockId, Evidence, EvidenceKind};
use crate::signal::{Channel, Kind, Samples, shorter_way};
use nalgebra::{Matrix2, Matrix4, Vector4};
use realfft::RealFftPlanner;
use realfft::num_complex::Complex;

/// Least normalised correlation of a match, and how far every other peak must lie below it (common practice, no source).
const LEAST_PEAK: f64 = 0.8;
const NEXT_PEAK: f64 = 0.05;
/// Both must have recorded for so long at a lag, as a share of the shorter trace (common practice, no source).
const LEAST_OVERLAP: f64 = 0.3;
/// A peak that takes more of all lags than this is none (common practice, no source).
const BROADEST: f64 = 0.3;
/// Most steps of a trace that are compared at once: beyond, the step grows.
const MOST: usize = 1 << 17;
/// Neighbours of a record on either side whose slope it is weighed with.
const NEIGHBOURS: usize = 5;
/// Residuals are taken to last for fewer records than this.
const LASTING: usize = 20;
/// Blocks of residuals.
const BLOCKS: usize = 40;
/// A rate that is known worse than this is not fitted: it could only do harm.
const RATE_SIGMA: f64 = 200e-6;

/// What two traces say of their clocks.
#[derive(Debug, Clone, PartialEq)]
pub struct Match {
    /// The pieces: one, or two where the rate was fitted too.
    pub evidence: Vec<Evidence>,
    /// Correlation over the lag of the second behind the first, in seconds, at every lag that was tried.
    pub correlation: Vec<(f64, f64)>,
    /// Where the peak stands.
    pub lag_s: f64,
    /// The second's values as the first would have them: gain and offset.
    pub gain: f64,
    /// See `gain`.
    pub offset: f64,
}

/// Lays the second channel along the first. The error says why it cannot be done.
pub fn lay(a: (ClockId, &Channel), b: (ClockId, &Channel), names: &str) -> Result<Match, String> {
    let (x, y) = (Trace::of(a.1)?, Trace::of(b.1)?);
    let finer = x.step.min(y.step);
    let step = finer.max(x.span().max(y.span()) / MOST as f64);
    let correlation = correlate(&x.grid(step), &y.grid(step), step);
    let lag = peak(&correlation)?;
    let fine = refine(&x, &y, lag)?;
    let sigma = fine.cov[(0, 0)].sqrt();
    let why = format!("{names}, correlation {:.3}", correlation.iter().map(|c| c.1).fold(0.0, f64::max));
    let piece = |t: f64, sigma: f64| {
        let there = t + fine.lag + fine.rate * (t - fine.middle);
        Evidence::new(EvidenceKind::Channel, (a.0, t), (b.0, there), sigma, why.clone())
    };
    // Two moments that are known apart from each other say as much as an offset and a rate with their covariance.
    let evidence = if fine.rate_known {
        let away = sigma / fine.cov[(1, 1)].sqrt();
        vec![piece(fine.middle - away, sigma * 2f64.sqrt()), piece(fine.middle + away, sigma * 2f64.sqrt())]
    } else {
        vec![piece(fine.middle, sigma)]
    };
    Ok(Match { evidence, correlation, lag_s: fine.lag, gain: fine.gain, offset: fine.offset })
}

/// A channel's numbers, directions unrolled.
struct Trace<'a> {
    times: &'a [f64],
    values: Vec<f64>,
    joined_s: f64,
    step: f64,
    /// Of each record's neighbours; none beside a gap.
    slopes: Vec<Option<f64>>,
}

impl<'a> Trace<'a> {
    fn of(channel: &'a Channel) -> Result<Self, String> {
        let Samples::Numbers(values) = &channel.samples else { return Err(format!("`{}` holds texts", channel.name)) };
        let mut values = values.clone();
        if channel.kind == Kind::Angle {
            for i in 1..values.len() {
                values[i] = values[i - 1] + shorter_way(values[i - 1].rem_euclid(360.0), values[i].rem_euclid(360.0));
            }
        }
        let mut steps: Vec<f64> = channel.times.windows(2).map(|t| t[1] - t[0]).collect();
        if steps.len() < 20 {
            return Err(format!("`{}` has too few records", channel.name));
        }
        let middle = steps.len() / 2;
        let step = *steps.select_nth_unstable_by(middle, f64::total_cmp).1;
        let (times, joined_s) = (&*channel.times, channel.rules.joined_s);
        let slopes = (0..times.len()).map(|i| slope_about(times, &values, i, joined_s)).collect();
        Ok(Self { times, values, joined_s, step, slopes })
    }

    fn span(&self) -> f64 {
        self.times[self.times.len() - 1] - self.times[0]
    }

    /// Value and slope at a time between two neighbouring records.
    fn at(&self, t: f64, cursor: &mut usize) -> Option<(f64, f64)> {
        while *cursor > 0 && self.times[*cursor] > t {
            *cursor -= 1;
        }
        while *cursor + 2 < self.times.len() && self.times[*cursor + 1] <= t {
            *cursor += 1;
        }
        let i = *cursor;
        let long = self.times[i + 1] - self.times[i];
        let share = (t - self.times[i]) / long;
        let inside = (0.0..=1.0).contains(&share) && long <= self.joined_s;
        let slope = (self.values[i + 1] - self.values[i]) / long;
        inside.then(|| (self.values[i] + slope * (t - self.times[i]), slope))
    }

    /// Mean of the line over so many seconds about a time, and its slope there: every record in them counts.
    fn mean(&self, t: f64, over_s: f64, cursor: &mut usize) -> Option<(f64, f64)> {
        // The area under a straight piece is its middle's value times its length.
        let (from, to) = (t - over_s / 2.0, t + over_s / 2.0);
        let (first, _) = self.at(from, cursor)?;
        let (mut area, mut at, mut value) = (0.0, from, first);
        while at < to {
            let next = self.times.get(*cursor + 1).map_or(to, |end| end.min(to));
            // The next piece begins at its first record.
            let there = self.at(next, cursor)?.0;
            if next <= at {
                return None;
            }
            (area, at, value) = (area + (next - at) * (value + there) / 2.0, next, there);
        }
        Some((area / over_s, (value - first) / over_s))
    }

    /// Its values on whole steps of its own clock, zero and not counted where there is none; and the first step.
    fn grid(&self, step: f64) -> Grid {
        let first = (self.times[0] / step).ceil() as i64;
        let last = (self.times[self.times.len() - 1] / step).floor() as i64;
        let mean = self.values.iter().sum::<f64>() / self.values.len() as f64;
        let mut cursor = 0;
        let found = (first..=last).map(|i| self.at(i as f64 * step, &mut cursor).map(|v| v.0 - mean));
        let (values, counted) = found.map(|v| v.map_or((0.0, 0.0), |v| (v, 1.0))).unzip();
        Grid { first, values, counted }
    }
}

/// Slope of the straight line through a record's neighbours on either side, as many before as after; it does not depend on the
/// record itself. None where one of them is beyond a gap.
fn slope_about(times: &[f64], values: &[f64], i: usize, joined_s: f64) -> Option<f64> {
    let (from, to) = (i.checked_sub(NEIGHBOURS)?, i + NEIGHBOURS);
    let near = times.get(from..=to)?;
    if near.windows(2).any(|t| t[1] - t[0] > joined_s) {
        return None;
    }
    let (t0, all) = (times[i], near.iter().zip(&values[from..=to]));
    let mean = near.iter().map(|t| t - t0).sum::<f64>() / near.len() as f64;
    let (up, over) = all.fold((0.0, 0.0), |(up, over), (t, v)| {
        let away = t - t0 - mean;
        (up + away * v, over + away * away)
    });
    Some(up / over)
}

struct Grid {
    first: i64,
    values: Vec<f64>,
    counted: Vec<f64>,
}

/// Normalised correlation at every lag with enough overlap: of the values that both have there.
fn correlate(a: &Grid, b: &Grid, step: f64) -> Vec<(f64, f64)> {
    let size = (a.values.len() + b.values.len()).next_power_of_two();
    let mut planner = RealFftPlanner::<f64>::new();
    let (forward, back) = (planner.plan_fft_forward(size), planner.plan_fft_inverse(size));
    let turned = |values: &[f64]| {
        let mut padded = values.to_vec();
        padded.resize(size, 0.0);
        let mut spectrum = forward.make_output_vec();
        // The lengths are the plan's own.
        let _ = forward.process(&mut padded, &mut spectrum);
        spectrum
    };
    let sums = |x: &[Complex<f64>], y: &[Complex<f64>]| {
        let mut product: Vec<Complex<f64>> = x.iter().zip(y).map(|(x, y)| x.conj() * y).collect();
        // Rounding may leave what must be real a little beside it.
        for end in [0, product.len() - 1] {
            product[end].im = 0.0;
        }
        let mut sum = back.make_output_vec();
        let _ = back.process(&mut product, &mut sum);
        sum.iter_mut().for_each(|s| *s /= size as f64);
        sum
    };
    let squares = |values: &[f64]| values.iter().map(|v| v * v).collect::<Vec<_>>();
    let [xa, ma, sa] = [&a.values, &a.counted, &squares(&a.values)].map(|v| turned(v));
    let [xb, mb, sb] = [&b.values, &b.counted, &squares(&b.values)].map(|v| turned(v));
    let (n, ab) = (sums(&ma, &mb), sums(&xa, &xb));
    let (sum_a, sum_b, sq_a, sq_b) = (sums(&xa, &mb), sums(&ma, &xb), sums(&sa, &mb), sums(&ma, &sb));
    let least = LEAST_OVERLAP * a.counted.iter().sum::<f64>().min(b.counted.iter().sum());
    let whole =
        |values: &Grid| values.values.iter().map(|v| v * v).sum::<f64>() / values.counted.iter().sum::<f64>().max(1.0);
    let (all_a, all_b) = (whole(a), whole(b));
    let from = -(a.values.len() as i64) + 1;
    let lags = from..b.values.len() as i64;
    let at = |lag: i64| {
        let i = lag.rem_euclid(size as i64) as usize;
        let n = n[i];
        let (va, vb) = (sq_a[i] - sum_a[i] * sum_a[i] / n, sq_b[i] - sum_b[i] * sum_b[i] / n);
        let covariance = ab[i] - sum_a[i] * sum_b[i] / n;
        // Where one of them only rests, everything is alike.
        let moves = va > 0.01 * n * all_a && vb > 0.01 * n * all_b;
        let lag_s = (lag + b.first - a.first) as f64 * step;
        (n >= least.max(20.0) && moves).then(|| (lag_s, covariance / (va * vb).sqrt()))
    };
    lags.filter_map(at).collect()
}

/// The lag of the highest peak, if it stands out.
fn peak(correlation: &[(f64, f64)]) -> Result<f64, String> {
    let best = correlation.iter().enumerate().max_by(|a, b| a.1.1.total_cmp(&b.1.1));
    let Some((at, &(lag, height))) = best else {
        return Err("there is no structure to match: where both recorded, one of them hardly moves".into());
    };
    if height < LEAST_PEAK {
        return Err(format!(
            "the traces do not fit each other: the highest correlation is {height:.2}, less than {LEAST_PEAK}"
        ));
    }
    // The peak itself reaches down on either side to twice the height that another one may miss.
    let foot = height - 2.0 * NEXT_PEAK;
    let left = correlation[..at].iter().rposition(|c| c.1 < foot).map_or(0, |i| i + 1);
    let right = correlation[at..].iter().position(|c| c.1 < foot).map_or(correlation.len(), |i| at + i) - 1;
    if (right - left) as f64 > BROADEST * correlation.len() as f64 {
        let broad = correlation[right].0 - correlation[left].0;
        return Err(format!("there is no structure to match: every lag over {broad:.0} s fits as well"));
    }
    let elsewhere = correlation[..left].iter().chain(&correlation[right + 1..]).max_by(|a, b| a.1.total_cmp(&b.1));
    match elsewhere {
        Some((other, next)) if height - next < NEXT_PEAK => Err(format!(
            "two places fit: at {lag:.1} s the correlation is {height:.3}, and at {other:.1} s it is {next:.3}"
        )),
        _ => Ok(lag),
    }
}

struct Fine {
    lag: f64,
    rate: f64,
    rate_known: bool,
    middle: f64,
    cov: Matrix2<f64>,
    gain: f64,
    offset: f64,
}

/// Least squares for lag, rate, gain and offset: first(t) = gain x second(t + lag + rate x (t - middle)) + offset.
fn refine(x: &Trace<'_>, y: &Trace<'_>, lag: f64) -> Result<Fine, String> {
    // The sparser trace's records are points; the denser one's lines between records are closer to what was.
    let turned = x.step < y.step;
    let (points, lines, lag) = if turned { (y, x, -lag) } else { (x, y, lag) };
    let mut fine =
        Fine { lag, rate: 0.0, rate_known: false, middle: 0.0, cov: Matrix2::zeros(), gain: 1.0, offset: 0.0 };
    for round in 0..12 {
        let rows = rows(points, lines, &fine);
        if rows.len() < 20 {
            return Err("the traces share too few records".into());
        }
        // The rate turns about the middle of what moves.
        if round < 4 {
            let weight = |r: &Row| r.about * r.about;
            let total: f64 = rows.iter().map(weight).sum();
            fine.middle = rows.iter().map(|r| weight(r) * r.t).sum::<f64>() / total.max(1e-300);
        }
        let with_rate = round >= 6;
        fine.step(&rows, with_rate)?;
        if round == 6 && fine.cov[(1, 1)].sqrt() > RATE_SIGMA {
            fine.rate = 0.0;
            fine.rate_known = false;
            fine.step(&rows, false)?;
            break;
        }
        fine.rate_known = with_rate;
    }
    if (fine.lag - lag).abs() > 3.0 * points.step.max(lines.step) {
        return Err(format!("the peak at {lag:.2} s cannot be refined"));
    }
    // A trace between records, and a clock read to a record, are no truer than this.
    let least = (0.02 * lines.step).powi(2);
    fine.cov[(0, 0)] += least;
    if turned {
        // t' = t + lag + rate (t - middle), solved for t.
        let middle = fine.middle + fine.lag;
        (fine.lag, fine.rate, fine.middle) = (-fine.lag, -fine.rate / (1.0 + fine.rate), middle);
        (fine.gain, fine.offset) = (1.0 / fine.gain, -fine.offset / fine.gain);
    }
    Ok(fine)
}

/// One record and what the line says there.
struct Row {
    /// Slope of the record's neighbours.
    about: f64,
    t: f64,
    value: f64,
    line: f64,
    slope: f64,
}

fn rows(points: &Trace<'_>, lines: &Trace<'_>, fine: &Fine) -> Vec<Row> {
    let mut cursor = 0;
    let rows = (0..points.times.len()).filter_map(|i| {
        let (t, value, about) = (points.times[i], points.values[i], points.slopes[i]?);
        let (line, slope) = lines.mean(t + fine.lag + fine.rate * (t - fine.middle), points.step, &mut cursor)?;
        Some(Row { about, t, value, line, slope })
    });
    rows.collect()
}

impl Fine {
    /// One Gauss-Newton step, and the covariance of lag and rate from blocks of residuals.
    fn step(&mut self, rows: &[Row], with_rate: bool) -> Result<(), String> {
        let with = |slope: f64, r: &Row, line: f64| {
            let rate = if with_rate { slope * (r.t - self.middle) } else { 0.0 };
            Vector4::new(slope, rate, r.line - line, 1.0)
        };
        // Gain and offset follow from the lag at once; the sensors' zero is far from the values' middle.
        let n = rows.len() as f64;
        let mean = |f: &dyn Fn(&Row) -> f64| rows.iter().map(f).sum::<f64>() / n;
        let (line, value) = (mean(&|r| r.line), mean(&|r| r.value));
        let spread = mean(&|r| (r.line - line).powi(2));
        if spread <= 0.0 {
            return Err("there is no structure to match".into());
        }
        self.gain = mean(&|r| (r.line - line) * (r.value - value)) / spread;
        self.offset = value - self.gain * line;
        let residual = |r: &Row| r.value - self.gain * r.line - self.offset;
        let mut normal = Matrix4::zeros();
        let mut right = Vector4::zeros();
        for r in rows {
            let weight = with(r.about, r, line);
            normal += weight * with(self.gain * r.slope, r, line).transpose();
            right += weight * residual(r);
        }
        if !with_rate {
            normal[(1, 1)] = 1.0;
        }
        let inverse = normal.try_inverse().ok_or("there is no structure to match")?;
        let change = inverse * right;
        let mut meat = Matrix4::zeros();
        let chunks = || rows.chunks(rows.len().div_ceil(BLOCKS));
        for block in chunks() {
            let sum = block.iter().fold(Vector4::zeros(), |sum, r| sum + with(r.about, r, line) * residual(r));
            meat += sum * sum.transpose();
        }
        let lasting = lasting(rows, &residual, &|r| with(r.about, r, line));
        let blocks = BLOCKS as f64;
        let by_blocks = inverse * meat * inverse.transpose() * (blocks / (blocks - 4.0));
        let cov = inverse * lasting * inverse.transpose();
        // Of blocks that say unequally much, the sum of squares scatters as that of fewer equal ones does (F. E. Satterthwaite, An
        // Approximate Distribution of Estimates of Variance Components, Biometrics Bulletin 2, 1946): two deviations of it are chance.
        let says = |block: &[Row]| block.iter().map(|r| (inverse * with(r.about, r, line))[0].powi(2)).sum::<f64>();
        let (all, squares) = chunks().map(says).fold((0.0, 0.0), |sum, says| (sum.0 + says, sum.1 + says * says));
        let chance = 1.0 + 2.0 * (2.0 * squares).sqrt() / all;
        let cov = cov * (by_blocks[(0, 0)] / cov[(0, 0)] / chance).max(1.0);
        self.cov = cov.fixed_view::<2, 2>(0, 0).into_owned();
        self.lag += change[0];
        if with_rate {
            self.rate += change[1];
        }
        Ok(())
    }
}

/// The covariance of the weighed residuals' sum, if they are alike everywhere and last for some records (the weights of M. S.
/// Bartlett, Periodogram Analysis and Continuous Spectra, Biometrika 37, 1950).
fn lasting(rows: &[Row], residual: &dyn Fn(&Row) -> f64, weight: &dyn Fn(&Row) -> Vector4<f64>) -> Matrix4<f64> {
    let residuals: Vec<f64> = rows.iter().map(residual).collect();
    let weights: Vec<Vector4<f64>> = rows.iter().map(weight).collect();
    let n = rows.len();
    let mut sum = Matrix4::zeros();
    for k in 0..LASTING.min(n) {
        let pairs = || residuals.iter().zip(&residuals[k..]);
        let alike = pairs().map(|(a, b)| a * b).sum::<f64>() / n as f64 * (1.0 - k as f64 / LASTING as f64);
        let both = weights.iter().zip(&weights[k..]).map(|(a, b)| a * b.transpose()).sum::<Matrix4<f64>>() * alike;
        sum += if k == 0 { both } else { both + both.transpose() };
    }
    sum
}

//! The wind of a stretch of flight, from speeds on several headings: least squares (an air speed that reads wrong by a factor, or a compass
//! by an angle, is found along with it).

use super::wind::Aloft;
use nalgebra::{DMatrix, DVector};

/// A wind with its standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindFit {
    /// The wind.
    pub wind: Aloft,
    /// Standard deviation of its speed, in the unit of the speeds.
    pub speed_sigma: f64,
    /// Standard deviation of its direction, in degrees.
    pub from_sigma_deg: f64,
    /// True airspeed over the airspeed that was given.
    pub scale: f64,
    /// How much further right the heading points than it was given, in degrees; none where no track was.
    pub turned_deg: Option<f64>,
}

/// A direction in degrees and a speed.
pub type Way = (f64, f64);

/// The wind by which ways through the air became ways over the ground: `ground = turned and scaled air - wind`, a linear problem. The
/// samples are in the order of time; none of fewer than four, or where they leave it open.
pub fn wind_of_ways(samples: &[(Way, Way)]) -> Option<WindFit> {
    let rows = samples.iter().flat_map(|&(air, ground)| {
        let ((x, y), (e, n)) = (parts(air), parts(ground));
        // Scale times cosine and sine of the turn, then the wind's parts to where it comes from.
        [([x, y, -1.0, 0.0], e), ([y, -x, 0.0, -1.0], n)]
    });
    let (a, b): (Vec<[f64; 4]>, Vec<f64>) = rows.unzip();
    let matrix = DMatrix::from_fn(a.len(), 4, |i, j| a[i][j]);
    let (found, rest, inverse) = least_squares(&matrix, &DVector::from_vec(b))?;
    let variance = rest.norm_squared() / (rest.len().checked_sub(4).filter(|n| *n > 0)?) as f64 * lasting(&rest, 2);
    let part = |i: usize, j: usize| inverse[(i, j)] * variance;
    let [c, s, e, n] = [found[0], found[1], found[2], found[3]];
    let fit = with_sigmas((e, n), [part(2, 2), part(2, 3), part(3, 3)], c.hypot(s));
    Some(WindFit { turned_deg: Some(s.atan2(c).to_degrees()), ..fit })
}

/// The wind by which ways became mere speeds on the other side: `speed = |scale * way - wind|`, by Gauss and Newton. Ways through the air and
/// ground speeds give the wind in the heading's own north. The samples are in the order of time; none of fewer than four, or
/// where they leave it open.
pub fn wind_of_speeds(samples: &[(Way, f64)]) -> Option<WindFit> {
    let ways: Vec<((f64, f64), f64)> = samples.iter().map(|&(way, speed)| (parts(way), speed)).collect();
    let mut found = DVector::from_vec(vec![1.0, 0.0, 0.0]);
    let mut last = None;
    for _ in 0..30 {
        let at = |&((x, y), speed): &((f64, f64), f64)| {
            let (e, n) = (found[0] * x - found[1], found[0] * y - found[2]);
            let length = e.hypot(n).max(1e-9);
            ([(x * e + y * n) / length, -e / length, -n / length], speed - length)
        };
        let (rows, rest): (Vec<[f64; 3]>, Vec<f64>) = ways.iter().map(at).unzip();
        let matrix = DMatrix::from_fn(rows.len(), 3, |i, j| rows[i][j]);
        let rest = DVector::from_vec(rest);
        let (step, _, inverse) = least_squares(&matrix, &rest)?;
        let variance = rest.norm_squared() / (rest.len().checked_sub(3).filter(|n| *n > 0)?) as f64 * lasting(&rest, 1);
        last = Some((inverse, variance));
        found += &step;
        if step.norm() < 1e-9 {
            break;
        }
    }
    let (inverse, variance) = last?;
    let part = |i: usize, j: usize| inverse[(i, j)] * variance;
    let fit = with_sigmas((found[1], found[2]), [part(1, 1), part(1, 2), part(2, 2)], found[0]);
    (fit.wind.speed.is_finite() && fit.scale > 0.0).then_some(fit)
}

fn parts((deg, length): Way) -> (f64, f64) {
    let (sin, cos) = deg.to_radians().sin_cos();
    (length * sin, length * cos)
}

/// The solution, what it leaves, and the inverse of the normal matrix.
fn least_squares(matrix: &DMatrix<f64>, right: &DVector<f64>) -> Option<(DVector<f64>, DVector<f64>, DMatrix<f64>)> {
    let normal = matrix.transpose() * matrix;
    if !normal.iter().all(|v| v.is_finite()) {
        return None;
    }
    // On one heading rounding alone would tell what the records do not.
    let spread = normal.symmetric_eigenvalues();
    if spread.min() <= 1e-11 * spread.max() {
        return None;
    }
    let inverse = normal.try_inverse()?;
    let found = &inverse * (matrix.transpose() * right);
    let rest = right - matrix * &found;
    found.iter().all(|v| v.is_finite()).then_some((found, rest, inverse))
}

/// By how much a variance grows because what one sample is off by lasts into the next: `(1 + r) / (1 - r)` with the correlation `r` of neighbours
/// `apart` rows from one another (the variance of a mean of a first-order process; Box and Jenkins, from memory).
fn lasting(rest: &DVector<f64>, apart: usize) -> f64 {
    let all = rest.norm_squared();
    let pairs = (apart..rest.len()).map(|i| rest[i] * rest[i - apart]).sum::<f64>();
    let r = if all > 0.0 { (pairs / all).clamp(0.0, 0.99) } else { 0.0 };
    (1.0 + r) / (1.0 - r)
}

/// A wind from its parts, to where it comes from, with their covariance.
fn with_sigmas((e, n): (f64, f64), [ee, en, nn]: [f64; 3], scale: f64) -> WindFit {
    let speed = e.hypot(n);
    let (x, y) = if speed > 0.0 { (e / speed, n / speed) } else { (0.0, 1.0) };
    let along = (x * x * ee + 2.0 * x * y * en + y * y * nn).max(0.0).sqrt();
    let across = (y * y * ee - 2.0 * x * y * en + x * x * nn).max(0.0).sqrt();
    WindFit {
        wind: Aloft { from_deg: e.atan2(n).to_degrees().rem_euclid(360.0), speed },
        speed_sigma: along,
        from_sigma_deg: across.atan2(speed).to_degrees(),
        scale,
        turned_deg: None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::wind::ground;
    use super::*;

    /// On headings all round, an airspeed that reads 4 % low and a compass 7 degrees to the left.
    fn flown(wind: Aloft) -> Vec<(Way, Way)> {
        let sample = |i: u32| {
            let (heading, speed) = (f64::from(i) * 10.0, 80.0 + f64::from(i % 5));
            ((heading - 7.0, speed / 1.04), ground(heading, speed, wind))
        };
        (0..36).map(sample).collect()
    }

    #[test]
    fn both_ways_find_the_wind_and_what_reads_wrong() {
        let wind = Aloft { from_deg: 330.0, speed: 17.0 };
        let ways = flown(wind);
        let fit = wind_of_ways(&ways).expect("a fit");
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-6, "{a}, expected {b}");
        near(fit.wind.from_deg, 330.0);
        near(fit.wind.speed, 17.0);
        near(fit.scale, 1.04);
        near(fit.turned_deg.expect("a turn"), 7.0);
        let speeds: Vec<(Way, f64)> = ways.iter().map(|&((heading, kt), (_, gs))| ((heading, kt), gs)).collect();
        let fit = wind_of_speeds(&speeds).expect("a fit");
        // Without a track the wind is told in the compass's own north.
        near(fit.wind.from_deg, 323.0);
        near(fit.wind.speed, 17.0);
        near(fit.scale, 1.04);
    }

    #[test]
    fn one_heading_leaves_it_open() {
        let same: Vec<(Way, Way)> = (0..20).map(|_| ((40.0, 80.0), (42.0, 70.0))).collect();
        assert_eq!(wind_of_ways(&same), None);
        let speeds: Vec<(Way, f64)> = same.iter().map(|it| (it.0, it.1.1)).collect();
        assert_eq!(wind_of_speeds(&speeds), None);
    }

    /// Sigma is honest: of 300 flights with gusts that last, two sigma hold between 90 and 99 of a hundred.
    #[test]
    fn sigma_holds_the_truth() {
        let mut seed = 7u64;
        let mut noise = || {
            let mut sum = 0.0;
            for _ in 0..12 {
                seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                sum += (seed >> 11) as f64 / (1u64 << 53) as f64;
            }
            sum - 6.0
        };
        let wind = Aloft { from_deg: 200.0, speed: 12.0 };
        let (mut by_ways, mut by_speeds) = (0, 0);
        for _ in 0..300 {
            let (mut gust, mut other) = (0.0, 0.0);
            let sample = |i: u32| {
                let heading = f64::from(i / 60) * 90.0;
                (gust, other) = (0.8 * gust + 0.6 * noise(), 0.8 * other + 0.6 * noise());
                let (track, speed) = ground(heading, 80.0, wind);
                ((heading, 80.0 + gust), (track + other, speed))
            };
            let ways: Vec<(Way, Way)> = (0..240).map(sample).collect();
            let within = |fit: WindFit| usize::from((fit.wind.speed - 12.0).abs() < 2.0 * fit.speed_sigma);
            by_ways += within(wind_of_ways(&ways).expect("a fit"));
            let speeds: Vec<(Way, f64)> = ways.iter().map(|it| (it.0, it.1.1)).collect();
            by_speeds += within(wind_of_speeds(&speeds).expect("a fit"));
        }
        assert!((270..=299).contains(&by_ways) && (270..=299).contains(&by_speeds), "{by_ways} {by_speeds} of 300");
    }
}

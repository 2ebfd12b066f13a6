//! A quantity over time as keys with smooth steps between them: value, slope and integral in closed form.

/// Keys `(time, value)`, times rising. Between two keys the cubic 3u^2 - 2u^3, which is level at both; before the first
/// and after the last, their values.
#[derive(Debug, Clone)]
pub(super) struct Curve {
    keys: Vec<(f64, f64)>,
    /// Integral from the first key to each key.
    areas: Vec<f64>,
}

impl Curve {
    /// A curve through at least one key.
    pub fn new(keys: Vec<(f64, f64)>) -> Self {
        debug_assert!(keys.windows(2).all(|pair| pair[0].0 < pair[1].0), "times must rise: {keys:?}");
        let mut areas = vec![0.0];
        for pair in keys.windows(2) {
            let last = areas[areas.len() - 1];
            areas.push(last + 0.5 * (pair[0].1 + pair[1].1) * (pair[1].0 - pair[0].0));
        }
        Self { keys, areas }
    }

    /// The step that holds `t`: index of its first key, how far into it (0 to 1), its length and rise. Outside, the key at
    /// that end.
    fn step(&self, t: f64) -> Result<(usize, f64, f64, f64), usize> {
        let after = self.keys.partition_point(|key| key.0 <= t);
        if after == 0 || after == self.keys.len() {
            return Err(after.saturating_sub(1));
        }
        let ((t0, v0), (t1, v1)) = (self.keys[after - 1], self.keys[after]);
        Ok((after - 1, (t - t0) / (t1 - t0), t1 - t0, v1 - v0))
    }

    /// The value at `t`.
    pub fn at(&self, t: f64) -> f64 {
        match self.step(t) {
            Ok((i, u, _, rise)) => self.keys[i].1 + rise * u * u * (3.0 - 2.0 * u),
            Err(end) => self.keys[end].1,
        }
    }

    /// The slope at `t`, per second.
    pub fn slope(&self, t: f64) -> f64 {
        self.step(t).map_or(0.0, |(_, u, length, rise)| 6.0 * rise * u * (1.0 - u) / length)
    }

    /// The integral from the first key to `t`, in the value's unit times seconds.
    pub fn area(&self, t: f64) -> f64 {
        match self.step(t) {
            Ok((i, u, length, rise)) => {
                self.areas[i] + length * (self.keys[i].1 * u + rise * u * u * u * (1.0 - 0.5 * u))
            }
            Err(end) => self.areas[end] + self.keys[end].1 * (t - self.keys[end].0),
        }
    }
}

/// Where `f` passes through zero between `a` and `b`, at which it has different signs; by halving, to a microsecond.
pub(super) fn crossing(f: impl Fn(f64) -> f64, a: f64, b: f64) -> f64 {
    let (mut a, mut b, rising) = (a, b, f(b) > 0.0);
    while b - a > 1e-6 {
        let middle = 0.5 * (a + b);
        if (f(middle) > 0.0) == rising { b = middle } else { a = middle }
    }
    0.5 * (a + b)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Slope and integral are checked against differences and sums of the value alone.
    #[test]
    fn slope_and_area_belong_to_the_value() {
        let curve = Curve::new(vec![(1.0, 2.0), (3.0, -1.0), (4.0, -1.0), (9.0, 6.5)]);
        let (step, mut sum) = (1e-3, -2.0);
        for i in 0..10_000 {
            let t = f64::from(i) * step;
            assert!((curve.area(t) - sum).abs() < 1e-5, "area at {t}: {} {sum}", curve.area(t));
            let slope = (curve.at(t + 1e-6) - curve.at(t - 1e-6)) / 2e-6;
            assert!((curve.slope(t) - slope).abs() < 1e-4, "slope at {t}");
            sum += step * curve.at(t + 0.5 * step);
        }
        assert_eq!((curve.at(0.0), curve.at(3.5), curve.at(20.0)), (2.0, -1.0, 6.5));
    }

    #[test]
    fn crossings_of_rising_and_falling_values() {
        assert!((crossing(|t| t * t - 2.0, 0.0, 2.0) - 2_f64.sqrt()).abs() < 1e-6);
        assert!((crossing(|t| 1.5 - t, 0.0, 2.0) - 1.5).abs() < 1e-6);
    }
}

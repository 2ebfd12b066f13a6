//! Cross-correlation of evenly spaced samples over every shift at once.

use realfft::RealFftPlanner;

/// Sums of `a[i] * b[i + shift]` for every shift from `1 - a.len()` to `b.len() - 1`, what lies outside counting as nothing.
pub fn cross_correlation(a: &[f64], b: &[f64]) -> Vec<f64> {
    if a.is_empty() || b.is_empty() {
        return Vec::new();
    }
    let all = a.len() + b.len() - 1;
    let length = all.next_power_of_two();
    let mut planner = RealFftPlanner::new();
    let (forward, back) = (planner.plan_fft_forward(length), planner.plan_fft_inverse(length));
    let spectrum = |samples: &mut dyn Iterator<Item = f64>| {
        let mut input = forward.make_input_vec();
        input.iter_mut().zip(samples).for_each(|(to, from)| *to = from);
        let mut output = forward.make_output_vec();
        // The lengths are the plan's own, so that it has nothing to refuse.
        let _ = forward.process(&mut input, &mut output);
        output
    };
    let turned = spectrum(&mut a.iter().rev().copied());
    let mut product = spectrum(&mut b.iter().copied());
    product.iter_mut().zip(&turned).for_each(|(to, by)| *to *= by);
    let mut sums = back.make_output_vec();
    // Rounding leaves the two ends not quite real, and the plan says so after it is done.
    let _ = back.process(&mut product, &mut sums);
    sums.truncate(all);
    sums.iter_mut().for_each(|sum| *sum /= length as f64);
    sums
}

#[cfg(test)]
mod tests {
    use super::*;

    proptest::proptest! {
        #[test]
        fn it_is_the_sum_of_products(a in proptest::collection::vec(-9.0f64..9.0, 1..40),
                                     b in proptest::collection::vec(-9.0f64..9.0, 1..40)) {
            let sums = cross_correlation(&a, &b);
            proptest::prop_assert_eq!(sums.len(), a.len() + b.len() - 1);
            for (n, sum) in sums.iter().enumerate() {
                let shift = n as isize + 1 - a.len() as isize;
                let at = |i: usize| b.get(usize::try_from(i as isize + shift).ok()?);
                let plain: f64 = a.iter().enumerate().filter_map(|(i, a)| Some(a * at(i)?)).sum();
                proptest::prop_assert!((sum - plain).abs() < 1e-9, "{} {} at {}", sum, plain, shift);
            }
        }
    }
}

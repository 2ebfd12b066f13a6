//! What a limit is held against where that is not the channel itself: its rise, or its median.

use super::said::Said;
use crate::panel::Limit;

/// What a limit is held against: the channel's records, how much each lies above the one of some seconds before, or the median
/// of those seconds.
pub(super) fn limited(limit: &Limit, steps: Vec<(f64, Said)>) -> Vec<(f64, Said)> {
    match (limit.over_s, limit.median_s) {
        (Some(over_s), _) => rises(over_s, &steps),
        (None, Some(median_s)) => medians(median_s, &steps),
        (None, None) => steps,
    }
}

/// Where data are missing between two records, how much one lies above the other is not known.
fn rises(over_s: f64, steps: &[(f64, Said)]) -> Vec<(f64, Said)> {
    let mut before = 0;
    let mut gap_after: Option<usize> = None;
    let mut rises = Vec::with_capacity(steps.len());
    for (i, &(time, said)) in steps.iter().enumerate() {
        let Said::Value(value) = said else {
            gap_after = Some(i);
            rises.push((time, said));
            continue;
        };
        while steps.get(before + 1).is_some_and(|step| step.0 <= time - over_s + 1e-9) {
            before += 1;
        }
        let old_enough = steps[before].0 <= time - over_s + 1e-9;
        let rise = match steps[before].1 {
            Said::Value(old) if old_enough && gap_after.is_none_or(|gap| gap < before) => Said::Value(value - old),
            _ => Said::Invalid,
        };
        rises.push((time, rise));
    }
    rises
}

/// The median of the records of the last seconds, as many as there are since the last gap.
fn medians(over_s: f64, steps: &[(f64, Said)]) -> Vec<(f64, Said)> {
    let mut window: std::collections::VecDeque<(f64, f64)> = std::collections::VecDeque::new();
    let mut sorted: Vec<f64> = Vec::new();
    let median = |&(time, said): &(f64, Said)| {
        let Said::Value(value) = said else {
            window.clear();
            sorted.clear();
            return (time, said);
        };
        while let Some((_, old)) = window.front().copied().filter(|oldest| oldest.0 <= time - over_s) {
            window.pop_front();
            sorted.remove(sorted.partition_point(|v| *v < old).min(sorted.len() - 1));
        }
        window.push_back((time, value));
        sorted.insert(sorted.partition_point(|v| *v < value), value);
        (time, sorted.get(sorted.len() / 2).map_or(said, |middle| Said::Value(*middle)))
    };
    steps.iter().map(median).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rise_is_taken_over_its_seconds_and_not_across_a_gap() {
        let limit = Limit { over_s: Some(2.0), ..Limit::bare("t", 5.0, false) };
        let said = [Said::Value(10.0), Said::Value(11.0), Said::Value(14.0), Said::Stale, Said::Value(20.0)];
        let mut steps: Vec<(f64, Said)> = said.into_iter().enumerate().map(|(i, s)| (i as f64, s)).collect();
        steps.extend([(5.0, Said::Value(21.0)), (6.0, Said::Value(27.0))]);
        let found: Vec<Said> = limited(&limit, steps).into_iter().map(|step| step.1).collect();
        use Said::{Invalid, Stale, Value};
        assert_eq!(found, [Invalid, Invalid, Value(4.0), Stale, Invalid, Invalid, Value(7.0)]);
    }

    #[test]
    fn a_median_follows_the_level_and_not_the_slosh() {
        let limit = Limit { median_s: Some(3.0), ..Limit::bare("fuel", 4.0, true) };
        let values = [5.0, 1.0, 5.0, 5.0, 9.0, 3.0, 3.0];
        let steps = values.iter().enumerate().map(|(i, v)| (i as f64, Said::Value(*v))).collect();
        let found: Vec<Said> = limited(&limit, steps).into_iter().map(|step| step.1).collect();
        assert_eq!(found, [5.0, 5.0, 5.0, 5.0, 5.0, 5.0, 3.0].map(Said::Value));
    }
}

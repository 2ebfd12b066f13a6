//! Limits on how fast a channel changes.

use super::said::Said;
use crate::panel::Limit;

/// What a limit is held against: the channel's records, or of a limit over some seconds, how much each record lies above the
/// one of so long before. Where data are missing between the two that is not known.
pub(super) fn limited(limit: &Limit, steps: Vec<(f64, Said)>) -> Vec<(f64, Said)> {
    let Some(over_s) = limit.over_s else { return steps };
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rise_is_taken_over_its_seconds_and_not_across_a_gap() {
        let limit = Limit { over_s: Some(2.0), ..Limit::bare("t", 5.0, false) };
        let said = [Said::Value(10.0), Said::Value(11.0), Said::Value(14.0), Said::Stale, Said::Value(20.0)];
        let mut steps: Vec<(f64, Said)> = said.into_iter().enumerate().map(|(i, s)| (i as f64, s)).collect();
        steps.extend([(5.0, Said::Value(21.0)), (6.0, Said::Value(27.0))]);
        let rises: Vec<Said> = limited(&limit, steps).into_iter().map(|step| step.1).collect();
        use Said::{Invalid, Stale, Value};
        assert_eq!(rises, [Invalid, Invalid, Value(4.0), Stale, Invalid, Invalid, Value(7.0)]);
    }
}

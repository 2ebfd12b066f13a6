//! A condition over a flight: when what the owner asks for holds.

use super::said::Said;
use super::timeline::Timeline;
use crate::panel::{Bound, Condition};

/// When every bound holds; `steps` gives the records of a channel.
///
/// A bound holds as soon as every record of its last `seconds` lies within it, and until the first one that lies outside by
/// `clear_by`, or until the data end. What is not known does not hold.
pub(super) fn judge(condition: &Condition, steps: impl Fn(&str) -> Vec<(f64, Said)>) -> Timeline<bool> {
    let lines: Vec<Timeline<bool>> =
        condition.all.iter().map(|bound| of_bound(bound, &steps(&bound.channel))).collect();
    let mut times: Vec<f64> = lines.iter().flat_map(Timeline::turns).map(|turn| turn.0).collect();
    times.sort_by(f64::total_cmp);
    let mut all = Timeline::new(false);
    for time in times {
        all.turn(time, lines.iter().all(|line| line.at(time)));
    }
    all
}

fn of_bound(bound: &Bound, steps: &[(f64, Said)]) -> Timeline<bool> {
    let mut line = Timeline::new(false);
    let mut since: Option<f64> = None;
    let mut on = false;
    for (i, &(time, said)) in steps.iter().enumerate() {
        let end = steps.get(i + 1).map_or(f64::INFINITY, |next| next.0);
        let holds = match said {
            Said::Value(value) => bound.holds(value, if on { bound.clear_by } else { 0.0 }),
            Said::Stale | Said::Invalid => false,
        };
        if !holds {
            (on, since) = (false, None);
            line.turn(time, false);
            continue;
        }
        let due = *since.get_or_insert(time) + bound.seconds;
        if due < end {
            on = true;
            line.turn(due.max(time), true);
        }
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bound(seconds: f64, clear_by: f64) -> Bound {
        Bound { channel: "a".into(), above: Some(40.0), below: Some(60.0), seconds, clear_by }
    }

    fn steps(values: &[f64]) -> Vec<(f64, Said)> {
        values.iter().enumerate().map(|(i, &v)| (i as f64, Said::Value(v))).collect()
    }

    fn found(bound: &Bound, values: &[f64]) -> Vec<bool> {
        let line = of_bound(bound, &steps(values));
        (0..values.len()).map(|i| line.at(i as f64)).collect()
    }

    #[test]
    fn it_holds_after_its_time_and_until_it_has_cleared() {
        let values = [30.0, 50.0, 50.0, 50.0, 38.0, 34.0, 50.0];
        assert_eq!(found(&bound(0.0, 0.0), &values), [false, true, true, true, false, false, true]);
        assert_eq!(found(&bound(2.0, 5.0), &values), [false, false, false, true, true, false, false]);
        assert_eq!(found(&bound(0.0, 0.0), &[40.0, 60.0, 59.9]), [false, false, true], "the ends are outside");
    }

    #[test]
    fn what_is_not_known_does_not_hold_and_all_must() {
        let mut broken = steps(&[50.0; 4]);
        broken[2].1 = Said::Stale;
        let line = of_bound(&bound(0.0, 0.0), &broken);
        assert_eq!([0.0, 1.0, 2.0, 3.0].map(|t| line.at(t)), [true, true, false, true]);
        let two = Condition { all: vec![bound(0.0, 0.0), Bound { channel: "b".into(), ..bound(0.0, 0.0) }] };
        let all = judge(&two, |name| steps(if name == "a" { &[50.0, 50.0, 0.0] } else { &[0.0, 50.0, 50.0] }));
        assert_eq!([0.0, 1.0, 2.0].map(|t| all.at(t)), [false, true, false]);
        let nothing = judge(&two, |name| if name == "a" { steps(&[50.0; 3]) } else { Vec::new() });
        assert!(!nothing.at(1.0), "a channel that no log has");
    }
}

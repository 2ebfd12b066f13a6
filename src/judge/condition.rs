//! A condition over a flight: when what the owner asks for holds.

use super::said::Said;
use super::timeline::Timeline;
use crate::panel::{Bound, Condition, EngineState, Phase};

/// What a condition may ask about, over the flight.
#[derive(Clone, Copy)]
pub(super) struct Asked<'a, F: Fn(&str) -> Vec<(f64, Said)>> {
    /// The records of a channel.
    pub steps: F,
    pub phases: &'a Timeline<Phase>,
    pub engine: &'a Timeline<EngineState>,
}

impl<F: Fn(&str) -> Vec<(f64, Said)>> Asked<'_, F> {
    /// Whether all of a condition holds, where that is known: what is certain to fail is certain whatever the rest says.
    ///
    /// A bound holds as soon as every record of its last `seconds` lies within it, and until the first one that lies outside by
    /// `clear_by`, or until the data end.
    pub fn judge(&self, condition: &Condition) -> Timeline<Option<bool>> {
        let mut lines: Vec<Timeline<Option<bool>>> =
            condition.all.iter().map(|bound| of_bound(bound, &(self.steps)(&bound.channel))).collect();
        if !condition.phases.is_empty() {
            let holds = |phase| (phase != Phase::NotJudged).then(|| condition.phases.contains(&phase));
            lines.push(self.phases.map(holds));
        }
        if !condition.engine.is_empty() {
            let holds = |state| (state != EngineState::NotJudged).then(|| condition.engine.contains(&state));
            lines.push(self.engine.map(holds));
        }
        let mut times: Vec<f64> = lines.iter().flat_map(Timeline::turns).map(|turn| turn.0).collect();
        times.sort_by(f64::total_cmp);
        times.dedup();
        let together = |time: f64| {
            let mut known = Some(true);
            for line in &lines {
                match line.at(time) {
                    Some(false) => return Some(false),
                    None => known = None,
                    Some(true) => {}
                }
            }
            known
        };
        let mut all = Timeline::new(together(f64::NEG_INFINITY));
        for time in times {
            all.turn(time, together(time));
        }
        all
    }

    /// The same for what is shown: what is not known does not hold.
    pub fn holds(&self, condition: &Condition) -> Timeline<bool> {
        self.judge(condition).map(|known| known == Some(true))
    }
}

fn of_bound(bound: &Bound, steps: &[(f64, Said)]) -> Timeline<Option<bool>> {
    let mut line = Timeline::new(None);
    let mut since: Option<f64> = None;
    let mut on = false;
    for (i, &(time, said)) in steps.iter().enumerate() {
        let end = steps.get(i + 1).map_or(f64::INFINITY, |next| next.0);
        let Said::Value(value) = said else {
            (on, since) = (false, None);
            line.turn(time, None);
            continue;
        };
        if !bound.holds(value, if on { bound.clear_by } else { 0.0 }) {
            (on, since) = (false, None);
            line.turn(time, Some(false));
            continue;
        }
        let due = *since.get_or_insert(time) + bound.seconds;
        if !on && due > time {
            line.turn(time, Some(false));
        }
        if due < end {
            on = true;
            line.turn(due.max(time), Some(true));
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
        (0..values.len()).map(|i| line.at(i as f64) == Some(true)).collect()
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
        assert_eq!([0.0, 1.0, 2.0, 3.0].map(|t| line.at(t)), [Some(true), Some(true), None, Some(true)]);
        let all = vec![bound(0.0, 0.0), Bound { channel: "b".into(), ..bound(0.0, 0.0) }];
        let two = Condition { all, ..Condition::default() };
        let (phases, engine) = (Timeline::new(Phase::NotJudged), Timeline::new(EngineState::NotJudged));
        let asked = |records: fn(&str) -> Vec<(f64, Said)>| Asked { steps: records, phases: &phases, engine: &engine };
        let both = asked(|name| steps(if name == "a" { &[50.0, 50.0, 0.0] } else { &[0.0, 50.0, 50.0] }));
        assert_eq!([0.0, 1.0, 2.0].map(|t| both.holds(&two).at(t)), [false, true, false]);
        let one = asked(|name| if name == "a" { steps(&[50.0, 0.0, 50.0]) } else { Vec::new() });
        let found = one.judge(&two);
        assert_eq!([0.0, 1.0, 2.0].map(|t| found.at(t)), [None, Some(false), None], "a channel that no log has");
    }
}

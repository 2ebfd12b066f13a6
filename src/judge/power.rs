//! Which of a rotor's two sets of limits is in force: that of the drive's state.

use super::Drive;
use super::said::Said;
use super::timeline::Timeline;
use crate::panel::{Limit, Power};

/// When a limit counts.
pub(super) enum InForce<'a> {
    /// Whatever the drive does.
    Always,
    /// In one state of the drive.
    With {
        power: Power,
        drive: &'a Timeline<Drive>,
        /// The limits on the same side of the other set.
        others: Vec<&'a Limit>,
    },
}

/// What a value says of a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Verdict {
    Inside,
    Passed,
    /// The other set of limits is in force.
    NotInForce,
    /// That hangs on the drive, of which nothing is known.
    Unknown,
}

impl InForce<'_> {
    /// What a value at a session time says; one that is inside by less than `by` still counts as passed.
    ///
    /// While the drive is not known, only what lies outside both sets is certain.
    pub fn verdict(&self, limit: &Limit, time_s: f64, value: f64, by: f64) -> Verdict {
        let passed = limit.is_passed(value, by);
        let certain = if passed { Verdict::Passed } else { Verdict::Inside };
        let Self::With { power, drive, others } = self else { return certain };
        match drive.at(time_s).power() {
            Some(other) if other != *power => Verdict::NotInForce,
            None if passed && !others.iter().any(|other| other.is_passed(value, 0.0)) => Verdict::Unknown,
            _ => certain,
        }
    }

    /// A channel's steps, cut wherever the drive changes.
    pub fn cut(&self, steps: Vec<(f64, Said)>) -> Vec<(f64, Said)> {
        let Self::With { drive, .. } = self else { return steps };
        let mut turns = drive.turns().iter().map(|turn| turn.0).peekable();
        let mut cut: Vec<(f64, Said)> = Vec::with_capacity(steps.len());
        for step in steps {
            while let Some(turn) = turns.next_if(|turn| *turn <= step.0) {
                if let Some(before) = cut.last().copied().filter(|before| before.0 < turn && turn < step.0) {
                    cut.push((turn, before.1));
                }
            }
            cut.push(step);
        }
        if let Some(last) = cut.last().copied() {
            cut.extend(turns.filter(|turn| *turn > last.0).map(|turn| (turn, last.1)));
        }
        cut
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::alert::{self, AlertState};
    use crate::panel::Severity;

    /// Below 95 with power on, below 90 with power off.
    fn limit(power: Power, value: f64) -> Limit {
        Limit {
            name: String::new(),
            channel: "rotor".into(),
            value,
            is_minimum: true,
            power: Some(power),
            seconds: 0.0,
            clear_by: 0.0,
            armed_by: None,
            severity: Severity::Warning,
            subject: String::new(),
            word: String::new(),
            source: String::new(),
        }
    }

    /// Both alerts over a rotor and a drive that change every second.
    fn judged(rotor: &[f64], drives: &[Drive]) -> Vec<[AlertState; 2]> {
        let limits = [limit(Power::On, 95.0), limit(Power::Off, 90.0)];
        let mut drive = Timeline::new(Drive::NotJudged);
        // In the middle between two records, so that the drive alone changes there.
        drives.iter().enumerate().for_each(|(i, state)| drive.turn(i as f64 - 0.5, *state));
        let steps: Vec<(f64, Said)> = rotor.iter().enumerate().map(|(i, &v)| (i as f64, Said::Value(v))).collect();
        let lines = limits.each_ref().map(|limit| {
            let others = limits.iter().filter(|other| other.is_counterpart_of(limit)).collect();
            let in_force = InForce::With { power: limit.power.unwrap(), drive: &drive, others };
            alert::judge(limit, &in_force, &in_force.cut(steps.clone()))
        });
        (0..rotor.len()).map(|i| lines.each_ref().map(|line| line.at(i as f64))).collect()
    }

    #[test]
    fn each_set_counts_in_its_own_state_of_the_drive() {
        use AlertState::{Off, On, Unknown, Waiting};
        use Drive::{Apart, NotJudged, RotorAhead, Slipping, Together};
        let rotor = [100.0, 92.0, 92.0, 88.0, 92.0, 88.0, 97.0, 92.0, 88.0, 92.0];
        let drive =
            [Together, Together, RotorAhead, RotorAhead, Apart, NotJudged, Apart, Slipping, Together, NotJudged];
        let expected = [
            [Off, Waiting],
            [On, Waiting],
            [Waiting, Off],
            [Waiting, On],
            [Unknown, Off],
            [On, On],
            [Off, Off],
            [Unknown, Off],
            [On, Waiting],
            [Unknown, Off],
        ];
        assert_eq!(judged(&rotor, &drive), expected);
    }

    #[test]
    fn a_change_of_the_drive_counts_between_two_records() {
        let mut drive = Timeline::new(Drive::Together);
        drive.turn(4.25, Drive::RotorAhead);
        let on = limit(Power::On, 95.0);
        let in_force = InForce::With { power: Power::On, drive: &drive, others: Vec::new() };
        let steps = vec![(0.0, Said::Value(92.0)), (10.0, Said::Value(92.0))];
        let line = alert::judge(&on, &in_force, &in_force.cut(steps));
        assert_eq!(line.turns(), [(0.0, AlertState::On), (4.25, AlertState::Waiting)]);
    }
}

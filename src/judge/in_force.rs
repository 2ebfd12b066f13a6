//! When a limit counts, and where it stands: by the drive's state, by another channel, by what the owner asks for.

use super::Drive;
use super::said::Said;
use super::timeline::Timeline;
use crate::panel::{Limit, Power};

/// When a limit counts, and where it stands.
pub(super) struct InForce<'a> {
    pub limit: &'a Limit,
    /// Of a rotor's limit that counts in one state of the drive: which.
    pub by_drive: Option<ByDrive<'a>>,
    /// Where it stands, if that depends on another channel; none where that channel does not say.
    pub along: Option<Timeline<Option<f64>>>,
    /// Whether what the owner asks for holds, where that is known.
    pub only: Option<Timeline<Option<bool>>>,
    /// Whether it has been armed and not been disarmed since.
    pub armed: Option<Timeline<bool>>,
}

/// The rotor's two sets of limits.
pub(super) struct ByDrive<'a> {
    pub power: Power,
    pub drive: &'a Timeline<Drive>,
    /// The limits on the same side of the other set.
    pub others: Vec<&'a Limit>,
}

/// What a value says of a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Verdict {
    Inside,
    Passed,
    /// It does not count now.
    NotInForce,
    /// There is no telling.
    Unknown,
}

impl<'a> InForce<'a> {
    /// A limit that counts whatever happens.
    #[cfg(test)]
    pub const fn always(limit: &'a Limit) -> Self {
        Self { limit, by_drive: None, along: None, only: None, armed: None }
    }

    /// Where the limit stands at a session time.
    pub fn bound(&self, time_s: f64) -> Option<f64> {
        self.along.as_ref().map_or(Some(self.limit.value), |line| line.at(time_s))
    }

    /// What a value at a session time says; one that is inside by less than `by` still counts as passed.
    ///
    /// While the drive is not known, only what lies outside both sets is certain; while it is not known whether the owner's
    /// condition holds, only what lies inside. Nothing that is missing takes a limit out of force.
    pub fn verdict(&self, time_s: f64, value: f64, by: f64) -> Verdict {
        if self.armed.as_ref().is_some_and(|armed| !armed.at(time_s)) {
            return Verdict::NotInForce;
        }
        let wanted = self.only.as_ref().map_or(Some(true), |only| only.at(time_s));
        if wanted == Some(false) {
            return Verdict::NotInForce;
        }
        let Some(bound) = self.bound(time_s) else { return Verdict::Unknown };
        let passed = self.limit.is_beyond(value, bound, by);
        let certain = if passed { Verdict::Passed } else { Verdict::Inside };
        if passed && wanted.is_none() {
            return Verdict::Unknown;
        }
        let Some(ByDrive { power, drive, others }) = &self.by_drive else { return certain };
        match drive.at(time_s).power() {
            Some(other) if other != *power => Verdict::NotInForce,
            None if passed && !others.iter().any(|o| o.along.is_none() && o.is_passed(value, 0.0)) => Verdict::Unknown,
            _ => certain,
        }
    }

    /// A channel's steps, cut wherever something changes on which the limit depends.
    pub fn cut(&self, steps: Vec<(f64, Said)>) -> Vec<(f64, Said)> {
        let mut turns: Vec<f64> = Vec::new();
        turns.extend(self.by_drive.iter().flat_map(|by| by.drive.turns()).map(|turn| turn.0));
        turns.extend(self.along.iter().flat_map(Timeline::turns).map(|turn| turn.0));
        turns.extend(self.only.iter().flat_map(Timeline::turns).map(|turn| turn.0));
        turns.extend(self.armed.iter().flat_map(Timeline::turns).map(|turn| turn.0));
        if turns.is_empty() {
            return steps;
        }
        turns.sort_by(f64::total_cmp);
        turns.dedup();
        let mut turns = turns.into_iter().peekable();
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

    /// Below 95 with power on, below 90 with power off.
    fn limit(power: Power, value: f64) -> Limit {
        Limit { power: Some(power), ..Limit::bare("rotor", value, true) }
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
            let by_drive = Some(ByDrive { power: limit.power.unwrap(), drive: &drive, others });
            let in_force = InForce { by_drive, ..InForce::always(limit) };
            alert::judge(&in_force, &in_force.cut(steps.clone()))
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
        let by_drive = Some(ByDrive { power: Power::On, drive: &drive, others: Vec::new() });
        let in_force = InForce { by_drive, ..InForce::always(&on) };
        let steps = vec![(0.0, Said::Value(92.0)), (10.0, Said::Value(92.0))];
        let line = alert::judge(&in_force, &in_force.cut(steps));
        assert_eq!(line.turns(), [(0.0, AlertState::On), (4.25, AlertState::Waiting)]);
    }
}

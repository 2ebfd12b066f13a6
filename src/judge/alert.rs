//! One limit over a channel: when the owner's rule says that it is passed.

use super::in_force::{InForce, Verdict};
use super::said::Said;
use super::timeline::Timeline;
use crate::panel::{Arming, Limit};

/// What a computed alert says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AlertState {
    /// The limit is not passed.
    Off,
    /// Off by the rule's own patience: not armed, passed for less than its minimum time, or not in force now, as the rotor's other
    /// set of limits. Nothing to hold against a lamp.
    Waiting,
    /// The limit is passed.
    On,
    /// There is no telling: the input is stale, invalid or not there.
    Unknown,
    /// The same, and it was on when the input ended.
    Lost {
        /// Session time of the last record, in seconds.
        last_s: f64,
    },
}

/// For how long a limit has been passed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passed {
    /// Session time at which its minimum time began to run, in seconds.
    pub from_s: f64,
    /// Whether it may have been passed before, or not all the time: nobody knows, for the data had a gap.
    pub at_least: bool,
}

/// Since when a limit has been passed that is passed at a session time, in seconds; nothing of one that is not. An excess
/// that a gap interrupts is one and the same.
pub fn passed_since(limit: &Limit, line: &Timeline<AlertState>, time_s: f64) -> Option<Passed> {
    let turns = line.turns().get(..line.turns().partition_point(|turn| turn.0 <= time_s))?;
    let is_on = |i: usize| turns.get(i).is_some_and(|turn| turn.1 == AlertState::On);
    let mut start = turns.len().checked_sub(1).filter(|&i| is_on(i))?;
    let mut at_least = false;
    while let Some(before) = start.checked_sub(2).filter(|&i| is_on(i))
        && matches!(turns[start - 1].1, AlertState::Lost { .. })
    {
        (start, at_least) = (before, true);
    }
    let from_s = turns[start].0 - limit.seconds;
    // While its minimum time runs an alert waits; before that something was known of the value, or not.
    let known = turns[..start].iter().rev().find(|turn| turn.0 < from_s - 1e-9).map(|turn| turn.1);
    at_least |= !matches!(known, Some(AlertState::Off | AlertState::Waiting | AlertState::On));
    Some(Passed { from_s, at_least })
}

/// Judges by the rule of the limit, exactly on the records:
///
/// - on, as soon as every record of the last `seconds` has passed the limit without a break in the data; a value further
///   beyond, of `sooner`, after its own shorter time;
/// - off again at the first record that is back inside by `clear_by`; never of a limit that is latched;
/// - unknown wherever the input is stale, invalid or not there; a minimum time that was running starts anew after it.
///   An alert that was on comes back at once if the first record after the gap has not cleared it: it is the same excess;
/// - waiting while it is not armed, if the limit has a rule for that, or while what the owner asks for does not hold;
/// - waiting while the rotor's other set of limits is in force, unknown where that hangs on a drive that is not known.
pub(super) fn judge(in_force: &InForce<'_>, steps: &[(f64, Said)]) -> Timeline<AlertState> {
    let limit = in_force.limit;
    let mut line = Timeline::new(AlertState::Unknown);
    let mut patience = Patience::of(limit);
    let (mut on, mut last_s) = (false, 0.0);
    for (i, &(time, said)) in steps.iter().enumerate() {
        let end = steps.get(i + 1).map_or(f64::INFINITY, |next| next.0);
        let Said::Value(value) = said else {
            patience.forget();
            line.turn(time, if on { AlertState::Lost { last_s } } else { AlertState::Unknown });
            continue;
        };
        last_s = time;
        if on && limit.latched {
            line.turn(time, AlertState::On);
            continue;
        }
        let verdict = in_force.verdict(time, value, if on { limit.clear_by } else { 0.0 });
        let passed = match verdict {
            Verdict::Passed => true,
            Verdict::Inside => false,
            Verdict::NotInForce => {
                on = false;
                patience.forget();
                line.turn(time, AlertState::Waiting);
                continue;
            }
            Verdict::Unknown => {
                patience.forget();
                line.turn(time, AlertState::Unknown);
                continue;
            }
        };
        if on {
            on = passed;
            line.turn(time, if on { AlertState::On } else { AlertState::Off });
        } else if passed {
            let due = patience.due(limit, time, value);
            if due > time {
                line.turn(time, AlertState::Waiting);
            }
            if due < end {
                line.turn(due.max(time), AlertState::On);
                on = true;
            }
        } else {
            line.turn(time, AlertState::Off);
        }
        if on || !passed {
            patience.forget();
        }
    }
    line
}

/// Since when a limit and its further values have been passed.
struct Patience {
    since: Vec<Option<f64>>,
}

impl Patience {
    fn of(limit: &Limit) -> Self {
        Self { since: vec![None; 1 + limit.sooner.len()] }
    }

    fn forget(&mut self) {
        self.since.fill(None);
    }

    /// When the first of the times has run out, if the value, which has passed the limit itself, stays as it is.
    fn due(&mut self, limit: &Limit, time: f64, value: f64) -> f64 {
        let mut due = f64::INFINITY;
        let levels = std::iter::once((None, limit.seconds)).chain(limit.sooner.iter().map(|l| (Some(l.0), l.1)));
        for (since, (bound, seconds)) in self.since.iter_mut().zip(levels) {
            if bound.is_none_or(|bound| limit.is_beyond(value, bound, 0.0)) {
                due = due.min(*since.get_or_insert(time) + seconds);
            } else {
                *since = None;
            }
        }
        due
    }
}

/// When a limit is armed: once its rule has held for its time without a break in the data, until it is disarmed.
pub(super) fn armed(
    arming: Option<&Arming>,
    steps: &[(f64, Said)],
    disarmed: Option<&Timeline<Option<bool>>>,
) -> Timeline<bool> {
    let mut arms: Vec<f64> = Vec::new();
    let mut since: Option<f64> = None;
    for (i, &(time, said)) in steps.iter().enumerate() {
        let Some(arming) = arming else { break };
        let end = steps.get(i + 1).map_or(f64::INFINITY, |next| next.0);
        let Said::Value(value) = said else {
            since = None;
            continue;
        };
        since = arming.holds(value).then(|| since.unwrap_or(time));
        let from = since.map_or(f64::INFINITY, |since| (since + arming.seconds).max(time));
        if from < end {
            arms.push(from);
        }
    }
    let mut line = Timeline::new(arming.is_none());
    let turns = disarmed.map(Timeline::turns).unwrap_or_default();
    let mut arms = arms.into_iter().peekable();
    for (i, &(time, state)) in turns.iter().enumerate() {
        while let Some(from) = arms.next_if(|from| *from < time) {
            if i.checked_sub(1).and_then(|i| turns.get(i)).is_none_or(|before| before.1 != Some(true)) {
                line.turn(from, true);
            }
        }
        if state == Some(true) {
            line.turn(time, false);
        } else if arming.is_none() {
            line.turn(time, true);
        }
    }
    if turns.last().is_none_or(|last| last.1 != Some(true)) {
        arms.for_each(|from| line.turn(from, true));
    }
    line
}

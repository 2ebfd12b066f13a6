//! One limit over a channel: when the owner's rule says that it is passed.

use super::power::{InForce, Verdict};
use super::said::Said;
use super::timeline::Timeline;
use crate::panel::Limit;

/// What a computed alert says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AlertState {
    /// The limit is not passed.
    Off,
    /// Off by the rule's own patience: not armed yet, passed for less than its minimum time, or of the rotor's set of limits that
    /// is not in force. Nothing to hold against a lamp.
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
/// - on, as soon as every record of the last `seconds` has passed the limit without a break in the data;
/// - off again at the first record that is back inside by `clear_by`;
/// - unknown wherever the input is stale, invalid or not there; a minimum time that was running starts anew after it.
///   An alert that was on comes back at once if the first record after the gap has not cleared it: it is the same excess;
/// - waiting until it is armed, once and for all, if the limit has a rule for that;
/// - waiting while the rotor's other set of limits is in force, unknown where that hangs on a drive that is not known.
pub(super) fn judge(limit: &Limit, in_force: &InForce<'_>, steps: &[(f64, Said)]) -> Timeline<AlertState> {
    let mut line = Timeline::new(AlertState::Unknown);
    let mut armed = limit.armed_by.is_none();
    let (mut inside_since, mut passed_since): (Option<f64>, Option<f64>) = (None, None);
    let (mut on, mut last_s) = (false, 0.0);
    for (i, &(time, said)) in steps.iter().enumerate() {
        let end = steps.get(i + 1).map_or(f64::INFINITY, |next| next.0);
        let Said::Value(value) = said else {
            (inside_since, passed_since) = (None, None);
            line.turn(time, if on { AlertState::Lost { last_s } } else { AlertState::Unknown });
            continue;
        };
        last_s = time;
        let mut from = time;
        if let (false, Some(arming)) = (armed, limit.armed_by) {
            inside_since = arming.holds(value).then(|| inside_since.unwrap_or(time));
            from = inside_since.map_or(f64::INFINITY, |since| (since + arming.seconds).max(time));
            armed = from < end;
            if from > time {
                line.turn(time, AlertState::Waiting);
            }
            if !armed {
                continue;
            }
        }
        let verdict = in_force.verdict(limit, time, value, if on { limit.clear_by } else { 0.0 });
        let passed = match verdict {
            Verdict::Passed => true,
            Verdict::Inside => false,
            Verdict::NotInForce => {
                (on, passed_since) = (false, None);
                line.turn(from, AlertState::Waiting);
                continue;
            }
            Verdict::Unknown => {
                passed_since = None;
                line.turn(from, AlertState::Unknown);
                continue;
            }
        };
        if on {
            on = passed;
            line.turn(from, if on { AlertState::On } else { AlertState::Off });
        } else if passed {
            let due = *passed_since.get_or_insert(from) + limit.seconds;
            if due > from {
                line.turn(from, AlertState::Waiting);
            }
            if due < end {
                line.turn(due.max(from), AlertState::On);
                on = true;
            }
        } else {
            line.turn(from, AlertState::Off);
        }
        if on || !passed {
            passed_since = None;
        }
    }
    line
}

//! When and how far each limit was passed, and for how long nobody can say.

use super::alert::AlertState;
use super::event::{Exceedance, Unjudged};
use super::in_force::{InForce, Verdict};
use super::said::Said;
use super::timeline::Timeline;
use crate::panel::Phase;

/// What all exceedances of a flight share.
pub(super) struct Frame<'a> {
    pub phases: &'a Timeline<Phase>,
    /// Exceedances no further apart than this are one, in seconds.
    pub joined_gap: f64,
    /// First and last session time of the records.
    pub span: (f64, f64),
}

/// The exceedances of one limit; `steps` are the channel's own records, `alert` what was judged on them.
///
/// An exceedance starts at the first record beyond the limit, before its minimum time ran, and ends at the last one beyond it,
/// whatever the alert's hysteresis adds. Two that are close and with nothing stale between them are one. One with a gap in it,
/// or at the edge of the data, lasted *at least* so long.
pub(super) fn find(
    limit: usize,
    in_force: &InForce<'_>,
    steps: &[(f64, Said)],
    alert: &Timeline<AlertState>,
    plus_minus_s: f64,
    frame: &Frame<'_>,
) -> Vec<Exceedance> {
    let passed = |i: usize| match steps.get(i) {
        Some(&(time, Said::Value(value))) => in_force.verdict(time, value, 0.0) == Verdict::Passed,
        _ => false,
    };
    let index = |time: f64| steps.partition_point(|step| step.0 <= time).checked_sub(1);
    let mut found: Vec<Exceedance> = Vec::new();
    let turns = alert.turns();
    for (n, &(on_s, state)) in turns.iter().enumerate() {
        if state != AlertState::On {
            continue;
        }
        let (end_s, after) = turns.get(n + 1).map_or((f64::INFINITY, None), |turn| (turn.0, Some(turn.1)));
        let Some(mut first) = index(on_s) else { continue };
        while first > 0 && passed(first - 1) {
            first -= 1;
        }
        let until = steps.partition_point(|step| step.0 < end_s);
        let Some(last) = (first..until).rev().find(|&i| passed(i)) else { continue };
        let from_s = steps[first].0.max(if passed(first) { f64::NEG_INFINITY } else { on_s });
        // What came before it, or comes after it, is not known.
        let unknown = |i: Option<usize>| match i.and_then(|i| steps.get(i)) {
            Some(&(time, Said::Value(value))) => in_force.verdict(time, value, 0.0) == Verdict::Unknown,
            _ => true,
        };
        let at_edge = unknown(first.checked_sub(1)) || unknown(Some(last + 1)) && last + 1 >= until;
        let lost = matches!(after, Some(AlertState::Lost { .. } | AlertState::Unknown));
        let sign = if in_force.limit.is_minimum { -1.0 } else { 1.0 };
        let beyond = |i: usize| match steps[i].1 {
            Said::Value(value) => in_force.bound(steps[i].0).map(|bound| (sign * (value - bound), value, bound)),
            _ => None,
        };
        let peak = (first..=last).filter(|&i| passed(i)).filter_map(|i| Some((i, beyond(i)?)));
        let Some((at, (_, peak, limit_value))) = peak.reduce(|a, b| if b.1.0 > a.1.0 { b } else { a }) else {
            continue;
        };
        let peak_s = steps[at].0;
        let next = Exceedance {
            limit,
            from_s,
            to_s: steps[last].0,
            plus_minus_s,
            peak,
            peak_s,
            limit_value,
            phase: frame.phases.at(peak_s),
            at_least: at_edge || lost,
        };
        match found.last_mut() {
            Some(before) if joins(before, &next, steps, turns.get(n.wrapping_sub(1)).map(|t| t.1), frame) => {
                before.to_s = next.to_s;
                before.at_least |= next.at_least;
                if sign * (next.peak - next.limit_value) > sign * (before.peak - before.limit_value) {
                    (before.peak, before.peak_s) = (next.peak, next.peak_s);
                    (before.limit_value, before.phase) = (next.limit_value, next.phase);
                }
            }
            _ => found.push(next),
        }
    }
    found
}

/// Whether an exceedance goes on with the next: near enough with all data between, or across a gap after which it stood still.
fn joins(
    before: &Exceedance,
    next: &Exceedance,
    steps: &[(f64, Said)],
    between: Option<AlertState>,
    frame: &Frame<'_>,
) -> bool {
    if matches!(between, Some(AlertState::Lost { .. })) {
        return true;
    }
    let from = steps.partition_point(|step| step.0 <= before.to_s);
    let whole = steps[from..].iter().take_while(|s| s.0 < next.from_s).all(|s| matches!(s.1, Said::Value(_)));
    whole && next.from_s - before.to_s <= frame.joined_gap
}

/// Where a limit could not be judged within the flight's records, and why.
pub(super) fn unjudged(
    limit: usize,
    in_force: &InForce<'_>,
    steps: &[(f64, Said)],
    alert: &Timeline<AlertState>,
    frame: &Frame<'_>,
) -> Vec<Unjudged> {
    let mut found: Vec<Unjudged> = Vec::new();
    for (from_s, to_s, state) in alert.stretches(frame.span.0, frame.span.1) {
        if !matches!(state, AlertState::Unknown | AlertState::Lost { .. }) {
            continue;
        }
        let step = steps.partition_point(|step| step.0 <= from_s).checked_sub(1).and_then(|i| steps.get(i));
        let why = if steps.is_empty() {
            format!("no log has `{}`, or nothing joins it", in_force.limit.channel)
        } else if !matches!(step, Some((_, Said::Value(_)))) {
            format!("`{}` has no record that counts", in_force.limit.channel)
        } else if in_force.bound(from_s).is_none() {
            let other = in_force.limit.along.as_ref().map_or("", |along| &along.channel);
            format!("`{other}` is outside the limit's table, or has no record that counts")
        } else if in_force.only.as_ref().is_some_and(|only| only.at(from_s).is_none()) {
            "whether its condition holds is not known".to_owned()
        } else {
            "the drive is not judged, and the value lies between its two limits".to_owned()
        };
        match found.last_mut() {
            Some(last) if last.why == why && last.to_s == from_s => last.to_s = to_s,
            _ => found.push(Unjudged { limit, from_s, to_s, why }),
        }
    }
    found
}

//! A channel's records as steps on the session's axis: what it says, and from when on it says nothing any more.

use crate::session::{ChannelId, Session};
use crate::signal::Samples;
use crate::units::Unit;

/// What a channel says from a moment on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Said {
    /// A record, which counts until the next one or as long as it may be held.
    Value(f64),
    /// The last record is too old to count.
    Stale,
    /// There is nothing.
    Invalid,
}

/// All steps of a channel, in session seconds; none for texts and for a log that nothing joins.
///
/// Where [`crate::signal::Channel::reading_at`] draws a line between two records, a rule goes by the records themselves:
/// each counts until the next.
pub(super) fn said(session: &Session, id: ChannelId) -> Vec<(f64, Said)> {
    let (Some(channel), Some(fit)) = (session.channel(id), session.fit(id)) else { return Vec::new() };
    let Samples::Numbers(values) = &channel.samples else { return Vec::new() };
    let rules = channel.rules;
    let mut steps = Vec::with_capacity(values.len() + 2);
    for (i, (&time, &value)) in channel.times.iter().zip(values).enumerate() {
        steps.push((fit.inverse(time), Said::Value(value)));
        let next = channel.times.get(i + 1).copied().unwrap_or(f64::INFINITY);
        if next - time <= rules.joined_s {
            continue;
        }
        for (age, said) in [(rules.held_s, Said::Stale), (rules.stale_s, Said::Invalid)] {
            if time + age < next {
                steps.push((fit.inverse(time + age), said));
            }
        }
    }
    steps
}

/// A channel's steps in the unit of the rules; none of one whose unit is not stated or does not convert.
pub(super) fn converted(session: &Session, id: ChannelId, unit: &str) -> Vec<(f64, Said)> {
    let mut steps = said(session, id);
    let recorded = session.channel(id).and_then(|channel| channel.unit.as_deref());
    if unit.is_empty() || recorded == Some(unit) {
        return steps;
    }
    let units = recorded.and_then(|recorded| Some((Unit::parse(recorded).ok()?, Unit::parse(unit).ok()?)));
    let Some((from, to)) = units.filter(|(from, to)| from.convert(0.0, to).is_ok()) else { return Vec::new() };
    for (_, said) in &mut steps {
        if let Said::Value(value) = said {
            *said = from.convert(*value, to).map_or(Said::Invalid, Said::Value);
        }
    }
    steps
}

/// How exact a channel's times are: the usual time between two of its records, and how sure its clock is.
pub(super) fn plus_minus(session: &Session, id: ChannelId) -> Option<f64> {
    let (times, fit) = (&session.channel(id)?.times, session.fit(id)?);
    let mut gaps: Vec<f64> = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let middle = gaps.len() / 2;
    let usual = if gaps.is_empty() { 0.0 } else { *gaps.select_nth_unstable_by(middle, f64::total_cmp).1 };
    Some(usual + fit.sigma(fit.inverse(*times.first()?)))
}

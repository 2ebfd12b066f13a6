//! A channel's records as steps on the session's axis: what it says, and from when on it says nothing any more.

use crate::session::{ChannelId, Session};
use crate::signal::Samples;

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

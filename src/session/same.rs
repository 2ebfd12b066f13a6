//! The same quantity in several logs: which one is preferred, and how far they differ.
//!
//! Every log's channel is kept under its own name. Where one must be taken - for a computed channel, for a panel without a file - it
//! is the one that the owner prefers; else the one with more records, a quarter more at least; else the one whose log stands first.

use super::{ChannelId, Session};
use crate::meaning::Meaning;
use crate::signal::{Channel, Cursor, Kind, Samples, State};
use crate::time::SessionTime;
use crate::units::Unit;
use std::fmt;

/// Fewer records than this share more are no reason to prefer a channel (common practice, no source).
const MORE: f64 = 1.25;

/// Why a channel is preferred to another of the same quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Why {
    /// The owner says so.
    Owner,
    /// Nothing joins the clock of the other's log to the session's.
    OtherNotJoined,
    /// It has more records: so many against the other's.
    MoreRecords(usize, usize),
    /// Its log stands first in the flight file.
    First,
}

/// Two channels of one quantity, from two logs.
#[derive(Debug, Clone, PartialEq)]
pub struct Same {
    /// The one that is taken.
    pub preferred: ChannelId,
    /// The one that is only kept.
    pub other: ChannelId,
    /// Why.
    pub why: Why,
    /// What the other says beyond the preferred one; none where they were never recorded at the same time.
    pub difference: Option<Difference>,
}

/// How far one channel is from another, in that one's unit, at the records that both have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// The median of the differences, with their sign.
    pub median: f64,
    /// 95 % of the differences are at most so large.
    pub within_95: f64,
    /// The largest, without its sign.
    pub greatest: f64,
    /// How many moments were compared.
    pub moments: usize,
    /// Seconds over which both were recorded.
    pub shared_s: f64,
}

impl Session {
    /// The same session with the owner's order of preference: names of channels (`LOG.COLUMN`), or of whole logs.
    #[must_use]
    pub fn preferring(mut self, names: Vec<String>) -> Self {
        self.preferred = names;
        self
    }

    /// The pairs of channels in different logs that hold one quantity, each with the preferred one of them all.
    pub fn same(&self) -> Vec<Same> {
        let recorded: Vec<ChannelId> = self.channels().map(|(id, ..)| id).filter(|id| self.is_recorded(*id)).collect();
        let mut done = vec![false; recorded.len()];
        let mut pairs = Vec::new();
        for i in 0..recorded.len() {
            if done[i] {
                continue;
            }
            let alike = |j: &usize| *j > i && !done[*j] && self.is_same(recorded[i], recorded[*j]);
            let group: Vec<usize> = std::iter::once(i).chain((0..recorded.len()).filter(alike)).collect();
            let Some(preferred) = self.preferred_of(group.iter().map(|&j| recorded[j])) else { continue };
            for j in group {
                done[j] = true;
                let other = recorded[j];
                if other.log != preferred.log {
                    let why = self.why(preferred, other);
                    let difference = self.difference(preferred, other);
                    pairs.push(Same { preferred, other, why, difference });
                }
            }
        }
        pairs
    }

    /// Whether another log's channel of the same quantity is preferred to this one.
    pub fn is_second(&self, id: ChannelId) -> bool {
        let alike = self.channels().map(|(other, ..)| other).filter(|&other| other == id || self.is_same(other, id));
        self.is_recorded(id) && self.preferred_of(alike).is_some_and(|preferred| preferred.log != id.log)
    }

    /// The preferred one of channels of one quantity.
    pub(super) fn preferred_of(&self, channels: impl Iterator<Item = ChannelId>) -> Option<ChannelId> {
        channels.reduce(|best, next| if self.beats(next, best) { next } else { best })
    }

    /// Whether a channel that stands later in the flight file is preferred to one before it.
    fn beats(&self, later: ChannelId, earlier: ChannelId) -> bool {
        later.log != earlier.log && self.is_recorded(later) && self.why(later, earlier) != Why::First
    }

    /// Why the first would be preferred to the second; `First` where nothing but the order says so, or nothing at all.
    fn why(&self, a: ChannelId, b: ChannelId) -> Why {
        let records = |id| self.channel(id).map_or(0, |channel| channel.times.len());
        match (self.rank(a), self.rank(b)) {
            (Some(a), Some(b)) if a != b => return if a < b { Why::Owner } else { Why::First },
            (Some(_), None) => return Why::Owner,
            (None, Some(_)) => return Why::First,
            _ => {}
        }
        match (self.fit(a).is_some(), self.fit(b).is_some()) {
            (true, false) => Why::OtherNotJoined,
            (false, true) => Why::First,
            _ if records(a) as f64 >= MORE * records(b) as f64 => Why::MoreRecords(records(a), records(b)),
            _ => Why::First,
        }
    }

    /// Its place in the owner's list.
    pub(super) fn rank(&self, id: ChannelId) -> Option<usize> {
        let (log, column) = (self.log_name(id).filter(|_| self.is_recorded(id))?, &self.channel(id)?.name);
        let is_it = |name: &String| name == log || name.split_once('.').is_some_and(|(l, c)| l == log && c == column);
        self.preferred.iter().position(is_it)
    }

    /// Whether two channels of different logs hold one quantity: numbers of one dimension, and one meaning that leaves nothing open, or one name.
    fn is_same(&self, a: ChannelId, b: ChannelId) -> bool {
        let (Some(x), Some(y)) = (self.channel(a), self.channel(b)) else { return false };
        let numbers = |c: &Channel| matches!(c.samples, Samples::Numbers(_)) && c.kind != Kind::Discrete;
        if self.same_log(a, b) || !self.is_recorded(a) || !self.is_recorded(b) || !numbers(x) || !numbers(y) {
            return false;
        }
        let meant = || Meaning::of_name(&x.name).filter(|meaning| meaning.is_definite());
        let means = || meant().is_some_and(|meant| Meaning::of_name(&y.name) == Some(meant));
        let dimension = |c: &Channel| Some(Unit::parse(c.unit.as_deref()?).ok()?.dimension);
        (x.name.eq_ignore_ascii_case(&y.name) || means()) && dimension(x) == dimension(y)
    }

    /// What the second says beyond the first at the records of the one with fewer of them.
    fn difference(&self, a: ChannelId, b: ChannelId) -> Option<Difference> {
        let (from, to) = (self.channel(b)?, self.channel(a)?);
        let units = match (&from.unit, &to.unit) {
            (Some(from), Some(to)) if from != to => Some((Unit::parse(from).ok()?, Unit::parse(to).ok()?)),
            _ => None,
        };
        let at = |id, time, cursor: &mut Cursor| {
            let reading = self.reading(id, SessionTime(time), cursor);
            reading.value.filter(|_| reading.state == State::Measured)
        };
        let sparser = if to.times.len() <= from.times.len() { (a, to) } else { (b, from) };
        let fit = self.fit(sparser.0)?;
        let (mut first, mut second) = (Cursor::default(), Cursor::default());
        let (mut differences, mut shared_s) = (Vec::new(), 0.0);
        let mut before: Option<f64> = None;
        for &t in &*sparser.1.times {
            let time = fit.inverse(t);
            let Some((x, y)) = at(a, time, &mut first).zip(at(b, time, &mut second)) else {
                before = None;
                continue;
            };
            let y = units.map_or(Some(y), |(from, to)| from.convert(y, to).ok())?;
            let angle = to.kind == Kind::Angle;
            differences.push(if angle { (y - x + 540.0).rem_euclid(360.0) - 180.0 } else { y - x });
            shared_s += before.map_or(0.0, |before| time - before);
            before = Some(time);
        }
        let moments = differences.len();
        if moments == 0 {
            return None;
        }
        differences.sort_by(f64::total_cmp);
        let median = 0.5 * (differences[(moments - 1) / 2] + differences[moments / 2]);
        let mut sizes: Vec<f64> = differences.iter().map(|d| d.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let within_95 = sizes[((0.95 * moments as f64).ceil() as usize).clamp(1, moments) - 1];
        Some(Difference { median, within_95, greatest: sizes[moments - 1], moments, shared_s })
    }
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Owner => f.write_str("by `prefer`"),
            Self::OtherNotJoined => f.write_str("for nothing joins the other's clock"),
            Self::MoreRecords(a, b) => write!(f, "for it has {a} records and the other {b}"),
            Self::First => f.write_str("for its log stands first"),
        }
    }
}

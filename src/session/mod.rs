//! Recordings on one axis: any channel at any session time.

mod calibration;
mod derive;
mod formulae;
mod same;
mod table;

pub use calibration::{Calibration, CalibrationError, Curve};
pub use derive::{Basis, SLOWEST_KT, SLOWEST_TRACK_KT};
pub use formulae::NotComputed;
pub use same::{Difference, Same, Why};

use crate::clock::{ClockFit, Dated};
use crate::finding::Finding;
use crate::recorder::{Format, Recording};
use crate::signal::{Channel, Cursor, Reading};
use crate::time::SessionTime;

/// A log of the session.
#[derive(Debug, Clone)]
pub struct SessionLog {
    /// Its name, in front of its channels' names.
    pub name: String,
    /// What it recorded.
    pub recording: Recording,
    /// Session time to its own; none for a log that nothing joins, whose channels then read as invalid.
    pub fit: Option<ClockFit>,
}

/// A flight's readings. Session time is the clock of the reference logger, zero at its first sample; it may be negative.
#[derive(Debug, Clone)]
pub struct Session {
    logs: Vec<SessionLog>,
    reference: usize,
    /// Channels that were computed, on the session's own clock.
    derived: Vec<Channel>,
    own_clock: ClockFit,
    /// The owner's order of preference among channels of one quantity.
    preferred: Vec<String>,
    /// What the computing of channels found.
    remarks: Vec<Finding>,
    /// What was summed up over the whole flight, by stated rules.
    figures: Vec<String>,
}

/// What stands before the names of derived channels; no log may be called so.
pub const DERIVED: &str = "calc";

/// Names a channel of a session, for look-ups without a search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChannelId {
    log: usize,
    channel: usize,
}

impl Session {
    /// A session of one log, which is its own reference.
    pub fn of(recording: Recording) -> Self {
        let name = recording.file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        Self::join(vec![SessionLog { name, recording, fit: Some(ClockFit::same()) }], 0)
    }

    /// A session of several logs; `reference` is the index of the one whose clock is the session's.
    pub fn join(logs: Vec<SessionLog>, reference: usize) -> Self {
        Self {
            logs,
            reference,
            derived: Vec::new(),
            own_clock: ClockFit::same(),
            preferred: Vec::new(),
            remarks: Vec::new(),
            figures: Vec::new(),
        }
    }

    /// The logs, in the order of the flight file.
    pub fn logs(&self) -> &[SessionLog] {
        &self.logs
    }

    /// What could not be computed, and why.
    pub fn remarks(&self) -> &[Finding] {
        &self.remarks
    }

    /// What was summed up over the whole flight, each a sentence with its rule.
    pub fn figures(&self) -> &[String] {
        &self.figures
    }

    /// The log whose clock is the session's.
    pub fn reference(&self) -> Option<&SessionLog> {
        self.logs.get(self.reference)
    }

    /// The channels with their full names (`LOG.COLUMN`), in the order of the logs and their columns; then those that were computed
    /// (`calc.NAME`).
    pub fn channels(&self) -> impl Iterator<Item = (ChannelId, String, &Channel)> {
        self.sources().enumerate().flat_map(|(i, (name, channels))| {
            let columns = channels.iter().enumerate();
            columns.map(move |(j, c)| (ChannelId { log: i, channel: j }, format!("{name}.{}", c.name), c))
        })
    }

    /// Every log's name and channels, and last those that were computed.
    fn sources(&self) -> impl Iterator<Item = (&str, &[Channel])> {
        let logs = self.logs.iter().map(|log| (log.name.as_str(), &*log.recording.channels));
        logs.chain([(DERIVED, &*self.derived)])
    }

    fn source(&self, i: usize) -> Option<&[Channel]> {
        if i == self.logs.len() { Some(&self.derived) } else { Some(&self.logs.get(i)?.recording.channels) }
    }

    /// The channel of this name: `LOG.COLUMN`, or `COLUMN` where only one log has it, or the owner prefers one of them. A computed
    /// one is `calc.NAME`, always.
    pub fn find(&self, name: &str) -> Option<ChannelId> {
        let within = |log: usize, column: &str| {
            let channel = self.source(log)?.iter().position(|c| c.name == column)?;
            Some(ChannelId { log, channel })
        };
        for (i, (source, _)) in self.sources().enumerate() {
            let column = name.strip_prefix(source).and_then(|rest| rest.strip_prefix('.'));
            if let Some(found) = column.and_then(|column| within(i, column)) {
                return Some(found);
            }
        }
        let all: Vec<ChannelId> = (0..self.logs.len()).filter_map(|i| within(i, name)).collect();
        let preferred = all.iter().filter_map(|&id| Some((self.rank(id)?, id))).min_by_key(|(rank, _)| *rank);
        if let [only] = all[..] { Some(only) } else { preferred.map(|(_, id)| id) }
    }

    /// Whether two recorded channels come from one log, and so from one clock. Of a computed one that is not said.
    pub fn same_log(&self, a: ChannelId, b: ChannelId) -> bool {
        a.log == b.log && a.log < self.logs.len()
    }

    /// A channel by its id.
    pub fn channel(&self, id: ChannelId) -> Option<&Channel> {
        self.source(id.log)?.get(id.channel)
    }

    /// Session time to the clock of a channel's log; none for a log that nothing joins.
    pub fn fit(&self, id: ChannelId) -> Option<&ClockFit> {
        if id.log == self.logs.len() { Some(&self.own_clock) } else { self.logs.get(id.log)?.fit.as_ref() }
    }

    /// What a channel says at a session time.
    pub fn reading(&self, id: ChannelId, at: SessionTime, cursor: &mut Cursor) -> Reading {
        let (Some(channel), Some(fit)) = (self.channel(id), self.fit(id)) else { return Reading::INVALID };
        channel.reading_at(fit.at(at.0), cursor)
    }

    /// What a channel of texts says at a session time; see [`Channel::text_at`].
    pub fn text(&self, id: ChannelId, at: SessionTime, cursor: &mut Cursor) -> (Option<&str>, Reading) {
        let (Some(channel), Some(fit)) = (self.channel(id), self.fit(id)) else { return (None, Reading::INVALID) };
        channel.text_at(fit.at(at.0), cursor)
    }

    /// First and last session time at which anything is recorded.
    pub fn span(&self) -> (SessionTime, SessionTime) {
        let joined = self.logs.iter().filter_map(|log| Some((log.fit.as_ref()?, log.recording.duration_s())));
        let ends = joined.map(|(fit, duration)| (fit.inverse(0.0), fit.inverse(duration)));
        let (first, last) = ends.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))).unwrap_or((0.0, 0.0));
        (SessionTime(first), SessionTime(last))
    }

    /// UTC of a session time, where the reference log knows UTC.
    pub fn utc(&self, at: SessionTime) -> Option<jiff::Timestamp> {
        let nanoseconds = (at.0 * 1e9).round();
        // Beyond this a sum of the two could leave what the calendar holds.
        if nanoseconds.is_nan() || nanoseconds.abs() > 1e18 {
            return None;
        }
        let start = self.reference()?.recording.clock.first_utc?;
        start.checked_add(jiff::SignedDuration::from_nanos(nanoseconds as i64)).ok()
    }
}

/// What a recording's own dates say, for the joining of clocks.
pub fn dated(recording: &Recording) -> Dated {
    Dated {
        start: recording.clock.first_utc,
        resolution_s: recording.clock.resolution_s,
        duration_s: recording.duration_s(),
        follows_utc: matches!(recording.format, Format::Nmea | Format::Gpx | Format::Igc),
    }
}

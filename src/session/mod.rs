//! Recordings on one axis: any channel at any session time.

mod calibration;
mod derive;
mod formulae;
mod parts;
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
use parts::Whole;

/// A log of the session.
#[derive(Debug, Clone)]
pub struct SessionLog {
    /// Its name, in front of its channels' names.
    pub name: String,
    /// The name of the log of which it is a part; none where it is a log of its own.
    pub part_of: Option<String>,
    /// What it recorded.
    pub recording: Recording,
    /// Session time to its own; none for a log that nothing joins, whose channels then read as invalid.
    pub fit: Option<ClockFit>,
}

/// A flight's readings. Session time is the clock of the reference logger, zero at its first sample; it may be negative.
#[derive(Debug, Clone)]
pub struct Session {
    logs: Vec<SessionLog>,
    /// Logs of several parts, each as one log.
    wholes: Vec<Whole>,
    /// Channels of parts that are named on their own.
    named: Vec<ChannelId>,
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

/// Channels of one name before the point, as they are looked up: a log, a whole log of several parts, or what was computed.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// What stands before the point.
    pub name: &'a str,
    /// The file; none of what was computed.
    pub file: Option<&'a std::path::Path>,
    /// Session time to the clock on which its channels stand; none where nothing joins it.
    pub fit: Option<&'a ClockFit>,
    /// How many parts with a clock each it is made of; 1 where it is none of several.
    pub parts: usize,
    channels: &'a [Channel],
}

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
        Self::join(vec![SessionLog { name, part_of: None, recording, fit: Some(ClockFit::same()) }], 0)
    }

    /// A session of several logs; `reference` is the index of the one whose clock is the session's. The parts of one log are joined.
    pub fn join(logs: Vec<SessionLog>, reference: usize) -> Self {
        let (wholes, remarks) = parts::wholes(&logs);
        Self {
            logs,
            wholes,
            named: Vec::new(),
            reference,
            derived: Vec::new(),
            own_clock: ClockFit::same(),
            preferred: Vec::new(),
            remarks,
            figures: Vec::new(),
        }
    }

    /// The same session with channels of parts that are named on their own: they then stand among all channels, beside the whole's.
    #[must_use]
    pub fn naming<'n>(mut self, names: impl IntoIterator<Item = &'n str>) -> Self {
        let parts = names.into_iter().filter_map(|name| self.find(name)).filter(|id| self.is_part(id.log));
        let mut named: Vec<ChannelId> = parts.collect();
        self.named.append(&mut named);
        self
    }

    /// The logs, in the order of the flight file; each part of one is a log here, with a clock of its own.
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
    /// (`calc.NAME`). A log of several parts is one log here; a part's own channel is among them where it was named.
    pub fn channels(&self) -> impl Iterator<Item = (ChannelId, String, &Channel)> {
        self.sources().enumerate().flat_map(move |(i, source)| {
            let columns = source.channels.iter().enumerate().map(move |(j, c)| (ChannelId { log: i, channel: j }, c));
            let shown = columns.filter(move |(id, _)| !self.is_part(i) || self.named.contains(id));
            shown.map(move |(id, c)| (id, format!("{}.{}", source.name, c.name), c))
        })
    }

    /// Every log, every log of several parts as a whole, and last what was computed.
    pub fn sources(&self) -> impl Iterator<Item = Source<'_>> {
        let logs = self.logs.iter().map(|log| Source {
            name: &log.name,
            file: Some(&log.recording.file),
            fit: log.fit.as_ref(),
            parts: 1,
            channels: &log.recording.channels,
        });
        let wholes = self.wholes.iter().map(|whole| Source {
            name: &whole.name,
            file: whole.parts.first().map(|&part| &*self.logs[part].recording.file),
            fit: whole.fit.as_ref(),
            parts: whole.parts.len(),
            channels: &whole.channels,
        });
        let computed =
            Source { name: DERIVED, file: None, fit: Some(&self.own_clock), parts: 1, channels: &self.derived };
        logs.chain(wholes).chain([computed])
    }

    /// The channels that stand before a point of this number, in the order of [`Session::sources`].
    fn source(&self, i: usize) -> Option<&[Channel]> {
        match i.checked_sub(self.logs.len()) {
            None => Some(&self.logs.get(i)?.recording.channels),
            Some(whole) if i < self.computed() => Some(&self.wholes.get(whole)?.channels),
            Some(_) => (i == self.computed()).then_some(&*self.derived),
        }
    }

    /// Which of the sources is what was computed.
    fn computed(&self) -> usize {
        self.logs.len() + self.wholes.len()
    }

    /// Whether a channel was recorded, not computed.
    fn is_recorded(&self, id: ChannelId) -> bool {
        id.log < self.computed()
    }

    /// Whether a source is a part of a log.
    fn is_part(&self, source: usize) -> bool {
        self.logs.get(source).is_some_and(|log| log.part_of.is_some())
    }

    fn whole(&self, source: usize) -> Option<&Whole> {
        self.wholes.get(source.checked_sub(self.logs.len())?)
    }

    /// The channel of this name: `LOG.COLUMN`, or `COLUMN` where only one log has it, or the owner prefers one of them. A computed
    /// one is `calc.NAME`, always. `LOG` may be one part of a log.
    pub fn find(&self, name: &str) -> Option<ChannelId> {
        let within = |log: usize, column: &str| {
            let channel = self.source(log)?.iter().position(|c| c.name == column)?;
            Some(ChannelId { log, channel })
        };
        for (i, source) in self.sources().enumerate() {
            let column = name.strip_prefix(source.name).and_then(|rest| rest.strip_prefix('.'));
            if let Some(found) = column.and_then(|column| within(i, column)) {
                return Some(found);
            }
        }
        let whole_logs = (0..self.computed()).filter(|&i| !self.is_part(i));
        let all: Vec<ChannelId> = whole_logs.filter_map(|i| within(i, name)).collect();
        let preferred = all.iter().filter_map(|&id| Some((self.rank(id)?, id))).min_by_key(|(rank, _)| *rank);
        if let [only] = all[..] { Some(only) } else { preferred.map(|(_, id)| id) }
    }

    /// A channel's full name, `LOG.COLUMN`.
    pub fn name(&self, id: ChannelId) -> Option<String> {
        Some(format!("{}.{}", self.log_name(id)?, self.channel(id)?.name))
    }

    /// What stands before a channel's own name.
    pub fn log_name(&self, id: ChannelId) -> Option<&str> {
        self.sources().nth(id.log).map(|source| source.name)
    }

    /// Whether two recorded channels come from one log, and so at every moment from one clock: that log may be one of several parts. Of a
    /// computed channel that is not said.
    pub fn same_log(&self, a: ChannelId, b: ChannelId) -> bool {
        let within = |whole: ChannelId, part: ChannelId| {
            self.whole(whole.log).is_some_and(|whole| whole.parts.contains(&part.log))
        };
        self.is_recorded(a) && (a.log == b.log || within(a, b) || within(b, a))
    }

    /// A channel by its id.
    pub fn channel(&self, id: ChannelId) -> Option<&Channel> {
        self.source(id.log)?.get(id.channel)
    }

    /// Session time to the clock on which a channel stands; none for a log that nothing joins. A log of several parts stands on the session's
    /// own, as unsure as the worst of them; [`Session::sigma`] says how sure one moment is.
    pub fn fit(&self, id: ChannelId) -> Option<&ClockFit> {
        match self.whole(id.log) {
            Some(whole) => whole.fit.as_ref(),
            None if self.is_recorded(id) => self.logs.get(id.log)?.fit.as_ref(),
            None => Some(&self.own_clock),
        }
    }

    /// Standard deviation of the clock on which a channel stands at a session time, in seconds: of a log of several parts, that of the part
    /// which stands there. None for a log that nothing joins.
    pub fn sigma(&self, id: ChannelId, session_s: f64) -> Option<f64> {
        let part = self.whole(id.log).and_then(|whole| whole.part_at(session_s)).and_then(|part| self.logs.get(part));
        let fit = part.map_or_else(|| self.fit(id), |log| log.fit.as_ref());
        fit.map(|fit| fit.sigma(session_s))
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

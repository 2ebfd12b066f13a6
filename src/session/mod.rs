//! Recordings on one axis: any channel at any session time.

use crate::recorder::Recording;
use crate::signal::{Channel, Cursor, Reading};
use crate::time::SessionTime;

/// A flight's readings. Session time is the clock of the reference logger, zero at its first record.
#[derive(Debug, Clone)]
pub struct Session {
    /// The reference logger's recording.
    recording: Recording,
}

/// Names a channel of a session, for look-ups without a search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChannelId(usize);

impl Session {
    /// A session of one log, which is its own reference.
    pub fn of(recording: Recording) -> Self {
        Self { recording }
    }

    /// The channels in the order of their log.
    pub fn channels(&self) -> impl Iterator<Item = (ChannelId, &Channel)> {
        self.recording.channels.iter().enumerate().map(|(i, c)| (ChannelId(i), c))
    }

    /// The channel of this exact name.
    pub fn find(&self, name: &str) -> Option<ChannelId> {
        self.recording.channels.iter().position(|c| c.name == name).map(ChannelId)
    }

    /// What a channel says at a session time.
    pub fn reading(&self, id: ChannelId, at: SessionTime, cursor: &mut Cursor) -> Reading {
        self.recording.channels.get(id.0).map_or(Reading::INVALID, |c| c.reading_at(at.0, cursor))
    }

    /// First and last session time at which anything is recorded.
    pub fn span(&self) -> (SessionTime, SessionTime) {
        (SessionTime(0.0), SessionTime(self.recording.duration_s()))
    }

    /// UTC of a session time, where the reference log knows UTC.
    pub fn utc(&self, at: SessionTime) -> Option<jiff::Timestamp> {
        let nanoseconds = (at.0 * 1e9).round();
        // Beyond this a sum of the two could leave what the calendar holds.
        if nanoseconds.is_nan() || nanoseconds.abs() > 1e18 {
            return None;
        }
        let start = self.recording.clock.first_utc?;
        start.checked_add(jiff::SignedDuration::from_nanos(nanoseconds as i64)).ok()
    }
}

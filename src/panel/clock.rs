//! The clock: a plate with the time.

/// A plate with the time of one clock.
#[derive(Debug, Clone, PartialEq)]
pub struct Clock {
    /// Whose time.
    pub shows: Shows,
    /// The name on the plate.
    pub title: String,
}

/// Whose time a clock shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shows {
    /// Coordinated universal time, where the session knows it.
    Utc,
    /// The same, so many seconds ahead: a local time as the owner states it.
    Local {
        /// How far ahead of UTC, in seconds; negative in the west.
        ahead_s: i32,
    },
    /// Time since the film's first frame.
    Film,
    /// Time since the reference log's first record; it may be negative.
    Session,
}

impl Shows {
    /// What stands beside the name: how far a local time is ahead of UTC, e.g. `+02:00`; empty otherwise.
    pub fn unit(self) -> String {
        let Self::Local { ahead_s } = self else { return String::new() };
        let (sign, minutes) = (if ahead_s < 0 { '\u{2212}' } else { '+' }, ahead_s.abs() / 60);
        format!("{sign}{:02}:{:02}", minutes / 60, minutes % 60)
    }
}

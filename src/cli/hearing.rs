//! The sound of a flight's films, laid along the speeds that its logs recorded.

use crate::clock::sound::{Laid, Track};

/// When a film's sound is listened to: it costs seconds for every hour of film.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Listen {
    /// Always.
    Always,
    /// Where nothing else lines the film up as surely as the flight file asks for, or joins a log to the others.
    WhereUnsure,
}

/// A film's sound that was laid along a log.
pub(crate) struct Heard {
    /// The film's place in the flight file, and the log's among those that were read.
    pub(crate) film: usize,
    /// See `film`.
    pub(crate) log: usize,
    /// The recorded speed.
    pub(crate) speed: String,
    /// The tone that fits it.
    pub(crate) track: Track,
    /// How the two lie.
    pub(crate) laid: Laid,
}

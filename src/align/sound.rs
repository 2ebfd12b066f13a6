//! The tones of a clip's sound.

use crate::clock::sound::{HZ, Listener, Track};
use crate::video::{self, Clip, VideoError};

/// The tones that a clip's first sound track holds, over film time; none where it has no sound.
///
/// # Errors
/// The sound cannot be decoded.
pub fn tracks(clip: &Clip) -> Result<Option<Vec<Track>>, VideoError> {
    let mut ear = Listener::default();
    let start_s = video::listen(clip, HZ, |samples| ear.hear(samples))?;
    Ok(start_s.map(|start_s| ear.tracks(start_s)))
}

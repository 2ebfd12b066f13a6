//! The films of a flight file, opened.

use crate::flight::FilmEntry;
use crate::video::{self, Clip, VideoError};

/// Opens a film: one file, or the files of one recording.
pub(super) fn open(entry: &FilmEntry) -> Result<Clip, VideoError> {
    video::join(&entry.files)
}

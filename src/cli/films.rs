//! The films of a flight file, opened.

use crate::flight::FilmEntry;
use crate::video::{self, Clip, VideoError};

/// Opens a film.
pub(super) fn open(entry: &FilmEntry) -> Result<Clip, VideoError> {
    // A film entry names one file at least.
    video::probe(&entry.files[0])
}

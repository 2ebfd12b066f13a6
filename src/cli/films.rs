//! The films of a flight file, opened.

use crate::flight::FilmEntry;
use crate::video::{self, Clip, VideoError};

/// Opens a film: one file, or the files of one recording. `reading` is the count of decoder threads with which it is read soon after.
pub(super) fn open(entry: &FilmEntry, reading: Option<usize>) -> Result<Clip, VideoError> {
    match reading {
        Some(threads) => video::probe_to_read(&entry.files, threads),
        None => video::join(&entry.files),
    }
}

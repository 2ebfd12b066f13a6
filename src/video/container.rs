//! The film formats that are written.

use super::{Codec, VideoError};
use std::ffi::CStr;
use std::path::Path;

/// A container, chosen by the output's ending.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Container {
    /// MPEG-4 part 14.
    Mp4,
    /// QuickTime.
    Mov,
    /// Matroska.
    Mkv,
    /// WebM: Matroska for browsers.
    WebM,
    /// FFmpeg's own NUT, for pieces of a film only: it keeps every time base, and holds what MP4 does not.
    Nut,
}

impl Container {
    /// The container that a file's ending names.
    pub fn of(path: &Path) -> Result<Self, VideoError> {
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        match ending.as_deref() {
            Some("mp4" | "m4v") => Ok(Self::Mp4),
            Some("mov") => Ok(Self::Mov),
            Some("mkv") => Ok(Self::Mkv),
            Some("webm") => Ok(Self::WebM),
            other => {
                let found = other.map_or("(none)".into(), |e| format!("`.{e}`"));
                Err(VideoError::Container { file: path.to_owned(), found })
            }
        }
    }

    /// Its usual name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mp4 => "MP4",
            Self::Mov => "MOV",
            Self::Mkv => "MKV",
            Self::WebM => "WebM",
            Self::Nut => "NUT",
        }
    }

    /// The ending of its files.
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Mp4 => ".mp4",
            Self::Mov => ".mov",
            Self::Mkv => ".mkv",
            Self::WebM => ".webm",
            Self::Nut => ".nut",
        }
    }

    /// The library's name of its muxer. Named outright: the temporary file's ending would mislead the library.
    pub(super) const fn muxer(self) -> &'static CStr {
        match self {
            Self::Mp4 => c"mp4",
            Self::Mov => c"mov",
            Self::Mkv => c"matroska",
            Self::WebM => c"webm",
            Self::Nut => c"nut",
        }
    }

    /// Whether a film can say that its picture is to be turned; a piece leaves that to the film that it becomes.
    pub(super) const fn holds_turns(self) -> bool {
        matches!(self, Self::Mp4 | Self::Mov | Self::Nut)
    }

    /// The container of a film's pieces in this codec: of those that hold it the one that is exact in its times.
    pub fn of_pieces(codec: Codec) -> Self {
        match codec {
            Codec::ProRes => Self::Mov,
            Codec::Ffv1 => Self::Nut,
            _ => Self::Mp4,
        }
    }

    /// Whether a track may start before zero (the priming of AAC, hidden by an edit list).
    pub(super) const fn holds_negative_times(self) -> bool {
        matches!(self, Self::Mp4 | Self::Mov)
    }
}

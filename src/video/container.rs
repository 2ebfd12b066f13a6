//! The film formats that are written.

use super::VideoError;
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
        }
    }

    /// The ending of its files.
    pub(super) const fn ending(self) -> &'static str {
        match self {
            Self::Mp4 => ".mp4",
            Self::Mov => ".mov",
            Self::Mkv => ".mkv",
            Self::WebM => ".webm",
        }
    }

    /// The library's name of its muxer. Named outright: the temporary file's ending would mislead the library.
    pub(super) const fn muxer(self) -> &'static CStr {
        match self {
            Self::Mp4 => c"mp4",
            Self::Mov => c"mov",
            Self::Mkv => c"matroska",
            Self::WebM => c"webm",
        }
    }

    /// Whether a track may start before zero (the priming of AAC, hidden by an edit list).
    pub(super) const fn holds_negative_times(self) -> bool {
        matches!(self, Self::Mp4 | Self::Mov)
    }
}

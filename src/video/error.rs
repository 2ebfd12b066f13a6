//! What can go wrong with a clip or a film.

use std::path::PathBuf;

/// One error of this room; each names the file and, where there is one, the cure.
#[derive(Debug, thiserror::Error)]
#[allow(missing_docs, reason = "the fields are what the messages say")]
pub enum VideoError {
    /// No file there, or not readable.
    #[error("{file}: {source}", file = file.display())]
    Open { file: PathBuf, source: std::io::Error },
    /// A name that the operating system's C interface cannot carry.
    #[error("{file}: the name holds a NUL byte", file = file.display())]
    Path { file: PathBuf },
    /// The demuxers know nothing of this file.
    #[error("{file}: not a video file that can be read ({said}); expected a clip such as .mp4, .mov or .mkv", file = file.display())]
    NotAClip { file: PathBuf, said: String },
    /// The index at the end of the file is missing.
    #[error(
        "{file}: the recording was cut off: its index (moov) is missing, so no frame can be found in it; \
         repair it with the camera (many mend the last clip when switched on again), or copy it from the card once more",
        file = file.display()
    )]
    NoIndex { file: PathBuf },
    /// The index promises more than the file holds.
    #[error(
        "{file}: the file is cut off: it holds {whole} of {promised} frames, the picture up to film time {whole_s:.3} s; \
         copy it once more{part}",
        file = file.display(),
        part = if *whole > 0 { format!(", or take the part that is there with --to {whole_s:.3}") } else { String::new() }
    )]
    CutOff { file: PathBuf, whole: u64, promised: u64, whole_s: f64 },
    /// Sound, but no picture.
    #[error("{file}: holds no video, only {found}; expected a film of the cockpit", file = file.display())]
    NoVideo { file: PathBuf, found: String },
    /// The sound could not be decoded.
    #[error("{file}: its sound cannot be decoded ({said})", file = file.display())]
    NoSound { file: PathBuf, said: String },
    /// No frame could be decoded.
    #[error("{file}: no frame can be decoded ({said})", file = file.display())]
    NoFrame { file: PathBuf, said: String },
    /// The picture is of a kind that is not taken.
    #[error("{file}: {what}; {cure}", file = file.display())]
    Unsupported { file: PathBuf, what: String, cure: &'static str },
    /// Reading or decoding failed on the way.
    #[error("{file}: reading stopped at film time {film_s:.3} s: {said}", file = file.display())]
    Read { file: PathBuf, film_s: f64, said: String },
    /// The output's ending names no container that is written.
    #[error("{file}: the ending {found} names no film format that is written; end the name with .mp4, .mov, .mkv or .webm", file = file.display())]
    Container { file: PathBuf, found: String },
    /// The container cannot hold a sound track.
    #[error("{file}: {container} cannot hold {codec} sound untouched; end the name with {cure}, or leave it out with --no-sound", file = file.display())]
    SoundInContainer { file: PathBuf, container: &'static str, codec: String, cure: String },
    /// The container cannot hold the codec.
    #[error("{file}: {container} cannot hold {codec}; end the name with {cure}", file = file.display())]
    CodecInContainer { file: PathBuf, container: &'static str, codec: &'static str, cure: String },
    /// The encoder cannot do what is asked.
    #[error("{file}: {what}", file = file.display())]
    Asked { file: PathBuf, what: String },
    /// The encoder is missing or refuses.
    #[error("{file}: the encoder {encoder} cannot start: {said}", file = file.display())]
    Encoder { file: PathBuf, encoder: String, said: String },
    /// Pieces of one film that do not belong together.
    #[error("{file}: {what}", file = file.display())]
    Piece { file: PathBuf, what: String },
    /// Writing failed.
    #[error("{file}: writing failed: {said}", file = file.display())]
    Write { file: PathBuf, said: String },
    /// Memory ran out.
    #[error("out of memory")]
    OutOfMemory,
}

impl VideoError {
    /// Whether the input is to blame (exit code 2) rather than the work (exit code 1).
    pub fn is_input(&self) -> bool {
        !matches!(self, Self::Read { .. } | Self::Encoder { .. } | Self::Write { .. } | Self::OutOfMemory)
    }
}

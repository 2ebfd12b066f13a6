//! What can stop a film.

use crate::blend::BlendError;
use crate::draw::DrawError;
use crate::output::OutputError;
use crate::video::VideoError;
use std::path::PathBuf;

/// One error of this room; each says what to do.
#[derive(Debug, thiserror::Error)]
#[allow(missing_docs, reason = "the fields are what the messages say")]
pub enum RenderError {
    /// The clip or the film.
    #[error(transparent)]
    Video(#[from] VideoError),
    /// The instruments.
    #[error(transparent)]
    Draw(#[from] DrawError),
    /// The laying over.
    #[error(transparent)]
    Blend(#[from] BlendError),
    /// A frame whose samples are not those of the film.
    #[error("a frame's samples do not lie as those of the film's first frame")]
    OtherFrame,
    /// Film and log have no moment in common.
    #[error(
        "film and log do not overlap: on the log's clock the film runs from {f0:.1} to {f1:.1} s, the log from {l0:.1} to {l1:.1} s; \
         set --offset to the log's time (seconds since its first sample) at the film's first frame",
        f0 = film.0, f1 = film.1, l0 = log.0, l1 = log.1
    )]
    NoOverlap { film: (f64, f64), log: (f64, f64) },
    /// --from lies at or after --to or the end.
    #[error(
        "nothing to render: the part starts at film time {from_s:.3} s and ends at {to_s:.3} s; move --from or --to"
    )]
    EmptyPart { from_s: f64, to_s: f64 },
    /// A moment outside the film.
    #[error("film time {at_s:.3} s lies outside the film, which has its last frame at {last_s:.3} s")]
    NoSuchMoment { at_s: f64, last_s: f64 },
    /// A file that cannot be written.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// Two outputs under one name.
    #[error("{file}: film and ledger have the same name; choose another for one of them", file = file.display())]
    SameOutput { file: PathBuf },
    /// Writing the ledger failed.
    #[error("{file}: writing failed: {source}", file = file.display())]
    Write { file: PathBuf, source: std::io::Error },
    /// The finished file does not hold what was written.
    #[error("{file}: the written film holds {found} frames, {expected} were expected; nothing was kept", file = file.display())]
    Verify { file: PathBuf, found: u64, expected: u64 },
    /// A warning, where none is wanted.
    #[error("{file}: {message} (--strict takes every warning as an error; nothing was kept)", file = file.display())]
    Strict { file: PathBuf, message: String },
    /// Stopped by the user, with a part of the film kept.
    #[error("interrupted: {file} holds {frames} frames, the picture up to film time {last_s:.3} s; {cure}", file = file.display())]
    Cut { file: PathBuf, frames: u64, last_s: f64, cure: &'static str },
    /// Stopped by the user, with a part of the pictures kept.
    #[error(
        "interrupted: {frames} pictures are there, the last one, {file}, of film time {last_s:.3} s; give --from for the rest, and \
         other names, since numbers begin at 1",
        file = file.display()
    )]
    CutPictures { file: PathBuf, frames: u64, last_s: f64 },
    /// Pieces that do not make one film.
    #[error("{file}: {what}", file = file.display())]
    Piece { file: PathBuf, what: String },
    /// Stopped by the user.
    #[error("interrupted; nothing was kept")]
    Interrupted,
}

impl RenderError {
    /// Exit code: 2 for wrong input or usage, 130 when interrupted, 1 for work that failed.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Video(e) if !e.is_input() => 1,
            Self::Output(e) if !e.is_input() => 1,
            Self::Write { .. } | Self::Strict { .. } | Self::Verify { .. } | Self::Blend(_) => 1,
            Self::Interrupted | Self::Cut { .. } | Self::CutPictures { .. } => 130,
            _ => 2,
        }
    }
}

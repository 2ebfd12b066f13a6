//! The pipeline: readings onto pictures, pictures onto frames, frames into a file.

mod annotate;
mod error;
mod joining;
mod layer;
mod pieces;
mod pipeline;
mod sequence;
mod stages;
mod still;
mod timing;
mod to_size;

pub use annotate::Annotator;
pub use error::RenderError;
pub use joining::join;
pub(crate) use joining::remove as remove_pieces;
pub use layer::{LayerJob, LayerOutput, render_layer};
pub use pieces::{Input, Manifest, Share, frame_count, piece_name, pieces_there, render_piece};
pub use pipeline::{Progress, Summary, render};
pub use sequence::Sequence;
pub use still::still;
pub use timing::Timing;
pub use to_size::render_to_size;

use crate::clock::ClockFit;
use crate::draw::Look;
use crate::finding::{Finding, Severity};
use crate::judge::{Judged, judge};
use crate::panel::Panel;
use crate::readout::FilmCaption;
use crate::session::Session;
use crate::time::{FilmTime, SessionTime};
use crate::video::{Chapter, Clip, Container, EncodeSettings};
use std::path::PathBuf;

/// What is laid over which film: all that is settled before frame one.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The clip.
    pub clip: Clip,
    /// The readings.
    pub session: Session,
    /// The instruments; empty for a plain copy of the picture.
    pub panel: Panel,
    /// What the flight says of the panel's lamps and limits.
    pub judged: Judged,
    /// Colours and typeface.
    pub look: Look,
    /// The film's clock on the session's.
    pub fit: ClockFit,
    /// What is said over the film, by its times, one at a time; the panel must have a place for it.
    pub captions: Vec<FilmCaption>,
}

/// A film to be written.
#[derive(Debug, Clone)]
pub struct FilmJob {
    /// First film time to write; none for the start.
    pub from: Option<FilmTime>,
    /// Film time at which the film ends, itself left out; none for the end.
    pub to: Option<FilmTime>,
    /// Just these ticks of the film, instead of `from` and `to`: the first frame, and where it ends.
    pub ticks: Option<(i64, Option<i64>)>,
    /// Where the film goes.
    pub output: PathBuf,
    /// Its format.
    pub container: Container,
    /// Whether sound, subtitles and chapters come along.
    pub with_sound: bool,
    /// Whether sound that the container cannot hold is encoded anew, as AAC.
    pub recodes_sound: bool,
    /// Whether players find the index at the file's start.
    pub fast_start: bool,
    /// What the film's comment says of how it was made.
    pub comment: Option<String>,
    /// The film's own chapters, in film time; none for the clip's.
    pub chapters: Option<Vec<Chapter>>,
    /// Whether tags that say where it was taken are left out.
    pub drops_location: bool,
    /// Whether an interrupted film is kept as far as it got, under a name that says so.
    pub keeps_unfinished: bool,
    /// Whether an output that exists may be replaced.
    pub overwrite: bool,
    /// Where the ledger goes.
    pub ledger: Option<PathBuf>,
    /// The files that the film is made from, never to be written.
    pub inputs: Vec<PathBuf>,
    /// How it is encoded.
    pub settings: EncodeSettings,
    /// Decoder threads, 0 for as many as the machine has.
    pub decoder_threads: usize,
    /// Whether a warning on the way means that the film is not kept.
    pub strict: bool,
    /// Blends into the decoder's own frames, which damages frames to come. Only for the test that proves the copy necessary.
    #[doc(hidden)]
    pub skip_copies: bool,
}

impl Plan {
    /// Judges the flight by the panel, before frame one.
    pub fn new(clip: Clip, session: Session, panel: Panel, look: Look, fit: ClockFit) -> Self {
        let judged = judge(&session, &panel);
        Self { clip, session, panel, judged, look, fit, captions: Vec::new() }
    }

    /// Takes everything off the picture.
    pub fn clear_panel(&mut self) {
        (self.panel, self.judged) = Default::default();
    }

    /// Session time at a film time.
    pub fn session_time(&self, film: FilmTime) -> SessionTime {
        SessionTime(self.fit.log_time(film).0)
    }

    /// Film times of the clip's first frame and of its end, in seconds.
    pub fn film_span(&self) -> (f64, f64) {
        (0.0, self.clip.duration_s)
    }

    /// Refuses a film and a log that have no moment in common; remarks on a part that is not covered.
    pub fn check_overlap(&self, from: Option<FilmTime>, to: Option<FilmTime>) -> Result<Vec<Finding>, RenderError> {
        let (start, end) = self.film_span();
        let (start, end) = (from.map_or(start, |t| t.0), to.map_or(end, |t| t.0.min(end)));
        if start > end {
            return Err(RenderError::EmptyPart { from_s: start, to_s: end });
        }
        let on_log = |t| self.session_time(FilmTime(t)).0;
        let (log_start, log_end) = self.session.span();
        let (first, last) = (on_log(start), on_log(end));
        if last < log_start.0 || first > log_end.0 {
            return Err(RenderError::NoOverlap { film: (first, last), log: (log_start.0, log_end.0) });
        }
        let mut findings = Vec::new();
        if let Some(to) = to.filter(|to| to.0 > end + 0.5) {
            let text = format!("the film ends at {end:.3} s, before the end that was asked for ({:.3} s)", to.0);
            findings.push(Finding::new(Severity::Note, "ends_before", text));
        }
        let covered = self.fit.inverse(log_end.0).min(end) - self.fit.inverse(log_start.0).max(start);
        let uncovered = end - start - covered.max(0.0);
        if uncovered > 1.0 {
            let text = format!(
                "{uncovered:.1} s of the film's {:.1} s lie outside the logs and will show no value for long (the film runs \
                 from {first:.1} to {last:.1} s, the logs from {:.1} to {:.1} s, on the session's clock)",
                end - start,
                log_start.0,
                log_end.0
            );
            findings.push(Finding::new(Severity::Warning, "film_not_covered", text));
        }
        Ok(findings)
    }
}

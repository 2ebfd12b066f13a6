//! Reading, drawing and writing, each on its own thread, joined by short queues.
//!
//! ```text
//! reader thread --frames (4)--> this thread: read out, draw, blend, six at a time --frame--> writer thread: encode, mux
//!        \---------------------------- sound packets (never block the reader) ------------------->/
//! ```

use super::stages::{DrawStage, Stop, read_stage, read_to_first_frame, write_stage};
use super::{Annotator, FilmJob, Plan, RenderError, Timing};
use crate::finding::{Finding, Severity};
use crate::output::Pending;
use crate::readout::Ledger;
use crate::time::FilmTime;
use crate::video::{self, Reader, Target, Writer};
use crossbeam_channel::{bounded, unbounded};
use std::io::BufWriter;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;
use std::thread;
use std::time::{Duration, Instant};

/// Frames that may wait to be drawn, beside those that gather to be drawn together: enough to hide unevenness, few enough to stay
/// small in memory. Frames that are drawn wait where they were, so that only one more lies before the encoder.
const WAITING_FRAMES: usize = 4;

/// Is told how the work goes on.
pub trait Progress {
    /// `done` of about `expected` frames are drawn; the last one stands at this film time.
    fn frame(&mut self, done: u64, expected: u64, film: FilmTime);
}

/// What was done.
#[derive(Debug)]
pub struct Summary {
    /// Frames written.
    pub frames: u64,
    /// Frames that had to be copied because the decoder still held them.
    pub copies: u64,
    /// Share of the picture that the panel covers.
    pub covered_share: f64,
    /// What was odd on the way.
    pub findings: Vec<Finding>,
    /// Where the time went.
    pub timing: Timing,
}

/// Writes the film. `cancel` may be set at any time from any thread: what is there by then is kept under a name that says so, if the
/// job wants it, and else nothing is left behind.
pub fn render(
    plan: &Plan,
    job: &FilmJob,
    progress: &mut dyn Progress,
    cancel: &AtomicBool,
) -> Result<Summary, RenderError> {
    plan.clip.check_whole(job.to.map(|t| t.0))?;
    let mut findings = plan.check_overlap(job.from, job.to)?;
    let (start_s, end_s) = plan.film_span();
    let span = (job.from.map_or(start_s, |t| t.0), job.to.map_or(end_s, |t| t.0.min(end_s)));
    let annotator = if plan.panel.is_empty() { None } else { Some(Annotator::new(plan, span)?) };

    let mut reader = Reader::of_look(&plan.clip, job.decoder_threads)?;
    let (early, first, excerpt) = read_to_first_frame(&mut reader, plan, job)?;
    let film = Pending::create(&job.output, job.overwrite, &job.inputs)?;
    let ledger_file = match &job.ledger {
        Some(path) if same_path(path, &job.output) => return Err(RenderError::SameOutput { file: path.clone() }),
        Some(path) => Some(Pending::create(path, job.overwrite, &job.inputs)?),
        None => None,
    };
    let ledger = match &ledger_file {
        Some(pending) => {
            let ledger = Ledger::new(BufWriter::new(pending.file()), &plan.panel);
            Some(ledger.map_err(|source| ledger_failed(job, source))?)
        }
        None => None,
    };
    let target = Target {
        path: film.path(),
        named: &job.output,
        container: job.container,
        with_sound: job.with_sound,
        recodes_sound: job.recodes_sound,
        fast_start: job.fast_start,
        comment: job.comment.as_deref(),
        chapters: job.chapters.as_deref(),
        drops_location: job.drops_location,
    };
    let writer = Writer::create(&target, &reader, &plan.clip, excerpt, &job.settings)?;
    let start = Instant::now();

    let (frames_out, frames_in) = bounded(WAITING_FRAMES);
    let (sound_out, sound_in) = unbounded();
    let (drawn_out, drawn_in) = bounded(1);
    let (copying, drawing) = (Duration::ZERO, Duration::ZERO);
    let mut stage = DrawStage { plan, job, annotator, excerpt, ledger, pool: None, done: 0, copying, drawing };
    // Before the decoder goes on, for the first frame takes all cores: every instrument is drawn from nothing.
    let first = stage.annotate(vec![first])?;
    let (read, drawn, written) = thread::scope(|scope| {
        let reading = scope.spawn(move || read_stage(reader, early, plan, excerpt, &frames_out, &sound_out));
        let writing = scope.spawn(move || write_stage(writer, &drawn_in, &sound_in));
        let drawn = stage.run(first, frames_in, drawn_out, progress, cancel);
        (reading.join(), drawn, writing.join())
    });
    // A stage that only lost its neighbour knows nothing; the neighbour's own reason is the cause.
    let mut cause = None;
    let mut note = |stop: Stop| {
        if let Stop::Error(error) = stop {
            cause.get_or_insert(error);
        }
    };
    let drawn = drawn.map_err(&mut note).ok();
    let read = read.unwrap_or_else(|panic| std::panic::resume_unwind(panic)).map_err(&mut note).ok();
    let written = written.unwrap_or_else(|panic| std::panic::resume_unwind(panic)).map_err(&mut note).ok();
    // A film that is cut short leaves its reader without listeners.
    let cut_at = drawn.as_ref().and_then(|drawn| drawn.cut_at);
    let read = read.or_else(|| cut_at.map(|_| (Vec::new(), Duration::ZERO)));
    let (Some(drawn), Some((read, decode)), Some((frames, wrote, encode))) = (drawn, read, written) else {
        return Err(cause.unwrap_or(RenderError::Interrupted));
    };
    let timing = Timing { decode, copy: drawn.copy, draw: drawn.draw, encode, whole: start.elapsed() };
    findings.extend(read);
    findings.extend(wrote);
    findings.extend(video::take_findings());
    // A first pass is not for keeping, and some encoders make no film of it.
    if !job.settings.is_first_pass() {
        verify(film.path(), &job.output, frames)?;
    }
    if let Some(warning) = findings.iter().find(|f| job.strict && f.severity >= Severity::Warning) {
        return Err(RenderError::Strict { file: plan.clip.file.clone(), message: warning.message.clone() });
    }
    if let Some(last) = cut_at {
        let kept = unfinished(&job.output);
        film.finish_as(&kept)?;
        if let Some((pending, ledger)) = ledger_file.zip(job.ledger.as_ref()) {
            pending.finish_as(&unfinished(ledger))?;
        }
        let cure = "give --resume to go on with a film that may be interrupted, or --from for the rest";
        return Err(RenderError::Cut { file: kept, frames, last_s: last.0, cure });
    }
    film.finish()?;
    if let Some(pending) = ledger_file {
        pending.finish()?;
    }
    Ok(Summary { frames, copies: drawn.copies, covered_share: drawn.covered_share, findings, timing })
}

/// Counts the frames of the finished file.
pub(super) fn verify(path: &Path, named: &Path, expected: u64) -> Result<(), RenderError> {
    let found = video::stored_frames(path)?;
    // What the library says of our own file is not news about the clip.
    video::take_findings();
    if found != expected {
        return Err(RenderError::Verify { file: named.to_owned(), found, expected });
    }
    Ok(())
}

/// The name of a film that was interrupted: `flight.part.mp4` for `flight.mp4`.
pub(super) fn unfinished(path: &Path) -> PathBuf {
    let ending = path.extension().map_or_else(String::new, |ending| format!(".{}", ending.to_string_lossy()));
    path.with_extension(format!("part{ending}"))
}

fn same_path(a: &Path, b: &Path) -> bool {
    matches!((std::path::absolute(a), std::path::absolute(b)), (Ok(a), Ok(b)) if a == b)
}

pub(super) fn ledger_failed(job: &FilmJob, source: std::io::Error) -> RenderError {
    RenderError::Write { file: job.ledger.clone().unwrap_or_default(), source }
}

//! `jumpseat render --part`, `--resume` and `--abreast`: a film in pieces.

use super::progress::Shown;
use super::render::{Arguments, timing_text};
use super::{Failure, Report};
use crate::output::OutputError;
use crate::render::{
    FilmJob, Plan, Progress, RenderError, Share, Summary, frame_count, join, piece_name, pieces_there, remove_pieces,
    render_piece,
};
use crate::time::FilmTime;
use crate::video::Container;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::{Mutex, PoisonError};
use std::thread;

/// Pieces of a minute are short enough to lose, and long enough for an encoder to find its way.
const PIECE_S: f64 = 60.0;
/// Threads beyond which an encoder gains little from more of them on one film: `common practice, no source`.
const THREADS_OF_A_PIECE: usize = 8;
/// Most pieces at once: each has its own encoder's memory.
const MOST_ABREAST: usize = 8;
/// A film shorter than this is not worth cutting, unless it is asked for.
const WORTH_CUTTING_S: f64 = 2.0 * PIECE_S;

/// How many pieces of a film are best rendered at once on a machine with so many threads.
pub(super) fn abreast(threads: usize, film_s: f64) -> usize {
    if film_s < WORTH_CUTTING_S { 1 } else { (threads / THREADS_OF_A_PIECE).clamp(1, MOST_ABREAST) }
}

/// Renders one piece, which is then left beside the film's name.
pub(super) fn one(
    plan: &Plan,
    job: &FilmJob,
    share: Share,
    arguments: &Arguments,
    (progress, cancel): (&mut Shown, &AtomicBool),
    report: &Report,
) -> Result<(), Failure> {
    let result = render_piece(plan, job, share, progress, cancel);
    progress.end();
    let piece = piece_name(&job.output, share, Container::of_pieces(job.settings.codec));
    let summary = result?;
    said(plan, &piece, summary.as_ref(), report);
    if let Some(summary) = summary.filter(|_| arguments.timing()) {
        report.say(&timing_text(&summary.timing, summary.frames));
    }
    Ok(())
}

/// Renders all pieces that are missing, so many at a time, and joins them.
pub(super) fn all(
    plan: &Plan,
    job: &FilmJob,
    at_once: usize,
    (progress, cancel): (&mut Shown, &AtomicBool),
    report: &Report,
) -> Result<(), Failure> {
    // Refused before the work, not after it.
    if job.output.exists() && !job.overwrite {
        return Err(Failure::from_output(OutputError::Exists { file: job.output.clone() }));
    }
    let container = Container::of_pieces(job.settings.codec);
    let frames = frame_count(plan, job)?;
    let seconds = frames as f64 / plan.clip.video.frame_rate.as_f64().max(1e-3);
    let new = (seconds / PIECE_S).ceil().clamp(at_once as f64, 9999.0).min(frames.max(1) as f64) as u32;
    let of = pieces_there(&job.output, container).unwrap_or(new);
    let names: Vec<PathBuf> = (1..=of).map(|number| piece_name(&job.output, Share { number, of }, container)).collect();
    let (next, failed) = (AtomicU32::new(1), AtomicBool::new(false));
    let tally = Mutex::new(Tally { shown: progress, done: 0, frames });
    let work = || -> Result<(), RenderError> {
        while !failed.load(Ordering::Relaxed) {
            let number = next.fetch_add(1, Ordering::Relaxed);
            if number > of {
                break;
            }
            let mut own = Own { tally: &tally, done: 0 };
            let result = render_piece(plan, job, Share { number, of }, &mut own, cancel);
            failed.fetch_or(result.is_err(), Ordering::Relaxed);
            let summary = result?;
            let mut tally = tally.lock().unwrap_or_else(PoisonError::into_inner);
            if summary.is_none() {
                tally.frames -= (frames / u64::from(of)).min(tally.frames);
            }
            tally.shown.end();
            said(plan, &names[number as usize - 1], summary.as_ref(), report);
        }
        Ok(())
    };
    let results: Vec<Result<(), RenderError>> = thread::scope(|scope| {
        let workers: Vec<_> = (0..at_once).map(|_| scope.spawn(work)).collect();
        let joined = workers.into_iter().map(|worker| worker.join());
        joined.map(|result| result.unwrap_or_else(|panic| std::panic::resume_unwind(panic))).collect()
    });
    // An interrupt stops all of them; whatever else stopped one is the cause.
    let mut errors: Vec<RenderError> = results.into_iter().filter_map(Result::err).collect();
    errors.sort_by_key(|error| matches!(error, RenderError::Interrupted));
    if let Some(cause) = errors.into_iter().next() {
        return Err(cause.into());
    }
    let (frames, findings) = join(&names, &job.output, job.overwrite, cancel)?;
    remove_pieces(&names);
    report.findings(&job.output, &findings);
    report.say(&format!("wrote {}: {frames} frames from {of} pieces", job.output.display()));
    Ok(())
}

fn said(plan: &Plan, piece: &std::path::Path, summary: Option<&Summary>, report: &Report) {
    match summary {
        Some(summary) => {
            report.findings(&plan.clip.file, &summary.findings);
            report.say(&format!("wrote {}: {} frames", piece.display(), summary.frames));
        }
        None => report.say(&format!("{}: is there already, whole and of this film", piece.display())),
    }
}

/// How far all pieces are together.
struct Tally<'a> {
    shown: &'a mut Shown,
    done: u64,
    /// Frames of the pieces that were not there.
    frames: u64,
}

/// How far one piece is.
struct Own<'a, 'b> {
    tally: &'a Mutex<Tally<'b>>,
    done: u64,
}

impl Progress for Own<'_, '_> {
    fn frame(&mut self, done: u64, _expected: u64, film: FilmTime) {
        let mut tally = self.tally.lock().unwrap_or_else(PoisonError::into_inner);
        tally.done += done - self.done;
        self.done = done;
        let (done, frames) = (tally.done, tally.frames);
        tally.shown.frame(done, frames, film);
    }
}

#[cfg(test)]
mod tests {
    use super::abreast;

    #[test]
    fn few_cores_and_short_films_are_not_cut() {
        assert_eq!([2, 8, 15, 16, 48, 256].map(|threads| abreast(threads, 3600.0)), [1, 1, 1, 2, 6, 8]);
        assert_eq!(abreast(64, 90.0), 1);
    }
}

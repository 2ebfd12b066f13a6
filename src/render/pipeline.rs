//! Reading, drawing and writing, each on its own thread, joined by short queues.
//!
//! ```text
//! reader thread --frames (4)--> this thread: read out, draw, blend --frames (4)--> writer thread: encode, mux
//!        \--------------------- sound packets (never block the reader) -------------->/
//! ```

use super::{Annotator, FilmJob, Plan, RenderError};
use crate::finding::{Finding, Severity};
use crate::output::Pending;
use crate::readout::Ledger;
use crate::time::FilmTime;
use crate::video::{self, Container, Excerpt, Frame, FramePool, Item, Packet, Reader, Writer};
use crossbeam_channel::{Receiver, Sender, bounded, select, unbounded};
use std::collections::HashSet;
use std::io::{BufWriter, Write};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

/// Frames that may wait between two stages: enough to hide unevenness, few enough to stay small in memory.
const WAITING_FRAMES: usize = 4;

/// How far behind its picture a container may store sound (the interleaving of common muxers stays below one second).
const SOUND_LAG_S: f64 = 2.0;

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
}

/// A frame on its way to the encoder, or the end of the film. A queue that closes without the end means: given up.
enum Drawn {
    Frame(Frame),
    End,
}

/// Why a stage stopped early.
enum Stop {
    /// Its neighbour is gone and will say why.
    NeighbourGone,
    /// Its own reason.
    Error(RenderError),
}

impl<E: Into<RenderError>> From<E> for Stop {
    fn from(error: E) -> Self {
        Self::Error(error.into())
    }
}

/// Writes the film. `cancel` may be set at any time from any thread; nothing is then left behind.
pub fn render(
    plan: &Plan,
    job: &FilmJob,
    progress: &mut dyn Progress,
    cancel: &AtomicBool,
) -> Result<Summary, RenderError> {
    let container = Container::of(&job.output)?;
    plan.clip.check_whole(job.to.map(|t| t.0))?;
    let mut findings = plan.check_overlap(job.from, job.to)?;
    let (start_s, end_s) = plan.film_span();
    let span = (job.from.map_or(start_s, |t| t.0), job.to.map_or(end_s, |t| t.0.min(end_s)));
    let annotator = if plan.panel.is_empty() { None } else { Some(Annotator::new(plan, span)?) };

    let mut reader = Reader::open_clip(&plan.clip, job.decoder_threads)?;
    let (early, excerpt) = read_to_first_frame(&mut reader, plan, job)?;
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
    let writer = Writer::create(film.path(), &job.output, container, &reader, &plan.clip, excerpt, &job.settings)?;

    let (frames_out, frames_in) = bounded(WAITING_FRAMES);
    let (sound_out, sound_in) = unbounded();
    let (drawn_out, drawn_in) = bounded(WAITING_FRAMES);
    let stage = DrawStage { plan, job, annotator, excerpt, ledger, pool: None, done: 0 };
    let (read, drawn, written) = thread::scope(|scope| {
        let reading = scope.spawn(move || read_stage(reader, early, plan, excerpt, &frames_out, &sound_out));
        let writing = scope.spawn(move || write_stage(writer, &drawn_in, &sound_in));
        let drawn = stage.run(frames_in, drawn_out, progress, cancel);
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
    let (Some(drawn), Some(read), Some((frames, wrote))) = (drawn, read, written) else {
        return Err(cause.unwrap_or(RenderError::Interrupted));
    };
    findings.extend(read);
    findings.extend(wrote);
    findings.extend(video::take_findings());
    verify(film.path(), &job.output, frames)?;
    if let Some(warning) = findings.iter().find(|f| job.strict && f.severity >= Severity::Warning) {
        return Err(RenderError::Strict { file: plan.clip.file.clone(), message: warning.message.clone() });
    }
    film.finish()?;
    if let Some(pending) = ledger_file {
        pending.finish()?;
    }
    Ok(Summary { frames, copies: drawn.0, covered_share: drawn.1, findings })
}

/// Reads up to the first frame of the part that is asked for. What came before it (sound) is handed on first.
fn read_to_first_frame(reader: &mut Reader, plan: &Plan, job: &FilmJob) -> Result<(Vec<Item>, Excerpt), RenderError> {
    let (base, film_start) = (reader.time_base(), plan.clip.video.first_pts);
    // A tenth of a tick forgives the rounding of a time that was itself printed from a tick.
    let ticks = |film: FilmTime| film_start.saturating_add((film.0 / base.as_f64() - 0.1).ceil() as i64);
    let (from, end_pts) = (job.from.map(ticks), job.to.map(ticks));
    if let Some(from) = from {
        reader.seek(from)?;
    }
    let mut early = Vec::new();
    let mut last = None;
    while let Some(item) = reader.read_item()? {
        match item {
            Item::Frame(frame) if from.is_some_and(|from| frame.pts < from) => last = Some(frame.pts),
            Item::Frame(frame) => {
                let excerpt = Excerpt { first_pts: frame.pts, end_pts, is_part: from.is_some() || end_pts.is_some() };
                if end_pts.is_some_and(|end| frame.pts >= end) {
                    break;
                }
                early.push(Item::Frame(frame));
                return Ok((early, excerpt));
            }
            sound => early.push(sound),
        }
    }
    let from_s = job.from.map_or(0.0, |t| t.0);
    let to_s = job.to.map_or_else(|| last.map_or(0.0, |pts| base.seconds(pts - film_start)), |t| t.0);
    Err(RenderError::EmptyPart { from_s, to_s })
}

/// Frames to the drawing, sound straight to the writer.
fn read_stage(
    mut reader: Reader,
    early: Vec<Item>,
    plan: &Plan,
    excerpt: Excerpt,
    frames: &Sender<Frame>,
    sound: &Sender<Packet>,
) -> Result<Vec<Finding>, Stop> {
    let end_s = excerpt.end_pts.map_or(f64::INFINITY, |end| reader.time_base().seconds(end));
    // Sound is stored a little apart from its picture: read on until every track has come past the end.
    let mut sounding: HashSet<usize> = plan.clip.audio.iter().map(|a| a.stream).collect();
    let mut early = early.into_iter();
    while let Some(item) = early.next().map_or_else(|| reader.read_item(), |item| Ok(Some(item)))? {
        match item {
            Item::Frame(frame) if excerpt.end_pts.is_some_and(|end| frame.pts >= end) => {
                let beyond_s = reader.time_base().seconds(frame.pts) - end_s;
                if sounding.is_empty() || beyond_s > SOUND_LAG_S {
                    break;
                }
            }
            Item::Frame(frame) => frames.send(frame).map_err(|_| Stop::NeighbourGone)?,
            Item::Sound(packet) => {
                if packet.start_s.is_some_and(|start| start >= end_s) {
                    sounding.remove(&packet.stream());
                } else {
                    sound.send(packet).map_err(|_| Stop::NeighbourGone)?;
                }
            }
        }
    }
    Ok(reader.findings())
}

/// Reads out, draws and blends; runs on the caller's thread.
struct DrawStage<'a, W: Write> {
    plan: &'a Plan,
    job: &'a FilmJob,
    annotator: Option<Annotator<'a>>,
    excerpt: Excerpt,
    ledger: Option<Ledger<W>>,
    pool: Option<FramePool>,
    done: u64,
}

impl<W: Write> DrawStage<'_, W> {
    /// Returns the copies made and the share of the picture covered.
    fn run(
        mut self,
        frames: Receiver<Frame>,
        drawn: Sender<Drawn>,
        progress: &mut dyn Progress,
        cancel: &AtomicBool,
    ) -> Result<(u64, f64), Stop> {
        let video = &self.plan.clip.video;
        let (from_s, to_s) = (self.job.from.map_or(0.0, |t| t.0), self.job.to.map_or(f64::INFINITY, |t| t.0));
        let expected = self.plan.clip.expected_frames(from_s, to_s);
        for frame in &frames {
            if cancel.load(Ordering::Relaxed) {
                return Err(RenderError::Interrupted.into());
            }
            let film = FilmTime(video.time_base.seconds(frame.pts - video.first_pts));
            let frame = self.annotate(frame, film)?;
            drawn.send(Drawn::Frame(frame)).map_err(|_| Stop::NeighbourGone)?;
            self.done += 1;
            progress.frame(self.done, expected, film);
        }
        if let Some(ledger) = self.ledger.take() {
            ledger.finish().and_then(|mut out| out.flush()).map_err(|e| ledger_failed(self.job, e))?;
        }
        drawn.send(Drawn::End).map_err(|_| Stop::NeighbourGone)?;
        let copies = self.pool.as_ref().map_or(0, FramePool::copies);
        let covered = self.annotator.as_mut().map_or(Ok(0.0), Annotator::covered_share)?;
        Ok((copies, covered))
    }

    fn annotate(&mut self, frame: Frame, film: FilmTime) -> Result<Frame, RenderError> {
        let Some(annotator) = &mut self.annotator else { return Ok(frame) };
        let state = annotator.state_at(film);
        if let Some(ledger) = &mut self.ledger {
            let start = if self.excerpt.is_part { self.excerpt.first_pts } else { 0 };
            let pts_s = self.plan.clip.video.time_base.seconds(frame.pts - start);
            let session = self.plan.session_time(film);
            let row = ledger.row(pts_s, session, self.plan.session.utc(session), &state);
            row.map_err(|e| ledger_failed(self.job, e))?;
        }
        let mut frame = if frame.is_writable() || self.job.skip_copies {
            frame
        } else {
            if self.pool.is_none() {
                self.pool = Some(FramePool::like(&frame)?);
            }
            match &self.pool {
                Some(pool) => pool.copy(&frame)?,
                None => frame,
            }
        };
        annotator.lay_over(&state, &mut frame)?;
        Ok(frame)
    }
}

/// Encodes and writes; takes sound while it waits for frames, so that neither holds up the other.
fn write_stage(
    mut writer: Writer,
    drawn: &Receiver<Drawn>,
    sound: &Receiver<Packet>,
) -> Result<(u64, Vec<Finding>), Stop> {
    let mut sound_open = true;
    loop {
        // Sound that is there already belongs before the next frame.
        while let Ok(packet) = sound.try_recv() {
            writer.sound(packet)?;
        }
        let next = if sound_open {
            select! {
                recv(drawn) -> next => Some(next),
                recv(sound) -> packet => {
                    match packet {
                        Ok(packet) => writer.sound(packet)?,
                        Err(_) => sound_open = false,
                    }
                    None
                }
            }
        } else {
            Some(drawn.recv())
        };
        match next {
            None => {}
            Some(Ok(Drawn::Frame(mut frame))) => writer.frame(&mut frame)?,
            Some(Ok(Drawn::End)) => {
                for packet in sound {
                    writer.sound(packet)?;
                }
                return Ok(writer.finish()?);
            }
            Some(Err(_)) => return Err(Stop::NeighbourGone),
        }
    }
}

/// Counts the frames of the finished file.
fn verify(path: &Path, named: &Path, expected: u64) -> Result<(), RenderError> {
    let found = video::stored_frames(path)?;
    // What the library says of our own file is not news about the clip.
    video::take_findings();
    if found != expected {
        return Err(RenderError::Verify { file: named.to_owned(), found, expected });
    }
    Ok(())
}

fn same_path(a: &Path, b: &Path) -> bool {
    matches!((std::path::absolute(a), std::path::absolute(b)), (Ok(a), Ok(b)) if a == b)
}

fn ledger_failed(job: &FilmJob, source: std::io::Error) -> RenderError {
    RenderError::Write { file: job.ledger.clone().unwrap_or_default(), source }
}

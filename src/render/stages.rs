//! The stages of a film: reading, drawing, writing, each on its own thread.

use super::pipeline::{Progress, ledger_failed};
use super::{Annotator, FilmJob, Plan, RenderError};
use crate::finding::Finding;
use crate::readout::{Ledger, PanelState};
use crate::time::FilmTime;
use crate::video::{Excerpt, Frame, FramePool, Item, Packet, Reader, VideoError, Writer};
use crossbeam_channel::{Receiver, Sender, select};
use std::collections::HashSet;
use std::io::Write;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// How far behind its picture a container may store sound (the interleaving of common muxers stays below one second).
const SOUND_LAG_S: f64 = 2.0;

/// Frames that are drawn together. What an instrument needs comes near with the first of them, and has not gone before the last;
/// in between, decoders and encoders sweep it away.
const TOGETHER: usize = 6;

/// A frame on its way to the encoder, or the end of the film. A queue that closes without the end means: given up.
pub(super) enum Drawn {
    Frame(Frame),
    End,
    /// The user's interrupt: the film ends with the frames that are there.
    Cut,
}

/// What the drawing has to tell at its end.
pub(super) struct DrawnFilm {
    /// Frames that had to be copied.
    pub(super) copies: u64,
    pub(super) covered_share: f64,
    /// Film time of the last frame, if the film was cut there.
    pub(super) cut_at: Option<FilmTime>,
    pub(super) copy: Duration,
    pub(super) draw: Duration,
}

/// Why a stage stopped early.
pub(super) enum Stop {
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

/// Reads up to the first frame of the part that is asked for. What came before it (sound) is to be handed on first.
pub(super) fn read_to_first_frame(
    reader: &mut Reader,
    plan: &Plan,
    job: &FilmJob,
) -> Result<(Vec<Packet>, Frame, Excerpt), RenderError> {
    let (base, film_start) = (reader.time_base(), plan.clip.video.first_pts);
    // A tenth of a tick forgives the rounding of a time that was itself printed from a tick.
    let ticks = |film: FilmTime| film_start.saturating_add((film.0 / base.as_f64() - 0.1).ceil() as i64);
    let (from, end_pts) = match job.ticks {
        Some((first, end)) => (Some(first), end),
        None => (job.from.map(ticks), job.to.map(ticks)),
    };
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
                return Ok((early, frame, excerpt));
            }
            Item::Sound(packet) => early.push(packet),
        }
    }
    let from_s = job.from.map_or(0.0, |t| t.0);
    let to_s = job.to.map_or_else(|| last.map_or(0.0, |pts| base.seconds(pts - film_start)), |t| t.0);
    Err(RenderError::EmptyPart { from_s, to_s })
}

/// Frames to the drawing, sound straight to the writer.
pub(super) fn read_stage(
    mut reader: Reader,
    early: Vec<Packet>,
    plan: &Plan,
    excerpt: Excerpt,
    frames: &Sender<Frame>,
    sound: &Sender<Packet>,
) -> Result<(Vec<Finding>, Duration), Stop> {
    let mut busy = Duration::ZERO;
    let end_s = excerpt.end_pts.map_or(f64::INFINITY, |end| reader.time_base().seconds(end));
    // Sound is stored a little apart from its picture: read on until every track has come past the end.
    let mut sounding: HashSet<usize> = plan.clip.audio.iter().map(|a| a.stream).collect();
    let mut early = early.into_iter().map(Item::Sound);
    loop {
        let start = Instant::now();
        let item = early.next().map_or_else(|| reader.read_item(), |item| Ok(Some(item)))?;
        busy += start.elapsed();
        let Some(item) = item else { break };
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
    Ok((reader.findings(), busy))
}

/// Reads out, draws and blends; runs on the caller's thread.
pub(super) struct DrawStage<'a, W: Write> {
    pub(super) plan: &'a Plan,
    pub(super) job: &'a FilmJob,
    pub(super) annotator: Option<Annotator<'a>>,
    pub(super) excerpt: Excerpt,
    pub(super) ledger: Option<Ledger<W>>,
    pub(super) pool: Option<FramePool>,
    pub(super) done: u64,
    pub(super) copying: Duration,
    pub(super) drawing: Duration,
}

impl<W: Write> DrawStage<'_, W> {
    pub(super) fn run(
        mut self,
        first: Vec<(Frame, FilmTime)>,
        frames: Receiver<Frame>,
        drawn: Sender<Drawn>,
        progress: &mut dyn Progress,
        cancel: &AtomicBool,
    ) -> Result<DrawnFilm, Stop> {
        let (from_s, to_s) = (self.job.from.map_or(0.0, |t| t.0), self.job.to.map_or(f64::INFINITY, |t| t.0));
        let expected = self.plan.clip.expected_frames(from_s, to_s);
        let mut cut_at = None;
        let mut last = FilmTime(0.0);
        if cancel.load(Ordering::Relaxed) {
            return Err(RenderError::Interrupted.into());
        }
        // The first frame goes alone, so that the encoder begins early.
        let mut ready = first;
        loop {
            for (frame, film) in ready {
                drawn.send(Drawn::Frame(frame)).map_err(|_| Stop::NeighbourGone)?;
                self.done += 1;
                last = film;
                progress.frame(self.done, expected, film);
            }
            let waiting: Vec<Frame> = frames.iter().take(TOGETHER).collect();
            if waiting.is_empty() {
                break;
            }
            // Not in the middle of a burst: what is drawn stands in the ledger.
            if cancel.load(Ordering::Relaxed) {
                if !self.job.keeps_unfinished {
                    return Err(RenderError::Interrupted.into());
                }
                cut_at = Some(last);
                break;
            }
            ready = self.annotate(waiting)?;
        }
        if let Some(ledger) = self.ledger.take() {
            ledger.finish().and_then(|mut out| out.flush()).map_err(|e| ledger_failed(self.job, e))?;
        }
        let end = if cut_at.is_some() { Drawn::Cut } else { Drawn::End };
        drawn.send(end).map_err(|_| Stop::NeighbourGone)?;
        // The reader may go now, if it still reads.
        drop(frames);
        let copies = self.pool.as_ref().map_or(0, FramePool::copies);
        let covered_share = self.annotator.as_mut().map_or(Ok(0.0), Annotator::covered_share)?;
        Ok(DrawnFilm { copies, covered_share, cut_at, copy: self.copying, draw: self.drawing })
    }

    /// Frames with the panel as it is at their film times.
    pub(super) fn annotate(&mut self, frames: Vec<Frame>) -> Result<Vec<(Frame, FilmTime)>, RenderError> {
        let (plan, job) = (self.plan, self.job);
        let video = &plan.clip.video;
        let film = |frame: &Frame| FilmTime(video.time_base.seconds(frame.pts - video.first_pts));
        let times: Vec<FilmTime> = frames.iter().map(film).collect();
        let Some(annotator) = &mut self.annotator else { return Ok(frames.into_iter().zip(times).collect()) };
        let start = Instant::now();
        let states: Vec<PanelState> = times.iter().map(|&film| annotator.state_at(film)).collect();
        if let Some(ledger) = &mut self.ledger {
            let start = if self.excerpt.is_part { self.excerpt.first_pts } else { 0 };
            for ((frame, &film), state) in frames.iter().zip(&times).zip(&states) {
                let pts_s = video.time_base.seconds(frame.pts - start);
                let session = plan.session_time(film);
                let row = ledger.row(pts_s, session, plan.session.utc(session), state);
                row.map_err(|e| ledger_failed(job, e))?;
            }
        }
        let read_out = Instant::now();
        let pool = &mut self.pool;
        let own = |frame: Frame| own(frame, pool, job);
        let mut frames = frames.into_iter().map(own).collect::<Result<Vec<Frame>, VideoError>>()?;
        let copied = Instant::now();
        annotator.lay_over(&states, &mut frames)?;
        self.copying += copied - read_out;
        self.drawing += (read_out - start) + copied.elapsed();
        Ok(frames.into_iter().zip(times).collect())
    }
}

/// The frame itself, or a copy where the decoder still holds it.
fn own(frame: Frame, pool: &mut Option<FramePool>, job: &FilmJob) -> Result<Frame, VideoError> {
    if frame.is_writable() || job.skip_copies {
        return Ok(frame);
    }
    match pool {
        Some(pool) => pool.copy(&frame),
        None => pool.insert(FramePool::like(&frame)?).copy(&frame),
    }
}

/// Encodes and writes; takes sound while it waits for frames, so that neither holds up the other.
pub(super) fn write_stage(
    mut writer: Writer,
    drawn: &Receiver<Drawn>,
    sound: &Receiver<Packet>,
) -> Result<(u64, Vec<Finding>, Duration), Stop> {
    let mut sound_open = true;
    let mut busy = Duration::ZERO;
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
            Some(Ok(Drawn::Frame(mut frame))) => {
                let start = Instant::now();
                writer.frame(&mut frame)?;
                busy += start.elapsed();
            }
            Some(Ok(end @ (Drawn::End | Drawn::Cut))) => {
                for packet in sound {
                    writer.sound(packet)?;
                }
                if matches!(end, Drawn::Cut) {
                    writer.cut()?;
                }
                let start = Instant::now();
                let (frames, findings) = writer.finish()?;
                return Ok((frames, findings, busy + start.elapsed()));
            }
            Some(Err(_)) => return Err(Stop::NeighbourGone),
        }
    }
}

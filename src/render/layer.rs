//! The instruments alone, with alpha, to be laid over the film in an editor. Times come from the film's packets; nothing is decoded.

use super::pipeline::{Progress, unfinished, verify};
use super::sequence::Sequence;
use super::{Plan, RenderError};
use crate::draw::Painter;
use crate::finding::Finding;
use crate::output::{OutputError, Pending};
use crate::pixel::{FrameShape, Orientation, Patch, PixelBox};
use crate::readout::{Notice, Readout};
use crate::time::FilmTime;
use crate::video::{self, Container, Excerpt, Frame, LayerSettings, LayerWriter, Reader, Target};
use crossbeam_channel::bounded;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

/// Where a layer goes.
#[derive(Debug, Clone)]
pub enum LayerOutput {
    /// One film.
    Film {
        /// Its file.
        file: PathBuf,
        /// Its format.
        container: Container,
        /// How it is encoded.
        settings: LayerSettings,
    },
    /// A picture a frame.
    Pictures {
        /// Their names.
        names: Sequence,
        /// Pictures that are compressed at once; 0 for as many as the machine has cores.
        threads: usize,
    },
}

/// A layer to be written.
#[derive(Debug, Clone)]
pub struct LayerJob {
    /// First film time to write; none for the start.
    pub from: Option<FilmTime>,
    /// Film time at which it ends, itself left out; none for the end.
    pub to: Option<FilmTime>,
    /// Where it goes.
    pub output: LayerOutput,
    /// What a film's comment says of how it was made.
    pub comment: Option<String>,
    /// Whether tags that say where it was taken are left out.
    pub drops_location: bool,
    /// Whether outputs that exist may be replaced.
    pub overwrite: bool,
    /// The files that it is made from, never to be written.
    pub inputs: Vec<PathBuf>,
}

/// What a layer that was cut short can be gone on with.
const FROM: &str = "give --from for the rest";

/// How far the drawing came.
struct Drawn {
    frames: u64,
    /// Film time of the last frame, if the layer was cut there.
    cut_at: Option<FilmTime>,
}

/// Pictures that may wait to be encoded.
const WAITING: usize = 4;

/// Writes the layer; returns the count of its frames and what was odd.
///
/// # Errors
/// The film cannot be read, the panel not be drawn, the output not be written; or it was cancelled: what is there by then is kept, a film
/// under a name that says so.
pub fn render_layer(
    plan: &Plan,
    job: &LayerJob,
    progress: &mut dyn Progress,
    cancel: &AtomicBool,
) -> Result<(u64, Vec<Finding>), RenderError> {
    plan.clip.check_whole(job.to.map(|t| t.0))?;
    let mut findings = plan.check_overlap(job.from, job.to)?;
    let video = &plan.clip.video;
    let at = |t: FilmTime| video.first_pts.saturating_add((t.0 / video.time_base.as_f64() - 0.1).ceil() as i64);
    let (from, end) = (job.from.map(at), job.to.map(at));
    let mut spans = video::frame_spans(&plan.clip)?;
    spans.retain(|&(tick, _)| from.is_none_or(|from| tick >= from) && end.is_none_or(|end| tick < end));
    let Some(&(first_pts, _)) = spans.first() else {
        let (start, stop) = plan.film_span();
        return Err(RenderError::EmptyPart {
            from_s: job.from.map_or(start, |t| t.0),
            to_s: job.to.map_or(stop, |t| t.0),
        });
    };
    let excerpt = Excerpt { first_pts, end_pts: end, is_part: from.is_some() || end.is_some() };
    let frames = match &job.output {
        LayerOutput::Film { file, container, settings } => {
            let shape = if *container == Container::Mov { video.shape } else { upright(video.shape) };
            let drawing = Drawing::new(plan, job, shape)?;
            let source = Reader::open_clip(&plan.clip, 1)?;
            let pending = Pending::create(file, job.overwrite, &job.inputs)?;
            let target = Target {
                path: pending.path(),
                named: file,
                container: *container,
                with_sound: false,
                recodes_sound: false,
                fast_start: false,
                comment: job.comment.as_deref(),
                chapters: None,
                drops_location: job.drops_location,
            };
            let (mut writer, maker) = LayerWriter::create(&target, &source, &plan.clip, shape, excerpt, settings)?;
            let (out, frames) = bounded::<Frame>(WAITING);
            let written = thread::scope(|scope| -> Result<(Drawn, LayerWriter), RenderError> {
                let writing = scope.spawn(move || -> Result<LayerWriter, RenderError> {
                    for frame in frames {
                        writer.write(frame)?;
                    }
                    Ok(writer)
                });
                let drawn = drawing.run(&spans, progress, cancel, |_, (pts, duration), rgba| {
                    let frame = maker.frame(rgba, pts, duration)?;
                    // A writer that is gone says itself why.
                    Ok(out.send(frame).is_ok())
                });
                drop(out);
                let written = writing.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic));
                drawn.and_then(|drawn| Ok((drawn, written?)))
            });
            let (drawn, written) = written?;
            let frames = written.finish()?;
            findings.extend(video::take_findings());
            verify(pending.path(), file, frames)?;
            if let Some(last) = drawn.cut_at {
                let kept = unfinished(file);
                pending.finish_as(&kept)?;
                return Err(RenderError::Cut { file: kept, frames, last_s: last.0, cure: FROM });
            }
            pending.finish()?;
            frames
        }
        LayerOutput::Pictures { names, threads } => {
            let shape = upright(video.shape);
            let count = spans.len() as u64;
            if let Some(file) = (1..=count).map(|n| names.file(n)).find(|file| !job.overwrite && file.exists()) {
                return Err(OutputError::Exists { file }.into());
            }
            let drawing = Drawing::new(plan, job, shape)?;
            findings.extend(names.remark(&spans));
            let drawn = pictures(drawing, job, names, *threads, &spans, progress, cancel)?;
            if let Some(last) = drawn.cut_at {
                let file = names.file(drawn.frames);
                return Err(RenderError::CutPictures { file, frames: drawn.frames, last_s: last.0 });
            }
            count
        }
    };
    Ok((frames, findings))
}

/// Draws pictures and has them compressed on several threads, each into a file that is there whole or not at all.
fn pictures(
    drawing: Drawing<'_>,
    job: &LayerJob,
    names: &Sequence,
    threads: usize,
    spans: &[(i64, i64)],
    progress: &mut dyn Progress,
    cancel: &AtomicBool,
) -> Result<Drawn, RenderError> {
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let (width, height) = (drawing.drawn.place.width, drawing.drawn.place.height);
    let (out, waiting) = bounded::<(u64, Vec<u8>)>(WAITING);
    let failed = &AtomicBool::new(false);
    // What an earlier run may have left half written is cleared once.
    drop(Pending::create(&names.file(1), job.overwrite, &job.inputs)?);
    thread::scope(|scope| {
        let workers: Vec<_> = (0..if threads == 0 { cores } else { threads })
            .map(|_| {
                let waiting = waiting.clone();
                scope.spawn(move || -> Result<(), RenderError> {
                    for (number, rgba) in waiting {
                        let written = write_picture(&names.file(number), (width, height), &rgba, job);
                        if written.is_err() {
                            failed.store(true, Ordering::Relaxed);
                            return written;
                        }
                    }
                    Ok(())
                })
            })
            .collect();
        let drawn = drawing.run(spans, progress, cancel, |number, _, rgba| {
            let goes_on = !failed.load(Ordering::Relaxed);
            Ok(goes_on && out.send((number, rgba.to_vec())).is_ok())
        });
        drop((out, waiting));
        let written = workers.into_iter().map(|w| w.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        let written: Result<(), RenderError> = written.collect::<Vec<_>>().into_iter().collect();
        drawn.and_then(|drawn| written.map(|()| drawn))
    })
}

fn write_picture(file: &Path, (width, height): (u32, u32), rgba: &[u8], job: &LayerJob) -> Result<(), RenderError> {
    let pending = Pending::create_another(file, job.overwrite, &job.inputs)?;
    let failed = |source| RenderError::Write { file: file.to_owned(), source };
    let mut out = BufWriter::new(pending.file());
    let encoder = PngEncoder::new_with_quality(&mut out, CompressionType::Fast, FilterType::Up);
    let encoded = encoder.write_image(rgba, width, height, ExtendedColorType::Rgba8);
    encoded.map_err(|e| failed(std::io::Error::other(e)))?;
    out.flush().map_err(failed)?;
    drop(out);
    pending.finish()?;
    Ok(())
}

/// The shape of the same picture as it is seen, for what cannot say that it is to be turned.
fn upright(shape: FrameShape) -> FrameShape {
    let (width, height, pixel_aspect) = match shape.orientation.quarter_turns % 2 {
        1 => (shape.height, shape.width, 1.0 / shape.pixel_aspect),
        _ => (shape.width, shape.height, shape.pixel_aspect),
    };
    FrameShape { width, height, pixel_aspect, orientation: Orientation::default() }
}

/// The panel on a clear picture.
struct Drawing<'a> {
    plan: &'a Plan,
    readout: Readout<'a>,
    painter: Painter,
    places: Vec<PixelBox>,
    drawn: Patch,
    /// The same, not multiplied by alpha.
    straight: Vec<u8>,
    span: (f64, f64),
}

impl<'a> Drawing<'a> {
    fn new(plan: &'a Plan, job: &LayerJob, shape: FrameShape) -> Result<Self, RenderError> {
        let (start, end) = plan.film_span();
        let span = (job.from.map_or(start, |t| t.0), job.to.map_or(end, |t| t.0.min(end)));
        let painter = Painter::new(&plan.panel, shape, plan.look)?;
        let drawn = Patch::clear(PixelBox { x: 0, y: 0, width: shape.width, height: shape.height });
        let straight = drawn.rgba.clone();
        let places = painter.places().map(|place| place.intersect(drawn.place)).collect();
        let readout = Readout::new(&plan.session, &plan.judged, &plan.panel).with_captions(&plan.captions);
        Ok(Self { plan, readout, painter, places, drawn, straight, span })
    }

    /// Draws every frame and hands it on with its number, from 1, and its time; `to` says whether the work goes on. Cancelled
    /// before the first frame, there is nothing to keep.
    fn run(
        mut self,
        spans: &[(i64, i64)],
        progress: &mut dyn Progress,
        cancel: &AtomicBool,
        mut to: impl FnMut(u64, (i64, i64), &[u8]) -> Result<bool, RenderError>,
    ) -> Result<Drawn, RenderError> {
        let video = &self.plan.clip.video;
        let mut last = None;
        for (number, &(pts, duration)) in (1..).zip(spans) {
            if cancel.load(Ordering::Relaxed) {
                let cut_at = Some(last.ok_or(RenderError::Interrupted)?);
                return Ok(Drawn { frames: number - 1, cut_at });
            }
            let film = FilmTime(video.time_base.seconds(pts - video.first_pts));
            let notice = Notice::at(film.0, self.span.0, self.span.1);
            let state = self.readout.in_film(film, self.plan.session_time(film), notice);
            if self.painter.show(&state) > 0 || number == 1 {
                self.draw();
            }
            let step = spans.get(number as usize).map_or(duration, |&(next, _)| next - pts);
            if !to(number, (pts, step), &self.straight)? {
                break;
            }
            progress.frame(number, spans.len() as u64, film);
            last = Some(film);
        }
        Ok(Drawn { frames: spans.len() as u64, cut_at: None })
    }

    fn draw(&mut self) {
        let width = 4 * self.drawn.place.width as usize;
        let rows = |place: &PixelBox| {
            let (left, right) = (4 * place.x as usize, 4 * place.right() as usize);
            (place.y as usize..place.bottom() as usize).map(move |y| y * width + left..y * width + right)
        };
        for place in &self.places {
            rows(place).for_each(|row| self.drawn.rgba[row].fill(0));
        }
        self.painter.lay(&mut self.drawn);
        for place in &self.places {
            for row in rows(place) {
                let pixels = self.drawn.rgba[row.clone()].as_chunks::<4>().0;
                let straight = self.straight[row].as_chunks_mut::<4>().0;
                straight.iter_mut().zip(pixels).for_each(|(to, &from)| *to = divided(from));
            }
        }
    }
}

/// A pixel whose colour was multiplied by its alpha, as it was before, rounded to nearest.
fn divided([r, g, b, alpha]: [u8; 4]) -> [u8; 4] {
    match u32::from(alpha) {
        0 => [0; 4],
        255 => [r, g, b, 255],
        a => {
            let [r, g, b] = [r, g, b].map(|c| ((u32::from(c) * 255 + a / 2) / a).min(255) as u8);
            [r, g, b, alpha]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::divided;

    #[test]
    fn a_divided_colour_multiplies_back() {
        for alpha in 0..=255_u8 {
            for colour in 0..=alpha {
                let [found, .., a] = divided([colour, 0, 0, alpha]);
                let again = (u32::from(found) * u32::from(alpha) + 127) / 255;
                assert_eq!((again as u8, a), (colour, alpha));
            }
        }
    }
}

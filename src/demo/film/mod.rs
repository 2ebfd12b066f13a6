//! The cockpit film of the invented flight, as the camera behind the pilot would have taken it.
//!
//! Outside lies the invented valley of Harrowmere. It moves as the machine does: the horizon with pitch and bank, the hills
//! with heading and height, the ground with the way that is flown. Attitude and way are made up from speed, height and
//! heading, for the eye only. The dials on the panel are the Dunlin's own; their pointers show the truth of the moment,
//! which is what instruments laid over the film can be judged by. Every frame carries its number (see `strip`).
//!
//! Whatever can be is painted once: sky, hills, map and cockpit, softened where the camera would not see them sharply. A
//! frame only reads from them, so that frames can be made in any order, on all cores, and always come out the same.

mod camera;
mod canvas;
mod cockpit;
mod dials;
mod grain;
mod hand;
mod hills;
mod land;
mod light;
mod moment;
mod sky;
mod sound;
mod strip;
mod texture;
mod world;

use super::flight::{self, DemoError, DemoOptions, Flight};
use crate::blend::BlendError;
use crate::output::{OutputError, Pending};
use crate::time::{FilmTime, Rational};
use crate::video::{Codec, EncodeSettings, Frame, FramePool, Made, Maker, Speed, VideoError};
use camera::Studio;
use crossbeam_channel::{Receiver, bounded};
use rayon::prelude::*;
use sound::Sound;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

/// The film's name beside the logs; the flight file names it.
const FILM: &str = "cockpit.mp4";
/// The sound's name where only sound is made.
const SOUND: &str = "cockpit.m4a";
/// The day of the flight; it ends before midnight.
const DAY: &str = "2026-05-17";
/// Frames that a core paints before they are handed on together.
const FRAMES_A_CORE: usize = 4;
/// Smallest and largest film, in pixels.
const SMALLEST: (u32, u32) = (320, 180);
const LARGEST: (u32, u32) = (3840, 2160);
/// Most frames a second.
const FASTEST: f64 = 240.0;
const SETTINGS: EncodeSettings =
    EncodeSettings { codec: Codec::H264, crf: Some(23), speed: Speed::Fastest, threads: 0 };

/// How the film is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FilmOptions {
    /// Columns, even, 320 to 3840.
    pub width: u32,
    /// Rows, even, 180 to 2160.
    pub height: u32,
    /// Frames a second, 1 to 240.
    pub frame_rate: Rational,
}

/// What was written.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The file.
    pub file: PathBuf,
    /// Its pictures.
    pub frames: u64,
    /// Its length in seconds.
    pub seconds: f64,
}

/// Why there is no film.
#[derive(Debug, thiserror::Error)]
pub enum FilmError {
    /// The flight or its files.
    #[error(transparent)]
    Flight(#[from] DemoError),
    /// A size that is not made.
    #[error(
        "a film of {width} x {height} cannot be made; expected even sides from {} x {} to {} x {}",
        SMALLEST.0, SMALLEST.1, LARGEST.0, LARGEST.1
    )]
    Size {
        /// Columns asked for.
        width: u32,
        /// Rows asked for.
        height: u32,
    },
    /// A frame rate that is not made.
    #[error("a film of {}/{} frames a second cannot be made; expected 1 to {FASTEST}", rate.num, rate.den)]
    Rate {
        /// Frames a second asked for.
        rate: Rational,
    },
    /// Encoding or writing.
    #[error(transparent)]
    Video(#[from] VideoError),
    /// The film's file.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// The pictures.
    #[error(transparent)]
    Blend(#[from] BlendError),
    /// Stopped by the user.
    #[error("interrupted; nothing was kept")]
    Interrupted,
}

impl FilmError {
    /// Exit code: 2 for wrong input or usage, 130 when interrupted, 1 for work that failed.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Flight(DemoError::Write { .. }) | Self::Blend(_) => 1,
            Self::Video(e) if !e.is_input() => 1,
            Self::Output(e) if !e.is_input() => 1,
            Self::Interrupted => 130,
            _ => 2,
        }
    }
}

/// Is told how many frames of how many are done, and the film time of the last one.
pub type Progress<'a> = dyn FnMut(u64, u64, FilmTime) + 'a;

/// Writes the flight into `dir` with its film, `cockpit.mp4`. The film begins some seconds after the battery is switched
/// on and ends with the engine log, when the rotor has stopped.
///
/// `cancel` may be set at any time from any thread; nothing is then left behind.
///
/// # Errors
/// [`FilmError`]; the film stands under its name only when it is complete, and the flight's files only beside it.
pub fn write(
    dir: &Path,
    options: &DemoOptions,
    film: &FilmOptions,
    progress: &mut Progress<'_>,
    cancel: &AtomicBool,
) -> Result<Written, FilmError> {
    let FilmOptions { width, height, frame_rate } = *film;
    let fits = |side: u32, least: u32, most: u32| side.is_multiple_of(2) && (least..=most).contains(&side);
    if !fits(width, SMALLEST.0, LARGEST.0) || !fits(height, SMALLEST.1, LARGEST.1) {
        return Err(FilmError::Size { width, height });
    }
    let per_s = frame_rate.as_f64();
    if frame_rate.num <= 0 || frame_rate.den <= 0 || !(1.0..=FASTEST).contains(&per_s) {
        return Err(FilmError::Rate { rate: frame_rate });
    }
    let flight = Flight::invent(&DemoOptions { film: true, ..*options })?;
    flight::prepare(dir)?;
    let file = dir.join(FILM);
    let pending = Pending::create(&file, false, &[])?;
    let frames = (flight.film_end_s() * per_s).ceil() as u64;
    let made = Made { width, height, frame_rate, settings: SETTINGS };
    let maker = Maker::create(pending.path(), &file, Some(&made), sound::HZ, &created(&flight))?;
    let studio = Studio::new(&flight, (width, height), frame_rate, frames as f64 / per_s)?;
    shoot(&flight, &studio, maker, &made, frames, progress, cancel)?;
    flight::write_files(dir, &flight)?;
    pending.finish()?;
    Ok(Written { file, frames, seconds: frames as f64 / per_s })
}

/// Writes the flight into `dir` with the film's sound alone, `cockpit.m4a`; the flight file names no film.
///
/// # Errors
/// As [`write()`].
pub fn write_sound(dir: &Path, options: &DemoOptions, cancel: &AtomicBool) -> Result<Written, FilmError> {
    let flight = Flight::invent(&DemoOptions { film: false, ..*options })?;
    flight::prepare(dir)?;
    let file = dir.join(SOUND);
    let pending = Pending::create(&file, false, &[])?;
    let mut maker = Maker::create(pending.path(), &file, None, sound::HZ, &created(&flight))?;
    let seconds = flight.film_end_s();
    let (mut sound, mut samples) = (Sound::new(&flight), Vec::new());
    for second in 1..=seconds.ceil() as u64 {
        if cancel.load(Ordering::Relaxed) {
            return Err(FilmError::Interrupted);
        }
        samples.clear();
        sound.up_to(sample(seconds.min(second as f64)), &mut samples);
        maker.sound(&samples)?;
    }
    maker.finish()?;
    flight::write_files(dir, &flight)?;
    pending.finish()?;
    Ok(Written { file, frames: 0, seconds })
}

/// The first sample at or after a film time.
fn sample(film_s: f64) -> u64 {
    (film_s * f64::from(sound::HZ)).ceil() as u64
}

/// When the film begins, by the camera's clock: right, but in whole seconds, the rest dropped.
fn created(flight: &Flight) -> String {
    let seconds = flight.film_start_utc_s() as u64;
    format!("{DAY}T{:02}:{:02}:{:02}Z", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

/// Some frames in a row, with the sound that belongs to them.
struct Portion {
    frames: Vec<Frame>,
    samples: Vec<f32>,
}

/// Paints on all cores, portion by portion, while the portion before is encoded.
fn shoot(
    flight: &Flight,
    studio: &Studio<'_>,
    maker: Maker,
    made: &Made,
    frames: u64,
    progress: &mut Progress<'_>,
    cancel: &AtomicBool,
) -> Result<(), FilmError> {
    let pool = FramePool::planar(made.width, made.height)?;
    let portion = (FRAMES_A_CORE * rayon::current_num_threads()) as u64;
    // One portion is painted, one waits, one is encoded.
    let (to_encoder, portions) = bounded(1);
    thread::scope(|scope| {
        let encoding = scope.spawn(move || encode(maker, &portions));
        let mut sound = Sound::new(flight);
        let mut painted = Ok(());
        for first in (0..frames).step_by(portion as usize) {
            if cancel.load(Ordering::Relaxed) {
                painted = Err(FilmError::Interrupted);
                break;
            }
            let end = (first + portion).min(frames);
            let mut samples = Vec::new();
            sound.up_to(sample(studio.film_s(end)), &mut samples);
            let numbers: Vec<u64> = (first..end).collect();
            match numbers.par_iter().map(|&number| paint(studio, &pool, number)).collect() {
                Ok(frames) => {
                    // The encoder gives up with a reason of its own.
                    if to_encoder.send(Some(Portion { frames, samples })).is_err() {
                        break;
                    }
                }
                Err(error) => {
                    painted = Err(error);
                    break;
                }
            }
            progress(end, frames, FilmTime(studio.film_s(end - 1)));
        }
        if painted.is_ok() {
            // A closed channel without this means that the film is given up.
            let _ = to_encoder.send(None);
        }
        drop(to_encoder);
        let encoded = encoding.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic));
        painted.and(encoded.map_err(FilmError::from))
    })
}

fn paint(studio: &Studio<'_>, pool: &FramePool, number: u64) -> Result<Frame, FilmError> {
    let mut frame = pool.blank(number as i64, 1)?;
    if let Some(mut planes) = frame.planes_mut() {
        studio.paint(number, &mut planes)?;
    }
    Ok(frame)
}

fn encode(mut maker: Maker, portions: &Receiver<Option<Portion>>) -> Result<(), VideoError> {
    loop {
        match portions.recv() {
            Ok(Some(mut portion)) => {
                maker.sound(&portion.samples)?;
                for frame in &mut portion.frames {
                    maker.frame(frame)?;
                }
            }
            Ok(None) => return maker.finish().map(|_| ()),
            Err(_) => return Ok(()),
        }
    }
}

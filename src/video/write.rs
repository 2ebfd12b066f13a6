//! The film on its way out: frames through the encoder, sound packets beside them in step.

use super::colour::Tags;
use super::encode::{Encoder, Pictures};
use super::ff;
use super::mux::{self, Muxer};
use super::read::Reader;
use super::{Clip, Container, EncodeSettings, Frame, Packet, VideoError};
use crate::finding::{Finding, Severity};
use crate::pixel::Range;
use crate::time::Rational;
use ffmpeg_next::ffi;
use std::collections::{HashMap, VecDeque};
use std::path::Path;

/// Sound that may wait for its picture. When it is full, packets are written in the order they came.
const WAITING_BYTES: usize = 64 << 20;

/// Which part of the source is written, in ticks of its film track.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Excerpt {
    /// Time of the first frame that is written.
    pub first_pts: i64,
    /// The film ends before this time; none for the end of the clip.
    pub end_pts: Option<i64>,
    /// Whether this is only a part, so that the new film starts at zero.
    pub is_part: bool,
}

/// Writes one film.
pub struct Writer {
    muxer: Muxer,
    encoder: Encoder,
    film_track: usize,
    film_base: ffi::AVRational,
    /// Source stream to track and source time base.
    sound_tracks: HashMap<usize, (usize, ffi::AVRational)>,
    excerpt: Excerpt,
    /// Added to every time, in ticks of the film track.
    shift: i64,
    /// Whether sound that starts before the first frame can be kept (hidden by an edit list).
    keeps_early_sound: bool,
    waiting: VecDeque<ffmpeg_next::Packet>,
    waiting_bytes: usize,
    refused_sound: u64,
    frames: u64,
}

impl Writer {
    /// Creates the film at `path`, with every sound track of the source. `named` is the name that the user gave.
    pub fn create(
        path: &Path,
        named: &Path,
        container: Container,
        source: &Reader,
        clip: &Clip,
        excerpt: Excerpt,
        settings: &EncodeSettings,
    ) -> Result<Self, VideoError> {
        settings.codec.check_container(named, container)?;
        check_container(named, container, source, clip)?;
        let time_base = source.time_base();
        // SAFETY: the reader keeps its demuxer, and so every stream, alive; indices come from the probed clip of the same file.
        let stream = |index: usize| unsafe { (*(*source.input().as_ptr()).streams.add(index)).cast_const() };
        let film = stream(clip.video.stream);
        // SAFETY: as above, and the stream is of this very context.
        let pixel_aspect = unsafe { ff::pixel_aspect(source.input().as_ptr(), film) };
        let side = |n| i32::try_from(n).map_err(|_| VideoError::OutOfMemory);
        let shape = clip.video.shape;
        let pictures = Pictures {
            size: (side(shape.width)?, side(shape.height)?),
            format: clip.video.planar()?,
            // SAFETY: as above; plain fields are read.
            tags: Tags::of(unsafe { (*film).codecpar }),
            full: clip.video.coding.colour.range == Range::Full,
            pixel_aspect,
            frame_rate: clip.video.frame_rate,
            time_base,
            fields: clip.video.fields,
            light: clip.video.light.clone(),
        };
        let encoder = Encoder::open(named, &pictures, settings)?;
        let mut muxer = Muxer::create(path, named, container)?;
        let film_track = muxer.add_film(encoder.context(), film, settings.codec, &clip.video.light)?;
        if excerpt.is_part {
            muxer.drop_time_code(film_track);
        }
        let mut sound_tracks = HashMap::new();
        for track in &clip.audio {
            let source = stream(track.stream);
            // SAFETY: as above; a plain field is read.
            let base = unsafe { (*source).time_base };
            sound_tracks.insert(track.stream, (muxer.add_copy(source)?, base));
        }
        muxer.copy_tags(source);
        muxer.start(movie_timescale(time_base, clip.audio.iter().map(|a| a.rate_hz)))?;
        let film_base = ff::av_rational(time_base);
        let shift = if excerpt.is_part {
            -excerpt.first_pts
        } else if container.holds_negative_times() {
            // A picture before zero would be cut by the edit list.
            (-excerpt.first_pts).max(0)
        } else {
            let sound = clip.audio.iter().filter_map(|a| source.start_of(a.stream));
            let earliest = sound.map(|s| (s / time_base.as_f64()).floor() as i64).fold(excerpt.first_pts, i64::min);
            (-earliest).max(0)
        };
        Ok(Self {
            muxer,
            encoder,
            film_track,
            film_base,
            sound_tracks,
            excerpt,
            shift,
            keeps_early_sound: !excerpt.is_part || container.holds_negative_times(),
            waiting: VecDeque::new(),
            waiting_bytes: 0,
            refused_sound: 0,
            frames: 0,
        })
    }

    /// Takes the next frame, in the order of their times.
    pub fn frame(&mut self, frame: &mut Frame) -> Result<(), VideoError> {
        frame.pts += self.shift;
        self.frames += 1;
        self.encoder.send(Some(frame))?;
        self.drain_encoder()
    }

    /// Takes a sound packet of the source.
    pub fn sound(&mut self, packet: Packet) -> Result<(), VideoError> {
        let mut packet = packet.inner;
        let Some(&(track, base)) = self.sound_tracks.get(&packet.stream()) else { return Ok(()) };
        let rescale = |ticks| {
            // SAFETY: pure arithmetic on numbers; the film's time base is valid.
            unsafe { ffi::av_rescale_q(ticks, self.film_base, base) }
        };
        if self.excerpt.is_part {
            let Some(pts) = packet.pts().or(packet.dts()) else { return Ok(()) };
            let start = rescale(self.excerpt.first_pts);
            let begins_early = pts < start;
            if pts + packet.duration() <= start || (begins_early && !self.keeps_early_sound) {
                return Ok(());
            }
            if self.excerpt.end_pts.is_some_and(|end| pts >= rescale(end)) {
                return Ok(());
            }
        }
        let shift = rescale(self.shift);
        packet.set_pts(packet.pts().map(|t| t + shift));
        packet.set_dts(packet.dts().map(|t| t + shift));
        packet.rescale_ts(base, self.muxer.time_base(track));
        packet.set_stream(track);
        self.waiting_bytes += packet.size();
        self.waiting.push_back(packet);
        while self.waiting_bytes > WAITING_BYTES {
            self.write_one_sound()?;
        }
        Ok(())
    }

    /// Ends the film. Returns the number of frames written and what was odd.
    pub fn finish(mut self) -> Result<(u64, Vec<Finding>), VideoError> {
        self.encoder.send(None)?;
        self.drain_encoder()?;
        while !self.waiting.is_empty() {
            self.write_one_sound()?;
        }
        let mut findings = self.encoder.findings();
        if self.refused_sound > 0 {
            let text = format!("{} sound packets go back in time and were left out", self.refused_sound);
            findings.push(Finding::new(Severity::Warning, "sound_goes_back", text));
        }
        self.muxer.finish()?;
        Ok((self.frames, findings))
    }

    fn drain_encoder(&mut self) -> Result<(), VideoError> {
        while let Some(mut packet) = self.encoder.receive()? {
            let base = self.muxer.time_base(self.film_track);
            packet.rescale_ts(self.film_base, base);
            while self.sound_is_due(packet.dts().unwrap_or(i64::MAX), base) {
                self.write_one_sound()?;
            }
            self.muxer.write(&mut packet, self.film_track)?;
        }
        Ok(())
    }

    /// Whether the sound that waits longest belongs before a film packet of this time.
    fn sound_is_due(&self, film_dts: i64, film_base: ffi::AVRational) -> bool {
        let Some(packet) = self.waiting.front() else { return false };
        let Some(dts) = packet.dts().or(packet.pts()) else { return true };
        let base = self.muxer.time_base(packet.stream());
        // SAFETY: pure arithmetic; both time bases come from the muxer and are valid.
        unsafe { ffi::av_compare_ts(dts, base, film_dts, film_base) <= 0 }
    }

    fn write_one_sound(&mut self) -> Result<(), VideoError> {
        let Some(mut packet) = self.waiting.pop_front() else { return Ok(()) };
        self.waiting_bytes -= packet.size();
        let track = packet.stream();
        match self.muxer.write(&mut packet, track) {
            // The muxer's word for a time that does not follow the one before.
            Err(VideoError::Write { said, .. }) if said.contains("Invalid argument") => self.refused_sound += 1,
            other => return other,
        }
        Ok(())
    }
}

/// Refuses, before anything is written, what the container cannot hold.
fn check_container(named: &Path, container: Container, source: &Reader, clip: &Clip) -> Result<(), VideoError> {
    for track in &clip.audio {
        // SAFETY: the reader keeps the stream alive; a plain field is read.
        let codec = unsafe { (*(**(*source.input().as_ptr()).streams.add(track.stream)).codecpar).codec_id };
        if !mux::holds(container, codec) {
            let cure =
                if container == Container::Mp4 && mux::holds(Container::Mov, codec) { ".mov or .mkv" } else { ".mkv" };
            return Err(VideoError::SoundInContainer {
                file: named.to_owned(),
                container: container.name(),
                codec: track.codec.clone(),
                cure,
            });
        }
    }
    if container == Container::Mkv && clip.video.shape.orientation != Default::default() {
        return Err(VideoError::Unsupported {
            file: named.to_owned(),
            what: "MKV as written here cannot say that the picture is to be turned".into(),
            cure: "end the name with .mp4 or .mov",
        });
    }
    Ok(())
}

/// A movie time scale in which both the film's ticks and the sound's samples are whole numbers, so that edit lists are exact.
pub(super) fn movie_timescale(film: Rational, sound_hz: impl Iterator<Item = u32>) -> i32 {
    let gcd = |mut a: u64, mut b: u64| {
        while b != 0 {
            (a, b) = (b, a % b);
        }
        a
    };
    let film = film.den.unsigned_abs().max(1) as u64;
    let all = sound_hz.map(|hz| u64::from(hz.max(1))).fold(film, |l, rate| l / gcd(l, rate) * rate);
    // Finer than this, even a short film needs the 64-bit durations that some old players lack.
    let scale = if all <= 100_000_000 {
        all
    } else if film >= 1000 {
        film
    } else {
        90_000
    };
    i32::try_from(scale).unwrap_or(90_000)
}

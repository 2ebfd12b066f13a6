//! The film on its way out: frames through the encoder, sound packets beside them in step.

use super::colour::Tags;
use super::encode::{Encoder, Pictures};
use super::ff;
use super::interleave::Interleaver;
use super::mux::{self, Muxer};
use super::pieces::Piece;
use super::read::Reader;
use super::transcode::Transcoder;
use super::{Clip, Container, EncodeSettings, Frame, Origin, Packet, VideoError};
use crate::finding::{Finding, Severity};
use crate::pixel::Range;
use crate::time::Rational;
use ffmpeg_next::ffi;
use std::collections::HashMap;
use std::path::Path;

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

/// The file that a film is written to.
#[derive(Debug, Clone, Copy)]
pub struct Target<'a> {
    /// Where it is written for now.
    pub path: &'a Path,
    /// The name that the user gave, for messages.
    pub named: &'a Path,
    /// Its format.
    pub container: Container,
    /// Whether sound, subtitles and chapters of the source come along.
    pub with_sound: bool,
    /// Whether sound that the container cannot hold is encoded anew, as AAC.
    pub recodes_sound: bool,
    /// Whether players find the index at the file's start, which takes reading it once more at the end.
    pub fast_start: bool,
    /// What the film's comment says, below what the source's says; where it begins in the source is said after it.
    pub comment: Option<&'a str>,
    /// Chapters of its own, in film time; none for the source's.
    pub chapters: Option<&'a [Chapter]>,
    /// Whether tags that say where it was taken are left out.
    pub drops_location: bool,
}

/// A stretch of a film with a name.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Chapter {
    /// Film time of the source in microseconds: whole, so that manifests of pieces can be compared.
    pub from_us: i64,
    /// Film time of the source in microseconds.
    pub to_us: i64,
    /// Its name.
    pub title: String,
}

/// Writes one film.
pub struct Writer {
    packets: Interleaver,
    /// None where finished packets come in.
    encoder: Option<Encoder>,
    film_base: ffi::AVRational,
    /// Source stream to track and source time base, of sound and subtitles.
    sound_tracks: HashMap<usize, (usize, ffi::AVRational)>,
    /// Those that are encoded anew, by source stream.
    transcoders: HashMap<usize, Transcoder>,
    excerpt: Excerpt,
    /// Added to every time, in ticks of the film track.
    shift: i64,
    /// Whether sound that starts before the first frame can be kept (hidden by an edit list).
    keeps_early_sound: bool,
    frames: u64,
    /// Where the last frame ends, in ticks of the film track as written.
    end: i64,
    /// When the last finished packet was decoded, in the same ticks.
    last_dts: i64,
    findings: Vec<Finding>,
}

impl Writer {
    /// Creates the film, with what the source has beside its picture.
    ///
    /// # Errors
    /// The container or the encoder cannot hold something, or the file cannot be written.
    pub fn create(
        target: &Target<'_>,
        source: &Reader,
        clip: &Clip,
        excerpt: Excerpt,
        settings: &EncodeSettings,
    ) -> Result<Self, VideoError> {
        settings.codec.check_container(target.named, target.container)?;
        let film = stream_of(source, clip.video.stream);
        // SAFETY: the reader keeps its demuxer, and so every stream, alive.
        let pixel_aspect = unsafe { ff::pixel_aspect(source.input().as_ptr(), film) };
        let side = |n| i32::try_from(n).map_err(|_| VideoError::OutOfMemory);
        let shape = clip.video.shape;
        let pictures = Pictures {
            size: (side(shape.width)?, side(shape.height)?),
            format: clip.video.planar()?,
            // SAFETY: as above; plain fields are read.
            tags: match clip.reshape {
                None => Tags::of(unsafe { (*film).codecpar }),
                // A matrix that was told by the size is told otherwise by another size.
                Some(_) => Tags::of(unsafe { (*film).codecpar }).with_matrix(clip.video.coding.colour.matrix),
            },
            full: clip.video.coding.colour.range == Range::Full,
            pixel_aspect: pixel_aspect.filter(|_| clip.reshape.is_none_or(|cut| cut.to.is_none())),
            frame_rate: clip.video.frame_rate,
            time_base: source.time_base(),
            fields: clip.video.fields,
            light: clip.video.light.clone(),
        };
        let encoder = Encoder::open(target.named, &pictures, settings)?;
        let mut writer = Self::open(target, source, clip, excerpt, |muxer| {
            muxer.add_film(encoder.context(), film, &clip.video.light)
        })?;
        writer.encoder = Some(encoder);
        Ok(writer)
    }

    /// Creates the film from pieces that were encoded before; `first` is any of them.
    ///
    /// # Errors
    /// As [`Writer::create`].
    pub fn of_pieces(
        target: &Target<'_>,
        source: &Reader,
        clip: &Clip,
        excerpt: Excerpt,
        first: &Piece,
    ) -> Result<Self, VideoError> {
        let film = stream_of(source, clip.video.stream);
        Self::open(target, source, clip, excerpt, |muxer| {
            muxer.add_copied_film(first.stream(), film, &clip.video.light)
        })
    }

    fn open(
        target: &Target<'_>,
        source: &Reader,
        clip: &Clip,
        excerpt: Excerpt,
        add_film: impl FnOnce(&mut Muxer) -> Result<usize, VideoError>,
    ) -> Result<Self, VideoError> {
        let Target { container, .. } = *target;
        check_container(target, source, clip)?;
        let time_base = source.time_base();
        let mut findings = Vec::new();
        let mut muxer = Muxer::create(target.path, target.named, container)?;
        let film_track = add_film(&mut muxer)?;
        if excerpt.is_part {
            muxer.drop_time_code(film_track);
        }
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
        let (mut sound_tracks, mut transcoders) = (HashMap::new(), HashMap::new());
        if target.with_sound {
            let base_s = time_base.as_f64();
            let part_s = excerpt.end_pts.map_or(f64::INFINITY, |end| (end - excerpt.first_pts) as f64 * base_s);
            let mut carried: Vec<_> = clip.audio.iter().map(|track| (track.stream, &track.codec)).collect();
            for track in &clip.subtitles {
                if mux::holds(container, codec_of(source, track.stream)) {
                    carried.push((track.stream, &track.codec));
                } else {
                    let text =
                        format!("{} cannot hold the {} subtitles, which are left out", container.name(), track.codec);
                    findings.push(Finding::new(Severity::Note, "subtitles_not_carried", text));
                }
            }
            for (index, codec) in carried {
                let stream = stream_of(source, index);
                // SAFETY: the reader keeps the stream alive; a plain field is read.
                let base = unsafe { (*stream).time_base };
                let track = if mux::holds(container, codec_of(source, index)) {
                    muxer.add_copy(stream)?
                } else {
                    let span = if excerpt.is_part { (0.0, part_s) } else { (f64::NEG_INFINITY, f64::INFINITY) };
                    // SAFETY: the reader keeps the stream alive.
                    let transcoder = unsafe { Transcoder::of(&clip.file, stream, span)? };
                    let track = muxer.add_recoded(transcoder.context(), stream)?;
                    let text = format!("{} cannot hold {codec} sound, which is encoded as AAC", container.name());
                    findings.push(Finding::new(Severity::Note, "sound_encoded", text));
                    transcoders.insert(index, transcoder);
                    track
                };
                sound_tracks.insert(index, (track, base));
            }
            let end_s = excerpt.end_pts.map_or(f64::INFINITY, |end| end as f64 * base_s);
            let first_s = if excerpt.is_part { excerpt.first_pts as f64 * base_s } else { f64::NEG_INFINITY };
            if target.chapters.is_none() {
                muxer.copy_chapters(source, (first_s, end_s), shift as f64 * base_s)?;
            }
        }
        // Film time counts from the clip's first shown frame.
        let film_s = |pts: i64| (pts - clip.video.first_pts) as f64 * time_base.as_f64();
        let (first_s, end_s) = (film_s(excerpt.first_pts), excerpt.end_pts.map_or(f64::INFINITY, film_s));
        let by_s = (clip.video.first_pts + shift) as f64 * time_base.as_f64();
        for chapter in target.chapters.unwrap_or_default() {
            let (from_s, to_s) = ((chapter.from_us as f64 / 1e6).max(first_s), (chapter.to_us as f64 / 1e6).min(end_s));
            if from_s < to_s {
                muxer.add_chapter(from_s + by_s, to_s + by_s, &chapter.title)?;
            }
        }
        muxer.copy_tags(source);
        if target.drops_location {
            muxer.drop_location();
        }
        if let Some(comment) = target.comment {
            let from_s = if excerpt.is_part { first_s } else { 0.0 };
            let origin = Origin::of(&clip.file, from_s);
            muxer.comment(source, &format!("{comment} {}", origin.sentence()))?;
        }
        let timescale = movie_timescale(time_base, clip.audio.iter().map(|a| a.rate_hz));
        muxer.start(timescale, target.fast_start)?;
        let sounding = clip.audio.iter().filter_map(|audio| sound_tracks.get(&audio.stream)).map(|&(track, _)| track);
        Ok(Self {
            packets: Interleaver::new(muxer, film_track, film_base, sounding),
            encoder: None,
            film_base,
            sound_tracks,
            transcoders,
            excerpt,
            shift,
            keeps_early_sound: !excerpt.is_part || container.holds_negative_times(),
            frames: 0,
            end: 0,
            last_dts: i64::MIN,
            findings,
        })
    }

    /// Takes the next frame, in the order of their times.
    pub fn frame(&mut self, frame: &mut Frame) -> Result<(), VideoError> {
        frame.pts += self.shift;
        self.frames += 1;
        self.end = frame.pts + frame.duration.max(1);
        if let Some(encoder) = &mut self.encoder {
            encoder.send(Some(frame))?;
        }
        self.drain_encoder()
    }

    /// Takes the next finished packet of the film, its times in ticks of the source's film track.
    pub fn packet(&mut self, packet: Packet) -> Result<(), VideoError> {
        let mut packet = packet.inner;
        let pts = packet.pts().unwrap_or_default() + self.shift;
        // Between two pieces the order of decoding must go on, though each encoder reckons back from its own first frames.
        let dts =
            packet.dts().unwrap_or_default().saturating_add(self.shift).max(self.last_dts.saturating_add(1)).min(pts);
        packet.set_pts(Some(pts));
        packet.set_dts(Some(dts));
        self.last_dts = dts;
        self.frames += 1;
        self.end = self.end.max(pts + packet.duration().max(1));
        self.packets.film(packet)
    }

    /// Takes a sound packet of the source.
    pub fn sound(&mut self, packet: Packet) -> Result<(), VideoError> {
        let mut packet = packet.inner;
        let Some(&(track, base)) = self.sound_tracks.get(&packet.stream()) else { return Ok(()) };
        let rescale = |ticks| {
            // SAFETY: pure arithmetic on numbers; the film's time base is valid.
            unsafe { ffi::av_rescale_q(ticks, self.film_base, base) }
        };
        let shift = rescale(self.shift);
        if let Some(transcoder) = self.transcoders.get_mut(&packet.stream()) {
            packet.set_pts(packet.pts().map(|t| t + shift));
            packet.set_dts(packet.dts().map(|t| t + shift));
            let (own, packets) = (transcoder.time_base(), &mut self.packets);
            return transcoder.send(&packet, &mut |made| packets.sound(made, own, track));
        }
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
        packet.set_pts(packet.pts().map(|t| t + shift));
        packet.set_dts(packet.dts().map(|t| t + shift));
        self.packets.sound(packet, base, track)
    }

    /// Takes what transcoders still hold, in the order of their times.
    fn end_transcoders(&mut self) -> Result<(), VideoError> {
        for (stream, transcoder) in &mut self.transcoders {
            let Some(&(track, _)) = self.sound_tracks.get(stream) else { continue };
            let (own, packets) = (transcoder.time_base(), &mut self.packets);
            transcoder.end(&mut |made| packets.sound(made, own, track))?;
        }
        self.transcoders.clear();
        Ok(())
    }

    /// Ends the film early: what sounds after its last frame is left out.
    ///
    /// # Errors
    /// What is left of sound cannot be encoded.
    pub fn cut(&mut self) -> Result<(), VideoError> {
        self.end_transcoders()?;
        self.packets.cut(self.end);
        Ok(())
    }

    /// Ends the film. Returns the number of frames written and what was odd.
    pub fn finish(mut self) -> Result<(u64, Vec<Finding>), VideoError> {
        self.end_transcoders()?;
        if let Some(encoder) = &mut self.encoder {
            encoder.send(None)?;
        }
        self.drain_encoder()?;
        let mut findings = self.findings;
        findings.extend(self.encoder.iter_mut().flat_map(Encoder::findings));
        let refused = self.packets.finish()?;
        if refused > 0 {
            let text = format!("{refused} sound packets go back in time and were left out");
            findings.push(Finding::new(Severity::Warning, "sound_goes_back", text));
        }
        Ok((self.frames, findings))
    }

    fn drain_encoder(&mut self) -> Result<(), VideoError> {
        while let Some(packet) = self.encoder.as_mut().map_or(Ok(None), Encoder::receive)? {
            self.packets.film(packet)?;
        }
        Ok(())
    }
}

/// A stream of the source.
fn stream_of(source: &Reader, index: usize) -> *const ffi::AVStream {
    // SAFETY: indices come from the probed clip of the same file.
    unsafe { (*(*source.input().as_ptr()).streams.add(index)).cast_const() }
}

fn codec_of(source: &Reader, index: usize) -> ffi::AVCodecID {
    // SAFETY: the reader keeps the stream alive; a plain field is read.
    unsafe { (*(*stream_of(source, index)).codecpar).codec_id }
}

/// Refuses, before anything is written, what the container cannot hold.
fn check_container(target: &Target<'_>, source: &Reader, clip: &Clip) -> Result<(), VideoError> {
    let (named, container) = (target.named, target.container);
    for track in clip.audio.iter().filter(|_| target.with_sound) {
        let codec = codec_of(source, track.stream);
        let aac = mux::holds(container, ffi::AVCodecID::AV_CODEC_ID_AAC);
        if !(mux::holds(container, codec) || target.recodes_sound && aac) {
            let others = [Container::Mp4, Container::Mov, Container::Mkv].into_iter();
            let cure: Vec<_> = others.filter(|&other| mux::holds(other, codec)).map(Container::ending).collect();
            return Err(VideoError::SoundInContainer {
                file: named.to_owned(),
                container: container.name(),
                codec: track.codec.clone(),
                cure: cure.join(" or ") + if aac { ", have it encoded with --sound aac" } else { "" },
            });
        }
    }
    if !container.holds_turns() && clip.video.shape.orientation != Default::default() {
        return Err(VideoError::Unsupported {
            file: named.to_owned(),
            what: format!("{} as written here cannot say that the picture is to be turned", container.name()),
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

//! Demuxing and decoding: frames of the film, and the packets of its sound, in the order of the file.

use super::damage::Damage;
use super::deinterlace::Deinterlacer;
use super::ff::{self, AGAIN, check, rational};
use super::format::{self, PixelFormat};
use super::frame::FieldOrder;
use super::joined::List;
use super::jumps::{Jumps, base_of};
use super::light::LightData;
use super::messages::Complaints;
use super::mux::Packet;
use super::open::{open_input, open_list_input};
use super::reshape::Reshaper;
use super::unpack::Unpacker;
use super::{Clip, Frame, VideoError, messages};
use crate::finding::Finding;
use crate::time::Rational;
use ffmpeg_next::ffi;
use ffmpeg_next::{codec, decoder, format as container};
use std::collections::VecDeque;
use std::path::{Path, PathBuf};

/// What comes out of a clip.
pub enum Item {
    /// A decoded frame.
    Frame(Frame),
    /// An encoded packet of a sound or subtitle track.
    Sound(Packet),
}

/// The first shown frame, as a sample.
pub(super) struct First {
    pub(super) pts: i64,
    /// Which field comes first, where the picture is made of two.
    pub(super) fields: Option<FieldOrder>,
    /// Columns, rows, and the library's number of the pixel format, as the frames are handed out.
    pub(super) kind: (i32, i32, i32),
    /// What it says of light.
    pub(super) light: LightData,
}

/// A clip, open for reading from its start or from a moment.
pub struct Reader {
    file: PathBuf,
    input: container::context::Input,
    decoder: decoder::Video,
    video: usize,
    time_base: Rational,
    /// Columns, rows and pixel format of the first frame as it was decoded.
    kind: Option<(i32, i32, i32)>,
    /// Takes frames apart whose samples do not lie in planes.
    unpacker: Option<Unpacker>,
    /// Whether frames made of two fields become whole pictures, and what does it, from the first frame on.
    deinterlaces: bool,
    deinterlacer: Option<Deinterlacer>,
    /// Brings frames into another shape.
    reshaper: Option<Reshaper>,
    /// Where the container's clock may jump.
    jumps: Option<Jumps>,
    /// Frames decoded, not yet handed out.
    ready: VecDeque<Item>,
    drained: bool,
    /// Ticks of the last frame handed out, and of the film's first.
    last_pts: Option<i64>,
    /// Ticks at which the first frame stands and the last one ends.
    span: Option<(i64, i64)>,
    damage: Damage,
    /// Declared after the decoder, which is so closed before it.
    complaints: Complaints,
}

impl Reader {
    /// Opens a clip; `threads` for the decoder, 0 for as many as the machine has.
    pub fn open(file: &Path, threads: usize) -> Result<Self, VideoError> {
        Self::open_film(file, open_input(file)?, threads)
    }

    /// Opens a clip that was looked at, whether it is one file or several.
    pub fn open_clip(clip: &Clip, threads: usize) -> Result<Self, VideoError> {
        let mut reader = match &clip.list {
            Some(list) => Self::open_list(&clip.file, list, threads)?,
            None => Self::open(&clip.file, threads)?,
        };
        reader.shape_as(clip)?;
        Ok(reader)
    }

    /// Goes on with the reader that the clip was looked at with, where it was kept, from the clip's start; else opens it anew.
    ///
    /// # Errors
    /// As [`Reader::open_clip`].
    pub fn of_look(clip: &Clip, threads: usize) -> Result<Self, VideoError> {
        // What is at its end already would not be told of it again.
        let kept = clip.kept.take().filter(|(with, reader)| *with == threads && !reader.drained);
        let Some((_, mut reader)) = kept else { return Self::open_clip(clip, threads) };
        reader.shape_as(clip)?;
        for item in std::mem::take(&mut reader.ready) {
            match item {
                Item::Frame(frame) => reader.hand_on(Some(frame))?,
                sound => reader.ready.push_back(sound),
            }
        }
        Ok(reader)
    }

    fn shape_as(&mut self, clip: &Clip) -> Result<(), VideoError> {
        self.reshaper = Reshaper::of(clip)?;
        self.deinterlaces = clip.deinterlaced;
        Ok(())
    }

    /// Opens several files as one; errors name the first.
    pub(super) fn open_list(first: &Path, list: &List, threads: usize) -> Result<Self, VideoError> {
        Self::open_film(first, open_list_input(first, list)?, threads)
    }

    fn open_film(file: &Path, input: container::context::Input, threads: usize) -> Result<Self, VideoError> {
        let video = film_stream(file, &input)?;
        let stream = input.stream(video).ok_or(VideoError::OutOfMemory)?;
        let time_base = stream.time_base();
        let no_decoder = |e: ffmpeg_next::Error| VideoError::NoFrame {
            file: file.to_owned(),
            said: messages::last_complaint().unwrap_or(e.to_string()),
        };
        let mut context = codec::context::Context::from_parameters(stream.parameters()).map_err(no_decoder)?;
        // SAFETY: the context is ours and not open yet; the time base lets the decoder mark frames cut by an edit list.
        let complaints = unsafe {
            (*context.as_mut_ptr()).thread_count = threads as i32;
            (*context.as_mut_ptr()).pkt_timebase = time_base.into();
            // The decoder stands before them in the reader, and is dropped before them wherever this ends early.
            Complaints::of(context.as_mut_ptr())
        };
        let decoder = context.decoder().video().map_err(no_decoder)?;
        // SAFETY: the demuxer is open; plain fields are read.
        let promised_s = unsafe {
            let context = &*input.as_ptr();
            let second = f64::from(ffi::AV_TIME_BASE);
            let start = ff::ticks(context.start_time).unwrap_or(0);
            // Without a header the library guesses by the bit rate: that promises nothing.
            let known =
                context.duration_estimation_method == ffi::AVDurationEstimationMethod::AVFMT_DURATION_FROM_STREAM;
            ff::ticks(context.duration).filter(|_| known).map(|d| (start + d) as f64 / second)
        };
        // SAFETY: as above.
        let jumps = unsafe { Jumps::of(input.as_ptr()) };
        Ok(Self {
            file: file.to_owned(),
            time_base: rational(time_base.into()),
            input,
            decoder,
            video,
            kind: None,
            jumps,
            unpacker: None,
            deinterlaces: false,
            deinterlacer: None,
            reshaper: None,
            ready: VecDeque::new(),
            drained: false,
            last_pts: None,
            span: None,
            damage: Damage::new(promised_s),
            complaints,
        })
    }

    /// The next frame or sound packet; none at the end of the clip.
    pub fn read_item(&mut self) -> Result<Option<Item>, VideoError> {
        loop {
            if let Some(item) = self.ready.pop_front() {
                return Ok(Some(item));
            }
            if self.drained {
                return Ok(None);
            }
            match self.read()? {
                None => {
                    // Errors of the flush are damage at the very end; the frames before it came out already.
                    self.damage.ended();
                    if self.decoder.send_eof().is_err() {
                        self.damage.packet(self.here_s());
                    }
                    self.receive()?;
                    self.damage.complaints(self.complaints.take(), self.here_s());
                    self.hand_on(None)?;
                    self.drained = true;
                    // It would keep its last references, which could not be drawn on then.
                    self.decoder.flush();
                }
                Some(packet) if packet.stream() == self.video => self.send(&packet)?,
                Some(packet) => {
                    let stream = self.input.stream(packet.stream());
                    if let Some(stream) = stream.filter(is_carried) {
                        let base = rational(stream.time_base().into());
                        let start_s = packet.pts().or(packet.dts()).map(|t| base.seconds(t));
                        self.ready.push_back(Item::Sound(Packet { inner: packet, start_s }));
                    }
                }
            }
        }
    }

    /// The next packet of sound or subtitles, without decoding the film; none at the end.
    ///
    /// # Errors
    /// Reading failed.
    pub fn next_sound(&mut self) -> Result<Option<Packet>, VideoError> {
        while let Some(packet) = self.read()? {
            let stream = self.input.stream(packet.stream());
            if let Some(stream) = stream.filter(is_carried) {
                let base = rational(stream.time_base().into());
                let start_s = packet.pts().or(packet.dts()).map(|t| base.seconds(t));
                return Ok(Some(Packet { inner: packet, start_s }));
            }
        }
        Ok(None)
    }

    /// Goes to the key frame at or before `pts`; the caller drops the frames before its moment.
    pub fn seek(&mut self, pts: i64) -> Result<(), VideoError> {
        // A whole picture is made of its neighbours' fields too: one more is wanted before it, if there is one.
        if !(self.deinterlaces && self.seek_before(pts - 1).is_ok()) {
            self.seek_before(pts).map_err(|e| self.failed(&e.to_string()))?;
        }
        self.deinterlacer = None;
        self.decoder.flush();
        self.ready.clear();
        self.drained = false;
        self.last_pts = None;
        self.span = None;
        self.complaints.take();
        self.damage.restart();
        if let Some(jumps) = &mut self.jumps {
            jumps.restart();
        }
        Ok(())
    }

    fn seek_before(&mut self, pts: i64) -> Result<i32, ffmpeg_next::Error> {
        // SAFETY: the demuxer is open and owned by this struct; the stream index is the film's own.
        check(unsafe { ffi::avformat_seek_file(self.input.as_mut_ptr(), self.video as i32, i64::MIN, pts, pts, 0) })
    }

    /// Time base of the film's ticks.
    pub fn time_base(&self) -> Rational {
        self.time_base
    }

    /// What went wrong on the way without stopping the work.
    pub fn findings(&self) -> Vec<Finding> {
        let (start, end) = self.span.unwrap_or_default();
        // SAFETY: the demuxer is open, and the stream its own.
        let rate = unsafe {
            let context = self.input.as_ptr();
            rational(ff::frame_rate(context, *(*context).streams.add(self.video))).as_f64()
        };
        let (start_s, end_s) = (self.time_base.seconds(start), self.time_base.seconds(end));
        let damage = self.damage.findings(start_s, end_s, if rate.is_finite() { rate } else { 0.0 });
        self.jumps.iter().flat_map(Jumps::findings).chain(damage).collect()
    }

    /// How far the film is, in seconds of its own stamps.
    fn here_s(&self) -> f64 {
        self.last_pts.map_or(0.0, |pts| self.time_base.seconds(pts))
    }

    /// Seconds at which a stream's first packet starts, as far as the demuxer has seen it.
    pub(super) fn start_of(&self, stream: usize) -> Option<f64> {
        let stream = self.input.stream(stream)?;
        let base = rational(stream.time_base().into());
        ff::ticks(stream.start_time()).map(|t| base.seconds(t))
    }

    pub(super) fn file(&self) -> &Path {
        &self.file
    }

    pub(super) fn input(&self) -> &container::context::Input {
        &self.input
    }

    pub(super) fn video_stream(&self) -> usize {
        self.video
    }

    /// Whether the container's clock may jump.
    pub(super) fn may_jump(&self) -> bool {
        self.jumps.is_some()
    }

    /// The library's number of the pixel format of the frames as decoded, once there was one.
    pub(super) fn decoded_format(&self) -> Option<i32> {
        self.kind.map(|(.., format)| format)
    }

    /// Decodes up to the first shown frame, which is handed out again, with what came before it.
    pub(super) fn first_frame(&mut self) -> Result<First, VideoError> {
        let mut seen = Vec::new();
        while let Some(item) = self.read_item()? {
            seen.push(item);
            if let Some(Item::Frame(frame)) = seen.last() {
                // SAFETY: the demuxer is open, and the stream its own.
                let light = unsafe {
                    let stream = *(*self.input.as_ptr()).streams.add(self.video);
                    LightData::of(frame, stream)
                };
                let first = First { pts: frame.pts, fields: FieldOrder::of(frame), kind: frame.kind(), light };
                seen.into_iter().rev().for_each(|item| self.ready.push_front(item));
                return Ok(first);
            }
        }
        let said = messages::last_complaint().unwrap_or_else(|| "the clip is empty".into());
        Err(VideoError::NoFrame { file: self.file.clone(), said })
    }

    /// The next packet of the film that is shown, without decoding it.
    pub(super) fn next_video_packet(&mut self) -> Result<Option<ffmpeg_next::Packet>, VideoError> {
        while let Some(packet) = self.read()? {
            // SAFETY: only a plain field of the live packet is read.
            let hidden = unsafe { (*ffmpeg_next::packet::Ref::as_ptr(&packet)).flags } & ffi::AV_PKT_FLAG_DISCARD != 0;
            if packet.stream() == self.video && !hidden {
                return Ok(Some(packet));
            }
        }
        Ok(None)
    }

    /// One packet from the demuxer; none at the end. Damaged ones are counted and passed over.
    fn read(&mut self) -> Result<Option<ffmpeg_next::Packet>, VideoError> {
        // A demuxer that never gets past its damage must not hold the program for ever.
        let mut tries = 0;
        loop {
            let mut packet = ffmpeg_next::Packet::empty();
            match packet.read(&mut self.input) {
                Ok(()) => {
                    if let Some(jumps) = &mut self.jumps {
                        // SAFETY: the demuxer is open, and its packets name its own streams.
                        let base = unsafe { base_of(self.input.as_ptr(), packet.stream()) };
                        jumps.follow(&mut packet, base);
                    }
                    // SAFETY: as above.
                    let base = unsafe { base_of(self.input.as_ptr(), packet.stream()) };
                    if let Some(start) = packet.pts().or(packet.dts()) {
                        // SAFETY: a plain field of the live packet is read.
                        let flags = unsafe { (*ffmpeg_next::packet::Ref::as_ptr(&packet)).flags };
                        if flags & ffi::AV_PKT_FLAG_CORRUPT != 0 {
                            self.damage.packet(base.seconds(start));
                        }
                        self.damage.reached(base.seconds(start + packet.duration().max(0)));
                    }
                    return Ok(Some(packet));
                }
                Err(ffmpeg_next::Error::Eof) => return Ok(None),
                Err(ffmpeg_next::Error::InvalidData) if tries < 1000 => {
                    tries += 1;
                    self.damage.packet(self.here_s());
                }
                Err(e) if e == AGAIN && tries < 1000 => tries += 1,
                Err(e) => return Err(self.failed(&e.to_string())),
            }
        }
    }

    fn send(&mut self, packet: &ffmpeg_next::Packet) -> Result<(), VideoError> {
        // All frames are taken after every packet, so the decoder never has to say "again" twice for the same packet.
        for _ in 0..2 {
            match self.decoder.send_packet(packet) {
                Err(e) if e == AGAIN => self.receive()?,
                Err(ffmpeg_next::Error::InvalidData) => {
                    self.damage.packet(self.here_s());
                    break;
                }
                Err(e) => return Err(self.failed(&e.to_string())),
                Ok(()) => break,
            }
        }
        self.receive()
    }

    /// Takes every frame that the decoder has ready.
    fn receive(&mut self) -> Result<(), VideoError> {
        let mut tries = 0;
        loop {
            let mut inner = ffmpeg_next::frame::Video::empty();
            match self.decoder.receive_frame(&mut inner) {
                Ok(()) => {}
                Err(e) if e == AGAIN || e == ffmpeg_next::Error::Eof => return Ok(()),
                Err(ffmpeg_next::Error::InvalidData) if tries < 1000 => {
                    tries += 1;
                    self.damage.packet(self.here_s());
                    continue;
                }
                Err(e) => return Err(self.failed(&e.to_string())),
            }
            let Some(pts) = inner.timestamp() else {
                self.damage.without_time();
                continue;
            };
            if self.last_pts.is_some_and(|last| pts <= last) {
                self.damage.repeated();
                continue;
            }
            self.last_pts = Some(pts);
            // SAFETY: the frame is alive; plain fields are read.
            let torn = unsafe {
                let frame = &*inner.as_ptr();
                frame.decode_error_flags != 0 || frame.flags & ffi::AV_FRAME_FLAG_CORRUPT != 0
            };
            if torn {
                self.damage.frame(self.time_base.seconds(pts));
            }
            self.damage.complaints(self.complaints.take(), self.time_base.seconds(pts));
            let duration = inner.packet().duration;
            self.span = Some((self.span.map_or(pts, |span| span.0), pts + duration.max(0)));
            let frame = self.planar(Frame { inner, pts, duration })?;
            self.hand_on(Some(frame))?;
        }
    }

    /// Takes a frame, or none for the end, through what changes pictures.
    fn hand_on(&mut self, frame: Option<Frame>) -> Result<(), VideoError> {
        if !self.deinterlaces {
            return frame.map_or(Ok(()), |frame| self.hand_out(frame));
        }
        if let (None, Some(first)) = (&self.deinterlacer, &frame) {
            self.deinterlacer = Some(Deinterlacer::like(&self.file, first, self.time_base)?);
        }
        let Some(mut deinterlacer) = self.deinterlacer.take() else { return Ok(()) };
        deinterlacer.send(frame)?;
        while let Some(frame) = deinterlacer.receive()? {
            self.hand_out(frame)?;
        }
        self.deinterlacer = Some(deinterlacer);
        Ok(())
    }

    fn hand_out(&mut self, frame: Frame) -> Result<(), VideoError> {
        let frame = match &mut self.reshaper {
            Some(reshaper) => reshaper.reshape(frame)?,
            None => frame,
        };
        self.ready.push_back(Item::Frame(frame));
        Ok(())
    }

    /// A decoded frame with its samples in planes. Every frame must be like the first.
    fn planar(&mut self, frame: Frame) -> Result<Frame, VideoError> {
        let kind @ (width, height, format) = frame.kind();
        match self.kind {
            None => {
                let known = PixelFormat::of(format).map_err(|what| VideoError::Unsupported {
                    file: self.file.clone(),
                    what,
                    cure: "convert the clip first, for example with ffmpeg -i IN -pix_fmt yuv420p -c:a copy OUT",
                })?;
                if known.planar != known.id {
                    self.unpacker = Some(Unpacker::new(known, width, height)?);
                }
                self.kind = Some(kind);
            }
            Some(first) if first == kind => {}
            Some(first) => {
                let said = |(width, height, format)| format!("{width} x {height} {}", format::name(format));
                return Err(VideoError::Unsupported {
                    file: self.file.clone(),
                    what: format!(
                        "the picture changes from {} to {} at {:.3} s",
                        said(first),
                        said(kind),
                        self.time_base.seconds(frame.pts)
                    ),
                    cure: "cut the clip there and render the parts one by one",
                });
            }
        }
        match &mut self.unpacker {
            Some(unpacker) => unpacker.unpack(&frame),
            None => Ok(frame),
        }
    }

    fn failed(&self, said: &str) -> VideoError {
        let start_s = self.start_of(self.video).unwrap_or(0.0);
        let film_s = (self.damage.reached_s().max(self.here_s()) - start_s).max(0.0);
        VideoError::Read { file: self.file.clone(), film_s, said: said.to_owned() }
    }
}

/// Whether a stream comes along as it is: sound and subtitles.
fn is_carried(stream: &ffmpeg_next::Stream<'_>) -> bool {
    use ffmpeg_next::media::Type::{Audio, Subtitle};
    matches!(stream.parameters().medium(), Audio | Subtitle)
}

/// The stream that is the film: the library's best video stream that is no cover picture.
pub(super) fn film_stream(file: &Path, input: &container::context::Input) -> Result<usize, VideoError> {
    let is_film = |s: &ffmpeg_next::Stream<'_>| {
        s.parameters().medium() == ffmpeg_next::media::Type::Video
            && !s.disposition().contains(container::stream::Disposition::ATTACHED_PIC)
    };
    let best =
        input.streams().best(ffmpeg_next::media::Type::Video).filter(is_film).or_else(|| input.streams().find(is_film));
    best.map(|s| s.index()).ok_or_else(|| {
        let mut found: Vec<&str> = input
            .streams()
            .map(|s| match s.parameters().medium() {
                ffmpeg_next::media::Type::Audio => "sound",
                ffmpeg_next::media::Type::Video => "a cover picture",
                ffmpeg_next::media::Type::Subtitle => "subtitles",
                _ => "data",
            })
            .collect();
        found.dedup();
        let found = if found.is_empty() { "nothing that can be shown".into() } else { found.join(", ") };
        VideoError::NoVideo { file: file.to_owned(), found }
    })
}

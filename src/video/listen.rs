//! The sound of a clip as plain samples: decoded, mixed to one channel, and as many a second as are asked for.

use super::ff::{self, AGAIN, rational};
use super::open::open_input;
use super::probe::Clip;
use super::{VideoError, messages};
use ffmpeg_next::format::{Sample, sample};
use ffmpeg_next::software::resampling;
use ffmpeg_next::{ChannelLayout, codec, decoder, ffi, format, frame, media};
use std::path::Path;

/// Stamps that lie further than this from where the samples before them end are a gap or an overlap, in seconds.
const GAP_S: f64 = 0.02;
/// No gap is filled beyond this: stamps that leap further are wrong.
const LONGEST_GAP_S: f64 = 600.0;

/// Decodes the first sound track of a clip and hands its samples on, -1 to 1, without a gap: where the track has one there is
/// silence. The film time of the first sample; none where the clip has no sound. Memory does not grow with the clip.
///
/// # Errors
/// The clip cannot be opened, or its sound cannot be decoded.
pub fn listen(clip: &Clip, hz: u32, to: impl FnMut(&[f32])) -> Result<Option<f64>, VideoError> {
    let zero_s = clip.video.time_base.seconds(clip.video.first_pts);
    let input = match &clip.list {
        Some(list) => super::open::open_list_input(&clip.file, list)?,
        None => open_input(&clip.file)?,
    };
    Ok(Ear::open(&clip.file, input, hz, to)?.map(Ear::run).transpose()?.flatten().map(|start_s| start_s - zero_s))
}

/// The same of a file that may have no picture, in the file's own time.
///
/// # Errors
/// As [`listen`].
pub fn listen_to_file(file: &Path, hz: u32, to: impl FnMut(&[f32])) -> Result<Option<f64>, VideoError> {
    Ok(Ear::open(file, open_input(file)?, hz, to)?.map(Ear::run).transpose()?.flatten())
}

/// A sound track that is being decoded.
struct Ear<'a, T> {
    file: &'a Path,
    input: format::context::Input,
    stream: usize,
    time_base: crate::time::Rational,
    decoder: decoder::Audio,
    /// Makes one channel of what the decoder gives; made anew where that changes.
    mixer: Option<resampling::Context>,
    hz: u32,
    to: T,
    start_s: Option<f64>,
    /// Samples handed on, and taken from the decoder in seconds.
    given: u64,
    taken_s: f64,
}

impl<'a, T: FnMut(&[f32])> Ear<'a, T> {
    fn open(file: &'a Path, mut input: format::context::Input, hz: u32, to: T) -> Result<Option<Self>, VideoError> {
        let Some(stream) = input.streams().best(media::Type::Audio).map(|s| s.index()) else { return Ok(None) };
        // SAFETY: the demuxer is open and owned here; the streams' plain `discard` fields are set before anything is read.
        unsafe {
            let context = &*input.as_mut_ptr();
            for other in (0..context.nb_streams as usize).filter(|i| *i != stream) {
                (**context.streams.add(other)).discard = ffi::AVDiscard::AVDISCARD_ALL;
            }
        }
        let track = input.stream(stream).ok_or(VideoError::OutOfMemory)?;
        let time_base = track.time_base();
        let refused = |e: ffmpeg_next::Error| VideoError::NoSound {
            file: file.to_owned(),
            said: messages::last_complaint().unwrap_or(e.to_string()),
        };
        let mut context = codec::context::Context::from_parameters(track.parameters()).map_err(refused)?;
        // SAFETY: the context is ours and not open yet; the time base lets the decoder cut what the encoder put in front.
        unsafe { (*context.as_mut_ptr()).pkt_timebase = time_base.into() };
        let decoder = context.decoder().audio().map_err(refused)?;
        let time_base = rational(time_base.into());
        Ok(Some(Self {
            file,
            input,
            stream,
            time_base,
            decoder,
            mixer: None,
            hz,
            to,
            start_s: None,
            given: 0,
            taken_s: 0.0,
        }))
    }

    /// Decodes to the end; the time of the first sample.
    fn run(mut self) -> Result<Option<f64>, VideoError> {
        // Damage is passed over, but must not hold the program for ever.
        let mut tries = 0;
        loop {
            let mut packet = ffmpeg_next::Packet::empty();
            match packet.read(&mut self.input) {
                Ok(()) if packet.stream() == self.stream => match self.decoder.send_packet(&packet) {
                    Ok(()) => self.receive()?,
                    Err(ffmpeg_next::Error::InvalidData) => {}
                    Err(e) => return Err(self.failed(&e)),
                },
                Ok(()) => {}
                Err(ffmpeg_next::Error::Eof) => break,
                Err(e) if (e == ffmpeg_next::Error::InvalidData || e == AGAIN) && tries < 1000 => tries += 1,
                Err(e) => return Err(self.failed(&e)),
            }
        }
        if self.decoder.send_eof().is_ok() {
            self.receive()?;
        }
        self.drain()?;
        Ok(self.start_s)
    }

    /// Takes all frames that the decoder has ready.
    fn receive(&mut self) -> Result<(), VideoError> {
        let mut frame = frame::Audio::empty();
        loop {
            match self.decoder.receive_frame(&mut frame) {
                Ok(()) => self.take(&mut frame)?,
                Err(e) if e == AGAIN || e == ffmpeg_next::Error::Eof => return Ok(()),
                Err(ffmpeg_next::Error::InvalidData) => {}
                Err(e) => return Err(self.failed(&e)),
            }
        }
    }

    fn take(&mut self, frame: &mut frame::Audio) -> Result<(), VideoError> {
        if frame.rate() == 0 || frame.samples() == 0 {
            return Ok(());
        }
        let stamped = ff::ticks(frame.timestamp().unwrap_or(ffi::AV_NOPTS_VALUE)).map(|t| self.time_base.seconds(t));
        let start_s = *self.start_s.get_or_insert(stamped.unwrap_or(0.0));
        let apart = stamped.map_or(0.0, |at| at - start_s - self.taken_s);
        if apart < -GAP_S {
            return Ok(());
        }
        if apart > GAP_S && apart < LONGEST_GAP_S {
            self.drain()?;
            self.taken_s += apart;
            let due = (self.taken_s * f64::from(self.hz)).round() as u64;
            let silence = vec![0.0; usize::try_from(due.saturating_sub(self.given)).unwrap_or(0)];
            self.hand_on(&silence);
        }
        self.taken_s += frame.samples() as f64 / f64::from(frame.rate());
        // Some tracks say how many channels there are, but not which.
        let layout = match frame.channel_layout() {
            layout if layout.bits() == 0 => ChannelLayout::default(i32::from(frame.channels())),
            layout => layout,
        };
        frame.set_channel_layout(layout);
        let (kind, rate) = (frame.format(), frame.rate());
        let given = resampling::context::Definition { format: kind, channel_layout: layout, rate };
        if self.mixer.as_ref().is_none_or(|mixer| *mixer.input() != given) {
            self.drain()?;
            let planar = Sample::F32(sample::Type::Planar);
            let made = resampling::Context::get(kind, layout, rate, planar, ChannelLayout::MONO, self.hz);
            self.mixer = Some(made.map_err(|e| self.failed(&e))?);
        }
        let mut mixed = frame::Audio::empty();
        if let Some(mixer) = &mut self.mixer {
            mixer.run(frame, &mut mixed).map_err(|e| self.failed(&e))?;
        }
        self.hand_on_frame(&mixed);
        Ok(())
    }

    /// Takes what the mixer still holds, and the mixer away.
    fn drain(&mut self) -> Result<(), VideoError> {
        let Some(mut mixer) = self.mixer.take() else { return Ok(()) };
        while mixer.delay().is_some() {
            let planar = Sample::F32(sample::Type::Planar);
            let mut rest = frame::Audio::new(planar, 4096, ChannelLayout::MONO);
            mixer.flush(&mut rest).map_err(|e| self.failed(&e))?;
            if rest.samples() == 0 {
                break;
            }
            self.hand_on_frame(&rest);
        }
        Ok(())
    }

    fn hand_on_frame(&mut self, mixed: &frame::Audio) {
        if mixed.samples() > 0 && mixed.planes() > 0 {
            let samples = mixed.plane::<f32>(0);
            self.given += samples.len() as u64;
            (self.to)(samples);
        }
    }

    fn hand_on(&mut self, samples: &[f32]) {
        self.given += samples.len() as u64;
        (self.to)(samples);
    }

    fn failed(&self, error: &ffmpeg_next::Error) -> VideoError {
        let said = messages::last_complaint().unwrap_or(error.to_string());
        VideoError::Read { file: self.file.to_owned(), film_s: self.taken_s, said }
    }
}

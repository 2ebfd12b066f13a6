//! Sound in another codec, for a film whose container cannot hold the clip's own.

use super::ff::{self, AGAIN, check};
use super::sound::SoundEncoder;
use super::{VideoError, messages};
use ffmpeg_next::format::{Sample, sample};
use ffmpeg_next::software::resampling;
use ffmpeg_next::{ChannelLayout, codec, decoder, ffi, frame};
use std::path::{Path, PathBuf};

/// Bits a second of one channel: hard to tell from the original (common practice, no source).
pub const AAC_BITS: u32 = 96_000;

/// Samples a second that AAC knows (ISO/IEC 14496-3, table 1.18).
const RATES: [u32; 13] =
    [96_000, 88_200, 64_000, 48_000, 44_100, 32_000, 24_000, 22_050, 16_000, 12_000, 11_025, 8_000, 7_350];

/// Stamps that lie further than this from where the samples before them end are a gap or an overlap, in seconds.
const GAP_S: f64 = 0.02;
/// No gap is filled beyond this: stamps that leap further are wrong.
const LONGEST_GAP_S: f64 = 600.0;

/// One track that is decoded and encoded anew, sample for sample at its place.
pub(super) struct Transcoder {
    file: PathBuf,
    decoder: decoder::Audio,
    base: ffi::AVRational,
    mixer: Option<resampling::Context>,
    encoder: SoundEncoder,
    hz: u32,
    channels: u32,
    /// First sample that is wanted, and where the film ends.
    span: (i64, i64),
    /// Where the samples taken so far end; none before the first.
    next: Option<i64>,
}

impl Transcoder {
    /// For a track of the source; only samples between two moments of the film, in seconds, are taken. `file` is named in errors.
    ///
    /// # Safety
    /// The stream must be alive.
    pub(super) unsafe fn of(
        file: &Path,
        stream: *const ffi::AVStream,
        (start_s, end_s): (f64, f64),
    ) -> Result<Self, VideoError> {
        let refused = |said: String| VideoError::NoSound { file: file.to_owned(), said };
        let no_decoder = |e: ffmpeg_next::Error| refused(messages::last_complaint().unwrap_or(e.to_string()));
        let mut context = codec::context::Context::new();
        // SAFETY: by contract the stream is alive; its parameters are copied into a context that is ours and not open yet.
        let (base, hz, channels) = unsafe {
            let parameters = (*stream).codecpar;
            check(ffi::avcodec_parameters_to_context(context.as_mut_ptr(), parameters)).map_err(no_decoder)?;
            (*context.as_mut_ptr()).pkt_timebase = (*stream).time_base;
            ((*stream).time_base, (*parameters).sample_rate as u32, (*parameters).ch_layout.nb_channels as u32)
        };
        if !(1..=8).contains(&channels) {
            return Err(refused(format!("{channels} channels")));
        }
        let decoder = context.decoder().audio().map_err(no_decoder)?;
        let hz = if RATES.contains(&hz) { hz } else { 48_000 };
        let encoder = SoundEncoder::open(file, hz, channels, AAC_BITS * channels)?;
        let samples = |seconds: f64| (seconds * f64::from(hz)).round() as i64;
        let span = (samples(start_s), samples(end_s));
        Ok(Self { file: file.to_owned(), decoder, base, mixer: None, encoder, hz, channels, span, next: None })
    }

    /// The open encoder, for the muxer's copy of its parameters.
    pub(super) fn context(&self) -> *const ffi::AVCodecContext {
        self.encoder.context()
    }

    /// Time base of the packets that come out.
    pub(super) fn time_base(&self) -> ffi::AVRational {
        ffi::AVRational { num: 1, den: self.hz as i32 }
    }

    /// Takes a packet, in the source's time base, and hands on what comes of it.
    pub(super) fn send(
        &mut self,
        packet: &ffmpeg_next::Packet,
        to: &mut impl FnMut(ffmpeg_next::Packet) -> Result<(), VideoError>,
    ) -> Result<(), VideoError> {
        match self.decoder.send_packet(packet) {
            Ok(()) => self.receive(to),
            // Damage is passed over; the gap is filled when sound goes on.
            Err(ffmpeg_next::Error::InvalidData) => Ok(()),
            Err(e) => Err(self.failed(&e)),
        }
    }

    /// Ends the track.
    pub(super) fn end(
        &mut self,
        to: &mut impl FnMut(ffmpeg_next::Packet) -> Result<(), VideoError>,
    ) -> Result<(), VideoError> {
        if self.decoder.send_eof().is_ok() {
            self.receive(to)?;
        }
        self.encoder.end(to)
    }

    fn receive(
        &mut self,
        to: &mut impl FnMut(ffmpeg_next::Packet) -> Result<(), VideoError>,
    ) -> Result<(), VideoError> {
        let mut frame = frame::Audio::empty();
        loop {
            match self.decoder.receive_frame(&mut frame) {
                Ok(()) => self.take(&mut frame, to)?,
                Err(e) if e == AGAIN || e == ffmpeg_next::Error::Eof => return Ok(()),
                Err(ffmpeg_next::Error::InvalidData) => {}
                Err(e) => return Err(self.failed(&e)),
            }
        }
    }

    fn take(
        &mut self,
        frame: &mut frame::Audio,
        to: &mut impl FnMut(ffmpeg_next::Packet) -> Result<(), VideoError>,
    ) -> Result<(), VideoError> {
        if frame.rate() == 0 || frame.samples() == 0 {
            return Ok(());
        }
        let own = self.time_base();
        // SAFETY: pure arithmetic; the source's time base is that of an open stream.
        let stamped = ff::ticks(frame.timestamp().unwrap_or(ffi::AV_NOPTS_VALUE))
            .map(|ticks| unsafe { ffi::av_rescale_q(ticks, self.base, own) });
        let mixed = self.mixed(frame)?;
        let Some(mixed) = mixed.filter(|mixed| mixed.samples() > 0) else { return Ok(()) };
        let planes: Vec<&[f32]> = (0..mixed.planes()).map(|channel| mixed.plane::<f32>(channel)).collect();
        let count = mixed.samples() as i64;
        let at = stamped.or(self.next).unwrap_or(0);
        let next = match self.next {
            Some(next) => next,
            None => {
                let first = at.max(self.span.0);
                if at + count <= first {
                    return Ok(());
                }
                self.encoder.start_at(first);
                first
            }
        };
        let apart = (at - next) as f64 / f64::from(self.hz);
        let (gap, cut) = match apart {
            _ if self.next.is_none() => (0, next - at),
            apart if apart > GAP_S && apart < LONGEST_GAP_S => (at - next, 0),
            apart if apart < -GAP_S => (0, next - at),
            _ => (0, 0),
        };
        let end = self.span.1;
        let gap = gap.min(end - next).max(0);
        if gap > 0 {
            let silence = vec![0.0; gap as usize];
            self.encoder.send(&vec![&silence[..]; planes.len()], &mut *to)?;
        }
        let (from, until) = (cut.min(count), count.min(end.saturating_sub(next + gap).saturating_add(cut)));
        if from < until {
            let kept: Vec<&[f32]> = planes.iter().map(|plane| &plane[from as usize..until as usize]).collect();
            self.encoder.send(&kept, &mut *to)?;
        }
        self.next = Some(next + gap + (until - from).max(0));
        Ok(())
    }

    /// A decoded frame as the encoder takes it.
    fn mixed(&mut self, frame: &mut frame::Audio) -> Result<Option<frame::Audio>, VideoError> {
        // Some tracks say how many channels there are, but not which.
        let layout = match frame.channel_layout() {
            layout if layout.bits() == 0 => ChannelLayout::default(i32::from(frame.channels())),
            layout => layout,
        };
        frame.set_channel_layout(layout);
        let (kind, rate) = (frame.format(), frame.rate());
        let given = resampling::context::Definition { format: kind, channel_layout: layout, rate };
        if self.mixer.as_ref().is_none_or(|mixer| *mixer.input() != given) {
            let planar = Sample::F32(sample::Type::Planar);
            let wanted = ChannelLayout::default(self.channels as i32);
            let made = resampling::Context::get(kind, layout, rate, planar, wanted, self.hz);
            self.mixer = Some(made.map_err(|e| self.failed(&e))?);
        }
        let Some(mixer) = &mut self.mixer else { return Ok(None) };
        let mut mixed = frame::Audio::empty();
        match mixer.run(frame, &mut mixed) {
            Ok(_) => Ok(Some(mixed)),
            Err(e) => Err(self.failed(&e)),
        }
    }

    fn failed(&self, error: &ffmpeg_next::Error) -> VideoError {
        let said = messages::last_complaint().unwrap_or(error.to_string());
        VideoError::NoSound { file: self.file.clone(), said }
    }
}

//! The encoder of sound: AAC.

use super::VideoError;
use super::ff::{AGAIN, check};
use ffmpeg_next::ffi;
use std::path::{Path, PathBuf};

const ENCODER: &str = "aac";
/// Used where the encoder does not say how many samples it takes at once (AAC-LC, ISO/IEC 14496-3: 1024).
const FRAME: usize = 1024;

/// Takes samples in any portion and hands them to the encoder in its own.
pub(super) struct SoundEncoder {
    file: PathBuf,
    context: *mut ffi::AVCodecContext,
    /// Samples that wait for more, channel by channel.
    waiting: Vec<Vec<f32>>,
    /// The time of the next sample, in samples.
    next: i64,
    portion: usize,
}

// SAFETY: the context is owned by this struct alone and may be used from any one thread at a time.
unsafe impl Send for SoundEncoder {}

impl SoundEncoder {
    /// Opens the encoder for so many samples and bits a second, all channels together; `file` is named in errors.
    pub(super) fn open(file: &Path, hz: u32, channels: u32, bits: u32) -> Result<Self, VideoError> {
        let refused = |said: String| VideoError::Encoder { file: file.to_owned(), encoder: ENCODER.into(), said };
        // SAFETY: the context is fresh and owned here, and `encoder` frees it on every way out.
        unsafe {
            let codec = ffi::avcodec_find_encoder_by_name(c"aac".as_ptr());
            if codec.is_null() {
                return Err(refused("this FFmpeg was built without it; install a build that has it".into()));
            }
            let context = ffi::avcodec_alloc_context3(codec);
            if context.is_null() {
                return Err(VideoError::OutOfMemory);
            }
            let waiting = vec![Vec::new(); channels as usize];
            let mut encoder = Self { file: file.to_owned(), context, waiting, next: 0, portion: FRAME };
            let hz = i32::try_from(hz).map_err(|_| refused(format!("{hz} samples a second")))?;
            (*context).sample_fmt = ffi::AVSampleFormat::AV_SAMPLE_FMT_FLTP;
            (*context).sample_rate = hz;
            (*context).bit_rate = i64::from(bits);
            (*context).time_base = ffi::AVRational { num: 1, den: hz };
            ffi::av_channel_layout_default(&raw mut (*context).ch_layout, channels as i32);
            (*context).flags |= ffi::AV_CODEC_FLAG_GLOBAL_HEADER as i32;
            let code = ffi::avcodec_open2(context, codec, std::ptr::null_mut());
            check(code).map_err(|e| refused(super::messages::last_complaint().unwrap_or(e.to_string())))?;
            if let Ok(portion @ 1..) = usize::try_from((*context).frame_size) {
                encoder.portion = portion;
            }
            Ok(encoder)
        }
    }

    /// The open context, for the muxer's copy of its parameters.
    pub(super) fn context(&self) -> *const ffi::AVCodecContext {
        self.context
    }

    /// Sets the time of the first sample, in samples. Call before [`SoundEncoder::send`].
    pub(super) fn start_at(&mut self, sample: i64) {
        self.next = sample;
    }

    /// Takes samples, -1 to 1 and as many of each channel, and hands every finished packet on.
    pub(super) fn send(
        &mut self,
        channels: &[&[f32]],
        mut to: impl FnMut(ffmpeg_next::Packet) -> Result<(), VideoError>,
    ) -> Result<(), VideoError> {
        for (waiting, samples) in self.waiting.iter_mut().zip(channels) {
            waiting.extend_from_slice(samples);
        }
        let mut from = 0;
        while self.waiting.iter().all(|waiting| waiting.len() - from >= self.portion) {
            self.encode(from, self.portion)?;
            self.receive(&mut to)?;
            from += self.portion;
        }
        self.waiting.iter_mut().for_each(|waiting| drop(waiting.drain(..from)));
        Ok(())
    }

    /// Ends the track: the last samples, which may be fewer than a portion, and what the encoder still holds.
    pub(super) fn end(
        &mut self,
        mut to: impl FnMut(ffmpeg_next::Packet) -> Result<(), VideoError>,
    ) -> Result<(), VideoError> {
        let last = self.waiting.iter().map(Vec::len).min().unwrap_or(0);
        if last > 0 {
            self.encode(0, last)?;
            self.receive(&mut to)?;
        }
        // SAFETY: the context is open; a null frame means the end.
        let code = unsafe { ffi::avcodec_send_frame(self.context, std::ptr::null()) };
        check(code).map_err(|e| self.failed(&e))?;
        self.receive(&mut to)
    }

    /// Hands samples that wait to the encoder.
    fn encode(&mut self, from: usize, count: usize) -> Result<(), VideoError> {
        let mut frame = ffmpeg_next::frame::Audio::empty();
        // SAFETY: `frame` is fresh; the library allocates a plane of `nb_samples` floats for each channel of this format and
        // layout, and `extended_data` names them all; each is filled whole. The encoder takes a reference of its own.
        let code = unsafe {
            let inner = frame.as_mut_ptr();
            (*inner).format = ffi::AVSampleFormat::AV_SAMPLE_FMT_FLTP as i32;
            (*inner).nb_samples = count as i32;
            (*inner).sample_rate = (*self.context).sample_rate;
            (*inner).pts = self.next;
            check(ffi::av_channel_layout_copy(&raw mut (*inner).ch_layout, &raw const (*self.context).ch_layout))
                .and_then(|_| check(ffi::av_frame_get_buffer(inner, 0)))
                .map_err(|_| VideoError::OutOfMemory)?;
            for (channel, waiting) in self.waiting.iter().enumerate() {
                let plane = (*(*inner).extended_data.add(channel)).cast::<f32>();
                std::ptr::copy_nonoverlapping(waiting[from..from + count].as_ptr(), plane, count);
            }
            ffi::avcodec_send_frame(self.context, inner)
        };
        check(code).map_err(|e| self.failed(&e))?;
        self.next += count as i64;
        Ok(())
    }

    fn receive(
        &mut self,
        to: &mut impl FnMut(ffmpeg_next::Packet) -> Result<(), VideoError>,
    ) -> Result<(), VideoError> {
        loop {
            let mut packet = ffmpeg_next::Packet::empty();
            // SAFETY: the context is open and the packet is ours to fill.
            let code =
                unsafe { ffi::avcodec_receive_packet(self.context, ffmpeg_next::packet::Mut::as_mut_ptr(&mut packet)) };
            match check(code) {
                Ok(_) => to(packet)?,
                Err(e) if e == AGAIN || e == ffmpeg_next::Error::Eof => return Ok(()),
                Err(e) => return Err(self.failed(&e)),
            }
        }
    }

    fn failed(&self, error: &ffmpeg_next::Error) -> VideoError {
        VideoError::Write { file: self.file.clone(), said: format!("the sound encoder stopped: {error}") }
    }
}

impl Drop for SoundEncoder {
    fn drop(&mut self) {
        // SAFETY: the context is this struct's own and not used afterwards.
        unsafe { ffi::avcodec_free_context(&mut self.context) };
    }
}

//! The encoder of sound that this program makes itself: AAC, one channel.

use super::VideoError;
use super::ff::{AGAIN, check};
use ffmpeg_next::ffi;
use std::path::{Path, PathBuf};

const ENCODER: &str = "aac";
/// Bits a second: ample for one channel.
const BIT_RATE: i64 = 112_000;
/// Used where the encoder does not say how many samples it takes at once (AAC-LC, ISO/IEC 14496-3: 1024).
const FRAME: usize = 1024;

/// Takes samples in any portion and hands them to the encoder in its own.
pub(super) struct SoundEncoder {
    file: PathBuf,
    context: *mut ffi::AVCodecContext,
    waiting: Vec<f32>,
    /// Samples that the encoder has taken.
    taken: i64,
    portion: usize,
}

// SAFETY: the context is owned by this struct alone and may be used from any one thread at a time.
unsafe impl Send for SoundEncoder {}

impl SoundEncoder {
    /// Opens the encoder; `file` is named in errors.
    pub(super) fn open(file: &Path, hz: u32) -> Result<Self, VideoError> {
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
            let mut encoder = Self { file: file.to_owned(), context, waiting: Vec::new(), taken: 0, portion: FRAME };
            let hz = i32::try_from(hz).map_err(|_| refused(format!("{hz} samples a second")))?;
            (*context).sample_fmt = ffi::AVSampleFormat::AV_SAMPLE_FMT_FLTP;
            (*context).sample_rate = hz;
            (*context).bit_rate = BIT_RATE;
            (*context).time_base = ffi::AVRational { num: 1, den: hz };
            ffi::av_channel_layout_default(&raw mut (*context).ch_layout, 1);
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

    /// Takes samples, -1 to 1, and hands every finished packet on.
    pub(super) fn send(
        &mut self,
        samples: &[f32],
        mut to: impl FnMut(ffmpeg_next::Packet) -> Result<(), VideoError>,
    ) -> Result<(), VideoError> {
        self.waiting.extend_from_slice(samples);
        let whole = self.waiting.len() / self.portion * self.portion;
        let rest = self.waiting.split_off(whole);
        let ready = std::mem::replace(&mut self.waiting, rest);
        for portion in ready.chunks_exact(self.portion) {
            self.encode(portion)?;
            self.receive(&mut to)?;
        }
        Ok(())
    }

    /// Ends the track: the last samples, which may be fewer than a portion, and what the encoder still holds.
    pub(super) fn end(
        &mut self,
        mut to: impl FnMut(ffmpeg_next::Packet) -> Result<(), VideoError>,
    ) -> Result<(), VideoError> {
        let last = std::mem::take(&mut self.waiting);
        if !last.is_empty() {
            self.encode(&last)?;
            self.receive(&mut to)?;
        }
        // SAFETY: the context is open; a null frame means the end.
        let code = unsafe { ffi::avcodec_send_frame(self.context, std::ptr::null()) };
        check(code).map_err(|e| self.failed(&e))?;
        self.receive(&mut to)
    }

    fn encode(&mut self, samples: &[f32]) -> Result<(), VideoError> {
        let mut frame = ffmpeg_next::frame::Audio::empty();
        // SAFETY: `frame` is fresh; the library allocates one plane of `nb_samples` floats for this format and layout, which
        // is filled whole. The encoder takes a reference of its own.
        let code = unsafe {
            let inner = frame.as_mut_ptr();
            (*inner).format = ffi::AVSampleFormat::AV_SAMPLE_FMT_FLTP as i32;
            (*inner).nb_samples = samples.len() as i32;
            (*inner).sample_rate = (*self.context).sample_rate;
            (*inner).pts = self.taken;
            check(ffi::av_channel_layout_copy(&raw mut (*inner).ch_layout, &raw const (*self.context).ch_layout))
                .and_then(|_| check(ffi::av_frame_get_buffer(inner, 0)))
                .map_err(|_| VideoError::OutOfMemory)?;
            std::ptr::copy_nonoverlapping(samples.as_ptr(), (*inner).data[0].cast::<f32>(), samples.len());
            ffi::avcodec_send_frame(self.context, inner)
        };
        check(code).map_err(|e| self.failed(&e))?;
        self.taken += samples.len() as i64;
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

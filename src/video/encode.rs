//! The film's encoder: H.264.

use super::colour::Tags;
use super::ff::{self, AGAIN, Options, check};
use super::{Frame, VideoError};
use crate::time::Rational;
use ffmpeg_next::ffi;
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// How the film is encoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EncodeSettings {
    /// Constant rate factor, 0 (lossless) to 51 (smallest file).
    pub crf: u8,
    /// The encoder's own name of its effort, e.g. `veryfast`.
    pub preset: &'static str,
    /// Encoder threads, 0 for as many as the machine has. The encoder's decisions depend on their number.
    pub threads: usize,
}

const ENCODER: &str = "libx264";

/// What the encoder must know of the pictures.
pub(super) struct Pictures {
    /// Columns and rows.
    pub(super) size: (i32, i32),
    /// The library's number of the pixel format.
    pub(super) format: i32,
    pub(super) tags: Tags,
    pub(super) pixel_aspect: Option<Rational>,
    pub(super) frame_rate: Rational,
    pub(super) time_base: Rational,
}

impl Pictures {
    /// Pictures like those of a live stream.
    pub(super) fn like(
        source: *const ffi::AVStream,
        pixel_aspect: Option<Rational>,
        frame_rate: Rational,
        time_base: Rational,
    ) -> Self {
        // SAFETY: the caller passes a live stream, of which plain fields are read.
        let parameters = unsafe { &*(*source).codecpar };
        Self {
            size: (parameters.width, parameters.height),
            format: parameters.format,
            tags: Tags::of(parameters),
            pixel_aspect,
            frame_rate,
            time_base,
        }
    }
}

/// An encoder that keeps every frame's time, and how long it is shown.
pub(super) struct Encoder {
    file: PathBuf,
    context: *mut ffi::AVCodecContext,
    /// How long the frames inside the encoder are shown, by their time: the encoder itself forgets it.
    durations: HashMap<i64, i64>,
}

// SAFETY: the context is owned by this struct alone and may be used from any one thread at a time.
unsafe impl Send for Encoder {}

impl Encoder {
    /// Opens the encoder; `file` is named in errors.
    pub(super) fn open(file: &Path, pictures: &Pictures, settings: &EncodeSettings) -> Result<Self, VideoError> {
        let refused = |said: String| VideoError::Encoder { file: file.to_owned(), encoder: ENCODER, said };
        // SAFETY: the context is fresh and owned here, and `encoder` frees it on every way out. The pixel format is a number
        // that the library itself gave out.
        unsafe {
            let codec = ffi::avcodec_find_encoder_by_name(c"libx264".as_ptr());
            if codec.is_null() {
                return Err(refused("this FFmpeg was built without it; install a build that has it".into()));
            }
            let context = ffi::avcodec_alloc_context3(codec);
            if context.is_null() {
                return Err(VideoError::OutOfMemory);
            }
            let encoder = Self { file: file.to_owned(), context, durations: HashMap::new() };
            ((*context).width, (*context).height) = pictures.size;
            (*context).pix_fmt = std::mem::transmute::<i32, ffi::AVPixelFormat>(pictures.format);
            if let Some(aspect) = pictures.pixel_aspect {
                (*context).sample_aspect_ratio = ff::av_rational(aspect);
            }
            (*context).time_base = ff::av_rational(pictures.time_base);
            (*context).framerate = ff::av_rational(pictures.frame_rate);
            (*context).flags |= ffi::AV_CODEC_FLAG_GLOBAL_HEADER as i32;
            pictures.tags.put(context);
            let (crf, threads) = (settings.crf.to_string(), settings.threads.to_string());
            let mut options = Options::new(&[(c"crf", &crf), (c"preset", settings.preset), (c"threads", &threads)])?;
            let code = ffi::avcodec_open2(context, codec, &mut options.0);
            check(code).map_err(|e| refused(super::messages::last_complaint().unwrap_or(e.to_string())))?;
            Ok(encoder)
        }
    }

    /// The open context, for the muxer's copy of its parameters.
    pub(super) fn context(&self) -> *const ffi::AVCodecContext {
        self.context
    }

    /// Takes a frame, or none for the end.
    pub(super) fn send(&mut self, frame: Option<&mut Frame>) -> Result<(), VideoError> {
        let pointer = match frame {
            None => std::ptr::null(),
            Some(frame) => {
                self.durations.insert(frame.pts, frame.duration);
                // SAFETY: the frame is alive and ours. The decoder's picture type would make the encoder repeat the
                // source's choice of key frames.
                unsafe {
                    let inner = frame.inner.as_mut_ptr();
                    (*inner).pts = frame.pts;
                    (*inner).pict_type = ffi::AVPictureType::AV_PICTURE_TYPE_NONE;
                    inner.cast_const()
                }
            }
        };
        // SAFETY: the context is open; a null frame means the end. `receive` is called until empty after each send, so the
        // encoder never has to refuse one.
        let code = unsafe { ffi::avcodec_send_frame(self.context, pointer) };
        check(code).map(|_| ()).map_err(|e| self.failed(&e))
    }

    /// The next finished packet; none until more frames come, and at the end.
    pub(super) fn receive(&mut self) -> Result<Option<ffmpeg_next::Packet>, VideoError> {
        let mut packet = ffmpeg_next::Packet::empty();
        // SAFETY: the context is open and the packet is ours to fill.
        let code =
            unsafe { ffi::avcodec_receive_packet(self.context, ffmpeg_next::packet::Mut::as_mut_ptr(&mut packet)) };
        match check(code) {
            Ok(_) => {
                if let Some(duration) = packet.pts().and_then(|pts| self.durations.remove(&pts)) {
                    packet.set_duration(duration);
                }
                Ok(Some(packet))
            }
            Err(e) if e == AGAIN || e == ffmpeg_next::Error::Eof => Ok(None),
            Err(e) => Err(self.failed(&e)),
        }
    }

    fn failed(&self, error: &ffmpeg_next::Error) -> VideoError {
        VideoError::Write { file: self.file.clone(), said: format!("the encoder stopped: {error}") }
    }
}

impl Drop for Encoder {
    fn drop(&mut self) {
        // SAFETY: the context is this struct's own and not used afterwards.
        unsafe { ffi::avcodec_free_context(&mut self.context) };
    }
}

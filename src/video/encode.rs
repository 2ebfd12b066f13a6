//! The film's encoder.

use super::codec::{Codec, Speed, encoder_name};
use super::colour::Tags;
use super::ff::{self, AGAIN, Options, check};
use super::format::{self, PixelFormat};
use super::light::LightData;
use super::recode::Recoder;
use super::{FieldOrder, Frame, VideoError};
use crate::finding::{Finding, Severity};
use crate::pixel::Sampling;
use crate::time::Rational;
use ffmpeg_next::ffi;
use std::collections::HashMap;
use std::ffi::{CStr, CString};
use std::path::{Path, PathBuf};

/// How the film is encoded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EncodeSettings {
    /// In what.
    pub codec: Codec,
    /// Constant rate factor, 0 (lossless) to the codec's worst; none for its own default.
    pub crf: Option<u8>,
    /// Bits a second instead of a quality; none for quality.
    pub rate: Option<Rate>,
    /// How long the encoder may think.
    pub speed: Speed,
    /// Encoder threads, 0 for as many as the machine has. The encoder's decisions depend on their number.
    pub threads: usize,
}

impl EncodeSettings {
    /// Whether the film is only looked at, for a second pass.
    pub fn is_first_pass(&self) -> bool {
        self.rate.as_ref().is_some_and(|rate| matches!(rate.pass, Some(Pass::First(_))))
    }
}

/// How many bits the film's pictures may take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rate {
    /// Bits a second, on the mean.
    pub bits: u64,
    /// Which of two passes this is; none for the only one.
    pub pass: Option<Pass>,
}

/// One of two passes over a film. The file holds what the first one learns for the second.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Pass {
    /// Looks, for the second.
    First(PathBuf),
    /// Writes.
    Second(PathBuf),
}

/// What the encoder must know of the pictures.
pub(super) struct Pictures {
    /// Columns and rows.
    pub(super) size: (i32, i32),
    /// Their pixel format, in planes.
    pub(super) format: PixelFormat,
    pub(super) tags: Tags,
    /// Whether their codes are full range, tagged or not.
    pub(super) full: bool,
    pub(super) pixel_aspect: Option<Rational>,
    pub(super) frame_rate: Rational,
    pub(super) time_base: Rational,
    pub(super) fields: Option<FieldOrder>,
    pub(super) light: LightData,
}

/// An encoder that keeps every frame's time, and how long it is shown.
pub(super) struct Encoder {
    file: PathBuf,
    context: *mut ffi::AVCodecContext,
    /// How long the frames inside the encoder are shown, by their time: the encoder itself forgets it.
    durations: HashMap<i64, i64>,
    /// Turns frames into the encoder's own pixel format, where that is another.
    recoder: Option<Recoder>,
    /// The encoder's pixel format.
    format: i32,
    /// Where this first pass leaves what it learned, if it is the library that hands it over. Such a pass makes no packets.
    statistics: Option<PathBuf>,
    /// What is said of it.
    findings: Vec<Finding>,
}

// SAFETY: the context is owned by this struct alone and may be used from any one thread at a time.
unsafe impl Send for Encoder {}

impl Encoder {
    /// Opens the encoder; `file` is named in errors.
    pub(super) fn open(file: &Path, pictures: &Pictures, settings: &EncodeSettings) -> Result<Self, VideoError> {
        let codec = settings.codec;
        let encoder_name = || encoder_name(codec);
        let refused = |said: String| VideoError::Encoder { file: file.to_owned(), encoder: encoder_name(), said };
        let asked = |what: String| VideoError::Asked { file: file.to_owned(), what };
        let (width, height) = pictures.size;
        let (right, down) = pictures.format.sampling.shifts();
        if (width & ((1 << right) - 1) != 0 || height & ((1 << down) - 1) != 0) && !codec.keeps_odd_sides() {
            return Err(asked(format!(
                "{} would drop a column or a row of the {width} x {height} picture; take --codec ffv1 or vp9, which keep it, or cut \
                 or pad the clip to even sides first",
                codec.name()
            )));
        }
        if pictures.fields.is_some() && !codec.keeps_fields() {
            return Err(asked(format!(
                "the picture is interlaced, which {} as encoded here does not say; take --codec h264, prores or ffv1, or add \
                 --deinterlace",
                codec.name()
            )));
        }
        let crf = match (settings.crf, codec.crf()) {
            (Some(_), None) => {
                return Err(asked(format!("{} has no quality to be chosen; leave --crf out", codec.name())));
            }
            (Some(crf), Some((_, worst))) if crf > worst => {
                return Err(asked(format!("--crf {crf} is beyond the {worst} of {}", codec.name())));
            }
            (Some(0), _) if codec == Codec::Av1 => {
                return Err(asked("av1 as encoded here cannot keep every bit; take --codec h264, hevc or ffv1".into()));
            }
            (asked, known) => asked.or(known.map(|(default, _)| default)).unwrap_or(0),
        };
        if let Some(rate) = &settings.rate {
            codec.check_rate(rate).map_err(asked)?;
        }
        let mut findings = Vec::new();
        // SAFETY: a lookup by a constant name; encoders are static.
        let found = unsafe { ffi::avcodec_find_encoder_by_name(codec.encoder().as_ptr()) };
        if found.is_null() {
            return Err(refused("this FFmpeg was built without it; install a build that has it".into()));
        }
        let format = codec.takes(pictures.format).map_err(asked)?;
        let full = pictures.full;
        // A name that says nothing of the range holds the very same samples.
        let same = format == pictures.format.id || format == pictures.format.without_range();
        let recoder = if same && (codec.says_range() || !full) {
            None
        } else {
            let (from, to) = (format::name(pictures.format.id), format::name(format));
            let text = format!(
                "{} takes no {from}: the annotated frames are turned into {to}, which loses nothing",
                codec.name()
            );
            findings.push(Finding::new(Severity::Note, "pixel_format_changed", text));
            Some(Recoder::new(pictures.size, (pictures.format.id, full), (format, full && codec.says_range()))?)
        };
        // SAFETY: the context is fresh and owned here, and `encoder` frees it on every way out. The pixel format is a number
        // that the library itself gave out.
        unsafe {
            let context = ffi::avcodec_alloc_context3(found);
            if context.is_null() {
                return Err(VideoError::OutOfMemory);
            }
            let pass =
                settings.rate.as_ref().and_then(|rate| rate.pass.clone()).filter(|_| codec.hands_over_statistics());
            let (statistics, learned) = match pass {
                None => (None, None),
                Some(Pass::First(file)) => (Some(file), None),
                Some(Pass::Second(file)) => (None, Some(learned(&file)?)),
            };
            let encoder = Self {
                file: file.to_owned(),
                context,
                durations: HashMap::new(),
                recoder,
                format,
                statistics,
                findings,
            };
            ((*context).width, (*context).height) = pictures.size;
            (*context).pix_fmt = std::mem::transmute::<i32, ffi::AVPixelFormat>(format);
            if let Some(aspect) = pictures.pixel_aspect {
                (*context).sample_aspect_ratio = ff::av_rational(aspect);
            }
            (*context).time_base = ff::av_rational(pictures.time_base);
            (*context).framerate = ff::av_rational(pictures.frame_rate);
            let ticks = 1.0 / (pictures.time_base.as_f64() * pictures.frame_rate.as_f64());
            if codec == Codec::Vp9 && ticks.is_finite() {
                // libvpx takes a frame to last a single tick unless told, and its first pass a film to be as short as all of them.
                (*context).ticks_per_frame = ticks.round().clamp(1.0, 1e6) as i32;
            }
            (*context).flags |= ffi::AV_CODEC_FLAG_GLOBAL_HEADER as i32;
            (*context).field_order = match pictures.fields {
                None => ffi::AVFieldOrder::AV_FIELD_PROGRESSIVE,
                Some(FieldOrder::TopFirst) => ffi::AVFieldOrder::AV_FIELD_TT,
                Some(FieldOrder::BottomFirst) => ffi::AVFieldOrder::AV_FIELD_BB,
            };
            pictures.tags.put(context);
            if full {
                let said = codec.says_range();
                use ffi::AVColorRange::{AVCOL_RANGE_JPEG, AVCOL_RANGE_MPEG};
                (*context).color_range = if said { AVCOL_RANGE_JPEG } else { AVCOL_RANGE_MPEG };
            }
            if codec == Codec::ProRes {
                // High quality of 4:2:2, or 4:4:4.
                (*context).profile = if pictures.format.sampling == Sampling::Full { 4 } else { 3 };
            }
            let mut options = codec.options(crf, settings.speed, settings.threads, pictures.fields, &pictures.light);
            if let Some(rate) = &settings.rate {
                codec.aim_at(rate, &mut options);
            }
            let options: Vec<_> = options.iter().map(|(key, value)| (*key, value.as_str())).collect();
            let mut options = Options::new(&options)?;
            // The encoder reads the text while it is opened.
            (*context).stats_in = learned.as_ref().map_or(std::ptr::null_mut(), |text| text.as_ptr().cast_mut());
            let code = ffi::avcodec_open2(context, found, &mut options.0);
            (*context).stats_in = std::ptr::null_mut();
            check(code).map_err(|e| refused(super::messages::last_complaint().unwrap_or(e.to_string())))?;
            Ok(encoder)
        }
    }

    /// Takes over a context that is set up elsewhere; frames go through the recoder first, if there is one.
    ///
    /// # Safety
    /// The context must be a fresh one, used by nobody else. It must be open before the first frame.
    pub(super) unsafe fn around(
        file: &Path,
        context: *mut ffi::AVCodecContext,
        format: i32,
        recoder: Option<Recoder>,
    ) -> Self {
        let (file, durations) = (file.to_owned(), HashMap::new());
        Self { file, context, durations, recoder, format, statistics: None, findings: Vec::new() }
    }

    /// What is to be said of how frames are encoded.
    pub(super) fn findings(&mut self) -> Vec<Finding> {
        std::mem::take(&mut self.findings)
    }

    /// The open context, for the muxer's copy of its parameters.
    pub(super) fn context(&self) -> *const ffi::AVCodecContext {
        self.context
    }

    /// Takes a frame, or none for the end.
    pub(super) fn send(&mut self, frame: Option<&mut Frame>) -> Result<(), VideoError> {
        let mut recoded = None;
        let frame = match (frame, &mut self.recoder) {
            (Some(frame), Some(recoder)) => Some(recoded.insert(recoder.recode(frame)?)),
            (frame, _) => frame,
        };
        let pointer = match frame {
            None => std::ptr::null(),
            Some(frame) => {
                if self.statistics.is_none() {
                    self.durations.insert(frame.pts, frame.duration);
                }
                // SAFETY: the frame is alive and ours. The decoder's picture type would make the encoder repeat the
                // source's choice of key frames.
                unsafe {
                    let inner = frame.inner.as_mut_ptr();
                    (*inner).pts = frame.pts;
                    (*inner).format = self.format;
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
            Err(ffmpeg_next::Error::Eof) => self.leave_statistics().map(|()| None),
            Err(e) if e == AGAIN => Ok(None),
            Err(e) => Err(self.failed(&e)),
        }
    }

    /// Writes what a first pass learned to its file, once it has seen all frames.
    fn leave_statistics(&mut self) -> Result<(), VideoError> {
        let Some(file) = self.statistics.take() else { return Ok(()) };
        // SAFETY: the context is open; the text, if there is one, is the encoder's own and ends with a nul.
        let text = unsafe {
            let text = (*self.context).stats_out;
            if text.is_null() { &[][..] } else { CStr::from_ptr(text).to_bytes() }
        };
        std::fs::write(&file, text).map_err(|e| VideoError::Write { file, said: e.to_string() })
    }

    fn failed(&self, error: &ffmpeg_next::Error) -> VideoError {
        let more = super::messages::last_complaint().map_or_else(String::new, |said| format!(" ({said})"));
        VideoError::Write { file: self.file.clone(), said: format!("the encoder stopped: {error}{more}") }
    }
}

/// What a first pass left in its file.
fn learned(file: &Path) -> Result<CString, VideoError> {
    let text = std::fs::read(file).map_err(|source| VideoError::Open { file: file.to_owned(), source })?;
    CString::new(text).map_err(|e| VideoError::NotAClip { file: file.to_owned(), said: e.to_string() })
}

impl Drop for Encoder {
    fn drop(&mut self) {
        // SAFETY: the context is this struct's own and not used afterwards.
        unsafe { ffi::avcodec_free_context(&mut self.context) };
    }
}

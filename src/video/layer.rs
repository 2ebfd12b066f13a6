//! A film of the instruments alone, with alpha: pictures go in with the film's own times, no sound.

use super::codec::Speed;
use super::colour::Tags;
use super::encode::Encoder;
use super::ff::{self, Options, check};
use super::light::LightData;
use super::mux::Muxer;
use super::read::Reader;
use super::recode::Recoder;
use super::write::movie_timescale;
use super::{Clip, Container, Excerpt, Frame, FramePool, Target, VideoError};
use crate::pixel::FrameShape;
use ffmpeg_next::ffi;
use std::ffi::CStr;

/// A codec of pictures with alpha. All take colour that is not multiplied by alpha (straight), as editors expect of them
/// (common practice, no source; of PNG by ISO/IEC 15948, 12.1).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LayerCodec {
    /// QuickTime Animation, which loses nothing.
    Animation,
    /// PNG pictures in a film, which lose nothing.
    Png,
    /// Apple ProRes 4444.
    ProRes,
    /// VP9 with alpha, for browsers.
    Vp9,
}

/// How a layer is encoded.
#[derive(Debug, Clone, Copy)]
pub struct LayerSettings {
    /// In what.
    pub codec: LayerCodec,
    /// Quality of VP9, 0 to 63; the others have none to be chosen.
    pub crf: Option<u8>,
    /// How long VP9's encoder may think.
    pub speed: Speed,
    /// Encoder threads, 0 for as many as the machine has.
    pub threads: usize,
}

/// Quality of VP9 where none is asked for: better than a film's, since edges of letters are what is looked at.
const VP9_CRF: u8 = 20;

impl LayerCodec {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Animation, Self::Png, Self::ProRes, Self::Vp9];

    /// Its name on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Animation => "animation",
            Self::Png => "png",
            Self::ProRes => "prores",
            Self::Vp9 => "vp9",
        }
    }

    /// What a container's layers are usually written in; none where it is no container for them.
    pub const fn of(container: Container) -> Option<Self> {
        match container {
            Container::Mov => Some(Self::Animation),
            Container::WebM => Some(Self::Vp9),
            _ => None,
        }
    }

    /// The container in which players and editors find its alpha.
    pub const fn container(self) -> Container {
        match self {
            Self::Vp9 => Container::WebM,
            _ => Container::Mov,
        }
    }

    const fn encoder(self) -> &'static CStr {
        match self {
            Self::Animation => c"qtrle",
            Self::Png => c"png",
            Self::ProRes => c"prores_ks",
            Self::Vp9 => c"libvpx-vp9",
        }
    }

    const fn format(self) -> ffi::AVPixelFormat {
        use ffi::AVPixelFormat::{AV_PIX_FMT_ARGB, AV_PIX_FMT_RGBA, AV_PIX_FMT_YUVA420P, AV_PIX_FMT_YUVA444P10LE};
        match self {
            Self::Animation => AV_PIX_FMT_ARGB,
            Self::Png => AV_PIX_FMT_RGBA,
            Self::ProRes => AV_PIX_FMT_YUVA444P10LE,
            Self::Vp9 => AV_PIX_FMT_YUVA420P,
        }
    }

    const fn is_rgb(self) -> bool {
        matches!(self, Self::Animation | Self::Png)
    }

    fn options(self, settings: &LayerSettings) -> Vec<(&'static CStr, String)> {
        let mut options = match self {
            Self::Animation => vec![],
            // Flat graphics shrink well at the first try already.
            Self::Png => vec![(c"compression_level", "1".into())],
            Self::ProRes => vec![(c"vendor", "apl0".into())],
            Self::Vp9 => vec![
                (c"crf", settings.crf.unwrap_or(VP9_CRF).to_string()),
                (c"b", "0".into()),
                (c"row-mt", "1".into()),
                // With frames that are never shown the encoder takes no alpha.
                (c"auto-alt-ref", "0".into()),
                (c"deadline", (if settings.speed == Speed::Fastest { "realtime" } else { "good" }).into()),
                (c"cpu-used", ["8", "5", "2", "1"][settings.speed as usize].into()),
            ],
        };
        options.push((c"threads", settings.threads.to_string()));
        options
    }
}

/// Makes frames of drawn pictures, for the [`LayerWriter`] that they belong to.
pub struct LayerFrames {
    pool: FramePool,
    alpha_first: bool,
    is_converted: bool,
}

impl LayerFrames {
    /// A picture as a frame: red, green, blue and alpha in turn, not multiplied, row by row without padding.
    ///
    /// # Errors
    /// Memory ran out, or the picture is of another size.
    pub fn frame(&self, rgba: &[u8], pts: i64, duration: i64) -> Result<Frame, VideoError> {
        let mut frame = self.pool.blank(pts, duration)?;
        let (width, stride) = (4 * frame.inner.width() as usize, frame.inner.stride(0));
        if width == 0 || rgba.len() != width * frame.inner.height() as usize {
            return Err(VideoError::OutOfMemory);
        }
        for (to, from) in frame.inner.data_mut(0).chunks_mut(stride).zip(rgba.chunks_exact(width)) {
            if self.alpha_first {
                let pixels = to.as_chunks_mut::<4>().0.iter_mut().zip(from.as_chunks::<4>().0);
                pixels.for_each(|(to, from)| *to = u32::from_le_bytes(*from).rotate_left(8).to_le_bytes());
            } else {
                to[..width].copy_from_slice(from);
            }
        }
        if self.is_converted {
            // ProRes takes its tags from the frames.
            Tags::DRAWN.put_on(&mut frame);
        }
        Ok(frame)
    }
}

/// Writes a layer.
pub struct LayerWriter {
    muxer: Muxer,
    encoder: Encoder,
    track: usize,
    base: ffi::AVRational,
    shift: i64,
    frames: u64,
}

impl LayerWriter {
    /// Creates the layer's film. `shape` is that of its pictures: the film's own, or upright where the container cannot say that
    /// a picture is to be turned.
    ///
    /// # Errors
    /// The container or the encoder cannot hold it, or the file cannot be written.
    pub fn create(
        target: &Target<'_>,
        source: &Reader,
        clip: &Clip,
        shape: FrameShape,
        excerpt: Excerpt,
        settings: &LayerSettings,
    ) -> Result<(Self, LayerFrames), VideoError> {
        let codec = settings.codec;
        let asked = |what: String| VideoError::Asked { file: target.named.to_owned(), what };
        if target.container != codec.container() {
            return Err(asked(format!(
                "a layer in {} keeps its alpha in {} only; end the name with {}",
                codec.name(),
                codec.container().name(),
                codec.container().ending()
            )));
        }
        if codec != LayerCodec::Vp9 && settings.crf.is_some() {
            return Err(asked(format!("a layer in {} has no quality to be chosen; leave --crf out", codec.name())));
        }
        let time_base = source.time_base();
        let size = (shape.width as i32, shape.height as i32);
        let encoder = open(target, clip, size, ff::av_rational(time_base), settings)?;
        let mut muxer = Muxer::create(target.path, target.named, target.container)?;
        // SAFETY: the reader keeps its demuxer, and so every stream, alive.
        let film = unsafe { (*(*source.input().as_ptr()).streams.add(clip.video.stream)).cast_const() };
        let track = muxer.add_film(encoder.context(), film, &LightData::default())?;
        if excerpt.is_part {
            muxer.drop_time_code(track);
        }
        muxer.copy_tags(source);
        if target.drops_location {
            muxer.drop_location();
        }
        if let Some(comment) = target.comment {
            muxer.comment(source, comment)?;
        }
        muxer.start(movie_timescale(time_base, std::iter::empty()), target.fast_start)?;
        let shift = if excerpt.is_part { -excerpt.first_pts } else { (-excerpt.first_pts).max(0) };
        let format = match codec {
            LayerCodec::Animation => codec.format(),
            _ => ffi::AVPixelFormat::AV_PIX_FMT_RGBA,
        };
        let pool = FramePool::new(size.0, size.1, format as i32)?;
        let frames = LayerFrames { pool, alpha_first: codec == LayerCodec::Animation, is_converted: !codec.is_rgb() };
        Ok((Self { muxer, encoder, track, base: ff::av_rational(time_base), shift, frames: 0 }, frames))
    }

    /// Takes the next frame, in the order of their times.
    ///
    /// # Errors
    /// The encoder stopped, or the file cannot be written.
    pub fn write(&mut self, mut frame: Frame) -> Result<(), VideoError> {
        frame.pts += self.shift;
        self.frames += 1;
        self.encoder.send(Some(&mut frame))?;
        self.drain()
    }

    /// Ends the film; returns the count of its frames.
    ///
    /// # Errors
    /// As [`LayerWriter::write`].
    pub fn finish(mut self) -> Result<u64, VideoError> {
        self.encoder.send(None)?;
        self.drain()?;
        self.muxer.finish()?;
        Ok(self.frames)
    }

    fn drain(&mut self) -> Result<(), VideoError> {
        while let Some(mut packet) = self.encoder.receive()? {
            packet.rescale_ts(self.base, self.muxer.time_base(self.track));
            self.muxer.write(&mut packet, self.track)?;
        }
        Ok(())
    }
}

/// Opens the layer's encoder.
fn open(
    target: &Target<'_>,
    clip: &Clip,
    size: (i32, i32),
    time_base: ffi::AVRational,
    settings: &LayerSettings,
) -> Result<Encoder, VideoError> {
    let codec = settings.codec;
    let name = ff::name(codec.encoder().as_ptr());
    let refused = |said: String| VideoError::Encoder { file: target.named.to_owned(), encoder: name.clone(), said };
    let shape = clip.video.shape;
    let turned = (size.0 as u32, size.1 as u32) != (shape.width, shape.height);
    let aspect = if turned { 1.0 / shape.pixel_aspect } else { shape.pixel_aspect };
    let format = codec.format() as i32;
    let recoder = if codec.is_rgb() {
        None
    } else {
        let rgba = ffi::AVPixelFormat::AV_PIX_FMT_RGBA as i32;
        Some(Recoder::of_drawn(size, rgba, format)?)
    };
    // SAFETY: a lookup by a constant name; the context is fresh, and `encoder` owns and frees it on every way out.
    unsafe {
        let found = ffi::avcodec_find_encoder_by_name(codec.encoder().as_ptr());
        if found.is_null() {
            return Err(refused("this FFmpeg was built without it; install a build that has it".into()));
        }
        let context = ffi::avcodec_alloc_context3(found);
        if context.is_null() {
            return Err(VideoError::OutOfMemory);
        }
        let encoder = Encoder::around(target.named, context, format, recoder);
        ((*context).width, (*context).height) = size;
        (*context).pix_fmt = codec.format();
        (*context).sample_aspect_ratio = ffi::av_d2q(aspect, 1 << 16);
        (*context).time_base = time_base;
        (*context).framerate = ff::av_rational(clip.video.frame_rate);
        (*context).flags |= ffi::AV_CODEC_FLAG_GLOBAL_HEADER as i32;
        if !codec.is_rgb() {
            // What editors assume of video with graphics, whatever the film below is in (common practice, no source).
            Tags::DRAWN.put(context);
        }
        if codec == LayerCodec::ProRes {
            (*context).profile = 4;
        }
        let options = codec.options(settings);
        let options: Vec<_> = options.iter().map(|(key, value)| (*key, value.as_str())).collect();
        let mut options = Options::new(&options)?;
        let code = ffi::avcodec_open2(context, found, &mut options.0);
        check(code).map_err(|e| refused(super::messages::last_complaint().unwrap_or(e.to_string())))?;
        Ok(encoder)
    }
}

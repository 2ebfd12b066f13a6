//! Frames cut to a part of the picture, or brought to another size, before anything is laid on them.

use super::ff::check;
use super::{Clip, Frame, FramePool, VideoError};
use crate::pixel::{ChromaSiting, FrameShape};
use ffmpeg_next::ffi;
use std::ffi::CStr;
use std::str::FromStr;

/// What is to be cut out of the picture as a viewer sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Crop {
    /// So many columns and rows, from this column and row on.
    Box {
        /// Columns.
        width: u32,
        /// Rows.
        height: u32,
        /// Columns to the left of it.
        x: u32,
        /// Rows above it.
        y: u32,
    },
    /// The largest part of this shape in the picture's middle.
    Ratio {
        /// Width.
        width: u32,
        /// To height.
        height: u32,
    },
}

/// The size that the picture is brought to, as a viewer sees it; a side that is left out follows the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    /// Columns.
    pub width: Option<u32>,
    /// Rows.
    pub height: Option<u32>,
}

/// What happens to the picture: first its fields become one, then it is cut, then scaled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Reshape {
    /// The part that is kept; none for all of it.
    pub crop: Option<Crop>,
    /// The size that it gets; none for its own.
    pub scale: Option<Scale>,
    /// Whether a picture made of two fields becomes a whole one.
    pub deinterlace: bool,
}

/// The farthest side that is taken.
const FARTHEST: u32 = 16_384;

/// A positive number, not beyond any picture's side.
fn side(text: &str) -> Option<u32> {
    text.parse().ok().filter(|n| (1..=FARTHEST).contains(n))
}

impl FromStr for Crop {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let ratio = text.split_once(':').and_then(|(w, h)| Some(Self::Ratio { width: side(w)?, height: side(h)? }));
        let place = || {
            let mut parts = text.split('+');
            let (width, height) = parts.next()?.split_once('x')?;
            let (x, y) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
            parts.next().is_none().then_some(())?;
            Some(Self::Box { width: side(width)?, height: side(height)?, x, y })
        };
        ratio.or_else(place).ok_or_else(|| {
            format!("`{text}` is no part of a picture; write WxH+X+Y, for example 1280x720+100+40, or a shape as 9:16")
        })
    }
}

impl FromStr for Scale {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let one = |text: &str| if text.is_empty() { Some(None) } else { side(text).map(Some) };
        match text.split_once('x').and_then(|(w, h)| Some((one(w)?, one(h)?))) {
            Some((width, height)) if width.is_some() || height.is_some() => Ok(Self { width, height }),
            _ => Err(format!("`{text}` is no size; write 1280x720, or one side alone, 1280x or x720")),
        }
    }
}

/// The same in coded columns and rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Cut {
    left: u32,
    top: u32,
    width: u32,
    height: u32,
    /// The size that it gets.
    pub(super) to: Option<(u32, u32)>,
}

impl Clip {
    /// The clip with its picture reshaped: all that looks at its shape sees the new one.
    ///
    /// # Errors
    /// The part does not lie in the picture, or between its samples; the picture is interlaced, and is to stay so; or it is not, and is
    /// to be deinterlaced.
    pub fn reshaped(mut self, reshape: Reshape) -> Result<Self, VideoError> {
        if reshape == Reshape::default() {
            return Ok(self);
        }
        let asked = |what: String| VideoError::Asked { file: self.file.clone(), what };
        match (self.video.fields, reshape.deinterlace) {
            (Some(_), false) => {
                let what = "the picture is interlaced, and is neither cut nor scaled as it is; add --deinterlace";
                return Err(asked(what.into()));
            }
            (None, true) => {
                let what = "the picture is not interlaced, as its first frame says; leave --deinterlace out";
                return Err(asked(what.into()));
            }
            _ => (self.video.fields, self.deinterlaced) = (None, reshape.deinterlace),
        }
        if reshape.crop.is_none() && reshape.scale.is_none() {
            return Ok(self);
        }
        let shape = self.video.shape;
        let mut cut = Cut { left: 0, top: 0, width: shape.width, height: shape.height, to: None };
        if let Some(crop) = reshape.crop {
            cut = coded(crop, shape, self.video.coding.sampling.shifts()).map_err(asked)?;
        }
        let mut new = FrameShape { width: cut.width, height: cut.height, ..shape };
        if let Some(scale) = reshape.scale {
            let (width, height) = new.shown_size();
            // The side that follows is even, since most codecs take no other.
            let even = |length: f64| (2.0 * (length / 2.0).round()).max(2.0) as u32;
            let (width, height) = match (scale.width, scale.height) {
                (Some(w), Some(h)) => (w, h),
                (Some(w), None) => (w, even(height * f64::from(w) / width)),
                (None, Some(h)) => (even(width * f64::from(h) / height), h),
                (None, None) => (new.width, new.height),
            };
            let to = if shape.orientation.quarter_turns % 2 == 1 { (height, width) } else { (width, height) };
            cut.to = Some(to);
            new = FrameShape { width: to.0, height: to.1, pixel_aspect: 1.0, orientation: shape.orientation };
        }
        self.video.shape = new;
        self.reshape = Some(cut);
        Ok(self)
    }

    /// What was done to its picture, in words that differ where that does.
    pub fn reshape_key(&self) -> String {
        let fields = if self.deinterlaced { "deinterlaced " } else { "" };
        self.reshape.map_or_else(|| fields.to_owned(), |cut| format!("{fields}{cut:?}"))
    }
}

/// A part of the shown picture, in the columns and rows in which it is coded.
fn coded(crop: Crop, shape: FrameShape, (right, down): (u32, u32)) -> Result<Cut, String> {
    let (shown_width, shown_height) = shape.shown_size();
    let (x, y, width, height) = match crop {
        Crop::Box { width, height, x, y } => (x, y, width, height),
        Crop::Ratio { width, height } => {
            let ratio = f64::from(width) / f64::from(height);
            let even = |length: f64| 2 * (length / 2.0 + 1e-9).floor() as u32;
            let width = even(shown_width.min(shown_height * ratio));
            let height = even(shown_height.min(f64::from(width) / ratio));
            let middle = |whole: f64, part: u32| even((whole - f64::from(part)).max(0.0) / 2.0);
            (middle(shown_width, width), middle(shown_height, height), width, height)
        }
    };
    let (end_x, end_y) = (f64::from(x) + f64::from(width), f64::from(y) + f64::from(height));
    if width == 0 || height == 0 || end_x > shown_width + 0.5 || end_y > shown_height + 0.5 {
        return Err(format!(
            "the part {width}x{height}+{x}+{y} does not lie in the picture, which is {shown_width:.0} x {shown_height:.0}"
        ));
    }
    let map = shape.shown_to_coded();
    let (a, b) = (map.apply(f64::from(x), f64::from(y)), map.apply(end_x, end_y));
    let is_square = (shape.pixel_aspect - 1.0).abs() < 1e-9;
    let along = |from: f64, to: f64, shift: u32, whole: u32| {
        let (first, last) = (from.min(to), from.max(to));
        let grid = f64::from(1_u32 << shift);
        let start = (first / grid).round() * grid;
        // Columns that are not square are met as nearly as can be.
        let fits = !is_square || (start - first).abs() < 1e-6;
        let length = ((last - first).round() as u32).min(whole.saturating_sub(start as u32));
        fits.then_some((start as u32, length))
    };
    let columns = along(a.0, b.0, right, shape.width);
    let rows = along(a.1, b.1, down, shape.height);
    match (columns, rows) {
        (Some((left, width)), Some((top, height))) => Ok(Cut { left, top, width, height, to: None }),
        _ => {
            Err(format!("the part {width}x{height}+{x}+{y} begins between two samples of colour; let X and Y be even"))
        }
    }
}

/// Does it to frames.
pub(super) struct Reshaper {
    cut: Cut,
    scaler: Option<Scaler>,
}

struct Scaler {
    context: *mut ffi::SwsContext,
    pool: FramePool,
}

// SAFETY: the context is owned by this struct alone and may be used from any one thread at a time.
unsafe impl Send for Scaler {}

impl Reshaper {
    /// For the frames of a clip that was reshaped; none for others.
    pub(super) fn of(clip: &Clip) -> Result<Option<Self>, VideoError> {
        let Some(cut) = clip.reshape else { return Ok(None) };
        let format = clip.video.planar_format;
        let scaler = cut.to.map(|to| Scaler::new((cut.width, cut.height), to, format, clip.video.coding.colour.siting));
        Ok(Some(Self { cut, scaler: scaler.transpose()? }))
    }

    pub(super) fn reshape(&mut self, mut frame: Frame) -> Result<Frame, VideoError> {
        let Cut { left, top, width, height, .. } = self.cut;
        // SAFETY: the frame is alive and ours alone; cropping moves its own pointers and changes no sample. The reader checks
        // that every frame has the size that the cut was made for.
        let code = unsafe {
            let inner = &mut *frame.inner.as_mut_ptr();
            (inner.crop_left, inner.crop_top) = (left as usize, top as usize);
            inner.crop_right = (inner.width as usize).saturating_sub((left + width) as usize);
            inner.crop_bottom = (inner.height as usize).saturating_sub((top + height) as usize);
            ffi::av_frame_apply_cropping(inner, ffi::AV_FRAME_CROP_UNALIGNED as i32)
        };
        check(code).map_err(|_| VideoError::OutOfMemory)?;
        match &self.scaler {
            None => Ok(frame),
            Some(scaler) => scaler.scale(&frame),
        }
    }
}

impl Scaler {
    fn new(from: (u32, u32), to: (u32, u32), format: i32, siting: ChromaSiting) -> Result<Self, VideoError> {
        // In 1/256 of a luma sample, from the first one's middle.
        let (across, down) = match siting {
            ChromaSiting::Left => (0, 128),
            ChromaSiting::Centre => (128, 128),
            ChromaSiting::TopLeft => (0, 0),
        };
        let kernel = ffi::SWS_BICUBIC | ffi::SWS_ACCURATE_RND | ffi::SWS_FULL_CHR_H_INP | ffi::SWS_FULL_CHR_H_INT;
        let options: [(&CStr, i64); 11] = [
            (c"srcw", i64::from(from.0)),
            (c"srch", i64::from(from.1)),
            (c"src_format", i64::from(format)),
            (c"dstw", i64::from(to.0)),
            (c"dsth", i64::from(to.1)),
            (c"dst_format", i64::from(format)),
            (c"sws_flags", i64::from(kernel)),
            (c"src_h_chr_pos", across),
            (c"src_v_chr_pos", down),
            (c"dst_h_chr_pos", across),
            (c"dst_v_chr_pos", down),
        ];
        // SAFETY: the context is fresh and freed by `Drop` on every way out; its options are set by name before it is made ready.
        let scaler = unsafe {
            let context = ffi::sws_alloc_context();
            if context.is_null() {
                return Err(VideoError::OutOfMemory);
            }
            let scaler = Self { context, pool: FramePool::new(to.0 as i32, to.1 as i32, format)? };
            for (key, value) in options {
                let code = ffi::av_opt_set_int(context.cast(), key.as_ptr(), value, 0);
                check(code).map_err(|_| VideoError::OutOfMemory)?;
            }
            let code = ffi::sws_init_context(context, std::ptr::null_mut(), std::ptr::null_mut());
            check(code).map_err(|_| VideoError::OutOfMemory)?;
            scaler
        };
        Ok(scaler)
    }

    fn scale(&self, frame: &Frame) -> Result<Frame, VideoError> {
        let mut scaled = self.pool.blank(frame.pts, frame.duration)?;
        // SAFETY: both frames are alive and of the sizes and the format that the context was made for.
        let rows = unsafe {
            let (source, target) = (&*frame.inner.as_ptr(), scaled.inner.as_mut_ptr());
            if ffi::av_frame_copy_props(target, source) < 0 {
                return Err(VideoError::OutOfMemory);
            }
            (*target).sample_aspect_ratio = ffi::AVRational { num: 1, den: 1 };
            ffi::sws_scale(
                self.context,
                source.data.as_ptr().cast(),
                source.linesize.as_ptr(),
                0,
                source.height,
                (*target).data.as_ptr(),
                (*target).linesize.as_ptr(),
            )
        };
        if rows <= 0 { Err(VideoError::OutOfMemory) } else { Ok(scaled) }
    }
}

impl Drop for Scaler {
    fn drop(&mut self) {
        // SAFETY: the context is this struct's own and not used afterwards.
        unsafe { ffi::sws_freeContext(self.context) };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pixel::Orientation;

    #[test]
    fn parts_and_sizes_are_read() {
        assert_eq!("9:16".parse(), Ok(Crop::Ratio { width: 9, height: 16 }));
        assert_eq!("640x360+10+20".parse(), Ok(Crop::Box { width: 640, height: 360, x: 10, y: 20 }));
        for text in ["640x360", "0:1", "640x360+1", "640x360+1+2+3", "x360+1+1", "a:b", "640x360-1+2"] {
            assert!(text.parse::<Crop>().is_err(), "{text}");
        }
        assert_eq!("x720".parse(), Ok(Scale { width: None, height: Some(720) }));
        assert_eq!("1280x".parse(), Ok(Scale { width: Some(1280), height: None }));
        for text in ["x", "1280", "0x2", "-2x2", "1280x720x2", "99999x2"] {
            assert!(text.parse::<Scale>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_part_is_found_as_the_viewer_sees_it() {
        let orientation = Orientation { quarter_turns: 1, mirrored: false };
        let turned = FrameShape { orientation, ..FrameShape::plain(640, 360) };
        // Turned clockwise, the shown left edge is the coded lower one.
        let cut = coded(Crop::Box { width: 100, height: 200, x: 20, y: 40 }, turned, (1, 1)).expect("a part");
        assert_eq!((cut.left, cut.top, cut.width, cut.height), (40, 360 - 120, 200, 100));
        let cut = coded(Crop::Ratio { width: 9, height: 16 }, FrameShape::plain(1920, 1080), (1, 1)).expect("a part");
        assert_eq!((cut.left, cut.top, cut.width, cut.height), (656, 2, 606, 1076));
        let odd = Crop::Box { width: 100, height: 200, x: 21, y: 40 };
        assert!(coded(odd, FrameShape::plain(640, 360), (1, 1)).is_err());
        assert!(coded(odd, FrameShape::plain(640, 360), (0, 0)).is_ok());
        assert!(coded(odd, FrameShape::plain(120, 360), (0, 0)).is_err());
    }
}

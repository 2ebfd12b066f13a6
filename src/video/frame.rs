//! Decoded frames, and writable copies of them from a pool.

use super::VideoError;
use super::ff::check;
use super::format::PixelFormat;
use crate::pixel::{PlanesMut, Sample, Sampling};
use ffmpeg_next::ffi;
use std::sync::atomic::{AtomicU64, Ordering};

/// One frame of the film, with its time in ticks of the stream's time base.
pub struct Frame {
    pub(super) inner: ffmpeg_next::frame::Video,
    /// Presentation time in the stream's ticks.
    pub pts: i64,
    /// How long it is shown, in the same ticks; 0 where the container does not say.
    pub duration: i64,
}

/// Which field of an interlaced picture was taken first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FieldOrder {
    /// The one with the first row.
    TopFirst,
    /// The one with the second row.
    BottomFirst,
}

impl FieldOrder {
    /// A frame's; none where it is one picture.
    pub(super) fn of(frame: &Frame) -> Option<Self> {
        // SAFETY: the frame is alive; plain fields are read.
        let frame = unsafe { &*frame.inner.as_ptr() };
        let order = if frame.top_field_first != 0 { Self::TopFirst } else { Self::BottomFirst };
        (frame.interlaced_frame != 0).then_some(order)
    }
}

impl Frame {
    /// Whether nobody else (the decoder, as a reference for coming frames) still holds this memory.
    pub fn is_writable(&self) -> bool {
        // SAFETY: the frame is alive; the call only reads its reference counts.
        unsafe { ffi::av_frame_is_writable(self.inner.as_ptr().cast_mut()) > 0 }
    }

    /// The frame's planes for writing. Writing where [`Frame::is_writable`] is false damages frames to come: take a copy
    /// from a [`FramePool`] first.
    ///
    /// None where the frame's samples are not of this type, or do not lie in planes from top to bottom.
    pub fn planes_mut<T: Sample>(&mut self) -> Option<PlanesMut<'_, T>> {
        // SAFETY: the pointer is that of the live frame; only its plain fields are read.
        let (format, data, lines, width, height) = unsafe {
            let frame = &*self.inner.as_ptr();
            (frame.format, frame.data, frame.linesize, frame.width, frame.height)
        };
        let known = PixelFormat::of(format).ok().filter(|f| f.planar == f.id && (f.depth > 8) == (T::BYTES == 2))?;
        let (width, height) = (u32::try_from(width).ok()?, u32::try_from(height).ok()?);
        let (right, down) = known.sampling.shifts();
        let chroma = match known.sampling {
            Sampling::Gray => (0, 0),
            _ => (width.div_ceil(1 << right) as usize, height.div_ceil(1 << down) as usize),
        };
        let stride = |i: usize| usize::try_from(lines[i]).ok().map(|bytes| bytes / T::BYTES);
        let (y_stride, c_stride) = (stride(0)?, stride(1)?);
        let fits = |i: usize, (columns, rows): (usize, usize)| {
            rows == 0
                || (!data[i].is_null()
                    && data[i].align_offset(T::BYTES) == 0
                    && stride(i).is_some_and(|s| s >= columns))
        };
        let luma = (width as usize, height as usize);
        if !(fits(0, luma) && fits(1, chroma) && fits(2, chroma)) || (chroma.1 > 0 && lines[1] != lines[2]) {
            return None;
        }
        // SAFETY: the library allocates `linesize * rows` bytes for each plane of these formats (their samples were found to
        // lie in planes, and the pointers to be aligned), the last row at least up to the width; the planes do not overlap, and
        // the borrow of `self` keeps the frame alive and unshared on the Rust side. Any bits are a valid sample.
        unsafe {
            let plane = |i: usize, stride: usize, (columns, rows): (usize, usize)| match rows {
                0 => Default::default(),
                _ => std::slice::from_raw_parts_mut(data[i].cast::<T>(), stride * (rows - 1) + columns),
            };
            let (y, u, v) = (plane(0, y_stride, luma), plane(1, c_stride, chroma), plane(2, c_stride, chroma));
            Some(PlanesMut { y, u, v, y_stride, c_stride, width, height, sampling: known.sampling })
        }
    }

    /// What tells whether two frames are of one film: columns, rows, and the library's number of the pixel format.
    pub(super) fn kind(&self) -> (i32, i32, i32) {
        // SAFETY: the frame is alive; plain fields are read.
        let frame = unsafe { &*self.inner.as_ptr() };
        (frame.width, frame.height, frame.format)
    }
}

/// Memory for writable frames. A buffer comes back by itself when the encoder lets go of its frame.
pub struct FramePool {
    pool: *mut ffi::AVBufferPool,
    width: i32,
    height: i32,
    format: i32,
    copies: AtomicU64,
}

// SAFETY: the library's buffer pools are made for use from several threads; the other fields do not change.
unsafe impl Send for FramePool {}
// SAFETY: as above; `copies` is atomic.
unsafe impl Sync for FramePool {}

/// Rows start on cache lines, which the encoder's vector code likes best.
const ALIGN: i32 = 64;

impl FramePool {
    /// A pool for frames like this one.
    pub fn like(frame: &Frame) -> Result<Self, VideoError> {
        let (width, height, format) = frame.kind();
        Self::new(width, height, format)
    }

    /// A pool for 8-bit 4:2:0 frames of this size.
    pub fn planar(width: u32, height: u32) -> Result<Self, VideoError> {
        let side = |n| i32::try_from(n).map_err(|_| VideoError::OutOfMemory);
        Self::new(side(width)?, side(height)?, ffi::AVPixelFormat::AV_PIX_FMT_YUV420P as i32)
    }

    /// The format is a number that the library itself gave out.
    pub(super) fn new(width: i32, height: i32, format: i32) -> Result<Self, VideoError> {
        // SAFETY: by contract of the format; pure arithmetic.
        let size = unsafe {
            let format = std::mem::transmute::<i32, ffi::AVPixelFormat>(format);
            ffi::av_image_get_buffer_size(format, width, height, ALIGN)
        };
        let size = check(size).map_err(|_| VideoError::OutOfMemory)?;
        // SAFETY: the allocator is the library's own. Vector code may read a line beyond the last row.
        let pool = unsafe { ffi::av_buffer_pool_init(size as usize + ALIGN as usize, Some(ffi::av_buffer_allocz)) };
        if pool.is_null() {
            return Err(VideoError::OutOfMemory);
        }
        Ok(Self { pool, width, height, format, copies: AtomicU64::new(0) })
    }

    /// A frame with a time and whatever picture its memory held before.
    pub fn blank(&self, pts: i64, duration: i64) -> Result<Frame, VideoError> {
        let mut inner = ffmpeg_next::frame::Video::empty();
        // SAFETY: `inner` is a fresh frame without buffers; it gets one buffer of the size that av_image_get_buffer_size
        // asked for in `new`, zeroed when it was made, with plane pointers laid into it by the library.
        let code = unsafe {
            let target = inner.as_mut_ptr();
            (*target).width = self.width;
            (*target).height = self.height;
            (*target).format = self.format;
            let buffer = ffi::av_buffer_pool_get(self.pool);
            if buffer.is_null() {
                return Err(VideoError::OutOfMemory);
            }
            (*target).buf[0] = buffer;
            (*target).extended_data = (*target).data.as_mut_ptr();
            ffi::av_image_fill_arrays(
                (*target).data.as_mut_ptr(),
                (*target).linesize.as_mut_ptr(),
                (*buffer).data,
                std::mem::transmute::<i32, ffi::AVPixelFormat>(self.format),
                self.width,
                self.height,
                ALIGN,
            )
        };
        check(code).map_err(|_| VideoError::OutOfMemory)?;
        Ok(Frame { inner, pts, duration })
    }

    /// The same picture in memory of its own.
    pub fn copy(&self, frame: &Frame) -> Result<Frame, VideoError> {
        let mut copy = self.blank(frame.pts, frame.duration)?;
        // SAFETY: both frames are alive and the copy's memory is its own; av_frame_copy refuses frames of another size or
        // format.
        let code = unsafe {
            let target = copy.inner.as_mut_ptr();
            match ffi::av_frame_copy(target, frame.inner.as_ptr()) {
                code if code < 0 => code,
                _ => ffi::av_frame_copy_props(target, frame.inner.as_ptr()),
            }
        };
        check(code).map_err(|_| VideoError::OutOfMemory)?;
        self.copies.fetch_add(1, Ordering::Relaxed);
        Ok(copy)
    }

    /// How many copies were made so far.
    pub fn copies(&self) -> u64 {
        self.copies.load(Ordering::Relaxed)
    }
}

impl Drop for FramePool {
    fn drop(&mut self) {
        // SAFETY: the pool is this struct's own; buffers still in use keep it alive inside the library.
        unsafe { ffi::av_buffer_pool_uninit(&mut self.pool) };
    }
}

//! Decoded frames, and writable copies of them from a pool.

use super::VideoError;
use super::ff::check;
use crate::pixel::PlanesMut;
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

impl Frame {
    /// Whether nobody else (the decoder, as a reference for coming frames) still holds this memory.
    pub fn is_writable(&self) -> bool {
        // SAFETY: the frame is alive; the call only reads its reference counts.
        unsafe { ffi::av_frame_is_writable(self.inner.as_ptr().cast_mut()) > 0 }
    }

    /// The frame's planes for writing. Writing where [`Frame::is_writable`] is false damages frames to come: take a copy
    /// from a [`FramePool`] first.
    ///
    /// None where the memory is not laid out as three 8-bit 4:2:0 planes from top to bottom.
    pub fn planes_mut(&mut self) -> Option<PlanesMut<'_>> {
        let (width, height) = (self.inner.width(), self.inner.height());
        // SAFETY: the pointer is that of the live frame; only its plain fields are read.
        let (format, data, lines) = unsafe {
            let frame = &*self.inner.as_ptr();
            (frame.format, frame.data, frame.linesize)
        };
        let planar = [ffi::AVPixelFormat::AV_PIX_FMT_YUV420P, ffi::AVPixelFormat::AV_PIX_FMT_YUVJ420P];
        let fits = planar.iter().any(|&p| p as i32 == format)
            && width % 2 == 0
            && height % 2 == 0
            && data[..3].iter().all(|p| !p.is_null())
            && lines[0] >= width as i32
            && lines[1] >= (width / 2) as i32
            && lines[1] == lines[2];
        if !fits {
            return None;
        }
        let (y_stride, c_stride) = (lines[0] as usize, lines[1] as usize);
        let rows = height as usize;
        // SAFETY: the library allocates `linesize * rows` bytes for each plane of these formats (checked above), the last
        // row at least up to the width; the three planes do not overlap, and the borrow of `self` keeps the frame alive
        // and unshared on the Rust side.
        unsafe {
            let plane = |i: usize, stride: usize, rows: usize, width: usize| {
                std::slice::from_raw_parts_mut(data[i], stride * (rows - 1) + width)
            };
            Some(PlanesMut {
                y: plane(0, y_stride, rows, width as usize),
                u: plane(1, c_stride, rows / 2, width as usize / 2),
                v: plane(2, c_stride, rows / 2, width as usize / 2),
                y_stride,
                c_stride,
                width,
                height,
            })
        }
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
        // SAFETY: the frame is alive; plain fields are read.
        let (width, height, format) = unsafe {
            let f = &*frame.inner.as_ptr();
            (f.width, f.height, f.format)
        };
        Self::new(width, height, format)
    }

    /// A pool for 8-bit 4:2:0 frames of this size.
    pub fn planar(width: u32, height: u32) -> Result<Self, VideoError> {
        let side = |n| i32::try_from(n).map_err(|_| VideoError::OutOfMemory);
        Self::new(side(width)?, side(height)?, ffi::AVPixelFormat::AV_PIX_FMT_YUV420P as i32)
    }

    /// The format is a number that the library itself gave out.
    fn new(width: i32, height: i32, format: i32) -> Result<Self, VideoError> {
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

//! Frames in another pixel format, for an encoder that does not take their own.

use super::{Frame, FramePool, VideoError};
use ffmpeg_next::ffi;

/// Turns frames of one size and format into another format that holds all of it.
pub(super) struct Recoder {
    scaler: *mut ffi::SwsContext,
    pool: FramePool,
}

// SAFETY: the scaler is owned by this struct alone and may be used from any one thread at a time.
unsafe impl Send for Recoder {}

impl Recoder {
    /// For frames of this size, from a format to another, each with whether its codes are full range. The matrix stays.
    pub(super) fn new(
        (width, height): (i32, i32),
        (from, from_full): (i32, bool),
        (to, to_full): (i32, bool),
    ) -> Result<Self, VideoError> {
        let flags = ffi::SWS_POINT | ffi::SWS_ACCURATE_RND | ffi::SWS_FULL_CHR_H_INP | ffi::SWS_FULL_CHR_H_INT;
        // SAFETY: the formats are numbers that the library gave out; no filter is handed in; the tables are static.
        let scaler = unsafe {
            let scaler = ffi::sws_getContext(
                width,
                height,
                std::mem::transmute::<i32, ffi::AVPixelFormat>(from),
                width,
                height,
                std::mem::transmute::<i32, ffi::AVPixelFormat>(to),
                flags,
                std::ptr::null_mut(),
                std::ptr::null_mut(),
                std::ptr::null(),
            );
            if !scaler.is_null() {
                let table = ffi::sws_getCoefficients(ffi::SWS_CS_DEFAULT);
                let (from, to) = (i32::from(from_full), i32::from(to_full));
                ffi::sws_setColorspaceDetails(scaler, table, from, table, to, 0, 1 << 16, 1 << 16);
            }
            scaler
        };
        if scaler.is_null() {
            return Err(VideoError::OutOfMemory);
        }
        Ok(Self { scaler, pool: FramePool::new(width, height, to)? })
    }

    /// The same picture, in memory of its own.
    pub(super) fn recode(&mut self, frame: &Frame) -> Result<Frame, VideoError> {
        let mut recoded = self.pool.blank(frame.pts, frame.duration)?;
        // SAFETY: both frames are alive and of the size and formats that the scaler was made for.
        let rows = unsafe {
            let (source, target) = (&*frame.inner.as_ptr(), recoded.inner.as_mut_ptr());
            if ffi::av_frame_copy_props(target, source) < 0 {
                return Err(VideoError::OutOfMemory);
            }
            ffi::sws_scale(
                self.scaler,
                source.data.as_ptr().cast(),
                source.linesize.as_ptr(),
                0,
                source.height,
                (*target).data.as_ptr(),
                (*target).linesize.as_ptr(),
            )
        };
        if rows <= 0 { Err(VideoError::OutOfMemory) } else { Ok(recoded) }
    }
}

impl Drop for Recoder {
    fn drop(&mut self) {
        // SAFETY: the scaler is this struct's own and not used afterwards.
        unsafe { ffi::sws_freeContext(self.scaler) };
    }
}

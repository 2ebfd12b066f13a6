//! A frame as a still picture.

use super::{Clip, Frame, VideoError};
use crate::pixel::{Matrix, Range};
use ffmpeg_next::ffi;

/// A picture in memory: 8-bit sRGB-like RGB, rows from the top without padding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// `3 * width * height` bytes.
    pub rgb: Vec<u8>,
}

impl Picture {
    /// Converts a frame, as coded (not turned), by the clip's matrix and range.
    pub fn from_frame(frame: &Frame, clip: &Clip) -> Result<Self, VideoError> {
        let matrix = match clip.video.coding.colour.matrix {
            Matrix::Bt709 => ffi::SWS_CS_ITU709,
            Matrix::Bt601 => ffi::SWS_CS_ITU601,
            Matrix::Bt2020 => ffi::SWS_CS_BT2020,
            // Not looked at for RGB.
            Matrix::Rgb => ffi::SWS_CS_DEFAULT,
        };
        let full = i32::from(clip.video.coding.colour.range == Range::Full);
        let mut target = ffmpeg_next::frame::Video::empty();
        // SAFETY: the source frame is alive; the target gets its own buffer from the library before anything is written;
        // the scaler is freed on every way; the coefficient tables are static.
        let ok = unsafe {
            let source = &*frame.inner.as_ptr();
            let format = ffi::AVPixelFormat::AV_PIX_FMT_RGB24;
            (*target.as_mut_ptr()).width = source.width;
            (*target.as_mut_ptr()).height = source.height;
            (*target.as_mut_ptr()).format = format as i32;
            let flags = ffi::SWS_BILINEAR | ffi::SWS_ACCURATE_RND | ffi::SWS_FULL_CHR_H_INT;
            let scaler = ffi::sws_getContext(
                source.width,
                source.height,
                std::mem::transmute::<i32, ffi::AVPixelFormat>(source.format),
                source.width,
                source.height,
                format,
                flags,
                std::ptr::null_mut(),
                std::ptr::null_mut(),
                std::ptr::null(),
            );
            let allocated = ffi::av_frame_get_buffer(target.as_mut_ptr(), 0) >= 0;
            let mut ok = allocated && !scaler.is_null();
            if ok {
                let table = ffi::sws_getCoefficients(matrix);
                ffi::sws_setColorspaceDetails(scaler, table, full, table, 1, 0, 1 << 16, 1 << 16);
                let rows = ffi::sws_scale(
                    scaler,
                    source.data.as_ptr().cast(),
                    source.linesize.as_ptr(),
                    0,
                    source.height,
                    (*target.as_mut_ptr()).data.as_ptr(),
                    (*target.as_mut_ptr()).linesize.as_ptr(),
                );
                ok = rows == source.height;
            }
            ffi::sws_freeContext(scaler);
            ok
        };
        if !ok {
            return Err(VideoError::OutOfMemory);
        }
        let (width, height) = (target.width(), target.height());
        let (stride, data) = (target.stride(0), target.data(0));
        let row = 3 * width as usize;
        let rgb = (0..height as usize).flat_map(|y| &data[y * stride..y * stride + row]).copied().collect();
        Ok(Self { width, height, rgb })
    }
}

//! Frames whose samples lie mixed, taken apart into planes: an exact copy of every sample.

use super::format::{PixelFormat, descriptor};
use super::{Frame, FramePool, VideoError};
use ffmpeg_next::ffi;

/// Takes frames of one format and size apart.
pub(super) struct Unpacker {
    format: PixelFormat,
    pool: FramePool,
    row: Vec<u16>,
}

impl Unpacker {
    /// For frames of this format and size.
    pub(super) fn new(format: PixelFormat, width: i32, height: i32) -> Result<Self, VideoError> {
        let row = vec![0; usize::try_from(width).map_err(|_| VideoError::OutOfMemory)?];
        Ok(Self { format, pool: FramePool::new(width, height, format.planar)?, row })
    }

    /// The same picture in planes. An alpha plane is left out: a film is what it shows.
    pub(super) fn unpack(&mut self, frame: &Frame) -> Result<Frame, VideoError> {
        let (Some(from), Some(to)) = (descriptor(self.format.id), descriptor(self.format.planar)) else {
            return Err(VideoError::OutOfMemory);
        };
        let mut planes = self.pool.blank(frame.pts, frame.duration)?;
        // SAFETY: both frames are alive, of the size and the formats that this struct was made for (the reader checks every
        // frame); the row buffer holds a frame's width; each row that is written lies in the plane that the library laid out for
        // the planar format.
        unsafe {
            let (source, target) = (&*frame.inner.as_ptr(), &mut *planes.inner.as_mut_ptr());
            if ffi::av_frame_copy_props(target, source) < 0 {
                return Err(VideoError::OutOfMemory);
            }
            let mut data: [*const u8; 4] = std::array::from_fn(|i| source.data[i].cast_const());
            let lines: [i32; 4] = std::array::from_fn(|i| source.linesize[i]);
            for kind in 0..usize::from(to.nb_components) {
                let plane = to.comp[kind].plane as usize;
                let coarse = kind > 0 && to.nb_components >= 3 && !self.format.is_rgb;
                let (right, down) = if coarse { (to.log2_chroma_w, to.log2_chroma_h) } else { (0, 0) };
                let size = |length: i32, shift: u8| (length + (1 << shift) - 1) >> shift;
                let (width, height) = (size(source.width, right), size(source.height, down));
                for y in 0..height {
                    ffi::av_read_image_line2(
                        self.row.as_mut_ptr().cast(),
                        data.as_mut_ptr(),
                        lines.as_ptr(),
                        from,
                        0,
                        y,
                        kind as i32,
                        width,
                        0,
                        2,
                    );
                    let row = target.data[plane].offset(y as isize * target.linesize[plane] as isize);
                    let samples = &self.row[..width as usize];
                    if self.format.depth > 8 {
                        std::ptr::copy_nonoverlapping(samples.as_ptr(), row.cast::<u16>(), samples.len());
                    } else {
                        let row = std::slice::from_raw_parts_mut(row, samples.len());
                        row.iter_mut().zip(samples).for_each(|(byte, &sample)| *byte = sample as u8);
                    }
                }
            }
        }
        Ok(planes)
    }
}

//! What a film of high dynamic range says of the display it was made on, and of its brightest light.

use super::{Frame, VideoError};
use ffmpeg_next::ffi;

/// Bytes of the library's own structs, as it keeps them with frames and with streams.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct LightData {
    /// SMPTE ST 2086: primaries, white and luminance of the mastering display.
    mastering: Option<Vec<u8>>,
    /// CTA-861.3: brightest light of a pixel and of a frame's mean.
    levels: Option<Vec<u8>>,
}

/// As `libavutil/mastering_display_metadata.h` lays it out; the crate's bindings leave it out.
#[repr(C)]
struct Mastering {
    primaries: [[ffi::AVRational; 2]; 3],
    white: [ffi::AVRational; 2],
    least: ffi::AVRational,
    most: ffi::AVRational,
    has_primaries: libc::c_int,
    has_luminance: libc::c_int,
}

/// As the same header lays it out.
#[repr(C)]
struct Levels {
    most: libc::c_uint,
    mean: libc::c_uint,
}

impl LightData {
    /// What a frame carries; of the rest, what its stream does.
    ///
    /// # Safety
    /// The stream must be alive.
    pub(super) unsafe fn of(frame: &Frame, stream: *const ffi::AVStream) -> Self {
        use ffi::{AVFrameSideDataType as InFrame, AVPacketSideDataType as InStream};
        // SAFETY: the frame is alive, the stream by contract; what the library keeps is copied at once, by its stated size.
        let bytes = |in_frame, in_stream| unsafe {
            if let Some(data) = ffi::av_frame_get_side_data(frame.inner.as_ptr(), in_frame).as_ref() {
                return Some(std::slice::from_raw_parts(data.data, data.size).to_vec());
            }
            let mut size = 0;
            let data = ffi::av_stream_get_side_data(stream, in_stream, &mut size);
            (!data.is_null()).then(|| std::slice::from_raw_parts(data, size).to_vec())
        };
        Self {
            mastering: bytes(
                InFrame::AV_FRAME_DATA_MASTERING_DISPLAY_METADATA,
                InStream::AV_PKT_DATA_MASTERING_DISPLAY_METADATA,
            ),
            levels: bytes(InFrame::AV_FRAME_DATA_CONTENT_LIGHT_LEVEL, InStream::AV_PKT_DATA_CONTENT_LIGHT_LEVEL),
        }
    }

    /// Gives it to a stream that is to be written.
    ///
    /// # Safety
    /// The stream must be alive.
    pub(super) unsafe fn put(&self, stream: *mut ffi::AVStream) -> Result<(), VideoError> {
        use ffi::AVPacketSideDataType as InStream;
        for (kind, bytes) in [
            (InStream::AV_PKT_DATA_MASTERING_DISPLAY_METADATA, &self.mastering),
            (InStream::AV_PKT_DATA_CONTENT_LIGHT_LEVEL, &self.levels),
        ] {
            let Some(bytes) = bytes else { continue };
            // SAFETY: the stream is alive by contract; the library makes memory of the size that is then filled.
            unsafe {
                let copy = ffi::av_stream_new_side_data(stream, kind, bytes.len());
                if copy.is_null() {
                    return Err(VideoError::OutOfMemory);
                }
                std::ptr::copy_nonoverlapping(bytes.as_ptr(), copy, bytes.len());
            }
        }
        Ok(())
    }

    /// The mastering display: red, green, blue and white as (x, y), and the least and most luminance in cd/m2.
    fn display(&self) -> Option<([[f64; 2]; 4], [f64; 2])> {
        let bytes = self.mastering.as_ref()?;
        if bytes.len() < size_of::<Mastering>() {
            return None;
        }
        // SAFETY: the bytes are a copy of this struct, which is made of plain numbers alone.
        let data = unsafe { bytes.as_ptr().cast::<Mastering>().read_unaligned() };
        let value = |r: ffi::AVRational| f64::from(r.num) / f64::from(r.den.max(1));
        let [red, green, blue] = data.primaries.map(|point| point.map(value));
        let known = data.has_primaries != 0 && data.has_luminance != 0;
        known.then(|| ([red, green, blue, data.white.map(value)], [value(data.least), value(data.most)]))
    }

    /// The brightest pixel, and the brightest mean of a frame, in cd/m2.
    fn levels(&self) -> Option<(u32, u32)> {
        let bytes = self.levels.as_ref()?;
        if bytes.len() < size_of::<Levels>() {
            return None;
        }
        // SAFETY: as above.
        let data = unsafe { bytes.as_ptr().cast::<Levels>().read_unaligned() };
        Some((data.most, data.mean))
    }

    /// The display in the notation that x264 and x265 share: steps of 0.00002 and of 0.0001 cd/m2, as ST 2086 counts.
    pub(super) fn display_in_steps(&self) -> Option<String> {
        let (points, [least, most]) = self.display()?;
        let [red, green, blue, white] = points.map(|[x, y]| format!("({:.0},{:.0})", x * 50_000.0, y * 50_000.0));
        Some(format!("G{green}B{blue}R{red}WP{white}L({:.0},{:.0})", most * 10_000.0, least * 10_000.0))
    }

    /// The display in plain numbers, as SVT-AV1 reads it.
    pub(super) fn display_in_numbers(&self) -> Option<String> {
        let (points, [least, most]) = self.display()?;
        let [red, green, blue, white] = points.map(|[x, y]| format!("({x:.5},{y:.5})"));
        Some(format!("G{green}B{blue}R{red}WP{white}L({most:.4},{least:.4})"))
    }

    /// Both levels with a comma.
    pub(super) fn levels_in_text(&self) -> Option<String> {
        self.levels().map(|(most, mean)| format!("{most},{mean}"))
    }
}

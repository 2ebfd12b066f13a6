//! One whole picture from each that is made of two fields, by FFmpeg's `bwdif` (weighted mean of its neighbours where things move).

use super::ff::{self, AGAIN, check};
use super::{Frame, VideoError, format, messages};
use crate::time::Rational;
use ffmpeg_next::ffi;
use std::collections::VecDeque;
use std::ffi::{CStr, CString};
use std::path::{Path, PathBuf};

/// Takes frames and hands them on a frame later, for it looks at both neighbours. A frame that is flagged as one picture stays as it is.
pub(super) struct Deinterlacer {
    file: PathBuf,
    graph: *mut ffi::AVFilterGraph,
    source: *mut ffi::AVFilterContext,
    sink: *mut ffi::AVFilterContext,
    base: ffi::AVRational,
    /// Times and durations of the frames inside: the filter forgets how long they are shown.
    inside: VecDeque<(i64, i64)>,
}

// SAFETY: the graph is owned by this struct alone and may be used from any one thread at a time.
unsafe impl Send for Deinterlacer {}

impl Deinterlacer {
    /// For frames like this one, their times being ticks of `base`; `file` is named in errors.
    pub(super) fn like(file: &Path, frame: &Frame, base: Rational) -> Result<Self, VideoError> {
        let (width, height, format) = frame.kind();
        let name = format::name(format);
        let source = format!("video_size={width}x{height}:pix_fmt={name}:time_base={}/{}", base.num, base.den);
        let source = CString::new(source).map_err(|_| VideoError::OutOfMemory)?;
        // SAFETY: the graph is fresh and freed by `Drop` on every way out; its filters belong to it.
        unsafe {
            let graph = ffi::avfilter_graph_alloc();
            if graph.is_null() {
                return Err(VideoError::OutOfMemory);
            }
            let mut made = Self {
                file: file.to_owned(),
                graph,
                source: std::ptr::null_mut(),
                sink: std::ptr::null_mut(),
                base: ff::av_rational(base),
                inside: VecDeque::new(),
            };
            // What it does not take is refused, not turned into another format without a word.
            ffi::avfilter_graph_set_auto_convert(graph, NO_CONVERSION);
            let missing = made.refused("fields: this FFmpeg was built without the filter bwdif");
            let options = c"mode=send_frame:parity=auto:deint=interlaced";
            let fields = filter(graph, c"bwdif", Some(options)).ok_or(missing)?;
            made.source = filter(graph, c"buffer", Some(&source)).ok_or(VideoError::OutOfMemory)?;
            made.sink = filter(graph, c"buffersink", None).ok_or(VideoError::OutOfMemory)?;
            for code in [
                ffi::avfilter_link(made.source, 0, fields, 0),
                ffi::avfilter_link(fields, 0, made.sink, 0),
                ffi::avfilter_graph_config(graph, std::ptr::null_mut()),
            ] {
                check(code).map_err(|_| made.refused(&format!("pictures of {width} x {height} in {name}")))?;
            }
            Ok(made)
        }
    }

    /// Takes a frame, or none for the end.
    pub(super) fn send(&mut self, frame: Option<Frame>) -> Result<(), VideoError> {
        let Some(mut frame) = frame else {
            // SAFETY: the graph is configured; a null frame means the end.
            let code = unsafe { ffi::av_buffersrc_add_frame(self.source, std::ptr::null_mut()) };
            return check(code).map(|_| ()).map_err(|e| self.failed(&e));
        };
        self.inside.push_back((frame.pts, frame.duration));
        // SAFETY: the graph is configured; the frame is alive and ours, and its references go over to the graph.
        let code = unsafe {
            let inner = frame.inner.as_mut_ptr();
            (*inner).pts = frame.pts;
            ffi::av_buffersrc_add_frame(self.source, inner)
        };
        check(code).map(|_| ()).map_err(|e| self.failed(&e))
    }

    /// The next frame; none until more go in, and at the end.
    pub(super) fn receive(&mut self) -> Result<Option<Frame>, VideoError> {
        let mut inner = ffmpeg_next::frame::Video::empty();
        // SAFETY: the graph is configured and the frame is ours to fill; the sink's time base is a plain field.
        let (code, pts) = unsafe {
            let code = ffi::av_buffersink_get_frame(self.sink, inner.as_mut_ptr());
            let own = ffi::av_buffersink_get_time_base(self.sink);
            (code, ffi::av_rescale_q((*inner.as_ptr()).pts, own, self.base))
        };
        match check(code) {
            Ok(_) => {}
            Err(e) if e == AGAIN || e == ffmpeg_next::Error::Eof => return Ok(None),
            Err(e) => return Err(self.failed(&e)),
        }
        while let Some((at, duration)) = self.inside.pop_front() {
            if at >= pts {
                return Ok(Some(Frame { inner, pts: at, duration }));
            }
        }
        Err(self.failed(&ffmpeg_next::Error::Bug))
    }

    fn refused(&self, what: &str) -> VideoError {
        let what = format!("--deinterlace does not take {what}");
        VideoError::Asked { file: self.file.clone(), what }
    }

    fn failed(&self, error: &ffmpeg_next::Error) -> VideoError {
        let said = messages::last_complaint().unwrap_or(error.to_string());
        VideoError::Asked { file: self.file.clone(), what: format!("the picture cannot be deinterlaced: {said}") }
    }
}

/// Adds a filter to a graph; none where the library has none of this name, or does not take the options.
///
/// # Safety
/// The graph must be alive and not configured yet.
unsafe fn filter(
    graph: *mut ffi::AVFilterGraph,
    name: &CStr,
    options: Option<&CStr>,
) -> Option<*mut ffi::AVFilterContext> {
    let options = options.map_or(std::ptr::null(), CStr::as_ptr);
    let mut made = std::ptr::null_mut();
    // SAFETY: by contract; names and options end with NUL, and the filter found is static.
    let code = unsafe {
        let known = ffi::avfilter_get_by_name(name.as_ptr());
        if known.is_null() {
            return None;
        }
        ffi::avfilter_graph_create_filter(&mut made, known, name.as_ptr(), options, std::ptr::null_mut(), graph)
    };
    (code >= 0).then_some(made)
}

/// The library's word for filters that are to be joined as they are (`AVFILTER_AUTO_CONVERT_NONE`, -1 in its header).
const NO_CONVERSION: u32 = u32::MAX;

impl Drop for Deinterlacer {
    fn drop(&mut self) {
        // SAFETY: the graph is this struct's own, with all of its filters, and not used afterwards.
        unsafe { ffi::avfilter_graph_free(&mut self.graph) };
    }
}

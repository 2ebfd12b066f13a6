//! Small safe dresses for the library's C calls that several files of this room need.

use super::VideoError;
use crate::time::Rational;
use ffmpeg_next::ffi;
use std::ffi::{CStr, CString};
use std::os::unix::ffi::OsStrExt;
use std::path::Path;

/// A result code of the library: negative is an error, `AVERROR(EAGAIN)` and end of file among them.
pub(super) fn check(code: i32) -> Result<i32, ffmpeg_next::Error> {
    if code < 0 { Err(ffmpeg_next::Error::from(code)) } else { Ok(code) }
}

/// The library's word for "feed me first".
pub(super) const AGAIN: ffmpeg_next::Error = ffmpeg_next::Error::Other { errno: libc::EAGAIN };

/// A path as the library opens it. The `file:` in front keeps a colon in a name from being taken for a network protocol.
pub(super) fn url(path: &Path) -> Result<CString, VideoError> {
    let mut bytes = b"file:".to_vec();
    bytes.extend_from_slice(path.as_os_str().as_bytes());
    CString::new(bytes).map_err(|_| VideoError::Path { file: path.to_owned() })
}

/// A ratio of the library's.
pub(super) fn rational(r: ffi::AVRational) -> Rational {
    Rational::new(r.num, r.den)
}

/// The same ratio for the library.
pub(super) fn av_rational(r: Rational) -> ffi::AVRational {
    ffi::AVRational { num: r.num, den: r.den }
}

/// A stream's pixel aspect: the container's word before the codec's, as players take it; none where neither states one.
///
/// # Safety
/// Both must be alive and belong together.
pub(super) unsafe fn pixel_aspect(
    context: *const ffi::AVFormatContext,
    stream: *const ffi::AVStream,
) -> Option<Rational> {
    // SAFETY: by contract; the call only reads, without a frame it looks at both tags.
    let r = unsafe { ffi::av_guess_sample_aspect_ratio(context.cast_mut(), stream.cast_mut(), std::ptr::null_mut()) };
    (r.num > 0 && r.den > 0).then(|| rational(r))
}

/// A stream's frame rate, as good as the library can guess it: some containers state none, or their time base.
///
/// # Safety
/// Both must be alive and belong together.
pub(super) unsafe fn frame_rate(context: *const ffi::AVFormatContext, stream: *const ffi::AVStream) -> ffi::AVRational {
    // SAFETY: by contract; the call only reads.
    unsafe { ffi::av_guess_frame_rate(context.cast_mut(), stream.cast_mut(), std::ptr::null_mut()) }
}

/// A tick count, none for the library's "not set".
pub(super) fn ticks(value: i64) -> Option<i64> {
    (value != ffi::AV_NOPTS_VALUE).then_some(value)
}

/// A static name of the library as text; `unknown` where it has none.
pub(super) fn name(pointer: *const libc::c_char) -> String {
    if pointer.is_null() {
        return "unknown".into();
    }
    // SAFETY: the library's name functions return null or a nul-terminated string of static life.
    unsafe { CStr::from_ptr(pointer) }.to_string_lossy().into_owned()
}

/// A tag's value; bytes that are not UTF-8 become replacement characters instead of undefined behaviour.
pub(super) fn tag(dictionary: *const ffi::AVDictionary, key: &CStr) -> Option<String> {
    // SAFETY: a null dictionary is an empty one for av_dict_get; the entry's value lives as long as the dictionary, and
    // is copied before this function returns.
    unsafe {
        let entry = ffi::av_dict_get(dictionary, key.as_ptr(), std::ptr::null(), 0);
        (!entry.is_null()).then(|| CStr::from_ptr((*entry).value).to_string_lossy().into_owned())
    }
}

/// Options for a call that takes a dictionary; freed with this struct.
pub(super) struct Options(pub(super) *mut ffi::AVDictionary);

impl Options {
    pub(super) fn new(pairs: &[(&CStr, &str)]) -> Result<Self, VideoError> {
        let mut options = Self(std::ptr::null_mut());
        for (key, value) in pairs {
            let value = CString::new(*value).map_err(|_| VideoError::OutOfMemory)?;
            // SAFETY: the dictionary pointer is null or owned by this struct; key and value are copied.
            let code = unsafe { ffi::av_dict_set(&mut options.0, key.as_ptr(), value.as_ptr(), 0) };
            check(code).map_err(|_| VideoError::OutOfMemory)?;
        }
        Ok(options)
    }
}

impl Drop for Options {
    fn drop(&mut self) {
        // SAFETY: the pointer is null or a dictionary that this struct owns.
        unsafe { ffi::av_dict_free(&mut self.0) };
    }
}

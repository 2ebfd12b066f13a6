//! Opening files for demuxing, and what to do where that fails.

use super::ff::{self, check};
use super::joined::List;
use super::{VideoError, messages};
use ffmpeg_next::ffi;
use ffmpeg_next::format as container;
use std::ffi::{CStr, CString};
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

/// Opens a file for demuxing.
pub(super) fn open_input(file: &Path) -> Result<container::context::Input, VideoError> {
    super::init();
    // The library's own word for a missing file is no better than the system's, and a folder opens without complaint.
    // A pipe is not opened at all: that would wait for a writer.
    let looked_at = std::fs::metadata(file).and_then(|metadata| {
        let not_a_file = || {
            std::io::Error::new(std::io::ErrorKind::InvalidInput, "a folder or a pipe, not a file; save the film first")
        };
        if metadata.is_file() { std::fs::File::open(file).map(drop) } else { Err(not_a_file()) }
    });
    looked_at.map_err(|source| VideoError::Open { file: file.to_owned(), source })?;
    let mut input = open_written(file)?;
    look_at_streams(file, &mut input)?;
    Ok(input)
}

/// Opens a file that this program wrote itself: its header says all that is needed, and no frame has to be decoded for more.
pub(super) fn open_written(file: &Path) -> Result<container::context::Input, VideoError> {
    open_url(file, &ff::url(file)?, None)
}

/// Opens several files as one; errors name the first.
pub(super) fn open_list_input(first: &Path, list: &List) -> Result<container::context::Input, VideoError> {
    super::init();
    let url = CString::new(list.url.as_str()).map_err(|_| VideoError::Path { file: first.to_owned() })?;
    // The list names files by whole paths, and is itself no file.
    let options = ff::Options::new(&[(c"safe", "0"), (c"protocol_whitelist", "file,data")])?;
    let mut input = open_url(first, &url, Some(options))?;
    look_at_streams(first, &mut input)?;
    Ok(input)
}

/// Has the library find out what the container does not say of its streams.
fn look_at_streams(file: &Path, input: &mut container::context::Input) -> Result<(), VideoError> {
    // SAFETY: the demuxer is open and owned by the caller.
    let code = unsafe { ffi::avformat_find_stream_info(input.as_mut_ptr(), std::ptr::null_mut()) };
    if code < 0 { Err(open_error(file, code)) } else { Ok(()) }
}

/// Opens an address; with options it is a list of files.
fn open_url(file: &Path, url: &CStr, list: Option<ff::Options>) -> Result<container::context::Input, VideoError> {
    let mut context = std::ptr::null_mut();
    // SAFETY: the library fills `context` or leaves it null; the wrapper takes ownership of a filled one and closes it. The
    // options are read and replaced in place, and freed with their struct.
    unsafe {
        let (format, options) = match list {
            Some(list) => (ffi::av_find_input_format(c"concat".as_ptr()), Some(list)),
            None => (std::ptr::null(), None),
        };
        let mut options = options;
        let dictionary = options.as_mut().map_or(std::ptr::null_mut(), |o| &raw mut o.0);
        let code = ffi::avformat_open_input(&mut context, url.as_ptr(), format, dictionary);
        if code < 0 {
            return Err(open_error(file, code));
        }
        Ok(container::context::Input::wrap(context))
    }
}

/// Turns a failed opening into the error that says what to do.
pub(super) fn open_error(file: &Path, code: i32) -> VideoError {
    let said = messages::last_complaint();
    if said.as_deref() == Some("moov atom not found") && begins_like_mp4(file) {
        // A disk that cannot be read where the index stands looks the same to the library.
        if let Err(source) = read_end(file) {
            return VideoError::Open { file: file.to_owned(), source };
        }
        return VideoError::NoIndex { file: file.to_owned() };
    }
    let said =
        said.filter(|s| !s.is_empty()).unwrap_or_else(|| check(code).err().map(|e| e.to_string()).unwrap_or_default());
    VideoError::NotAClip { file: file.to_owned(), said }
}

/// Reads the file's last bytes.
fn read_end(file: &Path) -> std::io::Result<()> {
    let mut open = std::fs::File::open(file)?;
    let bytes = open.metadata()?.len().min(4096);
    open.seek(SeekFrom::End(-(bytes as i64)))?;
    open.read_exact(&mut vec![0; bytes as usize])
}

/// Whether the file starts with a box of MP4 or QuickTime; the demuxer is also chosen by the name's ending alone.
fn begins_like_mp4(file: &Path) -> bool {
    let mut start = [0; 8];
    let read = std::fs::File::open(file).and_then(|mut f| f.read_exact(&mut start));
    read.is_ok() && [b"ftyp", b"mdat", b"wide", b"free", b"skip", b"moof"].iter().any(|name| start[4..] == **name)
}

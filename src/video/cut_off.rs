//! Files that end too early: an index that promises more than is there, and a packet that is not whole.

use super::read::Reader;
use super::{VideoError, ff};
use ffmpeg_next::ffi;
use std::io::Read;
use std::path::Path;

/// A file that ends before the last sample of its index.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutOff {
    /// Frames that are wholly there, from the first one on.
    pub whole: u64,
    /// Frames of the index.
    pub promised: u64,
    /// Film time up to which they reach, in seconds.
    pub whole_s: f64,
    /// Whether the file is made of fragments, each with an index of its own: what is there is then a film.
    pub in_fragments: bool,
}

impl CutOff {
    pub(super) fn error(self, file: &Path) -> VideoError {
        let Self { whole, promised, whole_s, .. } = self;
        VideoError::CutOff { file: file.to_owned(), whole, promised, whole_s }
    }
}

/// Holds the index against the file's length.
pub(super) fn cut_off(reader: &Reader) -> Option<CutOff> {
    let length = std::fs::metadata(reader.file()).ok()?.len();
    let base = reader.time_base();
    // SAFETY: the demuxer is open; an entry is read at once, before any other call takes the stream.
    unsafe {
        let context = &*reader.input().as_ptr();
        // Only this demuxer's index is a list of every sample with its place in the file.
        if !ff::name((*context.iformat).name).starts_with("mov,") {
            return None;
        }
        let stream = *context.streams.add(reader.video_stream());
        let promised = ffi::avformat_index_get_entries_count(stream);
        let entry = |i| ffi::avformat_index_get_entry(stream, i).as_ref();
        let start = entry(0)?.timestamp;
        for i in 0..promised {
            let e = entry(i)?;
            if u64::try_from(e.pos).unwrap_or(0) + u64::try_from(e.size()).unwrap_or(0) > length {
                let whole_s = base.seconds(e.timestamp - start);
                // Of fragments the file's own index counts none.
                let in_fragments = (*stream).nb_frames == 0;
                return Some(CutOff { whole: i as u64, promised: promised as u64, whole_s, in_fragments });
            }
        }
    }
    None
}

/// Bytes that are there of a transport stream's last packet, and those of a whole one, where the file ends within it. Such a stream
/// states no length; where it is cut between two packets, nothing tells.
///
/// # Safety
/// The context must be alive and open for reading.
pub(super) unsafe fn torn_end(context: *const ffi::AVFormatContext, file: &Path) -> Option<(u64, u64)> {
    let (name, mut size) = (c"ts_packetsize", 0);
    let children = ffi::AV_OPT_SEARCH_CHILDREN;
    // SAFETY: by contract; other demuxers have no such number, which is then left alone.
    unsafe { ffi::av_opt_get_int(context.cast_mut().cast(), name.as_ptr(), children, &mut size) };
    let size = u64::try_from(size).ok().filter(|&size| size > 0)?;
    // What begins in the middle of a packet says nothing by its length. Some packets have a stamp of four bytes in front.
    let mut start = [0; 5];
    std::fs::File::open(file).and_then(|mut f| f.read_exact(&mut start)).ok()?;
    let there = std::fs::metadata(file).ok()?.len() % size;
    (there > 0 && start[if size == 192 { 4 } else { 0 }] == TS_SYNC).then_some((there, size))
}

/// The byte with which packets of a transport stream begin (ISO/IEC 13818-1, 2.4.3.2).
const TS_SYNC: u8 = 0x47;

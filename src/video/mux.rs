//! The output file: its tracks and their packets.

use super::ff::{self, Options, check};
use super::light::LightData;
use super::read::Reader;
use super::{Container, VideoError, messages};
use ffmpeg_next::ffi;
use std::ffi::{CStr, CString};
use std::path::{Path, PathBuf};

/// An encoded packet on its way from one file to another, bytes untouched.
pub struct Packet {
    pub(super) inner: ffmpeg_next::Packet,
    /// When it starts, in seconds on the source's own time line; none where the container does not say.
    pub start_s: Option<f64>,
}

impl Packet {
    /// Bytes of payload.
    pub fn size(&self) -> usize {
        self.inner.size()
    }

    /// When it is shown, in seconds, its times being ticks of `base`.
    pub fn time_s(&self, base: crate::time::Rational) -> f64 {
        self.inner.pts().or(self.inner.dts()).map_or(0.0, |t| base.seconds(t))
    }

    /// Index of its stream in the source.
    pub fn stream(&self) -> usize {
        self.inner.stream()
    }
}

/// A film being written. Dropping it without [`Muxer::finish`] closes the file as it is.
pub(super) struct Muxer {
    /// The file as the user named it, for messages.
    named: PathBuf,
    context: *mut ffi::AVFormatContext,
}

// SAFETY: the context is owned by this struct alone and may be used from any one thread at a time.
unsafe impl Send for Muxer {}

impl Muxer {
    /// Creates the file at `path` without any track yet.
    pub(super) fn create(path: &Path, named: &Path, container: Container) -> Result<Self, VideoError> {
        super::init();
        let url = ff::url(path)?;
        let mut context = std::ptr::null_mut();
        // SAFETY: the library fills `context` or leaves it null; both are checked, and `Drop` frees it.
        unsafe {
            let code = ffi::avformat_alloc_output_context2(
                &mut context,
                std::ptr::null(),
                container.muxer().as_ptr(),
                url.as_ptr(),
            );
            if code < 0 || context.is_null() {
                return Err(VideoError::OutOfMemory);
            }
            let muxer = Self { named: named.to_owned(), context };
            let code = ffi::avio_open(&raw mut (*context).pb, url.as_ptr(), ffi::AVIO_FLAG_WRITE);
            check(code).map_err(|e| muxer.failed(&e))?;
            Ok(muxer)
        }
    }

    /// Adds the film's track: the encoder's parameters, and shape, tags and disposition of the source's.
    pub(super) fn add_film(
        &mut self,
        encoder: *const ffi::AVCodecContext,
        source: *const ffi::AVStream,
        light: &LightData,
    ) -> Result<usize, VideoError> {
        let track = self.add_encoded(encoder)?;
        // SAFETY: the source is alive while this runs (the caller holds it); the stream was added just now.
        unsafe {
            let stream = *(*self.context).streams.add(track);
            copy_matrix(stream, source)?;
            light.put(stream)?;
            self.name_hevc(stream);
            copy_tags(stream, source);
        }
        Ok(track)
    }

    /// Adds the film's track from a piece that was encoded before, with shape, tags and disposition of the source's.
    pub(super) fn add_copied_film(
        &mut self,
        piece: *const ffi::AVStream,
        source: *const ffi::AVStream,
        light: &LightData,
    ) -> Result<usize, VideoError> {
        let track = self.add_copy(piece)?;
        // SAFETY: both are alive while this runs (the caller holds them); the stream was added just now.
        unsafe {
            let stream = *(*self.context).streams.add(track);
            (*stream).time_base = (*source).time_base;
            (*stream).avg_frame_rate = (*piece).avg_frame_rate;
            (*stream).sample_aspect_ratio = (*piece).sample_aspect_ratio;
            copy_matrix(stream, source)?;
            light.put(stream)?;
            self.name_hevc(stream);
            copy_tags(stream, source);
        }
        Ok(track)
    }

    /// Gives HEVC the name under which all players show it.
    ///
    /// # Safety
    /// The stream must be one of this file's.
    unsafe fn name_hevc(&self, stream: *mut ffi::AVStream) {
        // SAFETY: by contract; the library's tables are static.
        unsafe {
            let known = (*(*self.context).oformat).codec_tag;
            let parameters = (*stream).codecpar;
            let hevc = ffi::AVCodecID::AV_CODEC_ID_HEVC;
            if (*parameters).codec_id == hevc && !known.is_null() && ffi::av_codec_get_id(known, HVC1) == hevc {
                // Under the other name, by which parameters may lie among the frames, some show nothing.
                (*parameters).codec_tag = HVC1;
            }
        }
    }

    /// Copies the chapters that begin within a span of the source, moved with everything else, in seconds.
    pub(super) fn copy_chapters(
        &mut self,
        source: &Reader,
        (first_s, end_s): (f64, f64),
        by_s: f64,
    ) -> Result<(), VideoError> {
        // SAFETY: both contexts are alive. The array and its entries are made by the library's own allocator, which frees them
        // with the context; an entry is counted only once it is whole.
        unsafe {
            let from = &*source.input().as_ptr();
            for i in 0..from.nb_chapters as usize {
                let old = &**from.chapters.add(i);
                let seconds =
                    |ticks: i64| ticks as f64 * f64::from(old.time_base.num) / f64::from(old.time_base.den.max(1));
                let (start, end) = (seconds(old.start), seconds(old.end));
                if end <= first_s || start >= end_s {
                    continue;
                }
                let ticks = |seconds: f64| (seconds * 1e6).round() as i64;
                let span = (ticks((start.max(first_s) + by_s).max(0.0)), ticks(end.min(end_s) + by_s));
                let chapter = self.new_chapter(span)?;
                (*chapter).id = old.id;
                ffi::av_dict_copy(&raw mut (*chapter).metadata, old.metadata, 0);
            }
        }
        Ok(())
    }

    /// Adds a chapter with a title, in seconds of the new film.
    pub(super) fn add_chapter(&mut self, from_s: f64, to_s: f64, title: &str) -> Result<(), VideoError> {
        // A title is text for people: what cannot be in it is left out.
        let title = CString::new(title.replace('\0', "")).map_err(|_| VideoError::OutOfMemory)?;
        let ticks = |seconds: f64| (seconds.max(0.0) * 1e6).round() as i64;
        // SAFETY: the chapter is this file's; key and value are copied.
        unsafe {
            let chapter = self.new_chapter((ticks(from_s), ticks(to_s)))?;
            (*chapter).id = i64::from((*self.context).nb_chapters);
            let code = ffi::av_dict_set(&raw mut (*chapter).metadata, c"title".as_ptr(), title.as_ptr(), 0);
            check(code).map(|_| ()).map_err(|_| VideoError::OutOfMemory)
        }
    }

    /// An empty chapter from and to these microseconds.
    fn new_chapter(&mut self, (start, end): (i64, i64)) -> Result<*mut ffi::AVChapter, VideoError> {
        // SAFETY: the context is alive. The array and its entries are made by the library's own allocator, which frees them with
        // the context; an entry is counted only once it is whole.
        unsafe {
            let kept = (*self.context).nb_chapters as usize;
            let bytes = (kept + 1) * size_of::<*mut ffi::AVChapter>();
            let list = ffi::av_realloc((*self.context).chapters.cast(), bytes).cast::<*mut ffi::AVChapter>();
            if list.is_null() {
                return Err(VideoError::OutOfMemory);
            }
            (*self.context).chapters = list;
            let chapter = ffi::av_mallocz(size_of::<ffi::AVChapter>()).cast::<ffi::AVChapter>();
            if chapter.is_null() {
                return Err(VideoError::OutOfMemory);
            }
            (*chapter).time_base = ffi::AVRational { num: 1, den: 1_000_000 };
            ((*chapter).start, (*chapter).end) = (start, end);
            *list.add(kept) = chapter;
            (*self.context).nb_chapters += 1;
            Ok(chapter)
        }
    }

    /// Takes out every tag that says where the film was taken. Call after the tags were copied.
    pub(super) fn drop_location(&mut self) {
        // SAFETY: the context and its tracks are alive; a dictionary may be looked through entry by entry, and a key that is
        // removed ends the look, which then starts anew.
        unsafe {
            let tracks = std::slice::from_raw_parts((*self.context).streams, (*self.context).nb_streams as usize);
            let of_tracks = tracks.iter().map(|stream| &raw mut (**stream).metadata);
            for tags in of_tracks.chain([&raw mut (*self.context).metadata]) {
                let mut entry = std::ptr::null();
                loop {
                    entry = ffi::av_dict_get(*tags, c"".as_ptr(), entry, ffi::AV_DICT_IGNORE_SUFFIX).cast_const();
                    if entry.is_null() {
                        break;
                    }
                    let key = CStr::from_ptr((*entry).key).to_owned();
                    if tells_a_place(&key.to_string_lossy()) {
                        ffi::av_dict_set(tags, key.as_ptr(), std::ptr::null(), 0);
                        entry = std::ptr::null();
                    }
                }
            }
        }
    }

    /// Sets the file's comment: the source's own, and below it this text. Call after [`Muxer::copy_tags`].
    pub(super) fn comment(&mut self, source: &Reader, text: &str) -> Result<(), VideoError> {
        // SAFETY: the demuxer is alive.
        let own = unsafe { ff::tag((*source.input().as_ptr()).metadata, c"comment") };
        let text = own.map_or_else(|| text.to_owned(), |own| format!("{own}\n{text}"));
        self.tag(c"comment", &text)
    }

    /// Adds a track for what an encoder makes, of pictures or of sound.
    pub(super) fn add_encoded(&mut self, encoder: *const ffi::AVCodecContext) -> Result<usize, VideoError> {
        // SAFETY: the encoder is alive while this runs (the caller holds it); the new stream belongs to our context.
        unsafe {
            let stream = self.new_stream()?;
            let code = ffi::avcodec_parameters_from_context((*stream).codecpar, encoder);
            check(code).map_err(|_| VideoError::OutOfMemory)?;
            (*stream).time_base = (*encoder).time_base;
            (*stream).avg_frame_rate = (*encoder).framerate;
            (*stream).sample_aspect_ratio = (*encoder).sample_aspect_ratio;
            Ok((*stream).index as usize)
        }
    }

    /// Adds a track of sound that is encoded anew, with the tags and disposition of the source's.
    pub(super) fn add_recoded(
        &mut self,
        encoder: *const ffi::AVCodecContext,
        source: *const ffi::AVStream,
    ) -> Result<usize, VideoError> {
        let track = self.add_encoded(encoder)?;
        // SAFETY: the source is alive while this runs (the caller holds it); the stream was added just now.
        unsafe { copy_tags(*(*self.context).streams.add(track), source) };
        Ok(track)
    }

    /// Adds a track whose packets are copied.
    pub(super) fn add_copy(&mut self, source: *const ffi::AVStream) -> Result<usize, VideoError> {
        // SAFETY: the source is alive while this runs; the new stream is ours; the library's tag tables are static.
        unsafe {
            let stream = self.new_stream()?;
            let code = ffi::avcodec_parameters_copy((*stream).codecpar, (*source).codecpar);
            check(code).map_err(|_| VideoError::OutOfMemory)?;
            // A four-letter code of one container means nothing, or something else, in another.
            let tables = (*(*self.context).oformat).codec_tag;
            let (id, tag) = ((*(*source).codecpar).codec_id, (*(*source).codecpar).codec_tag);
            let known = !tables.is_null() && ffi::av_codec_get_id(tables, tag) == id;
            (*(*stream).codecpar).codec_tag = if known { tag } else { 0 };
            (*stream).time_base = (*source).time_base;
            copy_tags(stream, source);
            Ok((*stream).index as usize)
        }
    }

    /// Takes the start time code off the film: a part does not start where the clip did. Call before [`Muxer::start`].
    pub(super) fn drop_time_code(&mut self, track: usize) {
        // SAFETY: `track` came out of `add_film`; removing a key that is not there is allowed.
        unsafe {
            let stream = *(*self.context).streams.add(track);
            ffi::av_dict_set(&raw mut (*stream).metadata, c"timecode".as_ptr(), std::ptr::null(), 0);
        }
    }

    /// Copies the file's own tags, but not what describes the old file. Call before [`Muxer::start`].
    pub(super) fn copy_tags(&mut self, source: &Reader) {
        // SAFETY: both contexts are alive; the dictionary is copied; removing a key that is not there is allowed.
        unsafe {
            ffi::av_dict_copy(&raw mut (*self.context).metadata, (*source.input().as_ptr()).metadata, 0);
            for key in [c"major_brand", c"minor_version", c"compatible_brands", c"encoder", c"timecode"] {
                ffi::av_dict_set(&raw mut (*self.context).metadata, key.as_ptr(), std::ptr::null(), 0);
            }
        }
    }

    /// Gives the file a tag. Call before [`Muxer::start`].
    pub(super) fn tag(&mut self, key: &CStr, value: &str) -> Result<(), VideoError> {
        let value = CString::new(value).map_err(|_| VideoError::OutOfMemory)?;
        // SAFETY: the context is alive; key and value are copied.
        let code = unsafe { ffi::av_dict_set(&raw mut (*self.context).metadata, key.as_ptr(), value.as_ptr(), 0) };
        check(code).map(|_| ()).map_err(|_| VideoError::OutOfMemory)
    }

    /// Writes the header. Time bases of the tracks hold from here on.
    pub(super) fn start(&mut self, movie_timescale: i32, fast_start: bool) -> Result<(), VideoError> {
        let timescale = movie_timescale.to_string();
        // Keys such as `com.apple.quicktime.creationdate` are lost without the first, with which plain tags lie where fewer look.
        // SAFETY: the dictionary is our context's own, or none.
        let has_keys = unsafe {
            let (tags, prefix) = ((*self.context).metadata, ffi::AV_DICT_IGNORE_SUFFIX);
            !ffi::av_dict_get(tags, c"com.".as_ptr(), std::ptr::null(), prefix).is_null()
        };
        let flags = match (has_keys, fast_start) {
            (false, false) => "",
            (true, false) => "+use_metadata_tags",
            (false, true) => "+faststart",
            (true, true) => "+use_metadata_tags+faststart",
        };
        // The default movie time scale of 1000 would round the first frame's time to a millisecond.
        let mut options = vec![(c"movie_timescale", timescale.as_str())];
        if !flags.is_empty() {
            options.push((c"movflags", flags));
        }
        let mut options = Options::new(&options)?;
        // SAFETY: the context is alive; options that a muxer does not know stay in ours.
        let code = unsafe { ffi::avformat_write_header(self.context, &mut options.0) };
        check(code).map(|_| ()).map_err(|e| self.failed(&e))
    }

    /// Time base of a track, as the muxer wants it.
    pub(super) fn time_base(&self, track: usize) -> ffi::AVRational {
        // SAFETY: `track` came out of `add_film` or `add_copy`, so the stream exists.
        unsafe { (**(*self.context).streams.add(track)).time_base }
    }

    /// Writes a packet with times in the track's own base.
    pub(super) fn write(&mut self, packet: &mut ffmpeg_next::Packet, track: usize) -> Result<(), VideoError> {
        packet.set_stream(track);
        packet.set_position(-1);
        // SAFETY: the header is written; the packet is alive and reference counted, and av_write_frame leaves it to us.
        let code = unsafe { ffi::av_write_frame(self.context, ffmpeg_next::packet::Mut::as_mut_ptr(packet)) };
        check(code).map(|_| ()).map_err(|e| self.failed(&e))
    }

    /// Writes the trailer and closes the file; an error that the system reported late comes out here.
    pub(super) fn finish(mut self) -> Result<(), VideoError> {
        // SAFETY: the header is written; the I/O context is closed exactly once, here or in `Drop`, which then finds null.
        unsafe {
            let trailer = ffi::av_write_trailer(self.context);
            let late = (*(*self.context).pb).error;
            let closed = ffi::avio_closep(&raw mut (*self.context).pb);
            for code in [trailer, late, closed] {
                check(code).map_err(|e| self.failed(&e))?;
            }
        }
        self.context_free();
        Ok(())
    }

    fn new_stream(&mut self) -> Result<*mut ffi::AVStream, VideoError> {
        // SAFETY: the context is ours and alive.
        let stream = unsafe { ffi::avformat_new_stream(self.context, std::ptr::null()) };
        if stream.is_null() { Err(VideoError::OutOfMemory) } else { Ok(stream) }
    }

    fn failed(&self, error: &ffmpeg_next::Error) -> VideoError {
        let said = match error {
            ffmpeg_next::Error::Other { errno } => std::io::Error::from_raw_os_error(*errno).to_string(),
            other => messages::last_complaint().map_or(other.to_string(), |said| format!("{other} ({said})")),
        };
        VideoError::Write { file: self.named.clone(), said }
    }

    fn context_free(&mut self) {
        // SAFETY: the context is ours; freeing null is allowed, and the pointer is set to null.
        unsafe {
            ffi::avformat_free_context(self.context);
            self.context = std::ptr::null_mut();
        }
    }
}

impl Drop for Muxer {
    fn drop(&mut self) {
        if self.context.is_null() {
            return;
        }
        // SAFETY: the context is ours; its I/O context is null or open. Errors no longer matter: the film is given up.
        unsafe { ffi::avio_closep(&raw mut (*self.context).pb) };
        self.context_free();
    }
}

/// HEVC's four letters, where its parameters stand in the file's header (ISO/IEC 14496-15).
const HVC1: u32 = u32::from_le_bytes(*b"hvc1");

/// Copies how a player is to turn a track's picture. What brings a turned picture back to where it was goes by the picture's size.
///
/// # Safety
/// Both streams must be alive, and their sizes known.
unsafe fn copy_matrix(to: *mut ffi::AVStream, from: *const ffi::AVStream) -> Result<(), VideoError> {
    // SAFETY: by contract; the matrix, where present, is copied by its size into memory that the library made for it.
    unsafe {
        let kind = ffi::AVPacketSideDataType::AV_PKT_DATA_DISPLAYMATRIX;
        let mut size = 0;
        let matrix = ffi::av_stream_get_side_data(from, kind, &mut size);
        if !matrix.is_null() {
            let copy = ffi::av_stream_new_side_data(to, kind, size);
            if copy.is_null() {
                return Err(VideoError::OutOfMemory);
            }
            std::ptr::copy_nonoverlapping(matrix, copy, size);
            let sides = |stream: *const ffi::AVStream| ((*(*stream).codecpar).width, (*(*stream).codecpar).height);
            if size >= size_of::<[i32; 9]>() {
                let copy = copy.cast::<[i32; 9]>();
                let mut matrix = copy.read_unaligned();
                move_for(&mut matrix, sides(from), sides(to));
                copy.write_unaligned(matrix);
            }
        }
    }
    Ok(())
}

/// Moves a turned picture of another size to where one of the first size was moved: back into the quarter of the plane from which its
/// turn took it. `matrix` is that of a track header (ISO/IEC 14496-12, 8.3.2); another move than this stays.
fn move_for(matrix: &mut [i32; 9], of: (i32, i32), to: (i32, i32)) {
    let [a, b, _, c, d, _, ..] = *matrix;
    let back = |(width, height): (i32, i32)| {
        let along =
            |x: i32, y: i32| -(i64::from(x.min(0)) * i64::from(width) + i64::from(y.min(0)) * i64::from(height));
        [along(a, c), along(b, d)].map(i32::try_from)
    };
    if let ([Ok(x), Ok(y)], [Ok(new_x), Ok(new_y)]) = (back(of), back(to))
        && [matrix[6], matrix[7]] == [x, y]
    {
        [matrix[6], matrix[7]] = [new_x, new_y];
    }
}

/// Copies a track's tags and disposition, but not what describes the old encoding.
///
/// # Safety
/// Both streams must be alive.
unsafe fn copy_tags(to: *mut ffi::AVStream, from: *const ffi::AVStream) {
    // SAFETY: by contract; the library copies keys and values.
    unsafe {
        (*to).disposition = (*from).disposition;
        ffi::av_dict_copy(&raw mut (*to).metadata, (*from).metadata, 0);
        for key in [c"encoder", c"vendor_id", c"DURATION"] {
            ffi::av_dict_set(&raw mut (*to).metadata, key.as_ptr(), std::ptr::null(), 0);
        }
    }
}

/// Whether a tag of this name says where something was: QuickTime's and Matroska's names, and those of cameras.
fn tells_a_place(key: &str) -> bool {
    let key = key.to_lowercase();
    ["location", "gps", "xyz", "latitude", "longitude", "geo"].iter().any(|word| key.contains(word))
}

/// Whether the container takes this codec as it is.
pub(super) fn holds(container: Container, codec: ffi::AVCodecID) -> bool {
    let name: &CStr = container.muxer();
    // SAFETY: the name is a constant; the format found is static.
    unsafe {
        let format = ffi::av_guess_format(name.as_ptr(), std::ptr::null(), std::ptr::null());
        // 1 is yes; negative means that the muxer does not say, as some do for codecs that they do take.
        !format.is_null() && ffi::avformat_query_codec(format, codec, ffi::FF_COMPLIANCE_NORMAL) != 0
    }
}

#[cfg(test)]
mod tests {
    use super::move_for;

    /// The four turns as ISO/IEC 14496-12 and QuickTime's track headers write them, in 16.16 and 2.30.
    #[test]
    fn a_turned_picture_of_another_size_is_moved_by_its_own() {
        const ONE: i32 = 1 << 16;
        let turned = |a, b, c, d, x: i32, y: i32| [a * ONE, b * ONE, 0, c * ONE, d * ONE, 0, x * ONE, y * ONE, 1 << 30];
        for (old, new) in [
            (turned(1, 0, 0, 1, 0, 0), turned(1, 0, 0, 1, 0, 0)),
            (turned(0, 1, -1, 0, 1080, 0), turned(0, 1, -1, 0, 360, 0)),
            (turned(-1, 0, 0, -1, 1920, 1080), turned(-1, 0, 0, -1, 640, 360)),
            (turned(0, -1, 1, 0, 0, 1920), turned(0, -1, 1, 0, 0, 640)),
            // Mirrored; and one that says nothing of a place.
            (turned(-1, 0, 0, 1, 1920, 0), turned(-1, 0, 0, 1, 640, 0)),
            (turned(0, 1, -1, 0, 0, 0), turned(0, 1, -1, 0, 0, 0)),
        ] {
            let mut matrix = old;
            move_for(&mut matrix, (1920, 1080), (640, 360));
            assert_eq!(matrix, new);
        }
    }
}

//! What a clip holds: opened, looked at, and one frame decoded, so that a clip that cannot be used is refused before any work.

use super::colour::Tags;
use super::count::count_frames;
use super::cut_off::{CutOff, cut_off, torn_end};
use super::ff::{self, rational};
use super::format::{self, PixelFormat};
use super::joined::List;
use super::light::LightData;
use super::read::Reader;
use super::reshape::Cut;
use super::{Container, FieldOrder, Origin, VideoError};
use crate::finding::{Finding, Severity};
use crate::pixel::{Coding, FrameShape, Orientation};
use crate::time::Rational;
use ffmpeg_next::ffi;
use std::ffi::CString;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// A clip as found.
#[derive(Debug, Clone)]
pub struct Clip {
    /// The file.
    pub file: PathBuf,
    /// The demuxer's short name, e.g. `mov`.
    pub container: String,
    /// Seconds that the container claims.
    pub duration_s: f64,
    /// Creation time as tagged by the container, RFC 3339.
    pub created: Option<String>,
    /// Where `created` stands: `container` or `video track`.
    pub created_from: Option<&'static str>,
    /// The camera's date with its zone, as the QuickTime metadata key `com.apple.quicktime.creationdate` has it.
    pub zoned: Option<String>,
    /// Its comment, as tagged.
    pub comment: Option<String>,
    /// Start time code, as tagged.
    pub timecode: Option<String>,
    /// The film.
    pub video: VideoTrack,
    /// Its sound tracks.
    pub audio: Vec<AudioTrack>,
    /// Its subtitles.
    pub subtitles: Vec<SubtitleTrack>,
    /// Where its earliest stream starts, in seconds of its own time stamps.
    pub start_s: f64,
    /// How its files are read as one, where there are several; `file` is then the first.
    pub(super) list: Option<List>,
    /// What is done to its frames, where its shape is another than in its file.
    pub(super) reshape: Option<Cut>,
    /// Whether its frames, made of two fields in the file, become whole pictures.
    pub(super) deinterlaced: bool,
    /// Where the file ends too early.
    pub cut_off: Option<CutOff>,
    /// The reader that it was looked at with, if it is wanted for the film.
    pub(super) kept: Kept,
    /// What is odd.
    pub findings: Vec<Finding>,
}

/// A reader that was opened with so many decoder threads and stands at the clip's start, for the first who asks. Copies of a clip share it.
#[derive(Clone, Default)]
pub(super) struct Kept(Arc<Mutex<Option<(usize, Reader)>>>);

impl Kept {
    fn new(threads: usize, reader: Reader) -> Self {
        Self(Arc::new(Mutex::new(Some((threads, reader)))))
    }

    /// Takes it out.
    pub(super) fn take(&self) -> Option<(usize, Reader)> {
        self.0.lock().ok()?.take()
    }
}

impl fmt::Debug for Kept {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Kept")
    }
}

/// The film's picture track.
#[derive(Debug, Clone)]
pub struct VideoTrack {
    /// Index among the file's streams.
    pub stream: usize,
    /// Codec's short name.
    pub codec: String,
    /// Size, pixel aspect and orientation.
    pub shape: FrameShape,
    /// Name of the pixel format.
    pub pixel_format: String,
    /// Frames as the container's header counts them, if it does.
    pub frames: Option<u64>,
    /// Average frame rate by the container.
    pub frame_rate: Rational,
    /// Time base of its ticks.
    pub time_base: Rational,
    /// Ticks of the first shown frame.
    pub first_pts: i64,
    /// How its frames are coded, as blending must know it.
    pub coding: Coding,
    /// Which field comes first, where the picture is interlaced.
    pub fields: Option<FieldOrder>,
    /// The library's number of the pixel format in which frames are handed out.
    pub(super) planar_format: i32,
    /// What it says of its light.
    pub(super) light: LightData,
    /// Colour tags in words: matrix, range, transfer, primaries.
    pub tags: [String; 4],
}

impl VideoTrack {
    /// The format in which frames are handed out.
    pub(super) fn planar(&self) -> Result<PixelFormat, VideoError> {
        PixelFormat::of(self.planar_format).map_err(|_| VideoError::OutOfMemory)
    }
}

/// A sound track.
#[derive(Debug, Clone)]
pub struct AudioTrack {
    /// Index among the file's streams.
    pub stream: usize,
    /// Codec's short name.
    pub codec: String,
    /// Samples a second.
    pub rate_hz: u32,
    /// Channels.
    pub channels: u32,
    /// Seconds that the container claims.
    pub duration_s: Option<f64>,
}

impl AudioTrack {
    /// Whether a container holds it as it is.
    pub fn is_held_by(&self, container: Container) -> bool {
        let Ok(name) = CString::new(self.codec.as_str()) else { return false };
        // SAFETY: the name ends with NUL; descriptors are static.
        let known = unsafe { ffi::avcodec_descriptor_get_by_name(name.as_ptr()).as_ref() };
        known.is_some_and(|codec| super::mux::holds(container, codec.id))
    }
}

/// A track of subtitles.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SubtitleTrack {
    /// Index among the file's streams.
    pub stream: usize,
    /// Codec's short name.
    pub codec: String,
}

impl Clip {
    /// The files that it is read from, in their order.
    pub fn files(&self) -> Vec<PathBuf> {
        self.list.as_ref().map_or_else(|| vec![self.file.clone()], |list| list.files.clone())
    }

    /// What it was made from, if this program wrote it.
    pub fn origin(&self) -> Option<Origin> {
        Origin::in_comment(self.comment.as_deref()?)
    }

    /// Refuses a moment, in film time, that a cut-off file no longer holds; none stands for the end.
    pub fn check_whole(&self, until_s: Option<f64>) -> Result<(), VideoError> {
        match self.cut_off {
            Some(cut) if !cut.in_fragments && until_s.is_none_or(|t| t > cut.whole_s) => Err(cut.error(&self.file)),
            _ => Ok(()),
        }
    }

    /// Frames to expect between two film times, for progress only.
    pub fn expected_frames(&self, from_s: f64, to_s: f64) -> u64 {
        let rate = self.video.frame_rate.as_f64();
        let all = match self.video.frames {
            Some(n) if n > 0 => n as f64,
            _ if rate.is_finite() => self.duration_s * rate,
            _ => 0.0,
        };
        let whole = self.duration_s.max(1e-9);
        let share = ((to_s.min(whole) - from_s.max(0.0)) / whole).clamp(0.0, 1.0);
        (all * share).round() as u64
    }
}

/// Looks at a clip. Fails on anything that could not be rendered.
pub fn probe(file: &Path) -> Result<Clip, VideoError> {
    // One frame is wanted: several threads would first take in as many.
    Ok(look(file, 1)?.0)
}

/// Looks at a clip that is to be read soon with so many decoder threads: [`Reader::of_look`] then goes on with the frames that are
/// decoded already. Several files are joined and opened anew.
///
/// # Errors
/// As [`super::join`].
pub fn probe_to_read(files: &[PathBuf], threads: usize) -> Result<Clip, VideoError> {
    let [file] = files else { return super::join(files) };
    let (mut clip, reader) = look(file, threads)?;
    clip.kept = Kept::new(threads, reader);
    Ok(clip)
}

fn look(file: &Path, threads: usize) -> Result<(Clip, Reader), VideoError> {
    let mut reader = Reader::open(file, threads)?;
    let mut clip = probe_opened(&mut reader, file)?;
    // Where the clock may jump, the difference of the last stamp and the first says little.
    let bytes = std::fs::metadata(file).map_or(0, |m| m.len());
    if reader.may_jump() && (bytes <= QUICKLY_READ || bytes as f64 / clip.duration_s.max(1e-3) < LEAST_BYTES_A_SECOND) {
        clip.duration_s = count_frames(file)?.duration_s;
    }
    Ok((clip, reader))
}

/// A file of this many bytes is read in a second or two.
const QUICKLY_READ: u64 = 256 << 20;

/// No film takes fewer bytes.
const LEAST_BYTES_A_SECOND: f64 = 4000.0;

/// Looks at a clip that is open.
pub(super) fn probe_opened(reader: &mut Reader, file: &Path) -> Result<Clip, VideoError> {
    let cut = cut_off(reader);
    let first = match (reader.first_frame(), cut) {
        (Err(_), Some(cut)) => return Err(cut.error(file)),
        (first, _) => first?,
    };
    let input = reader.input();
    // SAFETY: the demuxer stays open until the end of this function, so its context, streams and parameters are alive; all
    // that is taken is copied out of plain fields.
    unsafe {
        let context = &*input.as_ptr();
        let stream = &**context.streams.add(reader.video_stream());
        let parameters = &*stream.codecpar;
        let tags = Tags::of(stream.codecpar);
        let codec = ff::name(ffi::avcodec_get_name(parameters.codec_id));
        let unsupported = |what: String, cure| VideoError::Unsupported { file: file.to_owned(), what, cure };
        let (columns, rows, planar_format) = first.kind;
        let (width, height) = (columns as u32, rows as u32);
        // The container's word for a format may be older than the codec's own; the frames are what is laid on.
        let decoded = reader.decoded_format().unwrap_or(planar_format);
        let pixel_format = format::name(decoded);
        let samples =
            PixelFormat::of(decoded).map_err(|what| unsupported(what, "convert the clip to yuv420p first"))?;
        let (coding, guessed) = tags.coding(&samples, codec == "mjpeg", width, height).map_err(|name| {
            unsupported(format!("the colour matrix {name} is not taken"), "convert the clip to BT.709 first")
        })?;
        let orientation = orientation(stream).ok_or_else(|| {
            unsupported("the picture is to be shown turned by no quarter turn".into(), "mend its rotation tag first")
        })?;
        let pixel_aspect = ff::pixel_aspect(context, stream).map_or(1.0, Rational::as_f64);
        let mut findings = Vec::new();
        if guessed {
            findings.push(Finding::new(
                Severity::Note,
                "matrix_untagged",
                format!(
                    "the colour matrix is not tagged; {:?} is taken by the size of the picture",
                    coding.colour.matrix
                ),
            ));
        }
        if samples.planar != samples.id {
            let text = format!("frames in {pixel_format} are taken apart into {}", format::name(samples.planar));
            findings.push(Finding::new(Severity::Note, "samples_taken_apart", text));
        }
        let (created, created_from) = match ff::tag(context.metadata, c"creation_time") {
            Some(text) => (Some(text), Some("container")),
            None => match ff::tag(stream.metadata, c"creation_time") {
                Some(text) => (Some(text), Some("video track")),
                None => (None, None),
            },
        };
        let (mut audio, mut subtitles) = (Vec::new(), Vec::new());
        let mut timecode = ff::tag(context.metadata, c"timecode");
        for index in 0..context.nb_streams as usize {
            let other = &**context.streams.add(index);
            timecode = timecode.or_else(|| ff::tag(other.metadata, c"timecode"));
            let kind = (*other.codecpar).codec_type;
            let codec = ff::name(ffi::avcodec_get_name((*other.codecpar).codec_id));
            if kind == ffi::AVMediaType::AVMEDIA_TYPE_AUDIO && (*other.codecpar).sample_rate <= 0 {
                // No container takes such a track: the file holds too little of it to tell.
                let text = format!(
                    "stream {index} is {codec} sound without a sample rate: too little of it is there, and it is not carried into the film"
                );
                findings.push(Finding::new(Severity::Warning, "sound_without_rate", text));
            } else if kind == ffi::AVMediaType::AVMEDIA_TYPE_AUDIO {
                let seconds = ff::ticks(other.duration).map(|d| rational(other.time_base).seconds(d));
                audio.push(AudioTrack {
                    stream: index,
                    codec,
                    rate_hz: (*other.codecpar).sample_rate as u32,
                    channels: (*other.codecpar).ch_layout.nb_channels as u32,
                    duration_s: seconds,
                });
            } else if kind == ffi::AVMediaType::AVMEDIA_TYPE_SUBTITLE {
                subtitles.push(SubtitleTrack { stream: index, codec });
            } else if index != reader.video_stream() {
                let what = if other.disposition & ffi::AV_DISPOSITION_ATTACHED_PIC != 0 {
                    "a cover picture".to_owned()
                } else {
                    format!("a {} stream ({codec})", ff::name(ffi::av_get_media_type_string(kind)))
                };
                let text = format!("stream {index} is {what} and is not carried into the film");
                findings.push(Finding::new(Severity::Note, "stream_not_carried", text));
            }
        }
        if let Some(cut) = cut {
            let text = format!(
                "the file is cut off: it holds {} of {} frames, the picture up to film time {:.3} s",
                cut.whole, cut.promised, cut.whole_s
            );
            findings.push(Finding::new(Severity::Warning, "clip_cut_off", text));
        }
        if let Some((there, whole)) = torn_end(context, file) {
            let text = format!(
                "the file ends within a packet, after {there} of its {whole} bytes: it is cut off, and nothing says how long it was"
            );
            findings.push(Finding::new(Severity::Warning, "clip_cut_off", text));
        }
        Ok(Clip {
            file: file.to_owned(),
            container: ff::name((*context.iformat).name).split(',').next().unwrap_or_default().to_owned(),
            duration_s: ff::ticks(context.duration).map_or(0.0, |d| d as f64 / f64::from(ffi::AV_TIME_BASE)),
            created,
            created_from,
            zoned: ff::tag(context.metadata, c"com.apple.quicktime.creationdate"),
            comment: ff::tag(context.metadata, c"comment"),
            timecode,
            video: VideoTrack {
                stream: reader.video_stream(),
                codec,
                shape: FrameShape { width, height, pixel_aspect, orientation },
                pixel_format,
                frames: u64::try_from(stream.nb_frames).ok().filter(|&n| n > 0),
                frame_rate: rational(ff::frame_rate(context, stream)),
                time_base: rational(stream.time_base),
                first_pts: first.pts,
                coding,
                fields: first.fields,
                planar_format,
                light: first.light,
                tags: [
                    tags.matrix_name(),
                    tags.range_name(samples.is_full_range()).to_owned(),
                    tags.transfer_name(),
                    tags.primaries_name(),
                ],
            },
            audio,
            subtitles,
            start_s: ff::ticks(context.start_time).map_or(0.0, |t| t as f64 / f64::from(ffi::AV_TIME_BASE)),
            list: None,
            reshape: None,
            deinterlaced: false,
            cut_off: cut,
            kept: Kept::default(),
            findings,
        })
    }
}

/// The player's turn and mirror from the display matrix; none for anything but quarter turns.
unsafe fn orientation(stream: &ffi::AVStream) -> Option<Orientation> {
    let mut size = 0;
    // SAFETY: the stream is alive; the matrix, where present, is nine 32-bit integers, of which four are copied.
    let [a, b, c, d] = unsafe {
        let data =
            ffi::av_stream_get_side_data(stream, ffi::AVPacketSideDataType::AV_PKT_DATA_DISPLAYMATRIX, &mut size);
        if data.is_null() || size < 36 {
            return Some(Orientation::default());
        }
        let matrix = data.cast::<i32>();
        [0, 1, 3, 4].map(|i| matrix.add(i).read_unaligned())
    };
    // x' = a x + c y, y' = b x + d y, in 16.16 fixed point; a cover-up of rounding is allowed, another angle is not.
    let unit = [a, b, c, d].map(|v| if v.unsigned_abs() < 64 { 0 } else { v.signum() });
    (0..4u8).flat_map(|quarter_turns| [false, true].map(|mirrored| Orientation { quarter_turns, mirrored })).find(|o| {
        let (x, y) =
            [((1, 0), (0, 1)), ((0, 1), (-1, 0)), ((-1, 0), (0, -1)), ((0, -1), (1, 0))][o.quarter_turns as usize];
        let x = if o.mirrored { (-x.0, -x.1) } else { x };
        unit == [x.0, x.1, y.0, y.1]
    })
}

//! Consecutive files of one recording, read as one film.
//!
//! The files are handed to the library's own concatenating demuxer. Each is given the length that puts the next one's first frame
//! where its own last frame ends: containers state a length of their own, which sound and edit lists stretch.

use super::count::count_frames;
use super::probe::{Clip, probe, probe_opened};
use super::read::Reader;
use super::{VideoError, numbering};
use crate::finding::{Finding, Severity};
use std::fmt::Write;
use std::path::{Path, PathBuf};

/// How far the stamps of two files may contradict that one follows the other, in seconds: both are cut to whole seconds, and
/// some cameras stamp late (common practice, no source).
const FARTHEST_APART_S: f64 = 3.0;

/// A list of files for the concatenating demuxer.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct List {
    /// The list as an address that holds its own text.
    pub(super) url: String,
    /// The files.
    pub(super) files: Vec<PathBuf>,
}

/// Opens several files of one recording as one clip; one file alone as it is.
///
/// # Errors
/// Any of them cannot be read, is cut off before the last, or is of another kind than the first.
pub fn join(files: &[PathBuf]) -> Result<Clip, VideoError> {
    let [first, rest @ ..] = files else {
        return Err(VideoError::NotAClip { file: PathBuf::new(), said: "no file is named".into() });
    };
    if rest.is_empty() {
        return probe(first);
    }
    let clips: Vec<Clip> = files.iter().map(|file| probe(file)).collect::<Result<_, _>>()?;
    for (clip, next) in clips.iter().zip(&clips[1..]) {
        alike(&clips[0], next)?;
        // What is missing in the middle would be a hole that nobody sees.
        clip.check_whole(None)?;
    }
    let lengths =
        files.iter().map(|file| Ok(count_frames(file)?.duration_s)).collect::<Result<Vec<f64>, VideoError>>()?;
    // From a container's start, the earliest of its streams, to its first frame.
    let before: Vec<f64> = clips.iter().map(|c| c.video.time_base.seconds(c.video.first_pts) - c.start_s).collect();
    let mut text = "data:text/plain,ffconcat version 1.0\n".to_owned();
    for (i, clip) in clips.iter().enumerate() {
        let path =
            std::fs::canonicalize(&clip.file).map_err(|source| VideoError::Open { file: clip.file.clone(), source })?;
        let path = path.to_str().filter(|p| !p.contains('\n')).ok_or(VideoError::Path { file: clip.file.clone() })?;
        let length = before[i] + lengths[i] - before.get(i + 1).copied().unwrap_or(0.0);
        // A string takes whatever is written to it.
        let _ = writeln!(text, "file 'file:{}'\nduration {length:.6}", path.replace('\'', "'\\''"));
    }
    let list = List { url: text, files: files.to_vec() };
    let mut joined = probe_opened(&mut Reader::open_list(first, &list, 1)?, first)?;
    joined.findings.extend(apart(&clips, &lengths));
    joined.findings.extend(numbering::remarks(files));
    joined.container = clips[0].container.clone();
    joined.created = clips[0].created.clone();
    joined.created_from = clips[0].created_from;
    joined.zoned = clips[0].zoned.clone();
    joined.timecode = clips[0].timecode.clone();
    joined.video.frame_rate = clips[0].video.frame_rate;
    joined.video.frames = clips.iter().map(|c| c.video.frames).sum();
    joined.duration_s = lengths.iter().sum();
    // The last one's end, in the film's time.
    joined.cut_off = clips[clips.len() - 1].cut_off.map(|mut cut| {
        cut.whole_s += lengths[..lengths.len() - 1].iter().sum::<f64>();
        cut
    });
    joined.list = Some(list);
    Ok(joined)
}

/// Whether one clip goes on where another ends: the next number in its name or its creation time says so, and nothing speaks against it.
/// Clips that are only alike may be those of two cameras.
pub fn follows(first: &Clip, next: &Clip) -> bool {
    let gap_s = gap_s(first, next, first.duration_s);
    let dated = gap_s.map(|gap| gap.abs() <= FARTHEST_APART_S);
    let files = [first.file.clone(), next.file.clone()];
    let told = dated == Some(true) || numbering::counts_on(&files[0], &files[1]);
    let against = dated == Some(false) || !numbering::remarks(&files).is_empty();
    told && !against && alike(first, next).is_ok() && first.check_whole(None).is_ok()
}

/// Refuses a file whose picture or sound is of another kind.
fn alike(first: &Clip, other: &Clip) -> Result<(), VideoError> {
    let picture = |c: &Clip| {
        let v = &c.video;
        (v.codec.clone(), v.shape.width, v.shape.height, v.pixel_format.clone(), v.tags.clone())
    };
    let sound = |c: &Clip| c.audio.iter().map(|a| (a.codec.clone(), a.rate_hz, a.channels)).collect::<Vec<_>>();
    if picture(first) == picture(other) && sound(first) == sound(other) {
        return Ok(());
    }
    let what = format!("its picture or sound is of another kind than that of {}", first.file.display());
    let cure = "files of one recording are alike; give this one a [[film]] of its own";
    Err(VideoError::Unsupported { file: other.file.clone(), what, cure })
}

/// What speaks against two files following each other: their creation times.
fn apart(clips: &[Clip], lengths: &[f64]) -> Vec<Finding> {
    let pairs = clips.iter().zip(&clips[1..]).zip(lengths);
    let gaps = pairs.filter_map(|((a, b), length)| {
        let gap = gap_s(a, b, *length)?;
        (gap.abs() > FARTHEST_APART_S).then(|| {
            let (a, b) = (name(&a.file), name(&b.file));
            let what = if gap > 0.0 { "a gap" } else { "an overlap" };
            let text = format!(
                "by their creation times there is {what} of {:.0} s between {a} and {b}, which are joined without one; if they \
                 are not one recording, give {b} a [[film]] of its own",
                gap.abs()
            );
            Finding::new(Severity::Warning, "films_apart", text)
        })
    });
    gaps.collect()
}

/// Seconds from the end of a clip of so many seconds to the start of the next, by their creation times; none where these do not tell.
fn gap_s(first: &Clip, next: &Clip, length_s: f64) -> Option<f64> {
    let created = |c: &Clip| c.created.as_deref().and_then(|t| t.parse::<jiff::Timestamp>().ok());
    let between = created(next)?.duration_since(created(first)?).as_secs_f64();
    // Some cameras stamp all files with the time at which the recording began.
    (between != 0.0).then_some(between - length_s)
}

fn name(file: &Path) -> String {
    file.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

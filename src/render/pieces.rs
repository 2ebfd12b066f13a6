//! A film in pieces: each is rendered by itself, on any machine, and says in a manifest what it is a piece of.

use super::{FilmJob, Plan, Progress, RenderError, Summary, render};
use crate::output::Pending;
use crate::video::{self, Chapter, Container};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs::File;
use std::io::{Read, Seek, SeekFrom, Write as _};
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::atomic::AtomicBool;

/// Of a file longer than twice this, only its ends are read for its fingerprint: a film takes minutes to be read as a whole.
const ENDS: u64 = 8 << 20;

/// One piece of so many: `2/7`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Share {
    /// Which, from 1.
    pub number: u32,
    /// Of how many.
    pub of: u32,
}

impl FromStr for Share {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let number = |part: &str| part.trim().parse::<u32>().ok();
        let pair = text.split_once('/').and_then(|(a, b)| Some((number(a)?, number(b)?)));
        match pair {
            Some((number, of)) if (1..=of).contains(&number) && of <= 10_000 => Ok(Self { number, of }),
            _ => Err(format!("`{text}` is no piece; write for example 2/7, the second of seven")),
        }
    }
}

/// What a piece is a piece of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// The program and its version.
    pub program: String,
    /// Fingerprint of all that decides about the film: inputs, instruments, clocks and settings.
    pub job: String,
    /// Which piece, from 1.
    pub part: u32,
    /// Of how many.
    pub of: u32,
    /// Its first frame, in ticks of the film track.
    pub first_tick: i64,
    /// Its frames.
    pub frames: u64,
    /// The whole film's first frame, in the same ticks.
    pub film_first_tick: i64,
    /// The tick at which the whole film ends; none for the clip's end.
    pub film_end_tick: Option<i64>,
    /// Whether the whole film is only a part of the clip, and starts at zero.
    pub film_is_part: bool,
    /// The piece's own file: its length and fingerprint.
    pub bytes: u64,
    /// SHA-256 of the piece's file.
    pub sha256: String,
    /// The clip's files, from which sound and tags come.
    pub clip: Vec<PathBuf>,
    /// All inputs, with their fingerprints.
    pub inputs: Vec<Input>,
    /// What the film's comment is to say.
    pub comment: Option<String>,
    /// Whether sound comes along.
    pub with_sound: bool,
    /// Whether sound that the film's container cannot hold is encoded anew.
    #[serde(default)]
    pub recodes_sound: bool,
    /// The film's own chapters, in film time; none for the clip's.
    #[serde(default)]
    pub chapters: Option<Vec<Chapter>>,
    /// Whether tags that say where it was taken are left out.
    #[serde(default)]
    pub drops_location: bool,
}

/// A file that the film is made from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Input {
    /// Where it was.
    pub file: PathBuf,
    /// Its length.
    pub bytes: u64,
    /// SHA-256 of its bytes; of a file longer than 16 MiB, of its first and last 8 MiB.
    pub sha256: String,
}

impl Input {
    /// Looks at a file.
    ///
    /// # Errors
    /// It cannot be read.
    pub fn of(file: &Path) -> Result<Self, RenderError> {
        let look = || -> std::io::Result<Self> {
            let mut open = File::open(file)?;
            let bytes = open.metadata()?.len();
            let mut hash = Sha256::new();
            if bytes <= 2 * ENDS {
                digest(&mut open, &mut hash)?;
            } else {
                digest(&mut Read::by_ref(&mut open).take(ENDS), &mut hash)?;
                open.seek(SeekFrom::End(-(ENDS as i64)))?;
                digest(&mut open, &mut hash)?;
            }
            Ok(Self { file: file.to_owned(), bytes, sha256: hex(&hash.finalize()) })
        };
        look().map_err(|e| RenderError::Piece { file: file.to_owned(), what: format!("cannot be read: {e}") })
    }
}

/// SHA-256 of a whole file, and its length.
pub(super) fn fingerprint(file: &Path) -> std::io::Result<(u64, String)> {
    let mut hash = Sha256::new();
    let bytes = digest(&mut File::open(file)?, &mut hash)?;
    Ok((bytes, hex(&hash.finalize())))
}

/// Takes all that is left to read into a hash; returns its length.
fn digest(from: &mut impl Read, hash: &mut Sha256) -> std::io::Result<u64> {
    let mut buffer = vec![0; 1 << 16];
    let mut length = 0;
    loop {
        match from.read(&mut buffer) {
            Ok(0) => return Ok(length),
            Ok(read) => {
                hash.update(&buffer[..read]);
                length += read as u64;
            }
            Err(e) if e.kind() == std::io::ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        // A string takes whatever is written to it.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// Where a piece of a film lies: `flight.part-2-of-7.mp4` for `flight.mp4`.
pub fn piece_name(film: &Path, share: Share, container: Container) -> PathBuf {
    film.with_extension(format!("part-{}-of-{}{}", share.number, share.of, container.ending()))
}

/// Where a piece's manifest lies.
pub(super) fn manifest_name(piece: &Path) -> PathBuf {
    let mut name = piece.as_os_str().to_owned();
    name.push(".json");
    name.into()
}

/// The first tick and the count of each piece's frames, and where the whole ends.
struct Cuts {
    ticks: Vec<i64>,
    end: Option<i64>,
}

impl Cuts {
    fn of(plan: &Plan, job: &FilmJob) -> Result<Self, RenderError> {
        let video = &plan.clip.video;
        let ticks_at = |t: crate::time::FilmTime| {
            video.first_pts.saturating_add((t.0 / video.time_base.as_f64() - 0.1).ceil() as i64)
        };
        let (from, end) = (job.from.map_or(i64::MIN, ticks_at), job.to.map(ticks_at));
        let mut ticks = video::frame_ticks(&plan.clip)?;
        ticks.retain(|&tick| tick >= from && end.is_none_or(|end| tick < end));
        Ok(Self { ticks, end })
    }

    /// First tick, end and frames of a piece.
    fn piece(&self, share: Share) -> Option<(i64, Option<i64>, u64)> {
        let at = |number: u32| (u64::from(number) * self.ticks.len() as u64 / u64::from(share.of)) as usize;
        let (start, stop) = (at(share.number - 1), at(share.number));
        let first = *self.ticks.get(start).filter(|_| stop > start)?;
        Some((first, self.ticks.get(stop).copied().or(self.end), (stop - start) as u64))
    }
}

/// Frames that a film has, by the times of its packets.
///
/// # Errors
/// The clip cannot be read.
pub fn frame_count(plan: &Plan, job: &FilmJob) -> Result<u64, RenderError> {
    Ok(Cuts::of(plan, job)?.ticks.len() as u64)
}

/// Renders one piece beside `job.output`, with its manifest; one that is there already, whole and of the same film, is left as it is
/// and gives no summary.
///
/// # Errors
/// As [`render`]; or there are fewer frames than pieces.
pub fn render_piece(
    plan: &Plan,
    job: &FilmJob,
    share: Share,
    progress: &mut dyn Progress,
    cancel: &AtomicBool,
) -> Result<Option<Summary>, RenderError> {
    let cuts = Cuts::of(plan, job)?;
    let Some((first_tick, end, frames)) = cuts.piece(share) else {
        let what = format!("the film has {} frames, too few for {} pieces", cuts.ticks.len(), share.of);
        return Err(RenderError::Piece { file: plan.clip.file.clone(), what });
    };
    let inputs = job.inputs.iter().map(|file| Input::of(file)).collect::<Result<Vec<_>, _>>()?;
    let container = Container::of_pieces(job.settings.codec);
    let piece = piece_name(&job.output, share, container);
    let job_hash = job_hash(plan, job, &inputs);
    let mut manifest = Manifest {
        program: concat!("jumpseat ", env!("CARGO_PKG_VERSION")).to_owned(),
        job: job_hash,
        part: share.number,
        of: share.of,
        first_tick,
        frames,
        film_first_tick: cuts.ticks[0],
        film_end_tick: cuts.end,
        film_is_part: job.from.is_some() || job.to.is_some(),
        bytes: 0,
        sha256: String::new(),
        clip: plan.clip.files(),
        inputs,
        comment: job.comment.clone(),
        with_sound: job.with_sound,
        recodes_sound: job.recodes_sound,
        chapters: job.chapters.clone(),
        drops_location: job.drops_location,
    };
    if is_there(&piece, &manifest) {
        return Ok(None);
    }
    let own = FilmJob {
        ticks: Some((first_tick, end)),
        output: piece.clone(),
        container,
        with_sound: false,
        fast_start: false,
        comment: None,
        chapters: None,
        keeps_unfinished: false,
        // What lies under this name is no piece of this film, or no longer whole.
        overwrite: true,
        ledger: None,
        ..job.clone()
    };
    let summary = render(plan, &own, progress, cancel)?;
    if summary.frames != frames {
        return Err(RenderError::Verify { file: piece, found: summary.frames, expected: frames });
    }
    let failed = |source| RenderError::Write { file: piece.clone(), source };
    (manifest.bytes, manifest.sha256) = fingerprint(&piece).map_err(failed)?;
    let text = serde_json::to_string_pretty(&manifest).map_err(|e| failed(e.into()))?;
    let pending = Pending::create(&manifest_name(&piece), true, &[])?;
    pending.file().write_all(text.as_bytes()).map_err(failed)?;
    pending.finish()?;
    Ok(Some(summary))
}

/// Whether a piece is whole and says the same of itself.
fn is_there(piece: &Path, wanted: &Manifest) -> bool {
    let Ok(found) = manifest_of(piece) else { return false };
    let same = Manifest { bytes: wanted.bytes, sha256: wanted.sha256.clone(), ..found.clone() } == *wanted;
    let counted = || video::stored_frames(piece).is_ok_and(|frames| frames == found.frames);
    same && counted() && fingerprint(piece).is_ok_and(|(bytes, sha256)| (bytes, sha256) == (found.bytes, found.sha256))
}

/// Reads a piece's manifest.
pub(super) fn manifest_of(piece: &Path) -> Result<Manifest, RenderError> {
    let file = manifest_name(piece);
    let failed = |what: String| RenderError::Piece { file: file.clone(), what };
    let text = std::fs::read_to_string(&file)
        .map_err(|e| failed(format!("cannot be read ({e}); it lies beside the piece that render --part wrote")))?;
    serde_json::from_str(&text)
        .map_err(|e| failed(format!("is no manifest of a piece ({e}); render the piece once more")))
}

/// Into how many pieces a film was begun: those of the same film that lie beside it.
pub fn pieces_there(film: &Path, container: Container) -> Option<u32> {
    let (folder, stem) = (film.parent()?, film.file_stem()?.to_str()?);
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let names = std::fs::read_dir(folder).ok()?.flatten().filter_map(|entry| entry.file_name().into_string().ok());
    let mut counts = names.filter_map(|name| {
        let middle = name.strip_prefix(stem)?.strip_prefix(".part-")?.strip_suffix(container.ending())?;
        middle.split_once("-of-")?.1.parse().ok()
    });
    counts.next()
}

/// Fingerprint of all that decides about a film's frames.
fn job_hash(plan: &Plan, job: &FilmJob, inputs: &[Input]) -> String {
    let mut hash = Sha256::new();
    for input in inputs {
        hash.update(format!("{} {}\n", input.bytes, input.sha256));
    }
    let (look, fit, settings) = (&plan.look.theme, &plan.fit, &job.settings);
    hash.update(format!(
        "{} {look:?} {fit:?} {:?} {:?} {:?}\n",
        env!("CARGO_PKG_VERSION"),
        settings.codec,
        settings.crf,
        settings.speed
    ));
    hash.update(format!("{:?} {}\n", settings.rate, plan.clip.reshape_key()));
    hash.update(format!("{:?} {:?} {:?} {:?}\n", plan.panel, plan.captions, job.from, job.to));
    hex(&hash.finalize())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_one_of_so_many() {
        assert_eq!("2/7".parse(), Ok(Share { number: 2, of: 7 }));
        for text in ["0/7", "8/7", "7", "a/b", "1/0", "-1/3", "1/99999"] {
            assert!(text.parse::<Share>().is_err(), "{text}");
        }
    }

    #[test]
    fn pieces_lie_one_after_the_other_and_leave_nothing_out() {
        for frames in [1_i64, 7, 100] {
            let cuts = Cuts { ticks: (0..frames).map(|i| 3 * i).collect(), end: None };
            for of in 1..=7_u32 {
                let pieces: Vec<_> = (1..=of).filter_map(|number| cuts.piece(Share { number, of })).collect();
                assert_eq!(pieces.iter().map(|p| p.2).sum::<u64>(), frames as u64);
                assert!(pieces.windows(2).all(|p| p[0].1 == Some(p[1].0)), "{frames} in {of}: {pieces:?}");
                assert_eq!((pieces[0].0, pieces[pieces.len() - 1].1), (0, None));
            }
        }
    }
}

//! Pieces of a film become the film, without encoding anything again.

use super::RenderError;
use super::pieces::{Input, Manifest, fingerprint, manifest_name, manifest_of};
use super::pipeline::verify;
use crate::finding::Finding;
use crate::output::Pending;
use crate::video::{self, Container, Excerpt, Packet, Piece, Reader, Target, VideoError, Writer};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};

/// How far sound is read ahead of the picture, so that both can be written in step.
const AHEAD_S: f64 = 1.0;

/// What pieces say about the film that they make.
struct Film {
    manifest: Manifest,
    /// In their order, each with its first tick.
    pieces: Vec<(PathBuf, i64)>,
    frames: u64,
}

/// What sounds beside the film, packet by packet.
struct Sound {
    source: Option<Reader>,
    next: Option<Packet>,
}

impl Sound {
    /// The next packet, if it starts before a moment of the source's time line.
    fn before(&mut self, until_s: f64) -> Result<Option<Packet>, VideoError> {
        if self.next.is_none() {
            self.next = self.source.as_mut().map_or(Ok(None), Reader::next_sound)?;
        }
        Ok(self.next.take_if(|packet| packet.start_s.is_none_or(|start| start < until_s)))
    }
}

/// Joins all pieces of a film, given in any order. Sound, subtitles, chapters and tags come from the clip. Returns the count of frames and
/// what was odd.
///
/// # Errors
/// A piece is missing, damaged, there twice, or of another film; an input has changed since; the film cannot be written.
pub fn join(
    pieces: &[PathBuf],
    output: &Path,
    overwrite: bool,
    cancel: &AtomicBool,
) -> Result<(u64, Vec<Finding>), RenderError> {
    let film = checked(pieces)?;
    let manifest = &film.manifest;
    for input in &manifest.inputs {
        let now = Input::of(&input.file)?;
        if (now.bytes, &now.sha256) != (input.bytes, &input.sha256) {
            let what = "is another file than the pieces were made from; render them once more".into();
            return Err(RenderError::Piece { file: input.file.clone(), what });
        }
    }
    let clip = video::join(&manifest.clip)?;
    let mut source = Reader::open_clip(&clip, 1)?;
    let base = source.time_base();
    let excerpt = Excerpt {
        first_pts: manifest.film_first_tick,
        end_pts: manifest.film_end_tick,
        is_part: manifest.film_is_part,
    };
    let mut never: Vec<PathBuf> = pieces.to_vec();
    never.extend(manifest.inputs.iter().map(|input| input.file.clone()));
    let pending = Pending::create(output, overwrite, &never)?;
    let target = Target {
        path: pending.path(),
        named: output,
        container: Container::of(output)?,
        with_sound: manifest.with_sound,
        recodes_sound: manifest.recodes_sound,
        fast_start: false,
        comment: manifest.comment.as_deref(),
        chapters: manifest.chapters.as_deref(),
        drops_location: manifest.drops_location,
    };
    let first = Piece::open(&film.pieces[0].0)?;
    let mut writer = Writer::of_pieces(&target, &source, &clip, excerpt, &first)?;
    if manifest.film_is_part {
        source.seek(manifest.film_first_tick)?;
    }
    let mut sound = Sound { source: manifest.with_sound.then_some(source), next: None };
    for (file, first_tick) in &film.pieces {
        let mut piece = Piece::open(file)?;
        if piece.header() != first.header() {
            let what = "was encoded otherwise than the first piece; render it once more".into();
            return Err(RenderError::Piece { file: file.clone(), what });
        }
        while let Some(packet) = piece.next_packet(base, *first_tick)? {
            if cancel.load(Ordering::Relaxed) {
                return Err(RenderError::Interrupted);
            }
            let until_s = packet.time_s(base) + AHEAD_S;
            while let Some(packet) = sound.before(until_s)? {
                writer.sound(packet)?;
            }
            writer.packet(packet)?;
        }
    }
    let end_s = excerpt.end_pts.map_or(f64::INFINITY, |end| base.seconds(end));
    while let Some(packet) = sound.before(end_s + AHEAD_S)? {
        writer.sound(packet)?;
    }
    let (frames, mut findings) = writer.finish()?;
    findings.extend(video::take_findings());
    verify(pending.path(), output, frames)?;
    if frames != film.frames {
        return Err(RenderError::Verify { file: output.to_owned(), found: frames, expected: film.frames });
    }
    pending.finish()?;
    Ok((frames, findings))
}

/// Removes pieces and their manifests, once the film is there.
pub(crate) fn remove(pieces: &[PathBuf]) {
    for piece in pieces {
        // What stays behind is only in the way.
        let _ = std::fs::remove_file(manifest_name(piece));
        let _ = std::fs::remove_file(piece);
    }
}

/// All pieces of one film, each whole and there once.
fn checked(pieces: &[PathBuf]) -> Result<Film, RenderError> {
    let fault = |file: &Path, what: String| RenderError::Piece { file: file.to_owned(), what };
    let mut found: Vec<(PathBuf, Manifest)> = Vec::new();
    for piece in pieces {
        found.push((piece.clone(), manifest_of(piece)?));
    }
    let Some((first, manifest)) = found.first().cloned() else {
        return Err(fault(Path::new("(none)"), "no piece is named".into()));
    };
    for (piece, other) in &found {
        if (&other.job, other.of) != (&manifest.job, manifest.of) {
            return Err(fault(piece, format!("is a piece of another film than {}", first.display())));
        }
        let (bytes, sha256) = fingerprint(piece).map_err(|e| fault(piece, format!("cannot be read: {e}")))?;
        if (bytes, &sha256) != (other.bytes, &other.sha256) {
            return Err(fault(piece, "is not as it was written; render this piece once more".into()));
        }
    }
    found.sort_by_key(|(_, manifest)| manifest.part);
    for number in 1..=manifest.of {
        let these: Vec<_> = found.iter().filter(|(_, m)| m.part == number).collect();
        match &these[..] {
            [_] => {}
            [] => return Err(fault(&first, format!("piece {number} of {} is missing beside it", manifest.of))),
            [_, (again, _), ..] => return Err(fault(again, format!("piece {number} is there twice"))),
        }
    }
    let frames = found.iter().map(|(_, m)| m.frames).sum();
    Ok(Film { manifest, pieces: found.into_iter().map(|(piece, m)| (piece, m.first_tick)).collect(), frames })
}

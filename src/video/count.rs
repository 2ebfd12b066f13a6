//! A clip's frames counted and timed packet by packet, without decoding.

use super::VideoError;
use super::open::open_written;
use super::probe::Clip;
use super::read::{Reader, film_stream};
use std::path::Path;

/// Frames of a clip counted packet by packet, and the steps between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrameCount {
    /// Frames that are shown.
    pub frames: u64,
    /// Whether the steps between frames differ by more than one tick and 1 % of their mean.
    pub variable_rate: bool,
    /// Seconds from the first frame's start to the last one's end.
    pub duration_s: f64,
}

/// Reads through the whole clip, without decoding, and counts.
pub fn count_frames(file: &Path) -> Result<FrameCount, VideoError> {
    let mut reader = Reader::open(file, 1)?;
    let times = packet_times(&mut reader)?;
    let base = reader.time_base();
    let steps = times.windows(2).map(|w| w[1].0 - w[0].0);
    let (least, most) = (steps.clone().min().unwrap_or(0), steps.clone().max().unwrap_or(0));
    let mean = steps.sum::<i64>() as f64 / (times.len().max(2) - 1) as f64;
    let span = match (times.first(), times.last()) {
        (Some(first), Some(last)) => last.0 - first.0 + last.1.max(0),
        _ => 0,
    };
    Ok(FrameCount {
        frames: times.len() as u64,
        variable_rate: (most - least) as f64 > 1.0 + mean * 0.01,
        duration_s: base.seconds(span),
    })
}

/// Film times of a clip's frames in seconds, packet by packet and without decoding; the first shown frame is at 0.
pub fn frame_times(clip: &Clip) -> Result<Vec<f64>, VideoError> {
    let (first, base) = (clip.video.first_pts, clip.video.time_base);
    Ok(frame_ticks(clip)?.into_iter().map(|tick| base.seconds(tick - first)).collect())
}

/// The same in ticks of the film track.
pub fn frame_ticks(clip: &Clip) -> Result<Vec<i64>, VideoError> {
    Ok(frame_spans(clip)?.into_iter().map(|(tick, _)| tick).collect())
}

/// The same with how long each frame is shown, in ticks; 0 where the container does not say.
pub fn frame_spans(clip: &Clip) -> Result<Vec<(i64, i64)>, VideoError> {
    let mut reader = Reader::open_clip(clip, 1)?;
    let mut spans = packet_times(&mut reader)?;
    spans.retain(|&(tick, _)| tick >= clip.video.first_pts);
    spans.dedup_by_key(|&mut (tick, _)| tick);
    Ok(spans)
}

/// Times and durations of the film track's packets in ticks, in the order of their showing.
fn packet_times(reader: &mut Reader) -> Result<Vec<(i64, i64)>, VideoError> {
    let mut times: Vec<(i64, i64)> = Vec::new();
    while let Some(packet) = reader.next_video_packet()? {
        if let Some(pts) = packet.pts().or(packet.dts()) {
            times.push((pts, packet.duration()));
        }
    }
    times.sort_unstable();
    Ok(times)
}

/// Frames that a film holds which this program wrote: by its index where it has one, else packet by packet.
pub fn stored_frames(file: &Path) -> Result<u64, VideoError> {
    let mut input = open_written(file)?;
    let film = film_stream(file, &input)?;
    if let Some(indexed) = input.stream(film).and_then(|stream| u64::try_from(stream.frames()).ok()).filter(|&n| n > 0)
    {
        return Ok(indexed);
    }
    let mut frames = 0;
    let mut packet = ffmpeg_next::Packet::empty();
    while packet.read(&mut input).is_ok() {
        frames += u64::from(packet.stream() == film);
    }
    Ok(frames)
}

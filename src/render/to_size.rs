//! A film of a size that was asked for: once to look, once to write. Where the encoder cannot learn from a first pass, the program
//! does, by how far it missed.

use super::{FilmJob, Plan, Progress, RenderError, Summary, render};
use crate::output::{Between, OutputError};
use crate::video::{self, AAC_BITS, EncodeSettings, Pass, Rate, Reader, VideoError};
use std::sync::atomic::AtomicBool;

/// Fewer bits a second show nothing.
const LEAST_BITS: f64 = 20_000.0;
/// What a container writes beside a frame and a packet of sound, in bytes (MP4's tables, ISO/IEC 14496-12: size 4, times up to
/// 16, place and key frame 8).
const BESIDE_A_FRAME: u64 = 24;
/// Headers and tags.
const BESIDE_ALL: u64 = 4096;

/// By how much a rate is changed at most for what a first film missed: further off, size no longer follows rate.
const FARTHEST_MISS: f64 = 3.0;

/// Writes the film so that its file has about so many bytes.
///
/// # Errors
/// As [`render`]; or the size leaves no room for pictures, or the codec has no rate to be chosen.
pub fn render_to_size(
    plan: &Plan,
    job: &FilmJob,
    bytes: u64,
    progress: &mut dyn Progress,
    cancel: &AtomicBool,
) -> Result<Summary, RenderError> {
    let (bits, seconds) = bits_a_second(plan, job, bytes)?;
    // Refused before the work, not after half of it.
    if job.output.exists() && !job.overwrite {
        return Err(OutputError::Exists { file: job.output.clone() }.into());
    }
    let between = Between::beside(&job.output)?;
    let stats = between.path().join("stats");
    let learns = job.settings.codec.learns_by_passes();
    let rate = |pass: Pass| Rate { bits, pass: learns.then_some(pass) };
    let asked = |what| VideoError::Asked { file: job.output.clone(), what };
    job.settings.codec.check_rate(&rate(Pass::First(stats.clone()))).map_err(asked)?;
    let pass = |pass: Pass| EncodeSettings { rate: Some(rate(pass)), ..job.settings.clone() };
    let first = FilmJob {
        output: between.path().join("first").with_extension(job.container.ending().trim_start_matches('.')),
        with_sound: false,
        fast_start: false,
        comment: None,
        keeps_unfinished: false,
        ledger: None,
        settings: pass(Pass::First(stats.clone())),
        ..job.clone()
    };
    // The film is what the user named, not what lies between.
    let looked = render(plan, &first, progress, cancel).map_err(|error| match error {
        RenderError::Video(VideoError::Write { said, .. }) => {
            let said = format!("{said}, in the first of two passes");
            VideoError::Write { file: job.output.clone(), said }.into()
        }
        other => other,
    })?;
    let mut settings = pass(Pass::Second(stats));
    if let Some(rate) = settings.rate.as_mut().filter(|_| !learns) {
        let bytes =
            std::fs::metadata(&first.output).map_err(|source| RenderError::Write { file: first.output, source })?;
        let pictures = bytes.len().saturating_sub(BESIDE_ALL + BESIDE_A_FRAME * looked.frames);
        let missed = rate.bits as f64 / (8.0 * pictures as f64 / seconds).max(LEAST_BITS);
        rate.bits = (rate.bits as f64 * missed.clamp(1.0 / FARTHEST_MISS, FARTHEST_MISS)) as u64;
    }
    render(plan, &FilmJob { settings, ..job.clone() }, progress, cancel)
}

/// What is left for the pictures: bits a second, and the seconds.
fn bits_a_second(plan: &Plan, job: &FilmJob, bytes: u64) -> Result<(u64, f64), RenderError> {
    let video = &plan.clip.video;
    let times = video::frame_times(&plan.clip)?;
    let (from, to) = (job.from.map_or(0.0, |t| t.0), job.to.map_or(f64::INFINITY, |t| t.0));
    let part: Vec<f64> = times.into_iter().filter(|&t| t >= from - 1e-9 && t < to).collect();
    let [start, .., last] = part[..] else {
        return Err(RenderError::EmptyPart { from_s: from, to_s: to.min(plan.clip.duration_s) });
    };
    // The last frame is shown as long as one of them on the mean.
    let seconds = (last - start) * part.len() as f64 / (part.len() - 1) as f64;
    let mut beside = BESIDE_ALL + BESIDE_A_FRAME * part.len() as u64;
    if job.with_sound {
        let recoded = |stream| {
            let track = plan.clip.audio.iter().find(|track| track.stream == stream);
            track.is_some_and(|track| job.recodes_sound && !track.is_held_by(job.container))
        };
        let mut reader = Reader::open_clip(&plan.clip, 1)?;
        let zero = video.time_base.seconds(video.first_pts);
        while let Some(packet) = reader.next_sound()? {
            if recoded(packet.stream()) {
                continue;
            }
            if packet.start_s.is_none_or(|t| t - zero >= start && t - zero < start + seconds) {
                beside += packet.size() as u64 + BESIDE_A_FRAME;
            }
        }
        let channels = plan.clip.audio.iter().filter(|track| recoded(track.stream)).map(|track| track.channels);
        beside += (f64::from(channels.sum::<u32>()) * f64::from(AAC_BITS) * seconds / 8.0) as u64;
    }
    let bits = 8.0 * bytes.saturating_sub(beside) as f64 / seconds;
    if bits < LEAST_BITS {
        let what = format!(
            "a film of {seconds:.1} s in {bytes} bytes has no room for its pictures: {beside} bytes go to sound and tables; ask for more \
             with --size, or leave the sound out with --no-sound"
        );
        return Err(VideoError::Asked { file: job.output.clone(), what }.into());
    }
    Ok((bits as u64, seconds))
}

//! Annotated frames as pictures.

use super::{Annotator, Plan, RenderError};
use crate::pixel::FrameShape;
use crate::time::FilmTime;
use crate::video::{Frame, FramePool, Item, Picture, Reader, VideoError};
use image::{DynamicImage, RgbImage, imageops};
use std::slice;

/// The frame at a film time - the last one with a time of at most `at` - as the film shows it: instruments laid over its own
/// planes, then converted, turned upright and stretched to square pixels.
pub fn still(plan: &Plan, at: FilmTime) -> Result<RgbImage, RenderError> {
    plan.clip.check_whole(Some(at.0))?;
    let (frame, film) = frame_at(plan, at)?;
    let mut frame = if frame.is_writable() { frame } else { FramePool::like(&frame)?.copy(&frame)? };
    if !plan.panel.is_empty() {
        let mut annotator = Annotator::new(plan, plan.film_span())?;
        let state = annotator.state_at(film);
        annotator.lay_over(&[state], slice::from_mut(&mut frame))?;
    }
    let picture = Picture::from_frame(&frame, &plan.clip)?;
    let image = RgbImage::from_raw(picture.width, picture.height, picture.rgb).ok_or(VideoError::OutOfMemory)?;
    Ok(upright(image, plan.clip.video.shape))
}

/// Decodes up to the moment.
fn frame_at(plan: &Plan, at: FilmTime) -> Result<(Frame, FilmTime), RenderError> {
    let video = &plan.clip.video;
    let mut reader = Reader::open_clip(&plan.clip, 0)?;
    let film_time = |pts: i64| video.time_base.seconds(pts - video.first_pts);
    // A tenth of a tick forgives the rounding of a time that was itself printed from a tick.
    let wanted = video.first_pts.saturating_add((at.0 / video.time_base.as_f64() + 0.1).floor() as i64);
    reader.seek(wanted)?;
    let mut best: Option<Frame> = None;
    let mut later = false;
    while let Some(item) = reader.read_item()? {
        if let Item::Frame(frame) = item {
            if frame.pts > wanted {
                later = true;
                break;
            }
            best = Some(frame);
        }
    }
    let end_s = best.as_ref().map_or(0.0, |f| film_time(f.pts) + video.time_base.seconds(f.duration));
    match best {
        Some(frame) if later || at.0 <= end_s + 1e-9 => {
            let film = FilmTime(film_time(frame.pts));
            Ok((frame, film))
        }
        last => {
            let last_s = last.map_or(0.0, |f| film_time(f.pts));
            Err(RenderError::NoSuchMoment { at_s: at.0, last_s })
        }
    }
}

/// Turns a coded picture as a player would show it.
fn upright(image: RgbImage, shape: FrameShape) -> RgbImage {
    let image = if (shape.pixel_aspect - 1.0).abs() < 1e-6 {
        image
    } else {
        let width = (f64::from(shape.width) * shape.pixel_aspect).round() as u32;
        imageops::resize(&image, width.max(1), shape.height, imageops::FilterType::CatmullRom)
    };
    let image = DynamicImage::ImageRgb8(image);
    let image = if shape.orientation.mirrored { image.fliph() } else { image };
    match shape.orientation.quarter_turns % 4 {
        1 => image.rotate90(),
        2 => image.rotate180(),
        3 => image.rotate270(),
        _ => image,
    }
    .into_rgb8()
}

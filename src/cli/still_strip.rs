//! `jumpseat still --strip`: nine frames around a moment on one page, to check by eye that film and instruments move together.

use super::Failure;
use crate::draw::{Look, Scene, label, sheet};
use crate::pixel::PixelBox;
use crate::render::{Plan, still};
use crate::time::{FilmTime, format_film_time};
use image::{DynamicImage, RgbImage, RgbaImage, imageops};

/// Width of a frame on the page, height of the line above it, and the gap between frames, in pixels.
const WIDTH: u32 = 640;
const LINE: u32 = 44;
const GAP: u32 = 6;
const SIDE: i32 = 3;

/// The page: three rows of three, the moment in the middle, each frame with its film time.
pub(super) fn page(plan: &Plan, at: FilmTime, every_s: f64) -> Result<DynamicImage, Failure> {
    let last_s = plan.clip.duration_s;
    let mut frames = Vec::new();
    for i in 0..SIDE * SIDE {
        let time = at.0 + f64::from(i - SIDE * SIDE / 2) * every_s;
        // Before the first frame and after the last there is nothing to show; the moment itself is never left out.
        let there = (0.0..last_s).contains(&time) || i == SIDE * SIDE / 2;
        frames.push(there.then(|| still(plan, FilmTime(time)).map(|picture| (time, picture))).transpose()?);
    }
    let Some((_, first)) = frames.iter().flatten().next() else { return Err(Failure::work("no frame to show")) };
    let height = (f64::from(first.height()) * f64::from(WIDTH) / f64::from(first.width())).round().max(1.0) as u32;
    let side = SIDE as u32;
    let (tall, palette) = (LINE + height + GAP, Look::default().theme.palette());
    let (page_width, page_height) = (side * (WIDTH + GAP) - GAP, side * tall - GAP);
    let mut scene = Scene::default();
    for (i, frame) in frames.iter().enumerate() {
        let (x, y) = (i as u32 % side * (WIDTH + GAP), i as u32 / side * tall);
        let middle = i as u32 == side * side / 2;
        let colour = if middle { palette.cyan } else { palette.ink };
        let text = match frame {
            Some((time, _)) => format_film_time(FilmTime(*time)),
            None => "no frame".to_owned(),
        };
        label(&mut scene, &text, (f64::from(x + WIDTH / 2), f64::from(y + LINE / 2)), 26.0, colour);
    }
    let ground = palette.plate.rgb;
    let mut page = RgbImage::from_pixel(page_width, page_height, image::Rgb(ground));
    let letters = sheet(&scene, PixelBox { x: 0, y: 0, width: page_width, height: page_height });
    let letters = RgbaImage::from_raw(page_width, page_height, letters.rgba)
        .ok_or_else(|| Failure::work("the page does not fit its own picture"))?;
    for (pixel, above) in page.pixels_mut().zip(letters.pixels()) {
        // The letters' colours carry their opacity already.
        let under = 255 - u16::from(above.0[3]);
        for (c, a) in pixel.0.iter_mut().zip(above.0) {
            *c = (u16::from(a) + u16::from(*c) * under / 255).min(255) as u8;
        }
    }
    for (i, frame) in frames.into_iter().enumerate() {
        let Some((_, picture)) = frame else { continue };
        let small = imageops::resize(&picture, WIDTH, height, imageops::FilterType::Triangle);
        let (x, y) = (i as u32 % side * (WIDTH + GAP), i as u32 / side * tall + LINE);
        imageops::replace(&mut page, &small, i64::from(x), i64::from(y));
    }
    Ok(page.into())
}

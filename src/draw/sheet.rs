//! Free drawing with the same tools: any outlines and lines of text on a sheet of its own.

use super::path::Point;
use super::raster::Grid;
use super::scene::Scene;
use super::text::{Run, Setting, Weight};
use super::theme::Rgba;
use super::typeface::Typeface;
use crate::pixel::{FrameShape, Patch, PixelBox};

/// Draws a scene into a box of a frame with square pixels. What lies beyond the box is cut off.
pub fn sheet(scene: &Scene, place: PixelBox) -> Patch {
    Grid::new(FrameShape::plain(place.right(), place.bottom())).picture(scene, place)
}

/// Sets a line of bold text about a point: the middle of its width and of its capitals. `em` is its size in pixels.
pub fn label(scene: &mut Scene, text: &str, centre: Point, em: f64, colour: Rgba) {
    Setting::em(Typeface::B612, em).draw(scene, &[Run { text, weight: Weight::Bold, colour }], centre, None);
}

//! A mark that moves over a plate: what a hand is on a dial, with the same looks for its data states.

use super::hands::HandStyle;
use super::path::{Path, Point};
use super::scene::Scene;
use super::theme::Palette;

/// Steps of a marker in a pixel.
pub(super) const STEPS: f64 = 4.0;

/// Whole steps.
pub(super) fn steps(pixels: f64) -> i32 {
    (pixels * STEPS).round() as i32
}

/// Draws a marker of this outline about `at`, `r` pixels from its middle to its edge.
pub(super) fn draw(scene: &mut Scene, outline: Path, at: Point, r: f64, style: HandStyle, palette: &Palette) {
    let casing = palette.casing;
    let line = (0.24 * r).max(1.0);
    scene.stroke(outline.clone(), line + 0.36 * r, casing.at(0.70));
    match style {
        HandStyle::Solid => scene.fill(outline, palette.ink),
        HandStyle::Pierced => {
            scene.fill(outline, palette.ink);
            scene.fill(Path::circle(at, 0.42 * r), casing.at(0.92));
        }
        HandStyle::Planked => {
            scene.fill(outline.clone(), casing.at(0.60));
            for y in [-0.36, 0.0, 0.36].map(|y| at.1 + y * r) {
                let half = 0.50 * r;
                scene.stroke(Path::polyline(&[(at.0 - half, y), (at.0 + half, y)]), 0.17 * r, palette.ink);
            }
            scene.stroke(outline, 0.7 * line, palette.ink);
        }
        // What lies under a hollow marker would look like a part of it.
        HandStyle::Dashed => {
            scene.fill(outline.clone(), casing.at(0.50));
            scene.dashed(outline, line, palette.ink, (0.62 * r, 0.42 * r));
        }
        HandStyle::Hollow => {
            scene.fill(outline.clone(), casing.at(0.50));
            scene.stroke(outline, line, palette.ink);
        }
    }
}

/// A cross as wide and high as this, where nothing is known.
pub(super) fn cross(scene: &mut Scene, (x, y): Point, half: f64, width: f64, palette: &Palette) {
    for (width, colour) in [(2.4 * width, palette.casing.at(0.80)), (width, palette.ink)] {
        for side in [-1.0, 1.0] {
            let ends = [(x - half, y - side * half), (x + half, y + side * half)];
            scene.stroke(Path::polyline(&ends), width, colour);
        }
    }
}

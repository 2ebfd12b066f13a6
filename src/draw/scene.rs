//! What is to be painted, before it is known onto what: outlines and colours in the shown picture's pixels.

use super::path::{Path, Point};
use super::theme::Rgba;

/// What an outline is filled with.
#[derive(Debug, Clone, PartialEq)]
pub enum Paint {
    /// One colour.
    Solid(Rgba),
    /// Rings of colour about a point.
    Radial {
        /// The middle.
        centre: Point,
        /// Where the last stop lies.
        radius: f64,
        /// Fractions of the radius, rising, and their colours.
        stops: Vec<(f32, Rgba)>,
    },
}

/// A line along an outline, with round joins and butt ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Width in pixels, centred on the outline; never drawn thinner than a pixel.
    pub width: f64,
    /// Its colour.
    pub colour: Rgba,
    /// Length of a dash and of the gap after it, in pixels; unbroken without.
    pub dash: Option<(f64, f64)>,
}

/// One outline. The stroke comes first, so that it is a casing under the fill.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// The outline.
    pub path: Path,
    /// The line under the fill.
    pub stroke: Option<Stroke>,
    /// The fill.
    pub fill: Option<Paint>,
}

/// Outlines in painting order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Scene {
    /// The outlines.
    pub items: Vec<Item>,
}

impl Scene {
    /// Fills an outline with one colour.
    pub fn fill(&mut self, path: Path, colour: Rgba) {
        self.items.push(Item { path, stroke: None, fill: Some(Paint::Solid(colour)) });
    }

    /// Fills an outline with rings of colour.
    pub fn radial(&mut self, path: Path, centre: Point, radius: f64, stops: Vec<(f32, Rgba)>) {
        self.items.push(Item { path, stroke: None, fill: Some(Paint::Radial { centre, radius, stops }) });
    }

    /// Draws a line along an outline.
    pub fn stroke(&mut self, path: Path, width: f64, colour: Rgba) {
        self.items.push(Item { path, stroke: Some(Stroke { width, colour, dash: None }), fill: None });
    }

    /// Draws a broken line along an outline.
    pub fn dashed(&mut self, path: Path, width: f64, colour: Rgba, dash: (f64, f64)) {
        self.items.push(Item { path, stroke: Some(Stroke { width, colour, dash: Some(dash) }), fill: None });
    }

    /// Fills an outline over a wider line of another colour.
    pub fn cased(&mut self, path: Path, colour: Rgba, casing_width: f64, casing: Rgba) {
        let stroke = Some(Stroke { width: casing_width, colour: casing, dash: None });
        self.items.push(Item { path, stroke, fill: Some(Paint::Solid(colour)) });
    }

    /// Adds another scene on top.
    pub fn append(&mut self, mut other: Self) {
        self.items.append(&mut other.items);
    }

    /// The same scene elsewhere on the picture, moved by so many pixels to the right and down.
    #[must_use]
    pub fn moved(mut self, dx: f64, dy: f64) -> Self {
        let to = |(x, y): Point| (x + dx, y + dy);
        for item in &mut self.items {
            item.path = item.path.map(to);
            if let Some(Paint::Radial { centre, .. }) = &mut item.fill {
                *centre = to(*centre);
            }
        }
        self
    }
}

//! What is to be painted, before it is known onto what: outlines and colours in the shown picture's pixels.

use std::sync::Arc;

use super::blade::{Blade, Stand};
use super::path::{Path, Point};
use super::sector::Sector;
use super::text::Line;
use super::theme::Rgba;
use super::ticks::Ticks;

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

/// One thing to be painted.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// An outline.
    Outline(Outline),
    /// A hand filled with one colour.
    Hand(Arc<Blade>, Stand, Rgba),
    /// Ticks of one colour.
    Ticks(Ticks, Rgba),
    /// A sector filled with one colour.
    Sector(Sector, Rgba),
    /// A line of text.
    Text(Line),
}

impl Item {
    /// The same as outlines, in painting order.
    pub(super) fn outlines(&self) -> Vec<Outline> {
        let filled = |(path, colour)| Outline::filled(path, colour);
        match self {
            Self::Outline(outline) => vec![outline.clone()],
            Self::Hand(blade, stand, colour) => vec![filled((blade.outline(*stand), *colour))],
            Self::Ticks(ticks, colour) => vec![filled((ticks.outline(), *colour))],
            Self::Sector(sector, colour) => vec![filled((sector.outline(), *colour))],
            Self::Text(line) => line.outlines().into_iter().map(filled).collect(),
        }
    }
}

/// One outline. The stroke comes first, so that it is a casing under the fill.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// The outline.
    pub path: Path,
    /// The line under the fill.
    pub stroke: Option<Stroke>,
    /// The fill.
    pub fill: Option<Paint>,
}

impl Outline {
    /// An outline filled with one colour.
    pub(super) fn filled(path: Path, colour: Rgba) -> Self {
        Self { path, stroke: None, fill: Some(Paint::Solid(colour)) }
    }

    /// The same elsewhere, as [`Scene::moved`].
    fn moved(mut self, to: impl Fn(Point) -> Point, scale: f64) -> Self {
        self.path = self.path.map(&to);
        if let Some(Stroke { width, dash, .. }) = &mut self.stroke {
            *width *= scale;
            *dash = dash.map(|(on, off)| (on * scale, off * scale));
        }
        if let Some(Paint::Radial { centre, radius, .. }) = &mut self.fill {
            *centre = to(*centre);
            *radius *= scale;
        }
        self
    }
}

/// Outlines and texts in painting order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Scene {
    /// The lowest first.
    pub items: Vec<Item>,
}

impl Scene {
    /// Fills an outline with one colour.
    pub fn fill(&mut self, path: Path, colour: Rgba) {
        self.outline(path, None, Some(Paint::Solid(colour)));
    }

    /// Fills a hand with one colour.
    pub(super) fn hand(&mut self, blade: &Arc<Blade>, stand: Stand, colour: Rgba) {
        self.items.push(Item::Hand(Arc::clone(blade), stand, colour));
    }

    /// Fills ticks with one colour.
    pub(super) fn ticks(&mut self, ticks: Ticks, colour: Rgba) {
        self.items.push(Item::Ticks(ticks, colour));
    }

    /// Fills a sector with one colour.
    pub(super) fn sector(&mut self, sector: Sector, colour: Rgba) {
        self.items.push(Item::Sector(sector, colour));
    }

    /// Fills an outline with rings of colour.
    pub fn radial(&mut self, path: Path, centre: Point, radius: f64, stops: Vec<(f32, Rgba)>) {
        self.outline(path, None, Some(Paint::Radial { centre, radius, stops }));
    }

    /// Draws a line along an outline.
    pub fn stroke(&mut self, path: Path, width: f64, colour: Rgba) {
        self.outline(path, Some(Stroke { width, colour, dash: None }), None);
    }

    /// Draws a broken line along an outline.
    pub fn dashed(&mut self, path: Path, width: f64, colour: Rgba, dash: (f64, f64)) {
        self.outline(path, Some(Stroke { width, colour, dash: Some(dash) }), None);
    }

    /// Fills an outline over a wider line of another colour.
    pub fn cased(&mut self, path: Path, colour: Rgba, casing_width: f64, casing: Rgba) {
        let stroke = Some(Stroke { width: casing_width, colour: casing, dash: None });
        self.outline(path, stroke, Some(Paint::Solid(colour)));
    }

    /// Sets a line of text.
    pub(super) fn text(&mut self, line: Line) {
        self.items.push(Item::Text(line));
    }

    fn outline(&mut self, path: Path, stroke: Option<Stroke>, fill: Option<Paint>) {
        self.items.push(Item::Outline(Outline { path, stroke, fill }));
    }

    /// Adds another scene on top.
    pub fn append(&mut self, mut other: Self) {
        self.items.append(&mut other.items);
    }

    /// The same scene elsewhere: every point moved by a rule that keeps lines straight, and every width, radius and letter
    /// `scale` times as large.
    #[must_use]
    pub fn moved(self, to: impl Fn(Point) -> Point, scale: f64) -> Self {
        let mut moved = Self::default();
        for item in self.items {
            if let Item::Text(mut line) = item {
                line.moved(&to, scale);
                moved.text(line);
            } else {
                let outlines = item.outlines().into_iter().map(|outline| outline.moved(&to, scale));
                moved.items.extend(outlines.map(Item::Outline));
            }
        }
        moved
    }
}

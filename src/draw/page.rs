//! Pages: letters set from a side, boxes, and numbers for axes.

use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::text::{Run, Setting, Weight};
use super::theme::Rgba;
use super::typeface::Typeface;

/// From which side a text is placed.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Left,
    Middle,
    Right,
}

/// A line of text: its face, weight, colour and size in pixels.
#[derive(Clone, Copy)]
pub(super) struct Hand {
    pub typeface: Typeface,
    pub weight: Weight,
    pub colour: Rgba,
    pub em: f64,
}

impl Hand {
    /// Writes a line about a height, cut off with an ellipsis where it has no room.
    pub fn write(self, scene: &mut Scene, text: &str, at: Point, side: Side, room: f64) {
        let Self { weight, colour, .. } = self;
        let setting = Setting::em(self.typeface, self.em);
        let (mut shown, mut end) = (text.to_owned(), text.len());
        while setting.width(&[Run { text: &shown, weight, colour }]) > room {
            let Some(cut) = text[..end].char_indices().next_back() else { return };
            end = cut.0;
            shown = format!("{}\u{2026}", text[..end].trim_end());
        }
        let run = [Run { text: &shown, weight, colour }];
        let half = setting.width(&run) / 2.0;
        let x = match side {
            Side::Left => at.0 + half,
            Side::Middle => at.0,
            Side::Right => at.0 - half,
        };
        setting.draw(scene, &run, (x, at.1), None);
    }
}

/// A box by its sides.
pub(super) fn box_of(left: f64, top: f64, right: f64, bottom: f64) -> Path {
    Path::rounded(Rect { left, top, right, bottom }, 0.0)
}

/// A round step, 1, 2 or 5 of a decade, that makes at most so many parts.
pub(super) fn round_step(span: f64, most: f64) -> f64 {
    let least = (span / most).max(1e-12);
    let decade = 10f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|n| n * decade).find(|s| *s >= least * (1.0 - 1e-9)).unwrap_or(decade * 10.0)
}

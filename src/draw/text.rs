//! Lines of text: how wide they are, where their letters stand, and their outlines.
//!
//! Text is placed by the middle of its capitals: baseline = centre + 0.375 em, since a capital is 0.750 em high.

use super::path::{Path, Point};
use super::scene::Scene;
use super::theme::Rgba;
use super::typeface::{FontRef, Typeface};

/// Height of a capital letter and of a figure, in em.
pub(super) const CAPITAL: f64 = 0.750;

/// Weight of a run of text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Weight {
    /// Units, notice.
    Regular,
    /// Values, numerals, names.
    Bold,
}

/// Some text in one weight and colour.
#[derive(Debug, Clone, Copy)]
pub(super) struct Run<'a> {
    pub text: &'a str,
    pub weight: Weight,
    pub colour: Rgba,
}

/// The dark edge under text.
#[derive(Debug, Clone, Copy)]
pub(super) struct Casing {
    pub width: CasingWidth,
    pub colour: Rgba,
}

/// Widths of the edge under text, in em; half of it shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum CasingWidth {
    /// .13, on a disc or a plate.
    Plain,
    /// .17, where a hand can pass under the text.
    Passed,
    /// .26, bare on the film.
    Bare,
}

impl CasingWidth {
    pub const fn em(self) -> f64 {
        match self {
            Self::Plain => 0.13,
            Self::Passed => 0.17,
            Self::Bare => 0.26,
        }
    }
}

/// How a line is set: typeface, size, and the gaps between runs and between letters, in em.
#[derive(Debug, Clone, Copy)]
pub(super) struct Setting {
    pub typeface: Typeface,
    /// Size in pixels.
    pub em: f64,
    /// Between two runs.
    pub run_gap: f64,
    /// Added after every letter.
    pub letter_gap: f64,
}

impl Setting {
    /// Plain setting of this size in pixels.
    pub const fn em(typeface: Typeface, em: f64) -> Self {
        Self { typeface, em, run_gap: 0.38, letter_gap: 0.0 }
    }

    /// Width of a line in pixels.
    pub fn width(self, runs: &[Run<'_>]) -> f64 {
        let letters = runs.iter().flat_map(|run| self.steps(*run).map(|(_, kerning, advance)| kerning + advance));
        let (count, sum) = letters.fold((0usize, 0.0), |(n, sum), step| (n + 1, sum + step));
        let gaps =
            self.run_gap * runs.len().saturating_sub(1) as f64 + self.letter_gap * count.saturating_sub(1) as f64;
        self.em * (sum + gaps)
    }

    /// The letters of a run, each with its kerning before it and its advance, in em.
    fn steps<'a>(self, run: Run<'a>) -> impl Iterator<Item = (char, f64, f64)> + use<'a> {
        let font = self.typeface.font(run.weight);
        let mut before = None;
        run.text.chars().map(move |letter| {
            let kerning = before.replace(letter).map_or(0.0, |before| font.kerning(before, letter));
            (letter, kerning, font.glyph(letter).advance)
        })
    }

    /// The same setting, smaller where the line would be wider than `room` pixels.
    #[must_use]
    pub fn fitted(self, runs: &[Run<'_>], room: f64) -> Self {
        let width = self.width(runs);
        if width > room { Self { em: self.em * (room / width).max(0.0), ..self } } else { self }
    }

    /// The same setting, but no smaller than this.
    #[must_use]
    pub fn at_least(self, em: f64) -> Self {
        Self { em: self.em.max(em), ..self }
    }

    /// Sets a line about `centre`, the middle of its width and of its capitals.
    pub fn draw(self, scene: &mut Scene, runs: &[Run<'_>], centre: Point, casing: Option<Casing>) {
        let baseline = centre.1 + CAPITAL / 2.0 * self.em;
        let mut x = centre.0 - self.width(runs) / 2.0;
        let mut letters = Vec::with_capacity(runs.iter().map(|run| run.text.len()).sum());
        for &run in runs {
            let font = self.typeface.font(run.weight);
            for (letter, kerning, advance) in self.steps(run) {
                x += kerning * self.em;
                letters.push(Letter { letter, font, colour: run.colour, at: (x, baseline) });
                x += (advance + self.letter_gap) * self.em;
            }
            x += (self.run_gap - self.letter_gap) * self.em;
        }
        scene.text(Line { letters, em: self.em, casing: casing.map(|c| (c.width, c.colour)) });
    }
}

/// One line of text, letter by letter.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The letters.
    pub(super) letters: Vec<Letter>,
    /// Size in pixels.
    pub(super) em: f64,
    /// The edge under all of them.
    pub(super) casing: Option<(CasingWidth, Rgba)>,
}

/// One letter of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Letter {
    letter: char,
    font: FontRef,
    /// Its colour.
    pub colour: Rgba,
    /// Where its baseline starts, in pixels.
    pub at: Point,
}

/// Names an outline about the baseline's start: a letter, or the edge under it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Outline {
    letter: char,
    font: FontRef,
    casing: Option<CasingWidth>,
}

impl Outline {
    pub const fn letter(of: &Letter) -> Self {
        Self { letter: of.letter, font: of.font, casing: None }
    }

    pub const fn casing(of: &Letter, width: CasingWidth) -> Self {
        Self { letter: of.letter, font: of.font, casing: Some(width) }
    }

    /// The outline in em, y down.
    pub fn path(self) -> Path {
        let glyph = self.font.glyph(self.letter);
        self.casing.map_or(&glyph.outline, |width| glyph.edge(width)).clone()
    }
}

impl Line {
    /// The line as outlines, in painting order: the casing, then each stretch of one colour.
    pub(super) fn outlines(&self) -> Vec<(Path, Rgba)> {
        let set = |outline: Outline, at: Point| outline.path().map(|p| (at.0 + p.0 * self.em, at.1 + p.1 * self.em));
        let mut painted: Vec<(Path, Rgba)> = Vec::new();
        if let Some((width, colour)) = self.casing {
            let mut edge = Path::default();
            self.letters.iter().for_each(|letter| edge.append(set(Outline::casing(letter, width), letter.at)));
            painted.push((edge, colour));
        }
        for run in self.letters.chunk_by(|a, b| a.colour == b.colour) {
            let mut outline = Path::default();
            run.iter().for_each(|letter| outline.append(set(Outline::letter(letter), letter.at)));
            painted.push((outline, run[0].colour));
        }
        painted
    }

    /// Moves the line, and makes it `scale` times as large.
    pub(super) fn moved(&mut self, to: impl Fn(Point) -> Point, scale: f64) {
        self.letters.iter_mut().for_each(|letter| letter.at = to(letter.at));
        self.em *= scale;
    }

    /// What it says, a blank between two runs.
    pub(super) fn text(&self) -> String {
        let near = |a: &Letter, b: &Letter| b.at.0 - a.at.0 < (a.font.glyph(a.letter).advance + 0.2) * self.em;
        let runs = self.letters.chunk_by(near);
        let words = runs.map(|run| run.iter().map(|letter| letter.letter).collect::<String>());
        words.collect::<Vec<_>>().join(" ")
    }

    /// The corners of a box that holds it, casing and accents included.
    pub(super) fn corners(&self) -> Vec<Point> {
        let (Some(first), Some(last)) = (self.letters.first(), self.letters.last()) else { return Vec::new() };
        let along = |share: f64| share * self.em;
        let end = last.at.0 + along(last.font.glyph(last.letter).advance);
        let (left, right) = (first.at.0 - along(0.20), end + along(0.20));
        let (top, foot) = (first.at.1 - along(1.10), first.at.1 + along(0.40));
        vec![(left, top), (right, top), (right, foot), (left, foot)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::typeface::Glyph;
    use std::sync::Arc;

    fn bold(c: char) -> Arc<Glyph> {
        Typeface::B612.font(Weight::Bold).glyph(c)
    }

    fn height(c: char) -> (f64, f64) {
        let glyph = bold(c);
        glyph.outline.points().fold((f64::MAX, f64::MIN), |(low, high), p| (low.min(p.1), high.max(p.1)))
    }

    /// Heights of the same outlines as FreeType draws them at 2000 pixels an em (ImageMagick, `-pointsize 2000 -trim`).
    #[test]
    fn outlines_are_as_high_as_freetype_draws_them() {
        for (c, pixels) in [('H', 1527.0), ('5', 1500.0), ('8', 1534.0), ('x', 1124.0)] {
            let (top, foot) = height(c);
            assert!(((foot - top) - pixels / 2000.0).abs() < 1e-3, "{c}: {top} {foot}");
        }
        assert!((height('5').0 + CAPITAL).abs() < 0.01, "figures stand on the baseline and reach the capital height");
    }

    #[test]
    fn figures_never_jitter() {
        for c in '0'..='9' {
            assert!((bold(c).advance - 0.650).abs() < 1e-3, "{c}");
        }
    }

    #[test]
    fn a_missing_letter_is_seen() {
        assert_eq!(Typeface::B612.missing_glyphs("kt °C ≤≥\u{2212} ДЖ"), vec!['Д', 'Ж'], "B612 has no Cyrillic");
        assert!(!bold('Д').outline.segments.is_empty());
        assert!(bold(' ').outline.segments.is_empty());
    }

    #[test]
    fn a_line_is_as_wide_as_its_letters() {
        let colour = Rgba::opaque(0);
        let runs = [Run { text: "118", weight: Weight::Bold, colour }];
        assert!((Setting::em(Typeface::B612, 100.0).width(&runs) - 195.0).abs() < 0.1);
        assert!((Setting::em(Typeface::B612, 100.0).fitted(&runs, 97.5).em - 50.0).abs() < 0.1);
    }
}

//! Text as outlines, in B612: a typeface drawn for cockpit screens, every figure equally wide.
//!
//! Text is placed by the middle of its capitals: baseline = centre + 0.375 em, since a capital is 0.750 em high.

use std::collections::HashMap;
use std::sync::{Arc, LazyLock, OnceLock, PoisonError, RwLock};

use rusttype::{Font, GlyphId, OutlineBuilder, Scale};

use super::path::{Path, Point, Rect, Segment};
use super::raster::outline_of_stroke;
use super::scene::Scene;
use super::theme::Rgba;

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
    const fn em(self) -> f64 {
        match self {
            Self::Plain => 0.13,
            Self::Passed => 0.17,
            Self::Bare => 0.26,
        }
    }
}

/// How a line is set: size and the gaps between runs and between letters, in em.
#[derive(Debug, Clone, Copy)]
pub(super) struct Setting {
    /// Size in pixels.
    pub em: f64,
    /// Between two runs.
    pub run_gap: f64,
    /// Added after every letter.
    pub letter_gap: f64,
}

impl Setting {
    /// Plain setting of this size in pixels.
    pub const fn em(em: f64) -> Self {
        Self { em, run_gap: 0.38, letter_gap: 0.0 }
    }

    /// Width of a line in pixels.
    pub fn width(self, runs: &[Run<'_>]) -> f64 {
        let letters = runs.iter().flat_map(|run| run.text.chars().map(|c| glyph(run.weight, c).advance));
        let (count, sum) = letters.fold((0usize, 0.0), |(n, sum), advance| (n + 1, sum + advance));
        let gaps =
            self.run_gap * runs.len().saturating_sub(1) as f64 + self.letter_gap * count.saturating_sub(1) as f64;
        self.em * (sum + gaps)
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
        for &Run { text, weight, colour } in runs {
            for letter in text.chars() {
                letters.push(Letter { letter, weight, colour, at: (x, baseline) });
                x += (glyph(weight, letter).advance + self.letter_gap) * self.em;
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
    weight: Weight,
    /// Its colour.
    pub colour: Rgba,
    /// Where its baseline starts, in pixels.
    pub at: Point,
}

/// Names an outline about the baseline's start: a letter, or the edge under it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Outline {
    letter: char,
    weight: Weight,
    casing: Option<CasingWidth>,
}

impl Outline {
    pub const fn letter(of: &Letter) -> Self {
        Self { letter: of.letter, weight: of.weight, casing: None }
    }

    pub const fn casing(of: &Letter, width: CasingWidth) -> Self {
        Self { letter: of.letter, weight: of.weight, casing: Some(width) }
    }

    /// The outline in em, y down.
    pub fn path(self) -> Path {
        let glyph = glyph(self.weight, self.letter);
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

    /// The corners of a box that holds it, casing and accents included.
    pub(super) fn corners(&self) -> Vec<Point> {
        let (Some(first), Some(last)) = (self.letters.first(), self.letters.last()) else { return Vec::new() };
        let along = |share: f64| share * self.em;
        let end = last.at.0 + along(glyph(last.weight, last.letter).advance);
        let (left, right) = (first.at.0 - along(0.20), end + along(0.20));
        let (top, foot) = (first.at.1 - along(1.10), first.at.1 + along(0.40));
        vec![(left, top), (right, top), (right, foot), (left, foot)]
    }
}

/// The characters of a text that the typeface lacks. They are drawn as an empty box, never left out.
pub fn missing_glyphs(text: &str) -> Vec<char> {
    text.chars().filter(|&c| [Weight::Regular, Weight::Bold].into_iter().any(|w| glyph(w, c).missing)).collect()
}

/// One letter: its outline in em about the baseline's start, y down.
struct Glyph {
    advance: f64,
    outline: Path,
    missing: bool,
    /// The edge under it, by width, worked out when first needed.
    edges: [OnceLock<Path>; 3],
}

impl Glyph {
    fn new(advance: f64, outline: Path, missing: bool) -> Self {
        Self { advance, outline, missing, edges: Default::default() }
    }

    fn edge(&self, width: CasingWidth) -> &Path {
        // As large as letters ever are on a frame, so that the edge's curves are fine enough.
        const SCALE: f64 = 128.0;
        self.edges[width as usize].get_or_init(|| {
            let large = self.outline.map(|p| (p.0 * SCALE, p.1 * SCALE));
            outline_of_stroke(&large, width.em() * SCALE).map(|p| (p.0 / SCALE, p.1 / SCALE))
        })
    }
}

struct Typeface {
    font: Option<Font<'static>>,
    glyphs: RwLock<HashMap<char, Arc<Glyph>>>,
}

static REGULAR: LazyLock<Typeface> = LazyLock::new(|| Typeface::new(include_bytes!("../../fonts/B612-Regular.otf")));
static BOLD: LazyLock<Typeface> = LazyLock::new(|| Typeface::new(include_bytes!("../../fonts/B612-Bold.otf")));

fn glyph(weight: Weight, c: char) -> Arc<Glyph> {
    match weight {
        Weight::Regular => &REGULAR,
        Weight::Bold => &BOLD,
    }
    .glyph(c)
}

impl Typeface {
    fn new(bytes: &'static [u8]) -> Self {
        Self { font: Font::try_from_bytes(bytes), glyphs: RwLock::default() }
    }

    fn glyph(&self, c: char) -> Arc<Glyph> {
        if let Some(glyph) = self.glyphs.read().unwrap_or_else(PoisonError::into_inner).get(&c) {
            return Arc::clone(glyph);
        }
        let glyph = Arc::new(self.outline(c));
        self.glyphs.write().unwrap_or_else(PoisonError::into_inner).insert(c, Arc::clone(&glyph));
        glyph
    }

    fn outline(&self, c: char) -> Glyph {
        // rusttype's scale is ascent minus descent, not the em; one font unit is outlined as one pixel.
        let found = self.font.as_ref().map(|font| {
            let metrics = font.v_metrics_unscaled();
            let scale = Scale::uniform(metrics.ascent - metrics.descent);
            (font.glyph(c), scale, 1.0 / f64::from(font.units_per_em()))
        });
        match found {
            Some((glyph, scale, em)) if glyph.id() != GlyphId(0) => {
                let glyph = glyph.scaled(scale);
                let mut pen = Pen { path: Path::default(), em };
                // Without an outline it is a space.
                glyph.build_outline(&mut pen);
                Glyph::new(f64::from(glyph.h_metrics().advance_width) * em, pen.path, false)
            }
            _ => Glyph::new(0.65, empty_box(), true),
        }
    }
}

/// What stands for a letter that the typeface lacks.
fn empty_box() -> Path {
    let outer = Rect { left: 0.07, top: -CAPITAL, right: 0.58, bottom: 0.0 };
    let inner = outer.grown(-0.08);
    let mut path = Path::polygon(&[
        (outer.left, outer.top),
        (outer.right, outer.top),
        (outer.right, outer.bottom),
        (outer.left, outer.bottom),
    ]);
    // Run the other way round, so that the non-zero rule leaves the middle open.
    path.append(Path::polygon(&[
        (inner.left, inner.top),
        (inner.left, inner.bottom),
        (inner.right, inner.bottom),
        (inner.right, inner.top),
    ]));
    path
}

/// Takes a glyph's outline down in em.
struct Pen {
    path: Path,
    em: f64,
}

impl Pen {
    fn at(&self, x: f32, y: f32) -> Point {
        (f64::from(x) * self.em, f64::from(y) * self.em)
    }
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.path.segments.push(Segment::Move(self.at(x, y)));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.path.segments.push(Segment::Line(self.at(x, y)));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.path.segments.push(Segment::Quad(self.at(x1, y1), self.at(x, y)));
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.path.segments.push(Segment::Cubic(self.at(x1, y1), self.at(x2, y2), self.at(x, y)));
    }

    fn close(&mut self) {
        self.path.segments.push(Segment::Close);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn height(c: char) -> (f64, f64) {
        let glyph = glyph(Weight::Bold, c);
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
            assert!((glyph(Weight::Bold, c).advance - 0.650).abs() < 1e-3, "{c}");
        }
    }

    #[test]
    fn a_missing_letter_is_seen() {
        assert_eq!(missing_glyphs("kt °C ≤≥\u{2212} ДЖ"), vec!['Д', 'Ж'], "B612 has no Cyrillic");
        assert!(!glyph(Weight::Bold, 'Д').outline.segments.is_empty());
        assert!(glyph(Weight::Bold, ' ').outline.segments.is_empty());
    }

    #[test]
    fn a_line_is_as_wide_as_its_letters() {
        let colour = Rgba::opaque(0);
        let runs = [Run { text: "118", weight: Weight::Bold, colour }];
        assert!((Setting::em(100.0).width(&runs) - 195.0).abs() < 0.1);
        assert!((Setting::em(100.0).fitted(&runs, 97.5).em - 50.0).abs() < 0.1);
    }
}

//! Typefaces: B612, drawn for cockpit screens, every figure equally wide; and in its place an owner's own.
//!
//! A typeface once taken is kept for the life of the process, the same bytes once only: letters' outlines and masks are kept
//! by it, and a handle that can be copied stands in every palette.

use std::collections::BTreeMap;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::sync::{Arc, Mutex, OnceLock, PoisonError, RwLock};

use rusttype::{GlyphId, OutlineBuilder, Scale};

use super::path::{Path, Point, Rect, Segment};
use super::raster::outline_of_stroke;
use super::text::{CAPITAL, CasingWidth, Weight};

/// Why a file's bytes are no font to draw with.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FontError {
    /// They are something else.
    #[error("is not a TrueType or OpenType font")]
    NotAFont,
    /// Values would jump to and fro while they change.
    #[error("has figures of different widths: `{narrow}` advances {narrow_em:.3} em, `{wide}` {wide_em:.3} em")]
    Figures {
        /// The narrowest figure.
        narrow: char,
        /// How far it advances, in em.
        narrow_em: f64,
        /// The widest.
        wide: char,
        /// How far that one advances, in em.
        wide_em: f64,
    },
}

/// A regular and a bold font that belong together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Typeface {
    regular: FontRef,
    bold: FontRef,
}

static REGULAR: Font = Font::new(Bytes::House(include_bytes!("../../fonts/B612-Regular.otf")), None);
static BOLD: Font = Font::new(Bytes::House(include_bytes!("../../fonts/B612-Bold.otf")), None);

impl Typeface {
    /// The house's own.
    pub const B612: Self = Self { regular: FontRef(&REGULAR), bold: FontRef(&BOLD) };

    /// An owner's, from the bytes of its files; without a bold font the regular one does both.
    ///
    /// It is set so large that its capitals are as high as B612's, and a character that it lacks is taken from there.
    ///
    /// # Errors
    /// Bytes that are no font, and figures that do not advance by one width.
    pub fn new(regular: Vec<u8>, bold: Option<Vec<u8>>) -> Result<Self, FontError> {
        let bold = bold.unwrap_or_else(|| regular.clone());
        Ok(Self { regular: FontRef::keep(regular, &REGULAR)?, bold: FontRef::keep(bold, &BOLD)? })
    }

    pub(super) const fn font(self, weight: Weight) -> FontRef {
        match weight {
            Weight::Regular => self.regular,
            Weight::Bold => self.bold,
        }
    }

    /// The characters of a text that the typeface, and B612 behind it, lack. They are drawn as an empty box, never left out.
    pub fn missing_glyphs(self, text: &str) -> Vec<char> {
        text.chars().filter(|&c| [self.regular, self.bold].into_iter().any(|font| font.glyph(c).missing)).collect()
    }
}

impl Default for Typeface {
    fn default() -> Self {
        Self::B612
    }
}

/// One font of the process. Fonts are the same if they are one and the same.
#[derive(Clone, Copy)]
pub(super) struct FontRef(&'static Font);

impl FontRef {
    /// Takes an owner's font in, once only.
    fn keep(bytes: Vec<u8>, house: &'static Font) -> Result<Self, FontError> {
        static KEPT: Mutex<Vec<&'static Font>> = Mutex::new(Vec::new());
        let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
        let same = |font: &&&Font| font.bytes.get() == bytes && font.house.is_some_and(|h| std::ptr::eq(h, house));
        if let Some(font) = kept.iter().find(same) {
            return Ok(Self(font));
        }
        let font = Font::new(Bytes::Owners(bytes), Some(house));
        font.check()?;
        let font: &'static Font = Box::leak(Box::new(font));
        kept.push(font);
        Ok(Self(font))
    }

    pub fn glyph(self, c: char) -> Arc<Glyph> {
        self.0.glyph(c)
    }

    /// How much nearer the second letter stands, in em. Beside a figure nothing moves: values keep their columns.
    pub fn kerning(self, first: char, second: char) -> f64 {
        match self.0.opened() {
            Some(opened) if opened.kerned && !first.is_numeric() && !second.is_numeric() => {
                f64::from(opened.font.pair_kerning(opened.scale, first, second)) * opened.em
            }
            _ => 0.0,
        }
    }
}

impl PartialEq for FontRef {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.0, other.0)
    }
}

impl Eq for FontRef {}

impl Hash for FontRef {
    fn hash<H: Hasher>(&self, state: &mut H) {
        std::ptr::hash(self.0, state);
    }
}

impl fmt::Debug for FontRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "font of {} bytes", self.0.bytes.get().len())
    }
}

/// One letter: its outline in em about the baseline's start, y down.
pub(super) struct Glyph {
    pub advance: f64,
    pub outline: Path,
    missing: bool,
    /// The edge under it, by width, worked out when first needed.
    edges: [OnceLock<Path>; 3],
}

impl Glyph {
    fn new(advance: f64, outline: Path, missing: bool) -> Self {
        Self { advance, outline, missing, edges: Default::default() }
    }

    pub fn edge(&self, width: CasingWidth) -> &Path {
        // As large as letters ever are on a frame, so that the edge's curves are fine enough.
        const SCALE: f64 = 128.0;
        self.edges[width as usize].get_or_init(|| {
            let large = self.outline.map(|p| (p.0 * SCALE, p.1 * SCALE));
            outline_of_stroke(&large, width.em() * SCALE).map(|p| (p.0 / SCALE, p.1 / SCALE))
        })
    }
}

enum Bytes {
    House(&'static [u8]),
    Owners(Vec<u8>),
}

impl Bytes {
    fn get(&self) -> &[u8] {
        match self {
            Self::House(bytes) => bytes,
            Self::Owners(bytes) => bytes,
        }
    }
}

/// A font and the letters that were asked of it so far.
struct Font {
    bytes: Bytes,
    /// Where what it lacks is taken from.
    house: Option<&'static Font>,
    opened: OnceLock<Option<Opened>>,
    glyphs: RwLock<BTreeMap<char, Arc<Glyph>>>,
}

struct Opened {
    font: rusttype::Font<'static>,
    scale: Scale,
    /// From outlined pixels to our em.
    em: f64,
    /// Whether it has a table `kern`.
    kerned: bool,
}

impl Font {
    const fn new(bytes: Bytes, house: Option<&'static Font>) -> Self {
        Self { bytes, house, opened: OnceLock::new(), glyphs: RwLock::new(BTreeMap::new()) }
    }

    fn opened(&self) -> Option<&Opened> {
        let open = || {
            let font = match &self.bytes {
                Bytes::House(bytes) => rusttype::Font::try_from_bytes(bytes),
                Bytes::Owners(bytes) => rusttype::Font::try_from_vec(bytes.clone()),
            }?;
            // rusttype's scale is ascent minus descent, not the em; one font unit is outlined as one pixel.
            let metrics = font.v_metrics_unscaled();
            let scale = Scale::uniform(metrics.ascent - metrics.descent);
            let em = 1.0 / f64::from(font.units_per_em());
            let kerned = has_table(self.bytes.get(), b"kern");
            let opened = Opened { font, scale, em, kerned };
            let Some(house) = self.house else { return Some(opened) };
            let factor = match (house.opened().and_then(Opened::capital), opened.capital()) {
                (Some(house), Some(own)) => house / own,
                _ => 1.0,
            };
            Some(Opened { em: em * factor, ..opened })
        };
        self.opened.get_or_init(open).as_ref()
    }

    /// Whether values can be written with it.
    fn check(&self) -> Result<(), FontError> {
        self.opened().ok_or(FontError::NotAFont)?;
        let mut figures: Vec<(char, f64)> = ('0'..='9').map(|c| (c, self.glyph(c).advance)).collect();
        figures.sort_by(|a, b| a.1.total_cmp(&b.1));
        match figures[..] {
            // Font units are whole numbers: a unit of a thousand to the em is a rounding, not another width.
            [(narrow, narrow_em), .., (wide, wide_em)] if wide_em - narrow_em > 0.0015 => {
                Err(FontError::Figures { narrow, narrow_em, wide, wide_em })
            }
            _ => Ok(()),
        }
    }

    fn glyph(&self, c: char) -> Arc<Glyph> {
        if let Some(glyph) = self.glyphs.read().unwrap_or_else(PoisonError::into_inner).get(&c) {
            return Arc::clone(glyph);
        }
        let own = self.opened().and_then(|opened| opened.glyph(c));
        let glyph = match (own, self.house) {
            (Some(glyph), _) => Arc::new(glyph),
            (None, Some(house)) => house.glyph(c),
            (None, None) => Arc::new(Glyph::new(0.65, empty_box(), true)),
        };
        self.glyphs.write().unwrap_or_else(PoisonError::into_inner).insert(c, Arc::clone(&glyph));
        glyph
    }
}

impl Opened {
    /// A letter, if the font has it.
    fn glyph(&self, c: char) -> Option<Glyph> {
        let glyph = self.font.glyph(c);
        if glyph.id() == GlyphId(0) {
            return None;
        }
        let glyph = glyph.scaled(self.scale);
        let mut pen = Pen { path: Path::default(), em: self.em };
        // Without an outline it is a space.
        glyph.build_outline(&mut pen);
        Some(Glyph::new(f64::from(glyph.h_metrics().advance_width) * self.em, pen.path, false))
    }

    /// Height of a capital in em.
    fn capital(&self) -> Option<f64> {
        let top = self.glyph('H')?.outline.points().fold(0.0, |top, p| f64::min(top, p.1));
        (top < 0.0).then_some(-top)
    }
}

/// Whether the directory of a font's tables names this one (OpenType specification, "Table directory").
fn has_table(bytes: &[u8], tag: &[u8; 4]) -> bool {
    let count = bytes.get(4..6).map_or(0, |n| usize::from(u16::from_be_bytes([n[0], n[1]])));
    bytes.get(12..).unwrap_or_default().chunks_exact(16).take(count).any(|entry| entry.starts_with(tag))
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

    #[test]
    fn the_house_font_has_no_kern_table() {
        for font in [&REGULAR, &BOLD] {
            let tables = [b"CFF ", b"GPOS", b"kern"].map(|tag| has_table(font.bytes.get(), tag));
            assert_eq!(tables, [true, true, false], "its pairs are in GPOS alone, which is not read");
        }
        assert_eq!(Typeface::B612.font(Weight::Bold).kerning('A', 'V'), 0.0);
    }

    #[test]
    fn an_owners_capitals_are_as_high_as_the_house_has_them_and_its_bytes_are_kept_once() {
        let boxes = || Typeface::new(include_bytes!("../../tests/fonts/boxes.ttf").to_vec(), None).unwrap();
        let height = |typeface: Typeface| typeface.font(Weight::Bold).0.opened().and_then(Opened::capital).unwrap();
        assert!((height(boxes()) - height(Typeface::B612)).abs() < 1e-6);
        assert_eq!(boxes(), boxes());
        assert!(boxes().font(Weight::Bold).kerning('A', 'V') < -0.1);
    }
}

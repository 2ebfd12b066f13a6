//! The banner: under the notice, in words, the limits of the owner's that are passed; at most two, the worst on top.
//!
//! The plate has the shape of its severity, as lamps have, and the `calc` tab at its end: no lamp said so. What and for how
//! long are bold; the limit between them is not. The time is always `for` so long with its units, since a bare 2:40 beside a
//! fuel value would be read as endurance. A line whose data ended has the dashed frame of a stale lamp, its age, and no number.
//! Its place is kept clear whether or not a limit is passed.

use crate::panel::Panel;
use crate::readout::{BannerLine, InstrumentState, PanelState};

use super::face::{Face, Ground};
use super::lamp::{self, Shape};
use super::lamp_row::shape;
use super::marks;
use super::part::{Part, StateKey};
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::SMALLEST_EM;
use super::text::{Run, Weight};
use super::theme::{Palette, Rgba};

/// Em of what and how long, and of the limit between them, in modules.
pub(super) const BOLD: f64 = 0.0270;
const LIMIT: f64 = 0.0220;
/// Height of a plate, and from plate to plate, over the bold em.
const HEIGHT: f64 = 2.0;
const PITCH: f64 = 2.44;
/// Upper edge of the first plate from the top, in modules, and how far it keeps from the notice.
const TOP: f64 = 0.047;
const CLEAR: f64 = 0.007;
/// Between two parts of the line, and before the tab, over the bold em.
const GAP: f64 = 0.96;
const TAB_GAP: f64 = 0.45;
/// From the text to the plate's end, over its height.
const SIDE: f64 = 0.62;
/// Widest plate in modules, and what stays free beside it.
const WIDEST: f64 = 0.95;
const EDGE: f64 = 0.022;
/// Em of the tab and its frame's line, in modules.
const TAB: f64 = 0.0150;
const TAB_LINE: f64 = 0.0013;

/// The banner in its place.
#[derive(Debug, Clone)]
pub(super) struct BannerFace {
    /// All that it may cover.
    rect: Rect,
    /// The bold em in pixels.
    em: f64,
    m: f64,
    palette: &'static Palette,
}

/// A line as it is set: ems of bold and of plain text, its parts with their widths, and the width of all of it.
struct Line<'a> {
    bold: f64,
    plain: f64,
    parts: Vec<(&'a str, bool, f64)>,
    tab: f64,
    width: f64,
}

impl BannerFace {
    /// Under a notice that ends at `notice_px`, on a shown picture of this width; none for a panel without a banner.
    pub fn new(panel: &Panel, width: f64, notice_px: f64, m: f64, palette: &'static Palette) -> Option<Self> {
        let least = panel.banner?.least;
        let lines = panel.limits.iter().filter(|limit| limit.severity <= least).count().min(BannerLine::MOST);
        let last = lines.checked_sub(1)? as f64;
        let em = (BOLD * m).max(SMALLEST_EM);
        let wide = (WIDEST * em / BOLD).min(width - 2.0 * EDGE * m);
        let top = (TOP * m).max(notice_px + CLEAR * m);
        let (left, bottom) = ((width - wide) / 2.0, top + (HEIGHT + PITCH * last) * em);
        Some(Self { rect: Rect { left, top, right: left + wide, bottom }, em, m, palette })
    }

    fn spot(&self, row: u8) -> Spot {
        let y = self.rect.top + (HEIGHT / 2.0 + PITCH * f64::from(row)) * self.em;
        let middle = ((self.rect.left + self.rect.right) / 2.0, y);
        Spot { middle, em: self.em, room: self.rect.right - self.rect.left, m: self.m }
    }
}

/// Where a line stands and how large it is, in pixels.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot {
    /// The middle of the plate.
    pub middle: Point,
    /// The bold em.
    pub em: f64,
    /// The widest plate.
    pub room: f64,
    pub m: f64,
}

impl Spot {
    /// The line in ems `scale` times as large, as far as they can be read; with its limit or without.
    fn set<'a>(self, texts: &'a [String; 3], scale: f64, with_limit: bool, palette: &Palette) -> Line<'a> {
        let bold = (self.em * scale).max(SMALLEST_EM);
        let plain = (self.em * scale * LIMIT / BOLD).max(SMALLEST_EM);
        let shown = texts.iter().enumerate().filter(|(i, text)| !text.is_empty() && (with_limit || *i != 1));
        let parts: Vec<(&str, bool, f64)> = shown
            .map(|(i, text)| {
                let is_bold = i != 1;
                let run = [run(text, is_bold, Rgba::opaque(0))];
                (&**text, is_bold, palette.setting(if is_bold { bold } else { plain }).width(&run))
            })
            .collect();
        let tab = lamp::tab_width(TAB * self.m * scale, palette);
        let gaps = GAP * bold * parts.len().saturating_sub(1) as f64 + TAB_GAP * bold;
        let text: f64 = parts.iter().map(|part| part.2).sum();
        let width = text + gaps + tab + 2.0 * SIDE * HEIGHT * self.em;
        Line { bold, plain, parts, tab, width }
    }

    /// The line as large as the plate has room for; one that is too long even so first loses its limit.
    fn fitted<'a>(self, texts: &'a [String; 3], palette: &Palette) -> Line<'a> {
        let fit = |with_limit| {
            let full = self.set(texts, 1.0, with_limit, palette);
            let sides = 2.0 * SIDE * HEIGHT * self.em;
            let share = (self.room - sides) / (full.width - sides);
            if share >= 1.0 { full } else { self.set(texts, share, with_limit, palette) }
        };
        let whole = fit(true);
        if whole.width <= self.room * 1.001 { whole } else { fit(false) }
    }
}

/// The shape and the texts of a line.
pub(super) fn words(line: &BannerLine) -> (Shape, [String; 3]) {
    let shape = if line.now { shape(line.severity) } else { Shape::Stale };
    (shape, [line.what.clone(), line.beyond.clone(), line.time.clone()])
}

/// Draws one line.
pub(super) fn draw(scene: &mut Scene, of: Shape, texts: &[String; 3], spot: Spot, palette: &Palette) {
    let line = spot.fitted(texts, palette);
    let (colour, casing) = match of {
        Shape::Warning => (palette.warning_text, None),
        Shape::Caution => (palette.caution_text, None),
        _ => (palette.ink, Some(marks::plain(palette))),
    };
    let plate = Rect::centred(spot.middle, line.width, HEIGHT * spot.em).snapped();
    lamp::ground(scene, of, plate, spot.m, palette);
    let y = (plate.top + plate.bottom) / 2.0;
    let mut x = spot.middle.0 - line.width / 2.0 + SIDE * HEIGHT * spot.em;
    for (i, &(text, is_bold, width)) in line.parts.iter().enumerate() {
        x += if i > 0 { GAP * line.bold } else { 0.0 };
        let setting = palette.setting(if is_bold { line.bold } else { line.plain });
        setting.draw(scene, &[run(text, is_bold, colour)], (x + width / 2.0, y), casing);
        x += width;
    }
    let tab = (x + TAB_GAP * line.bold + line.tab / 2.0, y);
    lamp::tab_at(scene, tab, TAB * spot.m * line.bold / spot.em, TAB_LINE * spot.m, palette);
}

fn run(text: &str, is_bold: bool, colour: Rgba) -> Run<'_> {
    Run { text, weight: if is_bold { Weight::Bold } else { Weight::Regular }, colour }
}

impl Face for BannerFace {
    /// All of it comes and goes.
    fn face(&self) -> Scene {
        Scene::default()
    }

    fn key(&self, _: &InstrumentState, panel: &PanelState) -> StateKey {
        let lines = panel.banner.iter().take(BannerLine::MOST).map(words).enumerate();
        lines.map(|(i, (shape, texts))| Part::Banner { row: i as u8, shape, texts }).collect()
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        if let Part::Banner { row, shape, texts } = part {
            draw(&mut scene, *shape, texts, self.spot(*row), self.palette);
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }

    fn extent(&self) -> Scene {
        let mut scene = Scene::default();
        scene.fill(Path::rounded(self.rect.grown(lamp::reach(self.m)), 0.0), Rgba::opaque(0).at(0.0));
        scene
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::draw::Theme;
    use crate::panel::{Banner, Limit, Severity};

    fn face(width: f64, m: f64) -> BannerFace {
        let limit = Limit {
            name: "fuel".into(),
            severity: Severity::Caution,
            subject: "FUEL".into(),
            word: "LOW".into(),
            source: "invented".into(),
            ..Limit::bare("fuel", 4.0, true)
        };
        let banner = Some(Banner { least: Severity::Caution });
        let panel = Panel { limits: vec![limit], banner, ..Panel::default() };
        BannerFace::new(&panel, width, 0.03 * m, m, Theme::Graphite.palette()).unwrap()
    }

    #[test]
    fn a_line_shrinks_and_then_loses_its_limit_before_it_leaves_its_plate() {
        let texts = |what: &str| [what.to_owned(), "below 4.0".into(), "for 2 min 40 s".into()];
        let usual = texts("FUEL 3.1 US gal");
        let line = face(1920.0, 1080.0).spot(0).fitted(&usual, Theme::Graphite.palette()).width;
        // The house's picture has this line .673 modules wide.
        assert!((line / 1080.0 - 0.673).abs() < 0.012, "{}", line / 1080.0);
        let long = texts("GEARBOX OIL TEMPERATURE 1118.5 \u{b0}C");
        let spot = face(1920.0, 1080.0).spot(0);
        assert!(spot.set(&long, 1.0, true, Theme::Graphite.palette()).width > spot.room, "too long at its full size");
        assert_eq!(
            spot.fitted(&long, Theme::Graphite.palette()).parts.len(),
            3,
            "it is set smaller before anything goes"
        );
        for (width, m) in [(1920.0, 1080.0), (640.0, 360.0), (320.0, 180.0), (270.0, 288.0)] {
            let face = face(width, m);
            let room = face.rect.right - face.rect.left;
            for what in ["FUEL 3.1 US gal", "GEARBOX OIL T PRESS 118.5 US gal/h"] {
                let texts = texts(what);
                let line = face.spot(1).fitted(&texts, Theme::Graphite.palette());
                let fits = line.width <= 1.001 * room;
                assert!(fits || line.parts.len() == 2, "{what} at {width}: {} of {room}", line.width);
                assert!(fits || what.len() > 20, "{what} at {width}");
            }
        }
    }
}

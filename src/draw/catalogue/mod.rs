//! Every instrument in every state on one sheet, over light, grey and dark, for people to look at.
//!
//! The panel is invented: no scale, range or limit here belongs to a real aircraft.

mod cards;
mod markings;
mod pages;
mod phases;
mod plates;
mod samples;

use crate::panel::{DiscSize, Face, Instrument, Panel, Place, Severity, Side};
use crate::pixel::{FrameShape, PixelBox};
use crate::readout::{BannerLine, Drive, InstrumentState, PanelState};
use crate::signal::Reading;

use super::banner;
use super::lamp::{self, Plate};
use super::painter::{self, DrawError, Painter};
use super::path::{Path, Point, Rect};
use super::raster::Grid;
use super::scene::Scene;
use super::svg::svg;
use super::text::{Casing, CasingWidth, Run, Weight};
use super::theme::{Palette, Rgba, Theme};

/// Narrowest and widest sheet in pixels; other widths are brought between.
const WIDTHS: (u32, u32) = (640, 7680);
/// Width of a page in modules; its height is one.
const WIDE: f64 = 1.6;
/// Width of a lamp of its own, in modules: that of four in a row on a 16:9 picture.
const LAMP_WIDTH: f64 = 0.1684;
/// Room for a line of a banner, in modules.
const BANNER_WIDTH: f64 = 0.76;

/// The sheet at one width in one theme.
pub struct Catalogue {
    page: FrameShape,
    theme: Theme,
    pages: Vec<Page>,
}

impl Catalogue {
    /// A sheet as near to this width as can be read.
    pub fn new(width_px: u32, theme: Theme) -> Self {
        let width = width_px.clamp(WIDTHS.0, WIDTHS.1).next_multiple_of(2);
        let height = ((f64::from(width) / WIDE).round() as u32).next_multiple_of(2);
        let pages = pages::all();
        Self { page: FrameShape::plain(width, height), theme, pages }
    }

    /// Width and height in pixels.
    pub fn size(&self) -> (u32, u32) {
        (self.page.width, self.page.height * self.pages.len() as u32)
    }

    /// Opaque RGBA, four bytes a pixel, drawn as a film's frames are.
    ///
    /// # Errors
    /// None in practice: the sheet's own panel is sound at every width.
    pub fn pixels(&self) -> Result<Vec<u8>, DrawError> {
        let pages = self.pages.iter().map(|page| page.draw(self.page, self.theme));
        Ok(pages.collect::<Result<Vec<_>, _>>()?.concat())
    }

    /// The same outlines as SVG.
    ///
    /// # Errors
    /// As for the pixels.
    pub fn svg(&self) -> Result<String, DrawError> {
        let mut scenes = Vec::new();
        for (n, page) in self.pages.iter().enumerate() {
            let down = f64::from(self.page.height) * n as f64;
            scenes.push(page.scene(self.page, self.theme)?.moved(|(x, y)| (x, y + down), 1.0));
        }
        let (width, height) = self.size();
        Ok(svg(width, height, &scenes))
    }
}

/// Instruments with what they show and what is written under them.
#[derive(Default)]
struct Page {
    panel: Panel,
    state: PanelState,
    labels: Vec<(Point, String, &'static str)>,
    plates: Vec<(Point, Plate)>,
    /// Lines of a banner.
    banners: Vec<(Point, BannerLine)>,
    /// Discs that join two plates.
    joins: Vec<Point>,
}

impl Page {
    /// Adds an instrument at a place given in modules from the upper left corner.
    fn add(&mut self, face: Face, size: DiscSize, at: Point, reading: Reading, title: &str, note: &'static str) {
        self.add_hands(face, size, at, vec![reading], (title, note));
    }

    /// The same for a face with several hands.
    fn add_hands(
        &mut self,
        face: Face,
        size: DiscSize,
        at: Point,
        hands: Vec<Reading>,
        (title, note): (&str, &'static str),
    ) {
        let note_at = face.note_at(0.0).unwrap_or_default().to_owned();
        let state = InstrumentState { hands, note: note_at, ..InstrumentState::default() };
        self.add_state(face, size, at, state, (title, note));
    }

    /// The same for a face that shows more than readings.
    fn add_state(
        &mut self,
        face: Face,
        size: DiscSize,
        at: Point,
        state: InstrumentState,
        (title, note): (&str, &'static str),
    ) {
        let below = match &face {
            Face::Tile(_) | Face::Clock(_) | Face::Bar(_) | Face::HeadingTape(_) => 0.062,
            Face::Strip(_) => 0.122,
            Face::Controls(_) | Face::Track(_) => 0.121,
            Face::Slip(_) => 0.060,
            Face::PhaseStrip(_) => 0.052,
            Face::Legend => 0.110,
            _ => size.diameter_m() / 2.0 + 0.036,
        };
        self.labels.push(((at.0, at.1 + below), title.to_owned(), note));
        let place = Place { side: Side::Left, from_side_m: at.0, from_bottom_m: 1.0 - at.1, size };
        self.panel.instruments.push(Instrument::new(title.to_owned(), place, face));
        self.state.instruments.push(state);
    }

    /// Has the difference of the hands of the tachometer added last be judged.
    fn drive(&mut self, drive: Drive) {
        if let Some(last) = self.state.instruments.last_mut() {
            last.drive = drive;
        }
    }

    /// Has a limit of the instrument added last be passed.
    fn alert(&mut self, severity: Severity) {
        if let Some(last) = self.state.instruments.last_mut() {
            last.alert = Some(severity);
        }
    }

    fn draw(&self, shape: FrameShape, theme: Theme) -> Result<Vec<u8>, DrawError> {
        let grid = Grid::new(shape);
        let place = PixelBox { x: 0, y: 0, width: shape.width, height: shape.height };
        let mut picture = grid.picture(&backdrop(shape), place);
        let mut painter = Painter::new(&self.panel, shape, theme)?;
        painter.show(&self.state);
        painter.lay(&mut picture);
        grid.draw(&self.words(shape, theme), &mut picture);
        Ok(picture.rgba)
    }

    /// The whole page as outlines.
    fn scene(&self, shape: FrameShape, theme: Theme) -> Result<Scene, DrawError> {
        let mut scene = backdrop(shape);
        scene.append(painter::scene(&self.panel, shape.shown_size(), theme, &self.state)?);
        scene.append(self.words(shape, theme));
        Ok(scene)
    }

    /// What is written under the instruments.
    fn words(&self, shape: FrameShape, theme: Theme) -> Scene {
        let m = f64::from(shape.height);
        let mut words = Scene::default();
        for (at, plate) in &self.plates {
            let rect = Rect::centred((at.0 * m, at.1 * m), LAMP_WIDTH * m, lamp::HEIGHT * m);
            lamp::draw(&mut words, plate, rect, m, theme.palette());
        }
        for (at, line) in &self.banners {
            let (of, texts) = banner::words(line);
            let spot = banner::Spot { middle: (at.0 * m, at.1 * m), em: banner::BOLD * m, room: BANNER_WIDTH * m, m };
            banner::draw(&mut words, of, &texts, spot, theme.palette());
        }
        for at in &self.joins {
            lamp::differs(&mut words, (at.0 * m, at.1 * m), m, theme.palette());
        }
        for (at, title, note) in &self.labels {
            let at = (at.0 * m, at.1 * m);
            label(&mut words, title, Weight::Bold, 0.0175 * m, at, theme.palette());
            label(&mut words, note, Weight::Regular, 0.0150 * m, (at.0, at.1 + 0.023 * m), theme.palette());
        }
        words
    }
}

fn label(scene: &mut Scene, text: &str, weight: Weight, em: f64, at: Point, palette: &Palette) {
    let casing = Casing { width: CasingWidth::Bare, colour: palette.casing.at(0.90) };
    palette.setting(em).draw(scene, &[Run { text, weight, colour: palette.ink }], at, Some(casing));
}

/// Slanting stripes from snow to night, so that every instrument is seen on something else.
fn backdrop(shape: FrameShape) -> Scene {
    let (w, h) = (f64::from(shape.width), f64::from(shape.height));
    let mut scene = Scene::default();
    let stripes = [(-0.2, 0xf6_f9_fb), (0.23, 0xc3_ce_d6), (0.43, 0x8d_96_9d), (0.62, 0x4c_54_5b), (0.84, 0x11_14_17)];
    for (from, colour) in stripes {
        let corners = [((from + 0.05) * w, 0.0), (2.0 * w, 0.0), (2.0 * w, h), ((from - 0.05) * w, h)];
        scene.fill(Path::polygon(&corners), Rgba::opaque(colour));
    }
    scene
}
#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_theme_at_the_narrowest_and_a_usual_width() {
        for theme in Theme::ALL {
            for (asked, expected) in [(1, 640), (1281, 1282)] {
                let sheet = Catalogue::new(asked, theme);
                let ((width, height), rgba) = (sheet.size(), sheet.pixels().unwrap());
                assert_eq!(width, expected);
                assert_eq!(rgba.len(), 4 * width as usize * height as usize);
                assert!(rgba.chunks(4).all(|pixel| pixel[3] == 255), "opaque throughout");
            }
        }
    }
}

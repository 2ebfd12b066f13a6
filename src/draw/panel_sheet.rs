//! An owner's panel on a sheet: over four pictures that try it, then every instrument alone in the states that it has.

use std::borrow::Cow;

use crate::panel::Panel;
use crate::pixel::{FrameShape, PixelBox};
use crate::readout::{InstrumentState, Notice, PanelState};

use super::face::Face;
use super::layout::Canvas;
use super::painter::{self, DrawError, Painter};
use super::path::{Path, Point, Rect};
use super::raster::Grid;
use super::scene::Scene;
use super::sizes::SMALLEST_EM;
use super::specimen::{self, Stand};
use super::svg::svg;
use super::text::{Casing, CasingWidth, Run, Weight};
use super::theme::{Look, Palette, Rgba};

/// Pictures stand in so many columns.
const COLUMNS: u32 = 2;
/// The ground under the instruments that stand alone, and one of the four pictures.
const GREY: u32 = 0x80_80_80;
/// Room round an instrument for its halo, for the words under it and for its name above all its states, in modules.
const ROUND: f64 = 0.030;
const WORDS: f64 = 0.045;
const NAME: f64 = 0.060;
/// No instrument stands closer to the next than its words are wide.
const NARROWEST: f64 = 0.150;

/// What a panel is laid over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Backdrop {
    Plain(u32),
    /// A picture with edges of every contrast, size and direction.
    Busy,
}

const BACKDROPS: [Backdrop; 4] =
    [Backdrop::Plain(0xff_ff_ff), Backdrop::Plain(0), Backdrop::Plain(GREY), Backdrop::Busy];

/// An instrument, or the row of lamps, in one state.
struct Cell {
    scene: Scene,
    title: &'static str,
    /// Where its upper left corner comes to stand.
    at: Point,
}

/// An instrument in all its states.
struct Block<'a> {
    name: Cow<'a, str>,
    at: Point,
    cells: Vec<Cell>,
    /// Width and height of a cell.
    cell: (f64, f64),
}

/// The sheet of one panel for films of one size.
pub struct PanelSheet<'a> {
    panel: &'a Panel,
    film: FrameShape,
    look: Look,
    blocks: Vec<Block<'a>>,
    height: u32,
}

impl<'a> PanelSheet<'a> {
    /// Lays the sheet out for a film of `width` by `height` pixels.
    ///
    /// # Errors
    /// As [`Painter::new`].
    pub fn new(panel: &'a Panel, (width, height): (u32, u32), look: Look) -> Result<Self, DrawError> {
        let film = FrameShape::plain(width, height);
        if let Some(fault) = painter::faults(panel, film, look).into_iter().next() {
            return Err(fault);
        }
        let canvas = painter::canvas(panel, film.shown_size(), look);
        let (faces, m) = (painter::faces(panel, canvas).0, canvas.m);
        let blocks = faces.iter().map(|(name, index, face)| block(panel, name, *index, face.as_ref(), m));
        let mut sheet = Self { panel, film, look, blocks: blocks.collect(), height: 0 };
        let foot = sheet.flow(m);
        sheet.height = (foot.ceil() as u32).next_multiple_of(2);
        Ok(sheet)
    }

    /// Width and height in pixels.
    pub fn size(&self) -> (u32, u32) {
        (COLUMNS * self.film.width, self.height)
    }

    /// Opaque RGBA, four bytes a pixel; over the pictures drawn as a film's frames are.
    ///
    /// # Errors
    /// As [`PanelSheet::new`].
    pub fn pixels(&self) -> Result<Vec<u8>, DrawError> {
        let (width, height) = self.size();
        let whole = Grid::new(FrameShape::plain(width, height));
        let mut sheet = whole.picture(&self.alone(), PixelBox { x: 0, y: 0, width, height });
        let grid = Grid::new(self.film);
        let place = PixelBox { x: 0, y: 0, width: self.film.width, height: self.film.height };
        let mut painter = Painter::new(self.panel, self.film, self.look)?;
        painter.show(&self.state());
        for (i, backdrop) in (0u32..).zip(BACKDROPS) {
            let mut picture = grid.picture(&backdrop.scene(self.film), place);
            painter.lay(&mut picture);
            let (x, y) = (i % COLUMNS * self.film.width, i / COLUMNS * self.film.height);
            let row = 4 * self.film.width as usize;
            for (line, pixels) in (y..).zip(picture.rgba.chunks_exact(row)) {
                let start = 4 * (line as usize * width as usize + x as usize);
                if let Some(target) = sheet.rgba.get_mut(start..start + row) {
                    target.copy_from_slice(pixels);
                }
            }
        }
        Ok(sheet.rgba)
    }

    /// The same outlines as SVG.
    ///
    /// # Errors
    /// As [`PanelSheet::new`].
    pub fn svg(&self) -> Result<String, DrawError> {
        let (width, height) = self.size();
        let mut scenes = vec![self.alone()];
        for (i, backdrop) in (0u32..).zip(BACKDROPS) {
            let (x, y) = (f64::from(i % COLUMNS * self.film.width), f64::from(i / COLUMNS * self.film.height));
            let mut scene = backdrop.scene(self.film);
            scene.append(painter::scene(self.panel, self.film.shown_size(), self.look, &self.state())?);
            scenes.push(scene.moved(|p| (p.0 + x, p.1 + y), 1.0));
        }
        Ok(svg(width, height, &scenes))
    }

    /// What the whole panel shows over the pictures.
    fn state(&self) -> PanelState {
        let instruments = self.panel.instruments.iter().map(|i| specimen::state(&i.face, Stand::Middle));
        let lamps = specimen::lamps(self.panel, Stand::Middle);
        PanelState { instruments: instruments.collect(), lamps, notice: Notice::Bare, ..PanelState::default() }
    }

    /// Puts the blocks side by side, and in rows below the pictures; hands back where the last row ends.
    fn flow(&mut self, m: f64) -> f64 {
        let (width, edge) = (f64::from(self.size().0), 0.5 * ROUND * m);
        let top = f64::from(self.film.height * (BACKDROPS.len() as u32 / COLUMNS)) + edge;
        let (mut x, mut y, mut foot) = (edge, top, top);
        for block in &mut self.blocks {
            let columns = ((width - 2.0 * edge) / block.cell.0).floor().clamp(1.0, block.cells.len() as f64);
            let rows = (block.cells.len() as f64 / columns).ceil();
            let size = (columns * block.cell.0, rows * block.cell.1 + NAME * m);
            if x + size.0 > width - edge && x > edge {
                (x, y) = (edge, foot);
            }
            block.at = (x.round(), y.round());
            for (i, cell) in block.cells.iter_mut().enumerate() {
                let (column, row) = (i % columns as usize, i / columns as usize);
                let at = (column as f64 * block.cell.0, row as f64 * block.cell.1 + NAME * m);
                cell.at = ((block.at.0 + at.0).round(), (block.at.1 + at.1).round());
            }
            x += size.0;
            foot = f64::max(foot, y + size.1);
        }
        foot + edge
    }

    /// The instruments that stand alone, with their words.
    fn alone(&self) -> Scene {
        let (width, height) = (f64::from(self.size().0), f64::from(self.height));
        let Canvas { m, palette, .. } = painter::canvas(self.panel, self.film.shown_size(), self.look);
        let mut scene = Scene::default();
        let all = Rect { left: 0.0, top: 0.0, right: width, bottom: height };
        scene.fill(Path::rounded(all, 0.0), Rgba::opaque(GREY));
        for block in &self.blocks {
            let across = block.cells.iter().filter(|cell| cell.at.1 == block.cells[0].at.1).count() as f64;
            let middle = (block.at.0 + across * block.cell.0 / 2.0, block.at.1 + 0.5 * NAME * m);
            words(&mut scene, &block.name, Weight::Bold, (0.0240 * m, across * block.cell.0), middle, palette);
            for cell in &block.cells {
                scene.append(cell.scene.clone().moved(|p| (p.0 + cell.at.0, p.1 + cell.at.1), 1.0));
                let at = (cell.at.0 + block.cell.0 / 2.0, cell.at.1 + block.cell.1 - 0.6 * WORDS * m);
                words(&mut scene, cell.title, Weight::Regular, (0.0175 * m, block.cell.0), at, palette);
            }
        }
        scene
    }
}

/// An instrument in all its states, each moved so that its cell starts at zero. The notice says nothing of its own.
fn block<'a>(panel: &'a Panel, name: &'a str, index: Option<usize>, face: &dyn Face, m: f64) -> Block<'a> {
    let ground = face.ground().rect();
    let (wide, high) = (ground.right - ground.left, ground.bottom - ground.top);
    let cell = ((wide + 2.0 * ROUND * m).max(NARROWEST * m), high + 2.0 * ROUND * m + WORDS * m);
    let corner = ((ground.left + ground.right - cell.0) / 2.0, ground.top - ROUND * m);
    let kind = index.and_then(|i| panel.instruments.get(i)).map(|instrument| &instrument.face);
    let cells = kind.map_or(&Stand::ALL[..], Stand::of).iter().map(|&stand| {
        let instrument = kind.map_or_else(InstrumentState::default, |kind| specimen::state(kind, stand));
        let state = PanelState { lamps: specimen::lamps(panel, stand), ..PanelState::default() };
        let scene = painter::scene_of(face, &instrument, &state).moved(|p| (p.0 - corner.0, p.1 - corner.1), 1.0);
        let title = if kind.is_some() { stand.title() } else { stand.lamps_title() };
        Cell { scene, title, at: (0.0, 0.0) }
    });
    Block { name: name.into(), at: (0.0, 0.0), cells: cells.collect(), cell }
}

fn words(scene: &mut Scene, text: &str, weight: Weight, (em, room): (f64, f64), at: Point, palette: &Palette) {
    let casing = Casing { width: CasingWidth::Bare, colour: palette.casing.at(0.90) };
    let run = [Run { text, weight, colour: palette.ink }];
    palette.setting(em.max(SMALLEST_EM)).fitted(&run, room).draw(scene, &run, at, Some(casing));
}

impl Backdrop {
    fn scene(self, shape: FrameShape) -> Scene {
        let (w, h) = shape.shown_size();
        let whole = Path::rounded(Rect { left: 0.0, top: 0.0, right: w, bottom: h }, 0.0);
        let mut scene = Scene::default();
        let Self::Plain(colour) = self else {
            scene.fill(whole, Rgba::opaque(0x6f_7c_84));
            patchwork(&mut scene, w, h);
            return scene;
        };
        scene.fill(whole, Rgba::opaque(colour));
        scene
    }
}

/// Hues of the patchwork: snow, sky, leaves, earth, shade, a warm light.
const HUES: [u32; 8] = [0xf8_fa_fb, 0xa9_c7_de, 0x5d_7f_45, 0x8b_6a_48, 0x14_17_1a, 0xd9_b2_6a, 0x3b_4a_55, 0xc8_cd_cf];

/// Four-sided pieces, large ones below and small ones above, always the same.
fn patchwork(scene: &mut Scene, w: f64, h: f64) {
    // Knuth's MMIX numbers (from memory); any generator would do.
    let mut seed = 1u64;
    let mut next = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 40) as f64 / (1u64 << 24) as f64
    };
    let side = w.min(h);
    for i in 0..420 {
        let size = side * 0.26 * (1.0 - f64::from(i) / 440.0).powi(2) + 0.008 * side;
        let middle = (next() * w, next() * h);
        // Some are no more than a line.
        let (turn, thin) = (next() * std::f64::consts::TAU, if i % 5 == 0 { 0.06 } else { 0.4 + 0.6 * next() });
        let corners = [0.0, 0.25, 0.5, 0.75].map(|quarter| {
            let (sin, cos) = ((quarter + 0.08 * next()) * std::f64::consts::TAU).sin_cos();
            let (x, y) = (size * cos, size * thin * sin);
            let (s, c) = turn.sin_cos();
            ((middle.0 + x * c - y * s).clamp(0.0, w), (middle.1 + x * s + y * c).clamp(0.0, h))
        });
        let hue = HUES[(next() * 7.999) as usize % HUES.len()];
        scene.fill(Path::polygon(&corners), Rgba::opaque(hue));
    }
}

//! The tile: a plate with a number or a text, its name and its unit.

use crate::panel::{DiscSize, Tile};
use crate::readout::{InstrumentState, PanelState};

use super::chips;
use super::face::{Face, Ground};
use super::marks;
use super::part::{Part, StateKey, ValueInk};
use super::path::{Point, Rect};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::Palette;
use super::words;

/// Sides of a tile of middle size, and its ems, in modules.
const WIDTH: f64 = 0.165;
const HEIGHT: f64 = 0.074;
const VALUE: f64 = 0.037;
const NAME: f64 = 0.019;
/// Em of a chip's text over that of the value.
const CHIP: f64 = 0.62;
/// Text keeps to this share of the plate's width.
const ROOM: f64 = 0.90;

/// A tile in its place.
#[derive(Debug, Clone)]
pub(super) struct TileFace {
    tile: Tile,
    rect: Rect,
    m: f64,
    corner: f64,
    value_em: f64,
    name_em: f64,
    palette: &'static Palette,
}

impl TileFace {
    pub fn new(tile: &Tile, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let scale = Sizes::new(size, m).step * m;
        Self {
            tile: tile.clone(),
            rect: Rect::centred(centre, WIDTH * scale, HEIGHT * scale),
            m,
            corner: 0.012 * scale,
            value_em: (VALUE * scale).max(SMALLEST_EM),
            name_em: NAME * scale,
            palette,
        }
    }

    fn room(&self) -> f64 {
        ROOM * (self.rect.right - self.rect.left)
    }

    fn caption(&self) -> Caption<'_> {
        Caption {
            title: &self.tile.title,
            unit: &self.tile.unit,
            value_em: self.value_em,
            name_em: self.name_em,
            room: self.room(),
            palette: self.palette,
        }
    }

    /// The middle of the plate's width, at a share of its height.
    fn at(&self, share: f64) -> Point {
        let Rect { left, top, right, bottom } = self.rect;
        ((left + right) / 2.0, top + share * (bottom - top))
    }

    /// A text that would be too wide even at the least size loses its end; three points say so.
    fn cut(&self, text: &str) -> String {
        let fits = |text: &str| {
            let run = [Run { text, weight: Weight::Bold, colour: self.palette.ink }];
            self.palette.setting(SMALLEST_EM).width(&run) <= self.room()
        };
        let mut letters: Vec<char> = text.chars().collect();
        let mut shown = text.to_owned();
        while !fits(&shown) && letters.pop().is_some() {
            shown = letters.iter().chain(&['\u{2026}']).collect();
        }
        shown
    }
}

/// The texts of a plate: a value, and its name with unit or tag.
#[derive(Debug, Clone, Copy)]
pub(super) struct Caption<'a> {
    pub title: &'a str,
    pub unit: &'a str,
    /// Ems of value and name in pixels; the value's is at least the least size.
    pub value_em: f64,
    pub name_em: f64,
    /// Most width in pixels that a line may take.
    pub room: f64,
    pub palette: &'static Palette,
}

impl Caption<'_> {
    /// The value, smaller where it would be too wide.
    pub fn draw_value(self, scene: &mut Scene, text: &str, ink: ValueInk, at: Point) {
        let (share, colour) = match ink {
            ValueInk::Full => (1.0, self.palette.ink),
            ValueInk::Dim => (1.0, self.palette.ink2),
            ValueInk::Beyond => (0.80, self.palette.ink),
            ValueInk::BeyondDim => (0.80, self.palette.ink2),
        };
        let run = [Run { text, weight: Weight::Bold, colour }];
        let setting = self.palette.setting(share * self.value_em).fitted(&run, self.room).at_least(SMALLEST_EM);
        setting.draw(scene, &run, at, Some(marks::plain(self.palette)));
    }

    /// Name with unit or tag. A line that is too wide shrinks, then the unit goes, then the name makes room for the tag;
    /// a tag that has no room even so goes itself.
    pub fn draw_name(self, scene: &mut Scene, unit: bool, tag: &str, at: Point) {
        let name = Run { text: self.title, weight: Weight::Bold, colour: self.palette.ink };
        let second = match tag {
            "" if unit && self.name_em >= SMALLEST_EM => {
                Run { text: self.unit, weight: Weight::Regular, colour: self.palette.ink2 }
            }
            _ => Run { text: tag, weight: Weight::Bold, colour: self.palette.cyan },
        };
        let both = [name, second];
        let fitted = |runs: &[Run<'_>]| self.palette.setting(self.name_em.max(SMALLEST_EM)).fitted(runs, self.room);
        // The chip or the value above already says that a value is not a plain one; without a name it would be nobody's.
        let choices = match (second.text.is_empty(), tag.is_empty()) {
            (true, _) => &[&both[..1]][..],
            (false, true) => &[&both[..], &both[..1]],
            (false, false) => &[&both[..], &both[1..], &both[..1]],
        };
        if let Some(runs) = choices.iter().find(|runs| fitted(runs).em >= 0.999 * SMALLEST_EM) {
            fitted(runs).draw(scene, runs, at, Some(marks::plain(self.palette)));
        }
    }
}

impl Face for TileFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::plate(&mut scene, self.rect, self.corner, self.m, self.palette);
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        if let Some((text, ink, tag)) = states::text(state) {
            return vec![Part::Value { text, ink }, Part::Name { unit: tag.is_empty(), tag }];
        }
        let reading = states::only(state);
        let (part, tag) = (states::value(reading, |v| words::number(v, self.tile.decimals)), states::tag(reading));
        let part = states::plated(part, states::alarm(state));
        vec![part, Part::Name { unit: tag.is_empty(), tag }]
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        match part {
            Part::Value { text, ink } => {
                self.caption().draw_value(&mut scene, &self.cut(text), *ink, self.at(0.37));
            }
            Part::Chip(chip) => {
                chips::draw(&mut scene, chip, self.at(0.37), CHIP * self.value_em, self.room(), self.palette);
            }
            Part::Name { unit, tag } => self.caption().draw_name(&mut scene, *unit, tag, self.at(0.78)),
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }
}

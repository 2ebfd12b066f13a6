//! The notice that stands in every picture: what is shown was recorded, and nobody may fly by it.

use super::face::{Face, Ground};
use super::marks;
use super::part::{Part, StateKey};
use super::path::{Point, Rect};
use super::scene::Scene;
use super::sizes::SMALLEST_EM;
use super::text::{Casing, CasingWidth, Run, Setting, Weight};
use super::theme::Palette;

use crate::readout::{InstrumentState, Notice, PanelState};

const WORDS: [&str; 2] = ["RECORDED DATA", "NOT FOR USE IN FLIGHT"];

/// The notice in its place.
#[derive(Debug, Clone)]
pub(super) struct NoticeFace {
    lines: Vec<(String, Point)>,
    setting: Setting,
    plate: Rect,
    m: f64,
    palette: &'static Palette,
}

impl NoticeFace {
    /// At the top of a shown picture of this size, in the middle.
    pub fn new(width: f64, height: f64, m: f64, palette: &'static Palette) -> Self {
        let from_top = if height > width { 0.026 } else { 0.022 };
        let em = (0.0175 * m).max(SMALLEST_EM);
        let setting = Setting { letter_gap: 0.05, ..palette.setting(em) };
        let one = [WORDS.join(" \u{b7} ")];
        let two = WORDS.map(str::to_owned);
        let span = |text: &String| setting.width(&[run(text, palette)]);
        // Very narrow pictures take two lines rather than letters that cannot be read.
        let texts = if span(&one[0]) <= 0.92 * width { &one[..] } else { &two[..] };
        let first = (from_top * m).max(0.85 * em);
        let y = |i: usize| first + 1.3 * em * i as f64;
        let wide = texts.iter().map(span).fold(0.0, f64::max);
        let last = y(texts.len().saturating_sub(1));
        let centre = (width / 2.0, (first + last) / 2.0);
        Self {
            lines: texts.iter().enumerate().map(|(i, text)| (text.clone(), (width / 2.0, y(i)))).collect(),
            setting,
            plate: Rect::centred(centre, wide + 2.0 * em, last - first + 1.7 * em),
            m,
            palette,
        }
    }
}

impl Face for NoticeFace {
    /// All of it changes.
    fn face(&self) -> Scene {
        Scene::default()
    }

    fn key(&self, _: &InstrumentState, panel: &PanelState) -> StateKey {
        vec![Part::Notice { plate: panel.notice == Notice::Plate }]
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        let plate = matches!(part, Part::Notice { plate: true });
        if plate {
            marks::plate(&mut scene, self.plate, 0.012 * self.m, self.m, self.palette);
        }
        // Bare on the film, letters need a denser and wider edge.
        let bare = Casing { width: CasingWidth::Bare, colour: self.palette.casing.at(0.90) };
        let casing = if plate { marks::plain(self.palette) } else { bare };
        for (text, centre) in &self.lines {
            self.setting.draw(&mut scene, &[run(text, self.palette)], *centre, Some(casing));
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.plate)
    }

    fn extent(&self) -> Scene {
        self.part(&Part::Notice { plate: true })
    }
}

fn run<'a>(text: &'a str, palette: &Palette) -> Run<'a> {
    Run { text, weight: Weight::Regular, colour: palette.ink }
}

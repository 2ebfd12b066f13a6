//! The heading card: it turns by minus the heading under a fixed mark, so that what lies ahead stands at twelve.
//!
//! One reading, and every data state; the mark is the hand: solid (measured), with an eye (derived, `calc`), planked (held, its
//! time), dashed (stale, age), hollow (sensor saturated), none under a cross (invalid). A card that is not of this moment is
//! dim. Letters and numerals stay upright while they go round, on one dark ring that does not. HDG M or HDG T says which north
//! it counts from.

use crate::panel::{DiscSize, Heading};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::State;

use super::chips;
use super::face::{Face, Ground};
use super::hands::{Hand, HandStyle, Pivot, Shape};
use super::marks;
use super::part::{Chip, Part, StateKey, ValueInk};
use super::path::Point;
use super::rose::{self, Back, Rose};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::Palette;
use super::words;

/// The card turns in steps of this many pixels at its rim.
const STEP_PX: f64 = 0.25;
/// Half outline of the mark at twelve, in radii, and its eye.
const INDEX: [Point; 3] = [(0.0, 0.80), (0.075, 0.935), (0.0, 1.03)];
const INDEX_EYE: [Point; 5] = [(0.0, 0.875), (0.020, 0.895), (0.028, 0.92), (0.020, 0.945), (0.0, 0.965)];
/// Em of the four letters over a dial's numerals.
const LETTER: f64 = 1.16;
/// Where value, name and tag stand below the middle, in radii, and how wide each may be.
const VALUE: (f64, f64) = (-0.02, 0.77);
const NAME: (f64, f64) = (0.250, 0.70);
const TAG: (f64, f64) = (-0.265, 0.66);
/// Em of a chip over that of the value.
const CHIP: f64 = 0.56;
/// Opacity of a card that is not of this moment.
pub(super) const DIM: f32 = 0.50;
/// A smaller dial has room for its value alone.
const LINES_FROM_PX: f64 = 38.0;

/// A heading card in its place.
#[derive(Debug, Clone)]
pub(super) struct HeadingCard {
    name: [&'static str; 2],
    pivot: Pivot,
    index: Hand,
    sizes: Sizes,
    palette: &'static Palette,
    step_deg: f64,
}

/// How far things that are not of this moment are dimmed.
pub(super) const fn strength(style: HandStyle) -> f32 {
    match style {
        HandStyle::Solid | HandStyle::Pierced | HandStyle::Planked => 1.0,
        HandStyle::Dashed | HandStyle::Hollow => DIM,
    }
}

impl HeadingCard {
    pub fn new(heading: &Heading, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let sizes = Sizes::new(size, m);
        let pivot = Pivot { centre, r: sizes.r, k: sizes.k };
        // The mark is broad enough on every size.
        let index = Shape { outline: &INDEX, eye: &INDEX_EYE, planks_from: 0.835, is_fine: false };
        Self {
            name: ["HDG", heading.reference.letter()],
            pivot,
            index: Hand::shaped(Pivot { k: 1.0, ..pivot }, index),
            sizes,
            palette,
            step_deg: (STEP_PX / sizes.r).to_degrees(),
        }
    }

    fn has_lines(&self) -> bool {
        self.pivot.r >= LINES_FROM_PX
    }

    fn line(&self, scene: &mut Scene, runs: &[Run<'_>], em: f64, (y, room): (f64, f64)) {
        let setting = self.palette.setting(em.max(SMALLEST_EM)).fitted(runs, room * self.pivot.r).at_least(SMALLEST_EM);
        setting.draw(scene, runs, self.pivot.at((0.0, y)), Some(marks::passed(self.palette)));
    }
}

impl Face for HeadingCard {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::disc(&mut scene, self.pivot, self.palette);
        rose::ring(&mut scene, self.pivot, self.palette);
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = states::only(state);
        let mut key = Vec::with_capacity(5);
        match reading.value {
            _ if reading.state == State::Invalid => key.push(Part::Cross),
            Some(value) => {
                let style = states::style(reading.state);
                key.push(Part::Hand { style, steps: (-value.rem_euclid(360.0) / self.step_deg).round() as i32 });
                key.push(Part::Index { style });
            }
            None => key.push(Part::Index { style: HandStyle::Dashed }),
        }
        key.push(match states::value(reading, words::direction) {
            Part::Chip(chip) if reading.state == State::Invalid => Part::Chip(Chip { at_hub: true, ..chip }),
            part => part,
        });
        if self.has_lines() {
            key.push(Part::Name { unit: false, tag: states::tag(reading) });
        }
        key
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        match part {
            Part::Hand { style, steps } => {
                let Self { pivot, sizes, palette, .. } = *self;
                let rose = Rose { pivot, sizes, palette, letters: LETTER, back: Back::Ring };
                let (turn, strength) = (f64::from(*steps) * self.step_deg, strength(*style));
                rose.ticks(&mut scene, turn, strength);
                rose.names(&mut scene, turn, strength);
            }
            Part::Index { style } => return self.index.draw(*style, 0.0, self.palette),
            Part::Cross => return self.pivot.cross(self.palette),
            Part::Value { text, ink } => {
                let colour = if *ink == ValueInk::Dim { self.palette.ink2 } else { self.palette.ink };
                self.line(&mut scene, &[Run { text, weight: Weight::Bold, colour }], self.sizes.value, VALUE);
            }
            Part::Chip(chip) => {
                let room = if chip.at_hub { 1.9 } else { VALUE.1 + 0.12 };
                let at = if chip.at_hub { -0.02 } else { VALUE.0 };
                let em = CHIP * self.sizes.value;
                chips::draw(&mut scene, chip, self.pivot.at((0.0, at)), em, room * self.pivot.r, self.palette);
            }
            Part::Name { tag, .. } => {
                let runs = self.name.map(|text| Run { text, weight: Weight::Bold, colour: self.palette.ink });
                self.line(&mut scene, &runs, self.sizes.name, NAME);
                if !tag.is_empty() {
                    let run = |text| [Run { text, weight: Weight::Bold, colour: self.palette.cyan }];
                    let em = (0.95 * self.sizes.name).max(SMALLEST_EM);
                    let fits = self.palette.setting(em).fitted(&run(tag), TAG.1 * self.pivot.r).em
                        >= SMALLEST_EM.max(0.7 * em);
                    let text = if fits { tag } else { states::short_tag(tag) };
                    self.line(&mut scene, &run(text), em, TAG);
                }
            }
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Disc(self.pivot.centre, self.pivot.r)
    }
}

//! The fixed-card compass: N stands at twelve for good, and a hand points to the heading.
//!
//! One reading, and every data state, shown by the hand: solid (measured), with an eye (derived, `calc`), planked (held, its
//! time), dashed (stale, age), hollow (sensor saturated; a circle has no stop), none under a cross (invalid). The value and
//! HDG M or HDG T, which says which north it counts from, stand in a window over the pivot: the hand never lies over them and
//! is still seen to go through behind them.

use crate::panel::{DiscSize, Heading};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::State;

use super::chips;
use super::face::{Face, Ground};
use super::hands::{Hand, Pivot, REACH};
use super::marks::{self, Window};
use super::part::{Part, StateKey, ValueInk};
use super::path::{Path, Point, Rect};
use super::rose::{Back, Rose};
use super::round;
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::Palette;
use super::words;

/// The hand moves in steps of this many pixels at its tip.
const STEP_PX: f64 = 0.25;
/// Width and height of the window over the pivot; in it, middle, em and room of the value, then of the name.
const WINDOW: (f64, f64) = (0.80, 0.50);
const VALUE: (f64, f64, f64) = (-0.080, 0.285, 0.73);
const NAME: (f64, f64, f64) = (0.150, 0.145, 0.73);
/// The value alone in its window, on a smaller dial.
const ALONE: Window = Window { middle: (0.0, 0.0), height: 0.30, widths: (0.34, 0.98), em: 0.26 };
/// The same of a tag, above the window, and of a chip in the value's place.
const TAG: (f64, f64, f64) = (-0.345, 0.135, 0.50);
const CHIP: (f64, f64, f64) = (-0.080, 0.160, 0.77);
/// Em of the four letters over a dial's numerals: small enough that they leave the hand its middle.
const LETTER: f64 = 0.96;
/// A smaller dial has room for its value alone.
const LINES_FROM_PX: f64 = 38.0;

/// A compass in its place.
#[derive(Debug, Clone)]
pub(super) struct CompassFace {
    name: [&'static str; 2],
    pivot: Pivot,
    hand: Hand,
    sizes: Sizes,
    palette: &'static Palette,
    step_deg: f64,
}

impl CompassFace {
    pub fn new(heading: &Heading, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let sizes = Sizes::new(size, m);
        let pivot = Pivot { centre, r: sizes.r, k: sizes.k };
        let step_deg = (STEP_PX / (REACH * sizes.r)).to_degrees();
        let name = ["HDG", heading.reference.letter()];
        Self { name, pivot, hand: Hand::new(pivot), sizes, palette, step_deg }
    }

    fn rose(&self) -> Rose<'_> {
        Rose { pivot: self.pivot, sizes: self.sizes, palette: self.palette, letters: LETTER, back: Back::Casings }
    }

    /// A line of text in its place: height below the middle, greatest em, and room, in radii.
    fn line(&self, scene: &mut Scene, runs: &[Run<'_>], (y, em, room): (f64, f64, f64)) {
        let r = self.pivot.r;
        let setting = self.palette.setting((em * r).max(SMALLEST_EM)).fitted(runs, room * r).at_least(SMALLEST_EM);
        setting.draw(scene, runs, self.pivot.at((0.0, y)), Some(marks::passed(self.palette)));
    }

    fn has_lines(&self) -> bool {
        self.pivot.r >= LINES_FROM_PX
    }

    fn draw_name(&self, scene: &mut Scene, tag: &str) {
        let Pivot { centre, r, .. } = self.pivot;
        let frame = Path::rounded(Rect::centred(centre, WINDOW.0 * r, WINDOW.1 * r), 0.06 * r);
        marks::glass(scene, frame, r, self.palette);
        let runs = self.name.map(|text| Run { text, weight: Weight::Bold, colour: self.palette.ink });
        self.line(scene, &runs, NAME);
        if !tag.is_empty() {
            let run = |text| [Run { text, weight: Weight::Bold, colour: self.palette.cyan }];
            let em = (TAG.1 * r).max(SMALLEST_EM);
            let fits = self.palette.setting(em).fitted(&run(tag), TAG.2 * r).em >= SMALLEST_EM.max(0.7 * em);
            self.line(scene, &run(if fits { tag } else { states::short_tag(tag) }), TAG);
        }
    }
}

impl Face for CompassFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::disc(&mut scene, self.pivot, self.palette);
        self.rose().ticks(&mut scene, 0.0, 1.0);
        scene
    }

    fn lettering(&self) -> Scene {
        let mut scene = Scene::default();
        self.rose().names(&mut scene, 0.0, 1.0);
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = states::only(state);
        let mut key = Vec::with_capacity(4);
        match reading.value.filter(|_| reading.state != State::Invalid) {
            Some(value) => {
                let steps = (value.rem_euclid(360.0) / self.step_deg).round() as i32;
                key.push(Part::Hand { style: states::style(reading.state), steps });
            }
            None if reading.state == State::Invalid => key.push(Part::Cross),
            None => {}
        }
        if self.has_lines() {
            key.push(Part::Name { unit: false, tag: states::tag(reading) });
        }
        key.push(states::value(reading, words::direction));
        key.extend(states::alarm(state).map(Part::Rim));
        key
    }

    fn part(&self, part: &Part) -> Scene {
        if let Some(scene) = round::part(part, self.pivot, Some((&self.hand, self.step_deg)), self.palette) {
            return scene;
        }
        let mut scene = Scene::default();
        match part {
            Part::Value { text, ink } => {
                let colour = if *ink == ValueInk::Dim { self.palette.ink2 } else { self.palette.ink };
                let run = Run { text, weight: Weight::Bold, colour };
                if self.has_lines() {
                    self.line(&mut scene, &[run], VALUE);
                } else {
                    ALONE.draw(&mut scene, self.pivot, run, self.palette);
                }
            }
            Part::Chip(chip) => {
                let (r, y) = (self.pivot.r, if self.has_lines() { CHIP.0 } else { 0.0 });
                chips::draw(&mut scene, chip, self.pivot.at((0.0, y)), CHIP.1 * r, CHIP.2 * r, self.palette);
            }
            Part::Name { tag, .. } => self.draw_name(&mut scene, tag),
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Disc(self.pivot.centre, self.pivot.r)
    }
}

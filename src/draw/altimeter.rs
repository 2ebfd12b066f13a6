//! The altimeter: the long hand turns once in 1000 ft, the short one once in 10 000 ft; below zero both turn back.
//!
//! One reading moves both hands, so both show its data state: measured, derived (with an eye, `calc`), held (planks, time),
//! stale (dashed, age), invalid (none, a cross), sensor saturated (hollow; a scale without an end has no stop). Nothing is off
//! the scale. The value and the setting stand in windows of smoked glass above the hands: no hand ever lies over them, and
//! where a hand passes behind one it is still seen. Indicated altitude shows its setting there, a dash where none is known;
//! pressure altitude says PRESSURE. An altitude from satellites never stands on this face.

use crate::panel::{Altimeter, Datum, DiscSize, Scale, Ticks};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::State;

use super::chips;
use super::dial::no_data;
use super::face::{Face, Ground};
use super::hands::{Hand, Pivot, REACH};
use super::lanes;
use super::marks::{self, Window};
use super::part::{Chip, Part, StateKey, ValueInk};
use super::path::Point;
use super::round;
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::{Palette, Rgba};
use super::words;

/// The hands move in steps of this many pixels at the long one's tip.
const STEP_PX: f64 = 0.25;
/// Feet in a turn of the long hand, and of the short one.
const TURNS_FT: (f64, f64) = (1000.0, 10_000.0);
const VALUE: Window = Window { middle: (0.0, 0.275), height: 0.235, widths: (0.34, 0.98), em: 0.258 };
const SETTING: Window = Window { middle: (0.0, -0.255), height: 0.165, widths: (0.34, 0.90), em: 0.130 };
/// A smaller dial has room for its value and two numerals; a tag takes the setting's place.
const LINES_FROM_PX: f64 = 38.0;
/// The name and the unit stand on either side of the hub: above it they would lie on the short hand at the low altitudes
/// where most flying happens.
const NAME: Point = (-0.31, 0.0);
const UNIT: Point = (0.26, 0.0);
/// A tag above the setting, and its room between the numerals.
const TAG: (Point, f64) = ((0.0, -0.430), 0.56);
/// Greatest em of name, unit and tag.
const LINE: f64 = 0.150;
/// Em of a chip in the value's place, and of NO DATA at the hub.
const CHIP: f64 = 0.165;
const HUB_CHIP: f64 = 0.150;

/// An altimeter in its place.
#[derive(Debug, Clone)]
pub(super) struct AltimeterFace {
    pressure: bool,
    /// The numbers round the rim: hundreds for the long hand, thousands for the short one.
    rim: Scale,
    pivot: Pivot,
    long: Hand,
    short: Hand,
    sizes: Sizes,
    palette: &'static Palette,
    step_deg: f64,
}

impl AltimeterFace {
    pub fn new(altimeter: &Altimeter, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let sizes = Sizes::new(size, m);
        let pivot = Pivot { centre, r: sizes.r, k: sizes.k };
        let apart = if sizes.r < LINES_FROM_PX { 5 } else { 1 };
        Self {
            pressure: altimeter.datum == Datum::Pressure,
            rim: Scale {
                breakpoints: vec![(0.0, 0.0), (10.0, 360.0)],
                ticks: Ticks { long: 1.0, middle: 0.0, short: 0.2 },
                numerals: (0..10).step_by(apart).map(|i| (f64::from(i), i.to_string())).collect(),
            },
            pivot,
            long: Hand::new(pivot),
            short: Hand::short(pivot),
            sizes,
            palette,
            step_deg: (STEP_PX / (REACH * sizes.r)).to_degrees(),
        }
    }

    fn has_lines(&self) -> bool {
        self.pivot.r >= LINES_FROM_PX
    }

    /// Whole steps of a hand that turns once in `turn` feet.
    fn steps(&self, feet: f64, turn: f64) -> i32 {
        (feet.rem_euclid(turn) / turn * 360.0 / self.step_deg).round() as i32
    }

    /// The setting in its window, which grows toward the hub. Where the whole would be too small to read, the number stands
    /// alone: it tells inches from hectopascals by itself.
    fn draw_setting(&self, scene: &mut Scene, text: &str, short: &str, colour: Rgba) {
        let run = |text| Run { text, weight: Weight::Bold, colour };
        let text = if SETTING.holds(run(text), self.pivot.r, self.palette) { text } else { short };
        let down = (SETTING.height(self.pivot.r) - SETTING.height) / 2.0;
        let window = Window { middle: (0.0, SETTING.middle.1 + down), ..SETTING };
        window.draw(scene, self.pivot, run(text), self.palette);
    }

    fn draw_name(&self, scene: &mut Scene, unit: bool, tag: &str) {
        let em = self.sizes.name.min(LINE * self.pivot.r).max(SMALLEST_EM);
        let mut line = |text, weight, colour, em, at| {
            let run = [Run { text, weight, colour }];
            self.palette.setting(em).draw(scene, &run, self.pivot.at(at), Some(marks::passed(self.palette)));
        };
        // At the hub stands that there is no data: the name takes the tag's place.
        let no_data = !unit && tag.is_empty();
        line("ALT", Weight::Bold, self.palette.ink, em, if no_data { TAG.0 } else { NAME });
        if unit && self.sizes.name >= SMALLEST_EM {
            line(Altimeter::UNIT, Weight::Regular, self.palette.ink2, em, UNIT);
        } else if !tag.is_empty() {
            let fitted = |text| {
                let run = [Run { text, weight: Weight::Bold, colour: self.palette.cyan }];
                self.palette.setting(em).fitted(&run, TAG.1 * self.pivot.r).em
            };
            let text = if fitted(tag) >= SMALLEST_EM { tag } else { states::short_tag(tag) };
            line(text, Weight::Bold, self.palette.cyan, fitted(text).max(SMALLEST_EM), TAG.0);
        }
    }
}

impl Face for AltimeterFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::disc(&mut scene, self.pivot, self.palette);
        lanes::scale(&mut scene, self.pivot, &self.rim, REACH, &[(lanes::LANE, &[])], self.palette);
        scene
    }

    fn lettering(&self) -> Scene {
        let mut scene = Scene::default();
        marks::numerals(&mut scene, self.pivot, self.sizes, &self.rim, REACH, &[], self.palette);
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = states::only(state);
        if reading.state == State::Invalid {
            let name = self.has_lines().then(|| Part::Name { unit: false, tag: String::new() });
            let chip = Part::Chip(Chip { at_hub: true, ..no_data() });
            return [Some(Part::Cross), name, Some(chip)].into_iter().flatten().collect();
        }
        let mut key = Vec::with_capacity(6);
        if let Some(feet) = reading.value {
            let style = states::style(reading.state);
            key.push(Part::ShortHand { style, steps: self.steps(feet, TURNS_FT.1) });
            key.push(Part::Hand { style, steps: self.steps(feet, TURNS_FT.0) });
            key.push(Part::Hub);
        }
        let tag = states::tag(reading);
        if self.has_lines() {
            key.push(Part::Name { unit: tag.is_empty(), tag });
            key.push(Part::Note { text: state.note.clone() });
        } else if !tag.is_empty() {
            key.push(Part::Tag { text: tag, lower: false });
        }
        key.push(states::value(reading, |v| words::number(v, 0)));
        key.extend(states::alarm(state).map(Part::Rim));
        key
    }

    fn part(&self, part: &Part) -> Scene {
        if let Some(scene) = round::part(part, self.pivot, None, self.palette) {
            return scene;
        }
        let mut scene = Scene::default();
        let turned = |steps: i32| f64::from(steps) * self.step_deg;
        match part {
            Part::Hand { style, steps } => return self.long.draw(*style, turned(*steps), self.palette),
            Part::ShortHand { style, steps } => return self.short.draw(*style, turned(*steps), self.palette),
            Part::Value { text, ink } => {
                let colour = if *ink == ValueInk::Dim { self.palette.ink2 } else { self.palette.ink };
                VALUE.draw(&mut scene, self.pivot, Run { text, weight: Weight::Bold, colour }, self.palette);
            }
            Part::Note { .. } if self.pressure => self.draw_setting(&mut scene, "PRESSURE", "STD", self.palette.cyan),
            Part::Note { text } => {
                let text = if text.is_empty() { "\u{2013}" } else { text };
                let number = text.split(' ').next().unwrap_or(text);
                self.draw_setting(&mut scene, text, number, self.palette.ink);
            }
            Part::Tag { text, .. } => self.draw_setting(&mut scene, text, states::short_tag(text), self.palette.cyan),
            Part::Chip(chip) => {
                let (at, em, room) = if chip.at_hub { ((0.0, 0.0), HUB_CHIP, 1.9) } else { (VALUE.middle, CHIP, 0.98) };
                chips::draw(&mut scene, chip, self.pivot.at(at), em * self.pivot.r, room * self.pivot.r, self.palette);
            }
            Part::Name { unit, tag } => self.draw_name(&mut scene, *unit, tag),
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Disc(self.pivot.centre, self.pivot.r)
    }
}

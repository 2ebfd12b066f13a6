//! The heading tape: a strip of the compass that moves past a fixed mark, on a plate.
//!
//! One reading, and every data state; the mark is the hand: solid (measured), with an eye (derived, `calc`), planked (held, its
//! time), dashed (stale, age), hollow (sensor saturated), none (invalid). A strip that is not of this moment is dim; without a
//! reading there is none. M or T beside the value says which north it counts from.

use crate::panel::{DiscSize, HeadingTape};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::State;

use super::chips;
use super::face::{Face, Ground};
use super::hands::{Hand, HandStyle, Pivot, Shape};
use super::heading_card::strength;
use super::marks;
use super::part::{Part, StateKey, ValueInk};
use super::path::{Path, Point, Rect};
use super::rose::name_of;
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Setting, Weight};
use super::theme::{Palette, Rgba};
use super::words;

/// The strip moves in steps of this many pixels.
const STEP_PX: f64 = 0.25;
/// Height of a plate of middle size and the width of a degree, in modules.
const HEIGHT: f64 = 0.078;
const DEGREE: f64 = 0.0044;
/// Where ticks end, and numerals and value stand, in shares of the height; lengths and widths of ticks in modules.
const TICKS: [(i32, f64, f64, f32); 2] = [(5, 0.0090, 0.0013, 0.85), (10, 0.0150, 0.0021, 1.0)];
const LINE_Y: f64 = 0.635;
/// Ems in modules: value, letter of the reference, tag, numerals and the four letters.
const VALUE: f64 = 0.0330;
const NAME: f64 = 0.0215;
const TAG: f64 = 0.0175;
const NUMERAL: f64 = 0.0200;
const LETTER: f64 = 0.0250;
/// Radius, in modules, of the dial whose mark this one is like: one of middle size.
const LIKE: f64 = 0.0945;
/// Half outline of the mark, pointing up from its lower tip, in radii of that dial; and its eye.
const INDEX: [Point; 3] = [(0.0, 0.0), (0.085, 0.155), (0.0, 0.265)];
const INDEX_EYE: [Point; 5] = [(0.0, 0.085), (0.023, 0.11), (0.032, 0.14), (0.023, 0.17), (0.0, 0.195)];
/// How far down the mark's tip reaches, in modules.
const TIP: f64 = 0.0175;
/// Between two texts, and half the widest chip, in modules.
const GAP: f64 = 0.006;
const CHIP_HALF: f64 = 0.062;
/// What moves fades toward the plate's ends over this many modules, and keeps so far from them.
const FADE: f64 = 0.022;
const KEPT: f64 = 0.010;

/// A heading tape in its place.
#[derive(Debug, Clone)]
pub(super) struct HeadingTapeFace {
    reference: &'static str,
    rect: Rect,
    m: f64,
    unit: f64,
    index: Hand,
    palette: &'static Palette,
}

impl HeadingTapeFace {
    pub fn new(tape: &HeadingTape, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let unit = Sizes::new(size, m).step * m;
        let rect = Rect::centred(centre, tape.width_m * m, HEIGHT * unit);
        let pivot = Pivot { centre: (centre.0, rect.top + TIP * unit), r: LIKE * unit, k: 1.0 };
        let index = Hand::shaped(pivot, Shape { outline: &INDEX, eye: &INDEX_EYE, planks_from: 0.045, is_fine: false });
        Self { reference: tape.heading.reference.letter(), rect, m, unit, index, palette }
    }

    fn middle(&self) -> Point {
        let Rect { left, right, top, bottom } = self.rect;
        ((left + right) / 2.0, top + LINE_Y * (bottom - top))
    }

    /// How visible a thing of this half width is at a distance from the middle: it fades before it would leave the plate.
    fn seen(&self, from_middle: f64, half: f64) -> f32 {
        let end = (self.rect.right - self.rect.left) / 2.0 - KEPT * self.unit;
        ((end - from_middle.abs() - half) / (FADE * self.unit)).clamp(0.0, 1.0) as f32
    }

    /// Everything that moves. Numerals give way to what stands in the middle.
    fn strip(&self, heading: f64, style: HandStyle) -> Scene {
        let mut scene = Scene::default();
        let strength = strength(style);
        let (degree, top) = (DEGREE * self.unit, self.rect.top + 0.002 * self.unit);
        let (middle, y) = self.middle();
        let reach = (self.rect.right - self.rect.left) / 2.0 / degree;
        let (first, last) = (((heading - reach) / 5.0).ceil() as i32 * 5, ((heading + reach) / 5.0).floor() as i32 * 5);
        let weight = self.palette.tick_weight * self.unit;
        for (step, length, width, alpha) in TICKS {
            for at in (first..=last).step_by(5).filter(|at| (at % 10 == 0) == (step == 10)) {
                let x = (f64::from(at) - heading) * degree;
                let alpha = alpha * strength * self.seen(x, 0.0);
                let tick = Path::polyline(&[(middle + x, top), (middle + x, top + length * self.unit)]);
                scene.stroke(tick.clone(), width * weight + 0.0017 * self.unit, self.palette.casing.at(0.45 * alpha));
                scene.stroke(tick, width * weight, self.palette.ink.at(alpha));
            }
        }
        let (left, right) = self.texts_reach(style);
        // On the smallest plates only the thirties have room.
        let numeral = self.palette.setting((NUMERAL * self.unit).max(SMALLEST_EM));
        let step = if 10.0 * degree >= 1.4 * numeral.width(&self.bold("30", self.palette.ink)) { 10 } else { 30 };
        for at in (first..=last).filter(|at| at % step == 0) {
            let x = (f64::from(at) - heading) * degree;
            let em = if at % 90 == 0 { LETTER } else { NUMERAL } * self.unit;
            let (text, setting) = (name_of(at), self.palette.setting(em.max(SMALLEST_EM)));
            let width = setting.width(&[Run { text: &text, weight: Weight::Bold, colour: self.palette.ink }]) / 2.0;
            let edge = if x < 0.0 { -x - left } else { x - right } - width;
            let clear = (edge / (0.5 * FADE * self.unit)).clamp(0.0, 1.0) as f32;
            let alpha = strength * self.seen(x, width) * clear;
            if alpha > 0.0 {
                let run = [Run { text: &text, weight: Weight::Bold, colour: self.palette.ink.at(alpha) }];
                let mut casing = marks::plain(self.palette);
                casing.colour = casing.colour.at(casing.colour.alpha * alpha);
                setting.draw(&mut scene, &run, (middle + x, y), Some(casing));
            }
        }
        scene
    }

    fn bold<'a>(&self, text: &'a str, colour: Rgba) -> [Run<'a>; 1] {
        [Run { text, weight: Weight::Bold, colour }]
    }

    fn value(&self) -> Setting {
        self.palette.setting((VALUE * self.unit).max(SMALLEST_EM))
    }

    fn name(&self) -> Setting {
        self.palette.setting((NAME * self.unit).max(SMALLEST_EM))
    }

    /// Half the width of what stands in the value's place.
    fn half(&self, has_value: bool) -> f64 {
        if has_value {
            self.value().width(&self.bold("000\u{b0}", self.palette.ink)) / 2.0
        } else {
            CHIP_HALF * self.unit
        }
    }

    /// How far what stands in the middle reaches to the left and to the right of it.
    fn texts_reach(&self, style: HandStyle) -> (f64, f64) {
        let (has_value, tag) = match style {
            HandStyle::Solid => (true, ""),
            HandStyle::Pierced => (true, "calc"),
            HandStyle::Planked => (true, "held 0.0 s"),
            HandStyle::Dashed => (false, ""),
            HandStyle::Hollow => (false, "SENSOR MAX"),
        };
        let half = self.half(has_value);
        let right =
            self.words(has_value, tag).iter().map(|(x, setting, run)| x + setting.width(&[*run])).fold(half, f64::max);
        (half + GAP * self.unit, right + GAP * self.unit)
    }

    /// What stands right of the value: the reference, and a tag as long as there is room for. Each with where it starts.
    fn words<'a>(&self, has_value: bool, tag: &'a str) -> Vec<(f64, Setting, Run<'a>)> {
        let gap = GAP * self.unit;
        let bold = |text, colour| Run { text, weight: Weight::Bold, colour };
        let mut x = self.half(has_value) + gap;
        let mut words = Vec::with_capacity(3);
        // Beside a value the letter says enough; without one the plate would be nobody's.
        let names = if has_value { &[self.reference][..] } else { &["HDG", self.reference][..] };
        let end = (self.rect.right - self.rect.left) / 2.0 - KEPT * self.unit;
        let names = names.iter().map(|text| bold(text, self.palette.ink)).map(|run| (run, self.name().width(&[run])));
        // On the smallest plates a letter alone would say nothing: the name goes as a whole.
        if x + names.clone().map(|(_, width)| width + gap).sum::<f64>() - gap <= end {
            for (run, width) in names {
                words.push((x, self.name(), run));
                x += width + gap;
            }
        }
        let setting = self.palette.setting((TAG * self.unit).max(SMALLEST_EM));
        let room = end - x;
        let tags = [tag, states::short_tag(tag)].into_iter().filter(|text| !text.is_empty());
        let mut runs = tags.map(|text| bold(text, self.palette.cyan));
        if let Some(run) = runs.find(|run| setting.width(&[*run]) <= room) {
            words.push((x, setting, run));
        }
        words
    }
}

impl Face for HeadingTapeFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::plate(&mut scene, self.rect, 0.012 * self.unit, self.m, self.palette);
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = states::only(state);
        let mut key = Vec::with_capacity(4);
        let style = states::style(reading.state);
        if let Some(value) = reading.value {
            let steps = value.rem_euclid(360.0) * DEGREE * self.unit / STEP_PX;
            key.push(Part::Hand { style, steps: steps.round() as i32 });
        }
        key.push(if reading.state == State::Invalid { Part::Cross } else { Part::Index { style } });
        let value = states::value(reading, words::direction);
        let has_value = matches!(value, Part::Value { .. });
        key.push(value);
        key.push(Part::Name { unit: has_value, tag: states::tag(reading) });
        key
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        let middle = self.middle();
        match part {
            Part::Hand { style, steps } => {
                return self.strip(f64::from(*steps) * STEP_PX / (DEGREE * self.unit), *style);
            }
            Part::Cross => {
                marks::cross(&mut scene, self.rect.grown(-0.014 * self.unit), self.unit, self.palette);
            }
            Part::Index { style } => return self.index.draw(*style, 0.0, self.palette),
            Part::Value { text, ink } => {
                let colour = if *ink == ValueInk::Dim { self.palette.ink2 } else { self.palette.ink };
                self.value().draw(&mut scene, &self.bold(text, colour), middle, Some(marks::plain(self.palette)));
            }
            Part::Chip(chip) => {
                let room = 2.0 * CHIP_HALF * self.unit;
                chips::draw(&mut scene, chip, middle, 0.62 * self.value().em, room, self.palette);
            }
            Part::Name { unit: has_value, tag } => {
                for (x, setting, run) in self.words(*has_value, tag) {
                    let at = (middle.0 + x + setting.width(&[run]) / 2.0, middle.1);
                    setting.draw(&mut scene, &[run], at, Some(marks::passed(self.palette)));
                }
            }
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }

    fn extent(&self) -> Scene {
        // The mark stands above the plate.
        let mut scene = marks::plate_extent(self.face(), self.rect);
        let above = Rect { top: self.rect.top - 0.020 * self.unit, ..self.rect };
        scene.fill(Path::rounded(above, 0.0), Rgba::opaque(0).at(0.0));
        scene
    }
}

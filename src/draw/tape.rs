//! The vertical tape: a scale that moves past a window with the value, range markings along its edge, the name above.
//!
//! One reading, and every data state; the pointer at the window is the hand: solid (measured), with an eye (derived, `calc`),
//! planked (held, its time), dashed (stale, age), hollow (sensor saturated), none (invalid). A scale that is not of this moment
//! is dim; without a reading there is none.

use crate::panel::{DiscSize, Marking, Tape};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::State;

use super::chips;
use super::face::{Face, Ground};
use super::hands::{Hand, HandStyle, Pivot, Shape};
use super::heading_card::strength;
use super::marks;
use super::part::{Frame, Part, StateKey};
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::straight::Straight;
use super::text::{Run, Weight};
use super::theme::Palette;
use super::tile::Caption;
use super::words;

/// The scale moves in steps of this many pixels.
const STEP_PX: f64 = 0.25;
/// Sides of a plate of middle size, in modules: as high as a disc of its size.
const WIDTH: f64 = 0.112;
const HEIGHT: f64 = 0.1890;
/// Where the name stands and the scale starts below the plate's top, and where it ends above the foot, in modules.
const NAME_Y: f64 = 0.0185;
const TOP: f64 = 0.0330;
const FOOT: f64 = 0.0080;
/// From the left edge: the lane of markings, where ticks start, where numerals start; in modules.
const LANE_X: f64 = 0.0105;
const TICK_X: f64 = 0.0185;
const NUMERAL_X: f64 = 0.0375;
/// Lengths and widths of short, middle and long ticks in modules, and their opacity.
const TICKS: [(f64, f64, f32); 3] = [(0.0060, 0.0011, 0.75), (0.0090, 0.0014, 0.90), (0.0140, 0.0021, 1.0)];
/// The window: where it starts, its distance from the right edge, its height.
const WINDOW: [f64; 3] = [0.0400, 0.0050, 0.0440];
/// Ems in modules: value, name, numerals; a chip over the value.
const VALUE: f64 = 0.0310;
const NAME: f64 = 0.0185;
const NUMERAL: f64 = 0.0205;
const CHIP: f64 = 0.56;
/// Radius, in modules, of the dial whose hand's line widths the pointer shares: one of middle size.
const LIKE: f64 = 0.0945;
/// Half outline of the pointer, from the window to its tip at the ticks, in radii of that dial; and its eye.
const INDEX: [Point; 3] = [(0.0, -0.001), (0.115, 0.0), (0.0, 0.215)];
const INDEX_EYE: [Point; 5] = [(0.0, 0.025), (0.030, 0.045), (0.036, 0.070), (0.022, 0.095), (0.0, 0.115)];
/// What moves fades over this many modules toward both ends.
const FADE: f64 = 0.012;

/// A tape in its place.
#[derive(Debug, Clone)]
pub(super) struct TapeFace {
    tape: Tape,
    rect: Rect,
    m: f64,
    unit: f64,
    index: Hand,
    palette: &'static Palette,
}

impl TapeFace {
    pub fn new(tape: &Tape, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let unit = Sizes::new(size, m).step * m;
        let rect = Rect::centred(centre, WIDTH * unit, HEIGHT * unit);
        let middle = (rect.top + TOP * unit + rect.bottom - FOOT * unit) / 2.0;
        let pivot = Pivot { centre: (rect.left + WINDOW[0] * unit, middle), r: LIKE * unit, k: 1.0 };
        let index = Hand::shaped(pivot, Shape { outline: &INDEX, eye: &INDEX_EYE, planks_from: 0.020, is_fine: false });
        Self { tape: tape.clone(), rect, m, unit, index, palette }
    }

    /// Top and foot of the moving scale, and its middle.
    fn scale(&self) -> [f64; 3] {
        let (top, foot) = (self.rect.top + TOP * self.unit, self.rect.bottom - FOOT * self.unit);
        [top, foot, (top + foot) / 2.0]
    }

    /// Pixels of one unit of the value.
    fn pitch(&self) -> f64 {
        let [top, foot, _] = self.scale();
        (foot - top) / self.tape.span
    }

    fn window(&self) -> Rect {
        let [.., middle] = self.scale();
        let half = (WINDOW[2] / 2.0 * self.unit).max(0.58 * SMALLEST_EM);
        Rect {
            left: self.rect.left + WINDOW[0] * self.unit,
            right: self.rect.right - WINDOW[1] * self.unit,
            top: middle - half,
            bottom: middle + half,
        }
    }

    fn window_middle(&self) -> Point {
        let Rect { left, right, top, bottom } = self.window();
        ((left + right) / 2.0, (top + bottom) / 2.0)
    }

    fn caption(&self, room: f64) -> Caption<'_> {
        Caption {
            title: &self.tape.title,
            unit: &self.tape.unit,
            value_em: (VALUE * self.unit).max(SMALLEST_EM),
            name_em: NAME * self.unit,
            room,
            palette: self.palette,
        }
    }

    /// How visible a thing of this half height is at a height: it fades before it would leave the scale.
    fn seen(&self, y: f64, half: f64) -> f32 {
        let [top, foot, _] = self.scale();
        ((y - half - top).min(foot - y - half) / (FADE * self.unit)).clamp(0.0, 1.0) as f32
    }

    /// Multiples of a step that are seen about a value, within the scale's own ends.
    fn multiples(&self, step: f64, value: f64) -> impl Iterator<Item = f64> {
        let (low, high) = self.tape.ends;
        let half = self.tape.span / 2.0;
        let from = ((value - half).max(low) / step - 1e-6).ceil();
        let count = ((value + half).min(high) / step + 1e-6).floor() - from + 1.0;
        let count = if step > 0.0 { count.clamp(0.0, Tape::MOST_SEEN.1 + 2.0) as u32 } else { 0 };
        (0..count).map(move |i| (from + f64::from(i)) * step)
    }

    /// Everything that moves, with the scale standing at a value.
    fn strip(&self, value: f64, style: HandStyle) -> Scene {
        let mut scene = Scene::default();
        let strength = strength(style);
        let [top, foot, middle] = self.scale();
        let (pitch, left) = (self.pitch(), self.rect.left);
        let y = |v: f64| middle - (v - value) * pitch;
        let ticks = self.tape.ticks;
        let of = |v: f64, step: f64| step > 0.0 && (v / step - (v / step).round()).abs() < 1e-6;
        let steps = [ticks.short, ticks.middle, ticks.long];
        for (i, (length, width, alpha)) in TICKS.into_iter().enumerate() {
            if i == 0 && !(self.palette.short_ticks && width * self.unit >= 0.78) {
                continue;
            }
            for v in self.multiples(steps[i], value).filter(|v| !steps[i + 1..].iter().any(|step| of(*v, *step))) {
                let alpha = alpha * strength * self.seen(y(v), 0.0);
                let at = |x: f64| (left + x * self.unit, y(v));
                let tick = Path::polyline(&[at(TICK_X), at(TICK_X + length)]);
                let width = width * self.palette.tick_weight * self.unit;
                scene.stroke(tick.clone(), width + 0.0017 * self.unit, self.palette.casing.at(0.45 * alpha));
                scene.stroke(tick, width, self.palette.ink.at(alpha));
            }
        }
        let setting = self.palette.setting((NUMERAL * self.unit).max(SMALLEST_EM));
        for v in self.multiples(ticks.long, value) {
            let text = words::number(v, self.tape.numeral_decimals());
            let mut run = [Run { text: &text, weight: Weight::Bold, colour: self.palette.ink }];
            let room = self.rect.right - left - (NUMERAL_X + 0.004) * self.unit;
            let setting = setting.fitted(&run, room);
            let half = 0.375 * setting.em;
            // Behind the window a numeral would be half a numeral.
            let window = self.window();
            let clear = (window.top - y(v) - half).max(y(v) - half - window.bottom) / (0.4 * FADE * self.unit);
            let alpha = strength * self.seen(y(v), half) * clear.clamp(0.0, 1.0) as f32;
            if alpha > 0.0 && setting.em >= 0.83 * SMALLEST_EM {
                run[0].colour = run[0].colour.at(alpha);
                let mut casing = marks::plain(self.palette);
                casing.colour = casing.colour.at(casing.colour.alpha * alpha);
                let x = left + NUMERAL_X * self.unit + setting.width(&run) / 2.0;
                setting.draw(&mut scene, &run, (x, y(v)), Some(casing));
            }
        }
        let start = (left + LANE_X * self.unit, foot);
        let lane = Straight { start, along: (0.0, -1.0), out: (-1.0, 0.0), length: foot - top, m: self.unit };
        let (low, high) = self.tape.ends;
        let within = |v: f64| foot - y(v.max(low).min(high));
        lane.draw(&mut scene, &self.markings_near(value), within, self.palette);
        scene
    }

    /// The markings that may be seen about a value.
    fn markings_near(&self, value: f64) -> Vec<Marking> {
        let (low, high) = (value - self.tape.span, value + self.tape.span);
        let near = |marking: &&Marking| marking.ends().0 <= high && marking.ends().1 >= low;
        self.tape.markings.iter().filter(near).copied().collect()
    }
}

impl Face for TapeFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::plate(&mut scene, self.rect, 0.012 * self.unit, self.m, self.palette);
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = states::only(state);
        let style = states::style(reading.state);
        let mut key = Vec::with_capacity(4);
        if let Some(value) = reading.value {
            // Beyond a million spans a step could no longer be counted; no scale is that long.
            let steps = (value * self.pitch() / STEP_PX).clamp(f64::from(i32::MIN), f64::from(i32::MAX));
            key.push(Part::Hand { style, steps: steps.round() as i32 });
        }
        key.push(if reading.state == State::Invalid { Part::Cross } else { Part::Index { style } });
        let tag = states::tag(reading);
        let value = states::value(reading, |v| words::number(v, self.tape.decimals));
        let unit = tag.is_empty() && matches!(value, Part::Value { .. });
        key.push(states::plated(value, states::alarm(state)));
        key.push(Part::Name { unit, tag });
        key
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        let window = self.window();
        let inner = window.right - window.left - 0.010 * self.unit;
        match part {
            Part::Hand { style, steps } => return self.strip(f64::from(*steps) * STEP_PX / self.pitch(), *style),
            Part::Cross => {
                let [top, ..] = self.scale();
                let scale = Rect { top: top + 0.014 * self.unit, ..self.rect };
                marks::cross(&mut scene, scale.grown(-0.014 * self.unit), self.unit, self.palette);
            }
            Part::Index { style } => return self.index.draw(*style, 270.0, self.palette),
            Part::Value { text, ink } => {
                let frame = Path::rounded(window, 0.006 * self.unit);
                scene.fill(frame.clone(), self.palette.casing.at(0.80));
                scene.stroke(frame, (0.0010 * self.unit).max(1.0), self.palette.ink2.at(0.85));
                self.caption(inner).draw_value(&mut scene, text, *ink, self.window_middle());
            }
            Part::Chip(chip) => {
                let em = CHIP * VALUE * self.unit;
                // Where there is no scale and no pointer, there is nothing to keep clear of.
                let no_data = chip.frame == Frame::Hairline;
                let middle = if no_data { (self.rect.left + self.rect.right) / 2.0 } else { self.window_middle().0 };
                let room = if no_data { self.rect.right - self.rect.left } else { window.right - window.left };
                chips::draw(&mut scene, chip, (middle, self.window_middle().1), em, 0.96 * room, self.palette);
            }
            Part::Name { unit, tag } => {
                let at = ((self.rect.left + self.rect.right) / 2.0, self.rect.top + NAME_Y * self.unit);
                let room = 0.90 * (self.rect.right - self.rect.left);
                self.caption(room).draw_name(&mut scene, *unit, tag, at);
            }
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }

    fn extent(&self) -> Scene {
        marks::plate_extent(self.face(), self.rect)
    }
}

//! The vertical speed dial: zero at nine o'clock, half the range straight up or down, both ends at three o'clock.
//!
//! One hand, and every data state: measured, derived (with an eye, `calc`), held (planks, time), stale (dashed, age), invalid
//! (none, a cross), sensor saturated (hollow, on its stop). At and beyond its range the hand stops at three o'clock, without
//! a jump; a chip with an arrow and the value then says which way, and nothing is wrong. The value stands right of the hub, below the
//! line on which a hand at its end lies: a full climb or descent is seen whole. The left half, where flying happens, is bare.

use crate::panel::{DiscSize, VerticalSpeed};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::{Reading, State};

use super::chips;
use super::dial::no_data;
use super::face::{Face, Ground};
use super::hands::{Hand, Pivot, REACH};
use super::marks;
use super::part::{Arrow, Chip, Frame, Part, StateKey, ValueInk};
use super::path::Point;
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Setting, Weight};
use super::theme::{Palette, Rgba};
use super::words;

/// The hand moves in steps of this many pixels at its tip.
const STEP_PX: f64 = 0.25;
/// The stop of a saturated sensor stands this many degrees beyond its hand.
const STOP: f64 = 5.5;
/// Middle, width and height of the value's window, its greatest em, and the width that text may take; all in radii.
const WINDOW: (Point, f64, f64) = ((0.465, 0.235), 0.76, 0.235);
const VALUE: (f64, f64) = (0.250, 0.70);
/// Em of a chip in its place, and of NO DATA at the hub.
const CHIP: f64 = 0.176;
const HUB_CHIP: f64 = 0.155;
/// The name's two lines, the unit or tag, and the words of both directions.
const NAME: [(&str, Point); 2] = [("VERT", (0.40, -0.405)), ("SPEED", (0.40, -0.235))];
const UNIT: Point = (0.40, 0.450);
const WAYS: [(&str, Point); 2] = [("UP", (0.235, -0.645)), ("DN", (0.235, 0.645))];
/// Greatest em of those lines.
const LINE: f64 = 0.168;

/// A vertical speed dial in its place.
#[derive(Debug, Clone)]
pub(super) struct VerticalSpeedFace {
    dial: VerticalSpeed,
    pivot: Pivot,
    hand: Hand,
    sizes: Sizes,
    palette: &'static Palette,
    step_deg: f64,
    decimals: u8,
    line_em: f64,
}

impl VerticalSpeedFace {
    pub fn new(dial: &VerticalSpeed, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let sizes = Sizes::new(size, m);
        let pivot = Pivot { centre, r: sizes.r, k: sizes.k };
        Self {
            dial: dial.clone(),
            pivot,
            hand: Hand::new(pivot),
            sizes,
            palette,
            step_deg: (STEP_PX / (REACH * sizes.r)).to_degrees(),
            decimals: u8::from(dial.unit != VerticalSpeed::UNITS[0].0),
            line_em: sizes.name.min(LINE * sizes.r).max(SMALLEST_EM),
        }
    }

    fn steps(&self, degrees: f64) -> i32 {
        (degrees / self.step_deg).round() as i32
    }

    /// A trusted value at the end of the scale or beyond it is not wrong: the arrow tells which way the hand went.
    fn value(&self, reading: Reading) -> Part {
        let trusted = matches!(reading.state, State::Measured | State::Derived | State::Held);
        let (low, high) = self.dial.scale.ends();
        let (value, arrow) = match reading.value.filter(|_| trusted) {
            Some(value) if value >= high => (value, Arrow::Up),
            Some(value) if value <= low => (value, Arrow::Down),
            _ => return states::value(reading, |v| words::signed(v, self.decimals)),
        };
        let text = words::signed(value, self.decimals);
        Part::Chip(Chip { short: text.clone(), text, frame: Frame::Hairline, arrow: Some(arrow), at_hub: false })
    }

    /// A line of text, no wider than the disc or `room` radii at its height.
    fn line(&self, scene: &mut Scene, text: &str, (weight, colour): (Weight, Rgba), at: Point, room: f64) {
        let run = [Run { text, weight, colour }];
        let setting = Setting::em(self.line_em).fitted(&run, room * self.pivot.r).at_least(SMALLEST_EM);
        setting.draw(scene, &run, self.pivot.at(at), Some(marks::passed(self.palette)));
    }
}

impl Face for VerticalSpeedFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::disc(&mut scene, self.pivot, self.palette);
        marks::scale(&mut scene, self.pivot, &self.dial.scale, REACH, &[(marks::LANE, &[])], self.palette);
        scene
    }

    fn lettering(&self) -> Scene {
        let mut scene = Scene::default();
        marks::numerals(&mut scene, self.pivot, self.sizes, &self.dial.scale, REACH, &[], self.palette);
        for (text, at) in WAYS.into_iter().chain(NAME) {
            self.line(&mut scene, text, (Weight::Bold, self.palette.ink), at, 0.90);
        }
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = states::only(state);
        if reading.state == State::Invalid {
            return vec![Part::Cross, Part::Chip(Chip { at_hub: true, ..no_data() })];
        }
        let mut key = Vec::with_capacity(5);
        if let Some(value) = reading.value {
            let angle = self.dial.scale.angle(value);
            match reading.state {
                State::SaturatedLow => key.push(Part::Stop { steps: self.steps(angle - STOP) }),
                State::SaturatedHigh => key.push(Part::Stop { steps: self.steps(angle + STOP) }),
                _ => {}
            }
            key.push(Part::Hand { style: states::style(reading.state), steps: self.steps(angle) });
            key.push(Part::Hub);
        }
        let tag = states::tag(reading);
        key.push(self.value(reading));
        key.push(Part::Name { unit: tag.is_empty(), tag });
        key
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        let (middle, width, height) = WINDOW;
        match part {
            Part::Hand { style, steps } => {
                return self.hand.draw(*style, f64::from(*steps) * self.step_deg, self.palette);
            }
            Part::Stop { steps } => return self.pivot.stop(f64::from(*steps) * self.step_deg, self.palette),
            Part::Hub => return self.pivot.hub(self.palette),
            Part::Cross => return self.pivot.cross(self.palette),
            Part::Value { text, ink } => {
                let colour = if *ink == ValueInk::Dim { self.palette.ink2 } else { self.palette.ink };
                let run = [Run { text, weight: Weight::Bold, colour }];
                marks::window(&mut scene, self.pivot, middle, (width, height), self.palette);
                let setting = Setting::em(VALUE.0 * self.pivot.r).fitted(&run, VALUE.1 * self.pivot.r);
                let setting = setting.at_least(SMALLEST_EM);
                setting.draw(&mut scene, &run, self.pivot.at(middle), Some(marks::plain(self.palette)));
            }
            Part::Chip(chip) => {
                let (at, em, room) = if chip.at_hub { ((0.0, 0.0), HUB_CHIP, 1.9) } else { (middle, CHIP, 0.80) };
                chips::draw(&mut scene, chip, self.pivot.at(at), em * self.pivot.r, room * self.pivot.r, self.palette);
            }
            Part::Name { unit: true, .. } => {
                // A unit that would be too small goes.
                if self.sizes.name >= 0.8 * SMALLEST_EM {
                    self.line(&mut scene, &self.dial.unit, (Weight::Regular, self.palette.ink2), UNIT, 0.76);
                }
            }
            Part::Name { unit: false, tag } => {
                self.line(&mut scene, tag, (Weight::Bold, self.palette.cyan), UNIT, 0.72);
            }
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Disc(self.pivot.centre, self.pivot.r)
    }
}
